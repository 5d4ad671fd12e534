"""What a tone's frequency over time looks like: the turn, the spectrum, and drift over a side.

Short enough to be kept with a reading, so that it is seen again long after the sound is gone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from core.tones.carrier import Track
from core.tones.frames import Floats

TURN_PLACES: Final = 72
"""So many means make a turn: five degrees each."""

MOST_STRETCHES: Final = 60
"""Of a side's drift."""

SPECTRUM_HZ: Final = (0.2, 200.0)
MOST_LINES: Final = 90
"""Of a spectrum: thirty a decade."""

_THREE_LINES: Final = 1.5
_DRIFT_LEAST_S: Final = 20.0
_PIECE_S: Final = 60.0


@dataclass(frozen=True, slots=True)
class SpeedPictured:
    """Speed against its mean, in percent, fast above zero.

    ``turn_percent`` are the means of every five degrees over all turns, drift taken out; the first
    begins where ``OncePerTurn.from_s`` lies. ``spectrum`` holds frequencies in hertz and the peak
    of a sine fluctuation there, the highest top of each thirtieth of a decade. ``drift`` holds the
    middles of whole turns in seconds from the tone's beginning, and the means over them; empty
    where the tone lasts less than 20 s.
    """

    turn_percent: tuple[float, ...]
    spectrum: tuple[tuple[float, float], ...]
    drift: tuple[tuple[float, float], ...]


def pictured(
    track: Track,
    hz: float,
    drift_percent: float,
    turn: tuple[float, float],
    lines: tuple[Floats, Floats],
) -> SpeedPictured:
    """Return what is to be seen of a clean track.

    ``turn`` says how long one lasts and when the first begins, in seconds; ``lines`` are
    frequencies and peaks of its spectrum.
    """
    return SpeedPictured(
        _turn(track, hz, drift_percent, turn), _spectrum(*lines), _drift(track, hz, turn[0])
    )


def _turn(
    track: Track, hz: float, drift_percent: float, turn: tuple[float, float]
) -> tuple[float, ...]:
    """Return the means of every place of the turn."""
    turn_s, from_s = turn
    sums, counts = np.zeros(TURN_PLACES), np.zeros(TURN_PLACES)
    for at, percent in _pieces(track, hz):
        even = percent - drift_percent * (at / track.seconds - 0.5)
        turned = (at + track.start_s - from_s) / turn_s
        place = np.floor(turned % 1.0 * TURN_PLACES).astype(int) % TURN_PLACES
        sums += np.bincount(place, even, TURN_PLACES)
        counts += np.bincount(place, minlength=TURN_PLACES)
    if not counts.all():
        return ()
    return tuple((sums / counts).tolist())


def _spectrum(hz: Floats, peaks: Floats) -> tuple[tuple[float, float], ...]:
    """Return the greatest peak of each part of the scale, where it has a line at all."""
    low, high = SPECTRUM_HZ
    inside = (hz >= low) & (hz <= high)
    joined = _of_sines(peaks)
    top = np.zeros(joined.size, dtype=bool)
    top[1:-1] = (joined[1:-1] >= joined[:-2]) & (joined[1:-1] >= joined[2:])
    hz, peaks, top = hz[inside], joined[inside], top[inside]
    if not hz.size:
        return ()
    decades = math.log10(high / low)
    part = np.minimum((np.log10(hz / low) / decades * MOST_LINES).astype(int), MOST_LINES - 1)
    found = []
    for one in np.unique(part):
        own = np.flatnonzero(part == one)
        if top[own].any():  # the flank of a higher peak beside it is none
            own = own[top[own]]
        best = own[int(np.argmax(peaks[own]))]
        found.append((float(hz[best]), float(peaks[best])))
    return tuple(found)


def _of_sines(peaks: Floats) -> Floats:
    """Return what a sine has that lies between two lines: the power of three lines, not of one.

    Under a Hann window a sine at a line stands in three, as a half, one and a half (derived); half
    a line away their power sums to 98 % of that.
    """
    power = peaks**2
    joined = power.copy()
    joined[1:] += power[:-1]
    joined[:-1] += power[1:]
    result: Floats = np.sqrt(joined / _THREE_LINES)
    return result


def _drift(track: Track, hz: float, turn_s: float) -> tuple[tuple[float, float], ...]:
    """Return the means over whole turns, so that what comes once a turn drops out."""
    turns = math.floor(track.seconds / turn_s)
    if track.seconds < _DRIFT_LEAST_S or turns < 1:
        return ()
    stretch_s = math.ceil(turns / MOST_STRETCHES) * turn_s
    count = math.floor(track.seconds / stretch_s + 1e-9)
    sums, counts = np.zeros(count + 1), np.zeros(count + 1)
    for at, percent in _pieces(track, hz):
        place = np.clip((at / stretch_s).astype(int), 0, count)
        sums += np.bincount(place, percent, count + 1)
        counts += np.bincount(place, minlength=count + 1)
    means = sums[:count] / np.maximum(counts[:count], 1.0)
    return tuple(((i + 0.5) * stretch_s, float(mean)) for i, mean in enumerate(means))


def _pieces(track: Track, hz: float) -> Iterator[tuple[Floats, Floats]]:
    """Yield times from the tone's beginning, in seconds, and the speed then, in percent.

    In pieces, so that a long side takes no more memory than a short one.
    """
    size = round(_PIECE_S * track.rate)
    for begin in range(0, track.hz.size, size):
        part = track.hz[begin : begin + size]
        at = (np.arange(begin, begin + part.size) - 0.5) / track.rate
        yield at, 100.0 * (part / hz - 1.0)
