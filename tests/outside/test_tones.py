"""Tones against the standard's table, Bessel's sidebands, scipy's filters and Hilbert transform.

Standing of each source beside its check.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import signal, special

from core.language import Numbers
from core.practice.played_record import CutBand, Playing, Wave
from core.tones import CutSide, Listener, ToneBand, Track, speed_of
from tests.sounding import WEIGHTING_DB, heard, pieces_of

pytestmark = pytest.mark.long


def varying(wave: Wave) -> Playing:
    return Playing(waves=(wave,), noise_db=-80.0)


@pytest.mark.parametrize("hz", WEIGHTING_DB)
def test_a_sine_reads_as_the_table_weighs_it(hz: float) -> None:
    # The two-sigma value of a sine of peak p is p sin(0.95 pi / 2) = 0.9969 p (derived).
    told = heard((CutBand(3150.0, 32.0),), varying(Wave(hz, 0.5, 70.0)), 22_050).speed
    assert told is not None
    assert told.speed.fluctuation is not None
    weight = told.speed.fluctuation.steady_weighted_percent / (0.5 * 0.9969)
    assert 20.0 * math.log10(weight) == pytest.approx(WEIGHTING_DB[hz], abs=0.5)


def test_the_lowest_line_of_the_table_takes_minutes() -> None:
    told = heard((CutBand(3150.0, 240.0),), varying(Wave(0.1, 2.0, 70.0)), 16_000).speed
    assert told is not None
    assert told.speed.fluctuation is not None
    weight = told.speed.fluctuation.steady_weighted_percent / (2.0 * 0.9969)
    assert 20.0 * math.log10(weight) == pytest.approx(-48.0, abs=0.5)


def test_4_hz_reads_its_peak_exceeded_5_percent_of_the_time() -> None:
    # Derived: |p sin| is above p sin(0.95 pi / 2) for 5 % of a turn; 0.9969 printed in the card.
    told = heard((CutBand(3150.0, 30.0),), varying(Wave(4.0, 0.2))).speed
    assert told is not None
    assert told.speed.fluctuation is not None
    assert told.speed.fluctuation.steady_weighted_percent == pytest.approx(0.19938, rel=0.002)


@pytest.mark.parametrize(("rate_hz", "index"), [(20.0, 0.5), (60.0, 0.3), (140.0, 0.2)])
def test_bessels_sidebands_are_read_as_the_deviation_that_makes_them(
    rate_hz: float, index: float
) -> None:
    """A tone added up from its sidebands, J_n(index) at n times the rate, with no phase at all.

    Source: the expansion of a frequency-modulated wave, in any handbook (Abramowitz and Stegun
    9.1.42 to 9.1.45; memory). The deviation is the index times the rate.
    """
    rate, carrier = 48_000, 3150.0
    times = np.arange(20 * rate) / rate
    sound = np.zeros_like(times)
    for order in range(-6, 7):
        hz = carrier + order * rate_hz
        sound += special.jv(order, index) * np.sin(2 * np.pi * hz * times)
    listener = Listener(rate)
    listener.feed(np.stack([0.3 * sound, 0.3 * sound], axis=1))
    told = listener.finish().speed
    assert told is not None
    assert told.speed.fluctuation is not None
    peak = 100.0 * index * rate_hz / carrier
    unweighted = told.speed.fluctuation.unweighted_percent
    assert unweighted == pytest.approx(0.9969 * peak, rel=0.03)


def test_scipys_hilbert_transform_sees_the_same_speed() -> None:
    """The analytic signal of the whole recording, filtered by scipy, beside what is told."""
    playing = Playing(
        0.4, waves=(Wave(0.9, 0.15), Wave(7.0, 0.08, 50.0), Wave(31.0, 0.05)), noise_db=-70.0
    )
    cut, rate = (CutBand(3150.0, 30.0),), 48_000
    sound = np.concatenate(list(pieces_of(cut, playing, rate)))[: int(29.5 * rate), 0]
    passed = signal.butter(4, (2600.0, 3700.0), "bandpass", fs=rate, output="sos")
    analytic = signal.hilbert(signal.sosfiltfilt(passed, sound))
    hz = np.diff(np.unwrap(np.angle(analytic))) * rate / (2 * np.pi)
    slow = signal.butter(8, 215.0, fs=rate, output="sos")
    inner = signal.sosfiltfilt(slow, hz)[rate:-rate]
    told = heard(cut, playing, rate).speed
    assert told is not None
    assert told.speed.fluctuation is not None
    mean = float(np.mean(inner))
    reference = float(np.quantile(np.abs(100.0 * (inner / mean - 1.0)), 0.95))
    assert told.speed.hz == pytest.approx(mean, rel=2e-5)
    assert told.speed.fluctuation.unweighted_percent == pytest.approx(reference, rel=0.03)


def test_noise_through_the_weighting_agrees_with_scipys_filter_of_the_table() -> None:
    """A long FIR filter that scipy designs from the table, on random fluctuation."""
    rate = 1200.0
    points = sorted({0.0: -140.0, 0.1: -48.0, **WEIGHTING_DB, 400.0: -29.0, 600.0: -34.0}.items())
    hz = [one for one, _ in points]
    gain = [10.0 ** (db / 20.0) for _, db in points]
    taps = signal.firwin2(12_001, hz, gain, fs=rate, nfreqs=2**17 + 1)
    rng = np.random.default_rng(5)
    band = signal.butter(4, (0.5, 150.0), "bandpass", fs=rate, output="sos")
    wave = signal.sosfilt(band, rng.standard_normal(round(120 * rate)))
    wave *= 0.1 / np.std(wave)
    told = speed_of(Track(rate, 0.0, 3150.0 * (1.0 + wave / 100.0), np.ones(wave.size)), 3150.0)
    filtered = signal.fftconvolve(wave, taps, mode="same")[round(6 * rate) : -round(6 * rate)]
    reference = float(np.quantile(np.abs(filtered), 0.95))
    assert told.fluctuation is not None
    assert told.fluctuation.weighted_percent == pytest.approx(reference, rel=0.05)


def test_a_hole_off_centre_is_told_as_e_over_r() -> None:
    """0.2 mm at 60 mm is 0.33 % (derived); the groove's angle comes from a triangle."""
    told = heard((CutBand(3150.0, 20.0),), Playing(hole_mm=0.2, radius_mm=60.0)).speed
    assert told is not None
    assert told.speed.turn is not None
    assert told.speed.turn.percent == pytest.approx(0.333, rel=0.03)
    assert told.speed.turn.off_centre_mm(60.0) == pytest.approx(0.2, rel=0.03)


