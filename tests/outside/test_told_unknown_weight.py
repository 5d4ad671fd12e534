"""First moves of a counterweight, worked by hand: of which nothing is known, and foretold ones.

Derived. The usual counterweights weigh 40 to 250 g on arms of 200 to 260 mm: a millimetre does 0.15
to 1.25 gf, about 0.45 on a common arm. A first move goes no further than a common one needs, never
so far that the heaviest would let the arm float (0.3 of the target are kept) or press near the
limit of 1.5 x 2.2 = 3.3 gf (four fifths of the room).
"""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import Control, MovePart, Verdict
from core.language import Expectation
from tests.outside.test_told_downforce import EMPTY, GF_PER_TURN, scale
from tests.outside.told import Person, moved, order, orders, pinned, said, told

MM: dict[str, Any] = {"counterweight_g": None, "counterweight_mm_per_turn": None}


def thread(mm_per_turn: float) -> dict[str, Any]:
    return {"counterweight_g": None, "counterweight_mm_per_turn": mm_per_turn}


@pytest.mark.parametrize(
    ("shown", "mm"),
    [
        (2.6, -1.3),  # 0.6 / 0.45 = 1.33; it floats from (2.6 - 0.6) / 1.25 = 1.6 on
        (3.2, -2.1),  # 1.2 / 0.45 = 2.67, but (3.2 - 0.6) / 1.25 = 2.08
        (2.3, -0.7),  # 0.3 / 0.45 = 0.67
        (4.0, -2.7),  # (4.0 - 0.6) / 1.25 = 2.72
        (1.7, 0.7),  # 0.3 / 0.45
        (1.0, 1.5),  # 1.0 / 0.45 = 2.22, but 0.8 x 2.3 / 1.25 = 1.47
        (0.4, 1.9),  # 0.8 x 2.9 / 1.25 = 1.86
        (0.0, 2.1),  # 0.8 x 3.3 / 1.25 = 2.11
    ],
)
def test_a_weight_of_which_nothing_is_known_is_tried_by_tenths(shown: float, mm: float) -> None:
    answer = told("rough_downforce", *scale(shown), on=pinned(arm=MM))
    assert moved(answer) == orders((Control.COUNTERWEIGHT, "", mm, "mm"), within=1e-6)
    assert answer.next_move is not None
    assert answer.next_move.predicted is None
    assert "not known yet" in said(answer.next_move.reason)
    assert ("toward the pivot" in order(answer)) is (mm > 0.0)
    assert answer.verdict is (Verdict.STOP if shown > 3.3 else Verdict.MOVE)


@pytest.mark.parametrize(
    ("mm_per_turn", "shown", "turns"),
    [
        (1.25, 2.6, -1.0),  # 1.333 mm / 1.25 = 1.07, by quarters
        (1.25, 3.2, -1.75),  # 2.08 / 1.25 = 1.66
        (1.25, 1.0, 1.25),  # 1.472 / 1.25 = 1.18
        (0.5, 2.6, -2.75),  # 1.333 / 0.5 = 2.67
        (0.5, 1.7, 1.25),  # 0.667 / 0.5 = 1.33
        (0.5, 0.0, 4.25),  # 2.112 / 0.5 = 4.22
    ],
)
def test_a_thread_under_a_weight_that_is_not_known_is_tried_by_quarters(
    mm_per_turn: float, shown: float, turns: float
) -> None:
    answer = told("rough_downforce", *scale(shown), on=pinned(arm=thread(mm_per_turn)))
    assert moved(answer) == orders((Control.COUNTERWEIGHT, "", turns, "turns"), within=1e-6)
    assert answer.next_move is not None
    (part,) = answer.next_move.parts
    assert part.equivalent_mm == pytest.approx(turns * mm_per_turn)


def test_what_the_first_move_did_is_what_the_second_goes_by() -> None:
    # 1 mm out took 0.5 gf off: 0.3 left are 0.6 mm.
    person = Person("rough_downforce", pinned(arm=MM))
    person.reads(*scale(2.8))
    person.moves(MovePart(control=Control.COUNTERWEIGHT, amount=-1.0, unit="mm"))
    answer = person.reads(*scale(2.3))
    ((_, _, amount, unit),) = moved(answer)
    assert (amount, unit) == (pytest.approx(-0.6, abs=0.06), "mm")
    assert answer.next_move is not None
    assert "0.5" in said(answer.next_move.reason)


@pytest.mark.parametrize("shown", [2.6, 2.4, 1.2])
def test_an_order_foretells_where_its_moment_leads(shown: float) -> None:
    answer = told("rough_downforce", *scale(shown))
    ((_, _, turns, unit),) = moved(answer)
    assert unit == "turns"
    assert answer.next_move is not None
    foretold = answer.next_move.predicted
    assert foretold is not None
    (then,) = foretold.values.values()
    assert isinstance(then, Expectation)
    # Before the order is rounded to an eighth of a turn, 0.05 gf.
    assert then.value == pytest.approx(shown + GF_PER_TURN * turns, abs=0.027)
    assert then.value == pytest.approx(2.0, abs=0.01)
    # A thread is known to a quarter: 1.96 x 0.25 of the way, and threads that mislead make it more.
    assert 0.49 * abs(2.0 - shown) < then.half_width < 1.5 * abs(2.0 - shown)
    assert "0.42" in said(answer.next_move.reason)


@pytest.mark.parametrize(
    ("arm", "shown", "words"),
    [
        ({"balance": "dynamic"}, 2.6, "down"),
        ({"balance": "dynamic"}, 1.2, "up"),
        ({}, 2.6, "away from the pivot"),
        ({}, 1.2, "toward the pivot"),
        ({"counterweight_mm_per_turn": None}, 2.6, "away from the pivot"),
        ({"counterweight_mm_per_turn": None}, 1.2, "toward the pivot"),
    ],
)
def test_every_handle_says_its_own_way(arm: dict[str, Any], shown: float, words: str) -> None:
    assert words in order(told("rough_downforce", *scale(shown), on=pinned(arm=arm)))


def test_an_eighth_is_told_where_it_makes_no_difference_that_matters() -> None:
    # 0.05 gf are allowed at the end, a tenth of that is 0.005 gf or 0.012 turn: 0.3 / 0.4179 is
    # 0.718 turn, whose nearest eighth 0.75 is off by 0.032.
    final = told("final_downforce", EMPTY, *scale(2.3, 2.3, 2.3))
    ((_, _, turns, _),) = moved(final)
    assert (8.0 * turns) % 1.0 != pytest.approx(0.0, abs=0.05)
    # 0.5225 gf are a turn and a quarter.
    even = told("final_downforce", EMPTY, *scale(2.52, 2.52, 2.53))
    ((_, _, turns, _),) = moved(even)
    assert turns == pytest.approx(-1.25, abs=0.015)
