"""Compare a plan's predictions with the findings, and learn from them for the next plan."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from core.estimation import CONFIDENCE, COVERAGE_FACTOR, two_sided_factor
from core.fitting import (
    Assessment,
    Entry,
    Figure,
    Journey,
    MoveMade,
    MovePart,
    ReadingTaken,
    Start,
    Trial,
)
from core.language import Interval, Message, Quantity, StepTitle, message
from core.steps import step_named
from core.steps.shared import directed
from core.steps.shared.swap_part import Past, StepForecast
from core.swap.model import Foretold
from core.swap.sparing import FINEST
from core.workflow import change_value, described_part

FEWEST_SWAPS: Final = 3
"""Fewest predictions from which the next is corrected: our own allowance."""

_LABELS: Final[dict[str, Message]] = {
    "downforce": message("swap.label.downforce"),
    "pillar": message("swap.label.pillar"),
    "effective_length": message("swap.label.effective_length"),
    "slide": message("swap.label.slide"),
    "offset": message("swap.label.offset"),
    "twist": message("swap.label.twist"),
    "tilt": message("swap.label.tilt"),
    "setting": message("swap.label.setting"),
    "head_mass": message("swap.label.head_mass"),
}

_WAYS: Final[dict[str, tuple[Message, Message]]] = {
    "pillar": (message("arm_height.off.up"), message("arm_height.off.down")),
    "twist": (message("alignment.off.turned_in"), message("alignment.off.turned_out")),
    "tilt": (message("tilt.off.left_high"), message("tilt.off.right_high")),
}
"""The direction of a predicted figure above zero and below, as its step names it once read."""


def compare(journey: Journey) -> tuple[Foretold, ...]:
    """Compare the plan's predictions with the findings; empty for a fitting without a plan.

    The finding is the step's result from the readings between the planned move and the next one;
    for skating, the final setting. If a control was moved by another amount before the first
    reading, the prediction changes by its gain. Nothing of it is stored.

    Parameters
    ----------
    journey
        A fitting as it stands.
    """
    planned = journey.fitting.planned
    if planned is None:
        return ()
    entries = tuple(journey.fitting.counting())
    return tuple(
        _foretold(journey, entries, start, planned.starts)
        for start in planned.starts
        if start.predicted is not None and math.isfinite(start.predicted)
    )


def _foretold(
    journey: Journey,
    entries: Sequence[Entry],
    start: Start,
    planned: Sequence[Start],
) -> Foretold:
    made = _made_otherwise(entries, start)
    if made is not None:
        start = _scaled(start, made)
    predicted = start.predicted or 0.0
    figure = _found(journey, entries, start, planned, made)
    found = None if figure is None else figure.value
    half = None if figure is None else figure.half_width
    label = _label(start, figure)
    decimals = figure.decimals if figure is not None else 2
    error = None if found is None else found - predicted
    ways = _WAYS.get(start.key) if figure is None else figure.ways
    sentence = _sentence(start, figure, ways, max(decimals, 1))
    if made is not None:
        parallel = not journey.deck.arm.is_pivoted
        moved = described_part(made, parallel=parallel)
        sentence = message("swap.moved_otherwise", moved=moved, told=sentence)
    return Foretold(
        step=start.step,
        key=start.key,
        label=label,
        predicted=predicted,
        half_width=start.half_width,
        found=found,
        found_half_width=half,
        error=error,
        unit=start.unit,
        decimals=decimals,
        sentence=sentence,
        ways=ways,
    )


def _made_otherwise(entries: Sequence[Entry], start: Start) -> MovePart | None:
    """Return the amount a control was moved by before the first reading, if not as planned.

    None if it was moved as planned, without a record, or with an unknown gain.
    """
    planned = start.part or start.spared
    if planned is None or start.gain is None or step_named(start.step).REPORT.is_found_at_end:
        return None
    if start.part is not None and any(_moves(entry, start.step, start.part) for entry in entries):
        return None
    total, count = 0.0, 0
    for entry in entries[: _first_reading(entries, start.step)]:
        body = entry.body
        for part in body.parts if isinstance(body, MoveMade) and body.step == start.step else ():
            if part.control is planned.control and part.where == planned.where:
                amount = _in_units_of(planned, part)
                if amount is None:
                    return None
                total, count = total + amount, count + 1
    if not count:
        return None
    length = None if planned.equivalent_mm is None else planned.equivalent_mm / planned.amount
    return planned.model_copy(
        update={"amount": total, "equivalent_mm": None if length is None else length * total}
    )


def _in_units_of(planned: MovePart, part: MovePart) -> float | None:
    """Return a part's amount in the unit of another part of its control; None if unknown."""
    if part.unit == planned.unit:
        return part.amount
    per_unit = planned.equivalent_mm / planned.amount if planned.equivalent_mm else None
    if per_unit and part.unit == "mm":
        return part.amount / per_unit
    return part.equivalent_mm if planned.unit == "mm" else None


