"""Two records of one kind compared field by field."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from core.language import Numbers, Text, message
from core.records import Choice, Unit


@dataclass(frozen=True, slots=True)
class Difference:
    """One field that differs, in words: what it is, what is here, what came in."""

    label: Text
    here: str
    incoming: str


def differences(
    here: BaseModel, incoming: BaseModel, numbers: Numbers | None = None
) -> tuple[Difference, ...]:
    """Return the fields in which two models of the same class differ, in form order."""
    return tuple(_compare(here, incoming, numbers or Numbers(), ""))


def _compare(
    here: BaseModel, incoming: BaseModel, numbers: Numbers, before: str
) -> Iterator[Difference]:
    for name, info in type(here).model_fields.items():
        ours, theirs = getattr(here, name), getattr(incoming, name)
        if ours == theirs:
            continue
        label = before + numbers.label(info.title or name)
        if isinstance(ours, BaseModel) and type(ours) is type(theirs):
            yield from _compare(ours, theirs, numbers, f"{label}: ")
            continue
        unit = next((m for m in info.metadata if isinstance(m, Unit)), None)
        yield Difference(label, _words(ours, unit, numbers), _words(theirs, unit, numbers))


def _words(  # noqa: PLR0911 - one answer for each sort of value
    value: Any, unit: Unit | None, numbers: Numbers
) -> str:
    if value is None:
        return numbers.text(message("storage.difference.not_known"))
    if isinstance(value, Choice):
        return numbers.label(value.label)
    if isinstance(value, bool):
        return numbers.text(message("storage.table.answer", answer="yes" if value else "no"))
    if isinstance(value, float):
        written = numbers.short(value)
        return f"{written} {unit.symbol}".strip() if unit else written
    if isinstance(value, tuple):
        return "; ".join(_words(part, unit, numbers) for part in value) or numbers.text(
            message("storage.difference.none")
        )
    if isinstance(value, BaseModel):
        return ", ".join(
            _words(getattr(value, name), None, numbers) for name in type(value).model_fields
        )
    return str(value) or numbers.text(message("storage.difference.empty"))
