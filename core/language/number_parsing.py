"""Numbers as people type them: comma or point, spaces, a unit behind, never a guess.

A reader here returns either a value with the words that say how it was understood, or one
sentence that says what is wrong and what to type instead. The text itself is never changed.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

from core.language.messages import Message, Name, message
from core.language.numbers import JOINER, Numbers, suffix
from core.language.unit_conversion import converted, is_own, likely_slip
from core.records import COUNT, NUMBER, RPM, FieldSpec, Limits, Unit

_MINUS_SIGNS: Final = "−–—‐‑‒﹣－"
_SIGN_AND_NUMBER: Final = re.compile(
    r"\s*([+-]?)\s*([0-9.,'’ ]*[0-9.,]|[0-9.,]?)\s*(.*)", re.DOTALL
)
_GROUPED: Final = re.compile(r"[0-9]{1,3}(?:[ '’][0-9]{3})+(?:[.,][0-9]*)?")
_FRACTION: Final = re.compile(r"\s*([+-]?)\s*(?:([0-9]+)\s+)?([0-9]+)\s*/\s*([0-9]+)\s*(\D*)")
_FRACTION_SIGNS: Final = {
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
    "⅓": "1/3",
    "⅔": "2/3",
}
_LONGEST_SHOWN: Final = 24
_MEANT_BY_EMPTY: Final = re.compile(r"\bempty\b(?! if unknown)", re.IGNORECASE)
"""A help that says what an empty field means; beside that, *not known* would be wrong."""

_NEAR_A_THIRD: Final = 5e-4

_SIX_DECIMALS: Final = 3e-6

_ROUNDED_BY: Final = 0.003
"""Most that rounding may change a converted value, as a share of it."""


@dataclass(frozen=True, slots=True)
class Meant:
    """What a typed number is if it was read in another unit.

    `value` is in the field's own unit, rounded as `told` shows it: ``2.00 gf``. `said` is the same
    in the other unit: ``19.6 mN``.
    """

    value: float
    said: str
    told: str


@dataclass(frozen=True, slots=True)
class Typed:
    """What one typed number was understood as.

    `value` is in the field's own unit, None when there is a problem or nothing was typed;
    `understood` is the same with its unit: ``1.75 gf``. `problem` and `question` are one sentence
    or empty: what is wrong, and that the value is possible but unlikely. `may_grow` tells that more
    typing could mend the problem. `meant` is the number read in the unit that problem or question
    names. `stop` is why the stylus stays up, where so high a number may be what is there.
    """

    value: float | None
    understood: str = ""
    problem: str = ""
    question: str = ""
    may_grow: bool = False
    meant: Meant | None = None
    stop: Message | None = None


@dataclass(frozen=True, slots=True)
class TypedList:
    """What several numbers with semicolons between were understood as; `pieces`: each as typed."""

    values: tuple[float, ...] | None
    understood: str = ""
    problem: str = ""
    question: str = ""
    may_grow: bool = False
    pieces: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Bare:
    """A number found in a text before its limits are looked at."""

    value: float = 0.0
    words: str = ""
    problem: str = ""
    thousand: float | None = None
    may_grow: bool = False


def read_number(text: str, spec: FieldSpec, numbers: Numbers) -> Typed:
    """Read one number for a field; both decimal signs are read in any country."""
    unit = spec.unit or NUMBER
    tidy = _tidied(text)
    if not tidy:
        return _nothing_typed(spec, unit, numbers)
    bare = _number_in(tidy, spec, unit, numbers)
    if bare.problem:
        return Typed(None, problem=bare.problem, may_grow=bare.may_grow)
    if bare.words and not is_own(bare.words, unit):
        problem, meant = _other_unit(bare, spec, unit, numbers)
        return Typed(None, problem=problem, meant=meant)
    return _judged(bare, spec, unit, numbers)


def read_whole(text: str, spec: FieldSpec, numbers: Numbers) -> Typed:
    """Read a whole number; ``3.0`` is one, ``3.5`` is refused."""
    unit = spec.unit or COUNT
    typed = read_number(text, spec, numbers)
    if typed.value is not None and typed.value != round(typed.value):
        below = numbers.plain(float(int(typed.value)), 0)
        return Typed(
            None,
            problem=numbers.text(
                message(
                    "typing.whole_numbers",
                    field=_named(spec),
                    value=Name(_short(typed.value, numbers)),
                    below=Name(below),
                )
            ),
        )
    if typed.value is None:
        return typed
    return Typed(typed.value, numbers.unit(typed.value, unit.symbol, 0), "", typed.question)


def read_numbers(text: str, spec: FieldSpec, numbers: Numbers) -> TypedList:
    """Read several numbers with semicolons (or new lines) between them."""
    if not text.strip():
        if spec.optional or spec.default == ():  # none at all is an answer
            return TypedList((), understood=numbers.text(message("typing.none")))
        example = f"{numbers.plain(33.3, 1)}; 45"
        return TypedList(
            None,
            problem=numbers.text(
                message("typing.numbers_wanted", field=_named(spec), example=Name(example))
            ),
            may_grow=True,
        )
    values: list[float] = []
    questions: list[str] = []
    pieces = [piece for piece in re.split(r"[;\n]", text) if piece.strip()]
    for place, piece in enumerate(pieces, start=1):
        typed = read_number(piece, spec, numbers)
        if typed.value is None:
            return TypedList(
                None,
                problem=_of_several(typed.problem, piece, place, len(pieces), spec, numbers),
                may_grow=typed.may_grow,
            )
        values.append(typed.value)
        if typed.question:
            questions.append(typed.question)
    if not values:
        return TypedList(
            None,
            problem=numbers.text(message("typing.one_at_least", field=_named(spec))),
            may_grow=True,
        )
    unit = spec.unit or NUMBER
    said = "; ".join(
        (unit is RPM and _with_third(value)) or _short(value, numbers) for value in values
    )
    question = questions[0] if questions else ""
    texts = tuple(piece.strip() for piece in pieces)
    return TypedList(tuple(values), said + _symbol(unit), "", question, pieces=texts)


def _of_several(
    problem: str, piece: str, place: int, count: int, spec: FieldSpec, numbers: Numbers
) -> str:
    """Say which of several numbers is wrong, or that they run into each other."""
    if re.search(r"\d\s*[,\s]\s+\d|\d\s+\d", piece):
        return numbers.text(
            message("typing.runs_together", field=_named(spec), typed=Name(_cut(piece.strip())))
        )
    told = problem or numbers.text(message("typing.needs_one", field=_named(spec)))
    if count == 1:
        return told
    several = message("typing.one_of_several", place=place, count=count, problem=Name(told))
    return numbers.text(several)


def as_typed(value: float, numbers: Numbers, unit: Unit | None = None) -> str:
    """Write a value as a person would type it: all its digits, no unit, no grouping.

    A speed of 33⅓ is written so, even if it was kept to six decimals only: who shows it keeps the
    value as long as the text stays.
    """
    if unit is RPM and abs(3.0 * value - round(3.0 * value)) < _SIX_DECIMALS:
        third = _with_third(value)
        if third:
            return third
    text = f"{value:.10f}".rstrip("0").rstrip(".")
    if text in ("", "-0"):
        text = "0"
    if float(text) != value and abs(float(text) - value) > 1e-9 * max(1.0, abs(value)):
        text = repr(value)
    return text.replace(".", numbers.decimal).replace("-", "−")


def _tidied(text: str) -> str:
    out = []
    for char in text.strip():
        if char in _MINUS_SIGNS:
            out.append("-")
        elif char.isspace():
            out.append(" ")
        elif unicodedata.category(char) == "Nd":
            out.append(str(unicodedata.decimal(char)))
        elif char == "٫":
            out.append(".")
        elif char != JOINER:
            out.append(char)
    return "".join(out).strip()


def _number_in(text: str, spec: FieldSpec, unit: Unit, numbers: Numbers) -> _Bare:
    if any(sign in text for sign in _FRACTION_SIGNS) or _FRACTION.fullmatch(text):
        return _fraction_in(text, spec, unit, numbers)
    match = _SIGN_AND_NUMBER.fullmatch(text)
    sign, digits, words = match.groups() if match else ("", "", text)
    digits, words = digits.strip(), words.strip()
    problem = ""
    may_grow = False
    if not digits or not any(char.isdigit() for char in digits):
        may_grow = not words
        problem = (
            numbers.text(message("typing.not_finished", field=_named(spec)))
            if not words
            else numbers.text(
                message(
                    "typing.not_a_number",
                    has="unit" if unit.spoken else "none",
                    field=_named(spec),
                    unit=Name(unit.spoken),
                    typed=Name(_cut(text)),
                )
            )
        )
    elif "." in digits and "," in digits:
        example = numbers.plain(1234.5, 1)
        problem = numbers.text(
            message(
                "typing.point_and_comma",
                field=_named(spec),
                typed=Name(_cut(text)),
                example=Name(example),
            )
        )
    elif digits.count(".") > 1 or digits.count(",") > 1:
        problem = numbers.text(
            message("typing.several_signs", field=_named(spec), typed=Name(_cut(text)))
        )
    elif any(char in digits for char in " '’") and not _GROUPED.fullmatch(digits):
        problem = numbers.text(
            message("typing.two_numbers", field=_named(spec), typed=Name(_cut(text)))
        )
    elif words[:1] in ("+", "-"):
        problem = numbers.text(message("typing.a_sum", field=_named(spec), typed=Name(_cut(text))))
    elif len(digits) > _LONGEST_SHOWN:
        problem = numbers.text(message("typing.too_long", field=_named(spec)))
    if problem:
        return _Bare(problem=problem, may_grow=may_grow)
    plain = re.sub("[ '’]", "", digits).replace(",", ".")
    value = float(plain) * (-1.0 if sign == "-" else 1.0)
    return _Bare(value, words, thousand=_as_thousands(plain, value))


def _fraction_in(text: str, spec: FieldSpec, unit: Unit, numbers: Numbers) -> _Bare:
    plain = text
    for sign, words in _FRACTION_SIGNS.items():
        plain = plain.replace(sign, f" {words}")
    match = _FRACTION.fullmatch(plain.strip())
    if match is None or int(match[4]) == 0:
        return _Bare(
            problem=numbers.text(
                message(
                    "typing.not_a_number",
                    has="unit" if unit.spoken else "none",
                    field=_named(spec),
                    unit=Name(unit.spoken),
                    typed=Name(_cut(text)),
                )
            )
        )
    value = int(match[2] or 0) + int(match[3]) / int(match[4])
    if match[1] == "-":
        value = -value
    if unit.symbol != "turns" and unit is not RPM:
        return _Bare(
            problem=numbers.text(
                message(
                    "typing.no_fraction", field=_named(spec), value=Name(_short(value, numbers))
                )
            )
        )
    return _Bare(value, match[5].strip())


def _as_thousands(plain: str, value: float) -> float | None:
    """Return the value a thousands reading would give, when the text could be one."""
    whole, _, part = plain.partition(".")
    could_be = len(part) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0")
    return value * 1000 if could_be else None


def _nothing_typed(spec: FieldSpec, unit: Unit, numbers: Numbers) -> Typed:
    if spec.optional:
        unknown = numbers.text(message("typing.not_known"))
        return Typed(None, understood="" if _MEANT_BY_EMPTY.search(spec.help) else unknown)
    has, usual = "unit" if unit.spoken else "neither", ""
    if not spec.required and isinstance(spec.default, (int, float)):
        has = "both" if unit.spoken else "usual"
        usual = f"{numbers.short(float(spec.default))}{_symbol(unit)}"
    problem = message(
        "typing.missing",
        has=has,
        field=_named(spec),
        unit=Name(unit.spoken),
        usual=Name(usual),
    )
    return Typed(None, problem=numbers.text(problem), may_grow=True)


def _other_unit(
    bare: _Bare, spec: FieldSpec, unit: Unit, numbers: Numbers
) -> tuple[str, Meant | None]:
    """Return what to say of a number with another unit, and what it is in the field's own."""
    known = converted(bare.value, bare.words, unit)
    if known is None:
        unknown = message(
            "typing.unknown_unit",
            has="unit" if unit.spoken else "none",
            field=_named(spec),
            unit=Name(unit.spoken),
            typed=Name(_cut(bare.words)),
        )
        return numbers.text(unknown), None
    value, other = known
    if spec.directions and value < 0.0:
        return _with_a_sign(spec, value, unit, numbers), None
    meant = _meant(bare.value, value, other, unit, numbers)
    told = message(
        "typing.other_unit",
        field=_named(spec),
        unit=Name(unit.spoken),
        said=Name(meant.said),
        value=Name(meant.told),
    )
    limits = spec.limits
    is_allowed = limits is None or limits.low <= meant.value <= limits.high
    return numbers.text(told), meant if is_allowed else None


