"""Where the words of a chart stand so that none covers another; the same on screen and on paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Spot:
    """An upright rectangle in any unit, the same in x and y."""

    left: float
    low: float
    width: float
    height: float

    def at(self, left: float, low: float) -> Spot:
        """Return it at another place."""
        return Spot(left, low, self.width, self.height)

    def covers(self, other: Spot) -> bool:
        """Return whether any of it lies on the other; touching is not covering."""
        return (
            self.left < other.left + other.width
            and other.left < self.left + self.width
            and self.low < other.low + other.height
            and other.low < self.low + self.height
        )

    def lies_in(self, room: Spot) -> bool:
        """Return whether all of it lies in a room."""
        return (
            room.left <= self.left
            and room.low <= self.low
            and self.left + self.width <= room.left + room.width
            and self.low + self.height <= room.low + room.height
        )


def apart(
    words: Sequence[Spot], room: Spot, *, avoid: Sequence[Spot] = (), gap: float = 0.0
) -> list[Spot | None]:
    """Return a spot for each of the words, in order, on none of the words before it.

    Words stay where they are if they can. Else they go to the nearest free place: above, below or
    beside what stands there. ``avoid`` is what they keep off as well while there is room. Words
    without any free place in the room are None: they are better left out than read through others.

    Parameters
    ----------
    words
        Where they would stand if they were alone.
    room
        What they may not leave, unless they stood outside it to begin with.
    avoid
        The spots of dots.
    gap
        Least distance between words.
    """
    placed: list[Spot] = []
    found: list[Spot | None] = []
    for one in words:
        spot = _free(one, room, placed, [*placed, *avoid])
        found.append(spot)
        if spot is not None:
            placed.append(_grown(spot, gap))
    return found


def _free(one: Spot, room: Spot, words: Sequence[Spot], everything: Sequence[Spot]) -> Spot | None:
    if not any(one.covers(other) for other in words):
        return one  # what stands beside its own dot stands there on purpose
    for others in (everything, words):
        places = [
            place
            for place in _beside(one, others)
            if place.lies_in(room) and not any(place.covers(other) for other in others)
        ]
        if places:
            return min(places, key=lambda place: _distance(one, place))
    return None


def _beside(one: Spot, others: Sequence[Spot]) -> Iterable[Spot]:
    """Yield the places straight above, below, left and right of each other spot."""
    hair = 1e-6 * (one.width + one.height) + 1e-9
    for other in others:
        above, below = other.low + other.height + hair, other.low - one.height - hair
        left, right = other.left - one.width - hair, other.left + other.width + hair
        for low in (above, below):
            yield one.at(one.left, low)
            for across in (left, right):
                yield one.at(across, low)
        for across in (left, right):
            yield one.at(across, one.low)


def _distance(one: Spot, other: Spot) -> float:
    """Return how far words went; sideways counts double, as their place along x means more."""
    return math.hypot(2.0 * (other.left - one.left), other.low - one.low)


def _grown(spot: Spot, gap: float) -> Spot:
    return Spot(spot.left - gap, spot.low - gap, spot.width + 2 * gap, spot.height + 2 * gap)


def without_overlap(words: Sequence[Spot], gap: float = 0.0) -> list[bool]:
    """Return which words stay if those that cover ones before them are left out."""
    kept: list[Spot] = []
    stays: list[bool] = []
    for one in words:
        free = not any(one.covers(other) for other in kept)
        stays.append(free)
        if free:
            kept.append(_grown(one, gap))
    return stays
