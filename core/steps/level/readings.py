"""Ways of reading a slope: bubble, inclinometer, or ruler under a straightedge."""

from __future__ import annotations

import math
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from core.fitting import Reading
from core.language import Message, Quantity, message
from core.physics.plane import SlopeReading, slope_of_bubble, slope_of_degrees, slope_of_gap
from core.records import (
    BenchKit,
    Choice,
    Degrees,
    Directions,
    Divisions,
    Limits,
    Millimetres,
    ReadAnew,
    When,
)

_DIVISIONS: Final = Limits(-20, 20, usual=(-10, 10), beyond="bubble")
_BUBBLE: Final = Directions("toward the marked end", "toward the other end")
_HIGH_END: Final = Directions("marked end high", "other end high")
_GAP_AT: Final = Directions("at the unmarked end", "at the marked end")


class Direction(Choice):
    """The line a level lies along; the words in brackets tell the side of its marked end."""

    FRONT_BACK = "front-back", "Front to rear (mark at the rear)"
    LEFT_RIGHT = "left-right", "Left to right (mark at the right)"
    TO_BACK_RIGHT = "diagonal back right", "Diagonal (mark at the rear right)"
    TO_BACK_LEFT = "diagonal back left", "Diagonal (mark at the rear left)"
    OWN = "own", "Another direction"

    @property
    def names_its_field(self) -> bool:
        """The last says that it is a direction."""
        return self is Direction.OWN


_BEARING_DEG: Final = {
    Direction.FRONT_BACK: 0.0,
    Direction.LEFT_RIGHT: 90.0,
    Direction.TO_BACK_RIGHT: 45.0,
    Direction.TO_BACK_LEFT: 315.0,
}


def direction_name(direction: Direction, bearing_deg: float = 0.0) -> Message:
    """Return the name of the line a level lies along."""
    bearing = Quantity(bearing_deg, "°", 0)
    return message("level.direction", direction=direction, bearing=bearing)


class VialEnd(Choice):
    """The end of the vial at which a bubble stands."""

    MARKED = "marked", "At the level's marked end"
    OTHER = "other", "At the other end"

    @property
    def names_its_field(self) -> bool:
        """Each says where; that it is the bubble, the way of reading says."""
        return True


class SlopeRead(Reading):
    """The base of every way of reading a slope: where the level lies."""

    INSTRUMENT: ClassVar[str] = ""
    """The name of the instrument's main way of reading, if that is another way."""

    direction: Direction = Field(
        Direction.FRONT_BACK,
        title="Direction",
        description="How the level lies on the plinth, seen from above.",
    )
    bearing_deg: Annotated[Degrees, Limits(0, 360), When("direction", ("own",))] = Field(
        0.0,
        title="Bearing",
        description="Where the marked end points, clockwise from the rear: 90° is to the right.",
    )
    turned: bool = Field(
        default=False,
        title="Turned end for end",
        description="On if the marked end points the opposite way.",
    )

    def marked_end_deg(self) -> float:
        """Bearing of the marked end before any turning."""
        return _BEARING_DEG.get(self.direction, self.bearing_deg)

    @property
    def line(self) -> Message:
        """The name of the line the level lies along."""
        return direction_name(self.direction, self.bearing_deg)

    @property
    def name(self) -> Message:
        """The name of the line, and whether the level was turned."""
        return message("level.reading", turned="yes" if self.turned else "no", direction=self.line)

    @property
    def instrument(self) -> str:
        """The instrument it was read with."""
        return self.INSTRUMENT or str(self.way)

    def along(self, *, turned: bool) -> dict[str, object]:
        """Return the fields of a reading along the same line."""
        own = {"bearing_deg": self.bearing_deg} if self.direction is Direction.OWN else {}
        return {"direction": self.direction, "turned": turned, **own}

    def at_end(self, bench: BenchKit) -> bool:  # noqa: ARG002  # as Bubble
        """Whether the instrument is at its end, so that the slope is a minimum."""
        return False

    def measure(self, bench: BenchKit) -> SlopeReading:
        """Return the slope read, with the bench kit's uncertainty."""
        value, uncertainty = self._slope(bench)
        return SlopeReading(self.marked_end_deg(), value, uncertainty, self.turned)

    def _slope(self, bench: BenchKit) -> tuple[float, float]:
        raise NotImplementedError


