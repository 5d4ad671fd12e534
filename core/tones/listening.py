"""From sound, in pieces as it comes, to what it tells: bands, speed, and what is wrong with it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.language import Quantity, message
from core.tones.bands import Kind, ToneBand, bands_of
from core.tones.carrier import Demodulator, Track
from core.tones.fluctuation import ToneSpeed, speed_of
from core.tones.frames import LOUDEST, Complexes, FrameCutter, Frames, grid_of
from core.tones.measures import LOWEST_TONE_HZ, Measurer
from core.tones.mending import Mended, mended
from core.tones.quality import Fault, FaultFound, faults_of

SPEED_HZ: Final = (3150.0, 3000.0)
LEAST_RATE: Final = 8_000.0

_AROUND: Final = (2_000.0, 4_800.0)
_HIGHEST: Final = 8_000.0
_AROUND_NOMINAL: Final = (0.67, 1.5)
"""Of a known tone: at another of a deck's speeds it sounds a third lower or higher."""

_NEAR_NOMINAL: Final = 0.10
_OTHER_SPEEDS: Final = (1.35, 1.0 / 1.35)
"""A record played at 45 instead of 33 1/3 rpm, and the reverse (derived)."""

_WRONG_SPEED_NEAR: Final = 0.015
_TAKEN_FOR_FAST: Final = {4_000.0: 3_000.0}
"""Round frequencies, Hz, too near to a usual one played too fast to tell which of both it is."""

_FAR_PERCENT: Final = 15.0
_IN: Final = 2
"""Frames at both ends of a band that hold its beginning or end."""


@dataclass(frozen=True, slots=True)
class SpeedTold:
    """Speed as a band tells it, against the tone's nominal frequency."""

    band: ToneBand
    nominal_hz: float
    speed: ToneSpeed

    @property
    def error_percent(self) -> float:
        """How much too fast, by the record's tone."""
        return 100.0 * (self.speed.hz / self.nominal_hz - 1.0)

    @property
    def is_other_speed(self) -> bool:
        """Whether the deck must have been on another of its speeds."""
        return abs(self.error_percent) > _FAR_PERCENT


@dataclass(frozen=True, slots=True)
class Heard:
    """What a recording tells. ``speed`` is None if no tone for it was found."""

    rate: float
    channels: int
    seconds: float
    bands: tuple[ToneBand, ...]
    speed: SpeedTold | None
    faults: tuple[FaultFound, ...]


