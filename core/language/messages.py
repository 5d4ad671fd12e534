"""What is said, as data: the key of a template and the values for its places.

A judge returns messages; :meth:`core.language.numbers.Numbers.text` makes sentences of them at
the end, from whole templates in resources/messages. Nothing reads a sentence back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite
from typing import Final, Literal

from core.records import Choice

_MANY_TOLERANCES: Final = 10.0
_SOME_TOLERANCES: Final = 3.0


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit: ``1.75 gf``; ``signed`` adds a plus, ``short`` drops zeros."""

    value: float
    unit: str = ""
    decimals: int | None = None
    form: Literal["plain", "signed", "short"] = "plain"


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with half of its 95 % interval: ``2.00 ± 0.03 gf``."""

    value: float
    half_width: float
    unit: str
    decimals: int = 2


@dataclass(frozen=True, slots=True)
class Expectation:
    """A foretold value: its interval is written only where a person can use it."""

    value: float
    half_width: float
    unit: str
    decimals: int = 2
    tolerance: float = 1.0

    @property
    def is_rough(self) -> bool:
        """Whether half the interval is so wide that no person can use it.

        That is many tolerances, or wider than the value itself and still some tolerances.
        """
        half = self.half_width
        if not isfinite(half) or half > _MANY_TOLERANCES * self.tolerance:
            return True
        return half >= abs(self.value) and half > _SOME_TOLERANCES * self.tolerance


@dataclass(frozen=True, slots=True)
class Turns:
    """The size of a turn of a knob or screw: ``1 ⅜ turns``, ``0.19 turn (68°)``."""

    turns: float


@dataclass(frozen=True, slots=True)
class Eighths:
    """The size of a turn rounded to eighths: ``less than ⅛ turn``, ``1 ⅜ turns``."""

    turns: float


@dataclass(frozen=True, slots=True)
class Force:
    """A downforce in both units: ``2.00 gf (19.6 mN)``."""

    grams_force: float
    decimals: int = 2


@dataclass(frozen=True, slots=True)
class Name:
    """Words of a person or of a document, shown as they are: the name of a foot or a deck."""

    text: str


@dataclass(frozen=True, slots=True)
class Label:
    """Words that stand in a model: the title of a field or of a way of reading."""

    text: str


@dataclass(frozen=True, slots=True)
class Series:
    """Several values in one enumeration: ``a, b and c``; with ``;`` a list: ``a; b; c``."""

    items: tuple[Value, ...]
    last: Literal["and", "or", ";", ","] = "and"


@dataclass(frozen=True, slots=True)
class Sentences:
    """Whole sentences that follow each other."""

    items: tuple[Message, ...]


@dataclass(frozen=True, slots=True)
class StepTitle:
    """The title of a step in the language of the screen."""

    step: str


@dataclass(frozen=True, slots=True)
class Message:
    """A key of the catalogue and the values for the places of its template.

    A plain string among the values chooses between the variants of a template (``side="left"``)
    and is never shown. A whole number is written as it is and chooses the plural. ``short`` is
    said in its place where the sentence is too long for a headline.
    """

    key: str
    values: Mapping[str, Value] = field(default_factory=dict, hash=False)
    short: Message | None = None


Value = (
    Quantity
    | Interval
    | Expectation
    | Turns
    | Eighths
    | Force
    | Name
    | Label
    | Series
    | Sentences
    | StepTitle
    | Message
    | Choice
    | int
    | str
)
"""What may stand in a place of a template."""

Text = Message | str
"""Something to be shown: a message, or words of a person that are shown as they are."""


def message(key: str, /, **values: Value) -> Message:
    """Return a message; the keywords are the places of its template."""
    return Message(key, values)


def shown(text: Text | StepTitle) -> Message | Name | StepTitle:
    """Return something to be shown as a value; a person's own words stay as they are."""
    return Name(text) if isinstance(text, str) else text


def stored(key: str) -> Message:
    """Return the message of a key that the log holds."""
    return Message(key)
