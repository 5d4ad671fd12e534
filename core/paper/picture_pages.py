"""Further pages with pictures: two beside each other, the words under each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from core.drawing.marks import Bitmap, Words
from core.language import Name, Numbers, message
from core.paper.lettering import wrapped
from core.paper.pages import Pages

_ACROSS: Final = 2
_BETWEEN_MM: Final = 6.0
_HIGHEST_MM: Final = 105.0


@dataclass(frozen=True, slots=True)
class PaperPicture:
    """A picture as JPEG, its size in points, and the words and the day that stand under it."""

    jpeg: bytes
    width: int
    height: int
    caption: str
    day: str


def add_pictures(pages: Pages, pictures: Sequence[PaperPicture], say: Numbers) -> None:
    """Set pictures under a heading on pages of their own; nothing where there are none."""
    if not pictures:
        return
    pages.turn()
    pages.text(say.text(message("paper.pictures.heading")), bold=True, size_mm=pages.size_mm + 1.2)
    pages.y -= 2.0
    for at in range(0, len(pictures), _ACROSS):
        _row(pages, pictures[at : at + _ACROSS], say)


def _row(pages: Pages, pictures: Sequence[PaperPicture], say: Numbers) -> None:
    across = (pages.area.width - _BETWEEN_MM * (_ACROSS - 1)) / _ACROSS
    shown = []
    for one in pictures:
        scale = min(across / one.width, _HIGHEST_MM / one.height)
        words = say.text(
            message(
                "paper.pictures.under",
                caption=Name(one.caption),
                day=Name(one.day),
                said="yes" if one.caption else "no",
            )
        )
        lines = wrapped(words, across, pages.size_mm, pages.measure)
        shown.append((one, one.width * scale, one.height * scale, lines))
    highest = max(height for _, _, height, _ in shown)
    rows = max(len(lines) for *_, lines in shown)
    pages.need(highest + (rows + 1) * pages.line_mm)
    top = pages.y
    for place, (one, width, height, lines) in enumerate(shown):
        left = pages.area.left + place * (across + _BETWEEN_MM)
        pages.add(Bitmap(left, top - height, width, height, one.jpeg))
        for row, line in enumerate(lines, start=1):
            base = top - height - row * pages.line_mm
            pages.add(Words(left, base, line, pages.size_mm))
    pages.y = top - highest - (rows + 1) * pages.line_mm
