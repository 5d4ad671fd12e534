"""A sheet of paper: its size, what a printer reaches of it, its marks and its check lines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.drawing.marks import Box, Mark
from core.language import ToldProblem
from core.records import Choice


class PaperProblem(ToldProblem):
    """A sheet that can't be drawn or put on paper."""


class PaperSize(Choice):
    """Sizes of paper, upright."""

    A4 = "a4", "A4 (210 × 297 mm)"
    LETTER = "letter", "Letter (8½ × 11 inches)"

    @property
    def width_mm(self) -> float:
        """Across: ISO 216, or 8.5 inches."""
        return 210.0 if self is PaperSize.A4 else 215.9

    @property
    def height_mm(self) -> float:
        """Along: ISO 216, or 11 inches."""
        return 297.0 if self is PaperSize.A4 else 279.4


MARGIN_MM: Final = 8.0
"""Margin that printers can't reach, with a little to spare (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class CheckLines:
    """The lines on a sheet that a person measures, in mm as drawn; true for both directions."""

    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """One side of paper, its marks in drawing order.

    ``summary`` says what it shows in a sentence or two, for who can't see it. ``check`` are the
    check lines of a sheet whose lengths must be true, None on any other.
    """

    title: str
    summary: str
    size: PaperSize
    marks: tuple[Mark, ...]
    check: CheckLines | None = None

    @property
    def is_true_scale(self) -> bool:
        """Whether its lengths must be true."""
        return self.check is not None


def printable(size: PaperSize) -> Box:
    """Return the part of a sheet that printers reach."""
    return Box(MARGIN_MM, MARGIN_MM, size.width_mm - MARGIN_MM, size.height_mm - MARGIN_MM)
