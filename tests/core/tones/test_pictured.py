"""What is kept for the pictures of a tone, beside tracks made of known sines and lines."""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.practice.played_record import CutBand, Playing
from core.tones import SpeedPictured, ToneSpeed, Track, speed_of
from tests.sounding import heard

RATE = 1200.0
TURN_S = 1.8
"""Of 33 1/3 rpm: 60 s over 33 1/3 (derived)."""


def seen_of(percent: np.ndarray, hz: float = 3150.0) -> tuple[ToneSpeed, SpeedPictured]:
    track = Track(RATE, 0.0, hz * (1.0 + percent / 100.0), np.ones(percent.size))
    told = speed_of(track, hz, 100.0 / 3.0)
    assert told.seen is not None
    return told, told.seen


def times(seconds: float) -> np.ndarray:
    return (np.arange(round(seconds * RATE)) - 0.5) / RATE


def test_the_turn_is_the_shape_that_comes_back_whatever_else_varies() -> None:
    """A hump over thirty degrees, once a turn, under a flutter of 9.3 Hz that is no multiple."""
    at = times(90.0)
    place = at / TURN_S % 1.0 * 360.0
    hump = np.where((place >= 90.0) & (place < 120.0), 0.2, 0.0)
    told, seen = seen_of(hump + 0.1 * np.sin(2 * np.pi * 9.3 * at))
    assert told.turn is not None
    shape = np.array(seen.turn_percent)
    # where the hump stands in places of five degrees, from where the angle is counted
    begin = (90.0 - told.turn.from_s / TURN_S * 360.0) % 360.0 / 5.0
    level = 0.2 * 30.0 / 360.0  # the mean is taken out
    inside = [(math.ceil(begin) + k) % 72 for k in range(5)]
    outside = [(math.ceil(begin) + 8 + k) % 72 for k in range(60)]
    assert shape[inside] == pytest.approx(0.2 - level, abs=0.015)
    assert shape[outside] == pytest.approx(-level, abs=0.015)


def test_the_turn_fastest_where_the_once_per_turn_says() -> None:
    told = heard((CutBand(3150.0, 20.0),), Playing(hole_mm=0.3)).speed
    assert told is not None
    assert told.speed.turn is not None
    assert told.speed.seen is not None
    shape = np.array(told.speed.seen.turn_percent)
    assert np.ptp(shape) / 2.0 == pytest.approx(told.speed.turn.percent, rel=0.1)
    fastest = (np.argmax(shape) + 0.5) * 5.0
    away = (fastest - told.speed.turn.fastest_deg + 180.0) % 360.0 - 180.0
    assert abs(away) < 15.0


def test_drift_is_the_line_that_was_put_in_without_the_turn() -> None:
    at = times(300.0)
    wave = 0.3 * np.sin(2 * np.pi * at / TURN_S) + 0.4 * (at / 300.0 - 0.5) ** 2
    _, seen = seen_of(wave)
    when, percent = (np.array(one) for one in zip(*seen.drift, strict=True))
    assert when[0] < 6.0
    assert when[-1] > 292.0
    bow = 0.4 * (when / 300.0 - 0.5) ** 2
    assert percent - percent.mean() == pytest.approx(bow - bow.mean(), abs=0.002)


def test_the_spectrum_keeps_every_peak_that_stands_alone() -> None:
    at = times(60.0)
    put = {1.0 / TURN_S: 0.2, 0.48: 0.05, 4.0: 0.1, 25.0: 0.05, 100.0: 0.03}
    _, seen = seen_of(sum(p * np.sin(2 * np.pi * hz * at) for hz, p in put.items()))
    hz, peaks = (np.array(one) for one in zip(*seen.spectrum, strict=True))
    for wanted, size in put.items():
        near = int(np.argmin(np.abs(np.log(hz / wanted))))
        assert hz[near] == pytest.approx(wanted, rel=0.02)
        assert peaks[near] == pytest.approx(size, rel=0.03)


@pytest.mark.parametrize("minutes", [0.1, 1.0, 20.0])
def test_what_is_kept_is_short_however_long_the_side(minutes: float) -> None:
    at = times(60.0 * minutes)
    _, seen = seen_of(0.1 * np.sin(2 * np.pi * 0.7 * at))
    assert len(seen.turn_percent) == 72
    assert len(seen.spectrum) <= 90
    assert len(seen.drift) <= 60
    assert bool(seen.drift) is (minutes > 0.4)


def test_a_tone_too_short_for_a_turn_has_no_picture() -> None:
    track = Track(RATE, 0.0, np.full(1200, 3150.0), np.ones(1200))
    assert speed_of(track, 3150.0).seen is None
