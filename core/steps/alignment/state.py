"""Fold all readings and moves of an alignment into the present position of the head.

Readings between two moves are fitted together (:func:`core.physics.alignment_fit.fit_arm`); each
group is one weighted measurement of the errors of effective length and offset. A move shifts the
estimate by the order and widens it by the execution error; the next group is then combined with it,
each by its covariance (the Kalman filter of a state that a move shifts: derived). So length
converges although two head angles alone fix it only to a millimetre.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Final, Literal

import numpy as np

from core.estimation import Estimate, worst_residual
from core.fitting import Choices, Context, Control, MovePart, Reading
from core.physics.alignment_fit import (
    AngleReading,
    ArmFit,
    KnownOffset,
    LandingReading,
    NoFit,
    fit_arm,
)
from core.physics.alignment_move import fit_parallel_arm, move_to
from core.physics.arm_geometry import Floats, PivotedArm
from core.steps.alignment.probability import (
    LONG_MOVES,
    LONG_READINGS,
    NEW_MOVES,
    NEW_READINGS,
)
from core.steps.alignment.readings import (
    NAME,
    AlignmentChoices,
    AlignmentReading,
    Criterion,
)
from core.steps.alignment.slots import HeadAnswers
from core.steps.alignment.target import (
    FURTHEST_PIVOT_MM,
    MAKERS_OFFSET_U_DEG,
    Aim,
    aim_of,
    sane_amount,
    with_base_shifts,
)
from core.steps.shared import Elsewhere, Event

SLIDE_U_MM: Final = 0.25
SLIDE_SHARE: Final = 0.1
TWIST_U_DEG: Final = 0.35
TWIST_SHARE: Final = 0.1
TIGHTEN_U_MM: Final = 0.15
TIGHTEN_U_DEG: Final = 0.25
"""Execution errors of sliding, twisting and tightening: standard uncertainties, our estimates.

