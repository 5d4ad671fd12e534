from __future__ import annotations

import math

import pytest

from core.records import ArmKind
from core.workflow.new_deck import much_like, usual_arm
from tests.examples import deck


@pytest.mark.parametrize(
    ("pivot", "length", "offset"),
    [(222.0, 239.3, 22.99), (295.0, 308.2, 17.65), (212.0, 230.0, 23.97)],
)
def test_an_offset_arm_reaches_over_the_spindle_as_handbooks_say(
    pivot: float, length: float, offset: float
) -> None:
    """Checked with null radii 66.0 and 120.9 mm as printed in handbooks (memory) by geometry:
    at each of them the line from stylus to pivot and the groove must make the offset angle."""
    arm = usual_arm(ArmKind.PIVOTED_OFFSET, pivot)
    assert arm is not None
    assert arm.effective_length_mm == pytest.approx(length, abs=0.1)
    assert arm.offset_deg == pytest.approx(offset, abs=0.1)
    reach = arm.effective_length_mm
    for radius in (66.0, 120.9):
        at_stylus = (radius**2 + reach**2 - pivot**2) / (2 * radius * reach)
        to_tangent = 90.0 - math.degrees(math.acos(at_stylus))
        assert to_tangent == pytest.approx(arm.offset_deg, abs=0.15)


def test_a_straight_arm_ends_short_of_the_spindle_and_stands_along_one_groove() -> None:
    arm = usual_arm(ArmKind.PIVOTED_STRAIGHT, 212.0)
    assert arm is not None
    assert arm.offset_deg == 0.0
    assert arm.effective_length_mm < 212.0
    # Where the head stands along the groove, pivot, stylus and spindle make a right angle.
    null = math.sqrt(212.0**2 - arm.effective_length_mm**2)
    assert 60.325 < null < 146.05


def test_there_is_no_usual_arm_without_a_pivot_or_over_the_record() -> None:
    assert usual_arm(ArmKind.PARALLEL, 222.0) is None
    assert usual_arm(ArmKind.PIVOTED_OFFSET, 90.0) is None
    assert usual_arm(ArmKind.PIVOTED_STRAIGHT, 50.0) is None


def test_what_belongs_to_the_other_deck_alone_stays_behind() -> None:
    other = deck(owner_reference="Job 12", notes="Bearing replaced")
    made = much_like(other, "Mine")
    assert (made.name, made.owner_reference, made.notes) == ("Mine", "", "")
    assert made.arm == other.arm
