"""The side force on this deck's arm, and the force of each setting.

Settings are counted as whole numbers from 0 (off) upward: marks of a dial, or notches from the
pivot outward. So one search serves both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from core.drawing.chart import Floats
from core.fitting import Context, Control
from core.language import Message, Quantity, message
from core.physics.friction import (
    MU_PRACTICE,
    MU_PUBLISHED,
    MU_USUAL,
    Compensation,
    compensation_gf,
    side_force_gf,
    sign_change_radius_mm,
    thread_force_gf,
)
from core.physics.groove_radii import GROOVES_1958
from core.records import ArmKind, Deck, SkatingControl
from core.steps.downforce import FINAL, ROUGH
from core.steps.shared import ALIGNMENT

DIALS: Final = (SkatingControl.DIAL, SkatingControl.SPRING, SkatingControl.MAGNET)

_POINTS: Final = 60


def friction_range(friction: tuple[float, float], decimals: int) -> dict[str, Quantity]:
    """Return the named values of a message that tells a range of friction."""
    least, most = friction
    return {"least": Quantity(least, "", decimals), "most": Quantity(most, "", decimals)}


@dataclass(frozen=True, slots=True)
class SideForce:
    """Side force of the arm over the groove, gf, positive toward the spindle.

    ``length_mm`` is the effective length, as aligned if that was found; ``mean`` is the mean over
    the grooves for the lowest, the usual and the highest friction of practice.
    """

    downforce_gf: float
    length_mm: float
    pivot_to_spindle_mm: float
    mean: Compensation

    @property
    def sign_change_mm(self) -> float | None:
        """Radius at which an underhung arm's force changes sign, None if it overhangs."""
        return sign_change_radius_mm(self.length_mm, self.pivot_to_spindle_mm)

    def radii_mm(self) -> Floats:
        """Groove radii that the stylus reaches, ascending; may be empty."""
        inner, outer = GROOVES_1958.inner_mm, GROOVES_1958.outer_mm
        near = abs(self.length_mm - self.pivot_to_spindle_mm) + 1e-6
        if near >= outer:
            return np.empty(0)
        return np.linspace(max(inner, near), outer, _POINTS)

    def over(self, radii_mm: Floats, friction: float) -> Floats:
        """Side force at these radii for this friction, gf."""
        return side_force_gf(
            radii_mm, self.downforce_gf, friction, self.length_mm, self.pivot_to_spindle_mm
        )

    def covers_gf(self) -> float:
        """Return how far the side force departs from its mean over a record, either way.

        Over the radii the arm's angle to the groove changes it, little on an arm with an offset
        head, from one sign to the other on one without; and friction is 0.25 to 0.3 over grooves
        and styli (published, second-hand). No setting compensates all of it, so none within it is
        wrong.
        """
        radii = self.radii_mm()
        if not radii.size:
            return 0.0
        pulls = [self.over(radii, friction) for friction in MU_PUBLISHED]
        most, least = (float(find(pulls)) for find in (np.max, np.min))
        return 0.5 * (most - least)


def side_force_of(context: Context) -> SideForce | None:
    """Return the side force of the arm as it stands; None for a parallel-tracking arm.

    Downforce is the target, which the last step brings it to; the effective length is what
    alignment found, else the maker's.
    """
    arm = context.deck.arm
    if arm.kind is ArmKind.PARALLEL or arm.pivot_to_spindle_mm is None:
        return None
    downforce = context.cartridge.downforce_target_gf
    length = context.figure(ALIGNMENT, "effective_length")
    if length is None or not 40.0 <= length <= 600.0:
        length = arm.effective_length_mm
    mean = compensation_gf(
        downforce,
        length,
        arm.pivot_to_spindle_mm,
        GROOVES_1958.inner_mm,
        GROOVES_1958.outer_mm,
        friction=(MU_PRACTICE[0], MU_USUAL, MU_PRACTICE[1]),
    )
    return SideForce(downforce, length, arm.pivot_to_spindle_mm, mean)


