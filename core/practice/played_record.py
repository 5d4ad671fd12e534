"""Synthesise a test record played with known faults, so that the truth of every figure is known.

The groove is laid out as angles of a turning record and read at moments of true time, so nothing
here demodulates, weights or looks for bands.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float64]
PlayedOn = Literal["left", "right", "both"]

_BLOCK: Final = 1 << 17
_CLICK_S: Final = 0.0002


@dataclass(frozen=True, slots=True)
class CutBand:
    """A band as it was cut: its tone lasts so long at the nominal speed; a gap follows it."""

    hz: float
    seconds: float
    side: PlayedOn = "both"
    peak: float = 0.3
    gap_s: float = 0.0
    harmonics: tuple[float, ...] = ()
    """Peaks of the second harmonic and those after it, 1 is the tone's own."""


@dataclass(frozen=True, slots=True)
class Wave:
    """A sine in the platter's speed: its rate, its peak in percent, its phase at the beginning."""

    hz: float
    percent: float
    deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Playing:
    """How the record is played and recorded.

    ``speed_percent`` is how much too fast the platter turns. The hole is ``hole_mm`` off centre at
    ``radius_mm``; ``hole_deg`` is how far the platter turns from the start until that makes the
    groove fastest. A leak is (decibels, degrees): what the left channel shows of the right one's
    tone, and the reverse. Noise and hum are in decibels beside the loudest band.

    The stylus presses each wall with its share of ``downforce_gf``. ``side_gf`` is what is left of
    the pull toward the spindle: it loads the inner wall, which is the left channel's, and unloads
    the other. A wall that is loaded with half of 1 gf holds the stylus up to ``holds_per_gf`` of
    peak; beyond it lags. None holds any peak.
    """

    speed_percent: float = 0.0
    waves: tuple[Wave, ...] = ()
    hole_mm: float = 0.0
    hole_deg: float = 0.0
    radius_mm: float = 100.0
    rpm: float = 100.0 / 3.0
    into_left: tuple[float, float] = (-30.0, 0.0)
    into_right: tuple[float, float] = (-30.0, 0.0)
    balance_db: float = 0.0
    downforce_gf: float = 2.0
    side_gf: float = 0.0
    holds_per_gf: float | None = None
    noise_db: float = -65.0
    clicks_per_minute: float = 0.0
    hum_db: float | None = None
    hum_hz: float = 50.0
    lead_in_s: float = 0.0
    lead_out_s: float = 0.0
    seed: int = 1


def total_seconds(cut: tuple[CutBand, ...], playing: Playing) -> float:
    """Return how long the recording lasts; at true speed, so a fast record ends in silence."""
    return playing.lead_in_s + sum(b.seconds + b.gap_s for b in cut) + playing.lead_out_s


def starts_s(cut: tuple[CutBand, ...], playing: Playing) -> tuple[tuple[float, float], ...]:
    """Return when each band really begins and ends, by bisection."""
    found = []
    at = playing.lead_in_s
    for band in cut:
        found.append((_moment(at, playing), _moment(at + band.seconds, playing)))
        at += band.seconds + band.gap_s
    return tuple(found)


def played(cut: tuple[CutBand, ...], playing: Playing, rate: int) -> Iterator[Samples]:
    """Yield the recording in pieces, shape (samples, 2), 1 is full scale."""
    rng = np.random.default_rng(playing.seed)
    total = round(total_seconds(cut, playing) * rate)
    loudest = max(band.peak for band in cut)
    clicks = np.sort(
        rng.uniform(0, total, rng.poisson(playing.clicks_per_minute * total / rate / 60))
    )
    sizes = loudest * rng.uniform(0.3, 1.5, clicks.size) * rng.choice((-1.0, 1.0), clicks.size)
    hum_phases = rng.uniform(0, 2 * math.pi, 3)
    for begin in range(0, total, _BLOCK):
        count = min(_BLOCK, total - begin)
        times = (begin + np.arange(count)) / rate
        sound = _tones(cut, playing, _groove_seconds(times, playing))
        noise = loudest / math.sqrt(2.0) * 10.0 ** (playing.noise_db / 20.0)
        sound += noise * rng.standard_normal(sound.shape)
        if playing.hum_db is not None:
            hum = loudest * 10.0 ** (playing.hum_db / 20.0)
            for n, phase in enumerate(hum_phases, start=1):
                wave = hum / n * np.sin(2 * math.pi * n * playing.hum_hz * times + phase)
                sound += wave[:, None]
        for place, size in zip(clicks, sizes, strict=True):
            _click(sound, place - begin, size, rate)
        yield sound