class Listener:
    """Listens to sound in pieces of any size. What it keeps grows by 13 kB a second.

    Parameters
    ----------
    rate
        Samples a second, 8,000 at least.
    channels
        Of the pieces; the first two are listened to, one is taken for both.
    nominal_hz
        The frequency of the tone for speed, if known.
    rpm
        The speed chosen on the deck, if known.
    """

    def __init__(
        self,
        rate: float,
        channels: int = 2,
        *,
        nominal_hz: float | None = None,
        rpm: float | None = None,
    ) -> None:
        if not LEAST_RATE <= rate < math.inf:
            raise ValueError("there are too few samples a second, or no end of them")
        self._grid = grid_of(rate)
        self._channels = channels
        self._nominal_hz, self._rpm = nominal_hz, rpm
        self._cutter = FrameCutter(self._grid)
        self._measurer = Measurer(self._grid)
        self._speed_hz = _AROUND
        if nominal_hz is not None:
            low, high = _AROUND_NOMINAL
            self._speed_hz = low * nominal_hz, high * nominal_hz
        low, high = min(LOWEST_TONE_HZ, self._speed_hz[0]), max(_HIGHEST, self._speed_hz[1])
        self._demodulator = Demodulator(self._grid, low, high)

    @property
    def seconds(self) -> float:
        """How much was listened to."""
        return self._cutter.samples / self._grid.rate

    def feed(self, sound: NDArray[np.floating]) -> None:
        """Take sound, shape (samples, channels) or (samples,), 1 is full scale."""
        piece = np.asarray(sound, dtype=np.float64).reshape(len(sound), -1).T
        pair = piece[:2] if piece.shape[0] > 1 else np.repeat(piece, 2, axis=0)
        if not float(np.max(np.abs(pair), initial=0.0)) < LOUDEST:  # or no number at all
            pair = np.clip(np.nan_to_num(pair, nan=0.0), -LOUDEST, LOUDEST)
        for frames in self._cutter.feed(pair):
            self._take(frames)

    def finish(self) -> Heard:
        """Return what the recording tells; nothing can be fed afterwards."""
        for frames in self._cutter.finish():
            self._take(frames)
        return self.so_far()

    def so_far(self, *, is_pictured: bool = True) -> Heard:
        """Return what the sound tells up to now; more can be fed.

        Without what pictures need it is quicker: for whoever asks five times a second.
        """
        if not self._measurer.has_any:
            nothing = (FaultFound(Fault.SILENCE, message("tones.fault.silence")),)
            return Heard(self._grid.rate, self._channels, 0.0, (), None, nothing)
        measures = self._measurer.all()
        bands = bands_of(measures, self._grid.hop_s, self.seconds)
        told, mended_one = self._speed(bands, is_pictured=is_pictured)
        tracks = [] if mended_one is None or told is None else [(told.band, mended_one)]
        for band in bands:
            if told is None or band is not told.band:
                track = self._track(band)
                tracks += [(band, mended(track))] if track is not None else []
        faults = faults_of(measures, bands, self._grid.hop_s, self._channels, tuple(tracks))
        faults += tuple(_about_the_tone(bands, told))
        return Heard(self._grid.rate, self._channels, self.seconds, bands, told, faults)

    def _take(self, frames: Frames) -> None:
        found = self._measurer.take(frames)
        clear = found.tone.sum(axis=1) > 0.25 * found.total.sum(axis=1)
        for i in range(found.hz.size):
            joined = _joined(frames.spectra[i], complex(found.cross[i]), found.tone[i])
            self._demodulator.feed(
                frames.first + i, joined, float(found.hz[i]), clear=bool(clear[i])
            )

    def _speed(
        self, bands: tuple[ToneBand, ...], *, is_pictured: bool
    ) -> tuple[SpeedTold | None, Mended | None]:
        """Return what the longest band for speed tells."""
        for band in sorted(bands, key=self._last_to_be_taken):
            nominal = self._nominal_of(band)
            track = self._track(band) if nominal else None
            if track is None or nominal is None:
                continue
            clean = mended(track)
            told = self._speed_of(clean, nominal, is_pictured=is_pictured)
            return SpeedTold(band, nominal, told), clean
        return None, None

    def _track(self, band: ToneBand) -> Track | None:
        first, last = band.frames
        return self._demodulator.track(first + _IN, last - _IN)

    def _last_to_be_taken(self, band: ToneBand) -> tuple[bool, bool, float]:
        """Return what sorts the tone for speed to the front: the known one, then the longest."""
        known = self._nominal_hz
        is_far = known is not None and abs(band.hz / known - 1.0) > _NEAR_NOMINAL
        return is_far, band.kind is not Kind.SPEED, -band.seconds

    def _speed_of(self, clean: Mended, nominal: float, *, is_pictured: bool) -> ToneSpeed:
        """Return what a track tells; a record at another speed turns at that speed."""
        ratio = 1.0
        if self._nominal_hz is not None:
            ratio = _ratio(float(np.mean(clean.track.hz)) / nominal) or 1.0
        rpm = self._rpm * ratio if self._rpm is not None else None
        return speed_of(clean.track, nominal * ratio, rpm, is_pictured=is_pictured)

    def _nominal_of(self, band: ToneBand) -> float | None:
        """Return the nominal frequency of a tone for speed; None for any other tone."""
        low, high = self._speed_hz
        if not low <= band.hz <= high:
            return None
        if self._nominal_hz is not None:
            share = band.hz / self._nominal_hz
            is_near = abs(share - 1.0) <= _NEAR_NOMINAL
            return self._nominal_hz if is_near or _ratio(share) else None
        if band.kind is Kind.SPEED:
            return band.nominal_hz
        return wrong_speed_nominal(band.hz)


def _either_tone(hz: float) -> float | None:
    """Return the usual tone, Hz, that this may be, played too fast; None if it can only be one."""
    for own, nominal in _TAKEN_FOR_FAST.items():
        if abs(hz / own - 1.0) < _WRONG_SPEED_NEAR:
            return nominal
    return None


def wrong_speed_nominal(hz: float) -> float | None:
    """Return which usual tone this is, played at 45 instead of 33 1/3 rpm or the reverse.

    None if it is none, or may be another tone as well.
    """
    if _either_tone(hz) is not None:
        return None
    for nominal in SPEED_HZ:
        if _ratio(hz / nominal):
            return nominal
    return None


def _ratio(share: float) -> float | None:
    """Return by how much faster another of a deck's speeds is, if it is one."""
    near = (one for one in _OTHER_SPEEDS if abs(share / one - 1.0) < _WRONG_SPEED_NEAR)
    return next(near, None)


def _about_the_tone(bands: tuple[ToneBand, ...], told: SpeedTold | None) -> Iterator[FaultFound]:
    """Tell of a tone at another speed, or one that is none of the usual ones."""
    if told is not None and told.is_other_speed:
        way = "fast" if told.error_percent > 0.0 else "slow"
        hz = Quantity(told.speed.hz, "Hz", 0)
        yield FaultFound(Fault.OTHER_SPEED, message("tones.fault.other_speed", way=way, hz=hz))
    others = [band for band in bands if band.kind is Kind.OTHER]
    if told is None and others:
        longest = max(others, key=lambda band: band.seconds).hz
        either, hz = _either_tone(longest), Quantity(longest, "Hz", 0)
        said = message("tones.fault.tone_unknown", hz=hz)
        if either is not None:
            said = message("tones.fault.tone_of_two", hz=hz, usual=Quantity(either, "Hz", 0))
        yield FaultFound(Fault.TONE_UNKNOWN, said)


def _joined(spectra: Complexes, cross: complex, tone: NDArray[np.float64]) -> Complexes:
    """Return both channels added in phase, each by its share: least noise beside the tone."""
    left, right = np.sqrt(tone / max(float(tone.sum()), 1e-30))
    turn = cross / abs(cross) if abs(cross) > 0.0 else 1.0
    result: Complexes = left * spectra[0] + right * turn * spectra[1]
    return result
