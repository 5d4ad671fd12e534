"""Units, constants and the annotated number types that every field of every form is made of.

A field says what it is by its type: ``Annotated[Millimetres, Limits(150, 400)]`` carries the unit,
how many decimals are worth showing, the step of the arrow keys, what is impossible (refused) and
what is merely unlikely (questioned). The same limits hold for a form, a document and a program.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Annotated, Any, Final, Self

from pydantic import AfterValidator, GetCoreSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

STANDARD_GRAVITY_M_PER_S2: Final = 9.80665
"""Exact: 3rd CGPM, 1901."""

MILLINEWTON_PER_GRAM_FORCE: Final = STANDARD_GRAVITY_M_PER_S2
"""1 gf is the weight of 1 g under standard gravity: 9.80665 mN, exact."""

MILLIMETRES_PER_INCH: Final = 25.4
"""Exact: international inch, 1959."""


class Choice(StrEnum):
    """An enumeration whose members carry the words a person reads.

    Members are written ``NAME = "stored value", "words on the screen"``.
    """

    label: str

    def __new__(cls, value: str, label: str = "") -> Self:
        """Keep the stored value as the string itself and the words beside it."""
        member = str.__new__(cls, value)
        member._value_ = value
        member.label = label or value
        return member

    @property
    def names_its_field(self) -> bool:
        """Whether its words say what they are of, without the title of the field."""
        return False


@dataclass(frozen=True, slots=True)
class Unit:
    """How a number of one kind is written.

    `symbol` stands behind the number; `decimals` are shown; one press of an arrow key adds `step`;
    `spoken` is the unit in words, for sentences and screen readers.
    """

    symbol: str
    decimals: int
    step: float
    spoken: str


@dataclass(frozen=True, slots=True)
class Limits:
    """What a number may be: refused outside ``low`` to ``high``, questioned outside ``usual``.

    Both ends belong to the range. Works as pydantic metadata: a model refuses the same values,
    with the same sentence, as the form that edits it. ``remembered``: a form keeps it from one
    reading to the next, as a distance that is measured once. ``beyond`` and ``below`` name what is
    said of a number above and below them that the instrument may well show (``typing.beyond``);
    with ``stops_beyond`` a number above them keeps the stylus up.
    """

    low: float
    high: float
    usual: tuple[float, float] | None = None
    remembered: bool = False
    beyond: str = ""
    below: str = ""
    stops_beyond: bool = False

    def __get_pydantic_core_schema__(
        self, source: type[Any], handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Refuse what is not a finite number inside the limits."""

        def check(value: float | None) -> float | None:
            if value is None:
                return None
            if not math.isfinite(value):
                raise PydanticCustomError("not_a_number", "must be a number")
            if not self.low <= value <= self.high:
                raise PydanticCustomError(
                    "outside_limits",
                    "must lie between {low} and {high}",
                    {"low": f"{self.low:g}", "high": f"{self.high:g}"},
                )
            return value

        return core_schema.no_info_after_validator_function(check, handler(source))


@dataclass(frozen=True, slots=True)
class When:
    """The field matters only while another field of the same model has one of these values.

    Without values, while there is anything in the other field at all.
    """

    field: str
    values: tuple[object, ...] = ()

    def holds(self, value: object) -> bool:
        """Whether the field matters with this value in the other one."""
        return value in self.values if self.values else bool(value)


@dataclass(frozen=True, slots=True)
class ReadAnew:
    """A form asks for the field before each reading, and begins without an answer.

    The default of the model is for entries that were stored without the field.
    """


@dataclass(frozen=True, slots=True)
class NotAsked:
    """No form shows the field: the program fills it in."""


@dataclass(frozen=True, slots=True)
class OnCalendar:
    """The text of the field is a day of the calendar: a form reads it as people write days."""


@dataclass(frozen=True, slots=True)
class Directions:
    """What plus and minus of a field mean, in words: a form asks for them, no sign is typed.

    The words go on after the amount (``1.2 mm`` *beyond the mark*); the model keeps the sign.
    """

    plus: str
    minus: str


