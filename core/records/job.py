"""A job: what was brought to the bench, when it is promised, and in which state it came.

Who brought it is a record of its own, so that it can be kept apart and forgotten.
"""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from core.records.base import FrozenModel
from core.records.quantities import Choice, Day, NotAsked

_Line = Annotated[str, Field(max_length=200)]
_Words = Annotated[str, Field(max_length=2000)]


class JobState(Choice):
    """How far a job is; worked out from its days and its fittings, never stored."""

    RECEIVED = "received", "Received"
    IN_PROGRESS = "in progress", "In progress"
    READY = "ready", "Ready"
    HANDED_OVER = "handed over", "Handed over"


class Job(FrozenModel):
    """What was brought in, and what was agreed; its fittings say what was done."""

    number: Annotated[str, Field(max_length=40)] = Field(
        "",
        title="Number",
        description="Filled in for you; change it if you number your jobs differently.",
    )
    brought: _Line = Field(
        "",
        title="Brought in",
        description="What came, in a few words. The list of jobs shows it until work begins, and "
        "finds it later too: leave the customer's name out.",
    )
    received: Day = Field("", title="Received", description="The day it came, as 2026-03-01.")
    promised: Day = Field(
        "", title="Promised", description="The day it should be ready, as 2026-03-01."
    )
    handed_over: Day = Field(
        "",
        title="Handed over",
        description="The day it was given back. Empty while it is here.",
    )
    stylus_seen: _Words = Field(
        "",
        title="Stylus under the lens",
        description="As it came: dirt, wear, a bent cantilever. Empty if nobody looked.",
    )
    noises: _Words = Field(
        "", title="Noises", description="Hum, rumble, a dry bearing, a channel that drops out."
    )
    missing: _Words = Field(
        "", title="Missing parts", description="What was not there when it came."
    )
    accessories: _Words = Field(
        "",
        title="Accessories",
        description="What came with it and goes back with it: cables, lid, adaptor, box.",
    )
    notes: _Words = Field("", title="Notes", description="Anything else that was agreed.")
    customer: Annotated[str, Field(max_length=64), NotAsked()] = Field(
        "", title="Customer's record", description="The number of the customer's own record."
    )

    @model_validator(mode="after")
    def _goes_after_it_came(self) -> Self:
        if self.received and self.handed_over and self.handed_over < self.received:
            raise ValueError("It was handed over before it was received: correct one of the two.")
        return self


class Customer(FrozenModel):
    """Who brought a job, and one way to reach them.

    Once forgotten, name and way are empty in every revision, and the day stands in their place.
    """

    name: Annotated[str, Field(max_length=120)] = Field(
        "", title="Customer", description="Your name for them."
    )
    contact: Annotated[str, Field(max_length=200)] = Field(
        "", title="To reach them", description="One way: a telephone number or an address."
    )
    forgotten: Annotated[Day, NotAsked()] = Field(
        "", title="Forgotten", description="The day name and way to reach them were erased."
    )

    @model_validator(mode="after")
    def _is_somebody_or_forgotten(self) -> Self:
        if self.forgotten and (self.name or self.contact):
            raise ValueError("A customer who was forgotten has no name.")
        if not self.forgotten and not self.name:
            raise ValueError("A customer needs a name.")
        return self
