"""Reading a document's JSON strictly; what is wrong with it is told in one sentence."""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any, Final, NoReturn

from pydantic import ValidationError
from pydantic_core import from_json

from core.store.problems import LibraryProblem, ProblemKind

_LONGEST_WORD: Final = 40
_LONGEST_PLACE: Final = 160
_SAID_IN_JSON: Final = re.compile(r" at line (\d+) column (\d+)")
_PARTS: Final = {
    "decks": "deck",
    "cartridges": "cartridge",
    "fittings": "fitting",
    "revisions": "revision",
    "entries": "entry",
    "parts": "part",
    "starts": "start",
    "gains": "gain",
}
_OWN: Final = frozenset({"value_error", "outside_limits", "not_a_number"})
"""Faults that our own models tell in words of their own."""
_SILENT: Final = frozenset({"thing", "body"})
_TYPES: Final[Mapping[str, str]] = {
    "missing": "is missing",
    "extra_forbidden": "is a name this program does not know",
    "string": "must be text",
    "float": "must be a number",
    "int": "must be a whole number",
    "bool": "must be true or false",
    "list": "must be a list",
    "tuple": "must be a list",
    "dict": "must be a record in curly brackets",
    "model": "must be a record in curly brackets",
    "datetime": "must be a date and time, such as 2025-03-01T12:00:00Z",
    "timezone": "must be a date and time with its time zone, such as 2025-03-01T12:00:00Z",
    "date": "must be a date, such as 2025-03-01",
    "finite": "must be a number that is not endless",
    "union_tag_not_found": "does not say of which kind it is",
    "union_tag_invalid": "is of a kind this program does not know",
}
_LIMITS: Final[Mapping[str, str]] = {
    "greater_than_equal": "must be at least {ge}",
    "greater_than": "must be more than {gt}",
    "less_than_equal": "must be at most {le}",
    "less_than": "must be less than {lt}",
    "too_short": "must hold at least {min_length}",
    "too_long": "must hold at most {max_length}",
    "string_too_short": "must have at least {min_length} characters",
    "string_too_long": "must have at most {max_length} characters",
    "literal_error": "must be {expected}",
    "enum": "must be {expected}",
}


class DocumentProblem(LibraryProblem):
    """A document that can't be taken in, told to a person."""

    def __init__(self, sentence: str, remedy: str = "Nothing was changed in the library.") -> None:
        super().__init__(ProblemKind.UNSUITABLE, sentence, remedy)


def said_in(content: bytes, name: str) -> Any:
    """Read JSON that says everything once and nothing a library can't keep.

    It is UTF-8 with or without a byte order mark. DocumentProblem, with ``name`` in its sentence,
    for another encoding, JSON that breaks off, names that are given twice, numbers that are not
    finite and lists nested too deep.
    """
    content = content.removeprefix(b"\xef\xbb\xbf")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise DocumentProblem(
            f"{name} can't be read: it is no text in UTF-8 (character {error.start + 1} is none)."
        ) from error
    try:
        from_json(content, allow_inf_nan=False)  # strict, and it bounds the nesting
        return json.loads(
            text, object_pairs_hook=_once_each, parse_float=_finite, parse_constant=_finite
        )
    except _FaultError as error:
        raise DocumentProblem(f"{name} can't be read: {error}.") from error
    except (ValueError, RecursionError) as error:
        raise DocumentProblem(f"{name} can't be read: {_fault_of_json(str(error))}.") from error


def shown(said: object, longest: int = _LONGEST_WORD) -> str:
    """Return what a document says as it can stand in a sentence: printable and not long."""
    words = "".join(one if one.isprintable() else "�" for one in str(said))
    return words if len(words) <= longest else f"{words[: longest - 1]}…"


def first_fault(error: ValidationError, within: Sequence[int | str] = ()) -> str:
    """Return the first thing wrong in words: where it stands, and what it must be."""
    first = error.errors(include_url=False, include_input=False)[0]
    where = place_in_words((*within, *first["loc"]))
    what = _fault_in_words(first["type"], first.get("ctx", {}), first["msg"])
    return f"{where}: {what}" if where else what


def place_in_words(place: Sequence[int | str]) -> str:
    """Return a place in a document: ``fitting 1, entry 3, reading, step``."""
    words: list[str] = []
    for depth, part in enumerate(place, start=1):
        if isinstance(part, int):
            named = _PARTS.get(words[-1]) if words else None
            if named:
                words[-1] = f"{named} {part + 1}"
            else:
                words.append(f"number {part + 1}")
        elif part not in _SILENT or depth == len(place):
            words.append(shown(part.replace("_", " ")))
    return shown(", ".join(word for word in words if word.strip()), _LONGEST_PLACE)


class _FaultError(ValueError):
    """What is wrong with the text, in words."""


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        counts = Counter(name for name, _ in pairs)
        twice = next(name for name, count in counts.items() if count > 1)
        raise _FaultError(f"one record in it gives the name '{shown(twice)}' twice")
    return found


def _finite(digits: str) -> float:
    number = float(digits)
    if not math.isfinite(number):
        raise _FaultError(f"the number {shown(digits)} in it is larger than any that can be kept")
    return number


def _fault_of_json(said: str) -> str:
    found = _SAID_IN_JSON.search(said)
    where = f" at line {found[1]}, character {found[2]}" if found else ""
    if "recursion" in said:
        return f"lists and records lie too deep in one another{where}"
    if "digits" in said:
        return "a number in it has too many digits"
    if "surrogate" in said or "hex escape" in said:
        return f"it holds half a character{where}"
    return f"it is no complete JSON document and goes wrong{where or ' at its end'}"


def _fault_in_words(kind: str, limits: Mapping[str, Any], message: str) -> str:
    if kind in _OWN:
        return shown(message.removeprefix("Value error, "), _LONGEST_PLACE)
    if kind in _LIMITS and limits:
        return shown(_LIMITS[kind].format_map(limits), _LONGEST_PLACE)
    for beginning in (kind, kind.split("_", maxsplit=1)[0]):
        if beginning in _TYPES:
            return _TYPES[beginning]
    return "is not what this program can keep there"


def refuse(name: str, fault: str, cause: BaseException | None = None) -> NoReturn:
    """Raise the problem of a document that can be read but not be taken in."""
    raise DocumentProblem(f"{shown(name, 80)} can't be taken in: {fault}.") from cause
