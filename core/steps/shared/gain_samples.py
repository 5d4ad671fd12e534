"""A control's gain from a deck's own moves: samples, and one gain fitted to them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from core.estimation import COVERAGE_FACTOR, MOVE_SHARE, ControlTrial, Estimate, worst_residual
from core.fitting import Control
from core.physics.levelling import weighted_mean
from core.records import Deck
from core.steps.shared.known_gains import LEAST_SHARE
from core.steps.shared.swap_part import Past

FEWEST_MOVES: Final = 2
"""Fewest samples: one move teaches a gain, but not its error."""

LEAST_MADE: Final = {
    "gf/turn": 0.05,
    "gf/mm": 0.15,
    "gf/gf": 0.03,
    "mm/turn": 0.05,
    "%/turn": 0.03,
    "%/step": 0.0,
    "°/°": 0.1,
}
"""How inexactly even a small move is made, play included, in the unit of the move: one standard
uncertainty, our own allowance."""

_NOTHING: Final = 1e-6
_PASSES: Final = 4


@dataclass(frozen=True, slots=True)
class Sample:
    """One move: ordered, found, and the reading uncertainty of the finding.

    ``made_share`` and ``made_least`` are the execution error: as a share, and in the move's unit (a
    hand's least, and the backlash of a thread).
    """

    asked: float
    found: float
    standard_uncertainty: float
    made_share: float = MOVE_SHARE
    made_least: float = 0.0

    @property
    def made(self) -> float:
        """Execution error of the move, one standard uncertainty."""
        return math.hypot(self.made_share * self.asked, self.made_least)


@dataclass(frozen=True, slots=True)
class GainSource:
    """The source of one control's samples.

    Parameters
    ----------
    same
        What must not have been changed on the deck's record since.
    """

    step: str
    control: Control
    where: str
    unit: str
    stated: float | None
    same: Callable[[Deck], object]
    samples: Callable[[Past], Iterator[Sample]]

    def of(self, deck: Deck, pasts: Sequence[Past]) -> Iterator[Sample]:
        """Yield the samples of fittings with the same record of the control as the deck."""
        for past in pasts:
            if self.same(past.deck) == self.same(deck):
                yield from self.samples(past)


def samples_from(
    sources: Iterable[GainSource], control: Control, deck: Deck, pasts: Sequence[Past]
) -> list[Sample]:
    """Return the samples of one control, from fittings with the deck's record of it."""
    return [
        sample
        for source in sources
        if source.control is control
        for sample in source.of(deck, pasts)
    ]


def fitted(samples: Sequence[Sample]) -> tuple[Estimate, int] | None:
    """Fit one gain through zero; None without two samples.

    Returns
    -------
    (Estimate, int) or None
        The gain, and how many samples were kept.

    Notes
    -----
    Weighted least squares (derived): g = sum(w x y) / sum(w x^2) with the variance of a sample from
    its readings and from the execution error, (g x share)^2. Samples that stand off by more than
    chance allows are left out, the worst first, up to a third of all. Where the rest scatter by
    more than their errors explain, the interval grows with them and is Student's.
    """
    kept = [s for s in samples if abs(s.asked) > _NOTHING and s.standard_uncertainty > 0.0]
    most_left_out = len(kept) // 3
    while len(kept) >= FEWEST_MOVES:
        gain, weights = _least_squares(kept)
        total = math.fsum(w * s.asked**2 for w, s in zip(weights, kept, strict=True))
        residuals = [s.found - gain * s.asked for s in kept]
        spreads = [
            math.sqrt(max(1.0 / w - s.asked**2 / total, 0.0))
            for w, s in zip(weights, kept, strict=True)
        ]
        odd = worst_residual(residuals, spreads) if most_left_out else None
        if odd is not None:
            kept.pop(odd.index)
            most_left_out -= 1
            continue
        chi_square = math.fsum(w * r * r for w, r in zip(weights, residuals, strict=True))
        freedom = len(kept) - 1
        scatter = math.sqrt(chi_square / freedom)
        error = 1.0 / math.sqrt(total)
        if scatter > 1.0:
            return Estimate(gain, scatter * error, float(freedom)), len(kept)
        return Estimate(gain, error), len(kept)
    return None


def narrowed(
    stated: float | None, share: float, samples: Sequence[Sample]
) -> tuple[float | None, float]:
    """Return a gain from its statement and what few samples there are, and its share of error.

    Parameters
    ----------
    stated, share
        As the deck's record says it, and how far that may be off, one standard uncertainty as a
        share.
    samples
        Where even one was taken it is weighed against the statement, each by its uncertainty, as
        long as they agree; where they don't, what was found is believed.
    """
    kept = [s for s in samples if abs(s.asked) > _NOTHING and s.standard_uncertainty > 0.0]
    if not kept:
        return stated, share
    gain, weights = _least_squares(kept)
    total = math.fsum(w * s.asked**2 for w, s in zip(weights, kept, strict=True))
    found = Estimate(gain, 1.0 / math.sqrt(total))
    if not abs(gain) > found.half_width():
        return stated, share
    if stated:
        said = Estimate(stated, share * abs(stated))
        if said.minus(found).contains(0.0):
            found = weighted_mean([said, found]) or found
    return found.value, max(found.standard_uncertainty / abs(found.value), LEAST_SHARE)


def _least_squares(samples: Sequence[Sample]) -> tuple[float, list[float]]:
    gain, weights = 0.0, [1.0] * len(samples)
    for _ in range(_PASSES):
        weights = [1.0 / (s.standard_uncertainty**2 + (gain * s.made) ** 2) for s in samples]
        top = math.fsum(w * s.asked * s.found for w, s in zip(weights, samples, strict=True))
        gain = top / math.fsum(w * s.asked**2 for w, s in zip(weights, samples, strict=True))
    return gain, weights


def samples_of(
    trials: Sequence[ControlTrial], made_least: float, scale: float = 1.0
) -> Iterator[Sample]:
    """Yield a sample for every move, or moves in a row, with readings on both sides.

    Parameters
    ----------
    trials
        As the trim solver takes them; a move made with an uncertainty of its own breaks the row.
    made_least
        How inexactly even a small move is made, in the sample's unit.
    scale
        Units of the sample's move for one unit of the trial's.
    """
    before: list[Estimate] = []
    after: list[Estimate] = []
    asked = 0.0
    for trial in (*trials, None):
        if isinstance(trial, Estimate):
            (after if asked else before).append(trial)
            continue
        if asked and after:
            yield from _one(before, asked * scale, after, made_least)
            before, after, asked = after, [], 0.0
        if trial is None:
            return
        if trial.standard_uncertainty is not None:
            before, after, asked = [], [], 0.0
        elif before:
            asked += trial.amount


def _one(
    before: list[Estimate], asked: float, after: list[Estimate], made_least: float
) -> Iterator[Sample]:
    first, last = weighted_mean(before), weighted_mean(after)
    if first is None or last is None:
        return
    change = last.minus(first)
    spread = change.half_width() / COVERAGE_FACTOR
    if math.isfinite(spread) and spread > 0.0:
        yield Sample(asked, change.value, spread, made_least=made_least)
