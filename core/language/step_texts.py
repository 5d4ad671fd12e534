"""The words of the steps and the cautions, read from resources and checked as they are read."""

from __future__ import annotations

from collections.abc import Collection
from functools import cache
from typing import Literal

from pydantic import Field, TypeAdapter

from core.language.catalogue import ENGLISH, worded_data
from core.records import FrozenModel

Deed = Literal["", "guard off", "lower stylus", "guard on"]
"""What a line does to the stylus, where it does anything."""


class WorkLine(FrozenModel):
    """One handgrip of the work: what to do, and what is typed at it."""

    text: str
    fields: tuple[str, ...] = ()
    """Fields of the reading's form that are filled in here, by name."""
    caution: str = ""
    """Key of the caution that guards this very act."""
    does: Deed = ""
    warns: bool = False
    """Whether its words keep hands or stylus from harm without a caution at it."""
    chooses: bool = False
    """Whether it is done in the choices of the step, to which the line then leads."""
    controls: tuple[str, ...] = ()
    """Before a move: the controls it belongs to, as the log names them; empty for all."""

    @property
    def keeps_from_harm(self) -> bool:
        """Whether none of its words may be cut, even when it is done."""
        return self.warns or bool(self.caution or self.does)

    def belongs_to(self, controls: Collection[str]) -> bool:
        """Whether it is part of the work where these controls are moved."""
        return not self.controls or any(one in controls for one in self.controls)


class WayText(FrozenModel):
    """One way of reading, a line a handgrip, in the order of the hands."""

    lines: tuple[WorkLine, ...] = Field(min_length=1)


class StepText(FrozenModel):
    """What a person is told about a step."""

    title: str
    short: str
    """What the step is about in at most six words."""
    why: str
    why_now: str
    need: tuple[str, ...] = Field(min_length=1)
    skip: str
    """What follows if it is left out."""
    moving: tuple[WorkLine, ...] = Field(min_length=1)
    """What goes before a move of the step's controls."""
    cautions: tuple[str, ...] = ()
    """Keys of resources/cautions.toml; each stands at a line too."""
    ways: dict[str, WayText]

    def lines_of(self, way: str, fields: tuple[str, ...]) -> tuple[WorkLine, ...]:
        """Return the lines of a way of reading; a field that no line names gets one at the end."""
        known = self.ways.get(way)
        lines = known.lines if known else ()
        named = {name for line in lines for name in line.fields}
        left = tuple(name for name in fields if name not in named)
        return (*lines, WorkLine(text="", fields=left)) if left else lines


class Caution(FrozenModel):
    """One warning: what can happen and how to avoid it."""

    title: str
    text: str
    brief: str = ""
    """For what can hurt at once: one sentence that is said even where there is no room."""
    always: bool = False
    """Whether that sentence is said from the first, not only where the case asks for it."""
    beside: str = ""
    """What it says in place of its title beside a line that gives the order itself."""
    further: str | None = None
    """What it says besides there, in place of its text; None for the text."""


@cache
def step_text(name: str, language: str = ENGLISH, *, parallel: bool = False) -> StepText:
    """Return the words of a step; FileNotFoundError if it has none.

    ``parallel`` asks for those of an arm that moves along a radius: what the file's table
    ``parallel`` holds stands in place of what is said of pivoted arms.
    """
    data = worded_data(f"steps/{name}.toml", language)
    own = data.pop("parallel", {})
    return StepText.model_validate(data | own if parallel else data)


@cache
def cautions(language: str = ENGLISH) -> dict[str, Caution]:
    """Return every caution by its key."""
    data = worded_data("cautions.toml", language)
    return TypeAdapter(dict[str, Caution]).validate_python(data)