class Bubble(SlopeRead):
    """Divisions of a bubble level."""

    WAY_TITLE: ClassVar[str] = "Bubble level"
    NEEDS: ClassVar[str] = "has_level"
    way: Literal["bubble"] = "bubble"
    divisions: Annotated[Divisions, _DIVISIONS, _BUBBLE] = Field(
        title="Bubble off centre",
        description="The bubble goes to the high end: say toward which end of the level it stands.",
    )

    def at_end(self, bench: BenchKit) -> bool:
        """Whether the bubble stands at the end of its vial."""
        return abs(self.divisions) >= bench.bubble_range_div

    def _slope(self, bench: BenchKit) -> tuple[float, float]:
        per_division, end = bench.bubble_mm_per_m_per_div, bench.bubble_range_div
        seen = max(-end, min(end, self.divisions))  # past its end the vial tells no more
        return slope_of_bubble(seen, per_division), bench.bubble_read_div * per_division


class BubbleAtEnd(SlopeRead):
    """A bubble at the end of its vial: the slope is a minimum, of unknown size."""

    WAY_TITLE: ClassVar[str] = "Bubble level, at the end of its vial"
    INSTRUMENT: ClassVar[str] = "bubble"
    way: Literal["bubble at its end"] = "bubble at its end"
    toward: Annotated[VialEnd, ReadAnew()] = Field(
        title="The bubble stands", description="It goes to the high end, as far as it can."
    )

    def at_end(self, bench: BenchKit) -> bool:  # noqa: ARG002  # as Bubble
        """Whether the bubble stands at the end of its vial: it does."""
        return True

    def _slope(self, bench: BenchKit) -> tuple[float, float]:
        end = bench.bubble_range_div if self.toward is VialEnd.MARKED else -bench.bubble_range_div
        return slope_of_bubble(end, bench.bubble_mm_per_m_per_div), bench.bubble_mm_per_m_per_div


class Inclinometer(SlopeRead):
    """Degrees on a display."""

    WAY_TITLE: ClassVar[str] = "Inclinometer"
    NEEDS: ClassVar[str] = "has_inclinometer"
    way: Literal["inclinometer"] = "inclinometer"
    angle_deg: Annotated[Degrees, Limits(-30, 30, usual=(-3, 3)), _HIGH_END] = Field(
        title="Angle", description="And which end of the instrument is the high one."
    )

    def _slope(self, bench: BenchKit) -> tuple[float, float]:
        return slope_of_degrees(self.angle_deg), slope_of_degrees(bench.inclinometer_read_deg)


class Ruler(SlopeRead):
    """Gap under one end of a straightedge that was levelled."""

    WAY_TITLE: ClassVar[str] = "Straightedge and ruler"
    NEEDS: ClassVar[str] = "has_level"
    way: Literal["ruler"] = "ruler"
    gap_mm: Annotated[Millimetres, Limits(-60, 60, usual=(-12, 12)), _GAP_AT] = Field(
        title="Gap",
        description="Under the raised end of the straightedge once its bubble is centred.",
    )
    length_mm: Annotated[Millimetres, Limits(50, 1500, usual=(200, 600))] = Field(
        300.0,
        title="Length",
        description="From where the straightedge touches the plinth to where the gap is read.",
    )

    def _slope(self, bench: BenchKit) -> tuple[float, float]:
        return (
            slope_of_gap(self.gap_mm, self.length_mm),
            slope_of_gap(bench.ruler_read_mm, self.length_mm),
        )


_Depth = Annotated[Millimetres, Limits(1, 300, usual=(5, 120))]


class WaterGlass(SlopeRead):
    """Water in a clear glass or dish: its surface is level, the floor under it may not be."""

    WAY_TITLE: ClassVar[str] = "Glass of water"
    way: Literal["water"] = "water"
    marked_mm: _Depth = Field(
        title="Water at the marked end",
        description="From the plinth up to the water, read from outside through the wall. Stick "
        "something to the glass to tell its ends apart.",
    )
    other_mm: _Depth = Field(
        title="Water at the other end", description="The same on the opposite wall."
    )
    width_mm: Annotated[Millimetres, Limits(30, 800, usual=(60, 400))] = Field(
        200.0,
        title="Walls apart",
        description="Between the two places. The wider the dish, the better: 60 mm tells little.",
    )

    def _slope(self, bench: BenchKit) -> tuple[float, float]:
        # Where the plinth is high the water is shallow; two heights are read.
        return (
            slope_of_gap(self.other_mm - self.marked_mm, self.width_mm),
            slope_of_gap(math.sqrt(2.0) * bench.ruler_read_mm, self.width_mm),
        )
