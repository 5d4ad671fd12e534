"""Random recordings of known truth: a few here, many in ``tests/bench/tones.py``."""

from __future__ import annotations

import numpy as np
import pytest

from core.tones import Fault
from tests.tone_trials import (
    PLAYED,
    TRAPS,
    bands_trial,
    leak_trial,
    speed_trial,
    tilt_trial,
    trap_trial,
)

pytestmark = pytest.mark.long

FAST = (44_100, 48_000)


@pytest.mark.parametrize("trial", range(6))
def test_speed_is_told_as_it_is(trial: int) -> None:
    for miss in speed_trial(np.random.default_rng([40, trial]), FAST):
        assert miss.ratio <= 1.0, miss


@pytest.mark.parametrize("rate", [96_000, 192_000])
def test_speed_is_told_at_high_rates(rate: int) -> None:
    for miss in speed_trial(np.random.default_rng([41, rate]), (rate,)):
        assert miss.ratio <= 1.0, miss


@pytest.mark.parametrize("trial", range(6))
def test_leak_is_told_as_it_is(trial: int) -> None:
    for miss in leak_trial(np.random.default_rng([42, trial]), FAST):
        assert miss.ratio <= 1.0, miss


def test_the_best_tilt_is_told_from_two_settings_with_its_interval() -> None:
    found = [tilt_trial(np.random.default_rng([46, trial])) for trial in range(2000)]
    assert sum(off <= 0.1 for off, _ in found) >= 0.99 * len(found)
    assert 0.93 <= sum(off <= half for off, half in found) / len(found) <= 0.97


@pytest.mark.parametrize("trial", range(5))
def test_bands_are_found_and_named(trial: int) -> None:
    for miss in bands_trial(np.random.default_rng([43, trial]), FAST):
        assert miss.ratio <= 1.0, miss


@pytest.mark.parametrize("fault", [*TRAPS, *PLAYED])
def test_a_trap_is_recognised(fault: Fault) -> None:
    assert fault in trap_trial(np.random.default_rng([44, 1]), fault, FAST[0])


@pytest.mark.parametrize("trial", range(4))
def test_nothing_is_wrong_with_a_sound_recording(trial: int) -> None:
    assert trap_trial(np.random.default_rng([45, trial]), None, FAST[0]) == set()
