"""The arms of a deck, and the deck as the work on one of them sees it."""

from __future__ import annotations

from typing import Final

from core.records.deck import Deck, MountedArm

FIRST_ARM: Final = ""
"""The key of a deck's first arm."""

_PARTS: Final = ("arm", "head", "height", "tilt", "skating")
"""What an arm brings with it; all else is the deck's."""


def first_arm(deck: Deck) -> MountedArm:
    """Return the arm that the deck's own fields describe."""
    parts = {name: getattr(deck, name) for name in _PARTS}
    return MountedArm.model_construct(key=FIRST_ARM, name=deck.first_arm_name, **parts)


def arms_of(deck: Deck) -> tuple[MountedArm, ...]:
    """Return all arms of a deck that were not put away, the first one first."""
    return (first_arm(deck), *(one for one in deck.further_arms if not one.put_away))


def arm_of(deck: Deck, key: str) -> MountedArm | None:
    """Return the arm with this key, put away or not; None if the deck has none."""
    if key == FIRST_ARM:
        return first_arm(deck)
    return next((one for one in deck.further_arms if one.key == key), None)


def has_several_arms(deck: Deck) -> bool:
    """Whether a person must be asked which arm is meant."""
    return len(arms_of(deck)) > 1


def arm_name(deck: Deck, key: str) -> str:
    """Return what an arm is called; empty where the deck has one arm, or none with this key."""
    one = arm_of(deck, key) if deck.further_arms else None
    return one.name if one is not None else ""


def seen_with_arm(deck: Deck, mounted: MountedArm) -> Deck:
    """Return the deck as it is for the work on one of its arms: as if it had no other.

    Its name says which arm it is. A deck that has no other comes back as it is. Of the arm the
    deck's own record counts; ``mounted`` is what was known of it when the work began, for a deck
    that has it no more.
    """
    if not deck.further_arms and mounted.key == FIRST_ARM:
        return deck
    known = arm_of(deck, mounted.key) or mounted
    parts = {name: getattr(known, name) for name in _PARTS}
    name = f"{deck.name} · {known.name}" if known.name else deck.name
    return deck.model_copy(update={**parts, "name": name, "first_arm_name": "", "further_arms": ()})
