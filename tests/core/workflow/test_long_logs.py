"""A log of thousands of entries is worked out in work that grows as the log does.

Counted are the lines of Python that are run, which is the same on every machine and on every day.
What one call into C takes is not in it: ``python -m tests.bench.long_logs`` measures the time.
"""

from __future__ import annotations

import sys
from types import FrameType
from typing import Any

import pytest

from core.fitting import Fitting
from core.steps import STEP_NAMES
from core.workflow.replay import journey_of
from tests.examples import cartridge, deck
from tests.long_logs import long_fitting

pytestmark = pytest.mark.long

_LESS, _MORE = 500, 3000
_SHARE = 1.5
"""What is linear takes 6 times as long for 6 times as many, what goes by pairs 36 times."""


def _lines_run(fitting: Fitting) -> int:
    """Return how many lines of Python work out where a fitting stands, loops counted each time."""
    count = 0

    def noted(_frame: FrameType, _event: str, _argument: Any) -> Any:
        nonlocal count
        count += 1
        return noted

    before = sys.gettrace()
    sys.settrace(noted)
    try:
        journey_of(deck(), cartridge(), fitting)
    finally:
        sys.settrace(before)
    return count


@pytest.mark.parametrize("step", [*STEP_NAMES, ""])
@pytest.mark.parametrize("only_readings", [False, True], ids=["moves", "readings"])
def test_many_times_the_entries_take_no_more_than_as_many_times_the_work(
    step: str, only_readings: bool
) -> None:
    steps = (step,) if step else STEP_NAMES
    less, more = (
        long_fitting(count, steps=steps, contradicting=True, only_readings=only_readings)
        for count in (_LESS, _MORE)
    )
    journey_of(deck(), cartridge(), less)  # what is made once for all is made
    assert _lines_run(more) < _SHARE * _MORE / _LESS * _lines_run(less)
