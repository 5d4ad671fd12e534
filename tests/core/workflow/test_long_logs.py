"""A log of thousands of entries is worked out in a time that grows as the log does."""

from __future__ import annotations

import time

import pytest

from core.fitting import Fitting
from core.steps import STEP_NAMES
from core.workflow.replay import journey_of
from tests.examples import cartridge, deck
from tests.long_logs import long_fitting

pytestmark = pytest.mark.long

_LESS, _MORE = 500, 3000
_SHARE = 2.5
"""What is linear takes 6 times as long for 6 times as many, what goes by pairs 36 times."""


def _seconds(fitting: Fitting) -> float:
    """Return the least of two runs, by this thread's own processor time."""
    took = []
    for _ in range(2):
        began = time.thread_time()
        journey_of(deck(), cartridge(), fitting)
        took.append(time.thread_time() - began)
    return min(took)


@pytest.mark.parametrize("step", [*STEP_NAMES, ""])
@pytest.mark.parametrize("only_readings", [False, True], ids=["moves", "readings"])
def test_many_times_the_entries_take_no_more_than_as_many_times_the_time(
    step: str, only_readings: bool
) -> None:
    steps = (step,) if step else STEP_NAMES
    less, more = (
        long_fitting(count, steps=steps, contradicting=True, only_readings=only_readings)
        for count in (_LESS, _MORE)
    )
    _seconds(less)  # what is made once for all is made
    assert _seconds(more) < _SHARE * _MORE / _LESS * max(_seconds(less), 0.02)