MM = Unit("mm", 2, 0.1, "millimetres")
MM_PER_M = Unit("mm/m", 2, 0.1, "millimetres per metre")
MM_PER_TURN = Unit("mm/turn", 3, 0.05, "millimetres per turn")
GF = Unit("gf", 2, 0.01, "grams-force")
GF_PER_TURN = Unit("gf/turn", 3, 0.01, "grams-force per turn")
GRAM = Unit("g", 2, 0.1, "grams")
DEG = Unit("°", 2, 0.1, "degrees")
RPM = Unit("rpm", 3, 0.01, "revolutions per minute")
RPM_PER_TURN = Unit("rpm/turn", 3, 0.01, "revolutions per minute per turn")
PERCENT = Unit("%", 2, 0.05, "percent")
HZ = Unit("Hz", 2, 1.0, "hertz")
DB = Unit("dB", 2, 0.1, "decibels")
SECOND = Unit("s", 2, 0.1, "seconds")
MINUTE = Unit("min", 0, 1.0, "minutes")
HOUR = Unit("h", 0, 10.0, "hours")
HOUR_PER_WEEK = Unit("h/week", 1, 1.0, "hours a week")
COMPLIANCE = Unit("µm/mN", 1, 1.0, "micrometres per millinewton")
MICROMETRE = Unit("µm", 1, 1.0, "micrometres")
MILLIHENRY = Unit("mH", 0, 10.0, "millihenries")
PICOFARAD = Unit("pF", 0, 10.0, "picofarads")
KILOHM = Unit("kΩ", 1, 1.0, "kilohms")
OHM = Unit("Ω", 0, 10.0, "ohms")
MILLIVOLT = Unit("mV", 2, 0.1, "millivolts")
TURN = Unit("turns", 3, 0.125, "turns")
DIVISION = Unit("div", 2, 0.25, "divisions")
COUNT = Unit("", 0, 1.0, "")
NUMBER = Unit("", 3, 0.1, "")

UNITS: Final[dict[str, Unit]] = {
    unit.symbol: unit
    for unit in (
        MM, MM_PER_M, MM_PER_TURN, GF, GF_PER_TURN, GRAM, DEG, RPM, RPM_PER_TURN, PERCENT, HZ, DB,
        SECOND, MINUTE, HOUR, HOUR_PER_WEEK, COMPLIANCE, MICROMETRE, MILLIHENRY, PICOFARAD, KILOHM,
        OHM, MILLIVOLT, TURN, DIVISION,
    )
}  # fmt: skip # rows of a table

Millimetres = Annotated[float, MM]
MillimetresPerMetre = Annotated[float, MM_PER_M]
MillimetresPerTurn = Annotated[float, MM_PER_TURN]
GramsForce = Annotated[float, GF]
GramsForcePerTurn = Annotated[float, GF_PER_TURN]
Grams = Annotated[float, GRAM]
Degrees = Annotated[float, DEG]
RevolutionsPerMinute = Annotated[float, RPM]
RpmPerTurn = Annotated[float, RPM_PER_TURN]
Percent = Annotated[float, PERCENT]
Hertz = Annotated[float, HZ]
Decibels = Annotated[float, DB]
Seconds = Annotated[float, SECOND]
Minutes = Annotated[float, MINUTE]
Hours = Annotated[float, HOUR]
HoursPerWeek = Annotated[float, HOUR_PER_WEEK]
MicrometresPerMillinewton = Annotated[float, COMPLIANCE]
Millihenries = Annotated[float, MILLIHENRY]
Picofarads = Annotated[float, PICOFARAD]
Kilohms = Annotated[float, KILOHM]
Ohms = Annotated[float, OHM]
Millivolts = Annotated[float, MILLIVOLT]
Divisions = Annotated[float, DIVISION]
Count = Annotated[int, COUNT]
PlainNumber = Annotated[float, NUMBER]

_DAY: Final = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")


def _a_day(said: str) -> str:
    found = _DAY.fullmatch(said)
    if said and found is None:
        raise PydanticCustomError("not_a_day", "must be a day such as 2026-03-01")
    try:
        return date(*map(int, found.groups())).isoformat() if found else ""
    except ValueError:
        raise PydanticCustomError("not_a_day", "must be a day of the calendar") from None


Day = Annotated[str, AfterValidator(_a_day), OnCalendar()]
"""A day of the calendar as ISO 8601 writes it, ``2026-03-01``; empty if there is none."""
