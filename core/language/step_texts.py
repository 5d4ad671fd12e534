"""The words of the steps and the cautions, read from resources and checked as they are read."""

from __future__ import annotations

from functools import cache

from pydantic import Field, TypeAdapter

from core.language.catalogue import ENGLISH, worded_data
from core.records import FrozenModel


class WayText(FrozenModel):
    """How one way of reading is done, step by step."""

    how: tuple[str, ...] = Field(min_length=1)


class StepText(FrozenModel):
    """What a person is told about a step."""

    title: str
    short: str
    """What the step is about in at most six words."""
    why: str
    why_now: str
    need: tuple[str, ...] = Field(min_length=1)
    how: tuple[str, ...] = Field(min_length=1)
    skip: str
    """What follows if it is left out."""
    cautions: tuple[str, ...] = ()
    """Keys of resources/cautions.toml."""
    ways: dict[str, WayText]


class Caution(FrozenModel):
    """One warning: what can happen and how to avoid it."""

    title: str
    text: str
    brief: str = ""
    """For what can hurt at once: one sentence that is said even where there is no room."""


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
