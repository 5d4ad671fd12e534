"""What is known of a cartridge: mass, shape, downforce range, suspension and electrics."""

from __future__ import annotations

from typing import Annotated, Any, Final, Self

from pydantic import Field, model_validator

from core.records.base import FrozenModel
from core.records.quantities import (
    Choice,
    Degrees,
    Grams,
    GramsForce,
    Hours,
    Kilohms,
    Limits,
    MicrometresPerMillinewton,
    Millihenries,
    Millimetres,
    Millivolts,
    Ohms,
    Picofarads,
    When,
)

_PRESET_KOHM: Final = 47.0


class StylusShape(Choice):
    """The tip's cut, roundest first."""

    SPHERICAL = "spherical", "Spherical (conical)"
    ELLIPTICAL = "elliptical", "Elliptical"
    FINE_LINE = "fine line", "Fine line"
    LINE_CONTACT = "line contact", "Line contact"


class Mounting(Choice):
    """How the cartridge is held."""

    THROUGH_HOLES = "through holes", "Half-inch, plain holes: screws and nuts"
    TAPPED = "tapped", "Half-inch, threaded body: screws only"
    PLUG_IN = "plug-in", "Plug-in"


class Generator(Choice):
    """How it makes its signal."""

    MOVING_MAGNET = "moving magnet", "Moving magnet or iron"
    MOVING_COIL = "moving coil", "Moving coil"


class ComplianceKind(Choice):
    """At what frequency the maker gives compliance."""

    DYNAMIC_10_HZ = "dynamic 10 Hz", "Dynamic, at 10 Hz"
    DYNAMIC_100_HZ = "dynamic 100 Hz", "Dynamic, at 100 Hz"
    STATIC = "static", "Static"


