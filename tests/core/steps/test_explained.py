"""The drawings that explain say what they show, stay on their sheet, and are true to scale."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings

from core.drawing.marks import Polyline, Words, extent
from core.language import Numbers, help_text
from core.records import Deck
from core.steps import STEP_NAMES
from core.steps.bench_drawing import BenchScene
from core.steps.explained import WORDS, draw_places, draw_word, example_scene
from tests.examples import cartridge
from tests.strategies import decks


def test_every_word_of_help_has_a_drawing_and_every_drawing_its_word() -> None:
    assert set(help_text().words) == set(WORDS)


@pytest.mark.parametrize("key", WORDS)
def test_a_drawing_stays_on_its_sheet_and_can_be_read(key: str) -> None:
    drawing = draw_word(key, Numbers())
    box = extent(drawing.marks)
    assert -1.0 < box.left < box.right < drawing.width_mm + 1.0
    assert -1.0 < box.bottom < box.top < drawing.height_mm + 1.0
    assert all(mark.size_mm >= 3.4 for mark in drawing.marks if isinstance(mark, Words))


@settings(max_examples=40)
@given(decks())
def test_all_nine_places_are_numbered_on_any_deck(drawn_deck: Deck) -> None:
    scene = BenchScene(drawn_deck, cartridge(), Numbers())
    drawing = draw_places(scene)
    numbers = [mark.text for mark in drawing.marks if isinstance(mark, Words) and mark.bold]
    assert numbers == [str(number) for number in range(1, 10)]
    box = extent(drawing.marks)
    assert -1.5 < box.left < box.right < drawing.width_mm + 1.5
    assert -1.5 < box.bottom < box.top < drawing.height_mm + 1.5


def test_no_number_hides_another() -> None:
    drawing = draw_places(example_scene(Numbers()))
    numbers = [mark for mark in drawing.marks if isinstance(mark, Words) and mark.bold]
    for place, one in enumerate(numbers):
        for other in numbers[place + 1 :]:
            assert math.hypot(one.x - other.x, one.y - other.y) > one.size_mm


def test_a_small_picture_numbers_one_step_alone() -> None:
    drawing = draw_places(example_scene(Numbers()), only="tilt")
    numbers = [mark.text for mark in drawing.marks if isinstance(mark, Words) and mark.bold]
    assert numbers == [str(STEP_NAMES.index("tilt") + 1)]


def test_the_stylus_is_drawn_beyond_the_spindle_as_overhang_means() -> None:
    drawing = draw_word("overhang", Numbers())
    names = {mark.text: mark for mark in drawing.marks if isinstance(mark, Words)}
    assert names["stylus"].x < names["spindle"].x < names["pivot"].x


def test_the_offset_angle_is_drawn_about_as_large_as_it_is() -> None:
    # 18 to 26 degrees on arms of 9 to 12 inches (common practice).
    drawing = draw_word("offset_angle", Numbers())
    lines = [mark.points for mark in drawing.marks if isinstance(mark, Polyline)]
    tip = max({points[0] for points in lines}, key=[points[0] for points in lines].count)
    one, other = (
        math.atan2(points[1][1] - tip[1], points[1][0] - tip[0])
        for points in lines
        if points[0] == tip and len(points) == 2
    )
    assert 18.0 < abs(math.degrees(one - other)) < 26.0
