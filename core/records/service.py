"""What was done to a deck besides fitting: belt, bearing oil, motor, mat, clamp."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from core.records.base import FrozenModel
from core.records.quantities import Choice, Count, Day, Hours, Limits, Millimetres, NotAsked, When


class ServicePart(Choice):
    """What was worked on."""

    BELT = "belt", "Belt"
    BEARING = "bearing", "Bearing oil"
    MOTOR = "motor", "Motor"
    MAT = "mat", "Mat"
    CLAMP = "clamp", "Clamp or weight"
    OTHER = "other", "Something else"


MatThickness = Annotated[Millimetres, Limits(0, 12, usual=(0.5, 6))]


class Service(FrozenModel):
    """One entry in the service record of a deck. It is never rewritten; it can be withdrawn.

    ``withdrawn`` is the day somebody said that it does not count; empty if it counts.
    """

    deck: Annotated[str, Field(max_length=64), NotAsked()] = Field(
        "", title="Deck", description="The number of the deck's record."
    )
    part: ServicePart = Field(title="Part", description="What was worked on.")
    day: Day = Field(title="Day", description="When it was done, as 2026-03-01.")
    done: Annotated[str, Field(min_length=1, max_length=200)] = Field(
        title="What was done", description="In a few words: new belt, oil changed, mat cleaned."
    )
    mat_before_mm: Annotated[MatThickness, When("part", ("mat",))] | None = Field(
        None,
        title="Mat before",
        description="Its thickness, 0 for none. Empty if the mat stayed the same.",
    )
    mat_after_mm: Annotated[MatThickness, When("part", ("mat",))] | None = Field(
        None,
        title="Mat now",
        description="Its thickness, 0 for none. Empty if the mat stayed the same.",
    )
    months: Annotated[Count, Limits(1, 240)] | None = Field(
        None,
        title="Due again after months",
        description="As the maker's manual says. Empty for no date.",
    )
    hours: Annotated[Hours, Limits(1, 20000)] | None = Field(
        None,
        title="Due again after hours of play",
        description="As the maker's manual says. Empty for none. What comes first counts.",
    )
    withdrawn: Annotated[Day, NotAsked()] = Field(
        "", title="Left out", description="The day from which it counts no longer."
    )

    @model_validator(mode="after")
    def _has_a_day_and_whole_words(self) -> Self:
        if not self.day:
            raise ValueError("The day is missing: enter it as 2026-03-01.")
        if not self.done.strip():
            raise ValueError("What was done is missing: enter it in a few words.")
        if (self.mat_before_mm is None) != (self.mat_after_mm is None):
            raise ValueError("One of the two mats has no thickness: enter both, 0 for no mat.")
        return self

    @property
    def mat_thicker_mm(self) -> float:
        """How much thicker the mat is now than before; 0 where it stayed the same."""
        if self.part is not ServicePart.MAT:
            return 0.0
        if self.mat_before_mm is None or self.mat_after_mm is None:
            return 0.0
        return self.mat_after_mm - self.mat_before_mm
