"""The history of a deck, on paper: what is due, its fittings, every figure over time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from core.history import Snapshot, Timeline, TrackedFigure
from core.language import Name, Numbers, message
from core.maintenance.model import Due
from core.maintenance.service_due import done_of
from core.paper.letterhead import Letterhead, set_letterhead
from core.paper.lettering import Measure, rough_width
from core.paper.pages import Pages
from core.paper.sheet import PaperSize, Sheet, printable
from core.records import Deck, Service
from core.store import Stored
from core.workflow import arm_words, figure_value, target_value

_SIZE_MM: Final = 2.8
_FITTING_SHARES: Final = (0.14, 0.07, 0.39, 0.2, 0.2)
_FITTING_HEADS: Final = (
    message("paper.history.day"),
    message("paper.history.letter"),
    message("paper.history.cartridge"),
    message("paper.history.technician"),
    message("paper.history.state"),
)
_SERVICE_SHARES: Final = (0.14, 0.2, 0.33, 0.18, 0.15)
_SERVICE_HEADS: Final = (
    message("paper.history.day"),
    message("paper.history.part"),
    message("paper.history.done"),
    message("paper.history.next"),
    message("paper.history.technician"),
)
_FIGURE_SHARES: Final = (0.3, 0.14, 0.07, 0.29, 0.2)
_FIGURE_HEADS: Final = (
    message("paper.history.figure"),
    message("paper.history.day"),
    message("paper.history.letter"),
    message("paper.history.read"),
    message("paper.history.wanted"),
)


def history_sheets(
    deck: Deck,
    timeline: Timeline,
    dues: Sequence[Due],
    size: PaperSize = PaperSize.A4,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
    *,
    letterhead: Letterhead | None = None,
    services: Sequence[Stored[Service]] = (),
) -> tuple[Sheet, ...]:
    """Return the history of a deck on as many pages as it takes; tables carry their heads on."""
    say = numbers or Numbers()
    title = say.text(message("paper.history.title", deck=Name(deck.name)))
    pages = Pages(printable(size), measure, _SIZE_MM)
    set_letterhead(pages, letterhead or Letterhead())
    pages.text(title, bold=True, size_mm=5.0)
    if deck.owner_reference:
        reference = Name(deck.owner_reference)
        pages.text(say.text(message("paper.history.reference", reference=reference)))
    pages.y -= 1.5
    due = [f"{say.text(one.title)}. {say.text(one.sentence)}" for one in dues]
    pages.bullets(say.text(message("paper.history.due")), due)
    if services:
        _under(pages, say.text(message("paper.history.service")))
        rows = [_service(one, deck, say) for one in services]
        pages.table(_SERVICE_SHARES, [say.text(one) for one in _SERVICE_HEADS], rows)
        pages.y -= 3.0
    _under(pages, say.text(message("paper.history.fittings")))
    stands = tuple(reversed(timeline.stands))
    fittings = [_fitting(stand, say) for stand in stands]
    pages.table(_FITTING_SHARES, [say.text(one) for one in _FITTING_HEADS], fittings)
    pages.y -= 3.0
    _under(pages, say.text(message("paper.history.figures")))
    figures = [
        row for quantity in timeline.quantities for row in _figures(quantity, timeline.stands, say)
    ]
    pages.table(_FIGURE_SHARES, [say.text(one) for one in _FIGURE_HEADS], figures)
    count = message("paper.history.summary", fittings=len(stands), figures=len(figures))
    return pages.sheets(title, say.text(count), size, say)


def _under(pages: Pages, heading: str) -> None:
    """Set a heading that stays with the head and the first row of the table below it."""
    pages.need(6.0 * pages.line_mm)
    pages.text(heading, bold=True, size_mm=pages.size_mm + 0.6)
    pages.y -= 0.5


def _service(one: Stored[Service], deck: Deck, say: Numbers) -> tuple[str, ...]:
    entry = one.thing
    on = done_of(entry).due_on(deck.hours_a_week)
    due = "" if on is None else on.isoformat()
    if entry.withdrawn:
        due = say.text(message("paper.history.withdrawn", day=Name(entry.withdrawn)))
    return entry.day, say.label(entry.part.label), entry.done, due, one.who


def _fitting(stand: Snapshot, say: Numbers) -> tuple[str, ...]:
    fitting = stand.past.fitting
    state = "finished" if stand.is_finished else "under_way"
    return (
        stand.day.isoformat(),
        stand.letter,
        _cartridge(stand, say),
        fitting.who,
        say.text(message("paper.history.stands", state=state)),
    )


def _cartridge(stand: Snapshot, say: Numbers) -> str:
    """Return the cartridge, and the arm it was fitted to where the deck has several."""
    name, arm = stand.past.cartridge.name, stand.past.journey.arm
    if arm is None:
        return name
    on = message("paper.history.on_arm", arm=arm_words(arm.name), cartridge=Name(name))
    return say.text(on)


def _figures(
    quantity: TrackedFigure, stands: Sequence[Snapshot], say: Numbers
) -> Iterator[tuple[str, ...]]:
    name = say.text(quantity.label)
    for stand, figure in zip(stands, quantity.values, strict=True):
        if figure is None:
            continue
        target = target_value(figure)
        wanted = "" if target is None else say.value(target)
        yield name, stand.day.isoformat(), stand.letter, say.value(figure_value(figure)), wanted
