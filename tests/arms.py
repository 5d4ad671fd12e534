"""A deck with two arms, for tests: a short one in front, a long straight one at the rear."""

from __future__ import annotations

from typing import Any

from core.records import Deck, FurtherArm
from tests.examples import deck

FRONT, REAR = "", "rear"


def rear_arm(name: str = "Rear arm", key: str = REAR, **changes: Any) -> FurtherArm:
    """Return a 12-inch arm, whose fields are those of the deck's but for what it must be."""
    first = deck()
    arm = first.arm.model_copy(
        update={
            "pivot_to_spindle_mm": 295.6,
            "effective_length_mm": 308.8,
            "offset_deg": 17.6,
            "effective_mass_g": 14.0,
            "counterweight_g": 130.0,
        }
    )
    parts = {"head": first.head, "height": first.height, "tilt": first.tilt}
    made = FurtherArm(key=key, name=name, arm=arm, skating=first.skating, **parts)
    return made.model_copy(update=changes)


def two_arms(name: str = "Example deck, two arms", **changes: Any) -> Deck:
    """Return the example deck with a rear arm beside the first."""
    return Deck.model_validate(
        deck(name=name)
        .model_copy(
            update={"first_arm_name": "Front arm", "further_arms": (rear_arm(),), **changes}
        )
        .model_dump()
    )