def _judged(bare: _Bare, spec: FieldSpec, unit: Unit, numbers: Numbers) -> Typed:
    value, limits = bare.value, spec.limits
    understood = _exact(value, unit, numbers)
    if limits is None:
        return Typed(value, understood, question=_thousands_question(bare, None, unit, numbers))
    if spec.directions and value < 0.0:
        return Typed(None, problem=_with_a_sign(spec, value, unit, numbers))
    if not limits.low <= value <= limits.high:
        problem, meant = _outside(value, spec, limits, unit, numbers)
        return Typed(
            None,
            problem=problem,
            may_grow=abs(value) < max(abs(limits.low), abs(limits.high))
            and not (value < 0 <= limits.low),
            meant=meant,
            stop=_beyond(limits) if value > limits.high and limits.stops_beyond else None,
        )
    meant = None
    question = _thousands_question(bare, limits, unit, numbers)
    if limits.usual and not limits.usual[0] <= value <= limits.usual[1]:
        low, high = limits.usual
        question = numbers.text(
            message(
                "typing.unusual",
                field=_named(spec),
                value=Name(understood),
                low=Name(_short(low, numbers)),
                high=Name(f"{_short(high, numbers)}{_symbol(unit)}"),
            )
        )
        slip, meant = _slip(value, limits.usual, unit, numbers)
        question += slip
    return Typed(value, understood, question=question, meant=meant)


