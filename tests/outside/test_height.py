"""Arm height against practice and rotations in space. Standing of each source beside its check."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from core.estimation import Estimate
from core.physics.pitch import (
    arm_pitch_deg,
    pillar_move_mm,
    pitch_change_deg,
    reach_change_mm,
    tilt_of_pitch_deg,
)


def test_4_mm_at_230_mm_are_about_a_degree() -> None:
    # Common practice, no source ('4 mm is about one degree'); figures derived.
    assert pitch_change_deg(4.0, 230.0) == pytest.approx(0.996, abs=5e-4)
    assert pitch_change_deg(1.0, 230.0) == pytest.approx(0.249, abs=5e-4)
    assert -pillar_move_mm(Estimate(1.0, 0.0), 230.0).value == pytest.approx(4.01, abs=5e-3)


@pytest.mark.parametrize(("front", "rear", "sign"), [(23.5, 29.0, 1), (27.0, 27.0, 0)])
def test_two_heights_say_which_end_is_high(front: float, rear: float, sign: int) -> None:
    # Common practice, no source.
    found = arm_pitch_deg(front, rear, 120.0, height_standard_uncertainty_mm=0.3)
    assert np.sign(found.value) == sign


@pytest.mark.parametrize("pitch_deg", [-2.5, -0.6, 0.4, 1.0, 2.0])
def test_the_pillar_move_levels_an_arm_turned_in_space(pitch_deg: float) -> None:
    # Derived a second way: stylus at the origin, the pivot free to rise on a fixed pillar; the
    # arm slides on the record as it turns. Root by scipy.optimize.brentq. The closed form leaves
    # out terms of pitch cubed and of pitch squared times the pivot's height.
    reach, pivot_height = 230.0, 25.0
    tube = Rotation.from_euler("y", math.radians(pitch_deg))
    level_pivot = np.array([-reach, 0.0, pivot_height])
    now = tube.apply(level_pivot)

    def pitch_left(rise: float) -> float:
        height = now[2] + rise
        length = np.linalg.norm(level_pivot)
        return math.asin(height / length) - math.asin(pivot_height / length)

    exact = brentq(pitch_left, -30, 30)
    found = pillar_move_mm(Estimate(pitch_deg, 0.0), -float(now[0])).value
    assert found == pytest.approx(exact, abs=pivot_height * math.radians(pitch_deg) ** 2 + 0.02)


@pytest.mark.parametrize("offset_deg", [0.0, 18.0, 24.0])
def test_pitch_about_an_axis_square_to_the_tube_tilts_the_head(offset_deg: float) -> None:
    # Derived a second way: the head's cross axis turned in space; its slope is the tilt.
    pitch = 1.0
    along = np.array([1.0, 0.0, 0.0])
    head_across = Rotation.from_euler("z", offset_deg, degrees=True).apply([0.0, 1.0, 0.0])
    turned = Rotation.from_rotvec(math.radians(pitch) * np.cross([0, 0, 1], along)).apply(
        head_across
    )
    tilt = math.degrees(math.asin(abs(turned[2])))
    assert tilt_of_pitch_deg(pitch, offset_deg) == pytest.approx(tilt, abs=1e-4)


def test_reach_gained_by_levelling_is_the_projection_lost() -> None:
    # Derived a second way: length of the turned arm less that of its shadow.
    arm = Rotation.from_euler("y", 1.5, degrees=True).apply([230.0, 0.0, 0.0])
    assert reach_change_mm(230.0, 1.5) == pytest.approx(230.0 - float(np.hypot(arm[0], arm[1])))
    assert reach_change_mm(230.0, 1.0) == pytest.approx(0.035, abs=5e-4)


def test_the_uncertainty_of_the_pitch_is_that_of_drawing_the_errors() -> None:
    # Reference: 400,000 seeded draws.
    rng = np.random.default_rng(8)
    front, rear = rng.normal(24.0, 0.3, 400_000), rng.normal(28.0, 0.3, 400_000)
    drawn = np.degrees(np.arctan2(rear - front, rng.normal(120.0, 2.0, 400_000)))
    found = arm_pitch_deg(
        24.0,
        28.0,
        120.0,
        height_standard_uncertainty_mm=0.3,
        spacing_standard_uncertainty_mm=2.0,
    )
    assert found.standard_uncertainty == pytest.approx(float(drawn.std()), rel=0.01)
