"""Compare two records of one kind field by field, and merge them.

A field's place is the tuple of field names that leads to it, outermost first. Where both records
have the same table rows, by key or name, their fields are compared one by one, and the row's index
stands in the place. Otherwise the table is compared as a whole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from functools import partial
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ValidationError

from core.language import Name, Numbers, Text, message
from core.records import Choice, Unit
from core.store.problems import unsuitable
from core.store.rows import text_of

M = TypeVar("M", bound=BaseModel)
FieldPath = tuple[str, ...]
_NOTHING: Final = object()
_KEY: Final = "key"
"""The field that identifies a row; never shown."""


_CUSTOMER: Final = ("customer",)
_SINCE: Final = (("withdrawn",), ("erased",))
"""The days from which a record counts no longer; empty while it does."""
"""The field of a job that holds the number of another record."""


class Side(Enum):
    """One of the two versions."""

    HERE = "here"
    INCOMING = "incoming"


@dataclass(frozen=True, slots=True)
class Difference:
    """One field that differs, in words: its name, the value here, the incoming value.

    ``changed_by`` is the one side that changed it since the common revision; None if both did, or
    if that revision is not known.
    """

    label: Text
    here: str
    incoming: str
    place: FieldPath = ()
    changed_by: Side | None = None


def differences(
    here: BaseModel,
    incoming: BaseModel,
    numbers: Numbers | None = None,
    common: BaseModel | None = None,
    named: Mapping[str, str] | None = None,
) -> tuple[Difference, ...]:
    """Return the fields in which two models of the same class differ, in form order.

    ``common`` is the last common revision, if known. ``named`` maps customer numbers to customers:
    None means forgotten, a missing number means not on file.
    """
    start: Any = _NOTHING if common is None else common
    comparison = _Comparison(numbers or Numbers(), named or {})
    return tuple(comparison.of_models(here, incoming, start, "", ()))


def put_together(here: M, incoming: M, sides: Mapping[FieldPath, Side]) -> M:
    """Return ``here`` with the fields of ``incoming`` at the chosen places.

    Raises UNSUITABLE, with the sentence, if the two can't be combined.
    """
    made: Any = here
    for place, side in sides.items():
        if side is Side.INCOMING:
            made = _with(made, incoming, place)
    try:
        return type(here).model_validate_json(text_of(made))
    except ValidationError as error:
        first = error.errors()[0]
        words = str(first.get("ctx", {}).get("error", first["msg"]))
        raise unsuitable(message("storage.versions.unfit", why=Name(words))) from error


def _with(value: Any, other: Any, place: FieldPath) -> Any:
    if not place:
        return other
    name, rest = place[0], place[1:]
    if isinstance(value, tuple):
        row = int(name)
        return (*value[:row], _with(value[row], other[row], rest), *value[row + 1 :])
    inner = _with(getattr(value, name), getattr(other, name), rest)
    return value.model_copy(update={name: inner})


@dataclass(frozen=True, slots=True)
class _Comparison:
    numbers: Numbers
    named: Mapping[str, str]

    def of_models(
        self, here: BaseModel, incoming: BaseModel, common: Any, before: str, place: FieldPath
    ) -> Iterator[Difference]:
        for name, info in type(here).model_fields.items():
            label = before + self.numbers.label(info.title or name)
            unit = next((m for m in info.metadata if isinstance(m, Unit)), None)
            is_known = type(common) is type(here)
            yield from self._of_values(
                (getattr(here, name), getattr(incoming, name)),
                getattr(common, name) if is_known else _NOTHING,
                label,
                (*place, name),
                unit,
            )

    def _of_values(
        self, pair: tuple[Any, Any], common: Any, label: str, place: FieldPath, unit: Unit | None
    ) -> Iterator[Difference]:
        ours, theirs = pair
        if ours == theirs:
            return
        if isinstance(ours, BaseModel) and type(ours) is type(theirs):
            yield from self.of_models(ours, theirs, common, f"{label}: ", place)
            return
        if _same_rows(ours, theirs):
            begun = common if _same_rows(ours, common) else (_NOTHING,) * len(ours)
            for row, (one, other) in enumerate(zip(ours, theirs, strict=True)):
                named = f"{label}: {_row_name(one) or row + 1}: "
                yield from self.of_models(one, other, begun[row], named, (*place, str(row)))
            return
        changed_by = None
        if common is not _NOTHING and (ours == common) is not (theirs == common):
            changed_by = Side.INCOMING if ours == common else Side.HERE
        say: Callable[[Any], str] = partial(self._words, unit=unit)
        if place == _CUSTOMER:
            say = self._person
        elif place in _SINCE:
            say = self._since
        yield Difference(label, say(ours), say(theirs), place, changed_by)

    def _since(self, day: str) -> str:
        """Say that a record counts, or since when it does no longer."""
        words = message("storage.difference.since", day=Name(day))
        return self.numbers.text(words if day else message("storage.table.answer", answer="no"))

    def _person(self, number: str) -> str:
        """Return the customer with this number; the number itself is not shown."""
        name = self.named.get(number)
        if not number or name:
            return name or self._words("", None)
        if name is None:
            return self.numbers.text(message("storage.difference.unknown_person"))
        return self.numbers.text(message("storage.difference.forgotten_person"))

    def _words(  # noqa: PLR0911 - one answer for each sort of value
        self, value: Any, unit: Unit | None
    ) -> str:
        if value is None:
            return self.numbers.text(message("storage.difference.not_known"))
        if isinstance(value, Choice):
            return self.numbers.label(value.label)
        if isinstance(value, bool):
            answer = "yes" if value else "no"
            return self.numbers.text(message("storage.table.answer", answer=answer))
        if isinstance(value, float):
            written = self.numbers.short(value)
            return f"{written} {unit.symbol}".strip() if unit else written
        if isinstance(value, tuple):
            between = "\n" if any(isinstance(part, BaseModel) for part in value) else "; "
            return between.join(self._words(part, unit) for part in value) or self.numbers.text(
                message("storage.difference.none")
            )
        if isinstance(value, BaseModel):
            words = ", ".join(self._named_words(value))
            return f"{_row_name(value)}: {words}" if _row_name(value) else words
        return str(value) or self.numbers.text(message("storage.difference.empty"))

    def _named_words(self, model: BaseModel) -> Iterator[str]:
        """Yield each field of a model with its label, all but its name."""
        for name, info in type(model).model_fields.items():
            unit = next((m for m in info.metadata if isinstance(m, Unit)), None)
            words = self._words(getattr(model, name), unit)
            if name not in ("name", _KEY):
                yield f"{self.numbers.label(info.title or name)} {words}"


def _same_rows(ours: Any, theirs: Any) -> bool:
    """Whether two tables have rows with the same keys or names, in the same order."""
    if not (isinstance(ours, tuple) and isinstance(theirs, tuple) and len(ours) == len(theirs)):
        return False
    return bool(ours) and all(
        isinstance(one, BaseModel) and type(one) is type(other) and _row_key(one) == _row_key(other)
        for one, other in zip(ours, theirs, strict=True)
    )


def _row_key(row: Any) -> str:
    """Return what identifies a row: its key, which survives renaming, else its name."""
    return str(getattr(row, _KEY, "")) or _row_name(row)


def _row_name(row: Any) -> str:
    return str(getattr(row, "name", ""))
