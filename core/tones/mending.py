"""Places in a track that a click or a lost block spoiled: found, counted and bridged."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.tones.carrier import PER_FRAME, Track
from core.tones.frames import Floats

_TIMES_SPREAD: Final = 7.0
_LEAST_AMPLITUDE: Final = 0.04
_LEAST_HZ: Final = 0.5
_WIDER: Final = 6
_BESIDE: Final = 12
_STEP_RAD: Final = 0.4
_JUMP_S: Final = 0.03
"""A longer place tells no phase: the speed itself may vary within it. Of a tone at `_JUMP_HZ`; a
lower one goes less far in that time, and is followed through a narrower filter."""

_JUMP_HZ: Final = 3_000.0
_MOST_SLOWER: Final = 5.0

_TOO_MUCH: Final = 0.2
_TO_SIGMA: Final = 1.4826


@dataclass(frozen=True, slots=True)
class Mended:
    """A track without its spoiled places, and where they were.

    ``jumps_s`` are the times where the tone went on with another phase: sound is missing there.
    """

    track: Track
    spoiled_s: tuple[float, ...]
    jumps_s: tuple[float, ...]


def mended(track: Track) -> Mended:
    """Bridge what stands out of a track; each place by a straight line.

    Where a fifth or more of it stands out, that is how the tone is, and nothing is changed.
    """
    hz = track.hz - _medians(track.hz)
    loud = np.maximum(_medians(track.amplitude), 1e-12)
    odd = np.abs(hz) > max(_TIMES_SPREAD * _spread(hz), _LEAST_HZ)
    size = track.amplitude / loud - 1.0
    odd |= np.abs(size) > max(_TIMES_SPREAD * _spread(size), _LEAST_AMPLITUDE)
    if not odd.any():
        return Mended(track, (), ())
    wide = np.convolve(odd, np.ones(2 * _WIDER + 1), mode="same") > 0.5
    if float(np.mean(wide)) > _TOO_MUCH:
        return Mended(track, (), ())
    result = track.hz.copy()
    places, jumps = [], []
    for begin, end in runs(wide):
        at = track.start_s + begin / track.rate
        before = result[max(0, begin - _BESIDE) : begin]
        after = track.hz[end : end + _BESIDE]
        after = after[~wide[end : end + _BESIDE]]
        left = float(np.mean(before)) if before.size else None
        # Where the track begins or ends, no tone on the far side tells a phase to compare.
        is_between = left is not None and after.size > 0
        right = float(np.mean(after)) if after.size else left
        if right is None:
            continue
        line = np.linspace(right if left is None else left, right, end - begin)
        step = 2.0 * math.pi / track.rate * float(np.sum(track.hz[begin:end] - line))
        places.append(at)
        slower = min(_JUMP_HZ / max(float(np.mean(line)), 1.0), _MOST_SLOWER)
        short = end - begin <= _JUMP_S * max(slower, 1.0) * track.rate
        if is_between and short and abs(math.remainder(step, 2.0 * math.pi)) > _STEP_RAD:
            jumps.append(at)
        result[begin:end] = line
    return Mended(replace(track, hz=result), tuple(places), tuple(jumps))


def runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return beginning and end, that one not included, of each run that is true."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int8), [0]))))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]


def _medians(values: Floats) -> Floats:
    """Return the median around each sample: of each tenth of a second, straight lines between."""
    count = values.size // PER_FRAME
    if count < 2:
        return np.full(values.size, np.median(values) if values.size else 0.0)
    blocks = np.median(values[: count * PER_FRAME].reshape(count, PER_FRAME), axis=1)
    centres = (np.arange(count) + 0.5) * PER_FRAME
    result: Floats = np.interp(np.arange(values.size), centres, blocks)
    return result


def _spread(values: Floats) -> float:
    return _TO_SIGMA * float(np.median(np.abs(values)))
