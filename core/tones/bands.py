"""Finding the bands of a recording: from when to when which tone plays, on which side, how loud."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from statistics import median
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.tones.frames import Floats
from core.tones.measures import Measures

LEAST_S: Final = 1.0
"""Shorter tones are not counted as bands."""

_PURE: Final = 0.5
_LEAST_POWER: Final = 1e-7
_SAME_HZ: Final = 0.025
_BRIDGED: Final = 3
_PAUSE: Final = 0.02
_STEP_SHARE: Final = 0.12
_STEP_DB: Final = 0.7
_ONE_SIDED_DB: Final = 8.0
_REACH: Final = 5
_NEVER_DB: Final = -200.0


class CutSide(Enum):
    """On which channel a tone was cut."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"


class Kind(Enum):
    """What a band is for, by its tone and side."""

    SPEED = "speed"
    SEPARATION = "separation"
    TRACKING = "tracking"
    LEVEL = "level"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Leak:
    """The silent channel beside the driven one: how much, and how far ahead of it in phase."""

    db: float
    deg: float


@dataclass(frozen=True, slots=True)
class ToneBand:
    """A stretch of one tone.

    ``level_db`` is the louder channel's, 0 is a full-scale sine. ``leak`` is None on both sides;
    ``distortion_percent`` (left, right) is the second to fifth harmonic beside the tone, None where
    a channel was not cut or the harmonics lie above what was recorded. ``frames`` are its first
    frame and the one after its last.
    """

    kind: Kind
    side: CutSide
    hz: float
    nominal_hz: float | None
    start_s: float
    end_s: float
    level_db: float
    leak: Leak | None
    distortion_percent: tuple[float | None, float | None]
    frames: tuple[int, int]

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return self.end_s - self.start_s

    @property
    def worst_distortion_percent(self) -> float | None:
        """The larger distortion of the channels it was cut on."""
        known = [one for one in self.distortion_percent if one is not None]
        return max(known, default=None)


_TONES: Final = (
    (Kind.SPEED, 3150.0),
    (Kind.SPEED, 3000.0),
    (Kind.SEPARATION, 1000.0),
    (Kind.TRACKING, 315.0),
    (Kind.TRACKING, 300.0),
)
_NEAR: Final = 0.04


def named(hz: float, side: CutSide) -> tuple[Kind, float | None]:
    """Return what a tone is for and its nominal frequency, by the usual ones.

    Sources: 3,150 Hz, IEC 60386 (DIN 45507 before it); the others are common practice, no source.
    """
    kind, nominal = min(_TONES, key=lambda tone: abs(math.log(hz / tone[1])))
    if abs(hz / nominal - 1.0) > _NEAR:
        return Kind.OTHER, None
    if kind is Kind.SEPARATION and side is CutSide.BOTH:
        return Kind.LEVEL, nominal
    return kind, nominal


def bands_of(measures: Measures, hop_s: float, seconds: float) -> tuple[ToneBand, ...]:
    """Return the bands of a recording in order."""
    power = measures.tone.sum(axis=1)
    kept = measures.harmonics.sum(axis=(1, 2)) + measures.hum.sum(axis=1).max(axis=1)
    rest = np.maximum(measures.total.sum(axis=1) - np.maximum(kept, 0.0), 1e-30)
    clear = (power > _PURE * rest) & (power > _LEAST_POWER)
    sides = _sides(measures)
    found: list[ToneBand] = []
    quiet = _quiet(measures, power)
    for begin, end in _same(measures.hz, sides, clear, quiet):
        for first, last in _steps(begin, end, _decibels(power)):
            if (last - first) * hop_s >= LEAST_S:
                found.append(_band(measures, sides, (first, last), hop_s, seconds))
    return tuple(found)


