from typing import Literal

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from core.estimation import Estimate
from core.physics.pitch import (
    arm_pitch_deg,
    pillar_move_mm,
    pitch_change_deg,
    pitch_change_of_record_deg,
)
from tests.truth import Held, TruthComesBack, held_by


class TestPitchAndPillar(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        # A level tube with marks near either end and its pivot beyond, turned in space about the
        # stylus; a ruler then finds heights and distances (scipy.spatial.transform).
        pitch = rng.uniform(-3, 3)
        head, behind = rng.uniform(20, 30), rng.uniform(80, 160)
        level = np.array([[-20, 0, head], [-20 - behind, 0, head], [-rng.uniform(200, 300), 0, 0]])
        near, far, pivot = Rotation.from_euler("y", pitch, degrees=True).apply(level)
        front, rear = (h + rng.normal(0, 0.3) for h in (near[2], far[2]))
        spacing, reach = near[0] - far[0], -pivot[0]
        found = arm_pitch_deg(
            front,
            rear,
            spacing + rng.normal(0, 1.0),
            height_standard_uncertainty_mm=0.3,
            spacing_standard_uncertainty_mm=1.0,
        )
        move = pillar_move_mm(found, reach + rng.normal(0, 2.0), reach_standard_uncertainty_mm=2.0)
        return {
            "pitch": held_by(pitch, found),
            "pillar": held_by(-pivot[2], move),
        }


@pytest.mark.parametrize("edge", ["top", "bottom"])
def test_a_tapered_tube_is_read_by_its_axis(edge: Literal["top", "bottom"]) -> None:
    sign = 1.0 if edge == "top" else -1.0
    axis_front, axis_rear = 25.0, 27.0
    found = arm_pitch_deg(
        axis_front + sign * 4.0,
        axis_rear + sign * 6.0,
        120.0,
        height_standard_uncertainty_mm=0.3,
        front_diameter_mm=8.0,
        rear_diameter_mm=12.0,
        edge=edge,
    )
    # 1 in 60: 57.29578 / 60 = 0.954930 degrees along the arc, less a third of its cube, 0.000088.
    assert found.value == pytest.approx(0.954842, abs=2e-6)


def test_the_pillar_moves_by_the_reach_and_not_by_the_difference_read() -> None:
    found = arm_pitch_deg(23.5, 29.0, 110.0, height_standard_uncertainty_mm=0.3)
    # 1 in 20, so 11.5 mm over 230 mm.
    assert pillar_move_mm(found, 230.0).value == pytest.approx(-11.5)


def test_a_thicker_record_leaves_the_rear_low() -> None:
    assert pitch_change_of_record_deg(1.0, 230.0) == -pitch_change_deg(1.0, 230.0) < 0


def test_nothing_is_computed_for_a_reach_or_spacing_of_nothing() -> None:
    with pytest.raises(ValueError, match="stylus to pivot"):
        pillar_move_mm(Estimate(1.0, 0.1), 0.0)
    with pytest.raises(ValueError, match="some distance apart"):
        arm_pitch_deg(1, 2, 0, height_standard_uncertainty_mm=0.3)
