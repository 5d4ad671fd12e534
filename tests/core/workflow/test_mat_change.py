"""What another mat does to a deck: which way the arm stands then is seen with a ruler."""

from __future__ import annotations

import pytest

from core.language import Numbers
from core.workflow.mat_change import told_of_mat
from tests.examples import cartridge, deck


def told(thicker_mm: float) -> list[str]:
    return [Numbers().text(line) for line in told_of_mat(thicker_mm, deck(), cartridge())]


def test_a_thinner_mat_leaves_the_rear_as_much_too_high() -> None:
    # The head comes down by 2 mm with the record: the pillar has to come down by as much.
    lines = told(1.0 - 3.0)
    assert lines[0].startswith("The mat is 2.0\u00a0mm thinner")
    assert lines[1] == "Arm height: the rear of the arm is about 2.0\u00a0mm too high now."
    assert [line.split(":")[0] for line in lines[2:]] == ["Alignment", "Tilt", "Downforce"]


def test_a_thicker_mat_leaves_it_too_low_and_the_same_mat_tells_nothing() -> None:
    assert "1.0\u00a0mm too low" in told(1.0)[1]
    assert told(0.0) == []


def test_twice_as_thick_a_mat_does_about_twice_as_much() -> None:
    """To downforce too, which is told as the most it may be: 95 of 100 are inside."""

    def sizes(thicker_mm: float) -> list[float]:
        lines = told_of_mat(thicker_mm, deck(), cartridge())
        return [float(getattr(line.values["size"], "value")) for line in lines]  # noqa: B009 - any value

    once, twice = sizes(2.0), sizes(4.0)
    assert len(once) == 5
    for one, two in zip(once[:2] + once[3:], twice[:2] + twice[3:], strict=True):
        assert two == pytest.approx(2.0 * one, rel=0.05)
    assert twice[2] == pytest.approx(2.0 * once[2], rel=0.3)  # reach, by the cosine too
    assert 0.0 < once[-1] < 0.2