@pytest.mark.parametrize(
    ("nominal", "ratio", "percent"), [(3150.0, 1.35, 35.0), (3000.0, 1 / 1.35, -25.9)]
)
def test_a_record_at_the_deck_s_other_speed_is_told(
    nominal: float, ratio: float, percent: float
) -> None:
    # 45 / 33 1/3 is 1.35 (derived).
    found = heard((CutBand(nominal * ratio, 10.0),), Playing())
    assert found.speed is not None
    assert found.speed.error_percent == pytest.approx(percent, abs=0.05)
    assert [one.fault.value for one in found.faults] == ["other_speed"]


@pytest.mark.parametrize("percent", [0.0, 0.6])
def test_a_tone_that_may_be_its_own_or_a_usual_one_too_fast_is_told_as_either(
    percent: float,
) -> None:
    # 1.35 times 3,000 Hz is 4,050 (derived): within a deck's error of a tone cut at 4,000.
    found = heard((CutBand(4000.0, 10.0),), Playing(speed_percent=percent))
    assert found.speed is None
    (trouble,) = found.faults
    assert trouble.fault.value == "tone_unknown"
    words = Numbers().text(trouble.sentence)
    assert "3000 Hz on a deck at 45" in words.replace("\u00a0", " ")


def one_sided(left: np.ndarray, right: np.ndarray, rate: int = 48_000) -> ToneBand:
    listener = Listener(rate)
    noise = 1e-5 * np.random.default_rng(2).standard_normal((left.size, 2))
    listener.feed(np.stack((left, right), axis=1) + noise)
    (band,) = listener.finish().bands
    return band


