"""A drawing is read as eyes do: by its printed figures alone. What they say is what was read.

The test knows no formula of the drawings. It takes where the figures of a scale stand and where
the thing that is read stands, and reads between the figures.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from core.drawing.drawing import Drawing
from core.drawing.marks import Area, Polyline, Words
from core.language import Numbers
from core.practice import new_rehearsal
from core.practice.instrument_display import InstrumentDisplay
from core.practice.instruments import INSTRUMENTS
from core.practice.invented_decks import starter_decks
from tests.kit import named

KINDS = {deck.arm.kind.value: deck for deck in starter_decks()}
NUMBERS = Numbers(",")


def read_straight(drawing: Drawing, scale: str) -> float:
    """Read a straight scale: the place along the line through its figures."""
    figures = [p for p in named(drawing, f"{scale}:") if isinstance(p, Words)]
    places = np.array([(p.x, p.y) for p in figures])
    values = np.array([float(p.name.split(":")[1]) for p in figures])
    along = places[np.argmax(values)] - places[np.argmin(values)]
    along = along / np.linalg.norm(along)
    slope, start = np.polyfit(places @ along, values, 1)
    (hand,) = named(drawing, f"{scale}@")
    assert isinstance(hand, Polyline)
    return float(slope * (np.mean(hand.points, axis=0) @ along) + start)


def read_bar(drawing: Drawing, scale: str) -> float:
    """Read where a bar ends that grows to the right."""
    figures = [p for p in named(drawing, f"{scale}:") if isinstance(p, Words)]
    slope, start = np.polyfit(
        [p.x for p in figures], [float(p.name.split(":")[1]) for p in figures], 1
    )
    (bar,) = named(drawing, f"{scale}@")
    assert isinstance(bar, Area)
    return float(slope * max(x for x, _ in bar.points) + start)


def read_round(drawing: Drawing, scale: str) -> float:
    """Read a scale on an arc: by the direction in which the pointer's line leads."""
    (hand,) = named(drawing, f"{scale}@")
    assert isinstance(hand, Polyline)
    (x0, y0), (x1, y1) = hand.points
    figures = [p for p in named(drawing, f"{scale}:") if isinstance(p, Words)]
    # The middle of the arc: the point as far from every figure.
    rows = [(2 * p.x, 2 * p.y, 1.0) for p in figures]
    x, y, _ = np.linalg.lstsq(rows, [p.x**2 + p.y**2 for p in figures], rcond=None)[0]
    turns = [math.atan2(p.x - x, p.y - y) for p in figures]
    slope, start = np.polyfit(turns, [float(p.name.split(":")[1]) for p in figures], 1)
    assert math.atan2(x1 - x, y1 - y) == pytest.approx(math.atan2(x1 - x0, y1 - y0), abs=1e-6)
    return float(slope * math.atan2(x1 - x, y1 - y) + start)


def read_display(drawing: Drawing, name: str) -> float:
    (shown,) = [p for p in named(drawing, name) if isinstance(p, Words)]
    text = shown.text.replace("−", "-").replace(",", ".")
    return float("".join(c for c in text if c in "-.0123456789"))


def looks(
    step: str, way: str, count: int = 12, **choices: Any
) -> Iterator[tuple[InstrumentDisplay, Drawing]]:
    for kind in ("pivoted offset", "pivoted straight", "parallel tracking"):
        parallel = kind == "parallel tracking"
        if (way == "path") is not parallel and step in ("alignment", "skating"):
            continue
        for difficulty in ("gentle", "bad day"):
            for seed in range(count):
                rehearsal = new_rehearsal(seed, difficulty, KINDS[kind], number=9)
                shown = rehearsal.instrument(step, way, **choices)
                yield shown, shown.drawn(NUMBERS)


