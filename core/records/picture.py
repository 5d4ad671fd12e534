"""A picture of a deck, a cartridge, a job as it came, or a fitting; what it shows is kept apart."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from core.records.base import FrozenModel
from core.records.quantities import Choice, Day


class PictureOf(Choice):
    """What a picture belongs to."""

    DECK = "deck", "Deck"
    CARTRIDGE = "cartridge", "Cartridge"
    JOB = "job", "Job"
    FITTING = "fitting", "Fitting"


class KeptPicture(FrozenModel):
    """What is said of a picture. It is never deleted; it can be withdrawn.

    ``content`` is the SHA-256 of the picture itself, in hexadecimal digits; ``withdrawn`` is the
    day somebody said that it does not count, empty if it counts. Once the picture itself was
    erased, ``erased`` is the day of that, and this alone is left.
    """

    of: PictureOf = Field(title="Belongs to", description="What it was taken of.")
    thing: Annotated[str, Field(min_length=1, max_length=64)] = Field(
        title="Its record", description="The number of what it was taken of."
    )
    content: Annotated[str, Field(pattern="^[0-9a-f]{64}$")] = Field(
        title="Content", description="The digest of the picture itself."
    )
    caption: Annotated[str, Field(max_length=200)] = Field(
        "", title="Caption", description="What is to be seen, in a few words."
    )
    day: Day = Field(title="Day", description="When it was added, as 2026-03-01.")
    withdrawn: Day = Field(
        "", title="Withdrawn", description="The day from which it counts no longer."
    )
    erased: Day = Field("", title="Erased", description="The day the picture itself was erased.")

    @model_validator(mode="after")
    def _has_a_day(self) -> Self:
        if not self.day:
            raise ValueError("The day is missing: enter it as 2026-03-01.")
        if self.erased and not self.withdrawn:
            raise ValueError(
                "A picture that was erased counts no longer: the day of that is missing."
            )
        return self

    @property
    def owner(self) -> tuple[str, str]:
        """The sort and the number of what it belongs to."""
        return self.of.value, self.thing
