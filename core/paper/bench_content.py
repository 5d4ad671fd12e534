"""What a bench sheet says, apart from where it stands on paper.

No verdict is given without what it was judged against and by which method: where either is
missing from the record, the sheet says so in place of a verdict.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from core.drawing.chart import Picture
from core.drawing.drawing import Drawing
from core.fitting import Journey, StepState, Verdict
from core.language import (
    Caution,
    Message,
    Name,
    Numbers,
    Quantity,
    Series,
    StepTitle,
    cautions,
    message,
    shown,
)
from core.maintenance.due import check_due
from core.maintenance.model import visit_of
from core.paper.step_drawings import drawing_of
from core.steps import STEP_NAMES, STEPS, step_named, ways_of
from core.workflow import (
    BeforeAfter,
    StepOutcome,
    figure_value,
    general_notes_of,
    is_left_loose,
    listening_of,
    outcomes_of,
    set_back_of,
    target_value,
    work_of,
)

_CAUTIONED: Final = ("maker_first", "flashing", "unplug")
_DASH: Final = "–"
_NOT_YET: Final = {
    StepState.CLOSED: "not done",
    StepState.TO_DO: "not done",
    StepState.IN_HAND: "not settled",
    StepState.CHECK_AGAIN: "check again",
    StepState.KEPT: "kept",
}


@dataclass(frozen=True, slots=True)
class BenchRow:
    """One figure of a step in words: as found, as left with its error, target and tolerance."""

    label: str
    before: str
    after: str
    target: str


@dataclass(frozen=True, slots=True)
class BenchStep:
    """One step: its figures, its verdict in words with the method, and what to remark."""

    title: str
    rows: tuple[BenchRow, ...]
    verdict: str
    method: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BenchContent:
    """Everything a bench sheet says."""

    facts: tuple[tuple[str, str], ...]
    unfinished: str
    work: tuple[str, ...]
    steps: tuple[BenchStep, ...]
    pictures: tuple[Picture, ...]
    drawings: tuple[tuple[str, Drawing], ...]
    """The title of each step that was worked on, and its drawing for the hand."""
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]
    next_checks: tuple[str, ...]


def bench_content(
    journey: Journey, numbers: Numbers | None = None, *, next_check: str = ""
) -> BenchContent:
    """Return what the sheet of a fitting says.

    Parameters
    ----------
    journey
        Where the fitting stands.
    numbers
        How numbers are written.
    next_check
        When the next check is due, in the person's own words. If empty, the day that the deck's
        record makes of a finished fitting; a line to write on where there is none.
    """
    say = numbers or Numbers()
    outcomes, set_back = outcomes_of(journey), set_back_of(journey)
    loose = (message("sheet.loose"),) if is_left_loose(journey) else ()
    still = () if set_back is None else (set_back.said,)
    return BenchContent(
        facts=facts_of(journey, say),
        unfinished=_unfinished(journey, say),
        work=tuple(say.text(line) for line in (*loose, *work_of(journey), *still)),
        steps=tuple(_step(outcome, say) for outcome in outcomes),
        pictures=_pictures(journey),
        drawings=_drawings(journey, outcomes, say),
        notes=(*general_notes_of(journey), *map(say.text, listening_of(journey))),
        cautions=_cautions(journey, say.language),
        next_checks=_next_checks(journey, outcomes, say, next_check),
    )


def facts_of(
    journey: Journey, say: Numbers, *, for_owner: bool = False
) -> tuple[tuple[str, str], ...]:
    """Return what a fitting was of, who did it and when: pairs of a name and what it says.

    An owner (``for_owner``) is told no revisions of the records.
    """
    fitting, deck = journey.fitting, journey.deck
    entries = list(fitting.counting())
    people = [fitting.who, *(entry.who for entry in entries)]
    names = tuple(Name(name) for name in dict.fromkeys(people) if name)
    last = max((entry.at for entry in entries), default=fitting.started_at)
    first, last_day = _day(fitting.started_at), _day(last)
    revision, other = fitting.revisions
    named = message("sheet.record", name=Name(deck.name), revision=revision)
    if deck.owner_reference:
        owner = Name(deck.owner_reference)
        named = message("sheet.owned", name=Name(deck.name), owner=owner, revision=revision)
    when = message("sheet.day", day=first)
    if last_day != first:
        when = message("sheet.days", first=first, last=last_day)
    cartridge = message("sheet.record", name=Name(journey.cartridge.name), revision=other)
    if for_owner:
        named, cartridge = (
            message("sheet.name", name=Name(one.name)) for one in (deck, journey.cartridge)
        )
    facts: tuple[tuple[Message, Message], ...] = (
        (message("sheet.deck"), named),
        (message("sheet.cartridge"), cartridge),
        (message("sheet.when"), when),
    )
    if names:
        by = message("sheet.done_by"), message("sheet.people", names=Series(names))
        facts = (*facts[:2], by, facts[2])
    number = fitting.job.number
    if number:  # the number alone: whose job it is stands on no paper
        facts = ((message("sheet.job"), message("sheet.job_number", number=Name(number))), *facts)
    return tuple((say.text(name), say.text(fact)) for name, fact in facts)


def _day(at: datetime) -> Name:
    return Name(at.astimezone().strftime("%Y-%m-%d"))


def _unfinished(journey: Journey, say: Numbers) -> str:
    open_steps = tuple(StepTitle(s.step) for s in journey.statuses if not s.is_settled)
    if open_steps:
        return say.text(message("sheet.open", steps=Series(open_steps)))
    return "" if journey.fitting.is_finished else say.text(message("sheet.not_closed"))


def _step(outcome: StepOutcome, say: Numbers) -> BenchStep:
    number = STEP_NAMES.index(outcome.step) + 1
    return BenchStep(
        title=f"{number} {say.value(outcome.title)}",
        rows=tuple(_row(pair, say) for pair in outcome.figures),
        verdict=" ".join(say.text(one) for one in verdict_of(outcome)),
        method=_method(outcome, say),
        remarks=tuple(say.text(remark) for remark in _remarks(outcome)),
    )


def _method(outcome: StepOutcome, say: Numbers) -> str:
    if not outcome.method or outcome.verdict is Verdict.NO_READING:
        return ""
    method = outcome.method
    return say.text(message("sheet.method", method=method, moves=outcome.moves))


def _row(pair: BeforeAfter, say: Numbers) -> BenchRow:
    target = target_value(pair.either)
    return BenchRow(
        label=say.text(pair.label),
        before=say.value(figure_value(pair.before)) if pair.before else _DASH,
        after=_as_left(pair, say),
        target="" if target is None else say.value(target),
    )


def _as_left(pair: BeforeAfter, say: Numbers) -> str:
    if pair.after:
        return say.value(figure_value(pair.after))
    if pair.foretold:
        return say.text(message("sheet.foretold", value=figure_value(pair.foretold)))
    return _DASH


def verdict_of(outcome: StepOutcome) -> tuple[Message, ...]:
    """Say how a step ended: where it stands, its verdict, and the sentence that goes with it.

    A verdict is given with its method and with what it was judged against, or not at all.
    """
    headline, verdict = outcome.headline, outcome.shown_verdict
    if outcome.verdict is Verdict.NO_READING:
        return (message("sheet.unread"),)
    if outcome.verdict is Verdict.NOTHING_TO_SET:
        why = shown(outcome.reason) if outcome.reason else headline
        return (message("sheet.nothing_to_set", verdict=verdict, why=why),)
    if not outcome.method:
        return (message("sheet.no_method"),)
    said = message("sheet.verdict", verdict=verdict, headline=headline)
    state = _NOT_YET.get(outcome.state)
    if state:
        said = message("sheet.unsettled", state=state, verdict=verdict, headline=headline)
    if outcome.figures:
        return (said,)
    if "checklist" in ways_of(step_named(outcome.step)):
        return (said, message("sheet.by_checklist"))
    return (said, message("sheet.no_figure"))


def _remarks(outcome: StepOutcome) -> tuple[Message, ...]:
    remarks: list[Message] = []
    reason = shown(outcome.reason or "")
    if outcome.was_overridden:
        kept = message("sheet.kept", reason=reason) if outcome.reason else None
        remarks.append(kept or message("sheet.kept_unsaid"))
    elif outcome.was_left and outcome.reason:
        how = "set" if outcome.was_set else "found"
        remarks.append(message("sheet.left", how=how, reason=reason))
    elif outcome.state is StepState.CHECK_AGAIN and outcome.reason:
        remarks.append(message("sheet.check_again", reason=reason))
    remarks += [outcome.when_found] if outcome.when_found else []
    remarks += outcome.doubts
    remarks += [message("sheet.note", note=Name(note)) for note in outcome.notes]
    return tuple(remarks)


def _pictures(journey: Journey) -> tuple[Picture, ...]:
    pictures: list[Picture] = []
    for step in STEPS:
        if not step.REPORT.is_pictured:
            continue
        status = journey.status(step.NAME)
        if step.REPORT.stands_in and not status.trials:
            other = journey.status(step.REPORT.stands_in)
            status = other if other.trials else status
        if any(trial.reading is not None for trial in status.trials):
            pictures.append(status.assessment.picture)
    more = [one for step in STEPS for one in journey.status(step.NAME).assessment.more_pictures]
    return (*pictures, *(one.draw() for one in more))


def _drawings(
    journey: Journey, outcomes: tuple[StepOutcome, ...], say: Numbers
) -> tuple[tuple[str, Drawing], ...]:
    found = []
    for number, outcome in enumerate(outcomes, 1):
        drawing = drawing_of(journey.status(outcome.step), journey, say)
        if drawing is not None:
            found.append((f"{number} {say.value(outcome.title)}", drawing))
    return tuple(found)


def _cautions(journey: Journey, language: str) -> tuple[Caution, ...]:
    keys = list(_CAUTIONED)
    for status in journey.statuses:
        keys += () if status.is_settled else status.assessment.caution_keys
    known = cautions(language)
    return tuple(known[key] for key in dict.fromkeys(keys) if key in known)


def _next_checks(
    journey: Journey, outcomes: tuple[StepOutcome, ...], say: Numbers, next_check: str
) -> tuple[str, ...]:
    life = Quantity(journey.cartridge.stylus_life_h, form="short")
    checks = [
        message("sheet.check_step", step=outcome.title, reason=shown(outcome.reason))
        for outcome in outcomes
        if outcome.state is StepState.CHECK_AGAIN and outcome.reason
    ]
    day = next_check.strip() or day_due(journey)
    checks.append(message("sheet.on_day", day=Name(day)) if day else message("sheet.on_blank"))
    checks.append(message("sheet.stylus_life", life=life))
    checks.append(message("sheet.when_changed"))
    return tuple(say.text(check) for check in checks)


def day_due(journey: Journey) -> str:
    """Return the day on which the deck is due again, as its history says it; empty if undated."""
    visit = visit_of(journey.fitting, journey.deck.hours_a_week)
    due = check_due(journey.deck, (visit,), visit.finished or visit.started)
    return due.on.isoformat() if due is not None and due.on is not None else ""
