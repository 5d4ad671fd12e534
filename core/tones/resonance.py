"""Where arm and cartridge resonate: the pilot tone of a slow sweep, and when it shakes most.

A record's sweep from 4 to 20 Hz moves the arm, and the arm's shaking modulates the pilot tone cut
with it, in pitch and in loudness. The modulation itself tells the frequency that plays.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.tones.carrier import Demodulator, Track
from core.tones.frames import LOUDEST, Floats, FrameCutter, Frames, grid_of
from core.tones.measures import LOWEST_TONE_HZ, Measurer

SWEPT_HZ: Final = (3.0, 25.0)
"""Between these a sweep's frequency is looked for; below lies what comes once a turn."""

_HIGHEST_PILOT_HZ: Final = 8_000.0
_USUAL_PILOT_HZ: Final = 1_000.0
_WINDOW_S: Final = 2.0
_STEP_S: Final = 0.25
_FOLLOWED_S: Final = 3.0
_FAINT: Final = 0.01
_LEAST_S: Final = 8.0
_LEAST_RANGE: Final = 1.8
_CLEAR: Final = 4.0
_ENDS: Final = 2
_LOWEST_SHARE: Final = 0.02
_WHOLE: Final = 0.4
_FINER: Final = 8
_SHARE: Final = 0.02
_LEAST_HZ: Final = 0.1
_PULSED: Final = 0.6


@dataclass(frozen=True, slots=True)
class Shaken:
    """What a sweep tells.

    ``hz`` is where the pilot tone shook most, ``spread_hz`` its standard uncertainty; ``low_hz`` to
    ``high_hz`` was swept. ``is_at_end``: it shook most where the sweep begins or ends, and the
    resonance may lie beyond.
    """

    hz: float
    spread_hz: float
    low_hz: float
    high_hz: float
    pilot_hz: float
    is_at_end: bool


@dataclass(frozen=True, slots=True)
class SweepNow:
    """The frequency that a sweep plays, and how much it shakes the pilot tone, in no unit."""

    hz: float
    size: float


class SweepListener:
    """Listens to a sweep in pieces of any size."""

    def __init__(self, rate: float, channels: int = 2) -> None:
        self._grid = grid_of(rate)
        self._channels = channels
        self._cutter = FrameCutter(self._grid)
        self._measurer = Measurer(self._grid)
        low, high = LOWEST_TONE_HZ, _HIGHEST_PILOT_HZ
        self._sides = [Demodulator(self._grid, low, high) for _ in (0, 1)]
        self._next = 0
        self._last_hz = _USUAL_PILOT_HZ
        self._windows: list[list[Floats]] = [[], []]
        self._looked = [0, 0]

    @property
    def seconds(self) -> float:
        """How much was listened to."""
        return self._cutter.samples / self._grid.rate

    def feed(self, sound: NDArray[np.floating]) -> None:
        """Take sound, shape (samples, channels), 1 is full scale."""
        piece = np.nan_to_num(np.asarray(sound, dtype=np.float64).reshape(len(sound), -1).T)
        pair = piece[:2] if piece.shape[0] > 1 else np.repeat(piece, 2, axis=0)
        for frames in self._cutter.feed(np.clip(pair, -LOUDEST, LOUDEST)):
            self._take(frames)

    def finish(self) -> Shaken | None:
        """Return what the sweep tells, None if there is no sweep with a pilot tone."""
        for frames in self._cutter.finish():
            self._take(frames)
        return self.so_far()

    def so_far(self) -> Shaken | None:
        """Return what the sweep tells up to now; more can be fed."""
        if self._next < 3:
            return None
        tracks = [side.track(1, self._next - 1) for side in self._sides]
        kept = [one for one in tracks if one is not None]
        found = [self._shaken(side, one) for side, one in enumerate(tracks) if one is not None]
        if not kept or not found:
            return None
        at, size = _joined(found)
        return _most(at, size, float(np.median(kept[0].hz)))

    def playing(self) -> SweepNow | None:
        """Return what the sweep plays now: None while its frequency goes on in no direction."""
        sides = [np.concatenate(side) for side in self._windows if side]
        if not sides:
            return None
        last = round(_FOLLOWED_S / _STEP_S)
        loudest = float(np.max(_joined(sides)[1], initial=0.0))
        at, size = _joined([side[-last:] for side in sides])
        if 2 * at.size < last or float(np.median(size)) < _FAINT * loudest:
            return None
        return SweepNow(float(at[-1]), float(size[-1])) if _onward(at) >= _PULSED else None

    def _shaken(self, side: int, track: Track) -> Floats:
        """Return the spectra of all windows of a side; only the new ones are worked out."""
        step = round(_STEP_S * track.rate)
        done = self._looked[side]
        rest = Track(track.rate, 0.0, track.hz[done * step :], track.amplitude[done * step :])
        new = _shaking(rest)
        self._looked[side] = done + new.shape[0]
        if new.shape[0]:
            self._windows[side].append(new)
        every = self._windows[side]
        return np.concatenate(every) if every else np.zeros((0, 1))

    def _take(self, frames: Frames) -> None:
        found = self._measurer.take(frames)
        for i in range(found.hz.size):
            # The sweep itself may be louder than its pilot tone: clear is what stands out above.
            hz = float(found.hz[i])
            if found.tone[i].sum() > 0.0 and LOWEST_TONE_HZ <= hz <= _HIGHEST_PILOT_HZ:
                self._last_hz = hz
            # In silence it is followed on, so that a track has no holes; nothing there is whole.
            for side, demodulator in enumerate(self._sides):
                demodulator.feed(
                    frames.first + i, frames.spectra[i, side], self._last_hz, clear=True
                )
        self._next = frames.first + found.hz.size


