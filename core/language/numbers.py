"""Numbers as a person reads them: decimal sign, minus sign, units, turns in eighths.

Everything that writes a sentence is handed a :class:`Numbers`, so that a sentence made in a
country that writes 1,75 says 1,75. No sentence is ever stored.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from core.records import MILLINEWTON_PER_GRAM_FORCE, UNITS

MINUS: Final = "\u2212"
_EIGHTHS: Final = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")
_NO_SPACE_BEFORE: Final = ("°",)
NO_BREAK: Final = "\u00a0"
_MANY_TOLERANCES: Final = 10.0
_SOME_TOLERANCES: Final = 3.0
EXPECTED: Final = "Expected after the move"
"""The one word for what a step foretells, in every picture and every sentence."""


@dataclass(frozen=True, slots=True)
class Numbers:
    """Writes numbers for one country.

    Parameters
    ----------
    decimal
        The decimal sign, ``.`` or ``,``. Thousands are not grouped: nothing here is that large.
    """

    decimal: str = "."

    def plain(self, value: float, decimals: int = 2) -> str:
        """Write a number with a fixed count of decimals; never ``-0.00``."""
        if not math.isfinite(value):
            return "–"
        text = f"{abs(value):.{decimals}f}"
        negative = value < 0 and float(text) != 0.0
        return (MINUS if negative else "") + text.replace(".", self.decimal)

    def short(self, value: float, decimals: int = 3) -> str:
        """Write a number with no trailing zeros: ``2``, ``0.5``."""
        text = self.plain(value, decimals)
        if self.decimal in text:
            text = text.rstrip("0").rstrip(self.decimal)
        return text

    def signed(self, value: float, decimals: int = 2) -> str:
        """Write a number with its sign, plus included; zero has none."""
        text = self.plain(value, decimals)
        return f"+{text}" if value > 0 and float(f"{value:.{decimals}f}") != 0.0 else text

    def unit(self, value: float, symbol: str, decimals: int | None = None) -> str:
        """Write a number and its unit, ``1.75 gf``; the unit's own decimals unless told."""
        known = UNITS.get(symbol)
        places = decimals if decimals is not None else (known.decimals if known else 2)
        return self.plain(value, places) + _suffix(symbol)

    def signed_unit(self, value: float, symbol: str, decimals: int | None = None) -> str:
        """Write a number with its sign and unit, ``+0.25 mm``."""
        known = UNITS.get(symbol)
        places = decimals if decimals is not None else (known.decimals if known else 2)
        return self.signed(value, places) + _suffix(symbol)

    def within(self, value: float, half_width: float, symbol: str, decimals: int = 2) -> str:
        """Write a value with its interval, ``2.00 ± 0.03 gf``."""
        return (
            f"{self.plain(value, decimals)} ± {self.plain(half_width, decimals)}{_suffix(symbol)}"
        )

    def expected(
        self,
        value: float,
        half_width: float,
        symbol: str,
        decimals: int = 2,
        *,
        tolerance: float,
        signed: bool = False,
    ) -> str:
        """Write a value that is expected, with its interval where that says anything.

        Where half the interval is many tolerances wide, or wider than the value itself and still
        some tolerances, no person can use it: ``roughly 2.0 gf, not yet known how exactly``.
        """
        write = self.signed if signed else self.plain
        useless = half_width > _MANY_TOLERANCES * tolerance or (
            half_width >= abs(value) and half_width > _SOME_TOLERANCES * tolerance
        )
        if useless or not math.isfinite(half_width):
            rough = write(value, max(0, decimals - 1))
            return f"roughly {rough}{_suffix(symbol)}, not yet known how exactly"
        return f"{write(value, decimals)} ± {self.plain(half_width, decimals)}{_suffix(symbol)}"

    def force(self, grams_force: float, decimals: int = 2) -> str:
        """Write a downforce in both units, ``2.00 gf (19.6 mN)``."""
        millinewton = grams_force * MILLINEWTON_PER_GRAM_FORCE
        return f"{self.plain(grams_force, decimals)} gf ({self.plain(millinewton, 1)} mN)"

    def turns(self, turns: float) -> str:
        """Write the size of a turn in eighths, ``1 ⅜ turns``; direction is said in words beside it.

        Less than a sixteenth of a turn is ``less than ⅛ turn``.
        """
        eighths = round(abs(turns) * 8)
        if eighths == 0:
            return f"less than ⅛{NO_BREAK}turn"
        whole, part = divmod(eighths, 8)
        pieces = (str(whole) if whole else "", _EIGHTHS[part])
        number = NO_BREAK.join(piece for piece in pieces if piece)
        return f"{number}{NO_BREAK}{'turn' if eighths <= 8 else 'turns'}"


def _suffix(symbol: str) -> str:
    if not symbol:
        return ""
    return symbol if symbol in _NO_SPACE_BEFORE else f"{NO_BREAK}{symbol}"


def listed(words: list[str], last: str = "and") -> str:
    """Join words as a sentence does: ``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