def _outside(
    value: float, spec: FieldSpec, limits: Limits, unit: Unit, numbers: Numbers
) -> tuple[str, Meant | None]:
    """Return what to say of a number beyond its limits, and what it is in a unit likely meant."""
    allowed = message(
        "typing.range",
        low=Name(_short(limits.low, numbers)),
        high=Name(f"{_short(limits.high, numbers)}{_symbol(unit)}"),
    )
    if value < 0 <= limits.low and limits.below:
        shown = Name(_exact(value, unit, numbers))
        told = message("typing.below", reads=limits.below, field=_named(spec), value=shown)
        return numbers.text(told), None
    if value < 0 <= limits.low:
        negative = message("typing.negative", field=_named(spec), allowed=allowed)
        return numbers.text(negative), None
    outside = message(
        "typing.outside",
        side="less" if value < limits.low else "more",
        field=_named(spec),
        value=Name(_exact(value, unit, numbers)),
        allowed=allowed,
    )
    slip, meant = _slip(value, limits.usual or (limits.low, limits.high), unit, numbers)
    if value > limits.high and limits.beyond:
        slip += f" {numbers.text(_beyond(limits))}"
    return numbers.text(outside) + slip, meant


def _beyond(limits: Limits) -> Message:
    """Say what an instrument that shows more than the limits means."""
    return message("typing.beyond", reads=limits.beyond)


