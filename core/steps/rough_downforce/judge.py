"""Rough downforce: safe enough for a stylus to touch a record at all.

Nothing before this step lowers the stylus on a record, and nothing after it may while this step's
verdict is not good (:mod:`core.workflow.replay` holds that gate).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from core.estimation import COVERAGE_FACTOR, ControlVerdict, Estimate, disagreement
from core.fitting import Assessment, Context, Control, NextReading, Verdict
from core.language import Force, Interval, Message, Quantity, message
from core.records import Cartridge
from core.steps.downforce import (
    FLOATING,
    KEEP_STYLUS_UP,
    MIND_THE_MAGNETS,
    ROUGH,
    STOP_FACTOR,
    DownforceBand,
    DownforceState,
    Event,
    FloatAnswer,
    Floated,
    Proposal,
    ScaleWorth,
    can_tell,
    common_notes,
    counted,
    downforce_figures,
    downforce_state_of,
    events_of,
    float_first,
    float_it,
    float_safely,
    floated_by,
    foretold_note,
    propose,
    question_first,
    scale_worth,
    stop_message,
    way_to_weigh,
    weighings_picture,
)
from core.steps.shared import asked_first, does_not_answer, times

NAME: Final = ROUGH

_MORE_READINGS: Final = 3
"""More than so many further weighings are not asked for here: the move is surer."""


@dataclass(frozen=True, slots=True)
class _Band:
    """What is safe for now: the maker's range, at least the tolerance wide about the target."""

    target: float
    low: float
    high: float
    stop: float
    half_range: float

    @classmethod
    def of(cls, context: Context) -> _Band:
        cartridge = context.cartridge
        target, tolerance = cartridge.downforce_target_gf, context.deck.tolerances.downforce_gf
        least, most = cartridge.downforce_min_gf, cartridge.downforce_max_gf
        return cls(
            target=target,
            low=min(least, target - tolerance),
            high=max(most, target + tolerance),
            stop=STOP_FACTOR * most,
            half_range=max((most - least) / 2.0, tolerance),
        )

    def wanted(self, cartridge: Cartridge) -> DownforceBand:
        return DownforceBand(
            self.target, cartridge.downforce_min_gf, cartridge.downforce_max_gf, self.stop
        )


def assess(context: Context) -> Assessment:
    """Judge the weighings that stand since the last move.

    Good inside the maker's range with the whole 95 % interval; outside it a move; above 1.5 times
    the maximum a stop; an interval that straddles a limit is weighed again, unless that would
    take too many weighings: then the move to the target is surer.
    """
    room = _RoughDownforceJudge.of(counted(context))
    if room.status.floated is not None:
        return question_first(context, room.floated(room.status.floated))
    said = room.judged() if room.status.now else room.without_reading()
    return question_first(context, said)


