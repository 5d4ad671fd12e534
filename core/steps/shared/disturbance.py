"""The effect of a move on a figure of another step: code that several steps share.

Each step's ``effects`` says which moves change its own figures, by how much and why: a prediction
from statics or geometry (:mod:`core.physics.arm_pose`), with its uncertainty. A change of None
means that it can't be predicted and only a new reading will tell (screws tightened, cartridge
exchanged).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from core.estimation import COVERAGE_FACTOR, Decision, decide
from core.fitting import Assessment, Context, Control, Figure, MovePart, Verdict
from core.language import Message, message
from core.physics.arm_pose import HOLE_SPACING_MM
from core.records import Cartridge

__all__ = [
    "HOLE_SPACING_MM",
    "Aftermath",
    "Effect",
    "FigureChange",
    "beside_strip",
    "exchanged",
    "judged_alone",
    "judged_roughly",
    "noticed",
    "strip_after",
    "together",
    "undisturbed",
]

NEGLIGIBLE: Final = 0.05
"""Effects below this share of the step's tolerance are ignored."""


@dataclass(frozen=True, slots=True)
class Effect:
    """The effect of one move on one figure of one step.

    ``change`` is in the unit of that figure, None if it can't be predicted; then come the reason
    and the uncertainty.
    """

    step: str
    key: str
    change: float | None
    reason: Message
    standard_uncertainty: float = 0.0


@dataclass(frozen=True, slots=True)
class FigureChange:
    """The effect of several moves on one figure, with its uncertainty."""

    value: float
    standard_uncertainty: float = 0.0

    @property
    def half_width(self) -> float:
        """Half of the 95 % interval."""
        return COVERAGE_FACTOR * self.standard_uncertainty


def together(effects: Iterable[Effect]) -> FigureChange | None:
    """Return the sum of effects on one figure; None if one of them can't be predicted."""
    total, spread = 0.0, 0.0
    for effect in effects:
        if effect.change is None:
            return None
        total += effect.change
        spread = math.hypot(spread, effect.standard_uncertainty)
    return FigureChange(total, spread)


@dataclass(frozen=True, slots=True)
class Aftermath:
    """Whether a step's answer still holds after later moves.

    ``changes`` are those of its figures, each in its own unit, or of their targets
    (``of_targets``); ``spoiled`` the keys of the figures that are no longer good by the step's
    rule.
    """

    changes: Mapping[str, FigureChange]
    spoiled: frozenset[str]
    of_targets: bool = False


def judged_alone(
    context: Context, assessment: Assessment, changes: Mapping[str, FigureChange]
) -> Aftermath:
    """Judge each changed figure by itself, as a step with one figure does.

    A figure that was certainly good, with its interval inside the tolerance, is spoiled if the
    interval including the change no longer is.
    """
    del context
    good = assessment.verdict is Verdict.GOOD
    return Aftermath(changes, _spoiled(assessment, changes, sure=good))


def judged_roughly(
    context: Context, assessment: Assessment, changes: Mapping[str, FigureChange]
) -> Aftermath:
    """Judge each changed figure by itself, without the interval it was read with.

    For steps that need only be about right: in whole practice fittings, a strict check cost
    readings and found nothing.
    """
    del context
    return Aftermath(changes, _spoiled(assessment, changes, sure=False))


def _spoiled(
    assessment: Assessment, changes: Mapping[str, FigureChange], *, sure: bool
) -> frozenset[str]:
    figures = [(assessment.figure(key), change) for key, change in changes.items()]
    return frozenset(
        figure.key
        for figure, change in figures
        if figure is not None and _is_spoiled(figure, change, sure=sure)
    )


def _is_spoiled(figure: Figure, change: FigureChange, *, sure: bool) -> bool:
    """Return whether a figure was good and no longer is.

    A figure that was not certainly good (a coarse control, something left as found) is spoiled by a
    change that leads out of the tolerance, or may exceed all of it.
    """
    deviation, tolerance = figure.deviation, figure.tolerance
    if deviation is None or tolerance is None:
        return False
    half = figure.half_width or 0.0
    after = deviation + change.value
    if sure and decide(deviation, half, tolerance) is Decision.GOOD:
        both = math.hypot(half, change.half_width)
        return decide(after, both, tolerance) is not Decision.GOOD
    out = abs(after) > tolerance >= abs(deviation)
    return out or abs(change.value) + change.half_width > tolerance


def strip_after(strip_mm: float, part: MovePart) -> float:
    """Return the strip under the left screw after a move, negative for the right one.

    Another cartridge comes without a strip.
    """
    if part.control is Control.CARTRIDGE:
        return 0.0
    return strip_mm + part.amount if part.control is Control.TILT_SHIM else strip_mm


def beside_strip(
    effects_of: Callable[[MovePart], Iterable[Effect]], part: MovePart, strip_mm: float
) -> tuple[Effect, ...]:
    """Return the effect of a move with a strip already in place.

    Removing a strip raises what it had lowered, so the effect of a further strip is that of both
    together less that of the first.
    """
    found = tuple(effects_of(part))
    if part.control is not Control.TILT_SHIM or not strip_mm:
        return found
    both = tuple(effects_of(part.model_copy(update={"amount": strip_mm + part.amount})))
    first = {
        (one.step, one.key): one.change or 0.0
        for one in effects_of(part.model_copy(update={"amount": strip_mm}))
    }
    spread = {(one.step, one.key): one.standard_uncertainty for one in found}
    further = {(one.step, one.key): one for one in (*found, *both)}
    together_do = {(one.step, one.key): one.change or 0.0 for one in both}
    return tuple(
        replace(
            one,
            change=together_do.get(which, 0.0) - first.get(which, 0.0),
            standard_uncertainty=spread.get(which, one.standard_uncertainty),
        )
        for which, one in further.items()
    )


def noticed(effect: Effect, tolerance: float) -> Iterator[Effect]:
    """Yield an effect that is large enough to mention."""
    change = effect.change
    most = (
        math.inf if change is None else abs(change) + COVERAGE_FACTOR * effect.standard_uncertainty
    )
    if most >= NEGLIGIBLE * tolerance:
        yield effect


def exchanged(step: str, key: str) -> Effect:
    """Return the effect of an exchanged cartridge or headshell: only a reading tells."""
    return Effect(step, key, None, message("disturbance.exchanged"))


def undisturbed(change_gf: float, cartridge: Cartridge) -> tuple[Effect, ...]:
    """Return nothing: a change of downforce does not affect the step."""
    del change_gf, cartridge
    return ()
