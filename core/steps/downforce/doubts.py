"""Invalid weighings: in millinewtons, past the scale's range, or contradictory.

Both downforce steps ask the same questions, and judge the rest.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from core.estimation import within
from core.fitting import FLOATED_ANEW, Assessment, Context, Control, NextReading, Trial, Verdict
from core.language import Message, Quantity, Series, message
from core.records import MILLINEWTON_PER_GRAM_FORCE, BenchKit
from core.steps.downforce.floated import SCALE, without_scale
from core.steps.downforce.weighings import (
    CONTRADICT_READS,
    CONTRADICT_SHARE,
    FINAL,
    FLOATING_GF,
    ROUGH,
    SHIFTS_WEIGHT,
    STOP_FACTOR,
    Floating,
    ScaleReading,
)
from core.steps.shared import Doubt, is_checked, questioned, without

_LIGHTEST_SHARE: Final = 0.5
"""This share of the maker's minimum, read as millinewtons, is still plausible: our own."""

_ALIKE: Final = 0.1
"""A figure read twice within this share is accepted: our own allowance."""

_ENOUGH_AFTER_DANGER: Final = 3
"""So many in a row outweigh others that would be dangerous; two do otherwise. Our own."""

_NEAR_SHARE: Final = 0.5
"""Weighings agree within this share of what makes two contradict each other. More than two with
a wider gap between them are two groups, and have no mean. Our own."""

_PAIR: Final = 2

_AGAIN: Final = NextReading(way="scale")


def doubts_of(context: Context, step: str) -> dict[int, Doubt]:
    """Return the questions about a step's weighings, by their indexes among its trials.

    A figure that would be dangerous in gf and plausible in mN counts once it was read twice.
    Contradictory weighings count once the last ones agree.
    """
    doubts: dict[int, Doubt] = {}
    for shown in _stretches(context, step).values():
        sizes = sorted(shown.values())
        slips = {place: gf for place, gf in shown.items() if _is_slip(context, gf, sizes)}
        doubts |= {place: _slip(gf) for place, gf in slips.items()}
        rest = {place: gf for place, gf in shown.items() if place not in slips}
        doubts |= _contradictions(context, rest)
    return doubts


def counted(context: Context) -> Context:
    """Return the context with only the valid weighings, of both steps.

    One at the end of the scale's range serves until the scale shows less: 'at least so much'
    teaches no gain.
    """
    for step in (ROUGH, FINAL):
        context = without(context, step, doubts_of(context, step))
        context = without(context, step, _passed_ends(context, step))
    return context


def _passed_ends(context: Context, step: str) -> set[int]:
    shown = {
        place: trial.reading.downforce_gf
        for place, trial in enumerate(context.log.get(step, ()))
        if isinstance(trial.reading, ScaleReading)
    }
    ended = {place for place, gf in shown.items() if is_at_end(context.deck.bench, gf)}
    floated = {
        place
        for place, trial in enumerate(context.log.get(step, ()))
        if isinstance(trial.reading, Floating)
    }
    last = max((shown.keys() - ended) | floated, default=-1)
    return {place for place in ended if place < last}


def question_first(context: Context, said: Assessment) -> Assessment:
    """Return the question about the last weighing, if it is invalid, instead of the answer."""
    shown: list[float] = []
    for trial in context.trials:
        if isinstance(trial.reading, ScaleReading):
            shown.append(trial.reading.downforce_gf)
        elif isinstance(trial.reading, Floating):
            shown.clear()
    asks = said.next_reading
    if not shown and said.verdict is Verdict.NO_READING and asks and asks.way == SCALE:
        other = without_scale(context)  # who has weighed has a scale
        said = said if other is None else replace(said, notes=(other, *said.notes))
    moved = not context.trials or bool(context.trials[-1].moves)
    if shown and not moved and is_at_end(context.deck.bench, shown[-1]):
        said = _at_least(context, said)
    doubts = doubts_of(context, context.step)
    return questioned(context, doubts, _naming(context, doubts, said))


def _naming(context: Context, doubts: Mapping[int, Doubt], said: Assessment) -> Assessment:
    """Add what the weighings showed that are set aside since the last move."""
    aside: list[float] = []
    for place, trial in enumerate(context.trials):
        if trial.moves:
            aside.clear()
        elif place in doubts and isinstance(trial.reading, ScaleReading):
            aside.append(trial.reading.downforce_gf)
    if not aside or len(context.trials) - 1 in doubts:
        return said  # the question itself says which they are
    values = Series(tuple(Quantity(gf, "gf") for gf in aside))
    return replace(said, notes=(message("downforce.doubt.set_aside", values=values), *said.notes))


def is_at_end(bench: BenchKit, shown_gf: float) -> bool:
    """Whether a scale that shows this is at the end of its range."""
    return shown_gf >= bench.scale_range_gf


def _stretches(context: Context, step: str) -> Mapping[object, dict[int, float]]:
    """Return the scale's values by trial index, split at everything that shifts weight."""
    elsewhere = sorted(
        trial.at.timestamp()
        for name, trials in context.log.items()
        for trial in trials
        if name != step and trial.at and any(part.control in SHIFTS_WEIGHT for part in trial.moves)
    )
    stretches: dict[object, dict[int, float]] = {}
    moves = 0
    for place, trial in enumerate(context.log.get(step, ())):
        moves += bool(trial.moves) or _is_floated(trial)
        if isinstance(trial.reading, ScaleReading):
            at = trial.at.timestamp() if trial.at else float("inf")
            key = moves, bisect(elsewhere, at)
            stretches.setdefault(key, {})[place] = trial.reading.downforce_gf
    return stretches


