"""What a move made late does to a step done early: by how much, and why.

Each effect is a first-order prediction from statics or geometry. A change of None means that no
figure can be given and only a new reading will tell (screws tightened, cartridge exchanged).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from core.fitting import Control, MovePart
from core.language import Message, message
from core.records import MILLINEWTON_PER_GRAM_FORCE, Cartridge, ComplianceKind, Deck

STATIC_SHARE_OF_DYNAMIC = 0.5
"""Static compliance is about half the dynamic one at 10 Hz: common practice, no source."""

TEN_HERTZ_SHARE_OF_HUNDRED = 1.75
"""The 10 Hz value is 1.5 to 2 times the 100 Hz value: common practice, no source; the middle."""


@dataclass(frozen=True, slots=True)
class Effect:
    """How one move changes one figure of one step.

    ``change`` is in the unit of that figure, None when it can't be predicted.
    """

    step: str
    key: str
    change: float | None
    reason: Message


def effects_of(part: MovePart, deck: Deck, cartridge: Cartridge) -> tuple[Effect, ...]:
    """Return what a move does to steps other than its own; empty when nothing can be told."""
    rule = _RULES.get(part.control)
    return rule(part, deck, cartridge) if rule else ()


def downforce_effects(change_gf: float, cartridge: Cartridge) -> tuple[Effect, ...]:
    """Return what a change of downforce, new less old, does to the steps before it.

    Skating force is in proportion to downforce, so its setting should change by as much (on a
    scale marked in downforce). The suspension gives by its static compliance, which lowers the
    head by the same length (derived; a few hundredths of a millimetre).
    """
    effects = [Effect("skating", "setting", change_gf, message("disturbance.skating_grows"))]
    compliance = _static_compliance(cartridge)
    if compliance is not None:
        sink_mm = compliance * change_gf * MILLINEWTON_PER_GRAM_FORCE / 1000
        effects.append(
            Effect("arm_height", "height", sink_mm, message("disturbance.suspension_gives"))
        )
    return tuple(effects)


def _static_compliance(cartridge: Cartridge) -> float | None:
    if cartridge.compliance is None:
        return None
    if cartridge.compliance_kind is ComplianceKind.STATIC:
        return cartridge.compliance
    dynamic = cartridge.compliance
    if cartridge.compliance_kind is ComplianceKind.DYNAMIC_100_HZ:
        dynamic *= TEN_HERTZ_SHARE_OF_HUNDRED
    return dynamic * STATIC_SHARE_OF_DYNAMIC


def _length_of(part: MovePart) -> float:
    return part.equivalent_mm if part.equivalent_mm is not None else part.amount


def _slide(part: MovePart, deck: Deck, cartridge: Cartridge) -> tuple[Effect, ...]:
    # Moments about the pivot: the cartridge's weight times the slide, felt at the stylus.
    change = cartridge.moving_g * _length_of(part) / deck.arm.effective_length_mm
    reason = message("disturbance.weight_shifts")
    return (
        Effect("rough_downforce", "downforce", change, reason),
        Effect("final_downforce", "downforce", change, reason),
    )


def _height(part: MovePart, deck: Deck, _: Cartridge) -> tuple[Effect, ...]:
    length = deck.arm.effective_length_mm
    angle = math.atan(_length_of(part) / length)
    effects = [
        Effect(
            "alignment",
            "slide",
            -length * (1 - math.cos(angle)),
            message("disturbance.reach_shortens"),
        )
    ]
    if not deck.arm.lift_axis_square_to_head and deck.arm.offset_deg:
        tilt = math.degrees(angle) * math.sin(math.radians(deck.arm.offset_deg))
        effects.append(Effect("tilt", "tilt", tilt, message("disturbance.height_adds_tilt")))
    return tuple(effects)


def _tilt(part: MovePart, deck: Deck, cartridge: Cartridge) -> tuple[Effect, ...]:
    return _rolled(math.radians(part.amount), deck, cartridge)


def _tilt_shim(part: MovePart, deck: Deck, cartridge: Cartridge) -> tuple[Effect, ...]:
    thickness = _length_of(part)
    roll = -math.atan(thickness / HOLE_SPACING_MM)  # under the left screw: the left side goes down
    middle = Effect(
        "arm_height",
        "height",
        -abs(thickness) / 2,
        message("disturbance.shim_lowers"),
    )
    return (middle, *_rolled(roll, deck, cartridge))


HOLE_SPACING_MM = 12.7
"""Half an inch between the two screws: the usual mounting (common practice)."""


def _rolled(roll: float, deck: Deck, cartridge: Cartridge) -> tuple[Effect, ...]:
    # The stylus hangs below the axis of the tube by the height of the body: rolling swings it
    # sideways, seen from the pivot as a small angle, and up a little.
    drop = cartridge.body_height_mm
    share = drop * math.sin(roll) / deck.arm.effective_length_mm
    sideways = math.degrees(math.asin(min(max(share, -1.0), 1.0)))
    return (
        Effect("alignment", "twist", sideways, message("disturbance.rolling_swings")),
        Effect(
            "arm_height",
            "height",
            drop * (1 - math.cos(roll)),
            message("disturbance.rolling_lifts"),
        ),
    )


def _record(part: MovePart, _: Deck, __: Cartridge) -> tuple[Effect, ...]:
    return (Effect("arm_height", "height", -_length_of(part), message("disturbance.record_lifts")),)


def _screws(_: MovePart, __: Deck, ___: Cartridge) -> tuple[Effect, ...]:
    return (Effect("alignment", "slide", None, message("disturbance.screws_shift")),)


def _exchange(_: MovePart, __: Deck, ___: Cartridge) -> tuple[Effect, ...]:
    reason = message("disturbance.exchanged")
    return tuple(
        Effect(step, key, None, reason)
        for step, key in (
            ("mount", "moving_mass"),
            ("rough_downforce", "downforce"),
            ("arm_height", "height"),
            ("alignment", "slide"),
            ("tilt", "tilt"),
            ("skating", "setting"),
            ("final_downforce", "downforce"),
        )
    )


_RULES: dict[Control, Callable[[MovePart, Deck, Cartridge], tuple[Effect, ...]]] = {
    Control.SLIDE: _slide,
    Control.PILLAR: _height,
    Control.BASE_SHIM: _height,
    Control.HEAD_SHIM: _height,
    Control.TILT: _tilt,
    Control.TILT_SHIM: _tilt_shim,
    Control.RECORD: _record,
    Control.SCREWS: _screws,
    Control.CARTRIDGE: _exchange,
}
