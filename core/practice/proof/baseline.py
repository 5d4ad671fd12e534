"""Plain trial and error, for comparison: move by the error just read, at the gain that is stated.

It is the same person on the same deck, with the same instruments; only nothing is learned of what
the control does. A person who sees the error grow turns the other way. When they stop is told in
two ways: by the wizard's own word for good, so that both end equally sure, or at the first
reading inside the tolerance, which takes fewer readings and is wrong more often.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import singledispatchmethod
from typing import Final

from core.fitting import Assessment, Control, MovePart, Reading
from core.records import Balance, Cartridge, Deck, HeightControl, SpeedTrim
from core.steps import ARM_HEIGHT, FINAL_DOWNFORCE, ROUGH_DOWNFORCE, SPEED, TILT
from core.steps.arm_height import TubeReading
from core.steps.downforce import ScaleReading
from core.steps.speed import SpeedReading, Taken, speed_key, speed_named
from core.steps.tilt import LookedAt

COMPARED: Final = (ROUGH_DOWNFORCE, FINAL_DOWNFORCE, ARM_HEIGHT, TILT, SPEED)
"""Steps with one control each, whose gain can be stated."""


@dataclass(frozen=True, slots=True)
class ErrorSeen:
    """One reading as a plain person takes it: the error it shows, and how much they let pass."""

    error: float
    tolerance: float
    where: str = ""

    @property
    def is_inside(self) -> bool:
        """Whether they leave it at that."""
        return abs(self.error) <= self.tolerance


class BaselineHand:
    """What plain trial and error does instead of what the wizard asks for.

    It acts in `steps` and follows the wizard elsewhere. `early` ends a step at the first reading
    inside the tolerance, not at the wizard's word.
    """

    def __init__(
        self,
        deck: Deck,
        cartridge: Cartridge,
        steps: frozenset[str] = frozenset(COMPARED),
        *,
        early: bool = False,
    ) -> None:
        self.deck, self.cartridge = deck, cartridge
        self.steps, self.early = steps, early
        self._sign: dict[tuple[str, str], float] = {}
        self._before: dict[tuple[str, str], float] = {}

    def instead(self, step: str, part: MovePart, assessment: Assessment) -> MovePart:
        """Return the same part with the amount that the error just read asks for."""
        error = self._error(step, part, assessment)
        return part if error is None else self._by(step, part, error)

    @singledispatchmethod
    def seen(self, reading: Reading, step: str) -> ErrorSeen | None:
        """Return what one reading shows, None where one alone shows no error."""
        del reading, step
        return None

    @seen.register
    def _weighed(self, reading: ScaleReading, step: str) -> ErrorSeen:
        error = reading.downforce_gf - self.cartridge.downforce_target_gf
        return ErrorSeen(error, self._downforce_room(step, error))

    @seen.register
    def _tilted(self, reading: LookedAt, step: str) -> ErrorSeen:
        del step
        tilt = reading.measure(self.deck.bench, self.cartridge).value
        return ErrorSeen(tilt, self.deck.tolerances.tilt_deg)

    @seen.register
    def _pitched(self, reading: TubeReading, step: str) -> ErrorSeen:
        del step
        pitch = reading.measure(self.deck.bench).value
        arm_mm, passes = self.deck.arm.effective_length_mm, self.deck.tolerances.height_mm
        return ErrorSeen(
            arm_mm * math.tan(math.radians(pitch)), passes * arm_mm / reading.read_over_mm(arm_mm)
        )

    @seen.register
    def _turned(self, reading: SpeedReading, step: str) -> ErrorSeen | None:
        del step
        taken = reading.measure(self.deck)
        if not isinstance(taken, Taken):
            return None
        where = speed_key(self.deck.platter.speeds_rpm[taken.speed])
        return ErrorSeen(taken.error.value, self.deck.tolerances.speed_percent, where)

    def own(self, step: str, seen: ErrorSeen) -> MovePart:
        """Return the move that the error just seen asks for."""
        arm, platter = self.deck.arm, self.deck.platter
        if "downforce" in step:
            turns = arm.gf_per_turn is not None or arm.counterweight_mm_per_turn is not None
            unit = "gf" if arm.balance is Balance.DYNAMIC else "turns" if turns else "mm"
            part = MovePart(control=Control.COUNTERWEIGHT, amount=1.0, unit=unit)
        elif step == ARM_HEIGHT:
            collar = self.deck.height.control is HeightControl.COLLAR
            part = MovePart(control=Control.PILLAR, amount=1.0, unit="turns" if collar else "mm")
        elif step == TILT:
            part = MovePart(control=Control.TILT, amount=1.0, unit="°")
        else:
            shared = platter.one_trim_for_all or len(platter.speeds_rpm) == 1
            unit = "turns" if platter.trim is SpeedTrim.SCREW else ""
            where = "" if shared else seen.where
            part = MovePart(control=Control.SPEED, amount=1.0, unit=unit, where=where)
        return self._by(step, part, seen.error)

    def _by(self, step: str, part: MovePart, error: float) -> MovePart:
        gain = self._stated_gain(part)
        if gain is None:
            return part
        place = (step, part.where)
        if abs(error) > self._before.get(place, math.inf):
            self._sign[place] = -self._sign.get(place, 1.0)
        self._before[place] = abs(error)
        amount = -self._sign.get(place, 1.0) * error / gain
        if part.control is Control.SPEED and self.deck.platter.trim is SpeedTrim.ELECTRONIC:
            amount = round(amount) or math.copysign(1.0, amount)
        return MovePart(control=part.control, amount=amount, unit=part.unit, where=part.where)

    def _downforce_room(self, step: str, error: float) -> float:
        """Return how far off passes: the maker's range at first, the tolerance at last."""
        cartridge, tolerance = self.cartridge, self.deck.tolerances.downforce_gf
        target = cartridge.downforce_target_gf
        if step == ROUGH_DOWNFORCE:
            edge = cartridge.downforce_max_gf if error > 0.0 else cartridge.downforce_min_gf
            return max(abs(edge - target), tolerance)
        half = 0.5 * (cartridge.downforce_max_gf - cartridge.downforce_min_gf)
        return min(tolerance, half) if half > 0.0 else tolerance

    def _stated_gain(self, part: MovePart) -> float | None:
        platter = self.deck.platter
        match part.control:
            case Control.COUNTERWEIGHT:
                return self._downforce_gain()
            case Control.PILLAR:
                collar = self.deck.height.control is HeightControl.COLLAR
                return self.deck.height.mm_per_turn if collar else 1.0
            case Control.TILT:
                return 1.0
            case Control.SPEED:
                screw = platter.trim is SpeedTrim.SCREW
                rate = platter.rpm_per_turn if screw else platter.rpm_per_step
                return None if rate is None else 100.0 * rate / self._speed(part)
        return None

    def _downforce_gain(self) -> float | None:
        arm = self.deck.arm
        if arm.balance is Balance.DYNAMIC:
            return 1.0
        if arm.gf_per_turn is not None:
            return arm.gf_per_turn
        if arm.counterweight_g is None:
            return None
        return (
            arm.counterweight_g / arm.effective_length_mm * (arm.counterweight_mm_per_turn or 1.0)
        )

    def _speed(self, part: MovePart) -> float:
        speeds = self.deck.platter.speeds_rpm
        return speeds[speed_named(part.where, speeds) or 0]

    def _error(self, step: str, part: MovePart, assessment: Assessment) -> float | None:
        if step == SPEED:
            return self._speed_error(part, assessment)
        key = {ARM_HEIGHT: "pillar", TILT: "tilt"}.get(step, "downforce")
        figure = assessment.figure(key)
        if figure is None:
            return None
        return -figure.value if key == "pillar" else figure.value - (figure.target or 0.0)

    def _speed_error(self, part: MovePart, assessment: Assessment) -> float | None:
        if part.where:
            subject = speed_key(self._speed(part))
            return next((f.value for f in assessment.figures if f.subject == subject), None)
        errors = [f.value for f in assessment.figures if f.subject]
        return 0.5 * (max(errors) + min(errors)) if errors else None
