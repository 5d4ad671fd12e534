"""What is wrong with a recording, how that is told, and which results it spoils."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.language import Message, Quantity, message
from core.tones.bands import CutSide, Kind, ToneBand
from core.tones.frames import Floats
from core.tones.measures import HUM_HZ, Measures
from core.tones.mending import Mended

Tracks = tuple[tuple[ToneBand, Mended], ...]
"""Each tone that was followed, and the band it belongs to."""


class Fault(Enum):
    """What may be wrong with a recording; the value is its name in tables of figures."""

    SILENCE = "silence"
    NO_TONE = "no_tone"
    ONE_CHANNEL = "one_channel"
    DEAD_LEFT = "dead_left"
    DEAD_RIGHT = "dead_right"
    MONO = "mono"
    SWAPPED = "swapped"
    OPPOSED = "opposed"
    CLIPPING = "clipping"
    HUM = "hum"
    CLICKS = "clicks"
    DROPPED = "dropped"
    GAIN = "gain"
    NOISE = "noise"
    TONE_UNKNOWN = "tone_unknown"
    OTHER_SPEED = "other_speed"
    OTHER_RECORD = "other_record"
    CUT_SHORT = "cut_short"


class Result(Enum):
    """What a recording may tell."""

    SPEED = "speed"
    FLUCTUATION = "fluctuation"
    LEAK = "leak"
    DISTORTION = "distortion"
    LEVEL = "level"


SPOILS: Final[dict[Fault, frozenset[Result]]] = {
    Fault.SILENCE: frozenset(Result),
    Fault.NO_TONE: frozenset(Result),
    Fault.ONE_CHANNEL: frozenset({Result.LEAK}),
    Fault.DEAD_LEFT: frozenset({Result.LEAK, Result.LEVEL}),
    Fault.DEAD_RIGHT: frozenset({Result.LEAK, Result.LEVEL}),
    Fault.MONO: frozenset({Result.LEAK, Result.LEVEL, Result.DISTORTION}),
    Fault.SWAPPED: frozenset({Result.LEAK, Result.DISTORTION}),
    Fault.OPPOSED: frozenset({Result.LEAK}),
    Fault.CLIPPING: frozenset({Result.DISTORTION, Result.LEVEL, Result.LEAK}),
    Fault.HUM: frozenset({Result.DISTORTION}),
    Fault.CLICKS: frozenset({Result.DISTORTION}),
    Fault.DROPPED: frozenset({Result.SPEED, Result.FLUCTUATION}),
    Fault.GAIN: frozenset({Result.LEVEL, Result.DISTORTION}),
    Fault.NOISE: frozenset({Result.FLUCTUATION}),
    Fault.TONE_UNKNOWN: frozenset({Result.SPEED}),
    Fault.OTHER_SPEED: frozenset({Result.SPEED}),
    Fault.OTHER_RECORD: frozenset({Result.SPEED, Result.FLUCTUATION}),
    Fault.CUT_SHORT: frozenset(),
}
"""Which results are unreliable, and how much."""


@dataclass(frozen=True, slots=True)
class FaultFound:
    """One thing that is wrong; the sentence says what it spoils."""

    fault: Fault
    sentence: Message

    @property
    def spoils(self) -> frozenset[Result]:
        """Which results cannot be trusted."""
        return SPOILS[self.fault]


_SILENT_POWER: Final = 1e-6
_DEAD_DB: Final = -55.0
_SAME_DB: Final = -78.0
"""Below this both channels are the same. Grooves leave noise of their own in each, at best 70 dB
down (our own figure, between converters' own noise and theirs)."""

_ALIKE: Final = 0.9
"""Noise that runs together so far is one noise. A groove's own would have to be forty times as
strong sideways as up and down, in power (derived, see the tests; the figure is our own)."""

_RATHER_ALIKE: Final = 0.45
_RATHER_SAME_DB: Final = -66.0
"""Each alone may be a quiet groove's: a leak of -15 dB makes its noise 0.3 alike (derived)."""

_NEVER_ONE_SIDED_DB: Final = -45.0
"""Tones for speed and tracking are cut on both sides, and no cartridge keeps sides so far apart."""

_FLAT_SHARE: Final = 0.06
_FLAT_MOST: Final = 0.3
_HUM_DB: Final = -52.0
_HUM_ABOVE: Final = 6.0
_CLICKS: Final = 3
_CLICKS_A_MINUTE: Final = 2.0
_GAIN_DB: Final = 0.8
_GAIN_LEAST_S: Final = 2.0
_PAUSE_FRAMES: Final = 5
_RISE_DB_PER_S: Final = 0.8
_NOISE_DB: Final = -35.0
_OPPOSED_DEG: Final = 135.0


def faults_of(
    measures: Measures,
    bands: tuple[ToneBand, ...],
    hop_s: float,
    channels: int,
    tracks: Tracks,
) -> tuple[FaultFound, ...]:
    """Return what is wrong, the worst first."""
    if not bands:
        return tuple(_nothing(measures))
    looked = _Looked(measures, bands, hop_s, tracks)
    found = [*_channels(looked, channels), *_sound(looked)]
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Looked:
    measures: Measures
    bands: tuple[ToneBand, ...]
    hop_s: float
    tracks: Tracks

    def inside(self) -> list[slice]:
        """Return the frames of each band, without those at its ends."""
        return [slice(band.frames[0] + 2, band.frames[1] - 2) for band in self.bands]

    def joined(self, column: Floats) -> Floats:
        """Return a column over all bands."""
        return np.concatenate([column[part] for part in self.inside()])

    @property
    def tone(self) -> float:
        """Power of the tone, its median over the frames of all bands."""
        return float(np.median(self.joined(self.measures.tone).sum(axis=1)))


def _nothing(measures: Measures) -> Iterator[FaultFound]:
    loudest = float(np.quantile(measures.total.max(axis=1), 0.95))
    if loudest < _SILENT_POWER:
        yield FaultFound(Fault.SILENCE, message("tones.fault.silence"))
    else:
        yield FaultFound(Fault.NO_TONE, message("tones.fault.no_tone"))


def _channels(looked: _Looked, channels: int) -> Iterator[FaultFound]:
    if channels == 1:
        yield FaultFound(Fault.ONE_CHANNEL, message("tones.fault.one_channel"))
        return
    sides = {band.side for band in looked.bands}
    if _is_dead(looked, 0) and CutSide.LEFT not in sides:
        yield FaultFound(Fault.DEAD_LEFT, message("tones.fault.dead", side="left"))
    elif _is_dead(looked, 1) and CutSide.RIGHT not in sides:
        yield FaultFound(Fault.DEAD_RIGHT, message("tones.fault.dead", side="right"))
    elif _is_mono(looked):
        yield FaultFound(Fault.MONO, message("tones.fault.mono"))
    cross = [
        complex(looked.measures.cross[part].sum())
        for part, band in zip(looked.inside(), looked.bands, strict=True)
        if band.side is CutSide.BOTH and band.kind in (Kind.SPEED, Kind.TRACKING)
    ]
    opposed = [abs(math.degrees(math.atan2(one.imag, one.real))) > _OPPOSED_DEG for one in cross]
    if opposed and all(opposed):
        yield FaultFound(Fault.OPPOSED, message("tones.fault.opposed"))


def _is_dead(looked: _Looked, channel: int) -> bool:
    """Whether next to nothing of the tones is on a channel, or of those cut on both."""
    near = looked.joined(looked.measures.near)
    if _share_db(near, channel) < _DEAD_DB:
        return True
    both = [
        looked.measures.near[part]
        for part, band in zip(looked.inside(), looked.bands, strict=True)
        if band.kind in (Kind.SPEED, Kind.TRACKING)
    ]
    return bool(both) and _share_db(np.concatenate(both), channel) < _NEVER_ONE_SIDED_DB


def _share_db(near: Floats, channel: int) -> float:
    share = float(np.median(near[:, channel] / (near.sum(axis=1) + 1e-30)))
    return 10.0 * math.log10(max(share, 1e-12))


def _is_mono(looked: _Looked) -> bool:
    """Whether both channels are one: by all they hold, or by the noise of the groove.

    A mono switch before two converters leaves their own noise in each; the groove's, where it is
    louder, still runs together.
    """
    if any(band.side is not CutSide.BOTH for band in looked.bands):
        return False
    alike = float(np.median(looked.joined(looked.measures.alike)))
    same_db = _same_db(looked)
    both_hint = alike > _RATHER_ALIKE and same_db < _RATHER_SAME_DB
    return alike > _ALIKE or same_db < _SAME_DB or both_hint


def _same_db(looked: _Looked) -> float:
    """Return how far below them both channels differ, if one is turned up or down as need be.

    By least squares: what is left of the left is its power less that of the right in it. A mono
    switch before two converters leaves what their gains and their own noise differ by.
    """
    loudest = max(looked.bands, key=lambda band: band.level_db)
    part = looked.inside()[looked.bands.index(loudest)]
    power, crossed = looked.measures.power[part], looked.measures.crossed[part]
    left = power.min(axis=1) - crossed**2 / (power.max(axis=1) + 1e-30)
    share = float(np.median(left / (power.min(axis=1) + 1e-30)))
    return 10.0 * math.log10(max(share, 1e-12))


def _sound(looked: _Looked) -> Iterator[FaultFound]:
    measures = looked.measures
    flat = [measures.flat[part].max(axis=1) > _FLAT_SHARE for part in looked.inside()]
    clipped = any(float(np.mean(band)) > _FLAT_MOST for band in flat)  # the loudest may do it alone
    if clipped:
        yield FaultFound(Fault.CLIPPING, message("tones.fault.clipping"))
    creeps = _gain_moves(looked)
    drops = _drops(looked, is_mono=_is_mono(looked), levelled=creeps or clipped)
    if drops:
        yield FaultFound(Fault.DROPPED, message("tones.fault.dropped", count=drops))
    yield from _hum(looked)
    minutes = max(sum(band.seconds for band in looked.bands) / 60.0, 1e-9)
    clicks = round(float(looked.joined(np.where(_broken(looked), 0.0, measures.clicks)).sum()))
    if clicks >= _CLICKS and clicks / minutes >= _CLICKS_A_MINUTE:
        rate = Quantity(clicks / minutes, "", 0)
        yield FaultFound(Fault.CLICKS, message("tones.fault.clicks", rate=rate))
    if creeps:
        yield FaultFound(Fault.GAIN, message("tones.fault.gain"))
    noise = _noise_db(looked)
    if noise > _NOISE_DB and not clipped:  # clipped, high harmonics would be taken for noise
        below = Quantity(-noise, "dB", 0)
        yield FaultFound(Fault.NOISE, message("tones.fault.noise", below=below))


def _broken(looked: _Looked) -> NDArray[np.bool_]:
    """Return the frames in which sound breaks off or sets in again: that is no click."""
    found = looked.measures.zeros > 0.0
    for _, track in looked.tracks:
        places = (np.array(track.jumps_s) / looked.hop_s).astype(int)
        found[places[places < found.size]] = True
    wider: NDArray[np.bool_] = np.convolve(found, np.ones(3), mode="same") > 0.5
    return wider


def _drops(looked: _Looked, *, is_mono: bool, levelled: bool) -> int:
    """Return where sound is missing.

    Bands without a gap are one with a jump, and nothing is missing there, where a left-only and a
    right-only one are summed to mono, and where automatic gain or clipping makes rising levels
    alike.
    """
    joined = {Kind.LEVEL} if is_mono else set()
    if levelled:
        joined.add(Kind.TRACKING)
    zeros = round(float(looked.joined(looked.measures.zeros).sum()))
    jumps = sum(len(track.jumps_s) for band, track in looked.tracks if band.kind not in joined)
    return max(zeros, jumps)


def _hum(looked: _Looked) -> Iterator[FaultFound]:
    """Tell of mains hum, by its median over frames: a click or the edge of a band is none."""
    power = np.median(looked.joined(looked.measures.hum), axis=0).max(axis=0)
    which = int(np.argmax(power))
    below = 10.0 * math.log10(max(float(power[which]), 1e-30) / max(looked.tone, 1e-30))
    other = max(float(power[1 - which]), 1e-30)
    if below > _HUM_DB and float(power[which]) > _HUM_ABOVE * other:
        hum = Quantity(-below, "dB", 0)
        mains = Quantity(HUM_HZ[which], "Hz", 0)
        yield FaultFound(Fault.HUM, message("tones.fault.hum", below=hum, mains=mains))


def _gain_moves(looked: _Looked) -> bool:
    """Whether tones creep in level after they began, or noise between them rises."""
    crept = [_creeps(looked, band) for band in looked.bands if band.seconds >= _GAIN_LEAST_S]
    risen = [_rises(looked, first, last) for first, last in _pauses(looked)]
    return any(2 * sum(those) >= len(those) for those in (crept, risen) if those)


def _creeps(looked: _Looked, band: ToneBand) -> bool:
    first, last = band.frames
    inside = _level_db(looked.measures.tone[first + 1 : last - 1])
    late = float(np.median(inside[-8:]))
    falls = float(inside[:3].max()) - late  # at once, as a limiter does
    rises = late - float(np.median(inside[1:4]))
    return max(falls, rises) > _GAIN_DB


def _pauses(looked: _Looked) -> list[tuple[int, int]]:
    """Return the frames between bands, where they are long enough to tell a slope."""
    ends = [0, *(band.frames[1] for band in looked.bands)]
    begins = [band.frames[0] for band in looked.bands]
    between = [(end + 2, begin - 2) for end, begin in zip(ends, begins, strict=False)]
    return [(first, last) for first, last in between if last - first >= _PAUSE_FRAMES]


def _rises(looked: _Looked, first: int, last: int) -> bool:
    """Whether noise rises over a pause, by the median of the slopes between its halves."""
    level = _level_db(looked.measures.total[first:last])
    half = level.size // 2
    rise = float(np.median(level[-half:] - level[:half])) / ((level.size - half) * looked.hop_s)
    return rise > _RISE_DB_PER_S


def _level_db(power: Floats) -> Floats:
    result: Floats = 10.0 * np.log10(power.sum(axis=1) + 1e-30)
    return result


def _noise_db(looked: _Looked) -> float:
    """Return what is neither tone, harmonic nor hum beside the tone, in decibels.

    Noise spoils fluctuation: it is judged by the tone for speed, without one by the loudest band.
    """
    measures, bands = looked.measures, looked.bands
    one = max(bands, key=lambda band: (band.kind is Kind.SPEED, band.level_db))
    part = looked.inside()[bands.index(one)]
    known = measures.tone + measures.harmonics.sum(axis=2) + measures.hum.max(axis=2)
    rest = float(np.median((measures.total - known)[part].sum(axis=1)))
    tone = float(np.median(measures.tone[part].sum(axis=1)))
    return 10.0 * math.log10(max(rest, 1e-30) / max(tone, 1e-30))
