"""Column widths of a list by their texts."""

from __future__ import annotations

from collections.abc import Sequence


def shared_out(
    room: int,
    usual: Sequence[int],
    longest: Sequence[int],
    least: Sequence[int],
    yields: Sequence[bool],
) -> list[int]:
    """Return the width of every column, in pixels like all sizes here.

    Parameters
    ----------
    room
        The room for all columns.
    usual, longest
        The width each needs to show most of its texts in full, and all of them. No column gets room
        for a rare long text before every column shows its usual ones.
    least
        The least width of a column; all columns together may then exceed the room.
    yields
        Whether a column may be narrower than it needs. Such columns are cut to one common width,
        except those that need less; spare room is shared equally among them.
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
    """Return widths with the widest cut to a common value, so that they fit the room."""

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