def _groove_seconds(times: Samples, playing: Playing) -> Samples:
    """Return which second of the cut groove lies under the stylus at each moment.

    The platter's angle is the sum of its mean turning and of every wave in it; an off-centre groove
    advances by the angle seen from its own centre, worked out from the triangle of hole, groove
    centre and stylus.
    """
    true = 1.0 + playing.speed_percent / 100.0
    seconds = true * times
    for wave in playing.waves:
        turning, phase = 2 * math.pi * wave.hz, math.radians(wave.deg)
        swing = np.sin(turning * times + phase) - math.sin(phase)
        seconds = seconds + wave.percent / 100.0 / turning * swing
    if playing.hole_mm:
        turning = 2 * math.pi * playing.rpm / 60.0
        angles = turning * seconds
        seen = _seen(angles, playing) - _seen(np.zeros(1), playing)
        seconds = seconds + seen / turning
    return seconds


def _seen(angles: Samples, playing: Playing) -> Samples:
    """Return how far the stylus stands ahead in the groove's own angle at platter angles.

    Stylus at distance `radius_mm` from the spindle on a fixed line; the groove's centre goes round
    the spindle. Seen from that centre the stylus' bearing is that of (radius - x, -y).
    """
    where = math.radians(playing.hole_deg) - angles
    x, y = playing.hole_mm * np.cos(where), playing.hole_mm * np.sin(where)
    result: Samples = np.arctan2(y, playing.radius_mm - x)
    return -result


def _moment(groove_s: float, playing: Playing) -> float:
    """Return the time at which a second of the groove is under the stylus, by halving."""
    low, high = 0.0, 2.0 * groove_s + 10.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if float(_groove_seconds(np.array([middle]), playing)[0]) < groove_s:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _tones(cut: tuple[CutBand, ...], playing: Playing, groove: Samples) -> Samples:
    sound = np.zeros((groove.size, 2))
    right = 10.0 ** (playing.balance_db / 20.0)
    at = playing.lead_in_s
    for band in cut:
        inside = (groove >= at) & (groove < at + band.seconds)
        if inside.any():
            angle = 2 * math.pi * band.hz * (groove[inside] - at)
            own = {
                "left": (_cut(band, angle), _leaked(band, angle, playing.into_right)),
                "right": (_leaked(band, angle, playing.into_left), _cut(band, angle)),
                "both": (_cut(band, angle), _cut(band, angle)),
            }[band.side]
            sound[inside, 0] += _held(own[0], playing, playing.side_gf)
            sound[inside, 1] += _held(own[1], playing, -playing.side_gf) * right
        at += band.seconds + band.gap_s
    return sound


def _cut(band: CutBand, angle: Samples) -> Samples:
    wave = np.sin(angle)
    for times, size in enumerate(band.harmonics, start=2):
        wave = wave + size * np.sin(times * angle)
    result: Samples = band.peak * wave
    return result


def _held(wave: Samples, playing: Playing, more_gf: float) -> Samples:
    """Return how the stylus follows a wall that is loaded by so much more than half the downforce.

    Beyond what the load holds it goes half as far, and only where the wall runs away from it.
    """
    if playing.holds_per_gf is None:
        return wave
    held = playing.holds_per_gf * max(playing.downforce_gf + more_gf, 0.0)
    result: Samples = np.where(wave > held, held + 0.5 * (wave - held), wave)
    return result


def _leaked(band: CutBand, angle: Samples, leak: tuple[float, float]) -> Samples:
    size, ahead = 10.0 ** (leak[0] / 20.0), math.radians(leak[1])
    result: Samples = band.peak * size * np.sin(angle + ahead)
    return result


def _click(sound: Samples, place: float, size: float, rate: int) -> None:
    """Add a scratch: up at once, down in a fifth of a millisecond, on both walls unequally."""
    first = math.floor(place)
    last = first + round(8 * _CLICK_S * rate)
    if last <= 0 or first >= sound.shape[0]:
        return
    at = np.arange(max(first, 0), min(last, sound.shape[0]))
    shape = np.exp(-(at - first) / (_CLICK_S * rate)) * np.cos((at - first) / (_CLICK_S * rate))
    sound[at] += size * shape[:, None] * np.array([1.0, 0.7])
