"""What a plan says, in words: moves as orders to a person, predictions, learned gains."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from PySide6.QtWidgets import QWidget

from core.fitting import Control, Gain, MovePart, Start
from core.language import (
    Eighths,
    Interval,
    Message,
    Name,
    Numbers,
    Quantity,
    Series,
    StepTitle,
    Value,
    message,
    shown,
)
from core.steps.shared import directed
from core.swap.past import Foretold, why_spared
from core.workflow.descriptions import change_value, described_part, place_words
from desktop.widgets.panels import table
from desktop.widgets.resume_button import shortened

_LONGEST_NAME: Final = 48
_IN_THE_HEAD: Final = (Control.SLIDE, Control.TWIST)
_BY_THE_PIVOT: Final = (Control.SLIDE, Control.COUNTERWEIGHT)
"""Controls whose orders name the pivot, where the arm has one."""
_ORDERED: Final = (
    Control.PILLAR,
    Control.SLIDE,
    Control.TWIST,
    Control.ARM_BASE,
    Control.COUNTERWEIGHT,
    Control.TILT,
    Control.BASE_SHIM,
    Control.HEAD_SHIM,
    Control.TILT_SHIM,
    Control.SKATING,
)


def order(part: MovePart, *, first: bool = True, parallel: bool = False) -> Message:
    """Return a part of a move as an order: ``Raise the pillar by 2.0 mm``; no full stop.

    A control this page has no order for is said as the record says it. ``parallel`` asks for the
    words of a parallel-tracking arm.
    """
    if part.control not in _ORDERED:
        return described_part(part, parallel=parallel)
    kind = part.control.value
    if part.unit == "turns" and part.control in (Control.PILLAR, Control.COUNTERWEIGHT):
        kind = f"{kind} by turns"
    elif part.unit == "gf" and part.control is Control.COUNTERWEIGHT:
        kind = "downforce"
    move = f"{kind}, {'more' if part.amount > 0 else 'less'}"
    if parallel and part.control in _BY_THE_PIVOT and part.unit != "gf":
        move += ", parallel arm"
    if first:
        return message("swap.order", move=move, size=_size(part))
    return message("swap.further_order", move=move, size=_size(part))


def _size(part: MovePart) -> Value:
    """Return how far a part goes, without its direction: ``2.0 mm``, ``1 ⅜ turns (1.4 mm)``."""
    size = abs(part.amount)
    if part.unit != "turns":
        return Quantity(size, part.unit, _decimals(part.unit, size))
    if part.equivalent_mm is None:
        return Eighths(size)
    also = Quantity(abs(part.equivalent_mm), "mm", 1)
    return message("swap.turns_and_size", turns=Eighths(size), size=also)


def orders(
    starts: tuple[Start, ...], *, ends: bool = False, parallel: bool = False
) -> Message | None:
    """Return all moves of one step in one sentence; None if nothing is moved.

    What slides or turns in the head is counted from where the old cartridge stood in it; ``ends``
    says that the control can't go as far; ``parallel`` as for :func:`order`.
    """
    parts = [start.part for start in starts if start.part is not None]
    if not parts:
        return None
    each = (order(part, first=at == 0, parallel=parallel) for at, part in enumerate(parts))
    said = Series(tuple(each), ";")
    where = "in the head" if in_the_head(starts) else "on the deck"
    return message("swap.orders", where=f"{where}, ends" if ends else where, orders=said)


def left_alone(starts: Iterable[Start]) -> Message | None:
    """Return why a step's controls are left where they are; None if no move was spared."""
    said = (why_spared(start) for start in starts)
    return next((one for one in said if one is not None), None)


def in_the_head(starts: Iterable[Start]) -> bool:
    """Whether anything slides or turns in the head, so that the old place has to be marked."""
    return any(start.part is not None and start.part.control in _IN_THE_HEAD for start in starts)


def expected(foretold: Iterable[Foretold], when: str) -> Message | None:
    """Return what a step should then read: ``Expected: Downforce 2.00 ± 0.06 gf``.

    ``when`` is "moves", "stays" or "ends", as a move comes before it.
    """
    items = tuple(
        message("swap.figure", label=shown(one.label), value=_predicted(one)) for one in foretold
    )
    return message("swap.expected", when=when, figures=Series(items, ";")) if items else None


def _predicted(foretold: Foretold) -> Value:
    return _with_error(foretold.predicted, foretold.half_width, foretold)


def _found(foretold: Foretold) -> Value:
    """Return what was found in its place, or that nothing was read."""
    if foretold.found is None:
        return message("swap.unread")
    return _with_error(foretold.found, foretold.found_half_width, foretold)


def _error(foretold: Foretold) -> Value:
    """Return by how much the prediction missed."""
    if foretold.error is None:
        return Name("–")
    return change_value(foretold.error, foretold.ways, foretold.unit, foretold.decimals)


def foretold_table(rows: Iterable[Foretold], numbers: Numbers) -> QWidget:
    """Return a table of what was expected and found, a row a figure."""
    titles = (
        message("swap.column.expected"),
        message("swap.column.found"),
        message("swap.column.error"),
    )
    cells = [
        (
            message("swap.figure_of_step", step=StepTitle(one.step), label=shown(one.label)),
            _predicted(one),
            _found(one),
            _error(one),
        )
        for one in rows
    ]
    return table(
        ("", *map(numbers.text, titles)), [tuple(map(numbers.value, row)) for row in cells]
    )


def _with_error(value: float, half_width: float | None, foretold: Foretold) -> Value:
    size = abs(value) if foretold.ways else value
    said: Value = Quantity(size, foretold.unit, foretold.decimals)
    if half_width is not None:
        said = Interval(size, half_width, foretold.unit, foretold.decimals)
    return directed(said, value, foretold.ways, foretold.decimals)


def gain_words(gain: Gain, numbers: Numbers) -> tuple[str, str, str, str]:
    """Say a learned gain in four cells: control, value with its spread, fittings, stated value."""
    name = message("control.name", control=gain.control)
    if gain.where:
        where = Name(place_words(gain.control, gain.where))
        name = message("log.control_at", control=name, where=where)
    value = f"{numbers.plain(gain.value, 3)} ± {numbers.plain(gain.half_width, 3)} {gain.unit}"
    moves = message("swap.moves", count=gain.samples)
    stated = message("swap.not_stated")
    if gain.stated is not None:
        stated = message("common.value", value=Name(f"{numbers.plain(gain.stated, 3)} {gain.unit}"))
    return numbers.text(name), value, numbers.text(moves), numbers.text(stated)


def name_words(name: str) -> str:
    """Return a name as long as a line of a page bears it."""
    return shortened(name, _LONGEST_NAME)


def _decimals(symbol: str, size: float) -> int | None:
    """One decimal of a millimetre or degree is what a hand can do; more only for less."""
    if symbol in ("mm", "°"):
        return 1 if size >= 0.095 else 2
    return None
