"""Resonance from a sweep: the truth is a second-order response, by scipy's transfer function."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.signal import chirp, freqs

from core.tones import SweepListener

pytestmark = pytest.mark.long

RATE = 44_100


def swept(
    resonance_hz: float,
    q: float = 3.0,
    *,
    seconds: float = 40.0,
    down: bool = True,
    vertical: bool = False,
    noise_db: float = -50.0,
    seed: int = 1,
) -> np.ndarray:
    """Return a pilot of 1 kHz that shakes as an arm does under a sweep from 4 to 20 Hz."""
    times = np.arange(round(seconds * RATE)) / RATE
    ends = (20.0, 4.0) if down else (4.0, 20.0)
    sweep = chirp(times, ends[0], seconds, ends[1], method="logarithmic")
    hz = ends[0] * (ends[1] / ends[0]) ** (times / seconds)
    # A mass on a spring, moved at its foot: x/y = s^2 / (s^2 + s w/Q + w^2).
    w = 2.0 * math.pi * resonance_hz
    _, answer = freqs([1.0, 0.0, 0.0], [1.0, w / q, w * w], 2.0 * math.pi * hz)
    shake = 0.01 * np.abs(answer) * sweep / hz  # cut at constant velocity
    rng = np.random.default_rng(seed)
    pair = []
    for side in (1.0, -1.0 if vertical else 1.0):
        phase = 2.0 * math.pi * np.cumsum(1000.0 * (1.0 + 0.3 * side * shake)) / RATE
        tone = 0.2 * (1.0 + side * shake) * np.sin(phase)
        rumble = 0.1 * side * sweep
        noise = 0.2 / math.sqrt(2.0) * 10.0 ** (noise_db / 20.0) * rng.standard_normal(times.size)
        pair.append(tone + rumble + noise)
    return np.stack(pair, axis=1)


def truth_of(resonance_hz: float, q: float = 3.0) -> float:
    """Return where the same response, cut at constant velocity, is greatest."""
    hz = np.linspace(4.0, 20.0, 20_001)
    w = 2.0 * math.pi * resonance_hz
    _, answer = freqs([1.0, 0.0, 0.0], [1.0, w / q, w * w], 2.0 * math.pi * hz)
    return float(hz[np.argmax(np.abs(answer) / hz)])


def told(sound: np.ndarray, piece: int = 30_011):  # type: ignore[no-untyped-def]  # whatever is told
    listener = SweepListener(RATE)
    for begin in range(0, len(sound), piece):
        listener.feed(sound[begin : begin + piece])
    return listener.finish()


@pytest.mark.parametrize("resonance_hz", [7.0, 9.0, 12.0, 15.0])
@pytest.mark.parametrize("way", [{}, {"down": False}, {"vertical": True}, {"q": 5.0}])
def test_it_shakes_most_where_the_response_is_greatest(
    resonance_hz: float, way: dict[str, float]
) -> None:
    found = told(swept(resonance_hz, **way))  # type: ignore[arg-type]  # a table of options
    assert found is not None
    truth = truth_of(resonance_hz, way.get("q", 3.0))
    assert found.hz == pytest.approx(truth, abs=2.5 * found.spread_hz)
    assert found.spread_hz < 0.06 * truth
    assert found.low_hz == pytest.approx(4.0, abs=0.6)
    assert found.high_hz == pytest.approx(20.0, abs=2.0)
    assert found.pilot_hz == pytest.approx(1000.0, abs=2.0)
    assert not found.is_at_end


def test_a_resonance_beyond_the_sweep_is_said_to_lie_at_its_end() -> None:
    found = told(swept(3.0, 2.0))
    assert found is not None
    assert found.is_at_end


def test_what_is_no_sweep_tells_nothing() -> None:
    times = np.arange(20 * RATE) / RATE
    tone = np.repeat(0.2 * np.sin(2 * np.pi * 1000 * times)[:, None], 2, axis=1)
    steady = tone * (1.0 + 0.05 * np.sin(2 * np.pi * 9.0 * times))[:, None]
    noise = np.random.default_rng(3).normal(0.0, 0.1, (20 * RATE, 2))
    for sound in (tone, steady, noise, np.zeros((RATE, 2)), tone[: 2 * RATE]):
        assert told(sound) is None


def test_silence_around_the_sweep_is_no_shaking() -> None:
    """A pilot tone that ends falls at once: that edge is no answer of the arm."""
    sound = swept(9.0, seconds=30.0)
    quiet = 1e-5 * np.random.default_rng(2).standard_normal((4 * RATE, 2))
    found = told(np.concatenate((sound, quiet)))
    assert found is not None
    assert found.hz == pytest.approx(truth_of(9.0), abs=2.5 * found.spread_hz)
