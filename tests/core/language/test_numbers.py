"""Numbers as people read them."""

from __future__ import annotations

import math

import pytest

from core.language import MINUS, Expectation, Interval, Numbers, Quantity, Value, message

GERMAN = Numbers(",")


@pytest.mark.parametrize(
    ("value", "decimals", "expected"),
    [
        (1.75, 2, "1.75"),
        (-1.75, 2, f"{MINUS}1.75"),
        (-0.001, 2, "0.00"),
        (2.0, 0, "2"),
        (float("nan"), 2, "–"),
        (float("inf"), 2, "–"),
    ],
)
def test_writes_a_plain_number(value: float, decimals: int, expected: str) -> None:
    assert Numbers().plain(value, decimals) == expected


def test_writes_the_decimal_sign_of_the_country() -> None:
    assert GERMAN.unit(1.75, "gf") == "1,75\u00a0gf"
    assert GERMAN.within(2.0, 0.03, "gf") == "2,00\u00a0±\u00a00,03\u00a0gf"


def test_a_degree_sign_stands_close_to_its_number() -> None:
    assert Numbers().unit(22.986, "°", 1) == "23.0°"


def test_a_sign_is_written_only_where_there_is_one() -> None:
    assert Numbers().signed(0.25) == "+0.25"
    assert Numbers().signed(-0.25) == f"{MINUS}0.25"
    assert Numbers().signed(0.001) == "0.00"


def test_short_numbers_lose_trailing_zeros_only() -> None:
    assert Numbers().short(2.0) == "2"
    assert Numbers().short(0.5) == "0.5"
    assert Numbers().short(100.0, 0) == "100"


@pytest.mark.parametrize(
    ("turns", "expected"),
    [
        (0.01, "less than ⅛ turn"),
        (0.125, "⅛ turn"),
        (-1.375, "1 ⅜ turns"),
        (1.0, "1 turn"),
        (0.99, "1 turn"),
        (2.0, "2 turns"),
    ],
)
def test_turns_are_said_in_eighths(turns: float, expected: str) -> None:
    assert Numbers().turns(turns) == expected.replace(" ⅜", "\u00a0⅜").replace(
        " turn", "\u00a0turn"
    )


@pytest.mark.parametrize("turns", [0.01, 0.125, -1.375, 1.0, 2.0, 3.5])
def test_a_count_of_turns_is_never_broken_over_two_lines(turns: float) -> None:
    assert " " not in Numbers().turns(turns).removeprefix("less than ")


@pytest.mark.parametrize(
    ("value", "half_width", "tolerance", "said"),
    [
        (2.0, 0.03, 0.05, "2,00 ± 0,03 gf"),
        (2.0, 0.4, 0.05, "2,00 ± 0,40 gf"),
        (2.0, 2.71, 0.05, "roughly 2,0 gf"),
        (2.0, 0.6, 0.05, "roughly 2,0 gf"),
        (0.0, 0.04, 0.05, "0,00 ± 0,04 gf"),
        (0.0, 0.2, 0.05, "about 0 gf"),
        (2.0, math.inf, 0.05, "roughly 2,0 gf"),
    ],
)
def test_an_interval_that_says_nothing_is_not_written(
    value: float, half_width: float, tolerance: float, said: str
) -> None:
    written = Numbers(",").expected(value, half_width, "gf", tolerance=tolerance)
    assert written.replace("\u00a0", " ") == said


def test_a_force_is_written_in_both_units() -> None:
    # 2 gf x 9.80665 mN/gf (standard gravity, CGPM 1901) = 19.6133 mN
    assert Numbers().force(2.0) == "2.00\u00a0gf (19.6\u00a0mN)"


def test_lists_read_like_a_sentence() -> None:
    assert Numbers().listed([]) == ""
    assert Numbers().listed(["a"]) == "a"
    assert Numbers().listed(["a", "b", "c"]) == "a, b and c"
    assert Numbers().listed(["a", "b"], last="or") == "a or b"


@pytest.mark.parametrize(
    "value",
    [
        Interval(4.1, 0.5, "mm"),
        Expectation(4.1, 0.5, "mm", tolerance=0.5),
        Quantity(4.1, "mm"),
        message(
            "log.target", target=Quantity(2.0, "gf"), tolerance=Quantity(0.05, "", form="short")
        ),
    ],
)
def test_no_line_breaks_inside_a_value_its_error_and_its_unit(value: Value) -> None:
    said = GERMAN.value(value)
    assert said.count("\u00a0") >= 1
    assert len(said.split(" ")) == 1, said
