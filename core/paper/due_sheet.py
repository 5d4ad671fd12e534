"""The decks on which something is due, on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from core.language import Name, Numbers, message
from core.paper.letterhead import Letterhead, set_letterhead
from core.paper.lettering import Measure, rough_width
from core.paper.pages import Pages
from core.paper.sheet import PaperSize, Sheet, printable

_SIZE_MM: Final = 3.0
_SHARES: Final = (0.25, 0.21, 0.28, 0.13, 0.13)
_HEADS: Final = (
    message("paper.due.deck"),
    message("paper.due.reference"),
    message("paper.due.why"),
    message("paper.due.last"),
    message("paper.due.since"),
)


@dataclass(frozen=True, slots=True)
class DueRow:
    """One deck: what is due, when that was last done, and since when it is due."""

    name: str
    reference: str
    why: str
    last: date
    on: date


def due_sheets(
    decks: Sequence[DueRow],
    today: date,
    size: PaperSize = PaperSize.A4,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
    *,
    letterhead: Letterhead | None = None,
) -> tuple[Sheet, ...]:
    """Return the list on as many pages as it takes, in the order given."""
    say = numbers or Numbers()
    title = say.text(message("paper.due.title", day=Name(today.isoformat())))
    count = say.text(message("paper.due.count", count=len(decks)))
    pages = Pages(printable(size), measure, _SIZE_MM)
    set_letterhead(pages, letterhead or Letterhead())
    pages.text(title, bold=True, size_mm=5.0)
    pages.text(count)
    pages.y -= 1.5
    rows = [
        (one.name, one.reference, one.why, one.last.isoformat(), one.on.isoformat())
        for one in decks
    ]
    pages.table(_SHARES, [say.text(head) for head in _HEADS], rows)
    return pages.sheets(title, count, size, say)
