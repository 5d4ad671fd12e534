"""What disturbs arm height: another record, a rolled head, a stylus pressed in further."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from core.fitting import Control, MovePart
from core.language import message
from core.records import MILLINEWTON_PER_GRAM_FORCE, Cartridge, ComplianceKind, Deck
from core.steps.arm_height.readings import NAME
from core.steps.shared.arm_moves import made_to_share, moved_arm
from core.steps.shared.disturbance import Effect, exchanged, noticed

STATIC_SHARE_OF_DYNAMIC: Final = 0.5
"""Static compliance is about half the dynamic one at 10 Hz: common practice, no source."""

TEN_HERTZ_SHARE_OF_HUNDRED: Final = 1.75
"""The 10 Hz value is 1.5 to 2 times the 100 Hz value: common practice, no source; the middle."""

_REASONS: Final = {
    Control.RECORD: message("disturbance.record_lifts"),
    Control.TILT: message("disturbance.rolling_lifts"),
    Control.TILT_SHIM: message("disturbance.shim_lowers"),
}


def disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to figures of this step, at the pivot."""
    if part.control is Control.CARTRIDGE:
        yield exchanged(NAME, "height")
    elif part.control in _REASONS:
        change = moved_arm(part, deck, cartridge)
        if change is None:
            return
        share = made_to_share(part, deck)
        reason = _REASONS[part.control]
        height = Effect(NAME, "height", change.rear_mm, reason, abs(share * change.rear_mm))
        yield from noticed(height, deck.tolerances.height_mm)


def disturbed_by_downforce(change_gf: float, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a change of downforce, new less old, does to the height.

    The suspension gives by its static compliance, which lowers the head by the same length
    (derived; a few hundredths of a millimetre).
    """
    compliance = _static_compliance(cartridge)
    if compliance is not None:
        sink_mm = compliance * change_gf * MILLINEWTON_PER_GRAM_FORCE / 1000
        yield Effect(NAME, "height", sink_mm, message("disturbance.suspension_gives"))


def _static_compliance(cartridge: Cartridge) -> float | None:
    if cartridge.compliance is None:
        return None
    if cartridge.compliance_kind is ComplianceKind.STATIC:
        return cartridge.compliance
    dynamic = cartridge.compliance
    if cartridge.compliance_kind is ComplianceKind.DYNAMIC_100_HZ:
        dynamic *= TEN_HERTZ_SHARE_OF_HUNDRED
    return dynamic * STATIC_SHARE_OF_DYNAMIC
