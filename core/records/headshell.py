"""A headshell that comes off: what it weighs, what it fits, and when it was last taken apart.

Which cartridge is in it, and how it was set, its fittings say.
"""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from core.records.base import FrozenModel
from core.records.deck import Deck
from core.records.quantities import Day, Grams, Limits, Millimetres


class Headshell(FrozenModel):
    """A removable headshell, a thing of its own: it keeps its cartridge when it comes off."""

    name: Annotated[str, Field(min_length=1, max_length=120)] = Field(
        title="Name", description="Your name or number for it, as it is marked."
    )
    mass_g: Annotated[Grams, Limits(0.5, 40, usual=(4, 25))] = Field(
        title="Mass", description="Of the headshell with its leads, without cartridge and screws."
    )
    thickness_mm: Annotated[Millimetres, Limits(0.5, 20)] = Field(
        3.0,
        title="Thickness",
        description="At the holes, where the mounting screws pass through.",
    )
    fits: Annotated[str, Field(max_length=200)] = Field(
        "", title="Fits", description="The arms or the kind of socket it fits, in your own words."
    )
    taken_apart: Day = Field(
        "",
        title="Taken apart",
        description="The last day its cartridge was loosened away from the deck, as 2026-03-01. "
        "Empty if it was not.",
    )
    notes: Annotated[str, Field(max_length=4000)] = Field(
        "", title="Notes", description="Anything worth knowing, free text."
    )


_OF_HEADSHELL: Final = (
    *("headshell_mass_g", "headshell_thickness_mm", "effective_mass_g"),
    *("lightest_cartridge_g", "heaviest_cartridge_g"),
)
"""What another headshell changes of an arm."""


def same_but_for_headshell(one: Deck, other: Deck) -> bool:
    """Whether two records of a deck differ in nothing but what a headshell changes."""
    shell = {name: getattr(other.arm, name) for name in _OF_HEADSHELL}
    return one.model_copy(update={"arm": one.arm.model_copy(update=shell)}) == other


def seen_with_headshell(deck: Deck, mass_g: float, thickness_mm: float) -> Deck:
    """Return the deck as it is with another headshell on its arm.

    What the record says of the arm holds for the headshell named there. Another one changes the
    effective mass by the difference, counted at the stylus, and takes as much from what the
    counterweight can still balance (derived).
    """
    arm = deck.arm
    more = mass_g - arm.headshell_mass_g
    lightest = max(arm.lightest_cartridge_g - more, 0.0)
    changed = arm.model_copy(
        update={
            "headshell_mass_g": mass_g,
            "headshell_thickness_mm": thickness_mm,
            "effective_mass_g": arm.effective_mass_g + more * arm.mass_includes_headshell,
            "lightest_cartridge_g": lightest,
            "heaviest_cartridge_g": max(arm.heaviest_cartridge_g - more, lightest),
        }
    )
    return deck.model_copy(update={"arm": changed})