class Cartridge(FrozenModel):
    """A cartridge with its stylus and mounting hardware."""

    name: Annotated[str, Field(min_length=1, max_length=120)] = Field(
        title="Name", description="Your name for this cartridge."
    )
    notes: Annotated[str, Field(max_length=4000)] = Field(
        "", title="Notes", description="Anything worth knowing, free text."
    )
    mounting: Mounting = Field(title="Mounting", description="How it is held in the head.")
    mass_g: Annotated[Grams, Limits(0.5, 60, usual=(2, 35))] = Field(
        title="Mass", description="Of the cartridge alone, as stated by the maker."
    )
    hardware_g: Annotated[Grams, Limits(0, 15)] = Field(
        1.0, title="Hardware", description="Screws, nuts and spacers together; 0 for plug-in."
    )
    downforce_min_gf: Annotated[GramsForce, Limits(0.2, 12, usual=(0.7, 5))] = Field(
        title="Downforce from", description="Lower end of the maker's range."
    )
    downforce_max_gf: Annotated[GramsForce, Limits(0.2, 12, usual=(0.7, 6))] = Field(
        title="Downforce to", description="Upper end of the maker's range."
    )
    downforce_recommended_gf: Annotated[GramsForce, Limits(0.2, 12)] | None = Field(
        None,
        title="Downforce recommended",
        description="As the maker recommends; empty takes the middle of the range.",
    )
    stylus: StylusShape = Field(title="Stylus", description="The cut of the tip.")
    stylus_life_h: Annotated[Hours, Limits(50, 10000)] = Field(
        800.0, title="Stylus life", description="Hours of play the maker rates the stylus for."
    )
    compliance: Annotated[MicrometresPerMillinewton, Limits(0.5, 100, usual=(4, 50))] | None = (
        Field(
            None,
            title="Compliance",
            description="µm/mN, the same number as 10⁻⁶ cm/dyn. Empty if unknown.",
        )
    )
    compliance_kind: ComplianceKind = Field(
        ComplianceKind.DYNAMIC_10_HZ,
        title="Compliance given",
        description="Makers differ: static, at 10 Hz or at 100 Hz.",
    )
    body_height_mm: Annotated[Millimetres, Limits(3, 40, usual=(12, 24))] = Field(
        17.0,
        title="Height",
        description="From the face that touches the head down to the stylus tip.",
    )
    tip_to_holes_mm: Annotated[
        Millimetres, Limits(-5, 30, usual=(6, 13)), When("mounting", ("through holes", "tapped"))
    ] = Field(9.5, title="Holes to tip", description="How far the stylus lies ahead of the holes.")
    body_width_mm: Annotated[Millimetres, Limits(5, 40)] = Field(
        17.0, title="Width", description="Of the underside, left to right: for the gap reading."
    )
    lug_thickness_mm: Annotated[
        Millimetres, Limits(0.5, 20), When("mounting", ("through holes",))
    ] = Field(4.0, title="Mounting lug", description="Thickness where the screw passes through.")
    nut_thickness_mm: Annotated[
        Millimetres, Limits(0, 10), When("mounting", ("through holes",))
    ] = Field(2.0, title="Nut", description="Thickness of the nut and washer.")
    thread_depth_mm: Annotated[Millimetres, Limits(1, 20), When("mounting", ("tapped",))] = Field(
        4.0, title="Thread depth", description="How deep a screw may go into the body."
    )
    rake_deg: Annotated[Degrees, Limits(10, 35)] = Field(
        20.0,
        title="Vertical tracking angle",
        description="As stated; the standard says 20° (+5°, -0°).",
    )
    generator: Generator = Field(
        Generator.MOVING_MAGNET, title="Generator", description="Moving magnet or moving coil."
    )
    inductance_mh: Annotated[Millihenries, Limits(0, 2000)] | None = Field(
        None, title="Inductance", description="Of one channel, if known."
    )
    load_min_pf: Annotated[Picofarads, Limits(0, 2000)] | None = Field(
        None, title="Load from", description="Least load capacitance the maker asks for."
    )
    load_max_pf: Annotated[Picofarads, Limits(0, 2000)] | None = Field(
        None, title="Load to", description="Most load capacitance the maker allows."
    )
    load_kohm: Annotated[Kilohms, Limits(0.01, 1000), When("generator", ("moving magnet",))] = (
        Field(_PRESET_KOHM, title="Load resistance", description="As the maker asks for.")
    )
    coil_ohm: Annotated[Ohms, Limits(0.5, 5000), When("generator", ("moving coil",))] | None = (
        Field(None, title="Coil resistance", description="Of one channel, if known.")
    )
    load_ohm: Annotated[Ohms, Limits(1, 100000), When("generator", ("moving coil",))] | None = (
        Field(
            None,
            title="Load wanted",
            description="In ohms, as the maker asks for; of a range the lower end.",
        )
    )
    output_mv: (
        Annotated[Millivolts, Limits(0.01, 20), When("generator", ("moving coil",))] | None
    ) = Field(None, title="Output", description="At 5 cm/s, as the maker states it, if known.")
    has_guard: bool = Field(
        default=True,
        title="Stylus guard",
        description="Whether it has a guard that covers the stylus.",
    )

    @model_validator(mode="before")
    @classmethod
    def _coils_once_had_their_load_in_kilohms(cls, given: Any) -> Any:
        """Take over what was kept of a moving coil in the field preset for moving magnets."""
        if not isinstance(given, dict) or given.get("generator") != Generator.MOVING_COIL.value:
            return given
        kilohms = given.get("load_kohm", _PRESET_KOHM)
        if given.get("load_ohm") is not None or not isinstance(kilohms, int | float):
            return given
        if kilohms == _PRESET_KOHM:
            return given
        return {**given, "load_kohm": _PRESET_KOHM, "load_ohm": 1000.0 * kilohms}

    @model_validator(mode="after")
    def _range_is_a_range(self) -> Self:
        if self.downforce_min_gf > self.downforce_max_gf:
            raise ValueError("Downforce range is upside down: “from” is more than “to”.")
        chosen = self.downforce_recommended_gf
        if chosen is not None and not self.downforce_min_gf <= chosen <= self.downforce_max_gf:
            raise ValueError("Recommended downforce lies outside the maker's own range.")
        low, high = self.load_min_pf, self.load_max_pf
        if low is not None and high is not None and low > high:
            raise ValueError("Load capacitance is upside down: “from” is more than “to”.")
        return self

    @property
    def downforce_target_gf(self) -> float:
        """The recommended downforce, else the middle of the maker's range."""
        if self.downforce_recommended_gf is not None:
            return self.downforce_recommended_gf
        return (self.downforce_min_gf + self.downforce_max_gf) / 2

    @property
    def moving_g(self) -> float:
        """Cartridge and hardware together, in grams."""
        return self.mass_g + self.hardware_g
