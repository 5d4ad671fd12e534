"""The words of Help, read from resources and checked as they are read."""

from __future__ import annotations

from functools import cache

from pydantic import Field

from core.language.catalogue import ENGLISH, worded_data
from core.records import FrozenModel


class KeyGroup(FrozenModel):
    """The keys of one place, and what each does."""

    title: str
    does: dict[str, str] = Field(min_length=1)
    """By the keys, as Qt names them."""


class TradeWord(FrozenModel):
    """A word of the trade, and what it means."""

    name: str
    here: str
    """What the pages call it, empty if the same."""
    step: str
    """The step in which it matters most."""
    means: str


class Kit(FrozenModel):
    """Where to say which instruments are there."""

    text: str


class Without(FrozenModel):
    """How to do without an instrument."""

    lead: str
    steps: dict[str, str]
    """A line for each step."""
    kit: Kit


class About(FrozenModel):
    """What the program is, and what goes before it."""

    what: str
    maker_first: str
    mains: str
    built_on: str
    licences: dict[str, str]
    """By the name under which a library is distributed."""


class HelpText(FrozenModel):
    """All that Help says."""

    keys: dict[str, KeyGroup]
    words: dict[str, TradeWord]
    without: Without
    minutes: dict[str, int]
    """About how long each step takes, in minutes."""
    about: About


@cache
def help_text(language: str = ENGLISH) -> HelpText:
    """Return the words of Help."""
    return HelpText.model_validate(worded_data("help.toml", language))
