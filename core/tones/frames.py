"""A recording cut into overlapping frames, however it arrives; their spectra.

Frames are a fifth of a second long and begin a tenth apart, so bins lie 5 Hz apart at every usual
sample rate and the middle halves of all frames tile the recording.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]
Complexes = NDArray[np.complexfloating[Any, Any]]

HOP_S: Final = 0.1
HIGHEST_HZ: Final = 24_000.0
"""Nothing above is looked at: no test record carries tones there."""

LOUDEST: Final = 1e3
"""Full scale is 1; a file of floating point may go beyond it, but what is louder is no sound."""

_AT_ONCE: Final = 8


@dataclass(frozen=True, slots=True)
class Frames:
    """Some frames in a row.

    ``middles`` holds the samples of their middle halves, (frames, 2, hop); ``spectra`` the plain
    transform of the whole frames, (frames, 2, bins); ``first`` is the number of the first one.
    """

    first: int
    middles: Floats
    spectra: Complexes


@dataclass(frozen=True, slots=True)
class Grid:
    """How a sample rate is divided: `hop` samples from frame to frame, twice as many in one."""

    rate: float
    hop: int
    bins: int

    @property
    def length(self) -> int:
        """Samples in a frame."""
        return 2 * self.hop

    @property
    def spacing_hz(self) -> float:
        """From one bin to the next."""
        return self.rate / self.length

    @property
    def hop_s(self) -> float:
        """From one frame to the next."""
        return self.hop / self.rate

    def bin_of(self, hz: float) -> int:
        """Return the bin nearest to a frequency, at most the last one."""
        return min(round(hz / self.spacing_hz), self.bins - 1)


def grid_of(rate: float) -> Grid:
    """Return the division for a sample rate in hertz."""
    hop = 2 * max(round(0.5 * HOP_S * rate), 1)
    bins = min(hop + 1, int(HIGHEST_HZ * 2 * hop / rate) + 1)
    return Grid(rate, hop, bins)


class FrameCutter:
    """Takes stereo sound in pieces of any size and hands out whole frames."""

    def __init__(self, grid: Grid) -> None:
        self._grid = grid
        self._kept: Floats = np.zeros((2, grid.hop // 2))  # the first frame begins before time 0
        self._next = 0
        self.samples = 0

    def feed(self, sound: Floats) -> Iterator[Frames]:
        """Take sound, shape (2, samples), and yield the frames that are complete."""
        self.samples += sound.shape[1]
        self._kept = np.concatenate((self._kept, sound), axis=1)
        yield from self._cut()

    def finish(self) -> Iterator[Frames]:
        """Yield what is left, silence behind it, until the last sample lies in a middle half."""
        hop = self._grid.hop
        missing = -(-self.samples // hop) - self._next
        if missing > 0:
            wanted = (missing + 1) * hop
            short = max(wanted - self._kept.shape[1], 0)
            self._kept = np.concatenate((self._kept, np.zeros((2, short))), axis=1)[:, :wanted]
            yield from self._cut()

    def _cut(self) -> Iterator[Frames]:
        hop, length = self._grid.hop, self._grid.length
        kept, begin = self._kept, 0
        while (whole := (kept.shape[1] - begin - hop) // hop) > 0:
            count = min(whole, _AT_ONCE)
            used = kept[:, begin : begin + (count + 1) * hop]
            every = np.lib.stride_tricks.sliding_window_view(used, length, axis=1)[:, ::hop]
            pieces = every.transpose(1, 0, 2)
            spectra = np.fft.rfft(pieces, axis=2)[:, :, : self._grid.bins]
            middles = pieces[:, :, hop // 2 : hop // 2 + hop]
            begin += count * hop
            yield Frames(self._next, middles, spectra)
            self._next += count
        self._kept = kept[:, begin:].copy()
