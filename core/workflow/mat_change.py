"""The effect of another mat on a deck that was set up: which steps to read again, and why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from core.estimation import COVERAGE_FACTOR
from core.fitting import Control, MovePart
from core.language import Message, Quantity, message
from core.records import Cartridge, Deck, arms_of, seen_with_arm
from core.steps.alignment import NAME as ALIGNMENT
from core.steps.arm_height import NAME as ARM_HEIGHT
from core.steps.final_downforce import NAME as FINAL
from core.steps.tilt import NAME as TILT
from core.workflow.arm_used import arm_words
from core.workflow.effects import effects_of

_UNITS: Final = {
    ARM_HEIGHT: ("mm", 1),
    ALIGNMENT: ("mm", 1),
    TILT: ("°", 1),
    FINAL: ("gf", 2),
}
"""The steps that tell it, with the unit of their figure and its decimals.

Rough downforce says the same as the final one.
"""


def told_of_mat(thicker_mm: float, deck: Deck, cartridge: Cartridge) -> tuple[Message, ...]:
    """Return a sentence for every step that must be read again.

    Parameters
    ----------
    thicker_mm
        How much thicker the mat is now than before; negative if it is thinner.
    deck, cartridge
        As they are known now.
    """
    if not thicker_mm:
        return ()
    side = "thicker" if thicker_mm > 0 else "thinner"
    part = MovePart(control=Control.RECORD, amount=thicker_mm, unit="mm")
    told = [message("mat.change", side=side, size=Quantity(abs(thicker_mm), "mm", 1))]
    for effect in effects_of(part, deck, cartridge):
        if effect.step not in _UNITS or effect.change is None:
            continue
        unit, decimals = _UNITS[effect.step]
        size = abs(effect.change)
        step = effect.step
        if step == ARM_HEIGHT:
            step = "rear_high" if effect.change > 0 else "rear_low"
        elif step == FINAL:
            size += COVERAGE_FACTOR * effect.standard_uncertainty
        told.append(message("mat.step", step=step, size=Quantity(size, unit, decimals)))
    return tuple(told)


def told_of_mat_by_arm(
    thicker_mm: float, deck: Deck, on_arms: Mapping[str, Cartridge]
) -> tuple[Message, ...]:
    """Return the same for a deck with several arms: each arm's sentences under its name.

    ``on_arms`` are the cartridges by arm key; arms without one are left out.
    """
    told: list[Message] = []
    for arm in arms_of(deck):
        if arm.key in on_arms:
            said = told_of_mat(thicker_mm, seen_with_arm(deck, arm), on_arms[arm.key])
            told = told or list(said[:1])
            if said:
                told += [message("mat.of_arm", arm=arm_words(arm.name)), *said[1:]]
    return tuple(told)
