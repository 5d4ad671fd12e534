"""Words of a chart stand on no others, and move no more than they have to."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from core.drawing.words_apart import Spot, apart, without_overlap

ROOM = Spot(0.0, 0.0, 100.0, 60.0)


def share(one: Spot, other: Spot) -> float:
    """Return the area two rectangles have in common, by the lengths of their shadows."""
    across = min(one.left + one.width, other.left + other.width) - max(one.left, other.left)
    up = min(one.low + one.height, other.low + other.height) - max(one.low, other.low)
    return max(across, 0.0) * max(up, 0.0)


def test_words_that_are_alone_stay() -> None:
    words = [Spot(5.0, 5.0, 30.0, 8.0), Spot(60.0, 5.0, 30.0, 8.0)]
    assert apart(words, ROOM) == words


def test_words_beside_their_own_dot_stay_even_if_they_touch_another() -> None:
    word = Spot(5.0, 5.0, 30.0, 8.0)
    assert apart([word], ROOM, avoid=[Spot(6.0, 6.0, 2.0, 2.0)]) == [word]


def test_the_second_goes_to_the_next_line_and_off_the_dots_there() -> None:
    first, second = Spot(5.0, 40.0, 30.0, 8.0), Spot(20.0, 40.0, 30.0, 8.0)
    _, moved = apart([first, second], ROOM)
    assert moved is not None
    assert moved.left == second.left
    assert abs(moved.low - 48.0) < 0.01
    _, lower = apart([first, second], ROOM, avoid=[Spot(22.0, 49.0, 4.0, 4.0)])
    assert lower is not None
    assert lower.low < 40.0


def test_words_without_room_are_left_out_and_the_first_stay() -> None:
    words = [Spot(0.0, 0.0, 90.0, 25.0) for _ in range(4)]
    shown = apart(words, ROOM)
    assert shown[0] == words[0]
    assert [spot is None for spot in shown] == [False, False, True, True]


def test_numbers_of_an_axis_that_cover_others_go() -> None:
    ticks = [Spot(x, 0.0, 30.0, 8.0) for x in (0.0, 20.0, 35.0, 80.0)]
    assert without_overlap(ticks) == [True, False, True, True]


spots = st.builds(Spot, st.floats(0, 90), st.floats(0, 50), st.floats(1, 60), st.floats(1, 20))


@given(words=st.lists(spots, max_size=8), dots=st.lists(spots, max_size=5))
def test_no_words_ever_stand_on_others(words: list[Spot], dots: list[Spot]) -> None:
    shown = [spot for spot in apart(words, ROOM, avoid=dots, gap=1.0) if spot is not None]
    assert all(share(one, other) < 1e-3 for one, other in combinations(shown, 2))
    assert len(shown) >= (1 if words else 0)
