"""The controls on a deck, their units, and the steps they belong to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.fitting import WITHOUT_AMOUNT, Control, MovePart
from core.language import Message, Name, message

_FARTHEST: Final[dict[str, float]] = {"turns": 100.0, "mm": 100.0, "°": 90.0, "gf": 10.0, "": 200.0}
_ASKED: Final = (Control.SLIDE, Control.TWIST, Control.SKATING)
"""Controls that are asked for by what is done with them, not by their name."""
_BY_THE_PIVOT: Final = (Control.COUNTERWEIGHT.value, Control.SLIDE.value)
"""Controls whose directions refer to the pivot, if the arm has one."""


@dataclass(frozen=True, slots=True)
class Movable:
    """One control on a deck.

    ``ways`` are its two directions, the positive one first, empty for a control without an amount;
    ``homes`` the steps it belongs to; ``where`` distinguishes similar ones; ``mm_per_unit`` is the
    length of a unit, if known and the unit is no length.
    """

    control: Control
    name: Message
    ways: tuple[Message, Message] | tuple[()]
    unit: str
    homes: tuple[str, ...]
    where: str = ""
    place: Name | Message | None = None
    """The label of ``where``."""
    mm_per_unit: float | None = None

    @property
    def label(self) -> Message:
        """The name, with the place if there are several."""
        if self.place is None:
            return message("control.label.alone", name=self.name)
        return message("control.label.at", name=self.name, where=self.place)

    @property
    def farthest(self) -> float:
        """The largest accepted amount."""
        return _FARTHEST[self.unit]

    def part(self, amount: float) -> MovePart:
        """Return the move as the log keeps it; ``amount`` is along the positive direction."""
        if not self.ways:
            return MovePart(control=self.control, amount=1.0, unit="", where=self.where)
        also = None if self.mm_per_unit is None else amount * self.mm_per_unit
        return MovePart(
            control=self.control,
            amount=amount,
            unit=self.unit,
            where=self.where,
            equivalent_mm=also,
        )


def control_name(control: Control, unit: str) -> Message:
    """Return the name of a control; downforce in gf is set by a dial."""
    return message("control.name", control=_kind(control, unit))


def asked_name(control: Control, unit: str) -> Message:
    """Return what is asked for beside a field.

    One cartridge is both slid and turned, and a compensation is set to a mark but asked for by how
    far it was changed.
    """
    kind = _kind(control, unit)
    if control in _ASKED:
        return message("control.asked", control=kind)
    return control_name(control, unit)


def directions_of(
    control: Control, unit: str, *, parallel: bool = False
) -> tuple[Message, Message] | tuple[()]:
    """Return both directions of a control in words, the positive one first.

    Empty where there is no amount to it. ``parallel`` asks for those of a parallel-tracking arm,
    which has no pivot to move a thing toward; the positive direction is the same.
    """
    if control in WITHOUT_AMOUNT:
        return ()
    kind = _kind(control, unit)
    if parallel and kind in _BY_THE_PIVOT:
        kind = f"{kind}, parallel arm"
    return message("control.more", control=kind), message("control.less", control=kind)


def _kind(control: Control, unit: str) -> str:
    return "dial" if control is Control.COUNTERWEIGHT and unit == "gf" else control.value


def movable(
    control: Control,
    unit: str,
    *homes: str,
    where: str = "",
    place: Name | Message | None = None,
    mm_per_unit: float | None = None,
    parallel: bool = False,
) -> Movable:
    """Return a control by name, with its directions; ``parallel`` as for directions_of."""
    return Movable(
        control=control,
        name=control_name(control, unit),
        ways=directions_of(control, unit, parallel=parallel),
        unit=unit,
        homes=homes,
        where=where,
        place=place or (Name(where) if where else None),
        mm_per_unit=mm_per_unit,
    )
