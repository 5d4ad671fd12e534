"""An arm that floats shows nothing on the scale: where to try next without a reading to go by."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from core.steps.downforce.weighings import Event, Shifted, Unsettled

FLOATING_MOVES: Final = 3
"""After so many moves an arm that still floats is doubted to go the way it is said to."""


def made_in_vain(
    events: Sequence[Event],
    amount_of: Callable[[Shifted], float | None],
    floats: Callable[[float], bool],
) -> tuple[float, ...]:
    """Return the moves since the scale last bore anything, in units of the control.

    ``floats`` says whether a figure of the scale means that it bears nothing.
    """
    made: list[float] = []
    for event in events:
        if isinstance(event, Shifted):
            made.append(amount_of(event) or 0.0)
        elif isinstance(event, Unsettled) or not floats(event.shown_gf):
            made.clear()
    return tuple(made)


def next_place(made: Sequence[float], step: float) -> float:
    """Return where to try an arm that floats wherever the control was, from where it began.

    It may be far off, or go the other way round: so in turn one step further than ever on the
    side it should be, and, after every three, one step further on the other. Never more than one
    step beyond what was tried, so that no try can press far harder than foreseen.
    """
    place, highest, lowest, since = 0.0, 0.0, 0.0, 0
    for move in made:
        place += move
        since = since + 1 if place > highest else 0
        highest, lowest = max(highest, place), min(lowest, place)
    return lowest - step if since >= FLOATING_MOVES else highest + step
