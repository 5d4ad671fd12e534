"""The instruments at hand, how finely they read, and how near is near enough."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from core.records.base import FrozenModel
from core.records.quantities import (
    Degrees,
    Divisions,
    GramsForce,
    Hertz,
    Limits,
    Millimetres,
    MillimetresPerMetre,
    NotAsked,
    Percent,
    PlainNumber,
    Seconds,
)
from core.records.test_record import RecordBand, RecordPlayed, TestRecord


class BenchKit(FrozenModel):
    """The instruments you have, and how finely they read.

    Each error is one standard uncertainty of a single reading: about two readings in three lie
    that near to the truth.
    """

    bubble_mm_per_m_per_div: Annotated[MillimetresPerMetre, Limits(0.01, 20)] = Field(
        0.5, title="Bubble: one division", description="Slope for one division of the bubble."
    )
    bubble_read_div: Annotated[Divisions, Limits(0.01, 2)] = Field(
        0.25, title="Bubble: read to", description="How finely you can judge where the bubble is."
    )
    bubble_range_div: Annotated[Divisions, Limits(1, 100)] = Field(
        6.0,
        title="Bubble: at its end",
        description="How far the bubble can go from the middle; there it shows no slope, only "
        "that there is at least so much.",
    )
    level_zero_error_mm_per_m: Annotated[MillimetresPerMetre, Limits(0, 10)] = Field(
        0.5,
        title="Level: own error",
        description="By how much the level itself may be off; reading both ways removes it.",
    )
    inclinometer_read_deg: Annotated[Degrees, Limits(0.001, 1)] = Field(
        0.05, title="Inclinometer: read to", description="Repeatability of the display."
    )
    scale_read_gf: Annotated[GramsForce, Limits(0.001, 1)] = Field(
        0.01, title="Scale: read to", description="Repeatability of one placing of the stylus."
    )
    scale_gain_error: Annotated[Percent, Limits(0, 20)] = Field(
        0.5,
        title="Scale: own error",
        description="By how many percent the scale itself may be off; a check weight removes it.",
    )
    scale_range_gf: Annotated[GramsForce, Limits(1, 1000)] = Field(
        10.0,
        title="Scale: up to",
        description="The most it can show. At that point the real value may be higher.",
    )
    ruler_read_mm: Annotated[Millimetres, Limits(0.01, 2)] = Field(
        0.25, title="Ruler: read to", description="How finely you can judge a height or length."
    )
    protractor_read_mm: Annotated[Millimetres, Limits(0.01, 2)] = Field(
        0.2,
        title="Protractor: landing",
        description="How finely you can judge where the stylus is.",
    )
    protractor_read_deg: Annotated[Degrees, Limits(0.01, 3)] = Field(
        0.25,
        title="Protractor: angle",
        description="How finely you can judge a line against the grid.",
    )
    gap_read_mm: Annotated[Millimetres, Limits(0.005, 1)] = Field(
        0.05,
        title="Gap gauge: read to",
        description="How finely you can judge the gap under the body.",
    )
    mirror_read_deg: Annotated[Degrees, Limits(0.05, 5)] = Field(
        0.5, title="Mirror: judged to", description="How finely you can judge upright in a mirror."
    )
    test_level_db: Annotated[PlainNumber, Limits(0.01, 5)] = Field(
        0.3, title="Test bands: read to", description="Repeatability of a level in decibels."
    )
    stopwatch_s: Annotated[Seconds, Limits(0.01, 2)] = Field(
        0.15, title="Stopwatch: by hand", description="How closely you start and stop it."
    )
    lamp_flashes_per_s: Annotated[Hertz, Limits(20, 1000)] = Field(
        100.0,
        title="Lamp: flashes",
        description="Flashes per second. A mains lamp flashes twice a cycle: 100 at 50 Hz, 120 at "
        "60 Hz.",
    )
    strobe_bars_read: Annotated[PlainNumber, Limits(0.05, 5)] = Field(
        0.5, title="Strobe: bars", description="How finely you can count drifted bars."
    )
    float_read_gf: Annotated[GramsForce, Limits(0.005, 1)] = Field(
        0.05,
        title="Floating arm: judged to",
        description="How close to 0 the downforce is when you see the arm float level.",
    )
    dial_error: Annotated[Percent, Limits(0, 20)] = Field(
        3.0,
        title="Downforce dial: own error",
        description="By how many percent the dial round the counterweight may be off.",
    )
    has_level: bool = Field(
        default=True, title="Spirit level is there", description="A bubble, long or round."
    )
    has_inclinometer: bool = Field(
        default=True, title="Inclinometer is there", description="A display in degrees."
    )
    has_scale: bool = Field(
        default=True,
        title="Stylus scale is there",
        description="Off: the arm is floated and its own dial set instead.",
    )
    has_gap_gauge: bool = Field(
        default=True,
        title="Gap gauge is there",
        description="Feeler gauges, or anything else that measures a twentieth of a millimetre.",
    )
    has_strobe_lamp: bool = Field(
        default=True,
        title="Strobe lamp is there",
        description="A lamp that flashes with the mains, or one made for it.",
    )
    has_speed_meter: bool = Field(
        default=True, title="Speed meter is there", description="It shows rpm."
    )
    has_test_record: bool = Field(
        default=True, title="Test record is there", description="With bands for each channel."
    )
    has_sound_input: bool = Field(
        default=False,
        title="Sound can be recorded",
        description="While a test record plays; its file is then read.",
    )
    played: Annotated[RecordPlayed | None, NotAsked()] = Field(
        None,
        title="Test record",
        description="The one that was played last on this deck.",
    )
    test_record: Annotated[TestRecord, NotAsked()] = Field(
        TestRecord.UNKNOWN,
        title="Test record",
        description="As it was chosen before records were kept by themselves.",
    )
    record_bands: Annotated[tuple[RecordBand, ...], Field(max_length=200), NotAsked()] = Field(
        (),
        title="Bands of the record",
        description="Of one of your own, as it was described before.",
    )
    record_cut_percent: Annotated[Percent, Limits(0.001, 5)] = Field(
        0.5,
        title="Test record: own error",
        description="By how many percent the tone of a record that is not described may be off as "
        "it was cut. The standard allows half a percent.",
    )


class Tolerances(FrozenModel):
    """How near is near enough on this deck."""

    level_mm_per_m: Annotated[MillimetresPerMetre, Limits(0.1, 20)] = Field(
        2.0, title="Level", description="Slope of the plinth. Common practice: 2 mm/m."
    )
    height_mm: Annotated[Millimetres, Limits(0.05, 10)] = Field(
        1.0,
        title="Arm height",
        description="Difference over the length of the tube. Common practice: 1 mm, as records "
        "differ in thickness by as much; 0.5 mm for a line contact stylus.",
    )
    landing_mm: Annotated[Millimetres, Limits(0.05, 5)] = Field(
        0.5, title="Alignment: length", description="Of the effective length. Our default."
    )
    twist_deg: Annotated[Degrees, Limits(0.05, 5)] = Field(
        0.5, title="Alignment: angle", description="Of the head at both radii. Our default."
    )
    tilt_deg: Annotated[Degrees, Limits(0.05, 10)] = Field(
        1.0, title="Tilt", description="Of the cartridge seen from the front. Our default."
    )
    downforce_gf: Annotated[GramsForce, Limits(0.005, 1)] = Field(
        0.05, title="Downforce", description="Final. Common practice: 0.05 gf."
    )
    speed_percent: Annotated[Percent, Limits(0.01, 5)] = Field(
        0.3, title="Speed", description="Common practice: 0.3 %."
    )
