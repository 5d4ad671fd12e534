"""The log of arm height as one number: how far the rear is too high at the pivot."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from core import estimation as trim
from core.estimation import Estimate
from core.fitting import Context, Control, MovePart, Reading
from core.physics.levelling import weighted_mean
from core.physics.pitch import pillar_move_mm, pitch_change_of_record_deg
from core.records import HeightControl, Mounting
from core.steps.arm_height.effects import disturbed_by
from core.steps.arm_height.readings import TubeReading
from core.steps.shared import (
    Elsewhere,
    history,
    is_checked,
    is_right_as_read,
    stated_or_learned,
)

_FURTHEST_MM: Final = 200.0  # no hand moves an arm so far: such an amount is mistyped
_LEAST_MM: Final = 0.005  # and none so little: such an amount teaches nothing of the control

THICKEST_HEAD_SHIM_MM: Final = 10.0
"""Thickest spacer between head and cartridge (common practice, no source)."""
FINEST_MM: Final = 0.1
"""The thinnest shim, and the least that a hand moves a pillar: our own."""

_SURE: Final = 3.0
"""Standard deviations beyond which a reading is not what a move elsewhere explains: our own."""
_ANYWHERE_MM: Final = 1000.0
"""A move of 0 as uncertain as this tells the solver that only the gain carries over."""

COLLAR_SHARE: Final = 0.1
OTHERWISE_SHARE: Final = 0.05
"""Relative error of a collar's thread, and of any other control: our own allowance."""


def known_gain(context: Context) -> tuple[float, float]:
    """Return the control's millimetres per millimetre ordered, and its relative error.

    The first is 1 as stated; the second is one standard uncertainty as a share.
    """
    height = context.deck.height
    if height.control is not HeightControl.COLLAR:
        return 1.0, OTHERWISE_SHARE
    stated = height.mm_per_turn
    thread = stated_or_learned(context.gains, Control.PILLAR, "", "mm/turn", stated, COLLAR_SHARE)
    return (thread.value or stated) / stated, thread.share


def takes_head_shim(context: Context) -> bool:
    """Whether a shim can go between head and cartridge."""
    return context.cartridge.mounting is not Mounting.PLUG_IN


def control_of(context: Context) -> trim.ControlModel:
    """Return the control in millimetres up at the pillar, whichever it is."""
    height = context.deck.height
    step = {
        HeightControl.COLLAR: height.mm_per_turn / 8,
        HeightControl.NONE: 0.0,
    }.get(height.control, FINEST_MM)
    down, up = -height.travel_down_mm, height.travel_up_mm
    if height.control is HeightControl.SHIMS and takes_head_shim(context):
        down -= THICKEST_HEAD_SHIM_MM
    gain, share = known_gain(context)
    return trim.ControlModel(
        unit="mm",
        stated_gain=gain,
        gain_relative_uncertainty=share,
        smallest_step=step,
        travel=None if height.control is HeightControl.NONE else (down, up),
        execution_relative=0.05,
        execution_absolute=0.1,
    )


@dataclass(frozen=True, slots=True)
class HeightEstimate:
    """The log for the solver: how far the rear is too high at the pivot, mm."""

    trials: tuple[trim.ControlTrial, ...]
    spacing_mm: float | None
    earlier: tuple[float, ...]
    fresh: tuple[Estimate, ...]
    pending: bool
    readings: int
    base_shims_mm: float
    ways: tuple[str, ...]
    last_moved: Control = Control.PILLAR
    unexplained: bool = False
    """The only reading since a move elsewhere is far from what that explains: it does not count."""


def _lift_of(part: MovePart, mm_per_turn: float) -> float | None:
    """Return how far a part lifts the rear against the stylus, mm; None if it does not."""
    amount = part.amount
    if part.equivalent_mm is not None:
        amount = part.equivalent_mm
    elif part.unit == "turns":
        amount *= mm_per_turn
    if not _LEAST_MM <= abs(amount) <= _FURTHEST_MM:
        return None
    if part.control in (Control.PILLAR, Control.BASE_SHIM):
        return amount
    if part.control is Control.HEAD_SHIM:
        return -amount
    return None


def lifted_by(parts: Sequence[MovePart], mm_per_turn: float) -> float | None:
    """Return how far a move lifts the rear, mm; None if any part of it does something else."""
    lifts = [_lift_of(part, mm_per_turn) for part in parts]
    known = [lift for lift in lifts if lift is not None]
    return math.fsum(known) if len(known) == len(lifts) else None


def height_of(reading: Reading, context: Context) -> Estimate | None:
    """Return how far a reading says the rear is too high at the pivot, mm; None if it says none."""
    if not isinstance(reading, TubeReading):
        return None
    pitch = reading.measure(context.deck.bench)
    return pillar_move_mm(pitch, context.deck.arm.effective_length_mm).scaled(-1.0)


