"""Plain trial and error, for comparison: move by the error just read, at the gain that is stated.

It is the same person on the same deck, with the same instruments and the same word for when it is
good; only how far to move is not learned. A person who sees the error grow turns the other way.
"""

from __future__ import annotations

import math
from typing import Final

from core.arm import Balance
from core.deck import Deck, HeightControl, SpeedTrim
from core.steps._speed_readings import speed_label
from core.verdict import Assessment, Control, MovePart

COMPARED: Final = ("rough_downforce", "final_downforce", "arm_height", "tilt", "speed")
"""Steps with one control each, whose gain can be stated."""


class PlainHand:
    """What plain trial and error does instead of what the wizard asks for."""

    def __init__(self, deck: Deck) -> None:
        self.deck = deck
        self._sign: dict[tuple[str, str], float] = {}
        self._before: dict[tuple[str, str], float] = {}

    def instead(self, step: str, part: MovePart, assessment: Assessment) -> MovePart:
        """Return the same part with the amount that the error just read asks for.

        Parameters
        ----------
        step, part
            What the wizard asks for.
        assessment
            Its figures hold what was just read.
        """
        gain = self._stated_gain(part)
        error = self._error(step, part, assessment)
        if gain is None or error is None:
            return part
        place = (step, part.where)
        if abs(error) > self._before.get(place, math.inf):
            self._sign[place] = -self._sign.get(place, 1.0)
        self._before[place] = abs(error)
        amount = -self._sign.get(place, 1.0) * error / gain
        if part.control is Control.SPEED and self.deck.platter.trim is SpeedTrim.ELECTRONIC:
            amount = round(amount) or math.copysign(1.0, amount)
        return MovePart(control=part.control, amount=amount, unit=part.unit, where=part.where)

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
        return next((rpm for rpm in speeds if speed_label(rpm) == part.where), speeds[0])

    def _error(self, step: str, part: MovePart, assessment: Assessment) -> float | None:
        if step == "speed":
            return self._speed_error(part, assessment)
        key = {"arm_height": "pillar", "tilt": "tilt"}.get(step, "downforce")
        figure = assessment.figure(key)
        if figure is None:
            return None
        return -figure.value if key == "pillar" else figure.value - (figure.target or 0.0)

    def _speed_error(self, part: MovePart, assessment: Assessment) -> float | None:
        if part.where:
            figure = assessment.figure(f"speed_error_{int(self._speed(part))}")
            return figure.value if figure else None
        errors = [f.value for f in assessment.figures if f.key.startswith("speed_error_")]
        return 0.5 * (max(errors) + min(errors)) if errors else None