def _is_floated(trial: Trial) -> bool:
    """Whether the arm was floated, which moves the control without a recorded move."""
    anew = is_checked(trial, Control.COUNTERWEIGHT, where=FLOATED_ANEW)
    return anew or isinstance(trial.reading, Floating)


def _stop_gf(context: Context) -> float:
    return STOP_FACTOR * context.cartridge.downforce_max_gf


def _is_slip(context: Context, gf: float, sizes: Sequence[float]) -> bool:
    """Whether a figure is dangerous in gf, plausible in mN, and not confirmed by another.

    ``sizes`` are all figures, ascending.
    """
    stop = _stop_gf(context)
    least = _LIGHTEST_SHARE * context.cartridge.downforce_min_gf
    if not (gf > stop and least <= gf / MILLINEWTON_PER_GRAM_FORCE <= stop):
        return False
    return len(within(sizes, gf, _ALIKE * gf)) == 1


def _slip(shown_gf: float) -> Doubt:
    as_shown, in_gf = Quantity(shown_gf, "", 1), shown_gf / MILLINEWTON_PER_GRAM_FORCE
    question = message("downforce.doubt.millinewtons", shown=as_shown)
    note = message("downforce.doubt.in_gf", shown=as_shown, value=Quantity(in_gf, "gf"))
    return Doubt(question, _AGAIN, stops=True, notes=(note,))


def _contradictions(context: Context, shown: Mapping[int, float]) -> dict[int, Doubt]:
    """Return doubts about all weighings of one state, or those that two others contradict."""
    if not shown:
        return {}
    low, high = min(shown.values()), max(shown.values())
    apart = _apart_gf(context, high)
    parted = len(shown) > _PAIR and are_parted(context, shown.values())
    if high - low <= apart and not parted:
        return {}
    last = max(shown)
    others = {place: gf for place, gf in shown.items() if place != last}
    if shown[last] <= FLOATING_GF < min(others.values()):
        empty = Doubt(
            message("downforce.doubt.empty_pan", shown=Quantity(shown[last], "gf")),
            NextReading(way="empty pan"),
            stops=high > _stop_gf(context),
            notes=(message("downforce.doubt.or_floats"),),
        )
        return {last: empty} | _contradictions(context, others)
    stops = high > _stop_gf(context)
    doubt = Doubt(
        message("downforce.doubt.contradict", low=Quantity(low, "", 2), high=Quantity(high, "gf")),
        _AGAIN,
        stops=stops,
        notes=(message("downforce.doubt.look", danger="yes" if stops else "no"),),
    )
    counts = _agreeing(shown, _NEAR_SHARE * apart, in_a_row=_ENOUGH_AFTER_DANGER if stops else 2)
    return {place: doubt for place in shown if place not in counts}


def are_parted(context: Context, shown: Collection[float]) -> bool:
    """Whether weighings are two groups with a gap between them, so that a mean tells nothing."""
    if len(shown) < _PAIR:
        return False
    near = _NEAR_SHARE * _apart_gf(context, max(shown))
    return max(more - less for less, more in pairwise(sorted(shown))) > near


def _apart_gf(context: Context, high: float) -> float:
    """Return how far weighings up to ``high`` may be apart without contradiction."""
    return max(
        CONTRADICT_SHARE * context.cartridge.downforce_target_gf,
        CONTRADICT_READS * context.deck.bench.scale_read_gf,
        _ALIKE * high,
    )


def _agreeing(shown: Mapping[int, float], near: float, *, in_a_row: int) -> set[int]:
    """Return which of contradictory weighings count: all that agree with the last, or none.

    They count where no others agree more often, or where the last ones agree so often in a row.
    """
    ordered, places = sorted(shown.values()), sorted(shown, reverse=True)
    last = shown[places[0]]
    mine = {place for place, gf in shown.items() if abs(last - gf) <= near}
    if 1 < len(mine) == max(len(within(ordered, gf, near)) for gf in ordered):
        return mine
    row: list[int] = []
    for place in places:
        if any(abs(shown[place] - shown[other]) > near for other in row):
            break
        row.append(place)
    return set(row) if len(row) >= in_a_row else set()


def _at_least(context: Context, said: Assessment) -> Assessment:
    """Say that a scale at the end of its range shows a minimum only."""
    end = Quantity(context.deck.bench.scale_range_gf, "gf")
    note: Message = message("downforce.doubt.at_least", end=end)
    move = said.next_move
    said = replace(
        said,
        next_move=replace(move, predicted=message("downforce.doubt.less")) if move else None,
        figures=tuple(figure for figure in said.figures if "downforce" not in figure.key),
        notes=(note, *said.notes),
    )
    if said.verdict is not Verdict.GOOD:
        return said  # also for a control without effect, or a scale that holds its last value
    headline = message("downforce.doubt.other_scale", end=end)
    asked = NextReading(way="scale", why=headline)
    return replace(said, verdict=Verdict.READ_AGAIN, headline=headline, next_reading=asked)
