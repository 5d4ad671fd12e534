"""What each frame says by itself: its strongest tone, its levels, what is wrong with it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.tones.frames import Complexes, Floats, Frames, Grid
from core.tones.mending import runs

LOWEST_TONE_HZ: Final = 200.0
HARMONICS: Final = (2, 3, 4, 5)
HUM_HZ: Final = (50.0, 60.0)

_WIDE_HZ: Final = 20.0
_WIDE_SHARE: Final = 0.15
_NEAR: Final = 6
_CLICK_HZ: Final = (6_700.0, 9_100.0)
_CLICK_SHARES: Final = (0.30, 0.42)
_NOISE_HZ: Final = ((1_400.0, 2_400.0), (4_000.0, 5_500.0))
"""Where few tones lie, and below what Ogg Vorbis joins of noise at high compression (measured)."""

_CLICK_TIMES: Final = 6.0
_CLICK_LEAST: Final = 0.003
_CLICK_APART_S: Final = 0.01
_AT_PEAK: Final = 1.0 - 1e-4
_FLAT_LEAST: Final = 0.02
_ZERO_RUN_S: Final = 0.0008
"""No tone crosses zero for so long; the shortest block that is lost is longer (our own)."""

_TOGETHER: Final = 64


@dataclass(slots=True)
class Measures:
    """One line a frame; powers are squared peak amplitudes, 1 is a full-scale sine.

    Pairs are (frames, 2), left and right. ``cross`` is left times the conjugate of right, summed
    over the bins nearest to the tone, as are ``near``; ``crossed`` is the same over every bin, and
    ``power`` what each channel holds in all of them. ``harmonics`` is (frames, 2, 4), ``hum``
    (frames, 2, 2) for 50 and 60 Hz. ``alike`` is how much both channels' noise runs together, from
    0 to 1.
    """

    hz: Floats
    tone: Floats
    total: Floats
    power: Floats
    crossed: Floats
    near: Floats
    cross: Complexes
    harmonics: Floats
    hum: Floats
    clicks: Floats
    flat: Floats
    zeros: Floats
    peak: Floats
    alike: Floats


class Measurer:
    """Measures frames and keeps one line of each."""

    def __init__(self, grid: Grid) -> None:
        self._grid = grid
        self._joined: list[Measures] = []
        self._rows: list[Measures] = []
        self._lowest = grid.bin_of(LOWEST_TONE_HZ)
        self._click_bins = _click_bins(grid)
        self._noise_bins = _noise_bins(grid)

    def take(self, frames: Frames) -> Measures:
        """Return the measures of some frames, and keep them."""
        found = self._measured(frames)
        self._rows.append(found)
        if len(self._rows) >= _TOGETHER:  # many small arrays take more room than one
            self._joined.append(_join(self._rows))
            self._rows = []
        return found

    def all(self) -> Measures:
        """Return the measures of every frame so far."""
        everything = _join([*self._joined, *self._rows])
        self._joined, self._rows = [everything], []
        return everything

    @property
    def has_any(self) -> bool:
        """Whether there was a frame at all."""
        return bool(self._joined or self._rows)

    def _measured(self, frames: Frames) -> Measures:
        grid = self._grid
        smooth = _hann(frames.spectra) * math.sqrt(32.0 / 3.0) / grid.length
        power = smooth.real**2 + smooth.imag**2
        both = power.sum(axis=1)
        peak = self._lowest + np.argmax(both[:, self._lowest :], axis=1)
        sums = np.concatenate((np.zeros((*power.shape[:2], 1)), np.cumsum(power, axis=2)), axis=2)
        hz = self._centroid(both, peak)
        wide = (_WIDE_HZ + _WIDE_SHARE * hz) / grid.spacing_hz
        tone = _between(sums, peak - wide, peak + wide + 1)
        total = sums[:, :, -1] - sums[:, :, grid.bin_of(20.0)]
        crossed = np.sum(smooth[:, 0] * np.conj(smooth[:, 1]), axis=1)
        places = np.clip(peak[:, None] + np.arange(-_NEAR, _NEAR + 1), 0, grid.bins - 1)
        near = np.take_along_axis(smooth, places[:, None, :], axis=2)
        cut = frames.middles
        return Measures(
            hz=hz,
            tone=tone,
            total=total,
            power=power.sum(axis=2),
            crossed=crossed.real,
            near=np.sum(np.abs(near) ** 2, axis=2),
            cross=np.sum(near[:, 0] * np.conj(near[:, 1]), axis=1),
            harmonics=self._harmonics(sums, hz),
            hum=self._hum(power),
            clicks=self._clicks(frames.spectra, np.sqrt(tone.sum(axis=1))),
            flat=_flat(cut),
            zeros=_zeros(cut, round(_ZERO_RUN_S * grid.rate)),
            peak=np.max(np.abs(cut), axis=2),
            alike=_alike(smooth[:, :, self._noise_bins]),
        )

    def _centroid(self, both: Floats, peak: NDArray[np.intp]) -> Floats:
        """Return the middle of the strongest tone's power, its sidebands included, in hertz."""
        found = []
        for row, centre in zip(both, peak.tolist(), strict=True):
            half = 3 + round(0.035 * centre)
            low = max(centre - half, 1)
            part = row[low : centre + half + 1]
            weight = float(part.sum())
            found.append(float(part @ np.arange(low, low + part.size)) / weight if weight else 0.0)
        return np.array(found) * self._grid.spacing_hz

    def _harmonics(self, sums: Floats, hz: Floats) -> Floats:
        """Return the power of each harmonic, the noise beside it taken off."""
        found = []
        for times in HARMONICS:
            place = times * hz / self._grid.spacing_hz
            half = 4.0 + 0.02 * place
            power = _between(sums, place - half, place + half)
            below = _between(sums, place - 2.0 * half, place - half)
            above = _between(sums, place + half, place + 2.0 * half)
            inside = (place + 2.0 * half < self._grid.bins - 1)[:, None]
            found.append(np.where(inside, power - below - above, 0.0))
        return np.stack(found, axis=2)

    def _hum(self, power: Floats) -> Floats:
        """Return the power at the mains' frequency, its double and its triple, noise taken off."""
        grid = self._grid
        beside = [grid.bin_of(hz) for hz in (70, 75, 80, 85, 90, 135, 140, 160, 165, 170)]
        floor = np.median(power[:, :, beside], axis=2)
        found = []
        for mains in HUM_HZ:
            bins = [grid.bin_of(mains * n) + side for n in (1, 2, 3) for side in (-1, 0, 1)]
            found.append(power[:, :, bins].sum(axis=2) - len(bins) * floor)
        return np.stack(found, axis=2)

    def _clicks(self, spectra: Complexes, tone: Floats) -> Floats:
        """Return how many clicks, short bursts of high sound, each frame's middle half holds."""
        bins, taper = self._click_bins
        base = np.fft.ifft(spectra[:, :, bins] * taper, axis=2) * (2.0 * bins.size)
        quarter = bins.size // 4
        envelope = np.abs(base[:, :, quarter : bins.size - quarter]) / self._grid.length
        usual = np.median(envelope, axis=2, keepdims=True)
        least = np.maximum(_CLICK_TIMES * usual, _CLICK_LEAST * tone[:, None, None])
        over: NDArray[np.bool_] = np.any(envelope > least, axis=1)
        rate = 0.5 * bins.size / self._grid.hop_s
        apart = max(round(_CLICK_APART_S * rate / 2.0), 1)
        counts = np.zeros(over.shape[0])
        for i in np.flatnonzero(over.any(axis=1)):
            joined = np.convolve(over[i], np.ones(2 * apart + 1), mode="same") > 0.5
            counts[i] = len(runs(joined))
        return counts


