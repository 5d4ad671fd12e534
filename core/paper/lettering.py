"""Setting words: how wide they are, where lines break, and columns that flow downward."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Protocol

from core.drawing.marks import Mark, Words

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
    ems = sum(0.42 if c in _NARROW else 1.0 if c in _WIDE else 0.68 for c in text)
    return ems * size_mm * (1.1 if bold else 1.0)


def wrapped(
    text: str, width_mm: float, size_mm: float, measure: Measure, *, bold: bool = False
) -> list[str]:
    """Break text into lines of at most this width; a word wider than a line is cut."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in paragraph.split(" "):
            longer = f"{line} {word}" if line else word
            if measure(longer, size_mm, bold=bold) <= width_mm:
                line = longer
                continue
            if line:
                lines.append(line)
            *cut, line = _cut_word(word, width_mm, size_mm, measure, bold=bold)
            lines += cut
        lines.append(line)
    return lines


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
