"""The decks that are due for their check, on paper."""

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
_SHARES: Final = (0.44, 0.24, 0.16, 0.16)
_HEADS: Final = (
    message("paper.due.deck"),
    message("paper.due.reference"),
    message("paper.due.finished"),
    message("paper.due.since"),
)


@dataclass(frozen=True, slots=True)
class DueRow:
    """One deck: when it was last finished, and since when it is due."""

    name: str
    reference: str
    finished: date
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
        (one.name, one.reference, one.finished.isoformat(), one.on.isoformat()) for one in decks
    ]
    pages.table(_SHARES, [say.text(head) for head in _HEADS], rows)
    return pages.sheets(title, count, size, say)
