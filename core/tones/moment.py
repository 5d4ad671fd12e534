"""What the last moment of sound says, for meters and for a leak that moves while it is watched."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from core.tones.bands import CutSide, Leak
from core.tones.frames import LOUDEST

MOMENT_S: Final = 0.1
"""How much sound is looked at: short enough for the eye, a hundred turns of a 1 kHz tone."""

_LOWEST_HZ: Final = 200.0
_HALF_HZ: Final = 60.0
_PURE: Final = 0.5
_LEAST_POWER: Final = 1e-7
_ONE_SIDED: Final = 10.0 ** (-8.0 / 20.0)


@dataclass(frozen=True, slots=True)
class Moment:
    """Peaks of left and right, 1 is full scale; the tone and its side; the leak of a one-sided one.

    ``hz`` is None where no tone stands out, to a tenth of a percent at best.
    """

    peaks: tuple[float, float]
    hz: float | None = None
    side: CutSide = CutSide.BOTH
    leak: Leak | None = None


def moment_of(sound: NDArray[np.floating[Any]], rate: float) -> Moment:
    """Return what a short piece of sound says, shape (samples, 1 or 2)."""
    pair = sound if sound.shape[1] > 1 else np.repeat(sound, 2, axis=1)
    pair = np.nan_to_num(np.asarray(pair[:, :2], dtype=np.float64), nan=0.0)
    pair = np.clip(pair, -LOUDEST, LOUDEST)
    highest = np.max(np.abs(pair), axis=0, initial=0.0)
    peaks = float(highest[0]), float(highest[1])
    if pair.shape[0] < round(0.5 * MOMENT_S * rate):
        return Moment(peaks)
    window = np.hanning(pair.shape[0])[:, None]
    spectra = np.fft.rfft(pair * window, axis=0) * (2.0 / float(window.sum()))
    power = np.abs(spectra) ** 2
    both, spacing = power.sum(axis=1), rate / pair.shape[0]
    lowest = round(_LOWEST_HZ / spacing)
    place = lowest + int(np.argmax(both[lowest:]))
    half = max(round(_HALF_HZ / spacing), 3)
    near = slice(max(place - half, 1), place + half + 1)
    tone = float(both[near].sum())
    if tone < _PURE * float(both[lowest:].sum()) or tone < _LEAST_POWER:
        return Moment(peaks)
    hz = spacing * float(both[near] @ np.arange(near.start, near.start + both[near].size)) / tone
    left, right = (float(one) for one in power[near].sum(axis=0))
    if sound.shape[1] < 2:
        return Moment(peaks, hz)
    side = CutSide.LEFT if left >= right else CutSide.RIGHT
    driven, quiet = (0, 1) if side is CutSide.LEFT else (1, 0)
    crossed = np.sum(spectra[near, quiet] * np.conj(spectra[near, driven]))
    ratio = complex(crossed) / max(left, right)
    if abs(ratio) > _ONE_SIDED:
        return Moment(peaks, hz)
    leak = Leak(20.0 * math.log10(max(abs(ratio), 1e-6)), math.degrees(np.angle(ratio)))
    return Moment(peaks, hz, side, leak)
