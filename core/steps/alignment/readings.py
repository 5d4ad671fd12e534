"""The readings and choices of the alignment.

Signs, the same everywhere in this step: a landing is positive when the stylus lands beyond the
mark, further from the pivot; a head angle is positive when the head stands turned out, away from
the spindle, against the grid line.
"""

from __future__ import annotations

import math
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from core.fitting import Choices, Reading
from core.physics.alignment_fit import AngleReading, LandingReading
from core.physics.alignment_move import StylusOffsetReading
from core.physics.alignment_solutions import NullRadii, Solution
from core.physics.arm_geometry import PivotedArm
from core.physics.groove_radii import GROOVES_1958, GROOVES_1964_1981, GROOVES_1981, GrooveRadii
from core.records import (
    BenchKit,
    Cartridge,
    Choice,
    Deck,
    Degrees,
    Directions,
    Limits,
    Millimetres,
    When,
)
from core.steps.shared import ALIGNMENT

_MISSED = Limits(-30, 30, usual=(-8, 8))
Landed = Annotated[Millimetres, _MISSED, Directions("beyond the mark", "short of the mark")]
Ahead = Annotated[Millimetres, _MISSED, Directions("ahead of the line", "behind the line")]
HeadAngle = Annotated[
    Degrees,
    Limits(-20, 20, usual=(-6, 6)),
    Directions("turned out, away from the spindle", "turned in, toward the spindle"),
]
InnerRadius = Annotated[Millimetres, Limits(40, 90, usual=(54, 75))]
OuterRadius = Annotated[Millimetres, Limits(91, 165, usual=(105, 130))]

NAME: Final = ALIGNMENT

_BEYOND = "Beyond the mark is further from the pivot than it."
_OUT = "How far the head stands turned against the grid line, and which way."
_RADIUS = "Radius of that grid. Empty: the null radius of the alignment chosen above."


ShownFigures = dict[tuple[str, float | None], tuple[float, float]]
"""Figures by name and by the radius of the grid, if one was named: value and uncertainty."""


class AlignmentReading(Reading):
    """The base of every reading of the alignment."""

    OF_PIVOTED: ClassVar[bool] = True
    """Whether it is read on a pivoted arm, or else on a parallel one."""
    SHOWS_LANDING: ClassVar[bool] = False
    SHOWS_ANGLES: ClassVar[bool] = False

    @classmethod
    def suits(cls, deck: Deck, cartridge: Cartridge) -> bool:
        """Whether the arm is of the kind it is read on."""
        del cartridge
        return deck.arm.is_pivoted is cls.OF_PIVOTED

    @classmethod
    def shows_head(cls) -> bool:
        """Whether it shows where the head stands."""
        return cls.SHOWS_LANDING or cls.SHOWS_ANGLES

    def shown(self, bench: BenchKit) -> ShownFigures:
        """Return what it shows, in mm and degrees, each with its standard uncertainty."""
        del bench
        return {}

    def reads_otherwise(self, *, same_length: bool, same_radii: tuple[bool, bool]) -> bool:
        """Whether it would differ on the protractor of another target.

        ``same_length`` and ``same_radii`` say what that has in common with the one it was read on:
        the effective length, and the inner and outer grid.
        """
        del same_length, same_radii
        return False

    def landings(
        self, radius_mm: float, drawn: PivotedArm, bench: BenchKit
    ) -> tuple[LandingReading, ...]:
        """Return the landing on a protractor drawn for an arm, if it was read."""
        del radius_mm, drawn, bench
        return ()

    def angles(self, inner_mm: float, outer_mm: float, bench: BenchKit) -> tuple[AngleReading, ...]:
        """Return the inner and the outer angle, if they were read, at their radii or these."""
        del inner_mm, outer_mm, bench
        return ()

    def path(
        self, inner_mm: float, outer_mm: float, bench: BenchKit
    ) -> tuple[AngleReading, StylusOffsetReading] | None:
        """Return the head's angle on a parallel arm, and how far its path misses the spindle."""
        del inner_mm, outer_mm, bench
        return None


class ProtractorReading(AlignmentReading):
    """A reading of a pivoted arm on a protractor: the landing, the head's angles, or both."""

    LOWERS_STYLUS: ClassVar[bool] = True


class ReadsLanding(ProtractorReading):
    """A reading that includes the landing of the stylus."""

    SHOWS_LANDING: ClassVar[bool] = True
    landing_mm: Landed = Field(title="Lands off the mark", description=_BEYOND)

    def landings(
        self, radius_mm: float, drawn: PivotedArm, bench: BenchKit
    ) -> tuple[LandingReading, ...]:
        """Return the landing on a protractor drawn for an arm."""
        return (LandingReading(self.landing_mm, bench.protractor_read_mm, radius_mm, drawn),)

    def shown(self, bench: BenchKit) -> ShownFigures:
        """Return the landing, after what else was read."""
        landing = self.landing_mm, bench.protractor_read_mm
        return {**super().shown(bench), ("landing", None): landing}

    def reads_otherwise(self, *, same_length: bool, same_radii: tuple[bool, bool]) -> bool:
        """Whether the mark lies elsewhere for another effective length."""
        others = super().reads_otherwise(same_length=same_length, same_radii=same_radii)
        return not same_length or others


