"""Find which of many readings agree with which, without comparing every pair."""

import math
from bisect import bisect_left
from collections.abc import Sequence


def within(ordered: Sequence[float], value: float, limit: float) -> range:
    """Return the indexes of the values no further than ``limit`` from one, in its unit.

    ``ordered`` are the values in ascending order.
    """
    first = bisect_left(ordered, 1, key=lambda other: value - other <= limit)
    end = bisect_left(ordered, 1, first, key=lambda other: other - value > limit)
    return range(first, end)


class Parties:
    """Readings of one thing; the party of a reading is all that agree with it, itself included.

    Two readings agree if they differ by no more than ``times`` their combined standard
    uncertainty (in quadrature). They are sorted once for each size of uncertainty; a log has
    few.
    """

    def __init__(self, values: Sequence[float], spreads: Sequence[float], times: float) -> None:
        self._values, self._spreads, self._times = values, spreads, times
        self._places: dict[float, list[int]] = {}
        for place in sorted(range(len(values)), key=values.__getitem__):
            self._places.setdefault(spreads[place], []).append(place)
        self._ordered = {
            spread: [values[place] for place in places] for spread, places in self._places.items()
        }
        self._sizes = [sum(map(len, self._like(place).values())) for place in range(len(values))]

    @property
    def is_one(self) -> bool:
        """Whether every two readings agree."""
        return all(size == len(self._values) for size in self._sizes)

    def largest(self) -> frozenset[int]:
        """Return the indexes of the largest party; of equal ones, that of the earliest reading."""
        place = max(range(len(self._sizes)), key=self._sizes.__getitem__)
        return frozenset(
            self._places[spread][at] for spread, like in self._like(place).items() for at in like
        )

    def _like(self, place: int) -> dict[float, range]:
        """Return the ordered readings that agree with one, by size of uncertainty."""
        own = self._spreads[place]
        return {
            spread: within(ordered, self._values[place], self._times * math.hypot(own, spread))
            for spread, ordered in self._ordered.items()
        }
