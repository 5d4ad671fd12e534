"""Skating: the search for the setting at which both channels break up together."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum


class Breaks(Enum):
    """Which channel breaks up first as the test bands get louder."""

    LEFT = "left"
    RIGHT = "right"
    TOGETHER = "together"


def breaks_first(left_last_clean: float, right_last_clean: float) -> Breaks:
    """Judge from the last band that each channel plays clean: the lower one breaks first."""
    if left_last_clean == right_last_clean:
        return Breaks.TOGETHER
    return Breaks.LEFT if left_last_clean < right_last_clean else Breaks.RIGHT


@dataclass(frozen=True, slots=True)
class DialSearch:
    """Where the right setting is known to lie, and the next one to try.

    Parameters
    ----------
    low, high : float
        The bracket, in the dial's units: too little at low, too much at high, or the dial's end.
    next_setting : float or None
        On a step of the dial and not tried before; None when there is nothing left to try.
    best_setting : float
        Where to leave the dial as far as is known now.
    settled : bool
        Both broke together, or the bracket is down to one step.
    at_end : bool
        The dial's end still gives too little or too much.
    contradiction : tuple of int or None
        Two trials, by index, that can't both be right: try one of them again.
    """

    low: float
    high: float
    next_setting: float | None
    best_setting: float
    settled: bool = False
    at_end: bool = False
    contradiction: tuple[int, int] | None = None


def search_dial(
    trials: Sequence[tuple[float, Breaks]], lowest: float, highest: float, step: float
) -> DialSearch:
    """Halve the bracket until both channels break together or the dial's step is reached.

    Parameters
    ----------
    trials : sequence of (float, Breaks)
        Settings tried, in order, at least one.
    lowest, highest, step : float
        Ends and smallest step of the dial, in its units.

    Returns
    -------
    DialSearch

    Notes
    -----
    Skating presses the stylus on the inner wall, which carries the left channel, and lightens it
    on the outer, the right: the right breaking first wants more compensation, the left less
    (45/45 geometry). Contradictory answers are two settings of which the lower shows too much
    and the higher, or the same, too little; the later answer then counts until one is repeated.
    """
    if not trials:
        raise ValueError("Try one setting before searching on.")
    if not (lowest < highest and step > 0.0):
        raise ValueError("The dial needs a lowest setting below its highest and a step above 0.")
    contradiction = _contradiction(trials)
    latest: dict[float, Breaks] = {}
    for setting, answer in trials:
        latest[round(setting / step) * step] = answer
    together = [setting for setting, answer in latest.items() if answer is Breaks.TOGETHER]
    little = [setting for setting, answer in latest.items() if answer is Breaks.RIGHT]
    much = [setting for setting, answer in latest.items() if answer is Breaks.LEFT]
    low = max(little, default=lowest)
    high = min(much, default=highest)
    if together:
        centre = sum(together) / len(together)
        best = min(together, key=lambda setting: abs(setting - centre))
        return DialSearch(
            low, high, None, best, settled=contradiction is None, contradiction=contradiction
        )
    if contradiction is not None:
        again = trials[contradiction[0]][0]
        return DialSearch(min(low, high), max(low, high), again, again, contradiction=contradiction)
    wanted = round(0.5 * (low + high) / step) * step
    choices = [c for c in (wanted, wanted - step, wanted + step, low, high) if c not in latest]
    inside = [c for c in choices if low - 1e-9 <= c <= high + 1e-9]
    if inside:
        return DialSearch(low, high, inside[0], inside[0])
    at_end = (not much and high in latest) or (not little and low in latest)
    # One step apart, too little below and too much above, either is within a step of right.
    best = high if at_end and not much else low
    return DialSearch(low, high, None, best, settled=not at_end, at_end=at_end)


def _contradiction(trials: Sequence[tuple[float, Breaks]]) -> tuple[int, int] | None:
    """Latest pair that can't both be right, unless a repeat has since overruled one of them."""
    standing: dict[float, int] = {}
    for index, (setting, _) in enumerate(trials):
        standing[setting] = index
    repeats = {setting: sum(1 for s, _ in trials if s == setting) for setting in standing}
    for later in sorted(standing.values(), reverse=True):
        for earlier in sorted((i for i in standing.values() if i < later), reverse=True):
            (s1, a1), (s2, a2) = trials[earlier], trials[later]
            if s1 > s2:
                (s1, a1), (s2, a2) = (s2, a2), (s1, a1)
            wrong = (a1 is Breaks.LEFT and a2 is not Breaks.LEFT) or (
                a2 is Breaks.RIGHT and a1 is not Breaks.RIGHT
            )
            if wrong and repeats[trials[earlier][0]] < 3:
                return earlier, later
    return None