def downforce_heard(context: Context, until: datetime | None = None) -> float | None:
    """Return the downforce at which the bands were heard, None if it was never weighed.

    The mean of the weighings, rough or final, that stood at a time, or else when the last reading
    here was taken.
    """
    own = [trial.at for trial in context.trials if trial.reading is not None]
    until = until or (own[-1] if own else None)
    timed = [
        (math.inf if trial.at is None else trial.at.timestamp(), trial)
        for step in (ROUGH, FINAL)
        for trial in context.log.get(step, ())
        if until is None or trial.at is None or trial.at <= until
    ]
    status: list[float] = []
    moved = False
    for _, trial in sorted(timed, key=lambda pair: pair[0]):
        moved = moved or any(part.control is Control.COUNTERWEIGHT for part in trial.moves)
        shown = getattr(trial.reading, "downforce_gf", None)
        if shown is not None:
            status = [shown] if moved else [*status, shown]
            moved = False
    if not status:
        return context.figure(ROUGH, "downforce")
    return sum(status) / len(status)


@dataclass(frozen=True, slots=True)
class Settings:
    """The possible settings of this deck's compensation.

    ``marks`` are the values a person reads, ascending from 0: gf on a dial, the notch's number on a
    thread weight (0 for off). ``force_gf`` is the force of each setting at the stylus, ``by_rule``
    the setting to begin with.
    """

    control: SkatingControl
    marks: tuple[float, ...]
    force_gf: tuple[float, ...]
    by_rule: int

    @property
    def last(self) -> int:
        """The highest setting."""
        return len(self.marks) - 1

    @property
    def unit(self) -> str:
        """Unit of the marks."""
        return "gf" if self.control in DIALS else ""

    def place_of(self, mark: float) -> int | None:
        """Return the setting nearest to a mark, None for no such mark."""
        if self.control not in DIALS:
            matching = [i for i, own in enumerate(self.marks) if abs(own - mark) < 1e-6]
            return matching[0] if matching else None
        if not 0.0 <= mark <= self.marks[-1] + 1e-6:
            return None
        return min(range(len(self.marks)), key=lambda i: abs(self.marks[i] - mark))

    def answers_gf(self, place: int, force: SideForce) -> float:
        """Return the downforce whose side force this setting compensates, by the usual friction."""
        if self.control in DIALS:
            return self.marks[place]
        per_gf = force.mean.middle_gf / force.downforce_gf
        return self.force_gf[place] / per_gf if per_gf > 0.0 else 0.0


def settings_of(deck: Deck, force: SideForce) -> Settings | None:
    """Return the settings of this deck, None if there is nothing to set.

    A dial begins at the mark that equals the downforce (practice: that is how makers mark it);
    what its marks do is taken from that same rule. A thread weight begins at the notch whose
    force is nearest to the mean side force (moments, :func:`thread_force_gf`). An arm whose side
    force changes sign over the record begins with none: what helps outside harms inside.
    """
    skating = deck.skating
    wanted = force.mean.middle_gf
    none_by_rule = force.sign_change_mm is not None or wanted <= 0.0
    if skating.control in DIALS:
        count = int(skating.highest_gf / skating.step_gf + 1e-9)
        if count < 1:
            return None
        marks = tuple(i * skating.step_gf for i in range(count + 1))
        per_mark = max(wanted, 0.0) / force.downforce_gf
        first = min(range(count + 1), key=lambda i: abs(marks[i] - force.downforce_gf))
        forces = tuple(mark * per_mark for mark in marks)
        return Settings(skating.control, marks, forces, 0 if none_by_rule else first)
    if skating.control is not SkatingControl.THREAD_WEIGHT or not skating.notch_levers_mm:
        return None
    levers = skating.notch_levers_mm
    order = sorted(range(len(levers)), key=levers.__getitem__)
    marks = (0.0, *(float(i + 1) for i in order))
    forces = (
        0.0,
        *(thread_force_gf(skating.thread_weight_g, levers[i], force.length_mm) for i in order),
    )
    nearest = min(range(len(forces)), key=lambda i: abs(forces[i] - wanted))
    return Settings(skating.control, marks, forces, 0 if none_by_rule else nearest)


def said_of(settings: Settings, place: int) -> Message | Quantity:
    """Return a setting in words: ``2.00 gf``, ``notch 2``, ``off``."""
    if settings.control in DIALS:
        return Quantity(settings.marks[place], "gf")
    return message("skating.notch", number=round(settings.marks[place]))