STRAIGHT = [
    ("level", "bubble", "bubble", "divisions", 0.11),
    ("arm_height", "two heights", "front", "front_mm", 0.11),
    ("arm_height", "two heights", "rear", "rear_mm", 0.11),
    ("arm_height", "tapered tube", "front", "front_mm", 0.11),
    ("arm_height", "tapered tube", "rear", "rear_mm", 0.11),
    ("alignment", "landing", "landing", "landing_mm", 0.11),
    ("alignment", "landing and angles", "landing", "landing_mm", 0.11),
    ("alignment", "pivot distance", "ruler", "distance_mm", 0.11),
    ("alignment", "path", "innermost", "inner_landing_mm", 0.11),
    ("alignment", "path", "outermost", "outer_landing_mm", 0.11),
    ("tilt", "gaps", "left", "left_mm", 0.026),
    ("tilt", "gaps", "right", "right_mm", 0.026),
]
"""Half of the step a person reads to, and a little for the rounding of numbers."""


@pytest.mark.parametrize(("step", "way", "scale", "field", "half_step"), STRAIGHT)
def test_what_stands_at_a_straight_scale_is_what_was_read(
    step: str, way: str, scale: str, field: str, half_step: float
) -> None:
    for shown, drawing in looks(step, way):
        assert read_straight(drawing, scale) == pytest.approx(shown.values[field], abs=half_step)


def test_the_gap_beside_a_ruler_is_drawn_at_the_low_end() -> None:
    for shown, drawing in looks("level", "ruler"):
        gap = shown.values["gap_mm"]
        assert read_straight(drawing, "gap") == pytest.approx(abs(gap), abs=0.11)
        if abs(gap) > 0.15:
            told = " ".join(p.text for p in drawing.marks if isinstance(p, Words))
            assert f"ruler at the {'front' if gap > 0 else 'rear'}" in told


@pytest.mark.parametrize(
    ("step", "way", "scale", "field", "half_step"),
    [
        ("alignment", "angles", "inner", "inner_deg", 0.11),
        ("alignment", "angles", "outer", "outer_deg", 0.11),
        ("alignment", "landing and angles", "inner", "inner_deg", 0.11),
        ("alignment", "path", "head", "head_deg", 0.11),
        ("skating", "setting", "dial", "setting", 0.06),
    ],
)
def test_what_stands_at_a_round_scale_is_what_was_read(
    step: str, way: str, scale: str, field: str, half_step: float
) -> None:
    for shown, drawing in looks(step, way):
        straight = drawing.title == "Weight on its thread"
        read = (read_straight if straight else read_round)(drawing, scale)
        assert read == pytest.approx(shown.values[field], abs=half_step)


def test_the_lean_in_the_mirror_is_what_was_read() -> None:
    for shown, drawing in looks("tilt", "mirror"):
        signs = {"left high": 1.0, "right high": -1.0, "upright": 0.0}
        lean = signs[shown.values["lean"]] * shown.values["angle_deg"]
        assert read_round(drawing, "lean") == pytest.approx(lean, abs=0.13)


def test_the_bar_at_the_mark_has_the_count_that_drifted() -> None:
    for shown, drawing in looks("speed", "strobe"):
        signs = {"with": 1.0, "against": -1.0, "standing": 0.0}
        drift = signs[shown.values["direction"]] * shown.values["drifted_bars"]
        assert read_straight(drawing, "bars") == pytest.approx(drift, abs=0.3)
        ways = [p.text for p in named(drawing, "way") if isinstance(p, Words)]
        if abs(drift) >= 0.5:
            assert ("with" if drift > 0 else "against") in ways[0]


def test_the_film_of_the_bars_begins_at_none_and_never_hurries() -> None:
    for shown, drawing in looks("speed", "strobe"):
        film = drawing.film
        assert film is not None
        assert read_straight(film.at(0.0), "bars") == pytest.approx(0.0, abs=1e-6)
        end = read_straight(film.at(1.0), "bars")
        assert end == pytest.approx(read_straight(drawing, "bars"), abs=1e-6)
        # Three a second is where flashes begin to matter (WCAG 2.3.1, seen).
        assert abs(end) / film.seconds < 1.001
        assert shown.values["bars"] >= 8


