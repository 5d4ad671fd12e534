"""Skating: the search for the setting at which both channels break up together."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from core.estimation import normal_cdf, normal_quantile


class Breaks(Enum):
    """Which channel breaks up first as the test bands get louder."""

    LEFT = "left"
    RIGHT = "right"
    TOGETHER = "together"


@dataclass(frozen=True, slots=True)
class DialSearch:
    """Where the right setting is known to lie, and the next one to try, in the dial's units.

    `low` and `high` are the bracket: too little at low, too much at high, or the dial's end.
    `next_setting` is on a step of the dial and not tried before, None when there is nothing left to
    try; `best_setting` is where to leave the dial as far as is known now. `settled`: both broke
    together, or the bracket is down to one step. `at_end`: the dial's end still gives too little or
    too much. `contradiction`: two trials, by index, that can't both be right.
    """

    low: float
    high: float
    next_setting: float | None
    best_setting: float
    settled: bool = False
    at_end: bool = False
    contradiction: tuple[int, int] | None = None


LIKELY_SPREAD = 0.35
"""Spread of the logarithm of the right setting about the rule of practice: friction from 0.2 to
0.5 against the usual 0.3, and dials marked as makers mark them. Our estimate."""


def search_dial(
    trials: Sequence[tuple[float, Breaks]],
    lowest: float,
    highest: float,
    step: float,
    *,
    likely: float | None = None,
    likely_spread: float = LIKELY_SPREAD,
    near_enough: float = 0.0,
) -> DialSearch:
    """Narrow the bracket until both channels break together or it is near enough.

    Parameters
    ----------
    trials : sequence of (float, Breaks)
        Settings tried, in order, at least one.
    lowest, highest, step : float
        Ends and smallest step of the dial, in its units.
    likely : float or None
        Where the right setting most likely lies, above 0; None when nothing is known.
    likely_spread : float
        How sure that is: spread of the logarithm of the right setting about it.
    near_enough : float
        A bracket as narrow as this settles it; 0 for the dial's step.

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
    steps = [round(setting / step) for setting, _ in trials]
    answers = [answer for _, answer in trials]
    contradiction = _contradiction(steps, answers)
    latest = dict(zip(steps, answers, strict=True))
    little = [place for place, answer in latest.items() if answer is Breaks.RIGHT]
    much = [place for place, answer in latest.items() if answer is Breaks.LEFT]
    together = [place for place, answer in latest.items() if answer is Breaks.TOGETHER]
    floor, ceiling = math.ceil(lowest / step - 1e-9), math.floor(highest / step + 1e-9)
    low, high = sorted((max(little, default=floor), min(much, default=ceiling)))
    bracket = (low * step, high * step)
    if contradiction is not None:
        again = steps[contradiction[0]] * step
        return DialSearch(*bracket, again, again, contradiction=contradiction)
    middle = (low + high) // 2
    if together:
        best = min(together, key=lambda place: abs(place - sum(together) / len(together)))
        return DialSearch(*bracket, None, best * step, settled=True)
    known = bool(little and much)
    if known and high - low <= max(near_enough / step, 1.0) + 1e-9 and near_enough > 0.0:
        last = next(place for place in reversed(steps) if place in (low, high))
        return DialSearch(*bracket, None, last * step, settled=True)
    if likely is not None and likely > 0.0:
        middle = _halving_place(low, high, likely / step, likely_spread)
    untried = [place for place in (middle, low, high) if place not in latest]
    if untried:
        return DialSearch(*bracket, untried[0] * step, untried[0] * step)
    at_end = not much or not little
    # One step apart, too little below and too much above, either is within a step of right.
    best = high if not much else middle
    return DialSearch(*bracket, None, best * step, settled=not at_end, at_end=at_end)


def _halving_place(low: int, high: int, likely: float, spread: float) -> int:
    """Return the place that the right one is as likely above as below, inside the bracket.

    The logarithm of the right place is taken as normal about the likely one, cut off at
    the bracket; its median there splits what is still possible in halves.
    """

    def below(place: float) -> float:
        if place <= 0.0:
            return 0.0
        return normal_cdf(math.log(place / likely) / spread)

    share = 0.5 * (below(low) + below(high))
    share = min(max(share, 1e-9), 1.0 - 1e-9)
    median = likely * math.exp(spread * normal_quantile(share))
    inside = (low + 1, high - 1) if high - low >= 2 else (low, high)
    return min(max(round(median), inside[0]), inside[1])


def _contradiction(steps: Sequence[int], answers: Sequence[Breaks]) -> tuple[int, int] | None:
    """Find the latest pair that can't both be right.

    A later answer at the same setting overrules an earlier one, and a setting tried three times
    is not asked about again: the ear can't tell there.
    """
    status = {place: index for index, place in enumerate(steps)}
    indices = sorted(status.values(), reverse=True)
    for later in indices:
        for earlier in (index for index in indices if index < later):
            lower, higher = sorted((earlier, later), key=lambda index: steps[index])
            wrong = (answers[lower] is Breaks.LEFT and answers[higher] is not Breaks.LEFT) or (
                answers[higher] is Breaks.RIGHT and answers[lower] is not Breaks.RIGHT
            )
            if wrong and steps.count(steps[earlier]) < 3:
                return earlier, later
    return None
