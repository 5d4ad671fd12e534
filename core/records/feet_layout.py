"""Feet by count, width and depth: what a person knows of most plinths."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from core.records.base import FrozenModel
from core.records.deck import Foot
from core.records.quantities import Choice, Limits, Millimetres, When


class FeetPattern(Choice):
    """How many feet, and where."""

    FOUR = "four", "Four, at the corners"
    ONE_AT_REAR = "one at the rear", "Three, one of them at the rear"
    ONE_IN_FRONT = "one in front", "Three, one of them in front"
    OWN = "own", "Elsewhere: places of their own"


class FeetTurned(Choice):
    """Which feet can be turned."""

    ALL = "all", "All of them"
    FRONT = "front", "Those in front"
    NONE = "none", "None"


_KNOWN: Final = (FeetPattern.FOUR, FeetPattern.ONE_AT_REAR, FeetPattern.ONE_IN_FRONT)


class FeetLayout(FrozenModel):
    """Feet at the corners of a rectangle, or of a triangle inside it."""

    pattern: FeetPattern = Field(
        FeetPattern.FOUR, title="Feet", description="How many feet the deck has, seen from above."
    )
    width_mm: Annotated[Millimetres, Limits(20, 2000), When("pattern", _KNOWN)] = Field(
        380.0, title="Width", description="Between the middles of the feet, left to right."
    )
    depth_mm: Annotated[Millimetres, Limits(20, 2000), When("pattern", _KNOWN)] = Field(
        290.0, title="Depth", description="Between the middles of the feet, front to rear."
    )
    turned: Annotated[FeetTurned, When("pattern", _KNOWN)] = Field(
        FeetTurned.ALL,
        title="Feet that turn",
        description="Which of them can be made longer and shorter.",
    )
    travel_up_mm: Annotated[Millimetres, Limits(0, 50), When("pattern", _KNOWN)] = Field(
        6.0, title="Can still grow by", description="How much longer a foot can be made."
    )
    travel_down_mm: Annotated[Millimetres, Limits(0, 50), When("pattern", _KNOWN)] = Field(
        0.0, title="Can still shrink by", description="How much shorter a foot can be made."
    )

    @property
    def feet(self) -> tuple[Foot, ...]:
        """The feet where they stand; none where each has a place of its own."""
        return tuple(
            Foot(
                name=name,
                x_mm=0.5 * across * self.width_mm,
                y_mm=0.5 * along * self.depth_mm,
                adjustable=turns,
                travel_up_mm=self.travel_up_mm if turns else 0.0,
                travel_down_mm=self.travel_down_mm if turns else 0.0,
            )
            for name, across, along in _PLACES.get(self.pattern, ())
            for turns in (
                self.turned is FeetTurned.ALL or (self.turned is FeetTurned.FRONT and along < 0),
            )
        )


_PLACES: Final[dict[FeetPattern, tuple[tuple[str, int, int], ...]]] = {
    FeetPattern.FOUR: (
        ("front left", -1, -1),
        ("front right", 1, -1),
        ("rear left", -1, 1),
        ("rear right", 1, 1),
    ),
    FeetPattern.ONE_AT_REAR: (("front left", -1, -1), ("front right", 1, -1), ("rear", 0, 1)),
    FeetPattern.ONE_IN_FRONT: (("front", 0, -1), ("rear left", -1, 1), ("rear right", 1, 1)),
}


def layout_of(feet: tuple[Foot, ...]) -> FeetLayout:
    """Return the layout that makes exactly these feet; that of places of their own if none does."""
    own = FeetLayout(pattern=FeetPattern.OWN)
    names = tuple(foot.name for foot in feet)
    turning = [foot for foot in feet if foot.adjustable]
    for pattern, places in _PLACES.items():
        if names != tuple(name for name, _, _ in places):
            continue
        width = max(foot.x_mm for foot in feet) - min(foot.x_mm for foot in feet)
        depth = max(foot.y_mm for foot in feet) - min(foot.y_mm for foot in feet)
        if not (20.0 <= width <= 2000.0 and 20.0 <= depth <= 2000.0):
            continue
        for turned in FeetTurned:
            made = FeetLayout(
                pattern=pattern,
                width_mm=width,
                depth_mm=depth,
                turned=turned,
                travel_up_mm=turning[0].travel_up_mm if turning else 6.0,
                travel_down_mm=turning[0].travel_down_mm if turning else 0.0,
            )
            if made.feet == feet:
                return made
    return own
