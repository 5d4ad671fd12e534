"""Speed from a track: spectrum, drift, the turn that is found by itself, the weighting's curve."""

from __future__ import annotations

import numpy as np
import pytest

from core.practice.played_record import CutBand, Playing
from core.tones import WEIGHTING, Track, mended, spectrum_of, speed_of, weighting, weighting_db
from tests.sounding import heard

RATE = 1200.0


def track(percent: np.ndarray, hz: float = 3150.0) -> Track:
    return Track(RATE, 0.0, hz * (1.0 + percent / 100.0), np.ones(percent.size))


def times(seconds: float) -> np.ndarray:
    return (np.arange(round(seconds * RATE)) - 0.5) / RATE


def test_the_spectrum_shows_a_sine_as_its_peak() -> None:
    at = times(60.0)
    wave = 0.1 * np.sin(2 * np.pi * 4.0 * at) + 0.05 * np.sin(2 * np.pi * 0.55 * at)
    hz, peaks = spectrum_of(track(wave))
    assert peaks[np.argmin(np.abs(hz - 4.0))] == pytest.approx(0.1, rel=0.01)
    assert peaks[np.argmin(np.abs(hz - 0.55))] == pytest.approx(0.05, rel=0.01)
    assert hz[-1] == pytest.approx(200.0, abs=0.1)
    assert float(np.median(peaks)) < 1e-4


def test_drift_is_told_and_is_no_fluctuation() -> None:
    at = times(60.0)
    told = speed_of(track(0.2 * (at / 60.0 - 0.5) + 0.02 * np.sin(2 * np.pi * 4.0 * at)), 3150.0)
    assert told.drift_percent == pytest.approx(0.2, rel=0.01)
    assert told.fluctuation is not None
    assert told.fluctuation.unweighted_percent == pytest.approx(0.02, rel=0.03)


@pytest.mark.parametrize("rpm", [100.0 / 3.0, 45.0, 78.0])
def test_the_speed_with_most_once_a_turn_is_found(rpm: float) -> None:
    told = heard((CutBand(3150.0, 20.0),), Playing(hole_mm=0.3, rpm=rpm)).speed
    assert told is not None
    assert told.speed.turn is not None
    assert told.speed.turn.chosen_rpm == pytest.approx(rpm)
    assert told.speed.turn.percent == pytest.approx(0.3, rel=0.03)


def test_the_weighting_meets_every_line_and_stays_between_its_neighbours() -> None:
    hz = np.array([one for one, _ in WEIGHTING])
    db = np.array([one for _, one in WEIGHTING])
    assert weighting_db(hz) == pytest.approx(db, abs=1e-9)
    fine = np.geomspace(hz[0], hz[-1], 2000)
    place = np.clip(np.searchsorted(hz, fine) - 1, 0, hz.size - 2)
    low, high = np.minimum(db[place], db[place + 1]), np.maximum(db[place], db[place + 1])
    between = weighting_db(fine)
    assert np.all((between >= low - 1e-9) & (between <= high + 1e-9))


def test_nothing_passes_at_zero_and_less_beyond_both_ends() -> None:
    assert weighting(np.array([0.0]))[0] == 0.0
    low, high = weighting_db(np.array([0.05, 400.0]))
    assert low < -60.0
    assert high < -27.0


def test_a_jump_of_phase_is_told_from_a_click() -> None:
    clean = np.full(12_000, 3150.0)
    jump = clean.copy()
    jump[6000] += RATE / 4.0  # a quarter of a turn at once
    found = mended(Track(RATE, 0.0, jump, np.ones(jump.size)))
    assert found.jumps_s == pytest.approx([5.0], abs=0.02)
    assert found.track.hz == pytest.approx(clean)
    click = clean.copy()
    click[6000:6002] += (200.0, -200.0)  # there and back
    found = mended(Track(RATE, 0.0, click, np.ones(click.size)))
    assert (len(found.spoiled_s), found.jumps_s) == (1, ())
    assert found.track.hz == pytest.approx(clean)