def _first_reading(entries: Sequence[Entry], step: str) -> int:
    """Return the index of a step's first reading, or the number of entries."""
    for index, entry in enumerate(entries):
        if isinstance(entry.body, ReadingTaken) and entry.body.step == step:
            return index
    return len(entries)


def _scaled(start: Start, made: MovePart) -> Start:
    """Return the prediction for a control that was moved by another amount than planned.

    The figure goes with the amount by the gain. The interval is put together from its two
    independent parts, the state before and the move, by the rule for their sum (JCGM 100:2008,
    5.1.2); the part of the move goes with its amount. Where the interval is narrower than the move
    alone would make it, it was not worked out from the move, and the difference adds to it.
    """
    planned = 0.0 if start.part is None else start.part.amount
    predicted = (start.predicted or 0.0) + (start.gain or 0.0) * (made.amount - planned)
    half = start.half_width
    if half is not None:
        by_plan, by_hand, by_rest = (
            COVERAGE_FACTOR * start.gain_u * abs(one)
            for one in (planned, made.amount, made.amount - planned)
        )
        if half >= by_plan:
            half = math.hypot(math.sqrt(half**2 - by_plan**2), by_hand)
        else:
            half = math.hypot(half, by_rest)
    return start.model_copy(update={"predicted": predicted, "half_width": half})


def _label(start: Start, figure: Figure | None) -> Message | StepTitle:
    if figure is not None:
        return figure.label
    return _LABELS.get(start.key) or StepTitle(start.step)


def _sentence(
    start: Start, figure: Figure | None, ways: tuple[Message, Message] | None, decimals: int
) -> Message:
    predicted, half = start.predicted or 0.0, start.half_width
    size = abs(predicted) if ways else predicted
    said = directed(
        Quantity(size, start.unit, decimals)
        if half is None
        else Interval(size, half, start.unit, decimals),
        predicted,
        ways,
        decimals,
    )
    if figure is None:
        return message("swap.not_read_yet", expected=said)
    error = figure.value - predicted
    off = change_value(error, ways, start.unit, decimals)
    value = abs(figure.value) if ways else figure.value
    found = directed(Quantity(value, start.unit, decimals), figure.value, ways, decimals)
    if half is None:
        return message("swap.found", expected=said, found=found, off=off)
    room = math.hypot(half, figure.half_width or 0.0)
    inside = "yes" if abs(error) <= room else "no"
    return message("swap.found_against", expected=said, found=found, off=off, inside=inside)


def _found(
    journey: Journey,
    entries: Sequence[Entry],
    start: Start,
    planned: Sequence[Start],
    made: MovePart | None,
) -> Figure | None:
    report = step_named(start.step).REPORT
    if report.is_found_at_end:
        status = journey.status(start.step)
        read = any(trial.reading is not None for trial in status.trials)
        return status.assessment.figure(start.key) if read else None
    parts = [one.part for one in planned if one.step == start.step and one.part is not None]
    first, until = _span(entries, start.step, parts, made)
    if first is None:
        return None
    assessment = _judged_until(journey, entries, start.step, until)
    figure = assessment.figure(start.key)
    if figure is not None and report.needs_error and not figure.half_width:
        return None  # as stated, not weighed
    return figure


def _span(
    entries: Sequence[Entry], step: str, parts: Sequence[MovePart], made: MovePart | None
) -> tuple[int | None, int]:
    """Return the first reading that tests a prediction, and the index where the next part begins.

    Readings before a planned move are of another state. A planned move that is not on record was
    made before the first reading, and so was ``made``, one of another amount.
    """
    at = [
        next((i for i, entry in enumerate(entries) if _moves(entry, step, part)), -1)
        for part in parts
    ]
    begins = max(at, default=-1) + 1
    if made is not None:
        begins = max(begins, _first_reading(entries, step))
    first = None
    for index in range(begins, len(entries)):
        body = entries[index].body
        if isinstance(body, ReadingTaken) and body.step == step and first is None:
            first = index
        elif isinstance(body, MoveMade) and body.step == step:
            return first, index  # without a first reading: moved otherwise before anything was read
    return first, len(entries)


