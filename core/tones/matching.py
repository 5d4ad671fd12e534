"""The bands that were found beside those that a record is known to carry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.tones.bands import CutSide, ToneBand

_NEAR: Final = 0.08
_SAME_TONE: Final = 3
_SAME_SIDE: Final = 1


@dataclass(frozen=True, slots=True)
class KnownBand:
    """A band of a record as the record's own words have it."""

    label: str
    hz: float
    side: CutSide


@dataclass(frozen=True, slots=True)
class Matched:
    """Which known band each found one is, by number, None where none fits; and what that shows.

    ``swapped`` is that every one-sided band was found on the other side, ``summed`` that every one
    was found on both.
    """

    places: tuple[int | None, ...]
    swapped: bool
    summed: bool


def matched(found: tuple[ToneBand, ...], known: tuple[KnownBand, ...]) -> Matched:
    """Set found bands beside known ones, in order; either may lack some.

    Of all ways in order the one with most tones alike, then most sides (dynamic programming). A
    tone is alike within 8 %: a deck may run fast or slow.
    """
    rows, columns = len(found), len(known)
    best = [[0] * (columns + 1) for _ in range(rows + 1)]
    for i in reversed(range(rows)):
        for j in reversed(range(columns)):
            pair = _alike(found[i], known[j])
            both = best[i + 1][j + 1] + pair if pair else 0
            best[i][j] = max(best[i + 1][j], best[i][j + 1], both)
    places: list[int | None] = [None] * rows
    i = j = 0
    while i < rows and j < columns:
        pair = _alike(found[i], known[j])
        if pair and best[i][j] == best[i + 1][j + 1] + pair:
            places[i] = j
            i, j = i + 1, j + 1
        elif best[i][j] == best[i + 1][j]:
            i += 1
        else:
            j += 1
    sides = [
        (found[i].side, known[j].side)
        for i, j in enumerate(places)
        if j is not None and known[j].side is not CutSide.BOTH
    ]
    opposite = {CutSide.LEFT: CutSide.RIGHT, CutSide.RIGHT: CutSide.LEFT}
    return Matched(
        tuple(places),
        swapped=bool(sides) and all(got is opposite[cut] for got, cut in sides),
        summed=bool(sides) and all(got is CutSide.BOTH for got, _ in sides),
    )


def _alike(found: ToneBand, known: KnownBand) -> int:
    if abs(found.hz / known.hz - 1.0) > _NEAR:
        return 0
    return _SAME_TONE + (_SAME_SIDE if found.side is known.side else 0)
