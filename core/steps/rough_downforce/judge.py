"""Rough downforce: safe enough for a stylus to touch a record at all.

Nothing before this step lowers the stylus on a record, and nothing after it may while this step's
verdict is not good (:mod:`core.workflow.replay` holds that gate).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Annotated, Final

from pydantic import Field

from core.drawing.chart import Picture
from core.estimation import COVERAGE_FACTOR, ControlVerdict, Estimate, disagreement
from core.fitting import (
    Applicability,
    Assessment,
    Context,
    Verdict,
)
from core.records import Balance, Cartridge, Deck
from core.steps.downforce import (
    NO_SAFE_MOVE,
    ROUGH,
    STOP_FACTOR,
    CheckWeight,
    DownforceBand,
    DownforceState,
    Event,
    Proposal,
    ScaleReading,
    ScaleWorth,
    common_notes,
    downforce_figures,
    downforce_state_of,
    events_of,
    foretold_note,
    propose,
    scale_worth,
    stop_words,
    times,
    weighings_picture,
)

NAME: Final = ROUGH

Readings = Annotated[ScaleReading | CheckWeight, Field(discriminator="way")]

_MORE_READINGS: Final = 3
"""More than so many further weighings are not asked for here: the move is surer."""


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Every arm has its downforce weighed, whatever makes it."""
    del cartridge
    dial = deck.arm.balance is Balance.DYNAMIC
    return Applicability(
        reads=True,
        adjusts=True,
        ways=("scale", "check weight"),
        reason="The dial sets it, once the arm is balanced at 0." if dial else "",
    )


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


def picture(context: Context) -> Picture:
    """Draw the weighings in order against the allowed range."""
    return assess(context).picture


def assess(context: Context) -> Assessment:
    """Judge the weighings that stand since the last move.

    Good inside the maker's range with the whole 95 % interval; outside it a move; above 1.5 times
    the maximum a stop; an interval that straddles a limit is weighed again, unless that would
    take too many weighings: then the move to the target is surer.
    """
    room = _RoughDownforceJudge.of(context)
    if not room.status.now:
        return room.without_reading()
    return room.judged()


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
        return cls(
            context,
            events,
            scale_worth(context),
            downforce_state_of(events, NAME),
            _Band.of(context),
        )

    def without_reading(self) -> Assessment:
        if self.status.moved_since:
            proposal = propose(self.context, self.events, self.worth, None, self.band.half_range)
            foretold = proposal.trim.predicted
            said = proposal.trim.verdict is ControlVerdict.READ and foretold is not None
            return self._assessment(
                Verdict.READ_AGAIN,
                "Put the stylus on the scale again: it was moved since.",
                predicted=foretold if said else None,
                notes=foretold_note(self.context, foretold, self.band.half_range) if said else (),
            )
        if self.context.trials and any(trial.reading for trial in self.context.trials):
            return self._assessment(
                Verdict.NO_READING, "The scale is checked. Now put the stylus on it."
            )
        return self._assessment(Verdict.NO_READING, "Put the stylus on the scale, not on a record.")

    def judged(self) -> Assessment:
        shown = [weighed.shown_gf for weighed in self.status.now]
        now, band = self.worth.mean(shown), self.band
        half = now.half_width()
        low, high = now.value - half, now.value + half
        value = self.context.numbers.unit(now.value, "gf")
        stop = now.value > band.stop or (now.value > band.high and high > band.stop)
        stop = stop or max(shown) > band.stop
        if stop:
            headline = stop_words(value, certain=now.value > band.stop)
            return self._moving(Verdict.STOP, now, headline)
        if self.worth.fault:
            return self._assessment(
                Verdict.READ_AGAIN, "Weigh the check weight again.", now, notes=(self.worth.fault,)
            )
        if low > band.high or high < band.low or self.worth.floats(*shown):
            return self._moving(Verdict.MOVE, now)
        if band.low <= low and high <= band.high:
            headline = f"{value}: safe for the steps that follow."
            return self._assessment(Verdict.GOOD, headline, now)
        return self._doubtful(shown, now)

    def _doubtful(self, shown: list[float], now: Estimate) -> Assessment:
        """Judge an interval that straddles a limit of the range."""
        odd = disagreement(shown, self.worth.read_gf)
        if odd is not None and len(shown) <= _MORE_READINGS:
            headline = "The weighings disagree: weigh once more, the arm hanging free."
            return self._assessment(Verdict.READ_AGAIN, headline, now)
        value = self.context.numbers.unit(now.value, "gf")
        more = self._weighings_to_settle(shown, now)
        if more is not None:
            headline = f"{value} is too near a limit to tell: weigh {times(more)} more."
            return self._assessment(Verdict.READ_AGAIN, headline, now)
        if abs(now.value - self.band.target) > now.half_width():
            return self._moving(Verdict.MOVE, now)
        note = (
            "This scale is too coarse for so narrow a range. Weigh a check weight several times, "
            "or use a finer scale, and correct it under the deck's bench kit."
        )
        headline = "The scale can't tell whether this is safe: use a check weight."
        return self._assessment(Verdict.READ_AGAIN, headline, now, notes=(note,))

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

    def _moving(self, verdict: Verdict, now: Estimate, headline: str = "") -> Assessment:
        proposal = propose(self.context, self.events, self.worth, now, self.band.half_range)
        move = proposal.move
        if move is None and verdict is Verdict.MOVE:
            return self._assessment(Verdict.READ_AGAIN, NO_SAFE_MOVE, now, notes=proposal.notes)
        if not headline and move is not None:
            headline = move.sentence
        notes = list(proposal.notes)
        if self.worth.floats(*(weighed.shown_gf for weighed in self.status.now)):
            notes.insert(0, "The arm floats or rises: it bears nothing on the scale yet.")
        elif verdict is Verdict.MOVE:
            notes.insert(0, self._why(now))
        return self._assessment(
            verdict,
            headline,
            now,
            proposal=proposal,
            notes=tuple(notes),
        )

    def _why(self, now: Estimate) -> str:
        numbers, cartridge = self.context.numbers, self.context.cartridge
        side = "more" if now.value > self.band.target else "less"
        return (
            f"{numbers.force(now.value)} is {side} than wanted; the maker allows "
            f"{numbers.plain(cartridge.downforce_min_gf)} to "
            f"{numbers.unit(cartridge.downforce_max_gf, 'gf')}."
        )

    def _assessment(
        self,
        verdict: Verdict,
        headline: str,
        now: Estimate | None = None,
        *,
        proposal: Proposal | None = None,
        predicted: Estimate | None = None,
        notes: tuple[str, ...] = (),
    ) -> Assessment:
        ahead = proposal.predicted if proposal else predicted
        dangerous = verdict in (Verdict.STOP, Verdict.MOVE, Verdict.READ_AGAIN)
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(
                weighings_picture,
                "Downforce before anything is played",
                self.status,
                self.worth,
                self.band.wanted(self.context.cartridge),
                now,
                ahead,
                self.context.numbers,
            ),
            next_move=proposal.move if proposal else None,
            figures=downforce_figures(
                self.worth, now, self.band.target, self.band.half_range, predicted, proposal
            ),
            notes=(*notes, *common_notes(self.context, self.worth, self.status)),
            cautions=("stylus_up", "magnets") if dangerous else ("magnets",),
            method=self.worth.method,
        )