def _since_last_move(trials: Sequence[trim.ControlTrial]) -> list[Estimate]:
    """Return the readings after the last move, none if nothing was read since."""
    found: list[Estimate] = []
    for trial in reversed(trials):
        if isinstance(trial, Estimate):
            found.append(trial)
        elif not trial.checked:
            break
    return found


class HeightEstimator:
    """Reads the log from first to last."""

    def __init__(self, context: Context, extra_mm: float) -> None:
        self.context, self.extra_mm = context, extra_mm
        self.reach_mm = context.deck.arm.effective_length_mm
        self.mm_per_turn = context.deck.height.mm_per_turn
        self.by_shims = context.deck.height.control is HeightControl.SHIMS
        self.trials: list[trim.ControlTrial] = []
        self.fresh: list[Estimate] = []
        self.earlier: list[float] = []
        self.spacing_mm: float | None = None
        self.pending = False
        self.readings = 0
        self.base_shims_mm = 0.0
        self.ways: dict[str, None] = {}
        self.last_moved = Control.PILLAR
        self.carried_to: int | None = None
        """The place among the trials up to which a move elsewhere has shifted the readings."""
        self.unexplained = False

    def told(self) -> HeightEstimate:
        """Return the whole log for the solver."""
        for event in history(self.context, disturbed_by):
            if isinstance(event, Elsewhere):
                self._disturbed(event)
                continue
            high = height_of(event.reading, self.context) if event.reading else None
            if event.reading is not None and high is not None:
                self._read(high)
                self.ways[event.reading.way] = None
                self.spacing_mm = getattr(event.reading, "spacing_mm", None)
            if event.moves:
                self._moved(event.moves)
            by_control = is_checked(event, Control.PILLAR, Control.BASE_SHIM, Control.HEAD_SHIM)
            if by_control or is_right_as_read(event):
                self.trials.append(trim.CHECKED)
        self._compare(ends=True)
        return HeightEstimate(
            tuple(self.trials),
            self.spacing_mm,
            tuple(self.earlier),
            tuple(self.fresh),
            self.pending,
            self.readings,
            self.base_shims_mm,
            tuple(self.ways),
            self.last_moved,
            self.unexplained,
        )

    def _read(self, high: Estimate) -> None:
        lowered = self.reach_mm * math.tan(
            math.radians(pitch_change_of_record_deg(self.extra_mm, self.reach_mm))
        )
        estimate = high.shifted(lowered)
        self.trials.append(estimate)
        self.fresh.append(estimate)
        self.readings += 1
        self.pending = False

    def _compare(self, *, ends: bool = False) -> None:
        """Compare the readings since a move elsewhere with those before it, as it shifted them.

        If they contradict, a single one does not count yet where the log ``ends``; confirmed, or
        followed by anything else, it is the earlier ones that no longer hold.
        """
        place, self.carried_to = self.carried_to, None
        before = weighted_mean(_since_last_move(self.trials[:place])) if place else None
        after = weighted_mean(self.fresh)
        if place is None or before is None or after is None:
            return
        sd = math.hypot(before.standard_uncertainty, after.standard_uncertainty)
        if abs(after.value - before.value) <= _SURE * sd:
            return
        if ends and len(self.fresh) == 1:
            self.unexplained = True
            self.trials = self.trials[:place]
        else:
            self.trials.insert(place, trim.ControlMove(0.0, _ANYWHERE_MM))

    def _moved(self, parts: Sequence[MovePart]) -> None:
        self._compare()
        if self.fresh:
            self.earlier.append(sum(e.value for e in self.fresh) / len(self.fresh))
        self.fresh = []
        self.pending = True
        for part in parts:
            if part.control is Control.CARTRIDGE:
                self._forget()
            elif part.control is Control.RECORD and abs(part.amount) <= _FURTHEST_MM:
                self._shift(-part.amount)
            lift = _lift_of(part, self.mm_per_turn)
            if lift is not None:
                uses = part.control is Control.PILLAR or self.by_shims
                self.trials.append(trim.ControlMove(lift, uses_travel=uses))
                self.last_moved = part.control
                if part.control is Control.BASE_SHIM:
                    self.base_shims_mm += lift

    def _disturbed(self, event: Elsewhere) -> None:
        if self.fresh or event.exchanged:
            self._compare()
        if event.exchanged:
            self._forget()
        else:
            change = event.change("height")
            if change is not None and abs(change.value) <= _FURTHEST_MM:
                self._shift(change.value, change.standard_uncertainty)
            self.fresh = []
            self.carried_to = len(self.trials)

    def _forget(self) -> None:
        self.trials, self.fresh, self.earlier, self.carried_to = [], [], [], None

    def _shift(self, change_mm: float, u_mm: float = 0.0) -> None:
        """Shift earlier readings by a change from outside."""
        self.trials = [
            trial.shifted(change_mm).widened(u_mm) if isinstance(trial, Estimate) else trial
            for trial in self.trials
        ]
