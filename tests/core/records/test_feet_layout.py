"""Feet by count, width and depth stand where a person would draw them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.records import Deck, FeetLayout, FeetPattern, FeetTurned, Foot, layout_of
from core.store.documents import document_from
from profiles import starter_documents
from tests.strategies import decks


def places(layout: FeetLayout) -> dict[str, tuple[float, float]]:
    return {foot.name: (foot.x_mm, foot.y_mm) for foot in layout.feet}


def test_four_feet_stand_at_the_corners_and_three_on_a_triangle() -> None:
    """Drawn on paper: a plinth 400 wide and 300 deep, its middle at 0, x right and y back."""
    four = FeetLayout(width_mm=400, depth_mm=300)
    assert places(four) == {
        "front left": (-200, -150),
        "front right": (200, -150),
        "rear left": (-200, 150),
        "rear right": (200, 150),
    }
    rear = FeetLayout(pattern=FeetPattern.ONE_AT_REAR, width_mm=400, depth_mm=300)
    assert places(rear) == {
        "front left": (-200, -150),
        "front right": (200, -150),
        "rear": (0, 150),
    }
    front = FeetLayout(pattern=FeetPattern.ONE_IN_FRONT, width_mm=400, depth_mm=300)
    assert places(front)["front"] == (0, -150)


def test_feet_that_do_not_turn_have_no_travel() -> None:
    layout = FeetLayout(turned=FeetTurned.FRONT)
    turning = {foot.name for foot in layout.feet if foot.can_be_turned}
    assert turning == {"front left", "front right"}
    assert not any(foot.can_be_turned for foot in FeetLayout(turned=FeetTurned.NONE).feet)


@given(
    st.sampled_from([one for one in FeetPattern if one is not FeetPattern.OWN]),
    st.integers(20, 2000),
    st.integers(20, 2000),
    st.sampled_from(list(FeetTurned)),
)
def test_a_layout_is_recognised_from_its_feet(
    pattern: FeetPattern, width: int, depth: int, turned: FeetTurned
) -> None:
    layout = FeetLayout(pattern=pattern, width_mm=width, depth_mm=depth, turned=turned)
    assert layout_of(layout.feet) == layout


@given(decks())
def test_no_foot_is_moved_by_being_shown(deck: Deck) -> None:
    """What stands in places of its own is never taken for a rectangle."""
    layout = layout_of(deck.plinth.feet)
    assert layout.pattern is FeetPattern.OWN or layout.feet == deck.plinth.feet


@pytest.mark.parametrize(("content", "name"), starter_documents())
def test_every_starter_is_a_deck_by_count_width_and_depth(content: bytes, name: str) -> None:
    for record in document_from(content, name).decks:
        thing = record.revisions[-1].thing
        assert isinstance(thing, Deck)
        assert layout_of(thing.plinth.feet).pattern is not FeetPattern.OWN


def test_a_foot_out_of_line_keeps_its_place() -> None:
    feet = (*FeetLayout().feet[:3], Foot(name="rear right", x_mm=150, y_mm=120))
    assert layout_of(feet).pattern is FeetPattern.OWN
