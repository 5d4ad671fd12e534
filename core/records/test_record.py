"""What a person knows of a test record: its bands in order."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from core.records.base import FrozenModel
from core.records.quantities import Choice, Hertz, Limits


class CutOn(Choice):
    """On which channel a band was cut."""

    LEFT = "left", "Left"
    RIGHT = "right", "Right"
    BOTH = "both", "Both"


class RecordBand(FrozenModel):
    """One band of a test record."""

    label: str = Field(min_length=1, max_length=120, title="Name", description="As on its label.")
    hz: Annotated[Hertz, Limits(1, 24_000, usual=(250, 4_000))] = Field(
        title="Frequency", description="Of its tone."
    )
    side: CutOn = Field(CutOn.BOTH, title="Cut on", description="Which channel plays it.")
    is_for_speed: bool = Field(
        default=False, title="For speed", description="Its tone tells the speed."
    )


class TestRecord(Choice):
    """Which test record is played."""

    __test__ = False  # no test, whatever its name says

    UNKNOWN = "unknown", "Any, with the usual tones"
    TWELVE_INCH = "Example test record, 12-inch", "As the example, 12-inch"
    SEVEN_INCH = "Example test record, 7-inch at 45", "As the example, 7-inch at 45"
    OWN = "own", "One of your own, described here"
