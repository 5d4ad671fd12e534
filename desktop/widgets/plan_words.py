"""What a plan says, in words: moves as orders to a person, predictions, learned gains."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from core.fitting import Control, Gain, MovePart, Start
from core.language import Numbers, message, shown, step_text
from core.swap.past import Foretold
from core.workflow.descriptions import described_part, place_words
from desktop.widgets.resume_button import shortened

Recovery = tuple[str, str]

_LONGEST_NAME: Final = 48

_SLID: Final[dict[Control, tuple[str, Recovery]]] = {
    Control.PILLAR: ("{} the pillar by", ("Raise", "Lower")),
    Control.SLIDE: (
        "Slide the cartridge by",
        ("away from the pivot", "toward the pivot"),
    ),
    Control.TWIST: (
        "Turn the cartridge by",
        ("in, toward the spindle", "out, away from the spindle"),
    ),
    Control.ARM_BASE: (
        "Move the arm base by",
        ("away from the spindle", "toward the spindle"),
    ),
    Control.COUNTERWEIGHT: (
        "Move the counterweight by",
        ("toward the pivot", "away from the pivot"),
    ),
    Control.TILT: ("Turn the head by", ("left side up", "right side up")),
}
_IN_THE_HEAD: Final = (Control.SLIDE, Control.TWIST)
_SHIMS: Final[dict[Control, Recovery]] = {
    Control.BASE_SHIM: (
        "Put {} of shims under the arm base",
        "Take {} of shims from under the arm base",
    ),
    Control.HEAD_SHIM: (
        "Put {} of shims between head and cartridge",
        "Take {} of shims from between head and cartridge",
    ),
    Control.TILT_SHIM: (
        "Add {} of shim at the left screw",
        "Add {} of shim at the right screw",
    ),
}


def order_words(part: MovePart, numbers: Numbers) -> str:
    """Say a part of a move as an order: ``Raise the pillar by 2.0 mm``; no full stop.

    A control this page has no order for is said as the record says it.
    """
    if part.control in _SHIMS:
        more, less = _SHIMS[part.control]
        return (more if part.amount > 0 else less).format(size_words(part, numbers))
    if part.control is Control.SKATING:
        way = "more" if part.amount > 0 else "less"
        return f"Set the skating compensation {size_words(part, numbers)} {way}"
    if part.control is Control.COUNTERWEIGHT and part.unit == "gf":
        return f"Turn the downforce {'up' if part.amount > 0 else 'down'} by " + size_words(
            part, numbers
        )
    if part.control not in _SLID:
        return numbers.text(described_part(part))
    order, (plus, minus) = _SLID[part.control]
    way = plus if part.amount > 0 else minus
    if part.unit == "turns":
        order = order.replace("Move the counterweight", "Turn the counterweight").replace(
            "the pillar", "the collar"
        )
    size = size_words(part, numbers)
    if "{}" in order:
        return f"{order.format(way)} {size}"
    return f"{order} {size}, {way}"


def size_words(part: MovePart, numbers: Numbers) -> str:
    """Say how far a part goes, without its direction: ``2.0 mm``, ``1 ⅜ turns (1.4 mm)``."""
    size = abs(part.amount)
    if part.unit == "turns":
        also = part.equivalent_mm
        beside = "" if also is None else f" ({numbers.unit(abs(also), 'mm', 1)})"
        return f"{numbers.turns(size)}{beside}"
    decimals = _decimals(part.unit, size)
    return numbers.unit(size, part.unit, decimals)


def orders_words(starts: tuple[Start, ...], numbers: Numbers) -> str:
    """Say all moves of one step in one sentence; empty if nothing is moved.

    What slides or turns in the head is counted from where the old cartridge stood in it.
    """
    orders = [order_words(start.part, numbers) for start in starts if start.part is not None]
    if not orders:
        return ""
    said = "; ".join([orders[0], *(f"{one[0].lower()}{one[1:]}" for one in orders[1:])])
    return f"{said}, from where the old one stood." if in_the_head(starts) else f"{said}."


def in_the_head(starts: Iterable[Start]) -> bool:
    """Whether anything slides or turns in the head, so that the old place has to be marked."""
    return any(start.part is not None and start.part.control in _IN_THE_HEAD for start in starts)


def expected_words(foretold: Foretold, numbers: Numbers) -> str:
    """Say what a step should then read: ``Downforce 2.00 ± 0.06 gf``."""
    return f"{numbers.value(shown(foretold.label))} {predicted_words(foretold, numbers)}"


def predicted_words(foretold: Foretold, numbers: Numbers) -> str:
    """Say what was foretold: ``2.00 ± 0.06 gf``."""
    return _with_error(foretold.predicted, foretold.half_width, foretold, numbers)


def found_words(foretold: Foretold, numbers: Numbers) -> str:
    """Say what was found in its place, or that nothing was read."""
    if foretold.found is None:
        return "not read"
    return _with_error(foretold.found, foretold.found_half_width, foretold, numbers)


def error_words(foretold: Foretold, numbers: Numbers) -> str:
    """Say by how much the prediction missed; empty while nothing was read."""
    if foretold.error is None:
        return ""
    return numbers.signed_unit(foretold.error, foretold.unit, foretold.decimals)


FORETOLD_TITLES: Final = ("", "expected", "found", "error")


def foretold_cells(rows: Iterable[Foretold], numbers: Numbers) -> list[tuple[str, ...]]:
    """Return the cells under :data:`FORETOLD_TITLES`, a row a figure."""
    return [
        (
            f"{step_text(one.step).title}: {numbers.value(shown(one.label))}",
            predicted_words(one, numbers),
            found_words(one, numbers),
            error_words(one, numbers) or "–",
        )
        for one in rows
    ]


def _with_error(
    value: float, half_width: float | None, foretold: Foretold, numbers: Numbers
) -> str:
    if half_width is None:
        return numbers.unit(value, foretold.unit, foretold.decimals)
    return numbers.within(value, half_width, foretold.unit, foretold.decimals)


def gain_words(gain: Gain, numbers: Numbers) -> tuple[str, str, str, str]:
    """Say a learned gain in four cells: control, value with its spread, fittings, stated value."""
    name = numbers.text(message("control.name", control=gain.control))
    if gain.where:
        name = f"{name} ({place_words(gain.control, gain.where)})"
    value = f"{numbers.plain(gain.value, 3)} ± {numbers.plain(gain.half_width, 3)} {gain.unit}"
    moves = "1 move" if gain.samples == 1 else f"{gain.samples} moves"
    stated = "not stated" if gain.stated is None else f"{numbers.plain(gain.stated, 3)} {gain.unit}"
    return name, value, moves, stated


def name_words(name: str) -> str:
    """Return a name as long as a line of a page bears it."""
    return shortened(name, _LONGEST_NAME)


def _decimals(symbol: str, size: float) -> int | None:
    """One decimal of a millimetre or degree is what a hand can do; more only for less."""
    if symbol in ("mm", "°"):
        return 1 if size >= 0.095 else 2
    return None
