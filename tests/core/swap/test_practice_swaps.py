"""Whole swaps on practice decks with no person: what was foretold lands, what was learned helps."""

from __future__ import annotations

import pytest

from core.practice.faults import Difficulty
from tests.core.swap.exchanged import Landed, cycles, land

pytestmark = pytest.mark.long


def test_nine_predictions_in_ten_land_inside_their_interval() -> None:
    landed = land(11, 10, Difficulty.ORDINARY)
    assert sum(len(values) for values in landed.true.values()) > 60
    assert Landed.share(landed.true) >= 0.9
    assert Landed.share(landed.read) >= 0.9


def test_learned_gains_take_fewer_cycles_where_a_control_misleads() -> None:
    decks, learned, stated = cycles(21, 36, Difficulty.BAD_DAY)
    assert decks >= 20
    assert learned < stated
