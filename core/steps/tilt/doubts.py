"""Readings that determine no tilt: impossible or exchanged gaps, or a bad recording."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from core.estimation import Estimate
from core.fitting import Context, NextReading, Reading
from core.language import Message, Quantity, message
from core.steps.shared import (
    Doubt,
    Exchangeable,
    asked_of_exchange,
    exchanges,
    history,
    spoilt,
    stretches,
    without,
)
from core.steps.tilt.control import rolled_by, tilt_mechanism_of
from core.steps.tilt.effects import disturbed_by
from core.steps.tilt.judge_by_gaps import control_of
from core.steps.tilt.readings import Gaps, LeakByTone, LookedAt

NAME: Final = "tilt"

_STEEPEST_DEG: Final = 12.0
"""Beyond this a typing error is likelier than a cartridge mounted so: our own allowance."""

_ALIKE_MM: Final = 0.5
"""Gaps read twice within this are accepted: our own allowance."""

_INCHES_MM: Final = 0.2
"""No body has both gaps this small; in inches common gaps of 1 to 4 mm are 0.04 to 0.16."""

_AGAIN: Final = NextReading(way="gaps")
_RECORD_AGAIN: Final = NextReading(way="leak by tone")


def doubts_of(context: Context) -> dict[int, Doubt]:
    """Return the questions about readings, by their indexes among the trials.

    Two gaps of 0 are never a tilt; a merely unlikely reading counts once it was read twice.
    """
    trials = context.log.get(NAME, ())
    doubts: dict[int, Doubt] = {}
    for place, trial in enumerate(trials):
        if isinstance(trial.reading, LeakByTone):
            said = _about_recording(context, trial.reading)
            if said is not None:
                doubts[place] = Doubt(said, _RECORD_AGAIN)
    for stretch in stretches(trials):
        gaps = {
            place: reading
            for place in stretch
            if isinstance(reading := trials[place].reading, Gaps)
        }
        by_width: dict[float | None, dict[int, Gaps]] = {}
        for place, one in gaps.items():
            by_width.setdefault(one.width_mm, {})[place] = one
        for place, one in gaps.items():
            doubt = _doubt(context, place, by_width[one.width_mm])
            if doubt is not None:
                doubts[place] = doubt
    told = without(context, NAME, doubts)
    how = Exchangeable(
        ("left_mm", "right_mm"),
        lambda reading: _tilt_of(reading, context),
        lambda trial: rolled_by(trial.moves),
        control_of(context),
    )
    places = {id(trial): place for place, trial in enumerate(trials)}
    for trial, before in exchanges(history(replace(told, step=NAME), disturbed_by), how):
        question = message("tilt.doubt.exchanged")
        turns = tilt_mechanism_of(context.deck, context.cartridge).turns
        doubts[places[id(trial)]] = asked_of_exchange(how, turns, trial, before, question, _said)
    return doubts


def _tilt_of(reading: Reading, context: Context) -> Estimate | None:
    """Return the tilt that gaps or a mirror show, degrees; None for other ways."""
    if isinstance(reading, LookedAt):
        return reading.measure(context.deck.bench, context.cartridge)
    return None


def _said(when: str, reading: Reading) -> Message:
    """Return an answer to the question whether left and right changed places."""
    left = Quantity(getattr(reading, "left_mm", 0.0), "mm", 2)
    right = Quantity(getattr(reading, "right_mm", 0.0), "mm", 2)
    return message("tilt.exchanged", when=when, left=left, right=right)


def _about_recording(context: Context, reading: LeakByTone) -> Message | None:
    """Return the faults of a recording that gives no leak."""
    faults = reading.recorded.faults_on(context.deck.bench)
    spoils = [one for one in reading.recorded.SPOILT_BY if one in faults]
    return spoilt(spoils[0]) if spoils else reading.recorded.lacks()


def counted(context: Context) -> Context:
    """Return the context with only the readings that determine a tilt."""
    return without(context, NAME, doubts_of(context))


def _doubt(context: Context, place: int, of_width: Mapping[int, Gaps]) -> Doubt | None:
    """Return the question about gaps; ``of_width`` are all gaps of their width, these included."""
    gaps = of_width[place]
    least, most = sorted((gaps.left_mm, gaps.right_mm))
    if most <= 0.0:
        return Doubt(message("tilt.doubt.rests"), _AGAIN, stops=True)
    if most <= _INCHES_MM:
        left, right = Quantity(gaps.left_mm, "", 2), Quantity(gaps.right_mm, "", 2)
        return Doubt(message("tilt.doubt.inches", left=left, right=right), _AGAIN)
    tilt = abs(gaps.measure(context.deck.bench, context.cartridge).value)
    if tilt <= _STEEPEST_DEG and least > 0.0:
        return None
    if any(_alike(gaps, other) for at, other in of_width.items() if at != place):
        return None
    if tilt > _STEEPEST_DEG:
        angle = Quantity(tilt, "°", 0)
        left, right = Quantity(gaps.left_mm, "", 1), Quantity(gaps.right_mm, "mm", 1)
        return Doubt(message("tilt.doubt.steep", left=left, right=right, tilt=angle), _AGAIN)
    side = "left" if gaps.left_mm <= 0.0 else "right"
    return Doubt(message("tilt.doubt.touches", side=side), _AGAIN)


def _alike(one: Gaps, other: Gaps) -> bool:
    apart = max(abs(one.left_mm - other.left_mm), abs(one.right_mm - other.right_mm))
    return apart <= _ALIKE_MM
