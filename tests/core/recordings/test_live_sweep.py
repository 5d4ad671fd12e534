"""A sweep while it plays: followed, ended by itself, and the same as from the file of it."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from core.language import Numbers
from core.steps.mount.readings import RecordedSweep
from core.steps.shared import LiveState, LiveTold, LiveTones
from tests.core.tones.test_resonance import RATE, swept, truth_of
from tests.sounding import last_of

pytestmark = pytest.mark.long


def fed(reading: LiveTones, sound: NDArray[np.float64], until: LiveState | None = None) -> LiveTold:
    told = None
    for begin in range(0, sound.shape[0], 882):
        told = reading.feed(sound[begin : begin + 882])
        if told.state is until:
            break
    assert told is not None
    return told


def test_a_sweep_is_followed_and_ends_by_itself(tmp_path: Path) -> None:
    """The truth is the peak of a second-order response, by scipy's transfer function."""
    reading = LiveTones(RecordedSweep, tmp_path / "live.flac", RATE, 2)
    silence = np.zeros((6 * RATE, 2))
    silence += 1e-5 * np.random.default_rng(1).standard_normal(silence.shape)
    sound = swept(9.0, down=True, seconds=30.0)
    told = fed(reading, silence[:RATE])
    assert told.state is LiveState.WAITING
    told = fed(reading, sound[: 15 * RATE])
    assert told.state is LiveState.RUNNING
    assert told.still_s is None
    (plays, *_most) = [Numbers().text(one) for one in told.now]
    # halfway through a sweep whose pitch falls evenly it plays the middle by ratio (derived)
    said = plays.removeprefix("The sweep is at ").removesuffix("\u00a0Hz.")
    assert float(said) == pytest.approx(math.sqrt(20.0 * 4.0), rel=0.1)
    fed(reading, sound[15 * RATE :])
    ended = fed(reading, silence, LiveState.ENOUGH)
    assert ended.state is LiveState.ENOUGH
    assert ended.seconds < 33.5
    assert isinstance(ended.figures, RecordedSweep)
    assert ended.figures.hz == pytest.approx(truth_of(9.0), abs=3.0 * ended.figures.spread_hz)
    reading.close()
    from_file = last_of(RecordedSweep.read(tmp_path / "live.flac"))
    assert from_file.hz == pytest.approx(ended.figures.hz, abs=0.5)


def test_a_pilot_tone_that_goes_on_after_its_sweep_ends_it_too(tmp_path: Path) -> None:
    reading = LiveTones(RecordedSweep, tmp_path / "live.flac", RATE, 2)
    at = np.arange(8 * RATE) / RATE
    pilot = np.tile(0.2 * np.sin(2 * np.pi * 1000.0 * at)[:, None], (1, 2))
    assert fed(reading, swept(9.0, seconds=20.0)).state is LiveState.RUNNING
    ended = fed(reading, pilot, LiveState.ENOUGH)
    assert ended.state is LiveState.ENOUGH
    assert ended.seconds < 27.0
    reading.close()


def test_a_steady_tone_is_no_sweep_and_does_not_end_it(tmp_path: Path) -> None:
    reading = LiveTones(RecordedSweep, tmp_path / "live.flac", RATE, 2)
    at = np.arange(12 * RATE) / RATE
    pilot = np.tile(0.2 * np.sin(2 * np.pi * 1000.0 * at)[:, None], (1, 2))
    told = fed(reading, pilot)
    assert (told.state, told.figures) == (LiveState.RUNNING, None)
    reading.close()