Loosened screws free both, so a slide also blurs the angle and a twist the length.
"""

_NOTHING_KNOWN: Final = 1000.0
_BOTH: Final = np.eye(2)
_LENGTH_ALONE: Final = np.array([[1.0, 0.0]])
"""Which of length and angle a group of readings determines."""
_FURTHEST_FORETOLD: Final = 50.0
_KNOWN_LENGTH_MM: Final = 20.0
_KNOWN_OFFSET_DEG: Final = 8.0
_SAME_MM: Final = 0.005
"""Radii and lengths this close count as the same place."""
_ASTRAY_CHI_SQUARE: Final = 13.8  # two degrees of freedom, one in a thousand
_ENOUGH_TO_OUTVOTE: Final = 4


@dataclass(frozen=True, slots=True)
class OddOne:
    """The part of a reading that fits the others worst; readings count from 1."""

    what: Literal["inner_angle", "outer_angle", "landing"]
    reading: int


@dataclass(frozen=True, slots=True)
class OtherTarget:
    """A formerly chosen alignment for which a reading was taken."""

    criterion: Criterion
    radii_mm: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Where:
    """Where the head stands, against the target.

    Attributes
    ----------
    off
        Length less target (mm), offset less target (deg), shape (2,).
    covariance
        Of `off`, shape (2, 2).
    one_more
        What one more reading like the last would tell: inverse covariance, shape (2, 2).
    earlier
        `off` as it was before each move that followed a reading, oldest first.
    looks, rounds
        Readings and moves of this effort: what else moves the head forgives some of them.
    fresh, fresh_angles, fresh_landing
        Readings since the last move, and whether angles, and a landing, are among them.
    moved, loose
        Whether anything was slid or twisted, and whether that was since the screws were tightened.
    pending
        A move came last.
    disagree
        Where a reading stands off from the others.
    stray
        The last move did not do what was asked of it: found less foretold, shape (2,), or None.
    length, angle
        Whether the head answers to slides (and moves of the base), and to twists.
    converted
        The other alignments whose grids and marks some readings were taken on.
    lost
        Readings taken for an alignment that is no longer to be worked out.
    """

    off: Floats
    covariance: Floats
    one_more: Floats
    earlier: tuple[Floats, ...]
    readings: int
    looks: int
    rounds: int
    fresh: int
    fresh_angles: bool
    fresh_landing: bool
    moved: bool
    loose: bool
    tightened: bool
    pending: bool
    disagree: OddOne | None
    outvoted: bool
    stray: Floats | None
    length: HeadAnswers
    angle: HeadAnswers
    problem: NoFit | None
    passed_over: int
    methods: tuple[str, ...]
    converted: tuple[OtherTarget, ...] = ()
    lost: int = 0
    unexplained: bool = False
    """The only reading since a move elsewhere is far from what that explains: it does not count."""

    @property
    def length_u_mm(self) -> float:
        """Standard uncertainty of the length error."""
        return math.sqrt(max(float(self.covariance[0, 0]), 0.0))

    @property
    def offset_u_deg(self) -> float:
        """Standard uncertainty of the offset error."""
        return math.sqrt(max(float(self.covariance[1, 1]), 0.0))

    @property
    def knows_length(self) -> bool:
        """Whether any reading determines the length."""
        return self.length_u_mm < _KNOWN_LENGTH_MM

    @property
    def knows_offset(self) -> bool:
        """Whether any reading determines the offset."""
        return self.offset_u_deg < _KNOWN_OFFSET_DEG


def where_of(context: Context, aim: Aim, events: Sequence[Event]) -> Where:
    """Fold the events of the log, of which there may be none.

    A reading refers to the grids and the mark of the alignment that was chosen when it was taken;
    the fitted arm is then compared with the present target.
    """
    fold = _AlignmentReplay(context, aim, _TargetsRead(context, aim, events))
    shifts = with_base_shifts(events)
    ahead = sum(shift for _, shift in shifts)
    for event, shift in shifts:
        if isinstance(event, Elsewhere):
            fold.disturbed(event, ahead)
        elif event.reading is not None:
            fold.read(event.reading, event.chosen)
        elif getattr(event, "checked", None) is not None:
            fold.looked(event.checked.control, ahead)  # type: ignore[union-attr]  # a trial's
        if getattr(event, "moves", ()):
            fold.moved_by(event.moves, ahead)  # type: ignore[union-attr]  # only trials have moves
            ahead -= shift
    return fold.finish(ahead)


class _TargetsRead:
    """The target each reading was taken for."""

    def __init__(self, context: Context, aim: Aim, events: Sequence[Event]) -> None:
        self.context, self.aim, self.events = context, aim, events
        self.now = context.chosen.get(NAME, AlignmentChoices())
        self._known: dict[AlignmentChoices, Aim | None] = {}

    def of(self, chosen: Choices | None) -> Aim | None:
        """Return the target of the choices at that time, None if there is none on this deck."""
        if not isinstance(chosen, AlignmentChoices) or chosen == self.now:
            return self.aim
        if chosen not in self._known:
            found = aim_of(self.context, chosen, self.events)
            self._known[chosen] = found if isinstance(found, Aim) else None
        return self._known[chosen]


def _reads_otherwise(reading: AlignmentReading, then: Aim, now: Aim) -> bool:
    """Whether a reading would differ on the protractor of another target."""
    near = partial(math.isclose, abs_tol=_SAME_MM)
    (inner, outer), (inner_now, outer_now) = then.radii_mm, now.radii_mm
    return reading.reads_otherwise(
        same_length=isinstance(then.wanted, PivotedArm)
        and isinstance(now.wanted, PivotedArm)
        and near(then.wanted.effective_length_mm, now.wanted.effective_length_mm),
        same_radii=(near(inner, inner_now), near(outer, outer_now)),
    )


class _AlignmentReplay:
    def __init__(self, context: Context, aim: Aim, targets: _TargetsRead) -> None:
        self.targets = targets
        self.converted: dict[OtherTarget, None] = {}
        self.lost = 0
        self.bench, self.aim = context.deck.bench, aim
        self.offset_deg = context.deck.arm.offset_deg
        self.off = np.zeros(2)
        self.covariance = np.eye(2) * _NOTHING_KNOWN**2
        self.one_more = np.zeros((2, 2))
        self.earlier: list[Floats] = []
        self.group: list[tuple[AlignmentReading, Aim]] = []
        self.ways: dict[str, None] = {}
        self.readings = self.passed_over = 0
        self.looks = self.rounds = 0
        self.moved = self.loose = self.tightened = self.pending = self.outvoted = False
        self.disagree: OddOne | None = None
        self.stray: Floats | None = None
        self.problem: NoFit | None = None
        self.expects = self.carried = self.unexplained = False
        self.length, self.angle = HeadAnswers("mm"), HeadAnswers("°")
        self.fresh = 0
        self.fresh_angles = self.fresh_landing = False

    def read(self, reading: Reading, chosen: Choices | None = None) -> None:
        if not isinstance(reading, AlignmentReading):
            self.passed_over += 1
        elif not reading.shows_head():
            self.ways[reading.way] = None
        elif reading.OF_PIVOTED is (self.aim.distance is None):
            self.passed_over += 1
        else:
            self._read_head(reading, chosen)

    def _read_head(self, reading: AlignmentReading, chosen: Choices | None) -> None:
        then = self.targets.of(chosen)
        if then is None:
            self.lost += 1
            return
        if isinstance(chosen, AlignmentChoices) and _reads_otherwise(reading, then, self.aim):
            self.converted[OtherTarget(chosen.criterion, then.radii_mm)] = None
        self.group.append((reading, then))
        self.readings += 1
        self.looks += 1
        self.fresh += 1
        self.fresh_angles = self.fresh_angles or reading.SHOWS_ANGLES
        self.fresh_landing = self.fresh_landing or reading.SHOWS_LANDING
        self.pending = False
        self.ways[reading.way] = None

    def disturbed(self, event: Elsewhere, base_ahead_mm: float) -> None:
        self._close(base_ahead_mm)
        self.length.forget()
        self.angle.forget()
        self.looks = min(self.looks, LONG_READINGS - NEW_READINGS)
        self.rounds = min(self.rounds, LONG_MOVES - NEW_MOVES)
        self.carried = not event.exchanged and not self.expects and self.readings > 0
        if event.exchanged:
            self.covariance = np.eye(2) * _NOTHING_KNOWN**2
            self.earlier.clear()
            self.converted.clear()
            self.lost = 0
            self.expects = False
            return
        length, offset = event.change("slide"), event.change("twist")
        if length is None:
            self._blur(TIGHTEN_U_MM, TIGHTEN_U_DEG)
        elif offset is not None:
            foretold = np.array([length.value, offset.value])
            if np.all(np.abs(foretold) < _FURTHEST_FORETOLD):
                self.off = self.off + foretold
                self._blur(length.standard_uncertainty, offset.standard_uncertainty)

    def looked(self, control: Control, base_ahead_mm: float) -> None:
        self._close(base_ahead_mm)
        (self.angle if control is Control.TWIST else self.length).record.look()

    def moved_by(self, parts: Sequence[MovePart], base_ahead_mm: float) -> None:
        self._close(base_ahead_mm)
        if self.readings:
            self.earlier.append(self.off.copy())
            self.rounds += 1
        for part in parts:
            amount = sane_amount(part)
            if amount is not None:
                self._apply(part.control, amount)
        self.pending = self.expects = True
        self.fresh, self.fresh_angles, self.fresh_landing = 0, False, False
        self.stray, self.problem, self.disagree, self.outvoted = None, None, None, False

    def _apply(self, control: Control, amount: float) -> None:
        if control is Control.SLIDE:
            self._asks(self.length, 0, control, amount, SLIDE_U_MM)
            self.off = self.off + np.array([amount, 0.0])
            self._blur(math.hypot(SLIDE_U_MM, SLIDE_SHARE * amount), TWIST_U_DEG)
            self.moved = self.loose = True
        elif control is Control.TWIST:
            self._asks(self.angle, 1, control, amount, TWIST_U_DEG)
            self.off = self.off + np.array([0.0, amount])
            self._blur(SLIDE_U_MM, math.hypot(TWIST_U_DEG, TWIST_SHARE * amount))
            self.moved = self.loose = True
        elif control is Control.SCREWS:
            self._blur(TIGHTEN_U_MM, TIGHTEN_U_DEG)
            self.loose, self.tightened = False, True
        elif control is Control.ARM_BASE and self.aim.distance is not None:
            change = -amount * _follow(self.aim, self.aim.distance.value_mm)
            self._asks(self.length, 0, control, float(change[0]), SLIDE_U_MM)
            self.off = self.off + change
            self._blur(SLIDE_U_MM, 0.0)
        elif control is Control.CARTRIDGE:
            self.covariance = np.eye(2) * _NOTHING_KNOWN**2
            self.converted.clear()
            self.lost = 0
            self.expects = False

    def _asks(
        self, answers: HeadAnswers, axis: int, control: Control, amount: float, made: float
    ) -> None:
        sd = math.sqrt(max(float(self.covariance[axis, axis]), 0.0))
        if sd < (_KNOWN_LENGTH_MM, _KNOWN_OFFSET_DEG)[axis]:
            answers.asked(control, amount, made, Estimate(float(self.off[axis]), sd))
        else:
            answers.forget()  # nobody knows where the head stood: the move can show nothing

    def _blur(self, length_mm: float, offset_deg: float) -> None:
        self.covariance = self.covariance + np.diag([length_mm**2, offset_deg**2])

    def _close(self, base_ahead_mm: float, *, ends: bool = False) -> None:
        """Add the readings gathered so far to the estimate.

        A reading that a move elsewhere does not explain is not combined with those before it: where
        the log ``ends`` with it, it does not count until another confirms it.
        """
        group, self.group = self.group, []
        if not group:
            return
        seen = self._seen(group, base_ahead_mm)
        if isinstance(seen, NoFit):
            self.problem = seen
            return
        off, covariance, offset_seen = seen
        for axis, answers in enumerate((self.length, self.angle)[: 1 + offset_seen]):
            sd = math.sqrt(max(float(covariance[axis, axis]), 0.0))
            answers.found(Estimate(float(off[axis]), sd))
        rows = _BOTH if offset_seen else _LENGTH_ALONE
        covariance = rows @ covariance @ rows.T
        surprise = rows @ (off - self.off)
        spread = rows @ self.covariance @ rows.T + covariance
        astray = float(surprise @ np.linalg.solve(spread, surprise)) > _ASTRAY_CHI_SQUARE
        if self.expects and (astray or self.length.record.beyond or self.angle.record.beyond):
            self.stray = rows.T @ surprise
            self.covariance = np.eye(2) * _NOTHING_KNOWN**2
            spread = rows @ self.covariance @ rows.T + covariance
        elif self.carried and astray:
            if ends and len(group) == 1:
                self.unexplained = True
                return
            self.covariance = np.eye(2) * _NOTHING_KNOWN**2
            spread = rows @ self.covariance @ rows.T + covariance
        self.carried = False
        gain = np.linalg.solve(spread, rows @ self.covariance).T
        self.off = self.off + gain @ surprise
        kept = _BOTH - gain @ rows
        self.covariance = kept @ self.covariance @ kept.T + gain @ covariance @ gain.T
        self.one_more = rows.T @ np.linalg.inv(covariance) @ rows / len(group)
        self.expects = False

    def _seen(
        self, group: list[tuple[AlignmentReading, Aim]], base_ahead_mm: float
    ) -> tuple[Floats, Floats, bool] | NoFit:
        if self.aim.distance is None:
            return self._seen_parallel(group)
        pivot = self.aim.distance.value_mm - base_ahead_mm
        if not self.aim.grooves.outer_mm < pivot < FURTHEST_PIVOT_MM:
            return NoFit.NO_ARM
        angles, landings, names = self._pivoted_rows(group, pivot)
        known = None
        if not self.aim.slides:
            known = KnownOffset(self.offset_deg, MAKERS_OFFSET_U_DEG)
        fit = _fit(pivot, self.aim.distance.u_mm, tuple(angles), tuple(landings), known)
        if isinstance(fit, NoFit):
            return fit
        move = move_to(self.aim.at_distance(pivot), fit)
        follow = _follow(self.aim, fit.pivot_to_spindle_mm)
        rows = np.array([[1.0, 0.0, -follow[0]], [0.0, 1.0, -follow[1]]])
        covariance = rows @ np.array(fit.covariance) @ rows.T
        widen = self._judge_spread(fit.standardised_residuals, names, len(group))
        off = np.array([-move.slide_mm, -(move.twist_deg or 0.0)])
        return off, covariance * widen, move.twist_deg is not None

    def _pivoted_rows(
        self, group: list[tuple[AlignmentReading, Aim]], pivot_mm: float
    ) -> tuple[list[AngleReading], list[LandingReading], list[OddOne]]:
        angles: list[AngleReading] = []
        landings: list[LandingReading] = []
        of_angles: list[OddOne] = []
        of_landings: list[OddOne] = []
        for number, (reading, then) in enumerate(group, 1):
            inner, outer = then.radii_mm
            drawn = None
            if isinstance(then.wanted, PivotedArm) and reading.SHOWS_LANDING:
                drawn = then.wanted.moved_to_pivot(pivot_mm)
            if both := reading.angles(inner, outer, self.bench):
                angles += both
                of_angles += (OddOne("inner_angle", number), OddOne("outer_angle", number))
            if drawn is not None and (landed := reading.landings(inner, drawn, self.bench)):
                landings += landed
                of_landings.append(OddOne("landing", number))
        return angles, landings, of_angles + of_landings

    def _seen_parallel(
        self, group: list[tuple[AlignmentReading, Aim]]
    ) -> tuple[Floats, Floats, bool] | NoFit:
        seen = [
            path
            for reading, then in group
            if (path := reading.path(*then.radii_mm, self.bench)) is not None
        ]
        angles, offsets = zip(*seen, strict=True)
        fit = fit_parallel_arm(angles, offsets)
        if isinstance(fit, NoFit):
            return fit
        covariance = np.diag([fit.stylus_offset_u_mm**2, fit.head_angle_u_deg**2])
        return np.array([fit.arm.stylus_offset_mm, fit.arm.head_angle_deg]), covariance, True

    def _judge_spread(
        self, residuals: tuple[float, ...], names: list[OddOne], readings: int
    ) -> float:
        """Return the factor by which an outlying reading widens the variance."""
        worst = worst_residual(residuals, [1.0 if z else 0.0 for z in residuals])
        if worst is None:
            self.disagree, self.outvoted = None, False
            return 1.0
        self.disagree = names[worst.index]
        self.outvoted = readings >= _ENOUGH_TO_OUTVOTE
        return max(1.0, (worst.normalised / 2.0) ** 2)

    def finish(self, base_ahead_mm: float) -> Where:
        self._close(base_ahead_mm, ends=True)
        return Where(
            off=self.off,
            covariance=self.covariance,
            one_more=self.one_more,
            earlier=tuple(self.earlier),
            readings=self.readings,
            looks=self.looks,
            rounds=self.rounds,
            fresh=self.fresh,
            fresh_angles=self.fresh_angles,
            fresh_landing=self.fresh_landing,
            moved=self.moved,
            loose=self.loose,
            tightened=self.tightened,
            pending=self.pending,
            disagree=self.disagree,
            outvoted=self.outvoted,
            stray=self.stray,
            length=self.length,
            angle=self.angle,
            problem=self.problem,
            passed_over=self.passed_over,
            methods=tuple(self.ways),
            converted=tuple(self.converted),
            lost=self.lost,
            unexplained=self.unexplained,
        )


def _follow(aim: Aim, pivot_mm: float) -> Floats:
    """Return how the target's length (mm) and offset (deg) change per millimetre of distance."""
    near, far = aim.at_distance(pivot_mm - 0.5), aim.at_distance(pivot_mm + 0.5)
    return np.array(
        [far.effective_length_mm - near.effective_length_mm, far.offset_deg - near.offset_deg]
    )


@lru_cache(maxsize=4096)
def _fit(
    pivot_mm: float,
    pivot_u_mm: float,
    angles: tuple[AngleReading, ...],
    landings: tuple[LandingReading, ...],
    known: KnownOffset | None,
) -> ArmFit | NoFit:
    """Fit a group, cached: a log is judged again with every entry, its old groups unchanged."""
    return fit_arm(pivot_mm, pivot_u_mm, angles, landings, known)
