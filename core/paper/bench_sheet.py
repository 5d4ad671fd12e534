"""The bench sheet: what was found, done and left, on one page or two, for the deck's owner."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

from core.drawing.marks import Box, Line, Mark, Pen, Words
from core.fitting import Journey
from core.language import Name, Numbers, message
from core.paper.bench_content import BenchContent, BenchStep, bench_content
from core.paper.chart_marks import chart_marks
from core.paper.lettering import LEADING, Measure, rough_width, wrapped
from core.paper.sheet import PaperSize, Sheet, printable

_SIZES_MM: Final = (2.8, 2.5, 2.2)
_MOST_PAGES: Final = 2
_SHARES: Final = (0.23, 0.15, 0.17, 0.16, 0.29)
"""Of the width, for the columns of the table."""

_HEADS: Final = (
    message("paper.bench_sheet.step_and_figure"),
    message("paper.bench_sheet.as_found"),
    message("paper.bench_sheet.as_left"),
    message("paper.bench_sheet.target"),
    message("paper.bench_sheet.method"),
)
_GAP_MM: Final = 2.0
_PICTURE_MM: Final = 56.0
_FOOT_MM: Final = 5.0
_THICK: Final = Pen(0.35)
_THIN: Final = Pen(0.12, colour=0.4)


@dataclass(slots=True)
class _Pages:
    """Pages that fill from the top; what does not fit goes on the next."""

    area: Box
    measure: Measure
    size_mm: float
    pages: list[list[Mark]] = field(default_factory=lambda: [[]])
    y: float = field(init=False)

    def __post_init__(self) -> None:
        self.y = self.area.top

    @property
    def line_mm(self) -> float:
        return self.size_mm * LEADING

    def need(self, height_mm: float) -> None:
        """Begin a page if so much does not fit on this one."""
        if self.y - height_mm < self.area.bottom + _FOOT_MM and self.y < self.area.top:
            self.pages.append([])
            self.y = self.area.top

    def add(self, *marks: Mark) -> None:
        self.pages[-1] += marks

    def text(
        self, text: str, *, bold: bool = False, size_mm: float | None = None, indent_mm: float = 0.0
    ) -> None:
        """Set a paragraph over the whole width, line by line, over pages if need be."""
        size = size_mm or self.size_mm
        width = self.area.width - indent_mm
        for line in wrapped(text, width, size, self.measure, bold=bold):
            self.need(size * LEADING)
            self.y -= size * LEADING
            self.add(Words(self.area.left + indent_mm, self.y + size * 0.3, line, size, bold=bold))

    def rule(self, pen: Pen) -> None:
        self.y -= 0.6
        self.add(Line(self.area.left, self.y, self.area.right, self.y, pen))
        self.y -= 0.6


def bench_sheets(
    journey: Journey,
    size: PaperSize = PaperSize.A4,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
    *,
    next_check: str = "",
) -> tuple[Sheet, ...]:
    """Return the bench sheet of a fitting, one page or two.

    ``journey`` was worked out with the same ``numbers``; ``next_check`` is when the next check is
    due, in the person's own words.
    """
    say = numbers or Numbers()
    content = bench_content(journey, say, next_check=next_check)
    pages = _fitted(content, size, say, measure)
    deck = Name(journey.deck.name)
    title = Name(say.text(message("paper.bench_sheet.title", deck=deck)))
    area, count = printable(size), len(pages)
    steps = Name("; ".join(f"{step.title}: {step.verdict}" for step in content.steps))
    sheets: list[Sheet] = []
    for index, marks in enumerate(pages, start=1):
        foot = say.text(message("paper.bench_sheet.foot", deck=deck, index=index, count=count))
        line = wrapped(foot, area.width, 2.2, measure)[0]
        marks.append(Words(area.right, area.bottom + 0.5, line, 2.2, "right", colour=0.3))
        sheets.append(
            Sheet(
                title=say.text(
                    message("paper.bench_sheet.page", title=title, index=index, count=count)
                ),
                summary=say.text(message("paper.bench_sheet.summary", steps=steps)),
                size=size,
                marks=tuple(marks),
            )
        )
    return tuple(sheets)


def _fitted(
    content: BenchContent, size: PaperSize, say: Numbers, measure: Measure
) -> list[list[Mark]]:
    """Set it on one page, else on two in the largest letters, else in smaller ones, else cut."""

    def whole(words: str) -> str:
        return words

    tried = [_set(content, size, say, measure, mm, whole) for mm in _SIZES_MM[:2]]
    for most_pages in (1, _MOST_PAGES):
        for pages in tried:
            if len(pages) <= most_pages:
                return pages
    pages = _set(content, size, say, measure, _SIZES_MM[-1], whole)
    for most in (400, 160, 80, 40):
        if len(pages) <= _MOST_PAGES:
            break
        pages = _set(content, size, say, measure, _SIZES_MM[-1], _shortener(most))
    return pages


def _shortener(most: int) -> Callable[[str], str]:
    def short(words: str) -> str:
        return words if len(words) <= most else f"{words[: most - 1].rstrip()}…"

    return short


def _set(
    content: BenchContent,
    size: PaperSize,
    say: Numbers,
    measure: Measure,
    letters_mm: float,
    short: Callable[[str], str],
) -> list[list[Mark]]:
    pages = _Pages(printable(size), measure, letters_mm)
    _head(pages, content, say, short)
    _table(pages, content.steps, say, short)
    _pictures(pages, content, say)
    _list(
        pages,
        say.text(message("paper.bench_sheet.notes")),
        content.notes[: 40 if short("x" * 500) == "x" * 500 else 6],
        short,
    )
    _list(pages, say.text(message("paper.bench_sheet.next_check")), content.next_checks, short)
    _list(
        pages,
        say.text(message("paper.bench_sheet.take_care")),
        tuple(f"{caution.title}. {caution.text}" for caution in content.cautions),
        short,
    )
    if short("x" * 500) != "x" * 500:
        pages.text(say.text(message("paper.bench_sheet.shortened")), bold=True)
    return pages.pages


def _head(pages: _Pages, content: BenchContent, say: Numbers, short: Callable[[str], str]) -> None:
    pages.text(say.text(message("paper.bench_sheet.heading")), bold=True, size_mm=6.0)
    pages.y -= 1.0
    for name, words in content.facts:
        pages.text(f"{name}: {short(words)}", size_mm=pages.size_mm + 0.2)
    for line in content.work:
        pages.text(line)
    if content.unfinished:
        pages.y -= 0.6
        pages.text(content.unfinished, bold=True)
    pages.y -= 1.5


def _table(
    pages: _Pages, steps: Sequence[BenchStep], say: Numbers, short: Callable[[str], str]
) -> None:
    lefts = [pages.area.left]
    for share in _SHARES:
        lefts.append(lefts[-1] + share * pages.area.width)
    _cells(pages, lefts, [say.text(head) for head in _HEADS], bold=True)
    pages.rule(_THICK)
    for step in steps:
        _step(pages, lefts, step, short)
        pages.rule(_THIN)
    pages.text(say.text(message("paper.bench_sheet.meaning")), size_mm=pages.size_mm - 0.3)


def _step(
    pages: _Pages, lefts: Sequence[float], step: BenchStep, short: Callable[[str], str]
) -> None:
    verdict = wrapped(step.verdict, pages.area.width - 4.0, pages.size_mm, pages.measure, bold=True)
    # A step's head stays with its first figure and its verdict.
    pages.need((2 + len(verdict)) * pages.line_mm + 1.0)
    first, *others = step.rows or [None]
    _cells(pages, lefts, (step.title, "", "", "", ""), bold=True)
    method = short(step.method)
    if first is None:
        if method:
            _cells(pages, lefts, ("", "", "", "", method))
    else:
        _cells(pages, lefts, (first.label, first.before, first.after, first.target, method))
    for row in others:
        if row is not None:
            _cells(pages, lefts, (row.label, row.before, row.after, row.target, ""))
    pages.text(short(step.verdict), bold=True, indent_mm=4.0)
    for remark in step.remarks:
        pages.text(short(remark), indent_mm=4.0)


def _cells(
    pages: _Pages, lefts: Sequence[float], cells: Sequence[str], *, bold: bool = False
) -> None:
    """Set one row, each cell wrapped in its column; a lone first cell runs over all of them."""
    alone = bool(cells[0]) and not any(cells[1:])
    set_cells: list[tuple[float, list[str]]] = []
    for left, right, words in zip(lefts, lefts[1:], cells, strict=False):
        width = (lefts[-1] if alone else right) - left - _GAP_MM
        lines = wrapped(words, width, pages.size_mm, pages.measure, bold=bold) if words else []
        set_cells.append((left, lines))
    rows = max(len(lines) for _, lines in set_cells)
    pages.need(rows * pages.line_mm)
    for row in range(rows):
        pages.y -= pages.line_mm
        for left, lines in set_cells:
            if row < len(lines):
                pages.add(
                    Words(left, pages.y + pages.size_mm * 0.3, lines[row], pages.size_mm, bold=bold)
                )


def _pictures(pages: _Pages, content: BenchContent, say: Numbers) -> None:
    pages.y -= 2.0
    pages.need(_PICTURE_MM)
    width = (pages.area.width - 2 * 4.0) / 3.0
    for index, picture in enumerate(content.pictures):
        left = pages.area.left + index * (width + 4.0)
        box = Box(left, pages.y - _PICTURE_MM, left + width, pages.y)
        pages.add(*chart_marks(picture, box, pages.measure, say))
    pages.y -= _PICTURE_MM + 2.0


def _list(pages: _Pages, heading: str, items: Sequence[str], short: Callable[[str], str]) -> None:
    if not items:
        return
    pages.need(2 * pages.line_mm)
    pages.text(heading, bold=True)
    for item in items:
        pages.text(f"• {short(item)}", indent_mm=2.0)
    pages.y -= 1.0
