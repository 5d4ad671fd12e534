"""The tonearm and its counterweight."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from core.records.base import FrozenModel
from core.records.quantities import (
    Choice,
    Degrees,
    Directions,
    Grams,
    GramsForcePerTurn,
    Limits,
    Millimetres,
    MillimetresPerTurn,
    Picofarads,
)


class ArmKind(Choice):
    """How the arm carries the stylus across the record."""

    PIVOTED_OFFSET = "pivoted offset", "Pivoted, head at an angle"
    PIVOTED_STRAIGHT = "pivoted straight", "Pivoted, straight head (underhung)"
    PARALLEL = "parallel tracking", "Parallel tracking (moves along a radius)"


class Balance(Choice):
    """How the arm's downforce is made."""

    STATIC = "static", "By the counterweight alone"
    DYNAMIC = "dynamic", "By a spring or dial, after balancing"


class Arm(FrozenModel):
    """The tonearm."""

    kind: ArmKind = Field(title="Kind of arm", description="How it carries the stylus.")
    pivot_to_spindle_mm: Annotated[Millimetres, Limits(120, 450, usual=(185, 340))] | None = Field(
        None,
        title="Pivot to spindle",
        description="From the arm's pivot to the centre of the spindle, as measured or stated. "
        "Empty for parallel tracking.",
    )
    pivot_to_spindle_error_mm: Annotated[Millimetres, Limits(0.01, 5)] = Field(
        0.5,
        title="Good to within (±)",
        description="The true distance lies within this two times in three.",
    )
    effective_length_mm: Annotated[Millimetres, Limits(20, 480, usual=(50, 370))] = Field(
        title="Effective length",
        description="From pivot (or, for parallel tracking, the bearing the arm rises on) to the "
        "stylus, as stated by the maker.",
    )
    offset_deg: Annotated[Degrees, Limits(-5, 45, usual=(0, 30))] = Field(
        0.0, title="Offset angle", description="As stated by the maker; 0 for a straight head."
    )
    effective_mass_g: Annotated[Grams, Limits(0.5, 60, usual=(4, 35))] = Field(
        title="Effective mass", description="As stated by the maker, without cartridge."
    )
    mass_includes_headshell: bool = Field(
        default=True,
        title="Effective mass includes the headshell",
        description="Off if the maker's figure leaves the headshell out.",
    )
    headshell_mass_g: Annotated[Grams, Limits(0, 40)] = Field(
        0.0, title="Headshell", description="Its mass if it comes off; 0 if it is part of the arm."
    )
    headshell_thickness_mm: Annotated[Millimetres, Limits(0.5, 20)] = Field(
        3.0,
        title="Headshell thickness",
        description="At the holes, where the mounting screws pass through.",
    )
    balance: Balance = Field(
        Balance.STATIC, title="Downforce is made", description="What presses the stylus down."
    )
    counterweight_g: Annotated[Grams, Limits(5, 500, usual=(30, 250))] | None = Field(
        None,
        title="Counterweight",
        description="Its mass. Empty if unknown: the wizard then learns from the scale.",
    )
    counterweight_mm_per_turn: Annotated[MillimetresPerTurn, Limits(0.1, 5)] | None = Field(
        None,
        title="Counterweight thread",
        description="How far it moves in one turn. Empty if it slides, or if unknown.",
    )
    gf_per_turn: Annotated[GramsForcePerTurn, Limits(0.01, 5)] | None = Field(
        None,
        title="Downforce for one turn",
        description="If the maker states it (a dial of 3 gf round the weight is 3 gf per turn).",
    )
    lightest_cartridge_g: Annotated[Grams, Limits(0, 60)] = Field(
        2.0,
        title="Lightest cartridge",
        description="Cartridge and hardware together that the counterweight can balance.",
    )
    heaviest_cartridge_g: Annotated[Grams, Limits(1, 80)] = Field(
        14.0,
        title="Heaviest cartridge",
        description="Cartridge and hardware together that the counterweight can balance.",
    )
    lift_axis_square_to_head: bool = Field(
        default=False,
        title="Arm rises square to the head",
        description="On: the bearing the arm rises on is square to the head; off: to the tube. "
        "On the latter, height adds a little tilt.",
    )
    pivot_above_record_mm: Annotated[
        Millimetres, Limits(-30, 80), Directions("above the record", "below the record")
    ] = Field(
        0.0,
        title="Height of the bearing",
        description="How far the bearing the arm rises on lies above or below the record. "
        "Decides how far a change of arm height moves the stylus along the arm. 0 if unknown: then "
        "taken as high as the cartridge's body.",
    )
    cable_pf: Annotated[Picofarads, Limits(0, 2000, usual=(20, 500))] | None = Field(
        None, title="Cable capacitance", description="Arm wiring and cable together, if known."
    )

    @model_validator(mode="after")
    def _pivot_is_known(self) -> Self:
        if self.kind is not ArmKind.PARALLEL:
            if self.pivot_to_spindle_mm is None:
                raise ValueError(
                    "A pivoted arm needs its pivot-to-spindle distance: "
                    "measure it or ask the maker."
                )
            if abs(self.effective_length_mm - self.pivot_to_spindle_mm) > 40:
                raise ValueError(
                    "Effective length and pivot-to-spindle distance differ by more than 40 mm: "
                    "one of them is mistyped."
                )
        if self.lightest_cartridge_g > self.heaviest_cartridge_g:
            raise ValueError("The lightest cartridge is heavier than the heaviest: swap the two.")
        return self

    @property
    def is_pivoted(self) -> bool:
        """Whether the stylus swings about a pivot."""
        return self.kind is not ArmKind.PARALLEL
