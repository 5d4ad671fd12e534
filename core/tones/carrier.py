"""Demodulation: from frames to the instantaneous frequency and amplitude of one tone.

A tone and its sidebands are cut out of each frame's spectrum, moved down to zero and transformed
back: 120 complex samples a frame, 1,200 a second. From one to the next their angle tells the mean
frequency between them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.tones.frames import Complexes, Floats, Grid

_BINS: Final = 240
_FIRST: Final = _BINS // 4
PER_FRAME: Final = _BINS // 2
"""Samples that a frame gives."""

_FLAT_HZ: Final = 420.0
_ZERO_HZ: Final = 590.0
_SHARE: Final = 0.45
"""Of the tone's own frequency: its second harmonic and hum stay outside."""

_MOVED_HZ: Final = 120.0
_BRIDGED: Final = 5
"""Frames in a row that may be spoiled, and the tone is still looked for where it was."""


@dataclass(frozen=True, slots=True)
class Track:
    """A tone over time: `hz` and `amplitude` (peak, 1 is full scale) at `rate` samples a second.

    The first sample tells the mean frequency of the time before `start_s`, one sample long.
    """

    rate: float
    start_s: float
    hz: Floats
    amplitude: Floats

    @property
    def seconds(self) -> float:
        """How long it is."""
        return self.hz.size / self.rate

    def between(self, start_s: float, end_s: float) -> Track:
        """Return the part between two times from the beginning of the recording."""
        first = max(math.ceil((start_s - self.start_s) * self.rate), 0)
        last = max(math.floor((end_s - self.start_s) * self.rate), first)
        start = self.start_s + first / self.rate
        return Track(self.rate, start, self.hz[first:last], self.amplitude[first:last])


@dataclass(slots=True)
class Demodulator:
    """Collects the track of a tone whose frequency lies in a range.

    It follows the tone's slow changes by itself; the range only keeps other tones out.
    """

    grid: Grid
    lowest_hz: float
    highest_hz: float
    _centre: int = 0
    _spoiled: int = _BRIDGED
    _numbers: list[int] = field(default_factory=list)
    _offsets: list[NDArray[np.float32]] = field(default_factory=list)
    _centres: list[float] = field(default_factory=list)
    _amplitudes: list[NDArray[np.float32]] = field(default_factory=list)

    def feed(self, number: int, spectrum: Complexes, hz: float, *, clear: bool) -> None:
        """Take a frame's plain spectrum of one channel, and where its strongest tone lies."""
        grid = self.grid
        if clear and self.lowest_hz <= hz <= self.highest_hz:
            if self._spoiled >= _BRIDGED or abs(hz - self._centre_hz()) > _MOVED_HZ:
                self._centre = round(hz / grid.spacing_hz)
            self._spoiled = 0
        else:
            self._spoiled += 1
        if self._spoiled >= _BRIDGED:
            return
        base = _cut_out(grid, spectrum, self._centre)
        turned = np.angle(base[1:] * np.conj(base[:-1]))
        self._numbers.append(number)
        self._centres.append(self._centre_hz())
        rate = PER_FRAME / grid.hop_s
        self._offsets.append((turned * (rate / (2.0 * math.pi))).astype(np.float32))
        self._amplitudes.append(np.abs(base[1:]).astype(np.float32))

    def track(self, first: int, last: int) -> Track | None:
        """Return the track over frames `first` to `last`, that one not included.

        None where the tone was not followed through all of them.
        """
        begin = int(np.searchsorted(self._numbers, first))
        end = int(np.searchsorted(self._numbers, last))
        if end <= begin or end - begin != last - first:
            return None
        centres = np.repeat(self._centres[begin:end], PER_FRAME)
        hz = centres + np.concatenate(self._offsets[begin:end])
        amplitude = np.concatenate(self._amplitudes[begin:end]).astype(np.float64)
        return Track(PER_FRAME / self.grid.hop_s, first * self.grid.hop_s, hz, amplitude)

    def _centre_hz(self) -> float:
        return self._centre * self.grid.spacing_hz


def _cut_out(grid: Grid, spectrum: Complexes, centre: int) -> Complexes:
    """Return a tone moved down to zero, in the middle half of the frame and one sample before."""
    places = np.arange(-_BINS // 2, _BINS // 2)
    wanted = places + centre
    inside = (wanted > 0) & (wanted < spectrum.size)
    cut = np.zeros(_BINS, dtype=np.complex128)
    cut[places[inside] % _BINS] = spectrum[wanted[inside]]
    cut *= _passed(np.fft.fftfreq(_BINS, 1.0 / _BINS) * grid.spacing_hz, centre * grid.spacing_hz)
    scale = 2.0 * _BINS / grid.length
    return np.fft.ifft(cut)[_FIRST - 1 : _FIRST + PER_FRAME] * scale


def _passed(away_hz: Floats, centre_hz: float) -> Floats:
    """Return the filter: flat, then half a cosine down to nothing."""
    zero = min(_ZERO_HZ, _SHARE * centre_hz)
    flat = _FLAT_HZ / _ZERO_HZ * zero
    part = np.clip((np.abs(away_hz) - flat) / (zero - flat), 0.0, 1.0)
    result: Floats = 0.5 + 0.5 * np.cos(math.pi * part)
    return result
