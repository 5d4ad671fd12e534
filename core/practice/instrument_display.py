"""The display of an instrument, and how a person reads it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from core.drawing.drawing import Drawing
from core.fitting import Reading
from core.language import Numbers
from core.steps import reading_from


@dataclass(frozen=True, slots=True)
class InstrumentDisplay:
    """One look at one instrument.

    ``step`` and ``way`` say what was read and how; ``values`` are the fields of that reading, as a
    careful person would type them. ``drawn`` makes the drawing, true to what the instrument shows,
    with numbers written as a country does; it is called only when somebody looks.
    """

    step: str
    way: str
    values: Mapping[str, Any]
    drawn: Callable[[Numbers], Drawing]

    @property
    def reading(self) -> Reading:
        """The same as a reading of the step."""
        return reading_from(self.step, dict(self.values))


@dataclass(frozen=True, slots=True)
class ValueSeen:
    """A quantity as an instrument shows it (``at``), and as it is read off (``read``)."""

    at: float
    read: float


def fine_step(spread: float) -> float:
    """Return the step a person reads to: 1, 2 or 5 in some decimal place, below the spread."""
    power = 10.0 ** math.floor(math.log10(spread))
    return max(part * power for part in (0.5, 1.0, 2.0, 5.0) if part * power <= spread)


def read_off(rng: np.random.Generator, true: float, spread: float, step: float = 0.0) -> ValueSeen:
    """Look at a scale and read it off to a ``step``; 0 takes one that suits the spread.

    ``spread`` is the standard deviation of a reading all in all, above 0. The rounding is part of
    it: only the rest is drawn from ``rng``.
    """
    step = step or fine_step(spread)
    free = math.sqrt(max(spread**2 - step**2 / 12.0, 0.0))
    at = true + free * float(rng.standard_normal())
    return ValueSeen(at, round(round(at / step) * step, 6))


def shown(
    step: str, values: Mapping[str, Any], drawing: Callable[[Numbers], Drawing]
) -> InstrumentDisplay:
    """Return a display; its way of reading stands among the values."""
    return InstrumentDisplay(step, values["way"], values, drawing)