def _with_a_sign(spec: FieldSpec, value: float, unit: Unit, numbers: Numbers) -> str:
    """Say that a direction is chosen in words, and what to type."""
    amount = _exact(-value, unit, numbers)
    ways = spec.directions
    if ways is None:
        return numbers.text(message("typing.no_minus", field=_named(spec), amount=Name(amount)))
    return numbers.text(
        message(
            "typing.no_minus_but_words",
            field=_named(spec),
            amount=Name(amount),
            plus=Name(ways.plus),
            minus=Name(ways.minus),
        )
    )


def _slip(
    value: float, plausible: tuple[float, float], unit: Unit, numbers: Numbers
) -> tuple[str, Meant | None]:
    """Return what to say of another unit that was likely meant, and the number in it."""
    slip = likely_slip(value, unit)
    if slip is None or not plausible[0] <= slip[0] <= plausible[1]:
        return "", None
    changed, other, key = slip
    meant = _meant(value, changed, other, unit, numbers)
    told = message("typing.slip", unit=key, said=Name(meant.said), value=Name(meant.told))
    return f" {numbers.text(told)}", meant


def _meant(value: float, changed: float, other: str, unit: Unit, numbers: Numbers) -> Meant:
    """Return a value in another unit as it is shown, ``changed`` being the same in the own unit."""
    rounded = round(changed, _decimals_converted(changed, unit))
    said = _short(value, numbers) + suffix(other)
    return Meant(rounded, said, _converted(changed, unit, numbers))


