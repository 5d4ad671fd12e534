"""Reading a document's JSON strictly; what is wrong with it is told in one sentence."""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any, Final

from pydantic import ValidationError
from pydantic_core import from_json

from core.language import Message, Name, Series, Value, message
from core.store.problems import LibraryProblem, ProblemKind

_LONGEST_WORD: Final = 40
_LONGEST_PLACE: Final = 160
_SAID_IN_JSON: Final = re.compile(r" at line (\d+) column (\d+)")
_PARTS: Final = frozenset(
    {"decks", "cartridges", "fittings", "revisions", "entries", "parts", "starts", "gains"}
)
_OWN: Final = "value_error"
"""A fault that our own models tell in words of their own."""
_SILENT: Final = frozenset({"thing", "body"})
_TYPES: Final = frozenset(
    {
        *("missing", "extra_forbidden", "string", "float", "int", "bool", "list", "tuple", "dict"),
        *("model", "datetime", "timezone", "date", "finite", "not_a_number"),
        *("union_tag_not_found", "union_tag_invalid"),
    }
)
_LIMITS: Final[Mapping[str, str]] = {
    "greater_than_equal": "ge",
    "greater_than": "gt",
    "less_than_equal": "le",
    "less_than": "lt",
    "too_short": "min_length",
    "too_long": "max_length",
    "string_too_short": "min_length",
    "string_too_long": "max_length",
    "literal_error": "expected",
    "enum": "expected",
}
"""Faults with a limit, and where it stands among what pydantic says of them."""


class DocumentProblem(LibraryProblem):
    """A document that can't be taken in, told to a person."""

    def __init__(self, what: Message, todo: Message | None = None) -> None:
        super().__init__(ProblemKind.UNSUITABLE, what, todo or message("storage.nothing_changed"))


def said_in(content: bytes, name: str) -> Any:
    """Read JSON that says everything once and nothing a library can't keep.

    It is UTF-8 with or without a byte order mark. DocumentProblem, with ``name`` in its sentence,
    for another encoding, JSON that breaks off, names that are given twice, numbers that are not
    finite and lists nested too deep.
    """
    content = content.removeprefix(b"\xef\xbb\xbf")
    document = Name(name)
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        place = error.start + 1
        raise DocumentProblem(
            message("storage.document.not_text", document=document, place=place)
        ) from error

    def once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) < len(pairs):
            counts = Counter(name for name, _ in pairs)
            twice = Name(shown(next(name for name, count in counts.items() if count > 1)))
            raise DocumentProblem(
                message("storage.document.name_twice", document=document, name=twice)
            )
        return found

    def finite(digits: str) -> float:
        number = float(digits)
        if not math.isfinite(number):
            raise DocumentProblem(
                message(
                    "storage.document.number_too_large",
                    document=document,
                    number=Name(shown(digits)),
                )
            )
        return number

    try:
        from_json(content, allow_inf_nan=False)  # strict, and it bounds the nesting
        return json.loads(
            text, object_pairs_hook=once_each, parse_float=finite, parse_constant=finite
        )
    except (ValueError, RecursionError) as error:
        raise DocumentProblem(_fault_of_json(str(error), document)) from error


def shown(said: object, longest: int = _LONGEST_WORD) -> str:
    """Return what a document says as it can stand in a sentence: printable and not long."""
    words = "".join(one if one.isprintable() else "�" for one in str(said))
    return words if len(words) <= longest else f"{words[: longest - 1]}…"


def refused(error: ValidationError, name: str, within: Sequence[int | str] = ()) -> DocumentProblem:
    """Return the problem of a document: the first thing wrong, where, and what it must be."""
    first = error.errors(include_url=False, include_input=False)[0]
    kind, told = first["type"], first.get("ctx", {})
    place = place_in_words((*within, *first["loc"]))
    document = Name(shown(name, 80))
    if kind == _OWN:
        words = Name(shown(first["msg"].removeprefix("Value error, "), _LONGEST_PLACE))
        if not place.items:
            return DocumentProblem(
                message("storage.document.wrong_as_a_whole", document=document, words=words)
            )
        return DocumentProblem(
            message("storage.document.wrong", document=document, place=place, words=words)
        )
    if kind == "outside_limits":
        low, high = Name(told["low"]), Name(told["high"])
        return DocumentProblem(
            message(
                "storage.document.outside_limits",
                document=document,
                place=place,
                low=low,
                high=high,
            )
        )
    if kind in _LIMITS and told:
        limit = Name(shown(told[_LIMITS[kind]], _LONGEST_PLACE))
        return DocumentProblem(
            message(
                "storage.document.out_of_limits",
                fault=kind,
                document=document,
                place=place,
                limit=limit,
            )
        )
    fault = next((one for one in (kind, kind.split("_", maxsplit=1)[0]) if one in _TYPES), "other")
    return DocumentProblem(
        message("storage.document.refused", fault=fault, document=document, place=place)
    )


def place_in_words(place: Sequence[int | str]) -> Series:
    """Return a place in a document: ``fitting 1, entry 3, 'reading', 'step'``."""
    words: list[Value] = []
    room, before = _LONGEST_PLACE, ""
    for depth, part in enumerate(place, start=1):
        if isinstance(part, int):
            if before in _PARTS:
                words.pop()
            words.append(message("storage.place", part=before, number=part + 1))
        elif part.strip() and (part not in _SILENT or depth == len(place)):
            name = shown(part.replace("_", " "), min(_LONGEST_WORD, room))
            words.append(Name(f"'{name}'"))
            room = max(1, room - len(part))
        before = part if isinstance(part, str) else ""
    return Series(tuple(words), ",")


def _fault_of_json(said: str, document: Name) -> Message:
    found = _SAID_IN_JSON.search(said)
    where: dict[str, Value] = {
        "document": document,
        "where": "known" if found else "unknown",
        "line": Name(found[1] if found else ""),
        "character": Name(found[2] if found else ""),
    }
    if "recursion" in said:
        return Message("storage.document.too_deep", where)
    if "digits" in said:
        return message("storage.document.too_many_digits", document=document)
    if "surrogate" in said or "hex escape" in said:
        return Message("storage.document.half_a_character", where)
    return Message("storage.document.incomplete", where)