def _moves(entry: Entry, step: str, planned: MovePart) -> bool:
    body = entry.body
    return (
        isinstance(body, MoveMade)
        and body.step == step
        and any(_same(part, planned) for part in body.parts)
    )


def _same(part: MovePart, planned: MovePart) -> bool:
    return (
        part.control is planned.control
        and part.unit == planned.unit
        and part.where == planned.where
        and math.isclose(part.amount, planned.amount, rel_tol=1e-6, abs_tol=1e-6)
    )


def _judged_until(journey: Journey, entries: Sequence[Entry], step: str, until: int) -> Assessment:
    """Return a step's answer for the log up to this entry."""
    kept = {entry.id for entry in entries[:until]}
    context = journey.context(step)
    log: Mapping[str, tuple[Trial, ...]] = {
        name: tuple(trial for trial in trials if trial.entry_id in kept)
        for name, trials in context.log.items()
    }
    return step_named(step).assess(replace(context, log=log))


@dataclass(frozen=True, slots=True)
class Errors:
    """The errors of earlier predictions of one quantity, found less predicted.

    Parameters
    ----------
    mean, spread
        Of the errors, with what was learned from errors before them taken back out.
    count
        How many.
    """

    mean: float
    spread: float
    count: int

    @property
    def half_width(self) -> float:
        """Half of the 95 % interval of the next error about the mean (Student's)."""
        factor = two_sided_factor(CONFIDENCE, float(self.count - 1))
        return factor * self.spread * math.sqrt(1.0 + 1.0 / self.count)

    @property
    def is_told_apart(self) -> bool:
        """Whether the mean differs from zero at 95 %."""
        factor = two_sided_factor(CONFIDENCE, float(self.count - 1))
        return abs(self.mean) > factor * self.spread / math.sqrt(self.count)


def errors_of(pasts: Sequence[Past]) -> dict[tuple[str, str], Errors]:
    """Return, for each quantity, the errors of these fittings' plans.

    Only for quantities predicted and found three times or more.
    """
    raw: dict[tuple[str, str], list[float]] = {}
    for past in pasts:
        planned = past.fitting.planned
        if planned is None:
            continue
        shifts = {(s.step, s.key): s.learned_shift for s in planned.starts}
        for one in compare(past.journey):
            if one.error is not None and math.isfinite(one.error):
                place = (one.step, one.key)
                raw.setdefault(place, []).append(one.error + shifts.get(place, 0.0))
    found: dict[tuple[str, str], Errors] = {}
    for place, errors in raw.items():
        count = len(errors)
        if count < FEWEST_SWAPS:
            continue
        mean = math.fsum(errors) / count
        spread = math.sqrt(math.fsum((e - mean) ** 2 for e in errors) / (count - 1))
        found[place] = Errors(mean, spread, count)
    return found


def _by_hand(amount: float, unit: str) -> float:
    """Return an amount rounded to what a hand can move."""
    step = FINEST.get(unit)
    return round(amount, 3) if step is None else round(round(amount / step) * step, 3)


def corrected(
    foreseen: StepForecast, errors: Mapping[tuple[str, str], Errors]
) -> tuple[StepForecast, Errors | None]:
    """Correct a prediction by the errors of earlier predictions of its kind.

    A significant mean error is expected again: the move of a control that moves anyway is reduced
    by it, else the prediction shifts. The interval grows to the span of the errors; it never
    shrinks, as few swaps give a poor estimate of a spread.
    """
    start = foreseen.start
    seen = errors.get((start.step, start.key))
    if seen is None or start.predicted is None:
        return foreseen, None
    half = max(start.half_width or 0.0, seen.half_width)
    shift = seen.mean if seen.is_told_apart else 0.0
    part, predicted = start.part, start.predicted
    if shift and part is not None and foreseen.gain:
        less = part.amount - shift / foreseen.gain
        made = _by_hand(less, part.unit)
        ratio = made / part.amount if part.amount else 1.0
        length = None if part.equivalent_mm is None else part.equivalent_mm * ratio
        part = part.model_copy(update={"amount": made, "equivalent_mm": length}) if made else None
        predicted += foreseen.gain * (made - less)
    else:
        predicted += shift
    changed = start.model_copy(
        update={
            "part": part,
            "predicted": predicted,
            "half_width": half,
            "learned_shift": shift,
        }
    )
    return replace(foreseen, start=changed), seen