def _quiet(measures: Measures, power: Floats) -> NDArray[np.bool_]:
    """Return which frames are a pause: far quieter than the loudest tone around them."""
    around = power.copy()
    for shift in range(1, _BRIDGED + 2):
        around[shift:] = np.maximum(around[shift:], power[:-shift])
        around[:-shift] = np.maximum(around[:-shift], power[shift:])
    result: NDArray[np.bool_] = measures.total.sum(axis=1) < _PAUSE * around
    return result


def _same(
    hz: Floats, sides: NDArray[np.int8], clear: NDArray[np.bool_], quiet: NDArray[np.bool_]
) -> list[tuple[int, int]]:
    """Return runs of frames of one frequency and side; a few spoiled frames do not end one."""
    found: list[tuple[int, int]] = []
    begin, last = 0, -1
    recent: list[float] = []
    for i in np.flatnonzero(clear).tolist():
        goes_on = (
            bool(recent)
            and i - last <= _BRIDGED + 1
            and not quiet[last + 1 : i].any()
            and abs(hz[i] / median(recent) - 1.0) <= _SAME_HZ
            and sides[i] == sides[last]
        )
        if not goes_on:
            if _is_slip(i, last, hz, sides, clear, recent):
                continue
            if recent:
                found.append((begin, last + 1))
            begin, recent = i, []
        recent = [*recent[-9:], float(hz[i])]
        last = i
    if recent:
        found.append((begin, last + 1))
    return found


def _is_slip(
    i: int,
    last: int,
    hz: Floats,
    sides: NDArray[np.int8],
    clear: NDArray[np.bool_],
    recent: list[float],
) -> bool:
    """Whether the old tone returns within a few frames, which makes the gap a click."""
    if not recent or i - last > _BRIDGED:
        return False
    usual = median(recent)
    ahead = range(i + 1, min(last + _BRIDGED + 2, hz.size))
    return any(
        clear[j] and sides[j] == sides[last] and abs(hz[j] / usual - 1.0) <= _SAME_HZ for j in ahead
    )


def _sides(measures: Measures) -> NDArray[np.int8]:
    """Return -1, 0 or 1 for left, both or right of each frame."""
    ratio = _decibels(measures.tone[:, 0]) - _decibels(measures.tone[:, 1])
    result = np.zeros(ratio.size, dtype=np.int8)
    result[ratio > _ONE_SIDED_DB] = -1
    result[ratio < -_ONE_SIDED_DB] = 1
    return result


def _steps(begin: int, end: int, level: Floats) -> list[tuple[int, int]]:
    """Split a run where its level steps; a slow drift of level does not start a new band."""
    cuts = [begin]
    inside = level[begin:end]
    if inside.size > 2 * _REACH:
        every = np.lib.stride_tricks.sliding_window_view(inside, 2 * _REACH)
        before, after = every[:, :_REACH], every[:, _REACH:]
        step = np.abs(np.median(after[:, 1:], axis=1) - np.median(before[:, :-1], axis=1))
        slope = np.maximum(np.abs(before[:, -2] - before[:, 0]), np.abs(after[:, -1] - after[:, 1]))
        places = _REACH + np.flatnonzero((step > _STEP_DB) & (slope < 0.4 * step))
        groups = _grouped(places.tolist())
        cuts += [begin + max(group, key=lambda i: _jump(inside, i)) for group in groups]
    cuts.append(end)
    return list(pairwise(cuts))


def _jump(level: Floats, i: int) -> float:
    return abs(float(level[min(i + 1, level.size - 1)] - level[max(i - 2, 0)]))


def _grouped(places: list[int]) -> list[list[int]]:
    groups: list[list[int]] = []
    for place in places:
        if groups and place - groups[-1][-1] <= 2:
            groups[-1].append(place)
        else:
            groups.append([place])
    return groups


