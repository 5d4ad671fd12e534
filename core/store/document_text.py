"""Read a document's JSON strictly, record by record; report what is wrong in one sentence."""

from __future__ import annotations

import codecs
import json
import math
import re
from collections import Counter
from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from itertools import count
from typing import Any, Final

from pydantic import ValidationError
from pydantic_core import from_json

from core.language import Label, Message, Name, Series, ToldProblem, Value, message
from core.store.backend import WorkStoppedError
from core.store.problems import LibraryProblem, ProblemKind

LONGEST_RECORD: Final = 2_000_000
"""Characters per window: a fitting of 6,000 entries; reading it causes no noticeable pause."""

_LONGEST_OTHER: Final = 10_000
"""How many characters of invalid text are examined to say what is wrong."""

_SPACES: Final = re.compile(r"[ \t\n\r]*")
_LONGEST_WORD: Final = 40
_LONGEST_PLACE: Final = 160
_SAID_IN_JSON: Final = re.compile(r" at line (\d+) column (\d+)")
_PARTS: Final = frozenset(
    {"decks", "cartridges", "headshells", "test_records", "fittings", "pictures", "contents"}
    | {"revisions"}
    | {"entries", "parts", "starts", "gains"}
)
_OWN: Final = "value_error"
"""The pydantic error type of faults that our models word themselves."""
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
"""Error types with a limit, and the key of that limit in pydantic's error context."""


class DocumentProblem(LibraryProblem):
    """A document that can't be imported, told to a person."""

    def __init__(self, what: Message, todo: Message | None = None) -> None:
        super().__init__(ProblemKind.UNSUITABLE, what, todo or message("storage.nothing_changed"))


class RecordTooLarge(DocumentProblem):
    """A document with a record above the size limit."""


Pieces = Callable[[], Iterator[bytes]]
"""Returns the document's bytes from the start, in chunks."""


