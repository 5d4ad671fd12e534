"""Final downforce where the hand that sets the control is coarser than the tolerance."""

from __future__ import annotations

from typing import Any

import numpy as np

from core.fitting import Assessment, MovePart, Verdict
from core.steps import final_downforce
from core.steps.downforce import CheckWeight
from tests.core.steps.downforce.kit import Arm, counterweight, weighing
from tests.examples import cartridge, deck
from tests.worded import worded

STEP = "final_downforce"
SLID = {"counterweight_mm_per_turn": None, "gf_per_turn": None, "counterweight_g": 140.0}
"""A weight without a thread: 140 g over 239 mm do 0.585 gf for a millimetre (derived), so a hand
that slides it to 0.15 mm sets 0.09 gf, and the tolerance is 0.05 gf."""


def judged(*things: object, **changes: Any) -> Assessment:
    return worded(final_downforce.assess(weighing(STEP, deck(**changes), cartridge(), *things)))


def slid(*things: object) -> Assessment:
    return judged(*things, arm=SLID)


def nudge(amount_mm: float) -> MovePart:
    return counterweight(amount_mm, "mm")


def test_inside_and_likelier_so_than_after_a_move_is_good_where_a_hand_is_coarse() -> None:
    near = (CheckWeight(weight_g=0, shown_gf=0), 2.035, 2.035, 2.035, 2.035, 2.035, 2.035)
    assert slid(*near).verdict is Verdict.GOOD
    assert "as close as it can be set" in slid(*near).headline
    assert judged(*near).verdict is not Verdict.GOOD  # a thread sets it more finely


def test_what_lacks_less_than_the_finest_move_is_as_near_as_can_be() -> None:
    """What one millimetre does is learned from the one move: 1 gf; the finest is 0.05 mm."""
    tries = (1.94, nudge(0.1), 2.04, 2.06, 2.06)
    settled = judged(*tries, arm={**SLID, "counterweight_g": None})
    assert settled.verdict is Verdict.LEFT_AS_FOUND
    assert "as close as this control can be set" in settled.headline


def test_a_slid_weight_is_not_sent_on_for_ever() -> None:
    tries = [2.3, nudge(-0.7), 1.9, nudge(0.35), 2.12, nudge(-0.35)]
    off = slid(*tries, 1.92)
    assert off.verdict is Verdict.READ_AGAIN
    assert "twice more" in off.headline
    settled = slid(*tries, 1.92, 1.92, 1.92)
    assert settled.verdict is Verdict.LEFT_AS_FOUND
    assert "as close as this control can be set" in settled.headline
    assert any("maker's range" in note for note in settled.notes)


def test_a_slid_weight_is_sent_on_while_a_better_try_is_likely_or_the_range_is_left() -> None:
    assert slid(2.3, nudge(-0.7), 1.9, nudge(0.35), 2.08).verdict is Verdict.MOVE
    tries = [2.3, nudge(-0.7), 1.9, nudge(0.35), 2.12, nudge(-0.35)]
    assert slid(*tries, 1.84, 1.84, 1.84).verdict is Verdict.MOVE  # far off for such a hand
    assert slid(*tries, 1.7).verdict is Verdict.MOVE  # outside the maker's range


def test_a_slid_weight_ends_within_four_moves_most_of_the_time() -> None:
    moves = []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        bench = Arm(2.0 + 0.3 * float(rng.standard_normal()), 0.585, rng, hand_share=0.06)
        count = 0
        for _ in range(60):
            answer = bench.judged(STEP, deck(arm=SLID), cartridge())
            if answer.verdict.passes:
                break
            if answer.next_move is not None:
                bench.obey(answer.next_move)
                bench.downforce_gf += 0.585 * 0.15 * float(rng.standard_normal())
                count += 1
            bench.weigh()
        assert answer.verdict.passes, seed
        assert 1.75 <= bench.downforce_gf <= 2.25
        if answer.verdict is Verdict.GOOD:
            assert abs(bench.downforce_gf - 2.0) <= 0.1
        moves.append(count)
    assert np.median(moves) <= 2
    assert np.percentile(moves, 95) <= 5
