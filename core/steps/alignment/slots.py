"""Whether the cartridge slides as it is asked, or stands at the end of its slots."""

from __future__ import annotations

import math
from typing import Final

_SHARE: Final = 0.35
"""A head that made less than this share of what was asked may be held."""

_EXPECTED: Final = 0.7
_SURELY: Final = 2.8
"""It is held when it stayed behind even this share of the way by more than its readings leave
open: twice the standard uncertainty of a difference of two of them."""


class Slides:
    """Slides asked for and found, one after the other; those one way are taken together."""

    def __init__(self) -> None:
        self._pending = 0.0
        self._asked, self._from, self._last = 0.0, 0.0, 0.0
        self._times = 0
        self._stuck = 0.0

    def asked(self, amount_mm: float, from_mm: float) -> None:
        """Note a slide, and where the length stood before it."""
        if not self._asked or self._asked * amount_mm < 0.0:
            self._asked, self._from, self._times, self._stuck = 0.0, from_mm, 0, 0.0
        self._asked += amount_mm
        self._pending, self._last = amount_mm, from_mm

    def found(self, at_mm: float, u_mm: float) -> None:
        """Note where the length is then read, and how exactly."""
        pending, self._pending = self._pending, 0.0
        if not pending:
            return
        self._times += 1
        sign, size = math.copysign(1.0, self._asked), abs(self._asked)
        moved, just_now = (at_mm - self._from) * sign, (at_mm - self._last) * sign
        freed = just_now >= max(_SHARE * abs(pending), _SURELY * u_mm)
        if freed or moved >= _SHARE * size:
            self._asked, self._stuck = 0.0, 0.0
        elif self._times >= 2 and _EXPECTED * size - moved > _SURELY * u_mm:
            self._stuck = sign

    @property
    def stuck(self) -> float:
        """Sign of the direction in which it does not slide, asked twice or more; 0 if it does."""
        return self._stuck
