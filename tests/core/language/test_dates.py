"""Months on the calendar against arithmetic that is not ours, and dates along an axis."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.language import date_ticks, day_of, days_after, months_after, position


def by_numpy(day: date, months: int) -> date:
    """The same rule from numpy's calendar: the month so many on, then its days counted."""
    month = np.datetime64(day, "M") + np.timedelta64(months, "M")
    first = month.astype("datetime64[D]")
    length = int(((month + np.timedelta64(1, "M")).astype("datetime64[D]") - first).astype(int))
    return (first + np.timedelta64(min(day.day, length) - 1, "D")).astype(date)


@settings(max_examples=300)
@given(day=st.dates(date(1, 1, 1), date(9000, 12, 31)), months=st.integers(0, 1200))
def test_months_are_added_as_numpy_s_calendar_adds_them(day: date, months: int) -> None:
    assert months_after(day, months) == by_numpy(day, months)


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        # W3C XML Schema Part 2, appendix E: a day the month does not have becomes its last (memory)
        ("2000-03-31", 1, "2000-04-30"),
        ("2000-03-30", 1, "2000-04-30"),
        # Leap years by the rule of the Gregorian calendar (ISO 8601): 2000 and 2024 are, 1900 isn't
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-02-29", 48, "2028-02-29"),
        ("2024-01-31", 1, "2024-02-29"),
        ("2023-01-31", 1, "2023-02-28"),
        ("1899-12-31", 2, "1900-02-28"),
        ("1999-12-31", 2, "2000-02-29"),
        ("2025-12-15", 1, "2026-01-15"),
        ("2025-06-01", 0, "2025-06-01"),
    ],
)
def test_days_that_a_month_does_not_have(day: str, months: int, then: str) -> None:
    assert months_after(date.fromisoformat(day), months) == date.fromisoformat(then)


def test_where_the_years_end_nothing_breaks() -> None:
    assert months_after(date(9999, 6, 1), 12) == date.max
    assert days_after(date(9999, 6, 1), 1e6) is None
    assert days_after(date(2025, 1, 1), 1e300) is None
    for at in (datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC)):
        assert abs((day_of(at) - at.date()).days) <= 1
        assert position(at) >= 0.0


@settings(max_examples=300)
@given(low=st.floats(1, 3_000_000), span=st.floats(0.5, 400_000))
def test_an_axis_of_days_has_few_round_dates_in_order(low: float, span: float) -> None:
    ticks = date_ticks(low, low + span)
    assert len(ticks) <= 6
    places = [at for at, _ in ticks]
    assert places == sorted(set(places))
    for at, words in ticks:
        assert low <= at <= low + span
        day = date.fromordinal(int(at))
        assert day.isoformat().startswith(words)
        if len(words) < 10:
            assert day.day == 1
        if len(words) == 4:
            assert day.month == 1


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        ("2025-03-03", "2025-03-06", ["2025-03-03", "2025-03-04", "2025-03-05", "2025-03-06"]),
        ("2025-03-01", "2025-03-24", ["2025-03-03", "2025-03-10", "2025-03-17", "2025-03-24"]),
        ("2024-11-10", "2025-03-20", ["2024-12", "2025-01", "2025-02", "2025-03"]),
        ("2021-05-01", "2025-03-20", ["2022", "2023", "2024", "2025"]),
    ],
)
def test_dates_are_written_as_finely_as_they_stand(start: str, end: str, words: list[str]) -> None:
    low, high = (float(date.fromisoformat(day).toordinal()) for day in (start, end))
    assert [label for _, label in date_ticks(low, high)] == words
