"""The state of each speed of a deck: its latest readings, and the trims since."""

from __future__ import annotations

from dataclasses import dataclass

from core.estimation import Estimate
from core.steps.speed.readings import (
    Event,
    Pooled,
    Taken,
    TrimChecked,
    Trimmed,
    pooled,
)
from core.steps.speed.tone import TONE


@dataclass(frozen=True, slots=True)
class Speed:
    """One speed of the deck as it stands; ``index`` is its place among the deck's speeds.

    ``pool`` holds its warm readings since the last trim, None without any; ``places`` are theirs
    among the events. ``moved_since``: it was read before and trimmed since. ``only_cold``: all
    readings since the last trim were taken before the motor was warm.
    """

    index: int
    rpm: float
    pool: Pooled | None
    places: tuple[int, ...]
    moved_since: bool
    only_cold: bool
    by_tone_alone: bool = False
    """Whether only a record's tone gives its mean, which is no more accurate than the record."""


def speed_of(events: tuple[Event, ...], index: int, rpm: float) -> Speed:
    """Return one speed as its latest readings leave it.

    A tone tells the mean no better than its record was cut: it counts for it only where nothing
    else was read.
    """
    places: list[int] = []
    cold = moved = False
    for place in range(len(events) - 1, -1, -1):
        event = events[place]
        if isinstance(event, Trimmed) and event.speed in (None, index):
            moved = not places and not cold
            break
        if isinstance(event, Taken) and event.speed == index:
            if event.warm:
                places.append(place)
            elif not places:
                cold = True
    taken = [e for place in reversed(places) if isinstance(e := events[place], Taken)]
    surer = [one for one in taken if one.way != TONE]
    by_tone_alone = bool(taken) and not surer
    if surer:
        places = [p for p in places if isinstance(e := events[p], Taken) and e.way != TONE]
        taken = surer
    read_before = any(isinstance(e, Taken) and e.speed == index for e in events)
    return Speed(
        index=index,
        rpm=rpm,
        pool=pooled(taken),
        places=tuple(reversed(places)),
        moved_since=moved and read_before,
        only_cold=cold and not places,
        by_tone_alone=by_tone_alone,
    )


def distance_from_first(events: tuple[Event, ...], index: int) -> Estimate | None:
    """Return a speed's difference from the first, when both were last read between two trims."""
    stretch: list[Taken] = []
    for event in reversed(events):
        if isinstance(event, Taken):
            if event.warm:
                stretch.append(event)
            continue
        if isinstance(event, TrimChecked):
            continue
        found = _distance_within(stretch, index)
        if found is not None:
            return found
        stretch = []
    return _distance_within(stretch, index)


def _distance_within(stretch: list[Taken], index: int) -> Estimate | None:
    own = pooled([taken for taken in stretch if taken.speed == index])
    main = pooled([taken for taken in stretch if taken.speed == 0])
    return own.free.minus(main.free) if own is not None and main is not None else None
