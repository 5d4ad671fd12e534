from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing.chart import (
    Arrow,
    Axis,
    Band,
    Curve,
    Item,
    MarkRole,
    Picture,
    Points,
    Rule,
    Shape,
    Tag,
    floats,
)
from core.drawing.marks import Area, Box, Circle, Polyline, Words, extent
from core.paper.chart_marks import chart_marks
from core.paper.lettering import rough_width
from core.steps import STEP_NAMES
from tests.kit import status_of
from tests.worked import READINGS, Bench

BOX = Box(10.0, 20.0, 70.0, 76.0)


def picture(*items: Item, low: float = 0.0, high: float = 10.0) -> Picture:
    return Picture("Title", "s", Axis("place", "mm", low, high), Axis("size", "%", -1, 1), items)


def inside(box: Box) -> bool:
    return (
        box.left >= BOX.left - 1.5
        and box.right <= BOX.right + 1.5
        and box.bottom >= BOX.bottom - 0.1
        and box.top <= BOX.top + 0.1
    )


@given(
    low=st.floats(-1e4, 1e4),
    width=st.floats(1e-3, 1e4),
    values=st.lists(st.floats(allow_nan=True, allow_infinity=True), min_size=2, max_size=8),
    role=st.sampled_from(MarkRole),
)
@settings(max_examples=80)
def test_whatever_the_numbers_nothing_is_drawn_outside(
    low: float, width: float, values: list[float], role: MarkRole
) -> None:
    n = len(values)
    places = np.linspace(low, low + width, n)
    marks = chart_marks(
        picture(
            Curve(places, floats(values), role, "a"),
            Points(places, floats(values), role, "b", floats([abs(v) for v in values])),
            Band("y", -5.0, 0.5, role, "c"),
            Rule("x", low, role, "d"),
            Shape(places, np.nan_to_num(floats(values)), role, "e", filled=True),
            Arrow(low, -1.0, low + width, 1.0, role),
            Tag(low, 0.9, "tag", role),
            low=low,
            high=low + width,
        ),
        BOX,
        rough_width,
    )
    assert inside(extent(marks))


def test_a_curve_lies_where_its_axes_say() -> None:
    line = Curve(floats([0.0, 10.0]), floats([-1.0, 1.0]), MarkRole.NOW)
    marks = chart_marks(picture(line), BOX, rough_width)
    frame = next(m for m in marks if isinstance(m, Area))
    curve = next(m for m in marks if isinstance(m, Polyline))
    (left, bottom), (_, _), (right, top), _ = frame.points
    assert curve.points[0] == pytest.approx((left, bottom))
    assert curve.points[1] == pytest.approx((right, top))


def test_now_and_before_are_told_apart_without_colour() -> None:
    marks = chart_marks(
        picture(
            Points(floats([1.0]), floats([0.0]), MarkRole.NOW),
            Points(floats([2.0]), floats([0.0]), MarkRole.BEFORE),
        ),
        BOX,
        rough_width,
    )
    now, before = (m for m in marks if isinstance(m, Circle))
    assert (now.fill, before.fill) == (0.0, 1.0)


def test_axes_carry_names_units_and_round_numbers() -> None:
    marks = chart_marks(picture(), BOX, rough_width)
    words = [m.text for m in marks if isinstance(m, Words)]
    assert "place, mm" in words
    assert "size, %" in words
    assert {"0", "2", "4", "6", "8", "10"} <= set(words)


def test_pictures_of_all_steps_are_drawn() -> None:
    journey = Bench().work_all()
    for name in STEP_NAMES:
        shown = status_of(journey, name).assessment.picture
        marks = chart_marks(shown, BOX, rough_width)
        assert inside(extent(marks)), name
        assert all(math.isfinite(m.x) for m in marks if isinstance(m, Words))


def test_words_at_close_places_are_written_one_beside_the_other() -> None:
    close = [Tag(5.0 + 0.2 * n, 0.9, f"{n}/8 turn clockwise", MarkRole.GUIDE) for n in range(5)]
    marks = chart_marks(picture(*close), BOX, rough_width)
    written = [m for m in marks if isinstance(m, Words) and "turn" in m.text]
    assert len(written) == len(close)
    wide, tall = [rough_width(m.text, m.size_mm) for m in written], written[0].size_mm
    for (one, its), (other, others) in combinations(zip(written, wide, strict=True), 2):
        apart = abs(one.x - other.x) >= 0.5 * (its + others), abs(one.y - other.y) >= tall
        assert any(apart), (one, other)


def test_words_in_a_chart_are_read_on_white_and_not_through_its_lines() -> None:
    tag = Tag(5.0, 0.1, "0.3° turned in", MarkRole.NOW)
    marks = chart_marks(picture(Rule("x", 5.0, MarkRole.TARGET), tag), BOX, rough_width)
    place = next(n for n, m in enumerate(marks) if isinstance(m, Words) and "turned" in m.text)
    words, ground = marks[place], marks[place - 1]
    assert isinstance(words, Words)
    assert isinstance(ground, Area)
    assert (ground.fill, ground.pen) == (1.0, None)
    wide = rough_width(words.text, words.size_mm)
    around = extent([ground])
    assert around.left <= words.x - 0.5 * wide <= words.x + 0.5 * wide <= around.right + 1e-9
    assert around.bottom < words.y < words.y + 0.7 * words.size_mm < around.top


TOLD_BY_LEGEND = (MarkRole.NOW, MarkRole.BEFORE, MarkRole.PREDICTED, MarkRole.TARGET)


@pytest.mark.parametrize("step", STEP_NAMES)
def test_every_line_and_dot_of_a_chart_has_its_like_in_the_legend(step: str) -> None:
    """The faint ones of earlier readings too: on paper nobody can ask what a grey line is."""
    bench = Bench()
    for name, readings in READINGS.items():
        bench.work(name, readings)
        if name == step:
            break
    items = status_of(bench.journey, step).assessment.picture.items
    named = {(type(one), one.role) for one in items if getattr(one, "label", None) is not None}
    named |= {(Curve, role) for kind, role in named if kind in (Rule, Points)}
    dots = {(Points, role) for kind, role in named if kind is Arrow}
    for item in items:
        if item.role in TOLD_BY_LEGEND and not isinstance(item, Tag | Arrow):
            assert (type(item), item.role) in named | dots, item
