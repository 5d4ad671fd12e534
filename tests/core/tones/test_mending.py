"""Places where a tone is disturbed, and which of them are told as missing sound."""

from __future__ import annotations

import numpy as np
import pytest

from core.tones.carrier import Track
from core.tones.mending import mended

RATE = 1200.0
STRAY = 6


def disturbed(at: int) -> Track:
    """Return four seconds of a tone that runs 20 Hz high, and half as loud again, for 5 ms.

    Its phase is then ahead by 2π * 20 / 200 = 0.63 rad.
    """
    hz, amplitude = np.full(4800, 3150.0), np.full(4800, 0.3)
    hz[at : at + STRAY] += 20.0
    amplitude[at : at + STRAY] *= 1.5
    return Track(RATE, 1.1, hz, amplitude)


@pytest.mark.parametrize(("at", "jumps"), [(0, 0), (4800 - STRAY, 0), (2400, 1), (100, 1)])
def test_sound_is_missing_only_between_two_stretches_of_the_tone(at: int, jumps: int) -> None:
    """Automatic gain sets in with the tone: nothing before it shows a phase to compare."""
    clean = mended(disturbed(at))
    assert len(clean.jumps_s) == jumps
    assert len(clean.spoiled_s) == 1
    assert clean.track.hz == pytest.approx(np.full(4800, 3150.0))
