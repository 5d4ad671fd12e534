"""Answers common to rough and final downforce: floating, weighing, moving."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from core.estimation import ControlVerdict, Estimate
from core.fitting import (
    FLOATED_ANEW,
    KEEP_STYLUS_UP,
    Assessment,
    Context,
    Control,
    Figure,
    NextReading,
    Verdict,
)
from core.language import Message, Quantity, message
from core.steps.downforce.chart import DownforceBand, weighings_picture
from core.steps.downforce.floated import (
    FLOATING,
    FloatAnswer,
    can_tell,
    float_first,
    float_it,
    float_safely,
    way_to_weigh,
)
from core.steps.downforce.move import MOST_ANEW, Proposal, propose
from core.steps.downforce.weighings import (
    DownforceState,
    Event,
    Floated,
    ScaleReading,
    ScaleWorth,
    zero_is_old,
)
from core.steps.downforce.words import (
    MIND_THE_MAGNETS,
    OFF_RECORDS,
    common_notes,
    downforce_figures,
    foretold_note,
)
from core.steps.shared import asked_first, does_not_answer, floated_anew, is_checked, moved_in_all

_STUCK_READS: Final = 2.0
"""So many reading errors apart a scale shows the same: our own."""

_ENOUGH: Final = 3
"""This many weighings without a safe move are enough: more tell nothing new."""


@dataclass(frozen=True, slots=True)
class DownforceJudge:
    """One case at one of the two steps: the state, the target, and the words.

    ``tolerance`` is how near the target, in gf, a move must end; ``wanted`` is what is drawn.
    """

    context: Context
    events: tuple[Event, ...]
    worth: ScaleWorth
    status: DownforceState
    tolerance: float
    wanted: DownforceBand
    title: Message

    def answer(self) -> Assessment:
        """Judge what was set on a floating arm, or the weighings, or ask for the first."""
        if self.status.floated is not None:
            return self._floated(self.status.floated)
        return self._judged() if self.status.now else self._without_reading()

    def _judged(self) -> Assessment:
        """Judge the valid weighings."""
        raise NotImplementedError

    def _without_reading(self) -> Assessment:
        """Ask for a weighing if none is valid."""
        raise NotImplementedError

    def _floating_stands(self, now: Estimate) -> Assessment:
        """Judge what was set on a floating arm, if it is safe."""
        raise NotImplementedError

    def _no_safe_move(self, now: Estimate, proposal: Proposal) -> Assessment:
        """Answer if a move is wanted and none is certain to be safe."""
        headline = message("downforce.no_safe_move")
        if len(self.status.now) < _ENOUGH:
            return self._weigh(headline, now, count=None, notes=proposal.notes)
        if proposal.anew >= MOST_ANEW:
            return self._left_unsure(now, proposal)
        verdict = Verdict.READ_AGAIN
        said = self._assessment(verdict, headline, now, proposal=proposal, notes=proposal.notes)
        return floated_anew(said, dial=proposal.dial, why="unsure")

    def _left_unsure(self, now: Estimate, proposal: Proposal) -> Assessment:
        """Answer if the control's direction is unknown, floated again or not."""
        headline = message(
            "control.left_unsure", control="dial" if proposal.dial else "counterweight"
        )
        notes = (message("control.note.left_unsure"), *proposal.notes)
        return self._assessment(
            Verdict.LEFT_AS_FOUND, headline, now, proposal=proposal, notes=notes
        )

    def _why(self, verdict: Verdict, now: Estimate) -> tuple[Message, ...]:
        """Return why a move is ordered for an arm that bears something."""
        raise NotImplementedError

    def _in_danger(self, verdict: Verdict, now: Estimate | None) -> bool:
        """Whether the stylus must be kept up."""
        raise NotImplementedError

    def _figures(
        self, now: Estimate | None, predicted: Estimate | None, proposal: Proposal | None
    ) -> tuple[Figure, ...]:
        target = self.wanted.target_gf
        return downforce_figures(self.worth, now, target, self.tolerance, predicted, proposal)

    @property
    def _shown(self) -> list[float]:
        return [weighed.shown_gf for weighed in self.status.now]

    def _propose(self, now: Estimate | None) -> Proposal:
        return propose(self.context, self.events, self.worth, now, self.tolerance)

    def _floated(self, floated: Floated) -> Assessment:
        """Judge an arm that was floated and then set."""
        said = float_first(self.context, floated, self.status.in_vain)
        said = said or float_safely(self.context, floated.put_on)
        return self._said(said) if said else self._floating_stands(floated.put_on)

    def _said(self, answer: FloatAnswer) -> Assessment:
        return self._assessment(
            answer.verdict,
            answer.headline,
            answer.now,
            notes=answer.notes,
            next_reading=answer.asks,
        )

    def _weigh_after_move(self, count: int = 1) -> Assessment:
        """Ask for the weighing after a move, with the expected value."""
        trim = self._propose(None).trim
        foretold = trim.predicted if trim.verdict is ControlVerdict.READ else None
        if foretold is not None and foretold.half_width() > self.wanted.stop_gf:
            foretold = None  # it was floated anew since: what was weighed before tells nothing
        headline = message("downforce.moved_since")
        if self.context.trials and self.context.trials[-1].moves:
            headline = message("downforce.after_move")
        return self._weigh(
            headline,
            count=count,
            predicted=foretold,
            notes=foretold_note(foretold, self.tolerance),
        )

    def _moving(self, verdict: Verdict, now: Estimate, stop: Message | None = None) -> Assessment:
        """Order a move, unless the control must be checked first, or no move is safe."""
        proposal = self._propose(now)
        move = proposal.move
        if proposal.gave_up:
            return self._given_up(now, proposal, stop)
        if proposal.asks in ("anew", "unseen"):
            headline = stop or message("downforce.no_safe_move")
            said = self._assessment(verdict, headline, now, proposal=proposal, notes=proposal.notes)
            why = "unseen" if proposal.asks == "unseen" else "above"
            return floated_anew(said, dial=proposal.dial, why=why)
        headline = stop or (move.sentence if move else message("downforce.no_safe_move"))
        if proposal.asks:
            said = self._assessment(verdict, headline, now, proposal=proposal, notes=proposal.notes)
            return asked_first(
                said,
                self.context,
                Control.COUNTERWEIGHT,
                dial=proposal.dial,
                against="against" in proposal.asks,
                beyond="beyond" in proposal.asks,
                did="away" if proposal.asks == "away" else proposal.trim.did,
            )
        if move is None and verdict is Verdict.MOVE:
            return self._no_safe_move(now, proposal)
        floats = self.worth.floats(*self._shown)
        reasons = (message("downforce.note.floats"),) if floats else self._why(verdict, now)
        notes = (*reasons, *proposal.notes)
        return self._assessment(verdict, headline, now, proposal=proposal, notes=notes)

    def went_against(self, now: Estimate) -> Assessment | None:
        """Ask about a move that the weighings contradict, even if they are good; else None."""
        if self._propose(now).asks not in ("against", "away", "beyond against"):
            return None
        return self._moving(Verdict.READ_AGAIN, now)

    def zero_again(self, now: Estimate) -> Assessment | None:
        """Ask for the empty pan, if it was off before these weighings; else None.

        Whether the scale was zeroed since, as the lines say, decides what these weighings mean.
        """
        correction = self.worth.correction
        if correction is None or abs(correction.empty.value) <= self.worth.read_gf:
            return None
        if self.worth.floats(*self._shown):
            return None  # an arm that bears nothing is found out by a move
        if not zero_is_old(self.context, self.context.step, len(self.status.now)):
            return None
        shown = Quantity(correction.empty.value, "gf", form="signed")
        headline = message("downforce.zero_again", shown=shown)
        said = self._assessment(Verdict.READ_AGAIN, headline, now)
        note = message("downforce.note.zero_again")
        return replace(
            said,
            next_reading=NextReading("empty pan", why=headline),
            notes=(note, *said.notes),
        )

    def _is_stuck(self) -> bool:
        """Whether the scale shows of an arm that was floated anew what it showed before.

        Such an arm presses nothing: the scale is in doubt, and not the control.
        """
        if self.worth.floats(*self._shown):
            return False
        trials = self.context.trials
        control = Control.COUNTERWEIGHT
        anew = [at for at, one in enumerate(trials) if is_checked(one, control, where=FLOATED_ANEW)]
        weighed = {
            at: one.reading.downforce_gf
            for at, one in enumerate(trials)
            if isinstance(one.reading, ScaleReading)
        }
        before = [shown for at, shown in weighed.items() if anew and at < anew[-1]]
        after = [shown for at, shown in weighed.items() if anew and at > anew[-1]]
        if not before or not after:
            return False
        alike = _STUCK_READS * self.context.deck.bench.scale_read_gf
        return max(abs(shown - before[-1]) for shown in after) <= alike

    def _given_up(self, now: Estimate, proposal: Proposal, stop: Message | None) -> Assessment:
        """Answer that the control has no effect."""
        if proposal.asks == "anew":
            headline = message(
                "control.left_above", control="dial" if proposal.dial else "counterweight"
            )
            note = message("control.note.left_above")
        else:
            headline, note = does_not_answer(Control.COUNTERWEIGHT, dial=proposal.dial)
            if self._is_stuck():
                headline = message("downforce.scale_stuck", value=Quantity(now.value, "gf"))
                note = message("downforce.note.scale_stuck")
        back = moved_in_all(self.context, Control.COUNTERWEIGHT)
        notes = (note, *back, *proposal.notes)
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
        """Ask for the stylus, or a check weight, on the scale; without a scale for floating."""
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

    def _check_again(self, now: Estimate | None = None) -> Assessment:
        """Ask for the check weight again, because it showed that the scale is not right."""
        headline = message("downforce.weigh_check_weight_again")
        notes = (self.worth.fault,) if self.worth.fault else ()
        return self._weigh(headline, now, way="check weight", notes=notes)

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
        weighs_on = verdict in (Verdict.READ_AGAIN, Verdict.MOVE)
        guard = OFF_RECORDS if weighs_on else KEEP_STYLUS_UP
        keep_up = (guard,) if self._in_danger(verdict, now) else ()
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(
                weighings_picture, self.title, self.status, self.worth, self.wanted, now, ahead
            ),
            next_move=proposal.move if proposal else None,
            figures=self._figures(now, predicted, proposal),
            notes=(*notes, *common_notes(self.context, self.worth, self.status)),
            cautions=(*keep_up, MIND_THE_MAGNETS),
            method=self.worth.method,
            next_reading=next_reading,
        )
