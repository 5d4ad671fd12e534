"""The readings and choices of the arm's height."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Final, Literal

from pydantic import Field

from core.estimation import Estimate
from core.fitting import Choices, Reading
from core.physics.pitch import arm_pitch_deg
from core.records import BenchKit, Choice, Degrees, Directions, Limits, Millimetres

TubeHeight = Annotated[Millimetres, Limits(-20, 120, usual=(5, 60))]
Spacing = Annotated[Millimetres, Limits(20, 450, usual=(60, 300), remembered=True)]
Diameter = Annotated[Millimetres, Limits(1, 60, usual=(4, 25), remembered=True)]

NAME: Final = "arm_height"

_FRONT = "From the record up to the edge of the tube, near the head."
_REAR = "From the record's level up to the same edge, near the rear end of the tube."
_SPACING = "Between the two places, along the tube."


class TubeEdge(Choice):
    """Which edge of the tube was measured."""

    TOP = "top", "Upper edge"
    BOTTOM = "bottom", "Lower edge"


class TubeReading(Reading):
    """A reading of the tube's pitch."""

    LOWERS_STYLUS: ClassVar[bool] = True

    def measure(self, bench: BenchKit) -> Estimate:
        """Return the pitch in degrees, positive with the rear high."""
        raise NotImplementedError

    def read_over_mm(self, arm_mm: float) -> float:
        """Return the distance over which the pitch was read; the arm's length if over no other."""
        return arm_mm


class HeightsRead(TubeReading):
    """Heights of one edge of the tube at two places."""

    if TYPE_CHECKING:
        front_mm: float  # each way has its fields in the order in which they are read
        rear_mm: float
        spacing_mm: float

    def read_over_mm(self, arm_mm: float) -> float:
        """Return how far the two places are apart."""
        del arm_mm
        return self.spacing_mm

    @property
    def lowest_mm(self) -> float:
        """The lower of the two heights."""
        return min(self.front_mm, self.rear_mm)

    @property
    def highest_mm(self) -> float:
        """The higher of the two heights."""
        return max(self.front_mm, self.rear_mm)

    def is_like(self, other: HeightsRead, within_mm: float) -> bool:
        """Whether another reading has the same heights."""
        return (
            abs(self.front_mm - other.front_mm) <= within_mm
            and abs(self.rear_mm - other.rear_mm) <= within_mm
        )


class TwoHeights(HeightsRead):
    """Heights of the same edge of a straight tube at two places."""

    WAY_TITLE: ClassVar[str] = "Two heights of the tube"

    way: Literal["two heights"] = "two heights"
    front_mm: TubeHeight = Field(title="Height in front", description=_FRONT)
    rear_mm: TubeHeight = Field(title="Height at the rear", description=_REAR)
    spacing_mm: Spacing = Field(title="Places apart", description=_SPACING)

    def measure(self, bench: BenchKit) -> Estimate:
        """Return the pitch of an edge, in degrees, positive with the rear high."""
        return arm_pitch_deg(
            self.front_mm,
            self.rear_mm,
            self.spacing_mm,
            height_standard_uncertainty_mm=bench.ruler_read_mm,
            spacing_standard_uncertainty_mm=bench.ruler_read_mm,
        )


class TaperedTube(HeightsRead):
    """Heights of one edge of a tapering tube at two places, with its diameters there."""

    WAY_TITLE: ClassVar[str] = "Two heights of a tapering tube"

    way: Literal["tapered tube"] = "tapered tube"
    edge: TubeEdge = Field(title="Edge measured", description="The same one at both places.")
    front_mm: TubeHeight = Field(title="Height in front", description=_FRONT)
    front_diameter_mm: Diameter = Field(
        title="Thickness in front", description="Of the tube, seen from the side."
    )
    rear_mm: TubeHeight = Field(title="Height at the rear", description=_REAR)
    rear_diameter_mm: Diameter = Field(
        title="Thickness at the rear", description="Of the tube, seen from the side."
    )
    spacing_mm: Spacing = Field(title="Places apart", description=_SPACING)

    def measure(self, bench: BenchKit) -> Estimate:
        """Return the pitch of the axis, in degrees, positive with the rear high."""
        return arm_pitch_deg(
            self.front_mm,
            self.rear_mm,
            self.spacing_mm,
            height_standard_uncertainty_mm=bench.ruler_read_mm,
            spacing_standard_uncertainty_mm=bench.ruler_read_mm,
            front_diameter_mm=self.front_diameter_mm,
            rear_diameter_mm=self.rear_diameter_mm,
            edge="bottom" if self.edge is TubeEdge.BOTTOM else "top",
        )


class TubeAngle(TubeReading):
    """The tube's pitch as an inclinometer shows it, or as measured on a photo."""

    WAY_TITLE: ClassVar[str] = "Angle of the tube"
    NEEDS: ClassVar[str] = "has_inclinometer"

    way: Literal["tube angle"] = "tube angle"
    pitch_deg: Annotated[
        Degrees, Limits(-15, 15, usual=(-3, 3)), Directions("rear high", "rear low")
    ] = Field(title="Angle to the record", description="And which end of the tube is high.")

    def measure(self, bench: BenchKit) -> Estimate:
        """Return the pitch read, in degrees, positive with the rear high."""
        return Estimate(self.pitch_deg, bench.inclinometer_read_deg)


Readings = Annotated[TwoHeights | TaperedTube | TubeAngle, Field(discriminator="way")]

Thickness = Annotated[Millimetres, Limits(0.5, 12, usual=(1, 3))]


class ArmHeightChoices(Choices):
    """The record on which the height is read, and the one it is set for."""

    record_here_mm: Thickness = Field(
        1.5,
        title="Record used here",
        description="Thickness of the record under the stylus, with any mat that comes off.",
    )
    record_played_mm: Thickness = Field(
        1.5,
        title="Record to be played",
        description="Thickness the height is to be right for.",
    )
