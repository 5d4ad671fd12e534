"""Whether the head follows its moves: along its slots, by rotation, or with the arm's base."""

from __future__ import annotations

import math
from typing import Final

from core.estimation import (
    ControlModel,
    Estimate,
    Response,
    ResponseRecord,
    acted_partly,
    response_to,
)
from core.fitting import Control

_FEW_MOVES: Final = 2
_SURE: Final = 0.99

_FOLLOWS: Final = 0.33
"""A head that follows has moved at least this share of the largest order: our own."""


class HeadAnswers:
    """The orders and findings for one of length and angle.

    Moves too small to show individually are taken together.
    """

    def __init__(self, unit: str) -> None:
        self.record = ResponseRecord()
        self.control = Control.SLIDE
        self._model = ControlModel(unit, stated_gain=1.0)
        self._asked = self._made = self._farthest = 0.0
        self._from: Estimate | None = None
        self._fresh = False
        self._moves = 0
        self._way = 0.0
        self._followed = False
        self._first: Estimate | None = None
        self._last: Estimate | None = None

    def asked(self, control: Control, amount: float, made: float, start: Estimate) -> None:
        """Record an order, its execution error, and the position before it."""
        if self._from is None:
            self._from = start
        if self._first is None:
            self._first = start
        wanted = start.value + amount - self._first.value
        self._farthest = max(self._farthest, abs(wanted))
        self.control = control
        self._asked += amount
        self._made = math.hypot(self._made, made)
        self._moves += 1
        self._fresh = True

    def found(self, at: Estimate) -> None:
        """Record the position read after it."""
        if not self._fresh or self._from is None:
            return
        self._fresh, self._last = False, at
        found = response_to(self._model, self._asked, self._made, [self._from], [at])
        if found is Response.UNCLEAR and not self._at_odds(at):
            return
        self._way = math.copysign(1.0, self._asked)
        if found not in (Response.NOTHING, Response.UNCLEAR):
            self._followed = True
        partly = acted_partly(self._model, self._asked, [self._from], [at])
        self.record.take(found, partly=partly)
        self._begin()

    def _at_odds(self, at: Estimate) -> bool:
        """Whether several moves, each too small to show, should have shown together."""
        if self._from is None or self._moves < _FEW_MOVES:
            return False
        expected = self._from.shifted(self._asked).widened(self._made)
        return not expected.minus(at).contains(0.0, _SURE)

    def forget(self) -> None:
        """Start again: something else changed the head's position."""
        self._begin()
        self._first = self._last = None
        self._farthest = 0.0

    def _begin(self) -> None:
        self._asked = self._made = 0.0
        self._from, self._fresh, self._moves = None, False, 0

    @property
    def goes(self) -> bool:
        """Whether it followed a move, and is certainly not at its first position.

        A single reading that seems to follow proves nothing: the next may be back at the start, or
        slightly beside it if something else was moved.
        """
        if not self._followed or self._first is None or self._last is None:
            return False
        gone = self._last.minus(self._first)
        return abs(gone.value) >= _FOLLOWS * self._farthest and not gone.contains(0.0, _SURE)

    @property
    def stuck(self) -> float:
        """Sign of the direction in which it is stuck, after two orders and a check; else 0."""
        return self._way if self.record.gave_up else 0.0
