"""The units people read off their instruments, and how each becomes the unit a field is kept in.

A number with a foreign unit is never converted behind the person's back: the converted value is
said, and the person types it. Factors are exact by definition unless noted: inch (1959), standard
gravity (CGPM 1901), avoirdupois ounce (1959).
"""

from __future__ import annotations

import math
from typing import Final

from core.records import MILLIMETRES_PER_INCH, MILLINEWTON_PER_GRAM_FORCE, Unit

_GRAMS_PER_OUNCE: Final = 28.349523125

_SAME: Final[dict[str, tuple[str, ...]]] = {
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "mm/m": ("mm/m", "‰", "permille"),
    "mm/turn": ("mm/turn", "mm/rev"),
    "gf": ("gf", "g", "gram", "grams", "gr", "grams-force", "p", "pond"),
    "gf/turn": ("gf/turn", "g/turn", "gf/rev", "g/rev"),
    "g": ("g", "gram", "grams", "gr"),
    "°": ("°", "º", "deg", "degree", "degrees"),
    "rpm": ("rpm", "1/min", "min-1", "min^-1", "u/min", "r/min", "/min"),
    "rpm/turn": ("rpm/turn", "rpm/rev"),
    "%": ("%", "percent", "per cent"),
    "hz": ("hz", "hertz", "1/s", "/s"),
    "db": ("db", "decibel", "decibels"),
    "s": ("s", "sec", "secs", "second", "seconds"),
    "min": ("min", "mins", "minute", "minutes"),
    "h": ("h", "hr", "hrs", "hour", "hours"),
    "µm/mn": (
        "µm/mn", "um/mn", "mm/n", "cu",
        "x10-6cm/dyn", "x10-6cm/dyne", "x10^-6cm/dyn", "x10^-6cm/dyne",
    ),
    "µm": ("µm", "um", "micron", "microns", "micrometre", "micrometres"),
    "mh": ("mh", "millihenry", "millihenries"),
    "pf": ("pf", "picofarad", "picofarads"),
    "kω": ("kω", "k", "kohm", "kohms", "kiloohm", "kilohm", "kilohms"),
    "mv": ("mv", "millivolt", "millivolts"),
    "turns": ("turn", "turns", "rev", "revs", "revolution", "revolutions"),
    "div": ("div", "divs", "division", "divisions"),
}  # fmt: skip # rows of a table

_OTHER: Final[dict[str, dict[str, float]]] = {
    "mm": {
        "in": MILLIMETRES_PER_INCH, "inch": MILLIMETRES_PER_INCH, "inches": MILLIMETRES_PER_INCH,
        '"': MILLIMETRES_PER_INCH, "″": MILLIMETRES_PER_INCH, "''": MILLIMETRES_PER_INCH,
        "cm": 10.0, "m": 1000.0, "µm": 0.001, "um": 0.001,
        "thou": MILLIMETRES_PER_INCH / 1000, "mil": MILLIMETRES_PER_INCH / 1000,
    },
    "mm/m": {"%": 10.0, "in/ft": 1000 / 12, "µm/m": 0.001},
    "mm/turn": {"in/turn": MILLIMETRES_PER_INCH, "µm/turn": 0.001},
    "gf": {
        "mn": 1 / MILLINEWTON_PER_GRAM_FORCE, "cn": 10 / MILLINEWTON_PER_GRAM_FORCE,
        "n": 1000 / MILLINEWTON_PER_GRAM_FORCE, "mg": 0.001, "oz": _GRAMS_PER_OUNCE,
    },
    "gf/turn": {"mn/turn": 1 / MILLINEWTON_PER_GRAM_FORCE},
    "g": {"mg": 0.001, "kg": 1000.0, "oz": _GRAMS_PER_OUNCE, "ounces": _GRAMS_PER_OUNCE},
    "°": {"rad": 180 / math.pi, "mrad": 0.18 / math.pi, "'": 1 / 60, "′": 1 / 60},
    "rpm": {"hz": 60.0, "rps": 60.0},
    "%": {"‰": 0.1},
    "hz": {"khz": 1000.0, "rpm": 1 / 60},
    "s": {"ms": 0.001, "min": 60.0},
    "min": {"s": 1 / 60, "sec": 1 / 60, "h": 60.0},
    "h": {"min": 1 / 60, "d": 24.0, "days": 24.0},
    "µm/mn": {"µm/n": 0.001, "mm/mn": 1000.0},
    "µm": {"mm": 1000.0, "in": MILLIMETRES_PER_INCH * 1000, "thou": MILLIMETRES_PER_INCH},
    "mh": {"h": 1000.0, "µh": 0.001, "uh": 0.001},
    "pf": {"nf": 1000.0, "µf": 1e6, "uf": 1e6},
    "kω": {"ω": 0.001, "ohm": 0.001, "ohms": 0.001, "mω": 1000.0, "mohm": 1000.0},
    "mv": {"v": 1000.0, "µv": 0.001, "uv": 0.001},
    "turns": {"°": 1 / 360, "deg": 1 / 360, "degrees": 1 / 360},
}  # fmt: skip # rows of a table

