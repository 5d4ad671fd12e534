"""A cartridge that the counterweight can't balance: how much comes off or goes on, by hand.

On the scale it shows 7.0 g with its hardware, known to 1.96 x the root of 0.035² (half a per cent)
and 0.01²: 0.071 g. Weights go by tenths; what is ordered makes it certain, but not past the other
end.
"""

from __future__ import annotations

import pytest

from core.fitting import Control, Verdict
from tests.outside.told import moved, orders, pinned, said, told
from tests.worked import CHECKED

WEIGHED = {"way": "weighed", "weighed_g": 7.0}


@pytest.mark.parametrize(
    ("light", "heavy", "grams", "verdict"),
    [
        (3.0, 6.0, -1.1, Verdict.STOP),  # 1.0 and 0.071 over
        (3.0, 6.5, -0.6, Verdict.STOP),  # 0.5 and 0.071
        (5.95, 6.0, -1.05, Verdict.STOP),  # 1.1 would leave less than 5.95
        (8.5, 20.0, 1.6, Verdict.MOVE),  # 1.5 and 0.071 short
        (8.0, 20.0, 1.1, Verdict.MOVE),  # 1.0 and 0.071
        (8.0, 8.05, 1.05, Verdict.MOVE),  # 1.1 would pass 8.05
    ],
)
def test_what_goes_on_or_comes_off_at_the_head(
    light: float, heavy: float, grams: float, verdict: Verdict
) -> None:
    on = pinned(arm={"lightest_cartridge_g": light, "heaviest_cartridge_g": heavy})
    answer = told("mount", WEIGHED, CHECKED, on=on)
    assert answer.verdict is verdict
    assert moved(answer) == orders((Control.CARTRIDGE, "", grams, "g"), within=1e-6)
    assert answer.next_move is not None
    for told_g, words in (
        (7.0 + grams, said(answer.next_move.predicted)),
        (abs(grams), said(answer.next_move.sentence)),
    ):
        assert any(f"{told_g + less:.1f}\u00a0g" in words for less in (-0.01, 0.01)), words
    shown = {figure.key: figure.value for figure in answer.figures}
    assert (shown["balance_from"], shown["balance_to"]) == pytest.approx((light, heavy))


@pytest.mark.parametrize(
    ("light", "heavy", "near"),
    [
        (3.0, 7.05, True),  # 0.05 below the end, known to 0.071
        (3.0, 6.95, True),
        (6.95, 20.0, True),
        (7.05, 20.0, True),
        (3.0, 7.1, False),
        (6.9, 20.0, False),
    ],
)
def test_so_near_an_end_nothing_is_ordered_but_said(light: float, heavy: float, near: bool) -> None:
    on = pinned(arm={"lightest_cartridge_g": light, "heaviest_cartridge_g": heavy})
    answer = told("mount", WEIGHED, CHECKED, on=on)
    assert answer.verdict is Verdict.GOOD
    assert not moved(answer)
    assert any(note.key == "mount.note.near_the_end" for note in answer.notes) is near
