"""Whether an alignment is good, and which way to go if it is not.

The rule. Effective length L and offset b are read together, and head angles alone leave the two
strongly tied: a head half a millimetre too long and half a degree too far in looks nearly right at
both grids, and nearly is. So an alignment is good by either of two tests, each with the 95 %
interval included:

1. *by its numbers*: L is within the tolerance for length, and b within the tolerance for angle;
2. *by what the record hears*: the head's error at both null radii is within the tolerance for
   angle, and the worst distortion between the groove limits is no more than that of an arm whose
   length alone is off by its whole tolerance.

It is good too where the chance is 95 % that one test or the other is really passed, counted over
all that the readings leave open at once (:mod:`core.steps.alignment.probability`). None of this is
said when the reading errors can't support it. A move is proposed when the two numbers together
differ from the target by more than chance (chi-square with two degrees of freedom, 95 %), and when
a hand, which is not exact either, makes it right with clearly more chance than it has now; else
it is read again. One control is moved where one explains the readings, both where it takes both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.estimation import COVERAGE_FACTOR, Decision, decide
from core.physics.arm_geometry import Floats, tracking_errors_deg
from core.physics.tracking_distortion import distortion_percent, error_for_distortion_deg
from core.steps.alignment.probability import (
    ENOUGH_AFTER_MOVES,
    ENOUGH_BESIDE_A_LINE,
    ENOUGH_READINGS,
    LAST_MOVES,
    LAST_READINGS,
    LIKELIER_RIGHT,
    LONG_MOVES,
    LONG_READINGS,
    MANY_MOVES,
    MANY_READINGS,
    MOST_READINGS,
    SURE,
    SURE_WHILE_LOOSE,
    SURELY_WRONG,
    WORTH_A_MOVE,
    cloud_of,
)
from core.steps.alignment.state import SLIDE_SHARE, SLIDE_U_MM, TWIST_SHARE, TWIST_U_DEG, Where
from core.steps.alignment.target import Aim

SMALLEST_SLIDE_MM: Final = 0.1
SMALLEST_TWIST_DEG: Final = 0.1
"""Smaller moves are not made on purpose (our estimate)."""

_CHI_SQUARE_TWO: Final = 5.991  # 95 %, two degrees of freedom
_GRID: Final = 33
_STEP_MM, _STEP_DEG = 0.05, 0.05
_MOST_READINGS: Final = 12
_STEEPEST_DEG: Final = 89.0


@dataclass(frozen=True, slots=True)
class AlignmentTarget:
    """How far to slide (mm, forward positive) and to twist (deg, in positive)."""

    slide_mm: float
    twist_deg: float

    @property
    def nothing(self) -> bool:
        """Whether neither is to be moved."""
        return self.slide_mm == 0.0 and self.twist_deg == 0.0


@dataclass(frozen=True, slots=True)
class AlignmentDecision:
    """What the readings allow to be said.

    Attributes
    ----------
    decision
        As in :mod:`core.estimation.estimate`.
    by_numbers
        Whether the first test is passed, when good; else it was the second.
    wanted
        What to move, when the decision is MOVE.
    more
        How many readings like the last would settle it, None if no reasonable number.
    error_deg, error_half_width_deg
        At the two check radii, now.
    worst_limit_percent
        Most distortion the second test allows.
    """

    decision: Decision
    by_numbers: bool
    wanted: AlignmentTarget
    more: int | None
    error_deg: tuple[float, float]
    error_half_width_deg: tuple[float, float]
    worst_limit_percent: float


class AlignmentDecider:
    """The decision for one alignment, with its arm linearised at its present position."""

    def __init__(self, aim: Aim, where: Where, length_mm: float, angle_deg: float) -> None:
        self.aim, self.where = aim, where
        self.length_mm, self.angle_deg = length_mm, angle_deg
        grooves = aim.grooves
        self.radius_mm = np.concatenate(
            (aim.radii_mm, np.linspace(grooves.inner_mm, grooves.outer_mm, _GRID))
        )
        length, offset = (float(v) for v in where.off)
        if not where.knows_offset:
            offset = 0.0
        self.off = np.array([length, offset])
        now, longer, shorter, further_in, further_out, wanted, too_long, too_short = self._errors(
            (length, offset),
            (length + _STEP_MM, offset),
            (length - _STEP_MM, offset),
            (length, offset + _STEP_DEG),
            (length, offset - _STEP_DEG),
            (0.0, 0.0),
            (length_mm, 0.0),
            (-length_mm, 0.0),
        )
        self.error, self.wanted_error = now, wanted
        self.slopes = np.column_stack(
            ((longer - shorter) / (2 * _STEP_MM), (further_in - further_out) / (2 * _STEP_DEG))
        )
        worst = self._worst(np.array([too_short, wanted, too_long]))
        self.worst_limit = max(float(percent) for percent in worst)
        self.factor = COVERAGE_FACTOR

    def _errors(self, *off_by: tuple[float, float]) -> Floats:
        """Errors at all radii, one row for each pair of length (mm) and angle (deg) errors."""
        arms = [self.aim.arm_off_by(length_mm, offset_deg) for length_mm, offset_deg in off_by]
        return tracking_errors_deg(arms, self.radius_mm)

    def _worst(self, errors_deg: Floats) -> Floats:
        """Worst distortion of each row of errors, percent."""
        percent = distortion_percent(errors_deg[:, 2:], self.radius_mm[2:])
        return np.asarray(percent.max(axis=1))

    def half_widths(self, covariance: Floats) -> Floats:
        """Half of the 95 % interval of the error at the two check radii, degrees."""
        slopes = self.slopes[:2]
        variance = np.einsum("ni,ij,nj->n", slopes, covariance, slopes)
        return np.asarray(self.factor * np.sqrt(np.maximum(variance, 0.0)))

    def by_numbers(self, covariance: Floats) -> bool:
        """Apply the first test of the rule."""
        half = self.factor * np.sqrt(np.maximum(np.diag(covariance), 0.0))
        right = abs(self.off[0]) + half[0] <= self.length_mm
        if not self._counts_offset:
            return bool(right)
        return bool(right and abs(self.off[1]) + half[1] <= self.angle_deg)

    def by_effect(self, covariance: Floats) -> bool:
        """Apply the second test of the rule."""
        if not self.where.knows_offset:
            return False
        off = np.abs(self.error[:2] - self.wanted_error[:2]) + self.half_widths(covariance)
        if not (off <= self.angle_deg).all():
            return False
        sizes, ways = np.linalg.eigh(covariance)
        aside = self.slopes @ (ways * (self.factor * np.sqrt(np.maximum(sizes, 0.0))))
        ends = np.concatenate((self.error + aside.T, self.error - aside.T))
        return bool((self._worst(ends) <= self.worst_limit).all())

    @property
    def _counts_offset(self) -> bool:
        if self.aim.base_slides and not self.aim.slides:
            return False  # the base moves the length alone
        return self.aim.needs_twist or self.where.knows_offset

    def certain(self, covariance: Floats) -> bool:
        """Whether the readings tell the head apart from the target."""
        if self._counts_offset and self.where.knows_offset:
            return float(self.off @ np.linalg.solve(covariance, self.off)) > _CHI_SQUARE_TWO
        return abs(float(self.off[0])) > self.factor * math.sqrt(float(covariance[0, 0]))

    def settled(self, covariance: Floats, fresh: int) -> bool:
        """Whether this covariance, of this many readings, would allow a verdict.

        Good, or a move that is worth it.
        """
        if self.is_good(covariance):
            return True
        if not self.certain(covariance):
            return False
        chance, wanted = self.chance(self.off, covariance), self._wanted(covariance)
        if wanted.nothing:
            return True
        gain = self._chance_after(covariance, wanted) - chance
        return gain > WORTH_A_MOVE and self._looked_enough(chance, fresh)

    def chance(self, off: Floats, covariance: Floats) -> float:
        """Return the probability that an alignment with this error and covariance is right."""
        points = cloud_of(off, covariance)
        right = np.abs(points[0]) <= self.length_mm
        if self._counts_offset:
            right &= np.abs(points[1]) <= self.angle_deg
        if self.where.knows_offset:
            right[~right] = self._heard_right(points[:, ~right])
        return float(np.count_nonzero(right) / right.size)

    @cached_property
    def _loudest(self) -> Floats:
        """The largest error that the second test allows at each groove, deg, shape (grooves, 1).

        Capped at 89 degrees.
        """
        bound = error_for_distortion_deg(self.worst_limit, self.radius_mm[2:, None])
        bound[bound >= _STEEPEST_DEG] = math.inf
        return bound

    def is_good(self, covariance: Floats) -> bool:
        """Whether this covariance passes a test, or with enough probability one of the two."""
        if self.by_numbers(covariance) or self.by_effect(covariance):
            return True
        sure = SURE_WHILE_LOOSE if self.where.loose and self.aim.slides else SURE
        return self.chance(self.off, covariance) >= sure

    def _heard_right(self, points: Floats) -> NDArray[np.bool_]:
        """Return for each point, one per column, whether it passes the second test."""
        aside = points - self.off[:, None]
        at_nulls = (self.error - self.wanted_error)[:2, None] + self.slopes[:2] @ aside
        right: NDArray[np.bool_] = (np.abs(at_nulls) <= self.angle_deg).all(axis=0)
        # only points right at both nulls need a check along all grooves
        in_grooves = self.error[2:, None] + self.slopes[2:] @ aside[:, right]
        right[right] = (np.abs(in_grooves) <= self._loudest).all(axis=0)
        return right

    def _chance_after(self, covariance: Floats, wanted: AlignmentTarget) -> float:
        """Return the probability that it is right after the wanted move by hand."""
        length = math.hypot(SLIDE_U_MM, SLIDE_SHARE * wanted.slide_mm)
        angle = math.hypot(TWIST_U_DEG, TWIST_SHARE * wanted.twist_deg)
        then = self.off + np.array([wanted.slide_mm, wanted.twist_deg])
        return self.chance(then, covariance + np.diag([length**2, angle**2]))

    def judge(self) -> AlignmentDecision:
        """Return what the readings allow to be said."""
        covariance = self.where.covariance
        numbers = self.by_numbers(covariance)
        wanted = AlignmentTarget(0.0, 0.0)
        more: int | None = None
        chance = self.chance(self.off, covariance)
        if self.is_good(covariance):
            decision = Decision.GOOD
        else:
            more = self._readings_needed(covariance)
            decision = Decision.READ_AGAIN
            if self.certain(covariance):
                wanted = self._wanted(covariance)
                gain = self._chance_after(covariance, wanted) - chance
                if wanted.nothing:
                    decision = self._too_fine()
                elif self._worth_a_move(chance, gain, more):
                    decision = Decision.MOVE
            if self._in_vain(decision, chance, more):
                decision = Decision.STEP_TOO_COARSE
        half = self.half_widths(covariance)
        return AlignmentDecision(
            decision=decision,
            by_numbers=numbers,
            wanted=wanted,
            more=more,
            error_deg=(float(self.error[0]), float(self.error[1])),
            error_half_width_deg=(float(half[0]), float(half[1])),
            worst_limit_percent=self.worst_limit,
        )

    def _looked_enough(self, chance: float, fresh: int) -> bool:
        """Whether it is too likely wrong, or was read too often, to read again before a move.

        A single outlying reading is a poor reason to undo what may be right.
        """
        return chance < SURELY_WRONG or fresh >= ENOUGH_READINGS

    def _worth_a_move(self, chance: float, gain: float, more: int | None) -> bool:
        """Whether a move is better advice than a reading: it must clearly raise the probability."""
        if chance >= LIKELIER_RIGHT and self._moved_enough:
            return False
        if more is None and chance < LIKELIER_RIGHT:
            return True
        looked = more is None or self._looked_enough(chance, self.where.fresh)
        return gain > WORTH_A_MOVE and looked

    @property
    def _moved_enough(self) -> bool:
        return len(self.where.earlier) >= MANY_MOVES

    def _in_vain(self, decision: Decision, chance: float, more: int | None) -> bool:
        """Whether it is left here, though the rule asks for more readings or a move."""
        if decision is Decision.READ_AGAIN:
            return self._long or self._looked_in_vain(chance, more)
        if decision is Decision.MOVE:
            return self._spent or (self._long and chance >= LIKELIER_RIGHT)
        return False

    @property
    def _long(self) -> bool:
        return self.where.looks >= LONG_READINGS or self.where.rounds >= LONG_MOVES

    @property
    def _spent(self) -> bool:
        return self.where.looks >= LAST_READINGS or self.where.rounds >= LAST_MOVES

    def _looked_in_vain(self, chance: float, more: int | None) -> bool:
        """Whether it is probably right, and neither moves nor readings would improve it."""
        enough = MANY_READINGS if more is None else MOST_READINGS
        if self._moved_enough:
            enough = ENOUGH_AFTER_MOVES
        elif self.aim.distance is None:
            enough = ENOUGH_BESIDE_A_LINE
        return chance >= LIKELIER_RIGHT and self.where.fresh >= enough

    def _too_fine(self) -> Decision:
        within = abs(self.off[0]) <= self.length_mm and (
            not self._counts_offset or abs(self.off[1]) <= self.angle_deg
        )
        return Decision.GOOD if within else Decision.STEP_TOO_COARSE

    def _readings_needed(self, covariance: Floats) -> int | None:
        information = np.linalg.inv(covariance)

        def settled(more: int) -> bool:
            then = np.linalg.inv(information + more * self.where.one_more)
            return self.settled(np.asarray(then, np.float64), self.where.fresh + more)

        low, high = 0, _MOST_READINGS  # more readings would settle what this one settles too
        if not settled(high):
            return None
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if settled(middle) else (middle, high)
        return high

    def _wanted(self, covariance: Floats) -> AlignmentTarget:
        """Return the least move that explains the readings: one control if that does, else both."""
        if not (self._counts_offset and self.where.knows_offset):
            return _on_purpose(-float(self.off[0]), 0.0)
        length, offset = (float(v) for v in self.off)
        weight = np.linalg.inv(covariance)
        pull = weight @ self.off
        # the remainder, in standard deviations, with the other control alone moved to its best
        left_by_twist = length**2 / float(covariance[0, 0])
        left_by_slide = offset**2 / float(covariance[1, 1])
        limit = self.factor**2
        if left_by_slide <= min(left_by_twist, limit):
            return _on_purpose(-float(pull[0] / weight[0, 0]), 0.0)
        if left_by_twist <= limit:
            return _on_purpose(0.0, -float(pull[1] / weight[1, 1]))
        return _on_purpose(-length, -offset)


def slide_decision(judge: AlignmentDecider) -> Decision:
    """Judge the length alone, while the offset is unknown."""
    half = judge.factor * judge.where.length_u_mm
    return decide(float(judge.off[0]), half, judge.length_mm, smallest_effect=SMALLEST_SLIDE_MM)


def _on_purpose(slide_mm: float, twist_deg: float) -> AlignmentTarget:
    return AlignmentTarget(
        slide_mm if abs(slide_mm) >= SMALLEST_SLIDE_MM else 0.0,
        twist_deg if abs(twist_deg) >= SMALLEST_TWIST_DEG else 0.0,
    )