def _alike(noise: Complexes) -> Floats:
    """Return how much noise runs together on both channels: the mean of its phases' difference.

    Every bin counts alike, so a harmonic in a few of them says little. Noise of its own in each
    channel gives nearly 0, one noise in both 1.
    """
    crossed = noise[:, 0] * np.conj(noise[:, 1])
    size = np.abs(crossed)
    phases = np.divide(crossed, size, out=np.zeros_like(crossed), where=size > 0.0)
    result: Floats = np.abs(np.mean(phases, axis=1))
    return result


def _join(rows: list[Measures]) -> Measures:
    columns = {name: [getattr(row, name) for row in rows] for name in Measures.__slots__}
    return Measures(**{name: np.concatenate(parts) for name, parts in columns.items()})


def _hann(spectra: Complexes) -> Complexes:
    """Return the spectra of frames under a Hann window: three neighbouring bins for one."""
    result = 0.5 * spectra
    result[:, :, 1:] -= 0.25 * spectra[:, :, :-1]
    result[:, :, :-1] -= 0.25 * spectra[:, :, 1:]
    return result


def _between(sums: Floats, low: Floats, high: Floats) -> Floats:
    """Return the power from one bin to another of each frame, both channels."""
    last = sums.shape[2] - 1
    first = np.clip(np.round(low).astype(int), 0, last)[:, None, None]
    end = np.clip(np.round(high).astype(int), 0, last)[:, None, None]
    first = np.broadcast_to(first, (*sums.shape[:2], 1))
    end = np.broadcast_to(end, (*sums.shape[:2], 1))
    found = np.take_along_axis(sums, end, 2) - np.take_along_axis(sums, first, 2)
    result: Floats = found[:, :, 0]
    return result


def _click_bins(grid: Grid) -> tuple[NDArray[np.intp], Floats]:
    """Return the bins above the usual tones, and a taper over them."""
    low, high = _CLICK_HZ
    if high > 0.45 * grid.rate:
        low, high = (share * grid.rate for share in _CLICK_SHARES)
    count = 4 * max(round((high - low) / grid.spacing_hz / 4.0), 1)
    first = grid.bin_of(low)
    bins = np.arange(first, min(first + count, grid.bins))
    return bins, np.hanning(bins.size + 2)[1:-1]


def _noise_bins(grid: Grid) -> NDArray[np.intp]:
    """Return the bins between the usual tones."""
    between = [np.arange(grid.bin_of(low), grid.bin_of(high)) for low, high in _NOISE_HZ]
    return np.concatenate(between)


def _flat(cut: Floats) -> Floats:
    """Return the share of samples that stand at the frame's own peak, either way, (frames, 2).

    A sine is so near its peak for 0.9 % of the time, in steps of 16 bit for 4 % at most; cut off at
    nine tenths of its height it stands there for 29 % (derived: 2 / pi acos 0.9).
    """
    size = np.abs(cut)
    most = np.maximum(size.max(axis=2, keepdims=True), _FLAT_LEAST)
    result: Floats = np.mean(size >= _AT_PEAK * most, axis=2)
    return result


def _zeros(cut: Floats, least: int) -> Floats:
    """Return how many runs of nothing at all, on both channels, each frame holds."""
    empty: NDArray[np.bool_] = np.all(cut == 0.0, axis=1)
    counts = np.zeros(cut.shape[0])
    for i in np.flatnonzero(empty.sum(axis=1) >= least):
        counts[i] = sum(end - begin >= least for begin, end in runs(empty[i]))
    return counts