def _shaking(track: Track) -> Floats:
    """Return the spectrum of a pilot tone's shaking in each window, (windows, lines)."""
    size, step = round(_WINDOW_S * track.rate), round(_STEP_S * track.rate)
    if track.hz.size < size:
        return np.zeros((0, 1))
    window = np.hanning(size)
    found = np.zeros(0)
    loud = np.lib.stride_tricks.sliding_window_view(track.amplitude, size)[::step]
    low, usual = np.quantile(loud, [_LOWEST_SHARE, 0.5], axis=1)
    whole = low > _WHOLE * usual  # where the pilot tone begins or ends, its edge shakes most of all
    for wave in (track.hz, track.amplitude):
        every = np.lib.stride_tricks.sliding_window_view(wave, size)[::step]
        mean = np.maximum(np.abs(every.mean(axis=1, keepdims=True)), 1e-12)
        even = every / mean - 1.0
        even = even - even.mean(axis=1, keepdims=True)
        power = np.abs(np.fft.rfft(even * window, size * _FINER, axis=1)) ** 2
        found = power if not found.size else found + power
    lines = np.fft.rfftfreq(size * _FINER, 1.0 / track.rate)
    swept = (lines >= SWEPT_HZ[0]) & (lines <= SWEPT_HZ[1])
    result: Floats = found[:, swept] * whole[:, None]
    return result


def _joined(found: list[Floats]) -> tuple[Floats, Floats]:
    """Return the frequency that shakes most in each window, and how much, over both channels."""
    power = sum(found[1:], start=found[0])
    if power.size == 0:
        return np.zeros(0), np.zeros(0)
    lines = np.linspace(*SWEPT_HZ, power.shape[1])
    best = np.argmax(power, axis=1)
    floor = np.median(power, axis=1)
    top = np.take_along_axis(power, best[:, None], axis=1)[:, 0]
    clear = top > _CLEAR * floor
    return lines[best][clear], np.sqrt(top[clear])


def _onward(at: Floats) -> float:
    """Return how surely frequencies go on in one direction: 1 for all of them."""
    steps = np.sign(np.diff(at))
    return abs(float(steps.sum())) / max(float(np.abs(steps).sum()), 1.0)


def _most(at: Floats, size: Floats, pilot_hz: float) -> Shaken | None:
    """Return where the shaking was greatest, if the frequency went on in one direction."""
    if at.size * _STEP_S < _LEAST_S - _WINDOW_S:
        return None
    low, high = float(np.quantile(at, 0.02)), float(np.quantile(at, 0.98))
    if high < _LEAST_RANGE * low or _onward(at) < _PULSED:
        return None
    smooth = np.convolve(size, np.ones(3) / 3.0, mode="same")
    place = int(np.argmax(smooth[1:-1])) + 1
    near = slice(max(place - _ENDS, 0), place + _ENDS + 1)
    hz = float(np.average(at[near], weights=size[near] ** 2))
    spread = max(_SHARE * hz, float(np.ptp(at[near])) / np.sqrt(12.0), _LEAST_HZ)
    is_at_end = hz < 1.08 * low or hz > high / 1.08
    return Shaken(hz, float(spread), low, high, pilot_hz, is_at_end)
