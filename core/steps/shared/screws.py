"""Which screw holds this cartridge in this head."""

from __future__ import annotations

from core.physics.hardware import ScrewChoice, screw_into_body, screw_through
from core.records import Cartridge, Deck, Mounting


def screw_choice(deck: Deck, cartridge: Cartridge) -> ScrewChoice | None:
    """Return the screw length for this head and body; None for a plug-in cartridge."""
    thickness = deck.arm.headshell_thickness_mm
    if cartridge.mounting is Mounting.THROUGH_HOLES:
        return screw_through(
            thickness, cartridge.lug_thickness_mm, nut_mm=cartridge.nut_thickness_mm
        )
    if cartridge.mounting is Mounting.TAPPED:
        return screw_into_body(thickness, cartridge.thread_depth_mm)
    return None
