"""Whether a cartridge fits a deck at all, checked before anything is touched."""

from __future__ import annotations

from core.language import Message, Quantity, message
from core.records import Cartridge, Deck, HeadKind, Mounting
from core.steps.shared import screw_choice


def misfits(deck: Deck, cartridge: Cartridge) -> tuple[Message, ...]:
    """Return what does not fit: the mounting, the mass that can be balanced, the screws."""
    plug_in = cartridge.mounting is Mounting.PLUG_IN
    if plug_in != (deck.head.kind is HeadKind.PLUG_IN):
        return (message("workflow.fit.mounting", cartridge="plug_in" if plug_in else "half_inch"),)
    found = []
    low, high = deck.arm.lightest_cartridge_g, deck.arm.heaviest_cartridge_g
    mass = cartridge.moving_g
    if mass > high:
        found.append(
            message(
                "workflow.fit.too_heavy",
                mass=_grams(mass),
                most=_grams(high),
                over=_grams(mass - high),
            )
        )
    elif mass < low:
        found.append(
            message(
                "workflow.fit.too_light",
                mass=_grams(mass),
                least=_grams(low),
                add=_grams(low - mass),
            )
        )
    screw = screw_choice(deck, cartridge)
    if screw is not None and screw.stock_mm is None:
        found.append(
            message("workflow.fit.no_screw", least=_mm(screw.needed_mm), most=_mm(screw.most_mm))
        )
    return tuple(found)


def screws_needed(deck: Deck, cartridge: Cartridge) -> Message | None:
    """Return the screws to have ready; None for a plug-in or if no stock length fits."""
    screw = screw_choice(deck, cartridge)
    if screw is None or screw.stock_mm is None:
        return None
    nuts = "with_nuts" if cartridge.mounting is Mounting.THROUGH_HOLES else "alone"
    return message("workflow.fit.screws", nuts=nuts, length=_mm(screw.stock_mm))


def _grams(value: float) -> Quantity:
    return Quantity(value, "g", 1)


def _mm(value: float) -> Quantity:
    return Quantity(value, "mm", 1)
