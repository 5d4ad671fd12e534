"""Days as people type them: what is sure is read, and what may be either of two days is asked."""

from __future__ import annotations

import pytest

from core.language import Numbers, read_day


@pytest.mark.parametrize(
    ("typed", "decimal", "day"),
    [
        # ISO 8601: year, month, day
        ("2026-12-04", ".", "2026-12-04"),
        ("2026-12-04", ",", "2026-12-04"),
        # day.month.year, as DIN 1355-1 (memory) and common practice with the decimal comma have it
        ("4.12.2026", ",", "2026-12-04"),
        ("04.12.2026", ",", "2026-12-04"),
        (" 4. 12. 2026 ", ",", "2026-12-04"),
        # only one of them is a day of the calendar
        ("25.12.2026", ".", "2026-12-25"),
        ("25/12/2026", ".", "2026-12-25"),
        ("12/25/2026", ",", "2026-12-25"),
        ("12/25/2026", ".", "2026-12-25"),
        ("4.4.2026", ".", "2026-04-04"),
    ],
)
def test_a_day_that_is_sure_is_read(typed: str, decimal: str, day: str) -> None:
    assert read_day(typed, decimal=decimal) == (day, None)


@pytest.mark.parametrize(
    ("typed", "decimal"), [("4.12.2026", "."), ("4/12/2026", "."), ("4/12/2026", ",")]
)
def test_what_may_be_two_days_is_asked_about(typed: str, decimal: str) -> None:
    read, problem = read_day(typed, decimal=decimal)
    assert read == typed
    assert problem is not None
    said = Numbers(decimal).text(problem)
    assert said == f"{typed} may be 2026-12-04 or 2026-04-12. Type the one that is meant."


@pytest.mark.parametrize("typed", ["4.12.26", "4/12/26"])
def test_a_year_of_two_digits_is_asked_for_whole(typed: str) -> None:
    _, problem = read_day(typed, decimal=",")
    assert problem is not None
    assert "four digits" in Numbers().text(problem)


@pytest.mark.parametrize("typed", ["", "tomorrow", "31.2.2026", "4.12.", "4.12/2026", "13.13.2026"])
def test_what_is_no_day_is_left_to_be_refused(typed: str) -> None:
    assert read_day(typed, decimal=",") == (typed, None)