@dataclass(frozen=True, slots=True)
class _RoughDownforceJudge:
    context: Context
    events: tuple[Event, ...]
    worth: ScaleWorth
    status: DownforceState
    band: _Band

    @classmethod
    def of(cls, context: Context) -> _RoughDownforceJudge:
        events = events_of(context)
        status = downforce_state_of(events, NAME)
        worth = replace(scale_worth(context), floated_by=floated_by(status))
        return cls(context, events, worth, status, _Band.of(context))

    def floated(self, floated: Floated) -> Assessment:
        """Judge an arm that was floated and had its downforce put on."""
        now = floated.put_on
        said = float_first(self.context, floated, self.status.in_vain)
        said = said or float_safely(self.context, now)
        if said is not None:
            return self._said(said)
        value = Interval(now.value, now.half_width(), "gf")
        headline = message("rough_downforce.safe", value=value)
        return self._assessment(Verdict.GOOD, headline, now)

    def _said(self, answer: FloatAnswer) -> Assessment:
        return self._assessment(
            answer.verdict,
            answer.headline,
            answer.now,
            notes=answer.notes,
            next_reading=answer.asks,
        )

    def without_reading(self) -> Assessment:
        if self.status.moved_since:
            proposal = propose(self.context, self.events, self.worth, None, self.band.half_range)
            foretold = proposal.trim.predicted
            said = proposal.trim.verdict is ControlVerdict.READ and foretold is not None
            return self._weigh(
                message("downforce.moved_since"),
                predicted=foretold if said else None,
                notes=foretold_note(foretold, self.band.half_range) if said else (),
            )
        if self.context.trials and any(trial.reading for trial in self.context.trials):
            headline = message("rough_downforce.scale_checked")
        else:
            headline = message("rough_downforce.put_on")
        return self._weigh(headline, verdict=Verdict.NO_READING)

    def judged(self) -> Assessment:
        shown = [weighed.shown_gf for weighed in self.status.now]
        now, band = self.worth.mean(shown), self.band
        half = now.half_width()
        low, high = now.value - half, now.value + half
        stop = now.value > band.stop or (now.value > band.high and high > band.stop)
        stop = stop or max(shown) > band.stop
        if stop:
            return self._moving(Verdict.STOP, now, stop_message(now.value, band.stop))
        if self.worth.fault:
            headline = message("downforce.weigh_check_weight_again")
            return self._weigh(headline, now, way="check weight", notes=(self.worth.fault,))
        if low > band.high or high < band.low or self.worth.floats(*shown):
            return self._moving(Verdict.MOVE, now)
        if band.low <= low and high <= band.high:
            headline = message("rough_downforce.safe", value=Quantity(now.value, "gf"))
            return self._assessment(Verdict.GOOD, headline, now)
        return self._doubtful(shown, now)

    def _doubtful(self, shown: list[float], now: Estimate) -> Assessment:
        """Judge an interval that straddles a limit of the range."""
        odd = disagreement(shown, self.worth.read_gf)
        if odd is not None and len(shown) <= _MORE_READINGS:
            return self._weigh(message("rough_downforce.disagree"), now)
        more = self._weighings_to_settle(shown, now)
        if more is not None:
            value = Quantity(now.value, "gf")
            headline = message("rough_downforce.near_a_limit", value=value, times=times(more))
            return self._weigh(headline, now, count=more)
        if abs(now.value - self.band.target) > now.half_width():
            return self._moving(Verdict.MOVE, now)
        headline, note = (
            message("rough_downforce.too_coarse"),
            message("rough_downforce.note.too_coarse"),
        )
        return self._weigh(headline, now, way="check weight", count=None, notes=(note,))

    def _weighings_to_settle(self, shown: list[float], now: Estimate) -> int | None:
        mean = sum(shown) / len(shown)
        lasting = self.worth.calibration_gf(mean)
        free = max(now.half_width() ** 2 - (COVERAGE_FACTOR * lasting) ** 2, 0.0)
        for more in range(1, _MORE_READINGS + 1):
            share = len(shown) / (len(shown) + more)
            half = (free * share + (COVERAGE_FACTOR * lasting) ** 2) ** 0.5
            low, high = now.value - half, now.value + half
            inside = self.band.low <= low and high <= self.band.high
            if inside or low > self.band.high or high < self.band.low:
                return more
        return None

    def _moving(self, verdict: Verdict, now: Estimate, stop: Message | None = None) -> Assessment:
        proposal = propose(self.context, self.events, self.worth, now, self.band.half_range)
        move = proposal.move
        if proposal.gave_up or proposal.asks:
            return self._without_move(verdict, now, proposal, stop)
        if move is None and verdict is Verdict.MOVE:
            headline = message("downforce.no_safe_move")
            return self._weigh(headline, now, count=None, notes=proposal.notes)
        notes = list(proposal.notes)
        if self.worth.floats(*(weighed.shown_gf for weighed in self.status.now)):
            notes.insert(0, message("downforce.note.floats"))
        elif verdict is Verdict.MOVE:
            notes.insert(0, self._why(now))
        return self._assessment(
            verdict,
            stop or (move.sentence if move else message("downforce.no_safe_move")),
            now,
            proposal=proposal,
            notes=tuple(notes),
        )

    def _why(self, now: Estimate) -> Message:
        return message(
            "rough_downforce.note.off",
            side="more" if now.value > self.band.target else "less",
            value=Force(now.value),
            low=Quantity(self.context.cartridge.downforce_min_gf, "", 2),
            high=Quantity(self.context.cartridge.downforce_max_gf, "gf"),
        )

    def _without_move(
        self, verdict: Verdict, now: Estimate, proposal: Proposal, stop: Message | None
    ) -> Assessment:
        """Answer that the control is to be looked at first, or that it does nothing."""
        if not proposal.gave_up:
            said = self._assessment(
                verdict,
                stop or message("downforce.no_safe_move"),
                now,
                proposal=proposal,
                notes=proposal.notes,
            )
            against = proposal.asks == "against"
            return asked_first(
                said, self.context, Control.COUNTERWEIGHT, dial=proposal.dial, against=against
            )
        headline, note = does_not_answer(Control.COUNTERWEIGHT, dial=proposal.dial)
        notes = (note, *proposal.notes)
        if stop is not None:
            notes = (stop, *notes)
        return self._assessment(
            Verdict.LEFT_AS_FOUND, headline, now, proposal=proposal, notes=notes
        )

    def _weigh(
        self,
        headline: Message,
        now: Estimate | None = None,
        *,
        verdict: Verdict = Verdict.READ_AGAIN,
        way: str = "",
        count: int | None = 1,
        predicted: Estimate | None = None,
        notes: tuple[Message, ...] = (),
    ) -> Assessment:
        """Ask for the stylus, or a check weight, on the scale; without one for a floating arm."""
        way = way or way_to_weigh(self.context, self.status)
        wanted = NextReading(way=way, count=count, why=headline)
        if way in FLOATING:
            wanted = float_it(self.context)
            headline = wanted.why or headline
        elif not can_tell(self.context, self.status):
            headline, verdict = message("downforce.no_way"), Verdict.LEFT_AS_FOUND
            notes = (message("downforce.note.no_way"), *notes)
        return self._assessment(
            verdict, headline, now, predicted=predicted, notes=notes, next_reading=wanted
        )

    def _assessment(
        self,
        verdict: Verdict,
        headline: Message,
        now: Estimate | None = None,
        *,
        proposal: Proposal | None = None,
        predicted: Estimate | None = None,
        notes: tuple[Message, ...] = (),
        next_reading: NextReading | None = None,
    ) -> Assessment:
        ahead = proposal.predicted if proposal else predicted
        dangerous = verdict not in (Verdict.GOOD, Verdict.NO_READING)
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(
                weighings_picture,
                message("rough_downforce.chart_title"),
                self.status,
                self.worth,
                self.band.wanted(self.context.cartridge),
                now,
                ahead,
            ),
            next_move=proposal.move if proposal else None,
            figures=downforce_figures(
                self.worth, now, self.band.target, self.band.half_range, predicted, proposal
            ),
            notes=(*notes, *common_notes(self.context, self.worth, self.status)),
            cautions=(KEEP_STYLUS_UP, MIND_THE_MAGNETS) if dangerous else (MIND_THE_MAGNETS,),
            method=self.worth.method,
            next_reading=next_reading,
        )
