import numpy as np
import pytest

from core.estimation import Estimate
from core.physics.strobe import (
    nearest_bars,
    percent_off,
    rpm_of_bars,
    rpm_of_drift,
    rpm_of_turns,
    speed_error_percent,
    turns_needed,
)
from tests.truth import Held, TruthComesBack, held_by


class TestSpeedFromStrobe(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        rpm = 100 / 3 * (1 + rng.normal(0, 0.005))
        mains = 100.0 * (1 + rng.normal(0, 0.0003))
        seconds = rng.uniform(10, 40)
        # Bars past the mark: what the disc turned in bars, less one for each flash.
        drifted = (rpm / 60 * 180 - mains) * seconds
        found = rpm_of_drift(
            180,
            100.0,
            drifted + rng.normal(0, 0.3),
            seconds + rng.normal(0, 0.2),
            drift_standard_uncertainty_bars=0.3,
            time_standard_uncertainty_s=0.2,
            flashes_relative_uncertainty=0.0003,
        )
        return {"rpm": held_by(rpm, found)}


class TestSpeedFromTimedTurns(TruthComesBack):
    def attempt(self, rng: np.random.Generator) -> Held:
        rpm = 45 * (1 + rng.normal(0, 0.01))
        turns = int(rng.integers(20, 100))
        seconds = 60 * turns / rpm + rng.normal(0, 0.15)
        found = rpm_of_turns(turns, seconds, time_standard_uncertainty_s=0.15)
        return {"rpm": held_by(rpm, found)}


def test_bars_drifting_with_the_platter_mean_fast() -> None:
    fast = rpm_of_drift(180, 100.0, 5, 30.0, drift_standard_uncertainty_bars=0.3)
    slow = rpm_of_drift(180, 100.0, -5, 30.0, drift_standard_uncertainty_bars=0.3)
    assert slow.value < 100 / 3 < fast.value


def test_no_other_whole_number_of_bars_stands_nearer() -> None:
    for nominal in (100 / 3, 45.0, 78.26):
        for flashes in (50.0, 100.0, 120.0, 300.0):
            best = nearest_bars(nominal, flashes)
            for other in (best.bars - 1, best.bars + 1):
                if other > 0:
                    gap = abs(rpm_of_bars(other, flashes) - nominal)
                    assert abs(best.stands_at_rpm - nominal) <= gap


def test_exact_discs_say_so() -> None:
    assert nearest_bars(100 / 3, 100.0).exact
    assert not nearest_bars(45.0, 100.0).exact


def test_counting_the_turns_named_keeps_within_half_the_tolerance() -> None:
    turns = turns_needed(100 / 3, 0.3, 0.2)
    found = rpm_of_turns(turns, turns * 1.8, time_standard_uncertainty_s=0.2)
    assert speed_error_percent(found, 100 / 3).half_width() <= 0.15 + 1e-6
    assert turns_needed(100 / 3, 50.0, 0.0) == 1


def test_percent_and_its_uncertainty_agree() -> None:
    error = speed_error_percent(Estimate(33.5, 0.1), 100 / 3)
    assert error.value == pytest.approx(percent_off(33.5, 100 / 3))
    assert error.standard_uncertainty == pytest.approx(0.3)


@pytest.mark.parametrize(("turns", "seconds"), [(0, 60), (10, 0), (10, -5)])
def test_times_and_turns_of_nothing_are_refused(turns: float, seconds: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        rpm_of_turns(turns, seconds, time_standard_uncertainty_s=0.1)