@pytest.mark.parametrize(
    ("tilt_deg", "leak_db"), [(0.5, -41.18), (1.0, -35.16), (2.0, -29.14), (3.0, -25.61)]
)
def test_a_tilted_head_leaks_its_tangent(tilt_deg: float, leak_db: float) -> None:
    """A groove cut on the left wall alone, read by two coils that are turned against the walls.

    Derived: the wall moves along (1, 1) / sqrt 2; coils turned by t hear its shares along their own
    lines, cos t and sin t, so tan t leaks. Worked out beforehand: 0.5 degrees is -41.18 dB.
    """
    rate, turn = 48_000, math.radians(tilt_deg)
    times = np.arange(6 * rate) / rate
    moves = 0.3 * signal.chirp(times, 1000.0, 6.0, 1000.0)
    wall = np.array([1.0, 1.0]) / math.sqrt(2.0)
    turned = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    coils = [turned @ wall, turned @ (np.array([-1.0, 1.0]) / math.sqrt(2.0))]
    left, right = (float(coil @ wall) * moves for coil in coils)
    band = one_sided(left, right)
    assert band.side is CutSide.LEFT
    assert band.leak is not None
    assert band.leak.db == pytest.approx(leak_db, abs=0.02)


@pytest.mark.parametrize(("db", "deg"), [(-20.0, 30.0), (-33.0, -120.0), (-42.0, 175.0)])
def test_scipys_hilbert_transform_sees_the_same_leak(db: float, deg: float) -> None:
    """Analytic signals of both channels: the mean of one over the other is the leak."""
    playing = Playing(0.3, waves=(Wave(5.0, 0.1),), into_right=(db, deg), noise_db=-65.0)
    sound = np.concatenate(list(pieces_of((CutBand(1000.0, 6.0, "left"),), playing, 48_000)))
    passed = signal.butter(4, (900.0, 1100.0), "bandpass", fs=48_000, output="sos")
    analytic = signal.hilbert(signal.sosfiltfilt(passed, sound, axis=0), axis=0)[9_600:-24_000]
    ratio = np.vdot(analytic[:, 0], analytic[:, 1]) / np.vdot(analytic[:, 0], analytic[:, 0])
    listener = Listener(48_000)
    listener.feed(sound)
    (band,) = listener.finish().bands
    assert band.leak is not None
    assert band.leak.db == pytest.approx(20.0 * math.log10(abs(ratio)), abs=0.1)
    assert math.remainder(band.leak.deg - math.degrees(np.angle(ratio)), 360.0) == pytest.approx(
        0.0, abs=1.0
    )


def test_a_subsonic_filter_changes_no_figure() -> None:
    """Third order at 20 Hz, as phono stages have it (practice), by scipy, as a causal filter.

    What is told rides on the tones; what is below 20 Hz in the sound itself is not looked at.
    """
    cut = (
        CutBand(3150.0, 12.0, gap_s=1.0),
        CutBand(1000.0, 4.0, "left"),
        CutBand(315.0, 4.0, harmonics=(0.02,)),
    )
    playing = Playing(0.2, waves=(Wave(4.0, 0.1),), hole_mm=0.2, noise_db=-70.0, hum_db=None)
    sound = np.concatenate(list(pieces_of(cut, playing, 48_000)))
    subsonic = signal.butter(3, 20.0, "highpass", fs=48_000, output="sos")
    told = []
    for one in (sound, signal.sosfilt(subsonic, sound, axis=0)):
        listener = Listener(48_000)
        listener.feed(one)
        told.append(listener.finish())
    plain, without = told
    assert without.faults == plain.faults == ()
    assert plain.speed is not None
    assert without.speed is not None
    assert without.speed.error_percent == pytest.approx(plain.speed.error_percent, abs=1e-4)
    kept = plain.speed.speed.fluctuation, without.speed.speed.fluctuation
    assert kept[0] is not None
    assert kept[1] is not None
    assert kept[1].weighted_percent == pytest.approx(kept[0].weighted_percent, rel=0.005)
    for before, after in zip(plain.bands, without.bands, strict=True):
        assert after.level_db == pytest.approx(before.level_db, abs=0.02)
        assert (after.leak is None) == (before.leak is None)
        if after.leak is not None and before.leak is not None:
            assert after.leak.db == pytest.approx(before.leak.db, abs=0.05)
    distorted = plain.bands[2].worst_distortion_percent
    assert distorted == pytest.approx(2.0, rel=0.02)  # the second harmonic is cut at 2 %
    assert without.bands[2].worst_distortion_percent == pytest.approx(distorted, rel=0.01)
