"""Whether the cartridge slides as it is asked, or stands at the end of its slots."""

from __future__ import annotations

import math
from typing import Final

_TELLING_SLIDE_MM: Final = 0.3
"""A shorter slide than this tells nothing when it is not seen."""

_SHARE: Final = 0.4
_TIMES: Final = 2.0


class Slides:
    """Slides asked for and found, one after the other."""

    def __init__(self) -> None:
        self._asked, self._from, self._in_vain = 0.0, 0.0, 0.0

    def asked(self, amount_mm: float, from_mm: float) -> None:
        """Note a slide, and where the length stood before it."""
        if not self._asked:
            self._from = from_mm
        self._asked += amount_mm

    def found(self, at_mm: float, u_mm: float) -> None:
        """Note where the length is then read, and how exactly."""
        asked, self._asked = self._asked, 0.0
        if abs(asked) < _TELLING_SLIDE_MM:
            return
        sign = math.copysign(1.0, asked)
        moved = (at_mm - self._from) * sign
        in_vain = moved < min(_SHARE * abs(asked), 2.0 * u_mm)
        self._in_vain = (self._in_vain if self._in_vain * sign > 0 else 0.0) + sign
        if not in_vain:
            self._in_vain = 0.0

    @property
    def stuck(self) -> float:
        """Sign of the direction in which it did not slide, twice asked; 0 if it slides."""
        return math.copysign(1.0, self._in_vain) if abs(self._in_vain) >= _TIMES else 0.0
