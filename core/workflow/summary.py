"""The summary of a fitting: each step before and after, what was left or overridden."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from itertools import takewhile

from core.fitting import (
    Assessment,
    Figure,
    Journey,
    NoteWritten,
    QualifiedPass,
    StepState,
    StepStatus,
    Trial,
    Verdict,
    Work,
)
from core.language import (
    Message,
    Name,
    Quantity,
    Series,
    StepTitle,
    Text,
    clock_of,
    day_of,
    message,
)
from core.steps import step_named
from core.steps.shared import StepReport
from core.workflow.set_back import skating_follows


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """One figure as found and as left; None for the unknown one. At least one is known.

    ``foretold`` is what it should be after a move, where nothing was read since.
    """

    before: Figure | None
    after: Figure | None
    foretold: Figure | None = None

    @property
    def label(self) -> Message:
        """The name of the figure."""
        return self.either.label

    @property
    def either(self) -> Figure:
        """The figure as left, else as found: for its label and target."""
        known = self.after or self.before or self.foretold
        if known is None:
            raise ValueError("a figure neither found nor left is none")
        return known


@dataclass(frozen=True, slots=True)
class StepOutcome:
    """How one step ended.

    Parameters
    ----------
    step
        Which.
    state, verdict, headline, method
        Where it stands now.
    shown_state, shown_verdict
        What stands for state and verdict on screen and paper.
    figures
        The figures with a target, then those a step tells beside them, as found (before the first
        move) and as left.
    reason
        Why it was kept by choice, left as found, has nothing to set, or must be checked.
    moves
        How many moves were made.
    notes
        What was written to it.
    unread
        What of it nobody read though its verdict passes.
    was_set
        Whether anything of it was set in this fitting, by a move or by how it was read.
    found_at
        When it was first read as found, of the steps that tell it.
    was_read
        Whether it was read as found, even if that gave no figure.
    """

    step: str
    state: StepState
    verdict: Verdict
    headline: Message
    method: Message | None
    figures: tuple[BeforeAfter, ...]
    reason: Text | None
    moves: int
    notes: tuple[str, ...]
    shown_state: StepState | QualifiedPass
    shown_verdict: Verdict | QualifiedPass
    unread: tuple[Message, ...] = ()
    was_set: bool = False
    found_at: datetime | None = None
    was_read: bool = False

    @property
    def title(self) -> StepTitle:
        """The title of the step."""
        return StepTitle(self.step)

    @property
    def when_found(self) -> Message | None:
        """When it was first read as found; None if that is not told."""
        if self.found_at is None:
            return None
        day, clock = Name(day_of(self.found_at).isoformat()), Name(clock_of(self.found_at))
        return message("workflow.found_at", day=day, clock=clock)

    @property
    def was_overridden(self) -> bool:
        """Whether a verdict was overridden with a reason."""
        return self.state is StepState.KEPT

    @property
    def was_left(self) -> bool:
        """Whether it stays as it is because nothing on the deck sets it closer."""
        return self.verdict is Verdict.LEFT_AS_FOUND

    @property
    def doubts(self) -> tuple[Message, ...]:
        """What was not read, or is known less well than required; empty for nothing."""
        coarse = tuple(
            message(
                "workflow.doubt",
                figure=figure.label,
                sure=Quantity(figure.half_width or 0.0, figure.unit, figure.decimals),
                wanted=Quantity(figure.tolerance or 0.0, figure.unit, figure.decimals),
            )
            for figure in (pair.after for pair in self.figures)
            if figure is not None and figure.is_coarse
        )
        return (*self.unread, *coarse)


def outcomes_of(journey: Journey) -> tuple[StepOutcome, ...]:
    """Return how every step of this work stands, in order."""
    asked = (one.step for one in journey.statuses if one.state is not StepState.NOT_ASKED)
    return tuple(outcome_of(journey, step) for step in asked)


def work_of(journey: Journey, *, for_owner: bool = False) -> tuple[Message, ...]:
    """Return what a short job includes and leaves out; empty for a whole fitting.

    An owner (``for_owner``) is not told what is left to the bench.
    """
    asked = journey.fitting.work
    if asked is None or asked.work is Work.WHOLE:
        return ()
    left = [StepTitle(one.step) for one in journey.statuses if one.state is StepState.NOT_ASKED]
    said = [message("workflow.work.asked", work=asked.work)]
    if left:
        said.append(message("workflow.work.left_out", steps=Series(tuple(left))))
    if not for_owner and skating_follows(journey):
        said.append(message("workflow.work.skating_follows"))
    return tuple(said)


def outcome_of(journey: Journey, step: str) -> StepOutcome:
    """Return how one step stands."""
    return _outcome(journey, journey.status(step))


def general_notes_of(journey: Journey) -> tuple[str, ...]:
    """Return the notes that belong to no step."""
    return _notes(journey, "")


def as_found(journey: Journey, step: str) -> Assessment | None:
    """Return the step's answer before anything was set in it; None without a reading then.

    Where its first reading alone is what was found, the later ones add only what that does not say.
    """
    before = _before_setting(journey, step)
    if not before:
        return None
    found = _assessed(journey, step, before)
    first = next((place for place, one in enumerate(before) if one.reading is not None), None)
    if not step_named(step).REPORT.is_found_first or first is None:
        return found
    alone = _assessed(journey, step, before[: first + 1])
    figures = (alone.figure(one.key) or one for one in found.figures)
    return replace(found, figures=tuple(figures))


def _before_setting(journey: Journey, step: str) -> tuple[Trial, ...]:
    return tuple(takewhile(lambda trial: not trial.sets, journey.context(step).trials))


def _assessed(journey: Journey, step: str, trials: tuple[Trial, ...]) -> Assessment:
    context = journey.context(step)
    return step_named(step).assess(replace(context, log={**context.log, step: trials}))


def _outcome(journey: Journey, status: StepStatus) -> StepOutcome:
    now = status.assessment
    report = step_named(status.step).REPORT
    moves = sum(1 for trial in status.trials if trial.moves)
    asked = journey.fitting.work
    set_to_begin = report.is_found_at_end and not moves and (asked is None or asked.moves)
    # What reads the same before may have set it: then that found it, or nobody did.
    before = journey.context(report.stands_in).trials if report.stands_in else ()
    finder = report.stands_in if before else status.step
    first = None if set_to_begin else as_found(journey, finder)
    found_at = next((one.at for one in _before_setting(journey, finder) if one.at), None)
    is_begun = finder == status.step or bool(status.trials)
    figures = _paired(first if is_begun else None, now, report)
    tells_when = report.tells_when_found and any(pair.before for pair in figures)
    return StepOutcome(
        step=status.step,
        state=status.state,
        verdict=now.verdict,
        headline=now.headline,
        method=now.method,
        figures=figures,
        reason=_reason(status),
        moves=moves,
        notes=_notes(journey, status.step),
        shown_state=status.shown_state,
        shown_verdict=now.shown_verdict,
        unread=now.unread,
        was_set=now.was_set or (set_to_begin and bool(status.trials)),
        found_at=found_at if tells_when else None,
        was_read=first is not None and first.verdict is not Verdict.NO_READING,
    )


def _paired(
    first: Assessment | None, now: Assessment, report: StepReport
) -> tuple[BeforeAfter, ...]:
    """Pair the figures shown, including those that only one of the two has."""
    known = (*(first.figures if first else ()), *now.figures)
    keys = dict.fromkeys(figure.key for figure in known if figure.target is not None)
    beside = (key for key in report.told_beside if any(one.key == key for one in known))
    keys |= dict.fromkeys(beside)
    figures = first.figures if first else ()
    found = {one.key: one for one in figures if one.key not in report.worked_out}
    pairs = (_pair(found.get(key), now, key) for key in keys)
    return tuple(pair for pair in pairs if pair.before or pair.after or pair.foretold)


def _pair(before: Figure | None, now: Assessment, key: str) -> BeforeAfter:
    figure = now.figure(key)
    if now.foretells:
        return BeforeAfter(before, None, foretold=figure)
    return BeforeAfter(before, figure)


def _reason(status: StepStatus) -> Text | None:
    if status.acceptance is not None and status.is_settled and status.reason:
        return status.reason
    if status.state is StepState.CHECK_AGAIN:
        return status.reason
    if status.assessment.verdict in (Verdict.LEFT_AS_FOUND, Verdict.NOTHING_TO_SET):
        return status.applicability.reason
    return status.reason


def _notes(journey: Journey, step: str) -> tuple[str, ...]:
    return tuple(
        entry.body.text
        for entry in journey.fitting.counting()
        if isinstance(entry.body, NoteWritten) and entry.body.step == step
    )
