"""A thing a hand turns, slides or sets: with play, an end and a will of its own."""

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
        What one unit asked for really does, in the units of ``place``; negative where it turns
        the other way round from what is said.
    hand_share, hand_least
        How exactly a hand makes a move: a share of it, and the least, in units asked for.
    play
        Slack to be taken up on reversal, in units asked for.
    low, high
        Ends of travel, in the units of ``place``.
    click
        Where it stands only at whole steps, the size of a step in units of ``place``; 0: anywhere.
    place
        Where it stands.
    taken_up
        How much of the play lies behind the next move up.
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

    def move(self, asked: float, rng: np.random.Generator) -> float:
        """Do what was asked, as well as it goes; return by how much the place changed."""
        first, second = rng.standard_normal(2)
        made = asked * (1.0 + self.hand_share * float(first)) + self.hand_least * float(second)
        if asked == 0.0:
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