class ReadsAngles(ProtractorReading):
    """A reading that includes the head's angle at both grids."""

    SHOWS_ANGLES: ClassVar[bool] = True
    inner_deg: HeadAngle = Field(title="Angle at the inner grid", description=_OUT)
    outer_deg: HeadAngle = Field(title="Angle at the outer grid", description=_OUT)
    inner_mm: InnerRadius | None = Field(None, title="Inner grid at", description=_RADIUS)
    outer_mm: OuterRadius | None = Field(None, title="Outer grid at", description=_RADIUS)

    def angles(self, inner_mm: float, outer_mm: float, bench: BenchKit) -> tuple[AngleReading, ...]:
        """Return the inner and the outer angle, at the radii read or else at these."""
        u_deg = bench.protractor_read_deg
        return (
            AngleReading(self.inner_mm or inner_mm, self.inner_deg, u_deg),
            AngleReading(self.outer_mm or outer_mm, self.outer_deg, u_deg),
        )

    def shown(self, bench: BenchKit) -> ShownFigures:
        """Return both angles, after what else was read."""
        u_deg = bench.protractor_read_deg
        return {
            **super().shown(bench),
            ("inner_angle", self.inner_mm): (self.inner_deg, u_deg),
            ("outer_angle", self.outer_mm): (self.outer_deg, u_deg),
        }

    def reads_otherwise(self, *, same_length: bool, same_radii: tuple[bool, bool]) -> bool:
        """Whether a grid that has no radius of its own lies elsewhere."""
        others = super().reads_otherwise(same_length=same_length, same_radii=same_radii)
        inner, outer = same_radii
        is_same = (inner or self.inner_mm is not None) and (outer or self.outer_mm is not None)
        return others or not is_same


class Landing(ReadsLanding):
    """The landing of the stylus on a protractor whose line points at the pivot."""

    WAY_TITLE: ClassVar[str] = "Landing: where the stylus touches"

    way: Literal["landing"] = "landing"


class GridAngles(ReadsAngles):
    """The head's angle against the grid at the inner and the outer null radius."""

    WAY_TITLE: ClassVar[str] = "Angles: head against the grid"

    way: Literal["angles"] = "angles"


class LandingAndAngles(ReadsAngles, ReadsLanding):
    """Landing and both head angles, on one protractor."""

    WAY_TITLE: ClassVar[str] = "Landing and both angles"

    way: Literal["landing and angles"] = "landing and angles"


class PivotDistance(AlignmentReading):
    """The distance from pivot to spindle, measured again; counts instead of the deck's figure."""

    WAY_TITLE: ClassVar[str] = "Pivot to spindle, measured again"
    LOWERS_STYLUS: ClassVar[bool] = False

    way: Literal["pivot distance"] = "pivot distance"
    distance_mm: Annotated[Millimetres, Limits(120, 450, usual=(185, 340))] = Field(
        title="Pivot to spindle",
        description="Between the arm's pivot and the centre of the spindle, level with the record.",
    )


class ParallelPath(AlignmentReading):
    """The path of a parallel arm's stylus beside a line drawn from the spindle."""

    OF_PIVOTED: ClassVar[bool] = False
    SHOWS_LANDING: ClassVar[bool] = True
    SHOWS_ANGLES: ClassVar[bool] = True
    WAY_TITLE: ClassVar[str] = "Path: stylus beside a radius line"
    LOWERS_STYLUS: ClassVar[bool] = True

    way: Literal["path"] = "path"
    inner_landing_mm: Ahead = Field(
        title="Off the line, innermost groove",
        description="Ahead of the line is on the side the head points to.",
    )
    outer_landing_mm: Ahead = Field(
        title="Off the line, outermost groove",
        description="Ahead of the line is on the side the head points to.",
    )
    head_deg: HeadAngle = Field(
        title="Head against the grid",
        description="At the outermost groove: how far the head is turned, and which way.",
    )

    def shown(self, bench: BenchKit) -> ShownFigures:
        """Return the distances to the line and the head's angle."""
        mm, deg = bench.protractor_read_mm, bench.protractor_read_deg
        return {
            ("inner_path", None): (self.inner_landing_mm, mm),
            ("outer_path", None): (self.outer_landing_mm, mm),
            ("head_angle", None): (self.head_deg, deg),
        }

    def reads_otherwise(self, *, same_length: bool, same_radii: tuple[bool, bool]) -> bool:
        """Whether it was read at other grooves."""
        del same_length
        return not all(same_radii)

    def path(
        self, inner_mm: float, outer_mm: float, bench: BenchKit
    ) -> tuple[AngleReading, StylusOffsetReading]:
        """Return the head's angle, and how far the path misses the spindle.

        The line may have any direction from the spindle, so only the distance by which the path
        misses the spindle counts: both distances extrapolated to the spindle (derived: a straight
        line through two points). The head's angle to the true tangent is its angle to the grid plus
        the angle under which the distance is seen from the spindle.
        """
        near, far, u_mm = self.inner_landing_mm, self.outer_landing_mm, bench.protractor_read_mm
        seen = math.degrees(math.asin(far / outer_mm))
        u_deg = math.hypot(bench.protractor_read_deg, math.degrees(u_mm / outer_mm))
        between = outer_mm - inner_mm
        return AngleReading(outer_mm, self.head_deg + seen, u_deg), StylusOffsetReading(
            (outer_mm * near - inner_mm * far) / between,
            u_mm * math.hypot(outer_mm, inner_mm) / between,
        )


