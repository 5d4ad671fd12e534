"""Entries of the log and figures of a step, in words, for the screen and for paper alike."""

from __future__ import annotations

from typing import Any, Final

from pydantic import BaseModel, ValidationError

from core.fitting import (
    WITHOUT_AMOUNT,
    Body,
    ChoiceMade,
    Control,
    Figure,
    Finished,
    HoursRead,
    MoveMade,
    MovePart,
    NoteWritten,
    Planned,
    ReadingTaken,
    Reopened,
    StepAccepted,
    ThingsRevised,
    Withdrawn,
)
from core.language import Numbers
from core.records import (
    Choice,
    FieldKind,
    FieldSpec,
    fields_of,
)
from core.steps import reading_from, step_named
from core.steps.speed import place_label

_MOST_DECIMALS: Final = 4
_SAME: Final = 1e-9


def entry_words(body: Body, numbers: Numbers) -> str:  # noqa: C901, PLR0911 - a case a kind
    """Say what an entry of the log holds, in one or two sentences without a full stop at the end.

    An entry that this version can't read is said to be so; nothing is raised.
    """
    match body:
        case ReadingTaken():
            return _reading(body, numbers)
        case MoveMade(parts=parts, note=note):
            moved = "; ".join(part_words(part, numbers) for part in parts)
            return f"Moved: {moved}{f' ({note})' if note else ''}"
        case StepAccepted(verdict=verdict, reason=reason, overrides=overrides):
            if overrides:
                return f"Kept by choice at “{verdict.label}”: {reason}"
            return f"Accepted: {verdict.label}{f' – {reason}' if reason else ''}"
        case ChoiceMade():
            return _choice(body, numbers)
        case Withdrawn(reason=reason):
            return f"Does not count{f': {reason}' if reason else ''}"
        case NoteWritten(text=text):
            return f"Note: {text}"
        case ThingsRevised(deck_revision=deck, cartridge_revision=cartridge):
            return f"Now with revision {deck} of the deck and {cartridge} of the cartridge"
        case Finished(note=note):
            return f"Finished{f': {note}' if note else ''}"
        case Reopened(reason=reason):
            return f"Worked on again{f': {reason}' if reason else ''}"
        case HoursRead(hours=hours, note=note):
            return f"Stylus hours: {_number(hours, 'h', 0, numbers)}{f' ({note})' if note else ''}"
        case Planned():
            return _plan(body, numbers)


def model_words(model: BaseModel, numbers: Numbers) -> str:
    """Say the fields of a model that apply, with units, semicolons between."""
    said: list[str] = []
    for spec in fields_of(type(model)):
        value = getattr(model, spec.name)
        applies = spec.when is None or getattr(model, spec.when.field, None) in spec.when.values
        if not applies or value is None or value == "":
            continue
        words = _value(spec, value, numbers)
        if words:
            said.append(words)
    return "; ".join(said)


def place_words(control: Control, where: str) -> str:
    """Return which of several like controls is meant: the name of a foot, a speed."""
    return place_label(where) if control is Control.SPEED else where


def part_words(part: MovePart, numbers: Numbers) -> str:
    """Say one control and how far: ``Foot, longer (front left) +0.50 turns``."""
    where = f" ({place_words(part.control, part.where)})" if part.where else ""
    if not part.unit and (not part.amount or part.control in WITHOUT_AMOUNT):
        return f"{part.control.label}{where}"
    amount = numbers.signed(part.amount, _decimals(part.amount, 2 if part.unit else 0))
    unit = part.unit if part.unit == "°" else f"\u00a0{part.unit}"
    also = ""
    if part.equivalent_mm is not None and part.unit != "mm":
        also = f" = {numbers.signed_unit(part.equivalent_mm, 'mm')}"
    return f"{part.control.label}{where} {amount}{unit if part.unit else ''}{also}"


def figure_words(figure: Figure, numbers: Numbers) -> str:
    """Say a figure with its interval: ``2.00 ± 0.03 gf``."""
    if figure.half_width is not None:
        if figure.target is None and figure.tolerance is not None:  # one that is only expected
            return numbers.expected(
                figure.value,
                figure.half_width,
                figure.unit,
                figure.decimals,
                tolerance=figure.tolerance,
            )
        return numbers.within(figure.value, figure.half_width, figure.unit, figure.decimals)
    return numbers.unit(figure.value, figure.unit, figure.decimals)


def target_words(figure: Figure, numbers: Numbers) -> str:
    """Say what a figure is compared to: ``2.00 gf ± 0.05``; empty without a target."""
    if figure.target is None:
        return ""
    target = numbers.unit(figure.target, figure.unit, figure.decimals)
    if figure.tolerance is None:
        return target
    return f"{target} ± {numbers.short(figure.tolerance, max(2, figure.decimals))}"


def _plan(body: Planned, numbers: Numbers) -> str:
    source = "the settings this cartridge had" if body.settings_of else "the fitting before it"
    moves = [part_words(start.part, numbers) for start in body.starts if start.part is not None]
    begun = f"Begun from {source}"
    return f"{begun}: {'; '.join(moves)}" if moves else begun


def _reading(body: ReadingTaken, numbers: Numbers) -> str:
    try:
        reading = reading_from(body.step, body.reading)
    except (ValidationError, KeyError):
        return "A reading this version of the program can't show"
    return f"{type(reading).WAY_TITLE}: {model_words(reading, numbers)}"


def _choice(body: ChoiceMade, numbers: Numbers) -> str:
    try:
        chosen = step_named(body.step).Chosen.model_validate(body.choices)
    except (ValidationError, KeyError):
        return "A choice this version of the program can't show"
    return f"Chosen: {model_words(chosen, numbers)}"


def _value(spec: FieldSpec, value: Any, numbers: Numbers) -> str:
    symbol = spec.unit.symbol if spec.unit else ""
    decimals = spec.unit.decimals if spec.unit and spec.unit.symbol else 0
    match spec.kind:
        case FieldKind.FLAG:
            return f"{spec.label}: {'yes' if value else 'no'}"
        case FieldKind.CHOICE:
            return f"{spec.label} {value.label if isinstance(value, Choice) else value}"
        case FieldKind.NUMBER | FieldKind.WHOLE:
            return f"{spec.label} {_number(float(value), symbol, decimals, numbers)}"
        case FieldKind.NUMBERS:
            many = ", ".join(_number(float(one), symbol, decimals, numbers) for one in value)
            return f"{spec.label} {many}" if many else ""
        case _:
            return f"{spec.label} {value}"


def _number(value: float, symbol: str, decimals: int, numbers: Numbers) -> str:
    """Write a number as it was read: the unit's decimals, more where more were typed."""
    return numbers.unit(value, symbol, _decimals(value, decimals))


def _decimals(value: float, least: int) -> int:
    """Return how many decimals say a number as it was read or moved, at least so many."""
    while least < _MOST_DECIMALS and abs(round(value, least) - value) > _SAME:
        least += 1
    return least
