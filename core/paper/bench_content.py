"""What a bench sheet says, apart from where it stands on paper.

No verdict is given without what it was judged against and by which method: where either is
missing from the record, the sheet says so in place of a verdict.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from core.drawing.chart import Picture
from core.fitting import Verdict
from core.language import (
    Caution,
    Numbers,
    cautions,
    listed,
    step_text,
)
from core.workflow.descriptions import figure_words, target_words
from core.workflow.status import Journey, StepState
from core.workflow.summary import (
    BeforeAfter,
    StepOutcome,
    general_notes_of,
    outcomes_of,
)

PICTURED: Final = ("alignment", "final_downforce", "speed")
"""Steps whose pictures are printed; rough downforce stands in where the final was not weighed."""

_CAUTIONED: Final = ("maker_first", "flashing", "unplug")
_DASH: Final = "–"
_NOT_YET: Final = {
    StepState.CLOSED: "Not done",
    StepState.TO_DO: "Not done",
    StepState.IN_HAND: "Not settled",
    StepState.CHECK_AGAIN: "Check again",
    StepState.KEPT: "Kept by choice",
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
    steps: tuple[BenchStep, ...]
    pictures: tuple[Picture, ...]
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
        How numbers are written; the journey should have been worked out with the same.
    next_check
        When the next check is due, in the person's own words; a line to write on if empty.
    """
    say = numbers or Numbers()
    outcomes = outcomes_of(journey)
    return BenchContent(
        facts=_facts(journey),
        unfinished=_unfinished(journey),
        steps=tuple(_step(index, outcome, say) for index, outcome in enumerate(outcomes, start=1)),
        pictures=_pictures(journey),
        notes=general_notes_of(journey),
        cautions=_cautions(journey),
        next_checks=_next_checks(journey, outcomes, say, next_check),
    )


def _facts(journey: Journey) -> tuple[tuple[str, str], ...]:
    fitting, deck = journey.fitting, journey.deck
    entries = list(fitting.counting())
    people = [fitting.who, *(entry.who for entry in entries)]
    who = listed(list(dict.fromkeys(name for name in people if name))) or "not said"
    last = max((entry.at for entry in entries), default=fitting.started_at)
    when = _day(fitting.started_at)
    if _day(last) != when:
        when = f"{when} to {_day(last)}"
    owner = f" ({deck.owner_reference})" if deck.owner_reference else ""
    revision, other = fitting.revisions
    return (
        ("Deck", f"{deck.name}{owner}, revision {revision}"),
        ("Cartridge", f"{journey.cartridge.name}, revision {other}"),
        ("Done by", who),
        ("When", when),
    )


def _day(at: datetime) -> str:
    return at.astimezone().strftime("%Y-%m-%d")


def _unfinished(journey: Journey) -> str:
    open_steps = [step_text(s.step).title for s in journey.statuses if not s.is_settled]
    if open_steps:
        return f"This fitting is not finished. Still open: {listed(open_steps)}."
    return "" if journey.fitting.is_finished else "All steps are settled; not yet closed as done."


def _step(index: int, outcome: StepOutcome, say: Numbers) -> BenchStep:
    return BenchStep(
        title=f"{index} {outcome.title}",
        rows=tuple(_row(pair, say) for pair in outcome.figures),
        verdict=verdict_words(outcome),
        method=_method(outcome),
        remarks=_remarks(outcome),
    )


def _method(outcome: StepOutcome) -> str:
    if not outcome.method:
        return ""
    moves = (
        f"; {outcome.moves} move{'s' if outcome.moves > 1 else ''} made" if outcome.moves else ""
    )
    return f"{outcome.method[:1].upper()}{outcome.method[1:]}{moves}"


def _row(pair: BeforeAfter, say: Numbers) -> BenchRow:
    known = pair.after or pair.before
    before = figure_words(pair.before, say) if pair.before else _DASH
    after = figure_words(pair.after, say) if pair.after else _DASH
    return BenchRow(
        label=known.label if known else "",
        before=before,
        after=after,
        target=target_words(known, say) if known else "",
    )


def verdict_words(outcome: StepOutcome) -> str:
    """Say how a step ended: its standing, its verdict, and the sentence that goes with it.

    A verdict is given with its method and with what it was judged against, or not at all.
    """
    if outcome.verdict is Verdict.NO_READING:
        return "No verdict: nothing was read."
    if outcome.verdict is Verdict.NOTHING_TO_SET:
        return f"{outcome.verdict.label}. {outcome.reason or outcome.headline}"
    if not outcome.method:
        return "No verdict: how it was read is not on record."
    judged = any((p.after or p.before) is not None for p in outcome.figures)
    against = "" if judged else " Judged by the step's own checklist."
    status = _NOT_YET.get(outcome.state, "")
    verdict = f"{outcome.verdict.label}: {outcome.headline}"
    words = f"{status} – {verdict}" if status else verdict
    return f"{words}{against}"


def _remarks(outcome: StepOutcome) -> tuple[str, ...]:
    remarks: list[str] = []
    if outcome.was_overridden:
        remarks.append(f"Kept by choice: {outcome.reason or 'no reason was written down'}")
    elif outcome.was_left and outcome.reason:
        remarks.append(f"Left as found: {outcome.reason}")
    elif outcome.state is StepState.CHECK_AGAIN and outcome.reason:
        remarks.append(f"Check again: {outcome.reason}")
    remarks += [f"Note: {note}" for note in outcome.notes]
    return tuple(remarks)


def _pictures(journey: Journey) -> tuple[Picture, ...]:
    pictures: list[Picture] = []
    for name in PICTURED:
        status = journey.status(name)
        if name == "final_downforce" and not status.trials:
            rough = journey.status("rough_downforce")
            status = rough if rough.trials else status
        pictures.append(status.assessment.picture)
    return tuple(pictures)


def _cautions(journey: Journey) -> tuple[Caution, ...]:
    keys = list(_CAUTIONED)
    for status in journey.statuses:
        keys += [key for key in status.assessment.cautions if status.is_settled is False]
    known = cautions()
    return tuple(known[key] for key in dict.fromkeys(keys) if key in known)


def _next_checks(
    journey: Journey, outcomes: tuple[StepOutcome, ...], say: Numbers, next_check: str
) -> tuple[str, ...]:
    life = say.short(journey.cartridge.stylus_life_h)
    checks = [
        f"{outcome.title}: {outcome.reason}"
        for outcome in outcomes
        if outcome.state is StepState.CHECK_AGAIN and outcome.reason
    ]
    checks.append(f"On: {next_check.strip() or '____________________'}")
    checks.append(
        f"The stylus is rated for {life} h of play; have it looked at before then, and at once "
        "after any knock."
    )
    checks.append(
        "When the deck is moved: level. When cartridge, stylus, mat or record thickness change: "
        "all but level and speed (common practice)."
    )
    return tuple(checks)