def _thousands_question(bare: _Bare, limits: Limits | None, unit: Unit, numbers: Numbers) -> str:
    if bare.thousand is None:
        return ""
    if limits is not None and not limits.low <= bare.thousand <= limits.high:
        return ""
    value = Name(f"{_short(bare.value, numbers)}{_symbol(unit)}")
    thousand = Name(_short(bare.thousand, numbers))
    return numbers.text(message("typing.thousands", value=value, thousand=thousand))


def _named(spec: FieldSpec) -> Name:
    return Name(spec.label)


def _symbol(unit: Unit) -> str:
    return suffix(unit.symbol)


def _short(value: float, numbers: Numbers) -> str:
    return numbers.short(value, 6 if abs(value) < 1 else 4)


def _converted(value: float, unit: Unit, numbers: Numbers) -> str:
    """Write a value that comes from another unit as finely as anybody reads it."""
    return numbers.plain(value, _decimals_converted(value, unit)) + _symbol(unit)


def _decimals_converted(value: float, unit: Unit) -> int:
    """Return the unit's own decimals, or so many more that rounding changes little."""
    decimals = unit.decimals
    while decimals < 6 and abs(round(value, decimals) - value) > _ROUNDED_BY * abs(value):
        decimals += 1
    return decimals


def _exact(value: float, unit: Unit, numbers: Numbers) -> str:
    """Write a value to the unit's own decimals, or more where the value has more, without zeros.

    ``1,000 turns`` for one turn would be read as a thousand.
    """
    if not unit.symbol:
        return _short(value, numbers)
    if unit is RPM and _with_third(value):
        return _with_third(value) + _symbol(unit)
    decimals = unit.decimals
    while decimals < 6 and abs(round(value, decimals) - value) > 0.5 * 10.0 ** -(unit.decimals + 2):
        decimals += 1
    return numbers.short(value, decimals) + _symbol(unit)


def _with_third(value: float) -> str:
    """Write a value that is whole but for a third as ``33⅓``; nothing for any other."""
    thirds = round(3.0 * value)
    if value < 0 or thirds % 3 == 0 or abs(value - thirds / 3.0) > _NEAR_A_THIRD:
        return ""
    return f"{thirds // 3}{'⅓' if thirds % 3 == 1 else '⅔'}"


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 1] + "…"