class DocumentText:
    """The JSON of a document, read in windows: no more than one record is in memory.

    It must be UTF-8, with or without a byte order mark. DocumentProblem, with ``name`` in its
    sentence, is raised for another encoding, truncated JSON, duplicate names, numbers that are not
    finite, nesting that is too deep and records of more than ``LONGEST_RECORD`` characters.
    ``go_on`` is called for every window and value; WorkStoppedError once it returns False.
    """

    def __init__(
        self, pieces: Iterator[bytes], name: str, go_on: Callable[[], bool] = lambda: True
    ) -> None:
        self._pieces = pieces
        self._document = Name(name)
        self._go_on = go_on
        self._bytes = codecs.getincrementaldecoder("utf-8-sig")()
        self._taken = 0
        self._is_whole = False
        self._text = ""
        self._at = 0
        self._lines = self._characters = 0  # before the window, and before it in its first line
        self._json = json.JSONDecoder(
            object_pairs_hook=self._once_each,
            parse_float=self._finite,
            parse_constant=float,  # refused by the check of the record, which says where
        )

    def members(self, lists: Container[str]) -> Iterator[tuple[str, int | None, Any]]:
        """Yield the members of the document's one object, in order.

        For a plain member: name, None and value. For each record of a list named in ``lists``: the
        list's name, the record's index, and the record.
        """
        if self._next() != "{":
            self._value((), _LONGEST_OTHER)
            self._end()
            raise self._no_document()
        names: set[str] = set()
        for _ in self._parted("}"):
            if self._next() != '"':
                raise self._broken_off(self._at)
            name = str(self._value(()))
            if name in names:
                raise self._twice(name)
            names.add(name)
            if self._next() != ":":
                raise self._broken_off(self._at)
            self._at += 1
            if self._next() == "[" and name in lists:
                for place in self._parted("]"):
                    self._next()
                    yield name, place, self._value((name, place))
            else:
                yield name, None, self._value((name,))
        self._end()

    def _parted(self, closing: str) -> Iterator[int]:
        """After an opening bracket, yield the index of each member at its first character."""
        self._at += 1
        if self._next() == closing:
            self._at += 1
            return
        for place in count():
            yield place
            after = self._next()
            if after not in (",", closing):
                raise self._broken_off(self._at)
            self._at += 1
            if after == closing:
                return

    def _end(self) -> None:
        if self._next():
            raise self._broken_off(self._at)

    def _next(self) -> str:
        """Skip white space and return the next character; empty at the end."""
        while True:
            self._at = _SPACES.match(self._text, self._at).end()  # type: ignore[union-attr]  # any text begins with some or none
            if self._at < len(self._text):
                return self._text[self._at]
            if not self._widen():
                return ""

    def _widen(self, least: int = 1) -> bool:
        """Drop what was read and read this many more characters; return whether there were any."""
        if self._is_whole:
            return False
        self._lines += (more := self._text.count("\n", 0, self._at))
        line = self._text.rfind("\n", 0, self._at) + 1
        self._characters = self._at - line + (0 if more else self._characters)
        parts = [self._text[self._at :]]
        self._at = 0
        while least > 0 and not self._is_whole:
            if not self._go_on():
                raise WorkStoppedError
            piece = next(self._pieces, b"")
            self._is_whole = not piece
            self._taken += len(piece)
            try:
                parts.append(self._bytes.decode(piece, final=not piece))
            except UnicodeDecodeError as error:
                place = self._taken - len(error.object) + error.start + 1
                raise DocumentProblem(
                    message("storage.document.not_text", document=self._document, place=place)
                ) from error
            least -= len(parts[-1])
        self._text = "".join(parts)
        return len(self._text) > len(parts[0])

    def _value(self, place: Sequence[int | str], longest: int = LONGEST_RECORD) -> Any:
        """Read the value that begins here; ``place`` is its path in the document."""
        if not self._go_on():
            raise WorkStoppedError
        while True:
            start, had = self._at, len(self._text) - self._at
            may_go_on = not self._is_whole and had <= longest
            try:
                found, end = self._json.raw_decode(self._text, start)
            except json.JSONDecodeError as error:
                if may_go_on:  # the window may end within it
                    self._widen(had)
                    continue
                if had > longest:
                    raise self._too_long(place) from None
                raise self._broken_off(error.pos) from None
            except RecursionError:
                self._check(self._text[start : start + longest])
                raise DocumentProblem(_fault_of_json("recursion", self._document)) from None
            except ValueError as error:
                raise DocumentProblem(_fault_of_json(str(error), self._document)) from error
            if end == len(self._text) and may_go_on:
                self._widen(had)  # a number may go on
                continue
            if end - start > longest:
                raise self._too_long(place)
            self._check(self._text[start:end])
            self._at = end
            return found

    def _check(self, record: str) -> None:
        """Refuse what Python's JSON reader accepts: lone surrogates, infinite numbers, depth."""
        try:
            from_json(record, allow_inf_nan=False)
        except ValueError as error:
            said = str(error)
            if (found := _SAID_IN_JSON.search(said)) is None:
                raise DocumentProblem(_fault_of_json(said, self._document)) from error
            lines = record.split("\n")
            line, byte = int(found[1]), int(found[2])
            before = sum(len(one) + 1 for one in lines[: line - 1])
            within = lines[line - 1].encode()[: max(0, byte - 1)].decode(errors="ignore")
            at = self._place(self._at + before + len(within))
            raise DocumentProblem(_fault_of_json(said, self._document, at)) from error

    def _place(self, at: int) -> tuple[int, int]:
        """Return line and column of a position in the window, both counted from 1."""
        lines = self._text.count("\n", 0, at)
        character = at - self._text.rfind("\n", 0, at)
        return self._lines + lines + 1, character + (0 if lines else self._characters)

    def _no_document(self) -> DocumentProblem:
        return DocumentProblem(message("storage.document.no_document", document=self._document))

    def _broken_off(self, at: int) -> DocumentProblem:
        return DocumentProblem(_fault_of_json("", self._document, self._place(at)))

    def _too_long(self, place: Sequence[int | str]) -> DocumentProblem:
        if not place:
            return self._no_document()
        return RecordTooLarge(
            message(
                "storage.document.record_too_large",
                document=self._document,
                place=place_in_words(place),
                size=round(LONGEST_RECORD / 1e6),
            )
        )

    def _twice(self, name: str) -> DocumentProblem:
        return DocumentProblem(
            message("storage.document.name_twice", document=self._document, name=Name(shown(name)))
        )

    def _once_each(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) < len(pairs):
            counts = Counter(name for name, _ in pairs)
            raise self._twice(next(name for name, count in counts.items() if count > 1))
        return found

    def _finite(self, digits: str) -> float:
        number = float(digits)
        if not math.isfinite(number):
            raise DocumentProblem(
                message(
                    "storage.document.number_too_large",
                    document=self._document,
                    number=Name(shown(digits)),
                )
            )
        return number


class DocumentFault(ToldProblem, ValueError):  # noqa: N818  # told, as every ToldProblem
    """A fault that a document's own models find in it; pydantic reports it with its place."""


def shown(said: object, longest: int = _LONGEST_WORD) -> str:
    """Return text from a document for use in a sentence: printable and shortened."""
    words = "".join(one if one.isprintable() else "�" for one in str(said))
    return words if len(words) <= longest else f"{words[: longest - 1]}…"


def refused(error: ValidationError, name: str, within: Sequence[int | str] = ()) -> DocumentProblem:
    """Return the problem of a document: its first fault, where it is, and what was expected."""
    first = error.errors(include_url=False, include_input=False)[0]
    kind, told = first["type"], first.get("ctx", {})
    place = place_in_words((*within, *first["loc"]))
    document = Name(shown(name, 80))
    if kind == _OWN:
        fault_found = told.get("error")
        words: Value = Label(shown(first["msg"].removeprefix("Value error, "), _LONGEST_PLACE))
        if isinstance(fault_found, DocumentFault):
            words = fault_found.what
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
    """Return a path in a document in words: ``fitting 1, entry 3, 'reading', 'step'``."""
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


def _fault_of_json(said: str, document: Name, place: tuple[int, int] | None = None) -> Message:
    line, character = place or ("", "")
    where: dict[str, Value] = {
        "document": document,
        "where": "known" if place else "unknown",
        "line": Name(str(line)),
        "character": Name(str(character)),
    }
    if "recursion" in said:
        return Message("storage.document.too_deep", where)
    if "digits" in said:
        return message("storage.document.too_many_digits", document=document)
    if "surrogate" in said or "hex escape" in said:
        return Message("storage.document.half_a_character", where)
    return Message("storage.document.incomplete", where)
