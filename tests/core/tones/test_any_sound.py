"""Whatever samples come: an answer, no exception and no warning of numpy, in bounded time."""

from __future__ import annotations

import math
import time
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from core.tones import Heard, Listener, SweepListener, moment_of

RATES = (8_000, 11_025, 44_100, 48_000)
ODD = (0.0, 1.0, -1.0, 1e-300, 1e300, math.inf, -math.inf, math.nan, 1e-5, 2.0)
MOST_TIMES = 5.0
"""Processor seconds for a second of sound: a hundred times what it takes."""


@st.composite
def sounds(draw: st.DrawFn) -> tuple[int, NDArray[np.float64]]:
    """Return a rate and sound in stretches: tones, steps, noise, silence, what is no number."""
    rate = draw(st.sampled_from(RATES))
    channels = draw(st.integers(1, 3))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    pieces = []
    for _ in range(draw(st.integers(0, 5))):
        count = draw(st.integers(0, 2 * rate))
        kind = draw(st.sampled_from(("tone", "noise", "silence", "constant", "odd", "sparse")))
        size = 10.0 ** draw(st.floats(-8.0, 2.0))
        times = np.arange(count) / rate
        if kind == "tone":
            wave = np.sin(2.0 * np.pi * draw(st.floats(0.0, 0.6)) * rate * times)
            piece = size * wave[:, None] * rng.uniform(-1.0, 1.0, channels)
        elif kind == "noise":
            piece = size * rng.standard_normal((count, channels))
        elif kind == "odd":
            piece = rng.choice(ODD, (count, channels))
        elif kind == "sparse":
            piece = np.where(rng.uniform(size=(count, channels)) < 1e-3, rng.choice(ODD), 0.0)
        else:
            piece = np.full((count, channels), size if kind == "constant" else 0.0)
        pieces.append(piece)
    return rate, np.concatenate(pieces) if pieces else np.zeros((0, channels))


def finite(found: Heard) -> bool:
    """Whether every figure of an answer is a number."""
    numbers = [found.seconds]
    for band in found.bands:
        numbers += [band.hz, band.start_s, band.end_s, band.level_db]
        numbers += [one for one in band.distortion_percent if one is not None]
        numbers += [] if band.leak is None else [band.leak.db, band.leak.deg]
    if found.speed is not None:
        told = found.speed.speed
        numbers += [found.speed.error_percent, told.hz, told.drift_percent]
        numbers += [] if told.turn is None else [told.turn.percent, told.turn.fastest_deg]
        varies = told.fluctuation
        numbers += [] if varies is None else [varies.weighted_percent, varies.unweighted_percent]
    return all(math.isfinite(one) for one in numbers)


@settings(max_examples=40, deadline=None)
@given(sounds(), st.integers(1, 100_000))
def test_any_samples_end_in_numbers(given: tuple[int, NDArray[np.float64]], piece: int) -> None:
    rate, sound = given
    begun = time.thread_time()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        listener = Listener(rate, sound.shape[1])
        sweep = SweepListener(rate, sound.shape[1])
        step = max(piece, len(sound) // 50 + 1)
        for begin in range(0, len(sound), step):
            listener.feed(sound[begin : begin + step])
            sweep.feed(sound[begin : begin + step])
        assert finite(listener.so_far())
        assert finite(listener.finish())
        sweep.finish()
        last = moment_of(sound[-rate // 10 :], rate)
    assert all(not math.isnan(peak) for peak in last.peaks)
    assert time.thread_time() - begun < MOST_TIMES * (1.0 + len(sound) / rate)


@pytest.mark.parametrize("rate", [0, -1, 7_999.9, math.nan, math.inf])
def test_a_rate_that_is_none_is_refused(rate: float) -> None:
    with pytest.raises(ValueError, match="samples a second"):
        Listener(rate)


@pytest.mark.parametrize("kind", ["int16", "int32", "float32", "bool"])
def test_samples_of_any_type_are_taken(kind: str) -> None:
    listener = Listener(8_000)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        listener.feed(np.ones((4_000, 2), dtype=kind))
        assert listener.finish().bands == ()