@pytest.mark.parametrize(
    ("step", "way", "field"),
    [
        ("level", "inclinometer", "angle_deg"),
        ("mount", "weighed", "weighed_g"),
        ("rough_downforce", "scale", "downforce_gf"),
        ("final_downforce", "check weight", "shown_gf"),
        ("arm_height", "tube angle", "pitch_deg"),
        ("speed", "timed turns", "seconds"),
        ("speed", "readout", "rpm"),
    ],
)
def test_a_display_shows_the_figures_that_were_read(step: str, way: str, field: str) -> None:
    for shown, drawing in looks(step, way, 4):
        assert read_display(drawing, "shown") == pytest.approx(shown.values[field], abs=1e-9)


def test_a_meter_shows_its_level_as_figures_and_as_a_bar() -> None:
    for shown, drawing in looks("tilt", "test bands", 4):
        for key, level in shown.values.items():
            if key.endswith("_db"):
                (words,) = [p for p in drawing.marks if isinstance(p, Words) and p.name == key]
                text = words.text.replace("−", "-").replace(",", ".").removesuffix("dB")
                assert float(text) == pytest.approx(level, abs=1e-9)
                assert read_bar(drawing, key) == pytest.approx(max(level, -50.0), abs=1e-6)


def test_the_first_band_that_is_torn_tells_which_channel_breaks_first() -> None:
    heard = set()
    for shown, drawing in looks("skating", "test bands", 20):
        torn = {
            side: min(
                int(p.name.split()[2])
                for p in named(drawing, f"{side} band")
                if p.name.endswith("torn")
            )
            for side in ("left", "right")
        }
        first = (
            "together" if torn["left"] == torn["right"] else min(torn, key=lambda side: torn[side])
        )
        assert first == shown.values["broke_first"]
        heard.add(first)
    assert len(heard) > 1


@pytest.mark.parametrize("direction", ["front-back", "left-right", "diagonal back left", "own"])
@pytest.mark.parametrize("turned", [False, True])
def test_a_level_is_drawn_as_it_was_laid(direction: str, *, turned: bool) -> None:
    rehearsal = new_rehearsal(5)
    for way in ("bubble", "inclinometer", "ruler"):
        shown = rehearsal.instrument(
            "level", way, direction=direction, turned=turned, bearing_deg=30.0
        )
        drawing = shown.drawn(NUMBERS)
        said = " ".join(p.text for p in drawing.marks if isinstance(p, Words))
        marked = {
            ("front-back", False): "rear",
            ("front-back", True): "front",
            ("left-right", False): "right",
            ("left-right", True): "left",
            ("diagonal back left", False): "rear left",
            ("diagonal back left", True): "front right",
            ("own", False): "at 30°",
            ("own", True): "other end",
        }[direction, turned]
        assert f"{marked} ▸" in said or f"marked end at the {marked}" in said


@pytest.mark.parametrize(("step", "way"), list(INSTRUMENTS))
def test_every_drawing_stays_on_its_sheet_and_says_what_it_is(step: str, way: str) -> None:
    for _, drawing in looks(step, way, 6):
        assert drawing.title
        assert drawing.summary.endswith(".")
        for part in drawing.marks:
            if isinstance(part, Words):
                wide = 0.58 * part.size_mm * len(part.text)
                left = part.x - {"left": 0.0, "middle": 0.5, "right": 1.0}[part.align] * wide
                assert left >= -1.0, part.text
                assert left + wide <= drawing.width_mm + 1.0, part.text
                assert 0.0 <= part.y <= drawing.height_mm, part.text
            else:
                assert isinstance(part, Polyline | Area)
                for x, y in part.points:
                    assert -2.0 <= x <= drawing.width_mm + 2.0
                    assert -2.0 <= y <= drawing.height_mm + 2.0
