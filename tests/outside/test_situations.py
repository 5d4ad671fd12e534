"""All that a person is told in two hundred situations: each sentence, order, question and reading.

Each was read through by whoever kept it (``situations.py`` says how): that the direction is right,
that nothing is missing, and that nothing is told which does not belong there. What the amounts are
is worked by hand elsewhere in this folder.
"""

from __future__ import annotations

from functools import cache

import pytest

from core.fitting import Control
from core.steps import STEP_NAMES
from tests.outside.situations import approved, shown, situations

NAMES = tuple(situations())
known = cache(approved)


@pytest.mark.parametrize("name", NAMES)
def test_this_and_no_more_is_told(name: str) -> None:
    """``python -m tests.outside.situations --write``, after reading what has changed."""
    assert shown(situations()[name]) == known()[name]


def test_each_step_has_its_situations_and_each_is_kept() -> None:
    assert {one.step for one in situations().values()} == set(STEP_NAMES)
    assert set(known()) == set(NAMES)


def test_most_controls_are_ordered_in_some_situation_either_way() -> None:
    """So that no direction can be exchanged for the other without a line that changes."""
    text = "\n".join(known().values())
    for control in (
        *(Control.FOOT, Control.COUNTERWEIGHT, Control.PILLAR, Control.SLIDE, Control.TWIST),
        *(Control.TILT, Control.SKATING, Control.SPEED),
    ):
        orders = [
            part
            for line in text.splitlines()
            if line.startswith("  order ")
            for part in line.removeprefix("  order ").partition(",")[0].split("; ")
            if part.startswith(control.value)
        ]
        assert {"+" in part for part in orders} >= {True}, control
        if control is not Control.FOOT:  # feet are made longer, which never unscrews one
            assert {"+" in part for part in orders} == {True, False}, control
