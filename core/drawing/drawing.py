"""A drawing of one thing: a size and marks, and a film of how it came to look so."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from core.drawing.marks import Mark


@dataclass(frozen=True, slots=True)
class Film:
    """A drawing that moves: ``at`` returns it at a share, 0 to 1, of ``seconds``."""

    seconds: float
    at: Callable[[float], Drawing]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawn instrument. A screen scales it as a whole; nothing in it depends on pixels.

    ``summary`` says the same in a sentence with its values, for a screen reader alone: others
    read the marks. What is read and its scale carry names: ``scale:value`` on each figure of a
    scale, ``scale@`` on what is read against it. ``note`` is said under the drawing, and ``film``
    shows how the instrument came to stand so, where that is worth watching.
    """

    title: str
    summary: str
    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...]
    note: str = ""
    film: Film | None = None
