"""A deck on an uneven shelf, and readings of it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import strategies as st

from core.fitting import Assessment, Context, MovePart, Reading, Trial
from core.records import Deck
from core.steps import level
from core.steps.level import Bubble, Direction
from tests.examples import cartridge, deck
from tests.worded import worded

THREE = [("front left", -180.0, -140.0), ("front right", 180.0, -140.0), ("rear", 0.0, 150.0)]
FOUR = [
    ("front left", -180.0, -140.0),
    ("front right", 180.0, -140.0),
    ("rear left", -180.0, 140.0),
    ("rear right", 180.0, 140.0),
]


def on_feet(
    places: list[tuple[str, float, float]],
    adjustable: tuple[str, ...] | None = None,
    **changes: Any,
) -> Deck:
    feet = [
        {
            "name": name,
            "x_mm": x,
            "y_mm": y,
            "adjustable": adjustable is None or name in adjustable,
            "travel_up_mm": 20.0,
            "travel_down_mm": 20.0,
        }
        for name, x, y in places
    ]
    plinth = {"feet": feet, **changes.pop("plinth", {})}
    return deck(plinth=plinth, **changes)


def judged(trials: list[Trial], on: Deck | None = None) -> Assessment:
    context = Context(
        step="level",
        deck=on or on_feet(THREE),
        cartridge=cartridge(),
        log={"level": tuple(trials)},
    )
    answer: Assessment = worded(level.assess(context))
    return answer


def read(*readings: Reading) -> list[Trial]:
    return [Trial(reading=reading) for reading in readings]


class Truth:
    """A deck on an uneven shelf: heights of its feet, and a bubble with an error of its own."""

    def __init__(self, on: Deck, slope: tuple[float, float], zero: float = 0.0) -> None:
        self.deck, self.zero = on, zero
        feet = on.plinth.feet
        self.places = {f.name: (f.x_mm, f.y_mm) for f in feet}
        self.heights = {f.name: (slope[0] * f.x_mm + slope[1] * f.y_mm) / 1000 for f in feet}

    @property
    def slope(self) -> tuple[float, float]:
        """Through the first three feet, by their determinant; the others are taken to follow."""
        rows = np.array([[*self.places[name], 1.0] for name in list(self.places)[:3]])
        heights = np.array([self.heights[name] for name in list(self.places)[:3]])
        gx, gy, _ = np.linalg.solve(rows, heights)
        return 1000 * float(gx), 1000 * float(gy)

    @property
    def tilt(self) -> float:
        return math.hypot(*self.slope)

    def obey(self, parts: tuple[MovePart, ...]) -> None:
        for part in parts:
            pitch = self.deck.plinth.pitch_mm_per_turn
            if part.unit == "turns":
                assert pitch is not None
                self.heights[part.where] += part.amount * pitch
            else:
                assert part.unit == "mm"
                self.heights[part.where] += part.amount

    def bubble(self, way: Direction, *, turned: bool = False, noise: float = 0.0) -> Trial:
        bearing = {
            Direction.FRONT_BACK: 0.0,
            Direction.LEFT_RIGHT: 90.0,
            Direction.TO_BACK_RIGHT: 45.0,
        }[way]
        angle = math.radians(bearing + (180.0 if turned else 0.0))
        gx, gy = self.slope
        shown = gx * math.sin(angle) + gy * math.cos(angle) + self.zero + noise
        divisions = shown / self.deck.bench.bubble_mm_per_m_per_div
        return Trial(reading=Bubble(direction=way, divisions=divisions, turned=turned))

    def both_ways(self) -> list[Trial]:
        return [
            self.bubble(Direction.FRONT_BACK),
            self.bubble(Direction.LEFT_RIGHT),
            self.bubble(Direction.LEFT_RIGHT, turned=True),
        ]


slopes = st.tuples(st.floats(-6.0, 6.0), st.floats(-6.0, 6.0))
adjustments = pytest.mark.parametrize(
    "on",
    [
        on_feet(THREE),
        on_feet(FOUR),
        on_feet(THREE, plinth={"pitch_mm_per_turn": None}),
        on_feet(THREE, ("front left", "front right")),
    ],
    ids=["three", "four", "no pitch known", "rear fixed"],
)
