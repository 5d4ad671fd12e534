"""Numbers as a person reads them: decimal sign, minus sign, units, turns in eighths.

Everything that writes a sentence is handed a :class:`Numbers`, so that a sentence made in a
country that writes 1,75 says 1,75. Sentences are made here, at the end, of messages; no sentence
is ever stored.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from core.language.catalogue import ENGLISH, labelled, rendered, step_title
from core.language.messages import (
    Eighths,
    Expectation,
    Force,
    Interval,
    Label,
    Message,
    Name,
    Quantity,
    Sentences,
    Series,
    StepTitle,
    Text,
    Turns,
    Value,
    message,
)
from core.records import MILLINEWTON_PER_GRAM_FORCE, UNITS, Choice

MINUS: Final = "\u2212"
_EIGHTHS: Final = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")
_LEAST_EIGHTH: Final = 0.06
_WHOLE: Final = 1e-6
_NO_SPACE_BEFORE: Final = ("°",)
NO_BREAK: Final = "\u00a0"
JOINER: Final = "\u2060"
"""Takes no room; keeps a line from ending after the stroke of ``mm/m``."""


@dataclass(frozen=True, slots=True)
class Numbers:
    """Writes numbers for one country.

    Parameters
    ----------
    decimal
        The decimal sign, ``.`` or ``,``. Thousands are not grouped: nothing here is that large.
    """

    decimal: str = "."
    language: str = ENGLISH

    def text(self, what: Text | None) -> str:
        """Return the sentence of a message; a person's own words stay as they are.

        Nothing is said of None.
        """
        if what is None or isinstance(what, str):
            return what or ""
        return rendered(what, self.value, self.language)

    def label(self, text: str) -> str:
        """Return words that stand in a model, in the language of the screen."""
        return labelled(text, self.language)

    def value(self, value: Value) -> str:  # noqa: C901, PLR0911, PLR0912 - a case a kind
        """Write one value of a message."""
        match value:
            case Quantity(form="signed"):
                return self.signed_unit(value.value, value.unit, value.decimals)
            case Quantity(form="short"):
                return self.short(value.value, value.decimals or 3) + suffix(value.unit)
            case Quantity():
                return self.unit(value.value, value.unit, value.decimals)
            case Interval(number, half_width, unit, decimals):
                return self.within(number, half_width, unit, decimals)
            case Expectation():
                return self.expected(
                    value.value,
                    value.half_width,
                    value.unit,
                    value.decimals,
                    tolerance=value.tolerance,
                )
            case Turns(turns):
                return self.turn_amount(turns)
            case Eighths(turns):
                return self.turns(turns)
            case Force(grams_force, decimals):
                return self.force(grams_force, decimals)
            case Name(text):
                return text
            case Series(items, last):
                words = [self.value(item) for item in items]
                return f"{last} ".join(words) if last in ";," else self.listed(words, last)
            case Sentences(items):
                return " ".join(self.text(item) for item in items)
            case StepTitle(step):
                return step_title(step, self.language)
            case Message():
                return self.text(value)
            case Choice():
                return self.label(value.label)
            case Label(text):
                return self.label(text)
            case int():
                return str(value)
            case str():
                raise TypeError(f"'{value}' only chooses a variant and can't be shown")

    def listed(self, words: Sequence[str], last: str = "and") -> str:
        """Join words as a sentence does: ``a, b and c``."""
        if len(words) < 2:
            return "".join(words)
        first = Name(", ".join(words[:-1]))
        return self.text(message("common.series", link=last, first=first, last=Name(words[-1])))

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
        return self.plain(value, places) + suffix(symbol)

    def signed_unit(self, value: float, symbol: str, decimals: int | None = None) -> str:
        """Write a number with its sign and unit, ``+0.25 mm``."""
        known = UNITS.get(symbol)
        places = decimals if decimals is not None else (known.decimals if known else 2)
        return self.signed(value, places) + suffix(symbol)

    def within(self, value: float, half_width: float, symbol: str, decimals: int = 2) -> str:
        """Write a value with its interval, ``2.00 ± 0.03 gf``, as one word that no line breaks."""
        number, half = self.plain(value, decimals), self.plain(half_width, decimals)
        return f"{number}{NO_BREAK}±{NO_BREAK}{half}{suffix(symbol)}"

    def expected(
        self,
        value: float,
        half_width: float,
        symbol: str,
        decimals: int = 2,
        *,
        tolerance: float,
    ) -> str:
        """Write a value that is expected, with its interval where that says anything.

        Where half the interval is many tolerances wide, or wider than the value itself and still
        some tolerances, no person can use it: ``roughly 2.0 gf``, or ``about 0 gf``.
        """
        if Expectation(value, half_width, symbol, decimals, tolerance).is_rough:
            rough = self.plain(value, max(0, decimals - 1))
            if not round(value, max(0, decimals - 1)):
                zero = Name(f"{self.plain(0.0, 0)}{suffix(symbol)}")
                return self.text(message("common.near_zero", value=zero))
            return self.text(message("common.roughly", value=Name(f"{rough}{suffix(symbol)}")))
        return self.within(value, half_width, symbol, decimals)

    def force(self, grams_force: float, decimals: int = 2) -> str:
        """Write a downforce in both units, ``2.00 gf (19.6 mN)``."""
        millinewton = grams_force * MILLINEWTON_PER_GRAM_FORCE
        return f"{self.unit(grams_force, 'gf', decimals)} ({self.unit(millinewton, 'mN', 1)})"

    def turns(self, turns: float) -> str:
        """Write the size of a turn in eighths, ``1 ⅜ turns``; direction is said in words beside it.

        Less than a sixteenth of a turn is ``less than ⅛ turn``.
        """
        eighths = round(abs(turns) * 8)
        if eighths == 0:
            return self.text(message("common.turns", count=0, number=Name("")))
        whole, part = divmod(eighths, 8)
        pieces = (str(whole) if whole else "", _EIGHTHS[part])
        number = NO_BREAK.join(piece for piece in pieces if piece)
        count = 1 if eighths <= 8 else 2
        return self.text(message("common.turns", count=count, number=Name(number)))

    def turn_amount(self, turns: float) -> str:
        """Write the size of a turn: eighths where it is one, else decimals with degrees beside.

        ``¾ turn``, ``1 ⅜ turns``, ``0.19 turn (68°)``, ``1.19 turns``.
        """
        size = abs(turns)
        if size > _LEAST_EIGHTH and abs(size * 8.0 - round(size * 8.0)) < _WHOLE:
            return self.turns(size)
        number = Name(self.short(size, 2))
        if size < 1.0:
            degrees = Quantity(size * 360.0, "°", 0)
            return self.text(message("common.part_of_turn", number=number, degrees=degrees))
        return self.text(message("common.turns", count=1 if size <= 1.0 else 2, number=number))


def suffix(symbol: str) -> str:
    """Return a unit as it stands after a number: a space that no line breaks, and the symbol."""
    if not symbol:
        return ""
    if symbol in _NO_SPACE_BEFORE:
        return symbol
    return NO_BREAK + symbol.replace("/", f"/{JOINER}")