Readings = Annotated[
    LandingAndAngles | Landing | GridAngles | PivotDistance | ParallelPath,
    Field(discriminator="way"),
]


class Criterion(Choice):
    """The rule by which effective length and offset are chosen."""

    LOFGREN_A = "löfgren a", "Löfgren A (Baerwald): least worst distortion"
    LOFGREN_B = "löfgren b", "Löfgren B: least distortion on the whole, A's offset"
    STEVENSON = "stevenson", "Stevenson: no error at the innermost groove"
    FREE_LEAST_SQUARES = "least squares", "Least squares: both numbers free"
    EXACT_MINIMAX = "exact minimax", "Least worst distortion, exact for this deck"
    EXACT_LEAST_SQUARES = "exact least squares", "Least squares, exact for this deck"
    OWN_NULLS = "own nulls", "Own null radii"

    @property
    def solution(self) -> Solution:
        """The same rule in the formulas."""
        return Solution[self.name]


class GrooveStandard(Choice):
    """The radii that the alignment is to serve."""

    IEC_1958 = "60.325/146.05", "60.325 to 146.05 mm (IEC 60098, 1958)"
    DIN_1981 = "57.5/146.05", "57.5 to 146.05 mm (DIN 45547:1981, IEC 1958)"
    IEC_1964 = "57.5/146.3", "57.5 to 146.3 mm (DIN 45547:1981, IEC since 1964)"
    OWN = "own", "Own radii"


_GROOVES = {
    GrooveStandard.IEC_1958: GROOVES_1958,
    GrooveStandard.DIN_1981: GROOVES_1981,
    GrooveStandard.IEC_1964: GROOVES_1964_1981,
}


class AlignmentChoices(Choices):
    """The wanted alignment."""

    criterion: Criterion = Field(
        Criterion.LOFGREN_A,
        title="Alignment",
        description="The rule for effective length and offset. Choose it before reading: a "
        "reading counts as read on the protractor of what was chosen then.",
    )
    grooves: GrooveStandard = Field(
        GrooveStandard.IEC_1958,
        title="Grooves",
        description="From the innermost to the outermost groove of the records you play.",
    )
    own_inner_mm: Annotated[
        Millimetres, Limits(30, 90, usual=(50, 70)), When("grooves", ("own",))
    ] = Field(60.325, title="Innermost groove", description="Its radius.")
    own_outer_mm: Annotated[
        Millimetres, Limits(95, 170, usual=(110, 147)), When("grooves", ("own",))
    ] = Field(146.05, title="Outermost groove", description="Its radius.")
    own_null_inner_mm: Annotated[
        Millimetres, Limits(30, 90, usual=(55, 75)), When("criterion", ("own nulls",))
    ] = Field(66.0, title="Inner null", description="Radius without error, the inner one.")
    own_null_outer_mm: Annotated[
        Millimetres, Limits(90, 170, usual=(105, 130)), When("criterion", ("own nulls",))
    ] = Field(120.9, title="Outer null", description="Radius without error, the outer one.")

    @property
    def groove_radii(self) -> GrooveRadii:
        """The chosen groove radii, with their source."""
        if self.grooves is GrooveStandard.OWN:
            return GrooveRadii(self.own_inner_mm, self.own_outer_mm)
        return _GROOVES[self.grooves]

    @property
    def own_nulls(self) -> NullRadii | None:
        """Own null radii where they are the rule, else None."""
        if self.criterion is not Criterion.OWN_NULLS:
            return None
        return NullRadii(self.own_null_inner_mm, self.own_null_outer_mm)
