"""Pages filled from the top: paragraphs, lists, tables with repeated heads, page numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

from core.drawing.marks import Box, Line, Mark, Pen, Words
from core.language import Name, Numbers, message
from core.paper.lettering import LEADING, Measure, wrapped
from core.paper.sheet import PaperSize, Sheet

THICK: Final = Pen(0.35)
THIN: Final = Pen(0.12, colour=0.4)
_GAP_MM: Final = 2.0
_FOOT_MM: Final = 5.0
_FOOT_TYPE_MM: Final = 2.2


@dataclass(slots=True)
class Pages:
    """Pages of one document; what does not fit on a page goes on the next."""

    area: Box
    measure: Measure
    size_mm: float
    pages: list[list[Mark]] = field(default_factory=lambda: [[]])
    y: float = field(init=False)

    def __post_init__(self) -> None:
        self.y = self.area.top

    @property
    def line_mm(self) -> float:
        """From one base line to the next."""
        return self.size_mm * LEADING

    def need(self, height_mm: float) -> bool:
        """Begin a page if so much does not fit on this one; return whether one was begun."""
        if self.y - height_mm < self.area.bottom + _FOOT_MM and self.y < self.area.top:
            self.turn()
            return True
        return False

    def turn(self) -> None:
        """Begin a page."""
        self.pages.append([])
        self.y = self.area.top

    def add(self, *marks: Mark) -> None:
        """Put marks on the current page."""
        self.pages[-1] += marks

    def text(
        self, text: str, *, bold: bool = False, size_mm: float | None = None, indent_mm: float = 0.0
    ) -> None:
        """Set a paragraph across the whole width, continued on further pages if necessary."""
        size = size_mm or self.size_mm
        width = self.area.width - indent_mm
        for line in wrapped(text, width, size, self.measure, bold=bold):
            self.need(size * LEADING)
            self.y -= size * LEADING
            self.add(Words(self.area.left + indent_mm, self.y + size * 0.3, line, size, bold=bold))

    def rule(self, pen: Pen = THIN) -> None:
        """Draw a line across."""
        self.y -= 0.6
        self.add(Line(self.area.left, self.y, self.area.right, self.y, pen))
        self.y -= 0.6

    def lefts(self, shares: Sequence[float]) -> list[float]:
        """Return where columns begin that take these shares of the width, and where the last ends.

        ``shares`` add up to 1.
        """
        found = [self.area.left]
        for share in shares:
            found.append(found[-1] + share * self.area.width)
        return found

    def cells(self, lefts: Sequence[float], cells: Sequence[str], *, bold: bool = False) -> None:
        """Set one row, each cell wrapped in its column; a lone first cell runs over all of them."""
        set_cells = self._wrapped(lefts, cells, bold=bold)
        rows = max(len(lines) for _, lines in set_cells)
        self.need(rows * self.line_mm)
        for row in range(rows):
            self.y -= self.line_mm
            for left, lines in set_cells:
                if row < len(lines):
                    base = self.y + self.size_mm * 0.3
                    self.add(Words(left, base, lines[row], self.size_mm, bold=bold))

    def table(
        self, shares: Sequence[float], heads: Sequence[str], rows: Iterable[Sequence[str]]
    ) -> None:
        """Set a table; its heads stand with its first row, and again on every page it goes on to.

        A table without rows sets nothing.
        """
        lefts = self.lefts(shares)
        head_mm = self._height(lefts, heads, bold=True) + 1.2
        is_new = True
        for row in rows:
            row_mm = self._height(lefts, row) + 1.2
            if self.need((head_mm if is_new else 0.0) + row_mm) or is_new:
                self.cells(lefts, heads, bold=True)
                self.rule(THICK)
                is_new = False
            self.cells(lefts, row)
            self.rule()

    def bullets(self, heading: str, items: Sequence[str]) -> None:
        """Set a list under its heading; nothing where there are no items."""
        if not items:
            return
        self.need(2 * self.line_mm)
        self.text(heading, bold=True)
        for item in items:
            self.text(f"• {item}", indent_mm=2.0)
        self.y -= 1.0

    def sheets(self, title: str, summary: str, size: PaperSize, say: Numbers) -> tuple[Sheet, ...]:
        """Return the pages as sheets, each with its number at the foot."""
        count = len(self.pages)
        made: list[Sheet] = []
        for index, marks in enumerate(self.pages, start=1):
            page = message("paper.pages.page", title=Name(title), index=index, count=count)
            line = self._foot(title, index, count, say)
            foot = Words(
                self.area.right, self.area.bottom + 0.5, line, _FOOT_TYPE_MM, "right", colour=0.3
            )
            made.append(Sheet(say.text(page), summary, size, (*marks, foot)))
        return tuple(made)

    def _foot(self, title: str, index: int, count: int, say: Numbers) -> str:
        """Return the line at the foot; of a long title the end goes, never the page's number."""

        def line(words: str) -> str:
            return say.text(
                message("paper.pages.page", title=Name(words), index=index, count=count)
            )

        said, letters = line(title), len(title)
        while letters and self.measure(said, _FOOT_TYPE_MM) > self.area.width:
            letters -= 1
            said = line(f"{title[:letters].rstrip()}…")
        return said

    def _wrapped(
        self, lefts: Sequence[float], cells: Sequence[str], *, bold: bool = False
    ) -> list[tuple[float, list[str]]]:
        alone = bool(cells[0]) and not any(cells[1:])
        found: list[tuple[float, list[str]]] = []
        for left, right, words in zip(lefts, lefts[1:], cells, strict=False):
            width = (lefts[-1] if alone else right) - left - _GAP_MM
            size, measure = self.size_mm, self.measure
            found.append((left, wrapped(words, width, size, measure, bold=bold) if words else []))
        return found

    def _height(self, lefts: Sequence[float], cells: Sequence[str], *, bold: bool = False) -> float:
        return self.line_mm * max(len(lines) for _, lines in self._wrapped(lefts, cells, bold=bold))
