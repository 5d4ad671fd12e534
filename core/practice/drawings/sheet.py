"""A drawn instrument as data: what is to be seen on a small sheet, with no screen.

Lengths are in units of the sheet, x to the right and y up from its lower left corner. A screen
scales the whole sheet; nothing in it depends on pixels. What a thing is for says its :class:`Ink`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum


class Ink(StrEnum):
    """What a part of a drawing is made of."""

    EDGE = "edge"  # outlines of things
    TICK = "tick"  # graduations
    WORD = "word"  # figures and words
    FAINT = "faint"  # words and lines that only help
    HAND = "hand"  # what is read: bubble, pointer, stylus, edge
    MARK = "mark"  # what it is read against: an index, a target
    BODY = "body"  # rulers, cases, arm, cartridge
    GLASS = "glass"  # vial, mirror, display
    LEFT = "left"  # left channel
    RIGHT = "right"
    WHITE_LEAD = "white lead"
    BLUE_LEAD = "blue lead"
    RED_LEAD = "red lead"
    GREEN_LEAD = "green lead"


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points."""

    points: tuple[tuple[float, float], ...]
    ink: Ink
    width: float = 0.35
    name: str = ""
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Area:
    """A filled outline."""

    points: tuple[tuple[float, float], ...]
    ink: Ink
    name: str = ""
    edged: bool = True


@dataclass(frozen=True, slots=True)
class Words:
    """Words at a place: ``anchor`` is -1 where they begin there, 0 centred, 1 where they end."""

    x: float
    y: float
    text: str
    size: float = 4.0
    ink: Ink = Ink.WORD
    anchor: int = 0
    name: str = ""
    strong: bool = False


Part = Stroke | Area | Words


@dataclass(frozen=True, slots=True)
class Film:
    """The same drawing on the way to what it shows.

    Parameters
    ----------
    seconds
        How long it takes to watch.
    at
        The drawing after a share of that time, 0 to 1.
    """

    seconds: float
    at: Callable[[float], Drawing]


@dataclass(frozen=True, slots=True)
class Drawing:
    """An instrument as it is seen.

    Parameters
    ----------
    title
        What it is, a few words.
    summary
        The same in a sentence with its values, for a screen reader alone: eyes shall read.
    width, height
        Of the sheet.
    parts
        In drawing order, first at the back. What is read and its scale carry names:
        ``scale:value`` on each figure of a scale, ``scale@`` on what is read against it.
    note
        Said under the drawing: scale, and which way is which.
    film
        How it came to stand there, if that is worth watching.
    """

    title: str
    summary: str
    width: float
    height: float
    parts: tuple[Part, ...]
    note: str = ""
    film: Film | None = None

    def named(self, name: str) -> tuple[Part, ...]:
        """Return every part whose name begins so."""
        return tuple(part for part in self.parts if part.name.startswith(name))
