"""What a person knows of a test record: its bands in order, a document of theirs."""

from __future__ import annotations

from typing import Annotated, Any, Self

from pydantic import Field, model_validator

from core.records.base import FrozenModel
from core.records.quantities import (
    Choice,
    Decibels,
    Hertz,
    Limits,
    Percent,
    RevolutionsPerMinute,
    When,
)


class CutOn(Choice):
    """On which channel a band was cut."""

    LEFT = "left", "Left"
    RIGHT = "right", "Right"
    BOTH = "both", "Both"


class BandUse(Choice):
    """What a band of a test record is for."""

    SPEED = "speed", "Speed: a steady tone"
    SEPARATION = "separation", "Separation: one channel alone"
    TRACKING = "tracking", "Tracking: a low tone, rising in level"
    SWEEP = "sweep", "Sweep for the arm's resonance"
    LEVEL = "level", "Level: both channels alike"
    OTHER = "other", "Anything else"


class RecordBand(FrozenModel):
    """One band of a test record."""

    label: str = Field(min_length=1, max_length=120, title="Name", description="As on its label.")
    kind: BandUse = Field(BandUse.OTHER, title="For", description="What it is read for.")
    hz: Annotated[Hertz, Limits(1, 24_000, usual=(250, 4_000))] = Field(
        title="Frequency", description="Of its tone; of a sweep where it begins."
    )
    to_hz: Annotated[Hertz, Limits(1, 24_000), When("kind", ("sweep",))] | None = Field(
        None, title="Sweeps to", description="Where a sweep ends, if the label says so."
    )
    side: CutOn = Field(CutOn.BOTH, title="Cut on", description="Which channel plays it.")
    level_db: Annotated[Decibels, Limits(-80, 40)] | None = Field(
        None,
        title="Level",
        description="Beside the record's own reference, as its label says; may be empty.",
    )

    @model_validator(mode="before")
    @classmethod
    def _as_it_was_told_before(cls, said: Any) -> Any:
        """Take a band of before, which said only whether it tells the speed."""
        if not isinstance(said, dict) or "is_for_speed" not in said:
            return said
        rest = {name: value for name, value in said.items() if name != "is_for_speed"}
        return {"kind": "speed", **rest} if said["is_for_speed"] is True else rest

    @property
    def is_for_speed(self) -> bool:
        """Whether its tone tells the speed."""
        return self.kind is BandUse.SPEED


class CutRecord(FrozenModel):
    """A test record: its name, its speed, how true it was cut, and its bands in order."""

    name: Annotated[str, Field(min_length=1, max_length=120)] = Field(
        title="Name", description="Your name for it, as it is marked."
    )
    rpm: Annotated[RevolutionsPerMinute, Limits(10, 100, usual=(16, 80))] = Field(
        100.0 / 3.0, title="Speed", description="At which it is meant to be played."
    )
    cut_percent: Annotated[Percent, Limits(0.001, 5)] = Field(
        0.5,
        title="Own error",
        description="By how many percent its tone may be off as it was cut, if its leaflet says "
        "so. The standard allows half a percent.",
    )
    bands: Annotated[tuple[RecordBand, ...], Field(min_length=1, max_length=200)] = Field(
        title="Bands", description="In the order in which they are cut."
    )
    notes: Annotated[str, Field(max_length=4000)] = Field(
        "", title="Notes", description="Anything worth knowing, free text."
    )

    @model_validator(mode="after")
    def _one_tone_for_speed(self) -> Self:
        if len({band.hz for band in self.bands if band.is_for_speed}) > 1:
            raise ValueError("The bands for speed have one frequency.")
        return self

    @property
    def nominal_hz(self) -> float | None:
        """The frequency of its tone for speed, if it has one."""
        return next((band.hz for band in self.bands if band.is_for_speed), None)


class RecordPlayed(FrozenModel):
    """The test record that was played, as it was described then."""

    id: Annotated[str, Field(max_length=64)] = Field(
        "", title="Number", description="Of the library's record; empty for none of its."
    )
    record: CutRecord = Field(title="Record", description="Its bands, speed and own error.")


class TestRecord(Choice):
    """Which test record is played, as decks said it before records were kept by themselves."""

    __test__ = False  # no test, whatever its name says

    UNKNOWN = "unknown", "Any, with the usual tones"
    TWELVE_INCH = "Example test record, 12-inch", "As the example, 12-inch"
    SEVEN_INCH = "Example test record, 7-inch at 45", "As the example, 7-inch at 45"
    OWN = "own", "One of your own, described here"
