"""Numbers as people type them: understood or refused, never guessed, never changed."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.language import (
    JOINER,
    NO_BREAK,
    Numbers,
    as_typed,
    converted,
    is_own,
    read_whole,
)
from core.language import read_number as read_number_as_said
from core.language import read_numbers as read_numbers_as_said
from core.language.number_parsing import Typed, TypedList
from core.records import (
    COUNT,
    GF,
    MILLIHENRY,
    MM,
    MM_PER_M,
    NUMBER,
    RPM,
    TURN,
    UNITS,
    FieldKind,
    FieldSpec,
    Limits,
    Unit,
)

POINT, COMMA = Numbers("."), Numbers(",")


def plain(words: str) -> str:
    return words.replace(NO_BREAK, " ").replace(JOINER, "")


def read_number(text: str, field: FieldSpec, numbers: Numbers) -> Typed:
    """Read a number; what is said of it has plain spaces."""
    typed = read_number_as_said(text, field, numbers)
    meant = typed.meant and replace(
        typed.meant, said=plain(typed.meant.said), told=plain(typed.meant.told)
    )
    return replace(
        typed,
        understood=plain(typed.understood),
        problem=plain(typed.problem),
        question=plain(typed.question),
        meant=meant,
    )


def read_numbers(text: str, field: FieldSpec, numbers: Numbers) -> TypedList:
    typed = read_numbers_as_said(text, field, numbers)
    return replace(typed, understood=plain(typed.understood), problem=plain(typed.problem))


def spec(
    unit: Unit = MM,
    limits: Limits | None = None,
    *,
    optional: bool = False,
    required: bool = True,
    default: float | None = None,
    kind: FieldKind = FieldKind.NUMBER,
    hint: str = "",
) -> FieldSpec:
    return FieldSpec(
        "field", "Height in front", hint, kind, required, optional, default, unit, limits
    )


HEIGHT = spec(MM, Limits(5, 40, usual=(12, 24)))
FORCE = spec(GF, Limits(0, 12, usual=(0.7, 5)))
TURNS = spec(TURN, Limits(-20, 20))


@pytest.mark.parametrize("numbers", [POINT, COMMA], ids=["point", "comma"])
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("17.5", 17.5),
        ("17,5", 17.5),
        (" 17.5 ", 17.5),
        ("17.5 mm", 17.5),
        ("17,5mm", 17.5),
        ("17.5 Millimetres", 17.5),
        ("+17.5", 17.5),
        ("17.", 17.0),
        ("017.5", 17.5),
        ("17\u00a0mm", 17.0),
        ("１７", 17.0),
        ("٢٠", 20.0),
    ],
)
def test_both_decimal_signs_and_the_own_unit_are_read_in_any_country(
    text: str, value: float, numbers: Numbers
) -> None:
    typed = read_number(text, HEIGHT, numbers)
    assert typed.value == value
    assert typed.problem == ""
    said = str(value).removesuffix(".0").replace(".", numbers.decimal)
    assert typed.understood == f"{said} mm"


@pytest.mark.parametrize("minus", ["-", "−", "–", "-\u00a0", "－"])
def test_every_minus_sign_counts(minus: str) -> None:
    assert read_number(f"{minus}1,5", TURNS, POINT).value == -1.5


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("1.234,5", "both a point and a comma"),
        ("1,234.5", "both a point and a comma"),
        ("1.2.3", "more than one decimal sign"),
        ("1,2,3", "more than one decimal sign"),
        ("17 5", "two numbers"),
        ("17+2", "more than one number"),
        ("17-2", "more than one number"),
        ("seventeen", "needs a number in millimetres"),
        ("nan", "needs a number in millimetres"),
        ("inf", "needs a number in millimetres"),
        ("-Infinity", "needs a number in millimetres"),
        ("1e5", "not known here"),
        ("0x11", "not known here"),
        ("17 furlongs", "not known here"),
        ("17 1/2", "type 17.5 instead"),
        ("3/0", "is not one"),
        ("1" * 40, "too long"),
        ("\x00", "needs a number"),
        ("😀", "needs a number"),
        ("-3", "can't be negative"),
        ("1500", "is too large. Type 5 to 40 mm"),
    ],
)
def test_what_is_not_one_number_is_refused_with_the_fields_name(text: str, part: str) -> None:
    typed = read_number(text, HEIGHT, POINT)
    assert typed.value is None
    assert part in typed.problem
    assert "“Height in front”" in typed.problem


# Conversion factors: the inch is 25.4 mm exactly (international yard and pound agreement, 1959;
# memory) and 1 gf is 9.80665 mN exactly (CGPM 1901; seen, see core/records/quantities.py).
@pytest.mark.parametrize(
    ("text", "field", "said"),
    [
        ("0.7 in", HEIGHT, "0.7 in is 17.78 mm"),
        ('0.7"', HEIGHT, "0.7 in is 17.78 mm"),
        ("1.7 cm", HEIGHT, "1.7 cm is 17.00 mm"),
        ("19.6133 mN", FORCE, "19.6133 mN is 2.00 gf"),
        ("1 mN", FORCE, "1 mN is 0.102 gf"),
        ("17.6 mN", FORCE, "17.6 mN is 1.79 gf"),
        ("0.1°", spec(MM_PER_M, Limits(-50, 50)), "0.1° is 1.75 mm/m"),
        ("90°", TURNS, "90° is 0.250 turns"),
        ("0.5 H", spec(MILLIHENRY, Limits(0, 2000)), "0.5 H is 500 mH"),
    ],
)
def test_another_unit_is_refused_and_its_conversion_said(
    text: str, field: FieldSpec, said: str
) -> None:
    typed = read_number(text, field, POINT)
    assert typed.value is None
    assert said in typed.problem


def test_a_number_that_makes_sense_only_in_inches_is_asked_about() -> None:
    typed = read_number("0.7", HEIGHT, POINT)
    assert typed.value is None
    assert "If the ruler reads inches: 0.7 in is 17.78 mm." in typed.problem


def test_a_downforce_that_makes_sense_only_in_millinewtons_is_asked_about() -> None:
    typed = read_number("19,6", FORCE, COMMA)
    assert typed.value is None
    assert "If the scale shows millinewtons: 19,6 mN is 2,00 gf." in typed.problem


@pytest.mark.parametrize(
    ("text", "said"), [("300", "300"), ("11", "11"), ("2,5", "2,5"), ("0,125", "0,125")]
)
def test_what_has_no_unit_is_understood_without_zeros_behind_it(text: str, said: str) -> None:
    # 300,000 would be three hundred thousand to half the world
    assert read_number(text, spec(NUMBER, Limits(0, 1000)), Numbers(",")).understood == said


@pytest.mark.parametrize("unit", UNITS.values(), ids=lambda unit: unit.symbol)
@pytest.mark.parametrize("text", ["1", "12", "1,5", "1,500", "0,25"])
def test_no_unit_makes_a_thousand_of_what_is_typed(unit: Unit, text: str) -> None:
    # 1,000 turns for one turn would be a thousand to half the world
    typed = read_number(text, spec(unit, Limits(0, 1000)), COMMA)
    said = text.rstrip("0").rstrip(",") if "," in text else text
    assert typed.understood.removesuffix(unit.symbol).strip() == said


def test_an_unlikely_value_is_taken_with_a_question() -> None:
    typed = read_number("6", HEIGHT, POINT)
    assert typed.value == 6.0
    assert typed.problem == ""
    assert "unusual (12 to 24 mm is common)" in typed.question


def test_both_ends_of_the_limits_are_allowed() -> None:
    assert read_number("5", HEIGHT, POINT).value == 5.0
    assert read_number("40", HEIGHT, POINT).value == 40.0
    assert read_number("4.999", HEIGHT, POINT).value is None
    assert read_number("40.001", HEIGHT, POINT).value is None


@pytest.mark.parametrize(
    ("text", "value"), [("1⅜", 1.375), ("-1 3/8", -1.375), ("⅛ turns", 0.125), ("3/4", 0.75)]
)
def test_turns_may_be_typed_in_eighths_as_they_are_said(text: str, value: float) -> None:
    assert read_number(text, TURNS, POINT).value == value


def test_a_point_that_could_group_thousands_is_asked_about_only_if_both_could_be_meant() -> None:
    wide = spec(MILLIHENRY, Limits(0, 2000))
    assert "type 1234" in read_number("1.234", wide, POINT).question
    assert read_number("1.234", wide, POINT).value == 1.234
    assert read_number("1.234", FORCE, POINT).question == ""
    assert read_number("1 234,5", wide, POINT).value == 1234.5


def test_empty_is_a_problem_only_where_a_number_is_needed() -> None:
    assert "needs a number" in read_number("  ", HEIGHT, POINT).problem
    optional = read_number("", spec(optional=True, required=False), POINT)
    assert (optional.value, optional.problem) == (None, "")
    usual = read_number("", spec(required=False, default=17.0), COMMA)
    assert "17 mm is usual" in usual.problem


@pytest.mark.parametrize(
    ("hint", "understood"),
    [
        ("Of that grid. Empty: as drawn.", ""),
        ("In rpm; empty for the deck's first.", ""),
        ("Its mass.", "not known"),
        ("Its mass. Empty if unknown: learned.", "not known"),
    ],
)
def test_an_empty_field_is_not_called_unknown_beside_a_help_that_says_what_it_means(
    hint: str, understood: str
) -> None:
    empty = read_number("", spec(optional=True, required=False, hint=hint), POINT)
    assert empty.understood == understood


@pytest.mark.parametrize(
    ("text", "value", "understood"),
    [
        ("33,333333", 33.333333, "33⅓ rpm"),
        ("33⅓", 100 / 3, "33⅓ rpm"),
        ("16 2/3", 50 / 3, "16⅔ rpm"),
        ("33,33", 33.33, "33,33 rpm"),
        ("33,5", 33.5, "33,5 rpm"),
        ("45", 45.0, "45 rpm"),
        ("78,26", 78.26, "78,26 rpm"),
    ],
)
def test_a_speed_that_is_whole_but_for_a_third_is_said_as_the_trade_does(
    text: str, value: float, understood: str
) -> None:
    typed = read_number(text, spec(UNITS["rpm"], Limits(10, 100)), COMMA)
    assert typed.value == pytest.approx(value, abs=1e-12)
    assert typed.understood.replace("\u00a0", " ") == understood


def test_what_may_still_grow_into_a_number_is_told_apart() -> None:
    assert read_number("1", HEIGHT, POINT).may_grow
    assert read_number("-", TURNS, POINT).may_grow
    assert not read_number("99", HEIGHT, POINT).may_grow
    assert not read_number("x", HEIGHT, POINT).may_grow


def test_whole_numbers_take_a_decimal_zero_and_refuse_a_fraction() -> None:
    whole = spec(COUNT, Limits(0, 9), kind=FieldKind.WHOLE)
    assert read_whole("3,0", whole, POINT).value == 3.0
    assert "whole numbers" in read_whole("3.5", whole, POINT).problem


def test_several_numbers_stand_between_semicolons() -> None:
    speeds = spec(UNITS["rpm"], Limits(10, 100), kind=FieldKind.NUMBERS)
    assert read_numbers("33,3; 45;78.26", speeds, COMMA).values == (33.3, 45.0, 78.26)
    assert read_numbers("33⅓; 45", speeds, COMMA).understood == "33⅓; 45 rpm"
    assert "Put semicolons between the numbers" in read_numbers("33.3, 45", speeds, POINT).problem
    assert "Put semicolons between the numbers" in read_numbers("33.3 45", speeds, POINT).problem
    assert read_numbers("33.3; x", speeds, POINT).problem.startswith("Number 2 of 2.")
    assert "needs numbers" in read_numbers("", speeds, POINT).problem
    assert "at least one number" in read_numbers(" ; ", speeds, POINT).problem


@given(st.floats(-1e6, 1e6, allow_nan=False), st.sampled_from([POINT, COMMA]))
@settings(max_examples=200)
def test_a_value_put_into_a_field_reads_back_as_itself(value: float, numbers: Numbers) -> None:
    typed = read_number(as_typed(value, numbers), spec(), numbers)
    assert typed.value is not None
    assert math.isclose(typed.value, value, rel_tol=1e-9, abs_tol=1e-9)


@given(st.text(max_size=30), st.sampled_from(sorted(UNITS)))
@settings(max_examples=300)
def test_any_text_gives_a_value_or_one_sentence_and_never_an_error(text: str, symbol: str) -> None:
    limits = Limits(-5, 40, usual=(0, 10))
    typed = read_number(text, spec(UNITS[symbol], limits), COMMA)
    if typed.value is None:
        assert typed.problem.rstrip().endswith(".")
        assert "\n" not in typed.problem.replace(text, "")
    else:
        assert limits.low <= typed.value <= limits.high
        assert typed.problem == ""


@pytest.mark.parametrize("symbol", sorted(UNITS))
def test_every_unit_knows_its_own_symbol_and_words_and_converts_none_of_them(symbol: str) -> None:
    unit = UNITS[symbol]
    assert is_own(symbol, unit)
    assert is_own(unit.spoken, unit)
    assert converted(1.0, symbol, unit) is None


@pytest.mark.parametrize(
    ("value", "shown"),
    [(100.0 / 3.0, "33⅓"), (50.0 / 3.0, "16⅔"), (33.333333, "33⅓"), (33.3333, "33,3333")],
)
def test_a_speed_stands_in_its_field_as_the_trade_writes_it_and_reads_back(
    value: float, shown: str
) -> None:
    assert as_typed(value, COMMA, RPM) == shown
    assert read_number(shown, spec(RPM), COMMA).value == pytest.approx(value, abs=1e-6)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ("0.5", FORCE),
        ("99", HEIGHT),
        ("-1", HEIGHT),
        ("0.7", HEIGHT),
        ("19.6", FORCE),
        ("1 in", HEIGHT),
        ("1.500", FORCE),
        ("", spec(MM, default=20.0, required=False)),
    ],
)
def test_no_line_breaks_between_a_number_and_its_unit(typed: str, field: FieldSpec) -> None:
    said = read_number_as_said(typed, field, POINT)
    words = f"{said.understood} {said.problem} {said.question}"
    assert NO_BREAK in words
    assert not re.search(r"\d (mm|gf|in|mN|rpm)\b", words), words
