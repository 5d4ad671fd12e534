"""Setting words: how wide they are, where lines break, and columns that flow downward."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final, Protocol

from core.drawing.marks import Mark, Words
from core.language import JOINER, NO_BREAK
from core.records import UNITS

_PARTED: Final = re.compile(f"{NO_BREAK}(?=±)| ")
_STOPS: Final = ".,;:)"
LEADING: Final = 1.3
"""From one base line to the next, in sizes of the letters."""


class Measure(Protocol):
    """Says how wide a line of text is, in mm."""

    def __call__(self, text: str, size_mm: float, *, bold: bool = False) -> float:
        """Return the width for letters of this size."""
        ...


_NARROW: Final = frozenset("iljtfrI.,:;'|()[]! -")
_WIDE: Final = frozenset("mwMWOQGD%@±×→–—½⅓")


def rough_width(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Return the width of text in a wide sans-serif, rather too much than too little.

    Stands in where no font can be asked: a narrow letter 0.42, a wide one 1.0, any other 0.68 of
    the size (our estimate).
    """
    seen = (c for c in text if c != JOINER)
    ems = sum(0.42 if c in _NARROW else 1.0 if c in _WIDE else 0.68 for c in seen)
    return ems * size_mm * (1.1 if bold else 1.0)


def wrapped(
    text: str, width_mm: float, size_mm: float, measure: Measure, *, bold: bool = False
) -> list[str]:
    """Break text into lines of at most this width.

    A number and its unit stay together. What has no room on a line of its own is parted before a
    ``±``, else between its words; a word wider than a line is cut.
    """
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in _held_together(paragraph.split(" ")):
            longer = f"{line} {word}" if line else word
            if measure(longer, size_mm, bold=bold) <= width_mm:
                line = longer
                continue
            if line:
                lines.append(line)
            is_wide = measure(word, size_mm, bold=bold) > width_mm
            *cut, line = (
                piece
                for part in (_PARTED.split(word) if is_wide else [word])
                for piece in _cut_word(part, width_mm, size_mm, measure, bold=bold)
            )
            lines += cut
        lines.append(line)
    return lines


def _held_together(words: Iterable[str]) -> Iterator[str]:
    """Yield words, a number and the unit behind it as one."""
    number = ""
    for word in words:
        if number and word.rstrip(_STOPS) in UNITS:
            number = f"{number} {word}"
            continue
        if number:
            yield number
        number = word if word and word[-1].isnumeric() else ""
        if not number:
            yield word
    if number:
        yield number


def _cut_word(
    word: str, width_mm: float, size_mm: float, measure: Measure, *, bold: bool
) -> list[str]:
    pieces: list[str] = []
    piece = ""
    for letter in word:
        if piece and measure(piece + letter, size_mm, bold=bold) > width_mm:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]


@dataclass(slots=True)
class TextColumn:
    """A column of text that grows downward from ``top``.

    ``y`` is where the next line's top will be.
    """

    left: float
    top: float
    width_mm: float
    measure: Measure
    size_mm: float = 3.0
    marks: list[Mark] = field(default_factory=list)
    y: float = field(init=False)

    def __post_init__(self) -> None:
        self.y = self.top

    def say(
        self,
        text: str,
        *,
        size_mm: float | None = None,
        bold: bool = False,
        indent_mm: float = 0.0,
    ) -> None:
        """Set a paragraph."""
        size = size_mm or self.size_mm
        for line in wrapped(text, self.width_mm - indent_mm, size, self.measure, bold=bold):
            self.y -= size * LEADING
            base = self.y + size * (LEADING - 1.0)
            self.marks.append(Words(self.left + indent_mm, base, line, size, bold=bold))

    def skip(self, height_mm: float) -> None:
        """Leave room."""
        self.y -= height_mm
