"""Recordings of known truth, listened to: for the tests, and for ``tests/bench/tones.py``."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import Final, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from core.practice.played_record import CutBand, Playing, played
from core.tones import Heard, Listener

Found = TypeVar("Found")
Depth = Literal[16, 24, 32]
RATES: Final = (44_100, 48_000, 88_200, 96_000, 176_400, 192_000)
DEPTHS: Final[tuple[Depth, ...]] = (16, 24, 32)
WEIGHTING_DB: Final = {
    0.2: -30.6,
    0.315: -19.7,
    0.4: -15.0,
    0.63: -8.4,
    0.8: -6.0,
    1.0: -4.2,
    1.6: -1.8,
    2.0: -0.9,
    4.0: 0.0,
    6.3: -0.9,
    10.0: -2.1,
    20.0: -5.9,
    40.0: -10.4,
    63.0: -14.2,
    100.0: -17.3,
    200.0: -23.0,
}
"""Weighting in decibels by frequency in hertz, for speed fluctuation.

AES6-2008, as given in a public listing: second-hand, agrees with memory. Its first line, 0.1 Hz at
-48 dB, is left out: it takes minutes of sound.
"""


def stored(sound: NDArray[np.float64], depth: Depth) -> NDArray[np.float64]:
    """Return sound as a file holds it: in steps of 16 or 24 bit, or as 32-bit float."""
    if depth == 32:
        return sound.astype(np.float32).astype(np.float64)
    steps = float(2 ** (depth - 1))
    return np.clip(np.round(sound * steps), -steps, steps - 1) / steps


def pieces_of(
    cut: tuple[CutBand, ...], playing: Playing, rate: int, depth: Depth = 24
) -> Iterator[NDArray[np.float64]]:
    """Yield a recording as a file would give it."""
    for piece in played(cut, playing, rate):
        yield stored(piece, depth)


def heard(
    cut: tuple[CutBand, ...],
    playing: Playing,
    rate: int = 48_000,
    depth: Depth = 24,
    *,
    nominal_hz: float | None = None,
    rpm: float | None = None,
) -> Heard:
    """Return what a recording tells."""
    listener = Listener(rate, nominal_hz=nominal_hz, rpm=rpm)
    for piece in pieces_of(cut, playing, rate, depth):
        listener.feed(piece)
    return listener.finish()


def written(
    path: Path,
    cut: tuple[CutBand, ...],
    playing: Playing,
    rate: int = 44_100,
    *,
    shaped: Callable[[NDArray[np.float64]], NDArray[np.float64]] = lambda sound: sound,
) -> Path:
    """Write a recording to a file of 24 bits; `shaped` spoils it."""
    import soundfile  # the library that is tested to be imported late

    whole = shaped(np.concatenate(list(pieces_of(cut, playing, rate))))
    soundfile.write(path, whole, rate, subtype="PCM_24")
    return path


def last_of(shares: Generator[float, None, Found]) -> Found:
    """Run a reading to its end and return what it found."""
    while True:
        try:
            next(shares)
        except StopIteration as end:
            found: Found = end.value
            return found
