"""What a tone's frequency over time says of speed: the mean, what varies, what comes once a turn.

Fluctuation is told as the standard tells it: the two-sigma value, exceeded 5 % of the time.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.tones.carrier import PER_FRAME, Track
from core.tones.frames import Floats
from core.tones.pictured import SpeedPictured, pictured
from core.tones.weighting import weighting

EXCEEDED: Final = 0.05
"""Share of the time in which the value that is told is exceeded.

Source: AES6-2008 (IEC 60386 with amendment 1), two-sigma meter; second-hand.
"""

LEAST_S: Final = 5.0
"""Shortest tone of which a fluctuation is told (the standard's least; second-hand)."""

SPEEDS_RPM: Final = (100.0 / 3.0, 45.0, 78.0)

_HIGH_HZ: Final = 200.0
_NOISE_HZ: Final = (240.0, 400.0)
_NOISE_TIMES: Final = 2.0
_MARGIN_S: Final = 10.0
_PIECE_S: Final = 60.0
_EVERY_S: Final = 300.0
_SLOW: Final = PER_FRAME // 2
_HARMONICS: Final = 2
_DRIFT_S: Final = 20.0
_CLEARLY: Final = 2.0
_CLEAR_PERCENT: Final = 0.02
_FINER: Final = 4
"""Values for one sample before sizes are counted: 200 Hz has six samples a period alone."""


@dataclass(frozen=True, slots=True)
class OncePerTurn:
    """What comes back with every turn: mostly a hole off centre.

    ``chosen_rpm`` is the speed it was looked for at, ``rpm`` the same with the speed's own error.
    ``percent`` is its peak; ``fastest_deg`` how far the platter turns from ``from_s`` until the
    record runs fastest.
    """

    chosen_rpm: float
    rpm: float
    percent: float
    fastest_deg: float
    from_s: float

    def off_centre_mm(self, radius_mm: float) -> float:
        """Return how far off centre a hole is that does this at a radius: e = r times the peak."""
        return radius_mm * self.percent / 100.0


@dataclass(frozen=True, slots=True)
class Fluctuation:
    """Plus or minus so many percent; ``steady`` is without what comes once a turn."""

    weighted_percent: float
    unweighted_percent: float
    steady_weighted_percent: float
    steady_unweighted_percent: float


@dataclass(frozen=True, slots=True)
class ToneSpeed:
    """What a tone tells of speed.

    ``hz`` is its mean frequency; ``fluctuation`` and ``turn`` are None where the tone is too short.
    ``drift_percent`` is how much faster it ended than it began, by a straight line; 0 where it
    lasts less than 20 s. Drift is no part of the fluctuation. ``seen`` is what a picture needs.
    """

    hz: float
    start_s: float
    seconds: float
    drift_percent: float
    turn: OncePerTurn | None
    fluctuation: Fluctuation | None
    seen: SpeedPictured | None = None


def speed_of(
    track: Track,
    nominal_hz: float | None = None,
    rpm: float | None = None,
    *,
    is_pictured: bool = True,
) -> ToneSpeed:
    """Return what a clean track tells; `rpm` is the speed chosen, found by itself if None.

    `nominal_hz` refines the rate of turning by the error of the speed itself. Spoiled places are
    mended before, by `repaired`. What pictures need is left out unless it `is_pictured`.
    """
    slow = _slowed(track)
    hz, rise = _fit(slow, ())[:2]
    drift, turn, fluctuation, seen = 0.0, None, None, None
    if track.seconds >= LEAST_S:
        off = float(hz) / nominal_hz if nominal_hz else 1.0
        turn = _once_per_turn(slow, off, rpm)
        hz, rise = _fit(slow, (turn.rpm,))[:2]
        drift = 100.0 * float(rise / hz) if track.seconds >= _DRIFT_S else 0.0
        fluctuation = _fluctuation(track, float(hz), drift, turn)
        if is_pictured:
            turns = 60.0 / turn.rpm, turn.from_s
            seen = pictured(track, float(hz), drift, turns, spectrum_of(track))
    return ToneSpeed(float(hz), track.start_s, track.seconds, drift, turn, fluctuation, seen)


def percent_of(track: Track, hz: float) -> Floats:
    """Return how much faster than the mean the record ran at each moment, in percent."""
    return 100.0 * (track.hz / hz - 1.0)


def spectrum_of(track: Track, longest_s: float = 120.0) -> tuple[Floats, Floats]:
    """Return frequencies in hertz and the peaks of sine fluctuations there in percent.

    Of the first `longest_s` of the track, through a Hann window: a sine between two lines reads
    up to 1.4 dB low.
    """
    used = track.between(track.start_s, track.start_s + longest_s)
    wave = percent_of(used, float(np.mean(used.hz)))
    window = np.hanning(wave.size + 1)[:-1]
    hz = np.fft.rfftfreq(wave.size, 1.0 / used.rate)
    peaks = 2.0 * np.abs(np.fft.rfft(wave * window)) / np.sum(window)
    keep = hz <= _HIGH_HZ
    return hz[keep], (peaks / _between_samples(hz, used.rate))[keep]


def exceeded(values: Floats) -> float:
    """Return the size that is exceeded 5 % of the time."""
    return float(np.quantile(np.abs(values), 1.0 - EXCEEDED))


def filtered(values: Floats, rate: float, *, weighted: bool, finer: int = 1) -> Floats:
    """Return a fluctuation through the weighting, or all of it up to 200 Hz.

    Both ends are continued for ten seconds, so that no step is filtered: mirrored, and turned
    round for the weighting, which would tell a kink but hardly a slow change. With `finer`, so
    many values for one, by exact interpolation.
    """
    margin = min(values.size - 1, round(_MARGIN_S * rate))
    front, back = values[margin:0:-1], values[-2 : -margin - 2 : -1]
    if weighted:
        front = 2.0 * _edge(values, rate) - front
        back = 2.0 * _edge(values[::-1], rate) - back
    long = np.concatenate((front, values, back))
    long = long[: max(_quick_size(long.size), margin + values.size)]
    hz = np.fft.rfftfreq(long.size, 1.0 / rate)
    gain = weighting(hz) if weighted else np.ones_like(hz)
    gain *= np.clip((300.0 - hz) / 80.0, 0.0, 1.0) / _between_samples(hz, rate)
    found = np.fft.rfft(long)
    gain *= _above_noise(hz, found)
    result: Floats = np.fft.irfft(found * gain * finer, long.size * finer)
    return result[margin * finer : (margin + values.size) * finer]


def _quick_size(most: int) -> int:
    """Return the largest size up to this that a fast transform likes: no prime above 7 in it."""
    for size in range(most, 1, -1):
        rest = size
        for prime in (2, 3, 5, 7):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return size
    return most


def _above_noise(hz: Floats, found: NDArray[np.complex128]) -> Floats:
    """Return a factor that takes out of each line what noise beside the tone puts there.

    White noise makes a tone's frequency vary with a power that grows as the square of the rate
    (derived: an angle's white noise, differentiated). How much is read where no fluctuation is
    told any more; a line far above it stays as it is. A meter that does not do so reads more.
    """
    power = found.real**2 + found.imag**2
    beside = (hz > _NOISE_HZ[0]) & (hz < _NOISE_HZ[1])
    if not beside.any():
        return np.ones_like(hz)
    noise = float(np.median(power[beside] / hz[beside] ** 2)) / math.log(2.0) * hz**2
    with np.errstate(divide="ignore", invalid="ignore"):
        share = _NOISE_TIMES * noise / power
    result: Floats = np.sqrt(np.clip(1.0 - np.nan_to_num(share, nan=0.0), 0.0, 1.0))
    return result


def _edge(values: Floats, rate: float) -> float:
    """Return the value at the first sample, by a straight line over a twentieth of a second."""
    near = values[: max(round(0.05 * rate), 2)]
    at = np.arange(near.size) - 0.5 * (near.size - 1)
    slope = float(at @ near) / float(at @ at)
    return float(np.mean(near)) + slope * float(at[0])


def _between_samples(hz: Floats, rate: float) -> Floats:
    """Return what is left of a sine when it is averaged from one sample to the next."""
    result: Floats = np.sinc(hz / rate)
    return result


def _fluctuation(track: Track, hz: float, drift: float, turn: OncePerTurn) -> Fluctuation:
    def told(without: OncePerTurn | None, *, weighted: bool) -> float:
        """Return the two-sigma value; what comes once a turn is taken out where it is given."""
        found: list[NDArray[np.float32]] = []
        step = max(1, round(track.seconds / _EVERY_S))  # a long one needs not every value
        for piece, keep in _pieces(track):
            wave = percent_of(piece, hz)
            at = piece.start_s - track.start_s + np.arange(wave.size) / track.rate
            wave -= drift * (at / track.seconds - 0.5)
            if without is not None:
                wave -= _turning(piece, without)
            values = filtered(wave, piece.rate, weighted=weighted, finer=_FINER)
            inside = values[keep.start * _FINER : keep.stop * _FINER : step]
            found.append(inside.astype(np.float32))
        return exceeded(np.concatenate(found))

    return Fluctuation(
        weighted_percent=told(None, weighted=True),
        unweighted_percent=told(None, weighted=False),
        steady_weighted_percent=told(turn, weighted=True),
        steady_unweighted_percent=told(turn, weighted=False),
    )


def _pieces(track: Track) -> Iterator[tuple[Track, slice]]:
    """Yield long tracks in pieces, and which part of each counts: memory stays bounded.

    Where there is time enough, what the filters do at both ends of the track is left out.
    """
    rate = track.rate
    out = round(rate * min(2.5, max(0.0, (track.seconds - 2.0 * LEAST_S) / 8.0)))
    margin, size = round(_MARGIN_S * rate), round(_PIECE_S * rate)
    total = track.hz.size
    count = max(1, total // size)
    for i in range(count):
        begin = i * size
        end = total if i == count - 1 else begin + size
        wide_begin, wide_end = max(0, begin - margin), min(total, end + margin)
        piece = Track(
            rate,
            track.start_s + wide_begin / rate,
            track.hz[wide_begin:wide_end],
            track.amplitude[wide_begin:wide_end],
        )
        first = max(begin, out) - wide_begin
        last = min(end, total - out) - wide_begin
        yield piece, slice(first, last)


def _turning(track: Track, turn: OncePerTurn) -> Floats:
    """Return what comes once a turn, at each moment, in percent."""
    result: Floats = turn.percent * np.cos(
        _angles(track, turn.rpm, turn.from_s) - math.radians(turn.fastest_deg)
    )
    return result


def _angles(track: Track, rpm: float, from_s: float) -> Floats:
    """Return the platter's angle at the middle of each sample, in radians."""
    times = track.start_s - from_s + (np.arange(track.hz.size) - 0.5) / track.rate
    result: Floats = (2.0 * math.pi * rpm / 60.0) * times
    return result


def _slowed(track: Track) -> Track:
    """Return a track of means over a twentieth of a second."""
    count = track.hz.size // _SLOW
    if count < 4:
        return track
    rate = track.rate / _SLOW
    hz = track.hz[: count * _SLOW].reshape(count, _SLOW).mean(axis=1)
    start = track.start_s + (_SLOW - 1) / track.rate  # the first mean ends there
    return replace(track, rate=rate, hz=hz, amplitude=np.ones(count), start_s=start)


def _fit(slow: Track, rpms: tuple[float, ...]) -> Floats:
    """Return mean, rise, then cosine and sine of each turn and its harmonics, in hertz.

    By least squares under a four-term window, so that what varies at other rates drops out.
    Source of the window: F. J. Harris, On the use of windows for harmonic analysis with the
    discrete Fourier transform, Proceedings of the IEEE 66 (1978), 51-83 (memory).
    """
    size = slow.hz.size
    at = 2.0 * math.pi * (np.arange(size) + 0.5) / size
    window = 0.35875 - 0.48829 * np.cos(at) + 0.14128 * np.cos(2 * at) - 0.01168 * np.cos(3 * at)
    columns = [np.ones(size), np.linspace(-0.5, 0.5, size)]
    for rpm in rpms:
        angles = _angles(slow, rpm, slow.start_s)
        for harmonic in range(1, _HARMONICS + 1):
            columns += [np.cos(harmonic * angles), np.sin(harmonic * angles)]
    matrix = np.stack(columns, axis=1)
    weighted = matrix * window[:, None]
    result: Floats = np.linalg.solve(weighted.T @ matrix, weighted.T @ slow.hz)
    return result


def _once_per_turn(slow: Track, off: float, rpm: float | None) -> OncePerTurn:
    """Return what comes once a turn at the speed chosen, else at the speed where most comes."""
    off = off if 0.9 < off < 1.1 else 1.0
    tried = [_at(slow, one, one * off) for one in ((rpm,) if rpm else SPEEDS_RPM)]
    best = max(tried, key=lambda turn: turn.percent)
    clear = max(_CLEARLY * tried[0].percent, _CLEAR_PERCENT)
    beside = [_at(slow, best.rpm, best.rpm * times).percent for times in (0.95, 1.05)]
    return best if best.percent > max(clear, *beside) else tried[0]


def _at(slow: Track, chosen: float, rpm: float) -> OncePerTurn:
    hz, _, cosine, sine = _fit(slow, (rpm,))[:4]
    averaged = float(np.sinc(rpm / 60.0 / slow.rate))
    percent = 100.0 * math.hypot(cosine, sine) / float(hz) / averaged
    fastest = math.degrees(math.atan2(sine, cosine)) % 360.0
    return OncePerTurn(chosen, rpm, percent, fastest, slow.start_s)
