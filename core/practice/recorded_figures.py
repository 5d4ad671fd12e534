"""Figures that a recording tells, set beside those of a perfect recording of the same deck."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from core.fitting import Reading
from core.language import Label
from core.records import Deck
from core.steps import MOUNT, SKATING, SPEED, TILT
from core.steps.mount import ResonanceByRecord
from core.steps.skating import BandsByTone
from core.steps.speed import Taken, Tone
from core.steps.tilt import LeakByTone

LEAK_DB: Final = 0.1
"""One standard uncertainty of a recorded leak: 0.2 dB hold 95 of 100 recordings."""


@dataclass(frozen=True, slots=True)
class RecordedFigure:
    """One figure of a recording: its name, how it is written, and where it stands."""

    name: Label
    unit: str
    decimals: int
    told: Callable[[Reading, Deck], tuple[float, float] | None]
    """From the reading to the figure and its standard uncertainty; None if it tells none."""
    directions: tuple[Label, Label] | None = None


def _speed(reading: Reading, deck: Deck) -> tuple[float, float] | None:
    if not isinstance(reading, Tone):
        return None
    taken = reading.measure(deck)
    if not isinstance(taken, Taken):
        return None
    return taken.error.value, math.hypot(taken.error.standard_uncertainty, taken.calibration)


def _leak_into_right(reading: Reading, _deck: Deck) -> tuple[float, float] | None:
    if not isinstance(reading, LeakByTone):
        return None
    return reading.measure(0.0).left_in_right_db, LEAK_DB


def _leak_into_left(reading: Reading, _deck: Deck) -> tuple[float, float] | None:
    if not isinstance(reading, LeakByTone):
        return None
    return reading.measure(0.0).right_in_left_db, LEAK_DB


def _broke_up(reading: Reading, _deck: Deck) -> tuple[float, float] | None:
    if not isinstance(reading, BandsByTone):
        return None
    apart = reading.recorded.break_up().difference
    return (apart.value, apart.standard_uncertainty) if apart is not None else None


def _resonance(reading: Reading, _deck: Deck) -> tuple[float, float] | None:
    if not isinstance(reading, ResonanceByRecord):
        return None
    return reading.recorded.hz, reading.recorded.spread_hz


RECORDED: Final[dict[tuple[str, str], tuple[RecordedFigure, ...]]] = {
    (MOUNT, "resonance by record"): (RecordedFigure(Label("Resonance"), "Hz", 1, _resonance),),
    (TILT, "leak by tone"): (
        RecordedFigure(Label("left into right"), "dB", 1, _leak_into_right),
        RecordedFigure(Label("right into left"), "dB", 1, _leak_into_left),
    ),
    (SKATING, "bands by tone"): (
        RecordedFigure(
            Label("Break-up"), "dB", 1, _broke_up, (Label("right first"), Label("left first"))
        ),
    ),
    (SPEED, "tone"): (
        RecordedFigure(Label("Speed"), "%", 2, _speed, (Label("fast"), Label("slow"))),
    ),
}
"""What each way of reading by a recording tells."""
