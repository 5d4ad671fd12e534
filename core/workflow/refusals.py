"""Which entries are accepted next, and why not."""

from __future__ import annotations

from pydantic import ValidationError

from core.fitting import (
    Body,
    ChoiceMade,
    Finished,
    Fitting,
    HeadshellUsed,
    HoursRead,
    JobGiven,
    Journey,
    ListeningCheck,
    MoveMade,
    NoteWritten,
    Planned,
    ReadingTaken,
    Reopened,
    SkatingAtZero,
    StepAccepted,
    StepState,
    StepStatus,
    Verdict,
    Withdrawn,
    WorkAsked,
)
from core.language import Message, Name, Series, StepTitle, message
from core.steps import STEP_NAMES, reading_from, step_named, ways_of


def why_refused(journey: Journey, body: Body) -> Message | None:
    """Return why this entry is refused, or None if it is accepted."""
    told_any_time = NoteWritten | Reopened | HoursRead | JobGiven | SkatingAtZero
    if isinstance(body, told_any_time) or _takes_back_late(journey.fitting, body):
        return None
    if journey.fitting.is_finished:
        return message("workflow.refused.finished")
    if isinstance(body, ListeningCheck) and body.is_empty:
        return message("workflow.refused.nothing_heard")
    return _refused_while_open(journey, body)


def why_shut(journey: Journey, step: str, way: str) -> Message | None:
    """Return why this way of reading is closed now, or None if it is open."""
    reading = ways_of(step_named(step)).get(way)
    if reading is not None and reading.LOWERS_STYLUS and not journey.gate.is_open:
        return journey.gate.reason
    return None


def _refused_while_open(journey: Journey, body: Body) -> Message | None:
    match body:
        case Withdrawn(entry=entry_id):
            known = any(entry.id == entry_id for entry in journey.fitting.entries)
            return None if known else message("workflow.refused.no_such_entry")
        case Finished():
            return _unfinished(journey)
        case WorkAsked(steps=steps) if not set(steps) <= set(STEP_NAMES):
            return message("workflow.refused.unknown_steps")
        case Planned() | HeadshellUsed():
            return _too_late(body)
        case ReadingTaken() | MoveMade() | StepAccepted() | ChoiceMade():
            return _refused_at_step(journey, body)
        case _:
            return None


def _too_late(body: Planned | HeadshellUsed) -> Message:
    if isinstance(body, Planned):
        return message("workflow.refused.late_plan")
    return message("workflow.refused.late_headshell")


def _refused_at_step(
    journey: Journey, body: ReadingTaken | MoveMade | StepAccepted | ChoiceMade
) -> Message | None:
    if body.step not in STEP_NAMES:
        return message("workflow.refused.no_such_step", step=Name(body.step))
    status, work = journey.status(body.step), journey.fitting.work
    if isinstance(body, MoveMade) and work is not None and not work.moves:
        return message("workflow.refused.nothing_is_moved")
    if status.waits_for:
        return first_settle(status.waits_for)
    if isinstance(body, ReadingTaken):
        return _refused_reading(journey, body)
    if isinstance(body, StepAccepted):
        return _refused_acceptance(body, status)
    return _refused_choice(body) if isinstance(body, ChoiceMade) else None


def _refused_reading(journey: Journey, body: ReadingTaken) -> Message | None:
    try:
        reading = reading_from(body.step, body.reading)
    except ValidationError as error:
        return message("workflow.refused.reading", fault=Name(sentence_of(error)))
    return why_shut(journey, body.step, str(reading.way))


def _takes_back_late(fitting: Fitting, body: Body) -> bool:
    """Whether the entry withdraws what a finished fitting allows to be withdrawn too.

    Stylus hours at any time; a note or a tick that was told once it was finished. What it was
    finished with stays, and what is withdrawn can count again.
    """
    places = {entry.id: place for place, entry in enumerate(fitting.entries)}
    ends = (at for at, entry in enumerate(fitting.entries) if isinstance(entry.body, Finished))
    finished = max(ends, default=-1)
    place, meant = -1, body
    while isinstance(meant, Withdrawn) and meant.entry in places:
        place = places[meant.entry]
        meant = fitting.entries[place].body
    if meant is body:
        return False
    late = isinstance(meant, NoteWritten | SkatingAtZero) and place > finished
    return late or isinstance(meant, HoursRead)


def _unfinished(journey: Journey) -> Message | None:
    """Return every step that is still open, and what would settle them."""
    due = [status for status in journey.statuses if not status.is_settled]
    if not due:
        return None
    steps = Series(tuple(StepTitle(status.step) for status in due))
    stop = next((one for one in due if one.assessment.verdict is Verdict.STOP), None)
    if stop is not None:
        return message("workflow.refused.stop_open", steps=steps, step=StepTitle(stop.step))
    if all(status.is_acceptable for status in due):
        return message("workflow.refused.unaccepted", steps=steps)
    return message("workflow.refused.unsettled", steps=steps)


def first_settle(step: str) -> Message:
    """Return the sentence that another step must be settled first."""
    return message("workflow.first_settle", step=StepTitle(step))


def sentence_of(error: ValidationError) -> str:
    """Return pydantic's first error in words: field and fault."""
    first = error.errors(include_url=False, include_context=False, include_input=False)[0]
    where = " ".join(str(part).replace("_", " ") for part in first["loc"])
    fault = first["msg"].removeprefix("Value error, ")
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
