"""A control that a hand turns, slides or sets, with backlash and ends of travel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.practice.hand_precision import SHARE


@dataclass(slots=True)
class Knob:
    """One control as it really is.

    Parameters
    ----------
    effect
        What one unit asked for really does, in the units of `place`; negative where it turns the
        other way round.
    hand_share, hand_least
        Standard deviations of a move: a share of it, and what is added in units asked for.
    play
        Backlash, in units asked for.
    low, high, click
        Ends of travel and size of a step, in units of `place`; 0 for a stepless control.
    taken_up
        How much of the backlash lies behind the next move up.
    held
        It does not move, whatever a hand does.
    """

    effect: float = 1.0
    hand_share: float = SHARE
    hand_least: float = 0.0
    play: float = 0.0
    low: float = -1e9
    high: float = 1e9
    click: float = 0.0
    place: float = 0.0
    taken_up: float = 0.0
    held: bool = False

    def move(self, asked: float, rng: np.random.Generator) -> float:
        """Make a move with the errors of a hand; return by how much the place changed."""
        first, second = rng.standard_normal(2)
        made = asked * (1.0 + self.hand_share * float(first)) + self.hand_least * float(second)
        if asked == 0.0 or self.held:
            return 0.0
        room = self.play - self.taken_up if made > 0.0 else -self.taken_up
        lost = min(made, room) if made > 0.0 else max(made, room)
        self.taken_up += lost
        before = self.place
        wanted = self.place + (made - lost) * self.effect
        if self.click > 0.0:
            wanted = round(wanted / self.click) * self.click
        self.place = min(max(wanted, self.low), self.high)
        return self.place - before
