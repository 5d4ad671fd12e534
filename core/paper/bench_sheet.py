"""The bench sheet: what was found, done and left, for the deck's owner.

Words and charts take one page or two; the drawings after them at most one more.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from core.drawing.marks import Box, Words
from core.fitting import Journey
from core.language import Name, Numbers, message
from core.paper.bench_content import BenchContent, BenchStep, bench_content
from core.paper.chart_marks import chart_marks
from core.paper.lettering import LEADING, Measure, rough_width, wrapped
from core.paper.pages import THICK, Pages
from core.paper.picture_pages import PaperPicture, add_pictures
from core.paper.sheet import PaperSize, Sheet, printable
from core.paper.step_drawings import set_in

_SIZES_MM: Final = (2.8, 2.5, 2.2)
_MOST_PAGES: Final = 2
_SHARES: Final = (0.22, 0.17, 0.17, 0.16, 0.28)
"""Shares of the width for the columns of the table."""

_HEADS: Final = (
    message("paper.bench_sheet.step_and_figure"),
    message("paper.bench_sheet.as_found"),
    message("paper.bench_sheet.as_left"),
    message("paper.bench_sheet.target"),
    message("paper.bench_sheet.method"),
)
_PICTURE_MM: Final = 56.0
_PICTURES_A_ROW: Final = 3
_ACROSS: Final = 3
_BETWEEN_MM: Final = 4.0
"""How many drawings stand side by side, and how far apart."""


def bench_sheets(
    journey: Journey,
    size: PaperSize = PaperSize.A4,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
    *,
    next_check: str = "",
    pictures: Sequence[PaperPicture] = (),
) -> tuple[Sheet, ...]:
    """Return the bench sheet of a fitting: one page or two, its drawings, and then pictures.

    ``journey`` was worked out with the same ``numbers``; ``next_check`` is when the next check is
    due, in the person's own words.
    """
    say = numbers or Numbers()
    content = bench_content(journey, say, next_check=next_check)
    pages = _fitted(content, size, say, measure)
    _drawings(pages, content, say)
    add_pictures(pages, pictures, say)
    title = say.text(message("paper.bench_sheet.title", deck=Name(journey.deck.name)))
    steps = Name("; ".join(f"{step.title}: {step.verdict}" for step in content.steps))
    summary = say.text(message("paper.bench_sheet.summary", steps=steps))
    return pages.sheets(title, summary, size, say)


def _fitted(content: BenchContent, size: PaperSize, say: Numbers, measure: Measure) -> Pages:
    """Set it on one page, else on two in the largest type that fits, else cut."""

    def whole(words: str) -> str:
        return words

    tried = [_set(content, size, say, measure, mm, whole) for mm in _SIZES_MM[:2]]
    for most_pages in (1, _MOST_PAGES):
        for pages in tried:
            if len(pages.pages) <= most_pages:
                return pages
    pages = _set(content, size, say, measure, _SIZES_MM[-1], whole)
    for most in (400, 160, 80, 40):
        if len(pages.pages) <= _MOST_PAGES:
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
) -> Pages:
    pages = Pages(printable(size), measure, letters_mm)
    _head(pages, content, say, short)
    _table(pages, content.steps, say, short)
    _pictures(pages, content, say)
    notes = content.notes[: 40 if short("x" * 500) == "x" * 500 else 6]
    cautions = (f"{caution.title}. {caution.text}" for caution in content.cautions)
    for heading, items in (
        (message("paper.bench_sheet.notes"), notes),
        (message("paper.bench_sheet.next_check"), content.next_checks),
        (message("paper.bench_sheet.take_care"), cautions),
    ):
        pages.bullets(say.text(heading), [short(item) for item in items])
    if short("x" * 500) != "x" * 500:
        pages.text(say.text(message("paper.bench_sheet.shortened")), bold=True)
    return pages


def _head(pages: Pages, content: BenchContent, say: Numbers, short: Callable[[str], str]) -> None:
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
    pages: Pages, steps: Sequence[BenchStep], say: Numbers, short: Callable[[str], str]
) -> None:
    lefts = pages.lefts(_SHARES)
    pages.cells(lefts, [say.text(head) for head in _HEADS], bold=True)
    pages.rule(THICK)
    for step in steps:
        _step(pages, lefts, step, short)
        pages.rule()
    pages.text(say.text(message("paper.bench_sheet.meaning")), size_mm=pages.size_mm - 0.3)


def _step(
    pages: Pages, lefts: Sequence[float], step: BenchStep, short: Callable[[str], str]
) -> None:
    verdict = wrapped(step.verdict, pages.area.width - 4.0, pages.size_mm, pages.measure, bold=True)
    # A step's head stays with its first figure and its verdict.
    pages.need((2 + len(verdict)) * pages.line_mm + 1.0)
    first, *others = step.rows or [None]
    pages.cells(lefts, (step.title, "", "", "", ""), bold=True)
    method = short(step.method)
    if first is None:
        if method:
            pages.cells(lefts, ("", "", "", "", method))
    else:
        pages.cells(lefts, (first.label, first.before, first.after, first.target, method))
    for row in others:
        if row is not None:
            pages.cells(lefts, (row.label, row.before, row.after, row.target, ""))
    pages.text(short(step.verdict), bold=True, indent_mm=4.0)
    for remark in step.remarks:
        pages.text(short(remark), indent_mm=4.0)


def _drawings(pages: Pages, content: BenchContent, say: Numbers) -> None:
    """Set the drawings, so many a row, each under the title of its step."""
    width = (pages.area.width - (_ACROSS - 1) * _BETWEEN_MM) / _ACROSS
    title_mm, heading_mm = 2.6 * LEADING, pages.line_mm + 2.0
    for first in range(0, len(content.drawings), _ACROSS):
        row = content.drawings[first : first + _ACROSS]
        heights = [width * drawing.height_mm / drawing.width_mm for _, drawing in row]
        tall = title_mm + 1.0 + max(heights)
        pages.need(tall + _BETWEEN_MM + (heading_mm if first == 0 else 0.0))
        if first == 0:
            pages.y -= 2.0
            pages.text(say.text(message("paper.bench_sheet.drawings")), bold=True)
        for index, (title, drawing) in enumerate(row):
            left = pages.area.left + index * (width + _BETWEEN_MM)
            pages.add(Words(left, pages.y - title_mm + 0.8, title, 2.6, bold=True))
            box = Box(left, pages.y - tall, left + width, pages.y - title_mm - 1.0)
            pages.add(*set_in(drawing, box))
        pages.y -= tall + _BETWEEN_MM


def _pictures(pages: Pages, content: BenchContent, say: Numbers) -> None:
    width = (pages.area.width - 2 * 4.0) / _PICTURES_A_ROW
    for first in range(0, len(content.pictures), _PICTURES_A_ROW):
        pages.y -= 2.0
        pages.need(_PICTURE_MM)
        for index, picture in enumerate(content.pictures[first : first + _PICTURES_A_ROW]):
            left = pages.area.left + index * (width + 4.0)
            box = Box(left, pages.y - _PICTURE_MM, left + width, pages.y)
            pages.add(*chart_marks(picture, box, pages.measure, say))
        pages.y -= _PICTURE_MM + 2.0