_SLIPS: Final = {"mm": "in", "gf": "mn", "µm": "mm"}
"""For a unit: the other unit most often meant when a bare number makes no sense."""

_PRINTED: Final[dict[str, str]] = {
    "mn": "mN", "cn": "cN", "n": "N", "hz": "Hz", "khz": "kHz", "mω": "MΩ", "ω": "Ω", "nf": "nF",
    "µf": "µF", "uf": "µF", "h": "h", "µh": "µH", "uh": "µH", "v": "V", "µv": "µV", "uv": "µV",
    "um": "µm", "″": "in", '"': "in", "''": "in", "inch": "in", "inches": "in",
    "mn/turn": "mN/turn",
    "ohm": "Ω", "ohms": "Ω", "mohm": "MΩ", "µm/n": "µm/N", "mm/mn": "mm/mN", "ounces": "oz",
    "sec": "s", "deg": "°", "degrees": "°", "′": "′", "'": "′",
}  # fmt: skip # rows of a table


def folded(words: str) -> str:
    """Return a unit as the tables here write it: no spaces, lower case, one kind of micro sign."""
    plain = "".join(words.split()).replace("μ", "µ").replace("Ω", "Ω").lower()
    for times in ("×", "·", "*"):
        plain = plain.replace(times, "x")
    return plain.replace("⁻⁶", "-6").replace("−", "-").removesuffix(".")


def is_own(words: str, unit: Unit) -> bool:
    """Whether the words name the unit itself."""
    own = folded(unit.symbol)
    return folded(words) in (*_SAME.get(own, ()), own, folded(unit.spoken))


def converted(value: float, words: str, unit: Unit) -> tuple[float, str] | None:
    """Convert a value read in another unit; None if the other unit is unknown here.

    Returns
    -------
    tuple of float and str
        The value in ``unit`` and the other unit as it is printed.
    """
    other = folded(words)
    if unit.symbol == "mm/m" and is_own(other, _DEGREES):
        if abs(value) >= 90:
            return None
        return 1000 * math.tan(math.radians(value)), "°"
    factor = _OTHER.get(folded(unit.symbol), {}).get(other)
    if factor is None:
        return None
    henry = unit.symbol == "mH" and other == "h"  # an h elsewhere is an hour
    return value * factor, "H" if henry else printed(other)


def printed(words: str) -> str:
    """Return a unit as it is printed."""
    other = folded(words)
    return _PRINTED.get(other, other)


def likely_slip(value: float, unit: Unit) -> tuple[float, str, str] | None:
    """Return what a bare number would be if another unit was meant, or None.

    Returns
    -------
    tuple of float, str and str
        The value in ``unit``, the other unit as printed, and as the templates name it.
    """
    other = _SLIPS.get(folded(unit.symbol))
    changed = converted(value, other, unit) if other is not None else None
    return None if changed is None or other is None else (*changed, other)


_DEGREES: Final = Unit("°", 2, 0.1, "degrees")
