"""How a deck's speed drifts between visits, and what may be foretold of it."""

from __future__ import annotations

from datetime import date

import pytest

from core.fitting import Entry, Finished, MoveMade, ReadingTaken
from core.language import Numbers
from core.maintenance.due import Due, DueKind, due_of
from core.maintenance.speed_drift import speed_drifts
from core.steps.shared.swap_part import Past
from tests.examples import cartridge, deck
from tests.visits import TRIM, fitting, noon, past
from tests.worded import worded

POINT = Numbers(".")
TODAY = date(2025, 3, 1)


def visits_with(*speeds: tuple[str, float | None, float | None]) -> list[Past]:
    return [
        past(fitting(day, found_percent=found, left_percent=left)) for day, found, left in speeds
    ]


def test_drift_is_what_was_found_less_what_was_left_before() -> None:
    pasts = visits_with(("2023-03-01", 1.0, 0.05), ("2024-03-01", -0.45, 0.0))
    (drift,) = speed_drifts([one.journey for one in pasts])["33.3333"]
    assert drift.percent == pytest.approx(-0.5, abs=0.002)
    assert drift.is_told


def test_a_visit_without_a_speed_reading_is_passed_over() -> None:
    pasts = visits_with(
        ("2023-03-01", 0.0, None), ("2023-09-01", None, None), ("2024-03-01", -0.4, 0.0)
    )
    (drift,) = speed_drifts([one.journey for one in pasts])["33.3333"]
    assert drift.start == date(2023, 3, 1)
    assert drift.end == date(2024, 3, 1)


def test_between_visits_of_one_day_no_drift_is_told() -> None:
    assert due_speed(visits_with(("2024-03-01", 0.0, None), ("2024-03-01", -0.5, 0.0))) is None
    # The day's last visit is what the next day's is compared with.
    pasts = visits_with(
        ("2023-03-01", 0.0, None), ("2023-03-01", -0.5, 0.2), ("2024-03-01", -0.2, 0.0)
    )
    (drift,) = speed_drifts([one.journey for one in pasts])["33.3333"]
    assert (drift.start, drift.end) == (date(2023, 3, 1), date(2024, 3, 1))
    assert drift.percent == pytest.approx(-0.4, abs=0.002)


def due_speed(pasts: list[Past], numbers: Numbers = POINT) -> Due | None:
    found = worded(due_of(deck(check_months=None), cartridge(), pasts, TODAY), numbers)
    return next((due for due in found if due.kind is DueKind.DRIFT), None)


def test_one_visit_tells_no_drift_and_two_tell_no_date() -> None:
    assert due_speed(visits_with(("2024-03-01", 0.0, None))) is None
    due = due_speed(visits_with(("2023-03-01", 0.0, None), ("2024-03-01", -0.45, 0.0)))
    assert due is not None
    assert "slower by 0.45\u00a0±\u00a00.14" in due.sentence
    assert "more than the tolerance" in due.sentence
    assert due.on is None
    assert due.to_do


def test_within_the_error_of_the_readings_nothing_is_claimed() -> None:
    due = due_speed(visits_with(("2023-03-01", 0.0, None), ("2024-03-01", 0.1, None)))
    assert due is not None
    assert "no measurable change" in due.sentence
    assert not due.to_do


def test_three_visits_one_way_foretell_a_date_and_call_it_an_estimate() -> None:
    # 0.4 % slower in each of two years of 365 and 366 days: 0.3 % are gone after 274 days
    due = due_speed(
        visits_with(("2022-03-01", 0.0, None), ("2023-03-01", -0.4, 0.0), ("2024-03-01", -0.4, 0.0))
    )
    assert due is not None
    assert due.on is not None
    assert abs((due.on - date(2024, 3, 1)).days - 0.3 / 0.8 * 731) <= 2
    assert "An estimate from 3 visits: 0.40\u00a0% slower a year" in due.sentence
    assert due.is_due
    comma = due_speed(
        visits_with(
            ("2022-03-01", 0.0, None), ("2023-03-01", -0.4, 0.0), ("2024-03-01", -0.4, 0.0)
        ),
        Numbers(","),
    )
    assert comma is not None
    assert "0,40" in comma.sentence


def test_a_date_is_foretold_from_the_last_visit_that_left_a_speed() -> None:
    pasts = visits_with(
        ("2022-03-01", 0.0, None), ("2023-03-01", -0.4, 0.0), ("2024-03-01", -0.4, 0.0)
    )
    moved = fitting("2025-02-01", found_percent=0.0)
    trimmed = Entry(id="trim", at=noon("2025-02-01"), body=MoveMade(step="speed", parts=(TRIM,)))
    moved = moved.model_copy(update={"entries": (trimmed, *moved.entries)})
    before, after = due_speed(pasts), due_speed([*pasts, past(moved)])
    assert before is not None
    assert after is not None
    assert before.on is not None
    assert after.on is not None
    assert (after.on - before.on).days == pytest.approx(337, abs=2)  # 2024-03-01 to 2025-02-01


def test_a_speed_that_goes_both_ways_foretells_nothing() -> None:
    due = due_speed(
        visits_with(("2022-03-01", 0.0, None), ("2023-03-01", -0.4, 0.0), ("2024-03-01", 0.7, 0.0))
    )
    assert due is not None
    assert "estimate" not in due.sentence


def two_speeds(day: str, *percents: float) -> Past:
    """Return a visit that read both speeds of a deck of two."""
    rpms = (33.333333, 45.0)
    on = deck(platter={"speeds_rpm": rpms})
    said = [
        ReadingTaken(
            step="speed",
            reading={
                "way": "readout",
                "speed_rpm": rpm,
                "rpm": round(rpm * (1.0 + percent / 100.0), 4),
                "minutes_running": 15.0,
            },
        )
        for rpm, percent in zip(rpms, percents, strict=True)
    ]
    return past(fitting(day, said=[*said, Finished()]), on=on)


def test_two_speeds_that_did_the_same_are_told_of_once() -> None:
    on = deck(check_months=None, platter={"speeds_rpm": (33.333333, 45.0)})

    def told(*then: float) -> list[str]:
        pasts = [two_speeds("2023-03-01", 0.0, 0.0), two_speeds("2024-03-01", *then)]
        dues = worded(due_of(on, cartridge(), pasts, TODAY), POINT)
        return [due.sentence for due in dues if due.kind is DueKind.DRIFT]

    (once,) = told(0.05, 0.05)
    assert once.startswith("At 33⅓ and 45 rpm the speed held between 2023-03-01 and 2024-03-01")
    first, second = told(0.05, 0.02)  # 0.05 and 0.02 % are two lines
    assert first.startswith("At 33⅓ rpm")
    assert second.startswith("At 45 rpm")
