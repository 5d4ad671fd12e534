"""Numbers as people read them."""

from __future__ import annotations

import pytest

from core.wording import MINUS, Numbers, listed

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
    assert GERMAN.within(2.0, 0.03, "gf") == "2,00 ± 0,03\u00a0gf"


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
    assert Numbers().turns(turns) == expected


def test_a_force_is_written_in_both_units() -> None:
    # 2 gf x 9.80665 mN/gf (standard gravity, CGPM 1901) = 19.6133 mN
    assert Numbers().force(2.0) == "2.00 gf (19.6 mN)"


def test_lists_read_like_a_sentence() -> None:
    assert listed([]) == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed(["a", "b"], last="or") == "a or b"