def _band(
    measures: Measures,
    sides: NDArray[np.int8],
    frames: tuple[int, int],
    hop_s: float,
    seconds: float,
) -> ToneBand:
    first, last = frames
    inner = slice(first + 1, last - 1)
    side = (CutSide.BOTH, CutSide.RIGHT, CutSide.LEFT)[int(np.median(sides[inner]))]
    hz = float(np.median(measures.hz[inner]))
    kind, nominal = named(hz, side)
    tone = np.median(measures.tone[inner], axis=0)
    channels = {CutSide.LEFT: [0], CutSide.RIGHT: [1], CutSide.BOTH: [0, 1]}[side]
    driven = measures.tone[:, channels].sum(axis=1)
    return ToneBand(
        kind=kind,
        side=side,
        hz=hz,
        nominal_hz=nominal,
        start_s=_edge_s(driven, first, -1, hop_s, seconds),
        end_s=_edge_s(driven, last - 1, 1, hop_s, seconds),
        level_db=float(_decibels(tone).max()),
        leak=_leak(measures, inner, side),
        distortion_percent=_distortion(measures, inner, side, tone),
        frames=frames,
    )


def _edge_s(driven: Floats, frame: int, way: int, hop_s: float, seconds: float) -> float:
    """Return when a band begins (`way` is -1) or ends (1); `frame` is its outermost.

    A frame tells the power around its middle: half of a step is passed at the step itself. Where
    no step in power is to be seen, the edge lies where the frames say.
    """
    plain = (frame + (way > 0)) * hop_s
    inner = [frame - way * k for k in (3, 4, 5)]
    outer = frame + 3 * way
    if min(inner) < 0 or max(inner) >= driven.size:
        return min(max(plain, 0.0), seconds)
    inside = float(np.median(driven[inner]))
    outside = float(driven[outer]) if 0 <= outer < driven.size else 0.0
    if abs(inside - outside) < _STEP_SHARE * inside:
        return min(max(plain, 0.0), seconds)
    half = 0.5 * (inside + outside)
    above = inside > outside
    for k in range(frame - 2 * way, frame + 3 * way, way):
        after = float(driven[k + way]) if 0 <= k + way < driven.size else outside
        here = float(driven[k]) if 0 <= k < driven.size else outside
        if (here >= half) == above and (after >= half) != above:
            share = (here - half) / (here - after)
            return float(min(max((k + way * share + 0.5) * hop_s, 0.0), seconds))
    return min(max(plain, 0.0), seconds)


def _leak(measures: Measures, inner: slice, side: CutSide) -> Leak | None:
    """Return the mean of silent over driven channel; noise that differs on both averages out."""
    if side is CutSide.BOTH:
        return None
    cross, near = measures.cross[inner], measures.near[inner]
    usual = _undisturbed(near)
    driven = 0 if side is CutSide.LEFT else 1
    turned = np.conj(cross) if driven == 0 else cross
    weight = float(near[usual, driven].sum())
    ratio = complex(turned[usual].sum()) / max(weight, 1e-30)
    size = abs(ratio)
    degrees = math.degrees(math.atan2(ratio.imag, ratio.real))
    return Leak(20.0 * math.log10(max(size, 1e-10)), degrees)


def _undisturbed(near: Floats) -> NDArray[np.bool_]:
    """Return which frames hold the tone as loud as usual, without clicks."""
    level = _decibels(near.sum(axis=1))
    result: NDArray[np.bool_] = np.abs(level - np.median(level)) < 1.0
    return result


def _distortion(
    measures: Measures, inner: slice, side: CutSide, tone: Floats
) -> tuple[float | None, float | None]:
    found: list[float | None] = []
    for channel, silent in ((0, CutSide.RIGHT), (1, CutSide.LEFT)):
        parts = measures.harmonics[inner, channel]
        if side is silent or not parts.any():
            found.append(None)
            continue
        power = float(np.median(parts, axis=0).sum())
        found.append(100.0 * math.sqrt(max(power, 0.0) / max(float(tone[channel]), 1e-30)))
    return found[0], found[1]


def _decibels(power: Floats) -> Floats:
    result: Floats = 10.0 * np.log10(np.maximum(power, 10.0 ** (_NEVER_DB / 10.0)))
    return result
