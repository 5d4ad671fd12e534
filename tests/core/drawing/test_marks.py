from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.drawing.marks import arrow_head, whole_steps

PLACES = st.floats(-100.0, 100.0)


@pytest.mark.parametrize(
    ("module", "absent"),
    [
        ("core.drawing.roles", "numpy"),
        ("core.drawing.drawing", "numpy"),
        ("core.drawing.chart", "PySide6"),
    ],
)
def test_roles_and_marks_come_without_numpy_and_charts_without_a_screen(
    module: str, absent: str
) -> None:
    code = f"import sys, {module}; sys.exit({absent!r} in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@given(x=PLACES, y=PLACES, turn=st.floats(0.0, 6.28), long=st.floats(1.0, 50.0))
def test_an_arrows_head_ends_square_to_its_shaft(
    x: float, y: float, turn: float, long: float
) -> None:
    tip = x + long * math.cos(turn), y + long * math.sin(turn)
    neck, left, right = arrow_head((x, y), tip, 0.8, 0.3)
    assert math.dist(neck, tip) == pytest.approx(0.8)
    assert math.dist((x, y), neck) == pytest.approx(long - 0.8)
    for side in (left, right):
        assert math.dist(side, neck) == pytest.approx(0.3)
        assert math.dist(side, tip) == pytest.approx(math.hypot(0.8, 0.3))
    assert math.dist(left, right) == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("low", "high", "step", "count"), [(0.0, 1.0, 0.1, 11), (-0.25, 0.25, 0.1, 5), (2.1, 2.9, 1, 0)]
)
def test_steps_reach_both_ends(low: float, high: float, step: float, count: int) -> None:
    steps = whole_steps(low, high, step)
    assert len(steps) == count
    assert all(low - 1e-9 <= one <= high + 1e-9 for one in steps)
