"""Where the steps of a fitting stand, and what may be entered next.

These are the answers; :mod:`core.workflow.replay` works them out from the log.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pydantic import ValidationError

from core.fitting import (
    Applicability,
    Assessment,
    Body,
    ChoiceMade,
    Context,
    Entry,
    Finished,
    Fitting,
    HoursRead,
    MoveMade,
    NoteWritten,
    Planned,
    ReadingTaken,
    Reopened,
    StepAccepted,
    Trial,
    Verdict,
    Withdrawn,
)
from core.language import Message, Name, StepTitle, Text, message
from core.records import Cartridge, Choice, Deck
from core.steps import STEP_NAMES, reading_from, step_named, ways_of


class StepState(Choice):
    """Where a step stands."""

    CLOSED = "closed", "Not yet"
    TO_DO = "to do", "To do"
    IN_HAND = "in hand", "In hand"
    DONE = "done", "Done"
    KEPT = "kept", "Kept by choice"
    CHECK_AGAIN = "check again", "Check again"


@dataclass(frozen=True, slots=True)
class Disturbance:
    """What later moves did to one figure of a step.

    ``change`` is None when only a reading can tell; ``sends_back`` when the step must be checked.
    """

    key: str
    change: float | None
    unit: str
    predicted: float | None
    sends_back: bool
    sentence: Message | None


@dataclass(frozen=True, slots=True)
class Gate:
    """Whether the stylus may be lowered on a record, and why not."""

    is_open: bool
    reason: Message | None = None


@dataclass(frozen=True, slots=True)
class StepStatus:
    """One step of one fitting, now."""

    step: str
    state: StepState
    reason: Text
    assessment: Assessment
    applicability: Applicability
    acceptance: Entry | None
    disturbances: tuple[Disturbance, ...]
    trials: tuple[Trial, ...]
    waits_for: str = ""
    """The step that must be settled before this one can be worked on."""

    @property
    def is_open(self) -> bool:
        """Whether it can be worked on."""
        return not self.waits_for

    @property
    def is_settled(self) -> bool:
        """Whether nothing is left to do here for now."""
        return self.state in (StepState.DONE, StepState.KEPT)


@dataclass(frozen=True, slots=True)
class Journey:
    """All nine standings, the stylus gate, and the step that is due next (None: all settled)."""

    deck: Deck
    cartridge: Cartridge
    fitting: Fitting
    statuses: tuple[StepStatus, ...]
    gate: Gate
    contexts: Mapping[str, Context]

    @property
    def due(self) -> str | None:
        """The first step in order with something left to do."""
        return next((s.step for s in self.statuses if not s.is_settled), None)

    def status(self, step: str) -> StepStatus:
        """Return where a step stands; KeyError for no such step."""
        for status in self.statuses:
            if status.step == step:
                return status
        raise KeyError(step)

    def context(self, step: str) -> Context:
        """Return what the step is judged by, to judge a draft with."""
        return self.contexts[step]

    def refusal(self, body: Body) -> Message | None:
        """Return why this entry can't be taken, or None if it can."""
        if isinstance(body, NoteWritten | Reopened | HoursRead) or self._takes_hours_back(body):
            return None
        if self.fitting.is_finished:
            return message("workflow.refused.finished")
        return self._refused_while_open(body)

    def gate_refusal(self, step: str, way: str) -> Message | None:
        """Return why this way of reading is closed for now, or None if it is open."""
        reading = ways_of(step_named(step)).get(way)
        if reading is not None and reading.LOWERS_STYLUS and not self.gate.is_open:
            return self.gate.reason
        return None

    def _refused_while_open(self, body: Body) -> Message | None:
        match body:
            case Withdrawn(entry=entry_id):
                known = any(entry.id == entry_id for entry in self.fitting.entries)
                return None if known else message("workflow.refused.no_such_entry")
            case Finished():
                return self._unfinished()
            case Planned():
                return message("workflow.refused.late_plan")
            case ReadingTaken() | MoveMade() | StepAccepted() | ChoiceMade():
                return self._refused_at_step(body)
            case _:
                return None

    def _refused_at_step(
        self, body: ReadingTaken | MoveMade | StepAccepted | ChoiceMade
    ) -> Message | None:
        if body.step not in STEP_NAMES:
            return message("workflow.refused.no_such_step", step=Name(body.step))
        status = self.status(body.step)
        if status.waits_for:
            return first_settle(status.waits_for)
        if isinstance(body, ReadingTaken):
            return self._refused_reading(body)
        if isinstance(body, StepAccepted):
            return _refused_acceptance(body, status)
        return _refused_choice(body) if isinstance(body, ChoiceMade) else None

    def _refused_reading(self, body: ReadingTaken) -> Message | None:
        try:
            reading = reading_from(body.step, body.reading)
        except ValidationError as error:
            return message("workflow.refused.reading", fault=Name(sentence_of(error)))
        return self.gate_refusal(body.step, str(reading.way))

    def _takes_hours_back(self, body: Body) -> bool:
        """Whether hours are withdrawn: like entering them, that is done when all is finished."""
        return isinstance(body, Withdrawn) and any(
            entry.id == body.entry and isinstance(entry.body, HoursRead)
            for entry in self.fitting.entries
        )

    def _unfinished(self) -> Message | None:
        due = self.due
        return message("workflow.refused.unsettled", step=StepTitle(due)) if due else None


def first_settle(step: str) -> Message:
    """Return what is said of a step that another one must come before."""
    return message("workflow.first_settle", step=StepTitle(step))


def sentence_of(error: ValidationError) -> str:
    """Return the first thing pydantic found wrong, in words: field and fault."""
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    where = " ".join(str(part).replace("_", " ") for part in first["loc"])
    fault = first["msg"].removeprefix("Value error, ")
    fault = fault[:1].lower() + fault[1:]
    return f"{where}: {fault}" if where else fault


def _refused_acceptance(body: StepAccepted, status: StepStatus) -> Message | None:
    verdict = status.assessment.verdict
    if body.verdict is not verdict:
        return message("workflow.refused.verdict_changed", verdict=verdict)
    if verdict is Verdict.STOP:
        return message("workflow.refused.stop")
    needs_reason = not verdict.passes or status.state is StepState.CHECK_AGAIN
    if needs_reason and not body.reason.strip():
        return message("workflow.refused.no_reason")
    return None


def _refused_choice(body: ChoiceMade) -> Message | None:
    try:
        step_named(body.step).Chosen.model_validate(body.choices)
    except ValidationError as error:
        return message("workflow.refused.choice", fault=Name(sentence_of(error)))
    return None
