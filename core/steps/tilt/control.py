"""The tilt control of this deck, and the conversion between degrees and its moves."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from core.fitting import Control, Move, MovePart
from core.language import Message, Quantity, message
from core.physics.tilt import gap_tilt_deg, shim_mm
from core.records import Cartridge, Deck, Mounting, TiltControl
from core.steps.shared import HOLE_SPACING_MM

SHIM_STEP_MM: Final = 0.05
"""Shim stock comes in steps of about this: common practice, no source."""

_FARTHEST_DEG: Final = 5.0
"""Largest move ordered at once."""


@dataclass(frozen=True, slots=True)
class TiltMechanism:
    """The deck's tilt control. Degrees are of the cartridge, left side rises is plus.

    ``lack`` is the reason why there is none; None if there is one.
    """

    control: TiltControl
    step_deg: float
    lack: Message | None = None

    @property
    def adjusts(self) -> bool:
        """Whether anything can be turned or shimmed."""
        return self.lack is None

    @property
    def turns(self) -> Control:
        """The control that its moves name."""
        return Control.TILT_SHIM if self.control is TiltControl.SHIM else Control.TILT

    def nearest(self, change_deg: float) -> float:
        """Return the possible change nearest to the wanted one, in degrees."""
        wanted = max(-_FARTHEST_DEG, min(_FARTHEST_DEG, change_deg))
        if self.control is TiltControl.SHIM:
            steps = round(shim_mm(wanted, HOLE_SPACING_MM) / SHIM_STEP_MM)
            return _roll_of_shim(-steps * SHIM_STEP_MM)
        return round(wanted / self.step_deg) * self.step_deg

    def move(
        self, change_deg: float, *, predicted: Message | None, why: Message
    ) -> tuple[Move, Message]:
        """Return move and order for a change of tilt from `nearest`."""
        if self.control is TiltControl.SHIM:
            # A shim between head and body presses its own side of the body down.
            thickness = -round(shim_mm(change_deg, HOLE_SPACING_MM), 3)
            at = "left" if thickness > 0 else "right"
            part = MovePart(control=Control.TILT_SHIM, amount=thickness, unit="mm")
            order = message("tilt.move.shim", at=at, thickness=Quantity(abs(thickness), "mm"))
            reason = message("tilt.move.reason.shim", why=why)
        else:
            up = "left" if change_deg > 0 else "right"
            angle = Quantity(abs(change_deg), "°", 1 if self.step_deg >= 0.1 else 2)
            part = MovePart(control=Control.TILT, amount=round(change_deg, 4), unit="°")
            if self.control is TiltControl.HEAD:
                order = message("tilt.move.head", up=up, angle=angle)
            else:
                order = message("tilt.move.collar", up=up, angle=angle)
            reason = message("tilt.move.reason.turn", up=up, why=why)
        return Move(order, (part,), predicted=predicted, reason=reason), order


def tilt_mechanism_of(deck: Deck, cartridge: Cartridge) -> TiltMechanism:
    """Return the tilt control of this deck with this cartridge."""
    control = deck.tilt.control
    if control is TiltControl.SHIM:
        step = abs(_roll_of_shim(SHIM_STEP_MM))
        if cartridge.mounting is Mounting.PLUG_IN:
            return TiltMechanism(control, step, message("tilt.lack.plug_in"))
        return TiltMechanism(control, step)
    if control is TiltControl.NONE:
        return TiltMechanism(control, 0.0, message("tilt.lack.nothing_turns"))
    return TiltMechanism(control, deck.tilt.smallest_step_deg)


def rolled_by(parts: Iterable[MovePart]) -> float:
    """Return by how many degrees the moves should have turned the cartridge."""
    change = 0.0
    for part in parts:
        if not math.isfinite(part.amount):
            continue
        if part.control is Control.TILT and part.unit in ("°", ""):
            change += max(-30.0, min(30.0, part.amount))
        elif part.control is Control.TILT_SHIM and part.unit in ("mm", ""):
            change += setting_of_shim(max(-5.0, min(5.0, part.amount)))
    return change


def setting_of_shim(thickness_mm: float) -> float:
    """Return the roll a shim under the left screw gives, degrees: that side goes down."""
    return _roll_of_shim(thickness_mm)


def _roll_of_shim(thickness_mm: float) -> float:
    # The same right triangle as with gaps: thickness over the distance between the screws.
    right_triangle = gap_tilt_deg(
        thickness_mm, 0.0, HOLE_SPACING_MM, gap_standard_uncertainty_mm=0.0
    )
    return -right_triangle.value
