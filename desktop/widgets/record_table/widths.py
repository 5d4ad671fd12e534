"""How wide the columns of a list are: as their texts need it."""

from __future__ import annotations

from collections.abc import Sequence


def shared_out(
    room: int,
    usual: Sequence[int],
    longest: Sequence[int],
    least: Sequence[int],
    yields: Sequence[bool],
) -> list[int]:
    """Return the width of every column, in pixels as everything here.

    Parameters
    ----------
    room
        What there is for all of them.
    usual, longest
        What each needs to show most of its texts whole, and all. Nobody gets room for a rare long
        text before every column shows its usual ones.
    least
        What none is narrower than; all columns together may then be wider than the room.
    yields
        Whether a column may be narrower than it needs. Those that do are cut to one width, save
        those that need less; room that nobody needs is given to them alike.
    """
    floor = list(least)
    for needs in (usual, longest):
        wanted = [max(pair) for pair in zip(needs, floor, strict=True)]
        if sum(wanted) > room:
            return _cut(room, wanted, floor, yields)
        floor = wanted
    spare = room - sum(floor)
    takers = [place for place, one in enumerate(yields) if one] or [len(floor) - 1]
    for count, place in enumerate(takers):
        floor[place] += (spare + count) // len(takers)
    return floor


def _cut(
    room: int, wanted: Sequence[int], floor: Sequence[int], yields: Sequence[bool]
) -> list[int]:
    """Return widths of which the widest are alike, and no wider than there is room for."""

    def within(cap: int) -> list[int]:
        return [
            max(low, min(want, cap)) if may else want
            for want, low, may in zip(wanted, floor, yields, strict=True)
        ]

    low, high = 0, max(wanted)
    while low < high:
        middle = (low + high + 1) // 2
        if sum(within(middle)) <= room:
            low = middle
        else:
            high = middle - 1
    return within(low)
