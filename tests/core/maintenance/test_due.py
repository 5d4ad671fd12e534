"""What falls due on a deck: its check, its stylus, the drift of its speed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.fitting import Entry, Finished, HoursRead, NoteWritten, Reopened, Withdrawn
from core.language import Numbers
from core.maintenance.due import Due, DueKind, Urgency, check_due, due_of, stylus_due, visit_of
from core.maintenance.model import HoursAt, Visit
from core.workflow.refusals import why_refused
from tests.examples import cartridge, deck
from tests.visits import fitting, noon, past
from tests.worded import worded

POINT = Numbers(".")
TODAY = date(2025, 3, 1)


def visit(
    started: str,
    finished: str | None = "",
    *,
    deck_id: str = "d",
    cartridge_id: str = "c",
    hours: tuple[tuple[str, float], ...] = (),
    week: float | None = None,
) -> Visit:
    """Return a visit; finished the day it was begun unless told, never with None."""
    end = started if finished == "" else finished
    return Visit(
        fitting_id=f"{deck_id}{cartridge_id}{started}",
        deck_id=deck_id,
        cartridge_id=cartridge_id,
        started=date.fromisoformat(started),
        finished=date.fromisoformat(end) if end else None,
        is_finished=end is not None,
        hours=tuple(HoursAt(date.fromisoformat(day), value) for day, value in hours),
        hours_a_week=week,
        began=noon(started),
    )


def stylus(*visits: Visit, today: date = TODAY, numbers: Numbers = POINT, **fitted: Any) -> Due:
    return cast("Due", worded(stylus_due(cartridge(**fitted), "c", visits, today), numbers))


def figure(due: Due, key: str) -> float:
    return next(figure.value for figure in due.figures if figure.key == key)


# the check


def test_a_deck_is_due_again_so_many_months_after_its_last_finished_fitting() -> None:
    visits = [visit("2023-05-31"), visit("2024-02-29")]
    due = worded(check_due(deck(), visits, date(2024, 12, 1)))
    assert due is not None
    assert due.on == date(2025, 2, 28)
    assert due.status == Urgency.LATER
    assert not due.to_do
    assert "2025-02-28, in 3 months" in due.sentence


@pytest.mark.parametrize("today", ["2024-02-29", "2024-03-02"])
def test_how_far_away_the_check_is_is_not_told_twice(today: str) -> None:
    due = worded(check_due(deck(), [visit("2024-02-29")], date.fromisoformat(today)))
    assert due is not None
    assert due.sentence.endswith("The next check is 12 months later: 2025-02-28.")


@pytest.mark.parametrize(
    ("today", "status", "words"),
    [
        (
            "2025-01-22",
            Urgency.LATER,
            "in 37 days",
        ),  # 366 days in all, a leap day among them: 36.6 are a tenth
        ("2025-01-23", Urgency.SOON, "in 36 days"),
        ("2025-02-27", Urgency.SOON, "in 1 day."),
        ("2025-02-28", Urgency.DUE, "today"),
        ("2025-03-01", Urgency.DUE, "1 day ago"),
        ("2029-02-28", Urgency.DUE, "4 years ago"),
    ],
)
def test_soon_is_the_last_tenth_and_due_begins_on_the_day(
    today: str, status: Urgency, words: str
) -> None:
    due = worded(check_due(deck(), [visit("2024-02-28")], date.fromisoformat(today)))
    assert due is not None
    assert (due.status, words in due.sentence) == (status, True), due.sentence


def test_a_deck_without_months_has_no_date_and_one_without_an_end_says_so() -> None:
    assert check_due(deck(check_months=None), [visit("2024-02-29")], TODAY) is None
    due = worded(check_due(deck(), [visit("2024-02-29", None)], TODAY))
    assert due is not None
    assert (due.on, due.is_due, due.status) == (None, False, Urgency.UNDATED)
    assert "No fitting of this deck is finished" in due.sentence


def test_after_a_short_job_it_does_not_say_that_nothing_was_finished() -> None:
    """It said that no fitting of the deck was finished, beside one that was."""
    short = replace(visit("2024-02-29"), is_check=False)
    due = worded(check_due(deck(), [short], TODAY))
    assert due is not None
    assert due.on is None
    assert "No fitting of this deck is finished" not in due.sentence
    assert "only short jobs were finished" in due.sentence


def test_a_short_job_after_the_check_is_not_told_as_the_last_one_finished() -> None:
    """It dated "the last fitting" before a later one, which was finished as well."""
    short = replace(visit("2024-08-01"), is_check=False)
    due = worded(check_due(deck(), [visit("2024-02-29"), short], TODAY))
    assert due is not None
    assert due.sentence.startswith("All nine steps were last finished on 2024-02-29.")


def test_a_fitting_under_way_is_to_be_finished_rather_than_another_begun() -> None:
    due = worded(check_due(deck(), [visit("2023-05-31"), visit("2025-01-10", None)], TODAY))
    assert due is not None
    assert due.is_due
    assert due.to_do.startswith("A fitting has been in progress since 2025-01-10")


def test_notes_and_hours_after_the_end_do_not_put_the_check_off() -> None:
    done = fitting("2023-01-10")
    done = done.with_entry(Entry(at=noon("2024-12-01"), body=NoteWritten(text="dusty")))
    done = done.with_entry(Entry(at=noon("2024-12-02"), body=HoursRead(hours=300)))
    assert visit_of(done).finished == date(2023, 1, 10)


def test_a_fitting_opened_again_counts_from_its_new_end() -> None:
    done = fitting("2023-01-10")
    opened = done.with_entry(Entry(at=noon("2024-05-01"), body=Reopened()))
    assert not visit_of(opened).is_finished
    again = opened.with_entry(Entry(at=noon("2024-05-02"), body=Finished()))
    assert visit_of(again).is_finished
    assert visit_of(again).finished == date(2024, 5, 2)


def test_a_withdrawn_end_is_none() -> None:
    done = fitting("2023-01-10")
    undone = done.with_entry(
        Entry(at=noon("2023-01-11"), body=Withdrawn(entry=done.entries[-1].id))
    )
    assert visit_of(undone).finished is None


def test_an_end_dated_after_today_is_wondered_at() -> None:
    due = worded(check_due(deck(), [visit("2031-01-01")], TODAY))
    assert due is not None
    assert not due.is_due
    assert "dated after today" in due.sentence


# the stylus


def test_hours_are_reckoned_from_the_fitting_on() -> None:
    # 52 weeks and a day at 10 h a week: 521.4 h; the other 278.6 take 27.857 weeks, 195 days
    due = stylus(visit("2024-03-01", week=10.0))
    assert figure(due, "stylus_hours") == pytest.approx(365 / 7 * 10)
    assert due.on == TODAY + timedelta(days=195)
    assert due.status == Urgency.LATER
    assert "taken as new" in due.sentence


def test_hours_entered_come_before_hours_reckoned() -> None:
    due = stylus(visit("2020-03-01", week=10.0, hours=(("2025-02-22", 100.0),)))
    assert figure(due, "stylus_hours") == pytest.approx(110.0)
    assert "100\u00a0h were entered on 2025-02-22, the rest is an estimate" in due.sentence


@pytest.mark.parametrize(
    ("hours", "status"), [(719.9, Urgency.UNDATED), (720.0, Urgency.SOON), (799.9, Urgency.SOON),
                            (800.0, Urgency.DUE), (20000.0, Urgency.DUE)]
)  # fmt: skip # rows of a table
def test_the_last_tenth_of_its_life_is_soon(hours: float, status: Urgency) -> None:
    due = stylus(visit("2024-03-01", hours=(("2025-03-01", hours),)))
    assert due.status == status
    assert bool(due.to_do)
    assert ("microscope" in due.to_do) == (status != Urgency.UNDATED)


def test_nothing_known_is_said_to_be_so() -> None:
    due = stylus(visit("2024-03-01"))
    assert due.status == Urgency.UNDATED
    assert "not known" in due.sentence
    assert "Enter its hours" in due.to_do


def test_zero_hours_are_hours() -> None:
    due = stylus(visit("2024-03-01", week=7.0, hours=(("2025-02-28", 0.0),)))
    assert figure(due, "stylus_hours") == pytest.approx(1.0)


def test_fewer_hours_than_before_are_a_new_stylus_and_said_so() -> None:
    read = (("2024-06-01", 640.0), ("2024-09-01", 12.0))
    due = stylus(visit("2024-03-01", week=10.0, hours=read))
    assert (
        "640\u00a0h were entered, so 12\u00a0h are taken to be those of a new stylus"
        in due.sentence
    )
    assert figure(due, "stylus_hours") == pytest.approx(12 + 181 / 7 * 10)
    later = stylus(visit("2024-03-01", week=10.0, hours=(*read, ("2024-10-01", 60.0))))
    assert "new stylus" not in later.sentence


def test_without_hours_a_week_those_entered_say_how_much_is_played() -> None:
    read = (("2024-03-01", 0.0), ("2025-02-28", 520.0))
    due = stylus(visit("2024-03-01", hours=read))
    assert "from the hours entered" in due.sentence
    assert figure(due, "stylus_hours") == pytest.approx(520 + 520 / 364)
    # entered too close together they tell nothing
    close = stylus(visit("2024-03-01", hours=(("2025-02-20", 0.0), ("2025-02-28", 30.0))))
    assert close.on is None


def test_hours_follow_the_cartridge_from_deck_to_deck() -> None:
    # 10 weeks at 10 h on one deck, 4 weeks off, 10 weeks at 2 h on another
    start = date(2024, 1, 1)
    moved = start + timedelta(weeks=10)
    again = moved + timedelta(weeks=4)
    visits = (
        visit(start.isoformat(), week=10.0),
        visit(moved.isoformat(), cartridge_id="other", week=10.0),
        visit(again.isoformat(), deck_id="second", week=2.0),
    )
    due = stylus(*visits, today=again + timedelta(weeks=10))
    assert figure(due, "stylus_hours") == pytest.approx(120.0)
    assert "At 2\u00a0h a week" in due.sentence
    off = stylus(*visits[:2], today=again)
    assert figure(off, "stylus_hours") == pytest.approx(100.0)
    assert "not on any deck now" in off.sentence
    assert off.on is None


def test_what_was_played_where_hours_are_not_known_makes_it_at_least() -> None:
    due = stylus(
        visit("2024-01-01", week=10.0),
        visit("2024-06-01", deck_id="second", week=None),
        visit("2024-09-01", week=10.0),
    )
    assert "at least" in due.sentence


def test_a_clock_set_back_and_dates_to_come_lose_nothing() -> None:
    said = fitting("2024-03-01")
    for day, hours in (("2024-08-01", 100.0), ("2019-01-01", 150.0)):
        said = said.with_entry(Entry(id=day, at=noon(day), body=HoursRead(hours=hours)))
    read = visit_of(said).hours
    assert [(one.day.isoformat(), one.hours) for one in read] == [
        ("2024-08-01", 100.0),
        ("2024-08-01", 150.0),
    ]
    due = stylus(visit("2024-03-01", hours=(("2030-01-01", 300.0),)))
    assert figure(due, "stylus_hours") == 300.0
    assert "dated after today" in due.sentence


def test_a_withdrawn_entry_of_hours_does_not_count() -> None:
    said = fitting("2024-03-01", hours=700.0)
    entry = next(entry for entry in said.entries if isinstance(entry.body, HoursRead))
    undone = said.with_entry(Entry(at=noon("2024-03-02"), body=Withdrawn(entry=entry.id)))
    assert visit_of(said).hours
    assert not visit_of(undone).hours


def test_hours_are_taken_and_taken_back_when_the_fitting_is_finished() -> None:
    done = past(fitting("2024-03-01", hours=6400.0))
    assert done.fitting.is_finished
    slip = next(one for one in done.fitting.entries if isinstance(one.body, HoursRead))
    assert why_refused(done.journey, HoursRead(hours=640)) is None
    assert why_refused(done.journey, Withdrawn(entry=slip.id)) is None
    assert why_refused(done.journey, Withdrawn(entry=done.fitting.entries[0].id)) is not None


def test_numbers_are_written_as_in_the_country() -> None:
    due = stylus(visit("2024-03-01", week=10.5), numbers=Numbers(","))
    assert "10,5\u00a0h a week" in due.sentence


days = st.integers(0, 2000).map(lambda n: date(2020, 1, 1) + timedelta(days=n))


@st.composite
def lives(draw: st.DrawFn) -> list[Visit]:
    """Draw visits of two cartridges to two decks, with hours entered here and there."""
    weeks = {"d": draw(st.sampled_from([None, 5.0, 30.0])), "e": draw(st.sampled_from([None, 2.0]))}
    starts = sorted(draw(st.lists(days, min_size=1, max_size=6, unique=True)))
    found = []
    for start in starts:
        deck_id = draw(st.sampled_from(["d", "e"]))
        read = draw(st.lists(st.tuples(st.integers(0, 40), st.floats(0, 20000)), max_size=2))
        found.append(
            visit(
                start.isoformat(),
                draw(st.sampled_from(["", None])),
                deck_id=deck_id,
                cartridge_id=draw(st.sampled_from(["c", "o"])),
                hours=tuple(((start + timedelta(days=n)).isoformat(), h) for n, h in sorted(read)),
                week=weeks[deck_id],
            )
        )
    return found


@settings(max_examples=150, deadline=None)
@given(visits=lives(), today=days)
def test_whatever_the_record_holds_there_is_one_answer_in_words(
    visits: list[Visit], today: date
) -> None:
    due = stylus(*visits, today=today)
    assert due.sentence.endswith(".")
    assert "  " not in due.sentence
    assert "nan" not in due.sentence
    if due.on is not None and not due.is_due:
        assert due.on >= today
    if due.is_due:
        assert figure(due, "stylus_hours") >= figure(due, "stylus_life")


def by_the_day(visits: list[Visit], today: date) -> float | None:
    """Count hours day by day from a diary, as a person with a calendar would."""
    on, hours = "", None
    day = date(2020, 1, 1)
    ordered = sorted(visits, key=lambda v: v.began)
    while day <= today:
        for one in ordered:
            if one.started == day:
                if one.cartridge_id == "c" and one.deck_id != on:
                    on = ""
                if one.cartridge_id != "c" and one.deck_id == on:
                    on = ""
            if one.cartridge_id == "c" and one.finished == day:
                on = one.deck_id
                hours = 0.0 if hours is None else hours
        if on and day < today:
            hours = (hours or 0.0) + {"d": 10.0, "e": 3.0}[on] / 7.0
        day += timedelta(days=1)
    return hours


@settings(max_examples=60, deadline=None)
@given(
    starts=st.lists(days, min_size=1, max_size=6, unique=True),
    where=st.lists(st.tuples(st.sampled_from("de"), st.sampled_from("co")), min_size=6, max_size=6),
    today=days,
)
def test_hours_reckoned_are_those_of_a_diary(
    starts: list[date], where: list[tuple[str, str]], today: date
) -> None:
    visits = [
        visit(day.isoformat(), deck_id=on, cartridge_id=which, week={"d": 10.0, "e": 3.0}[on])
        for day, (on, which) in zip(sorted(starts), where, strict=False)
        if day <= today
    ]
    due = stylus(*visits, today=today)
    counted = by_the_day(visits, today)
    if counted is None:
        assert not any(one.key == "stylus_hours" for one in due.figures)
    else:
        assert figure(due, "stylus_hours") == pytest.approx(counted)


# all together


def test_what_is_due_comes_first_and_an_untouched_deck_has_nothing() -> None:
    assert due_of(deck(), cartridge(), [], TODAY) == ()
    found = due_of(deck(hours_a_week=1.0), cartridge(), [past(fitting("2023-01-10"))], TODAY)
    assert [due.kind for due in found] == [DueKind.CHECK, DueKind.STYLUS]
    assert found[0].is_due
    worn = due_of(deck(), cartridge(), [past(fitting("2025-02-10", hours=900.0))], TODAY)
    assert [due.kind for due in worn] == [DueKind.STYLUS, DueKind.CHECK]


def test_fittings_elsewhere_count_toward_the_stylus() -> None:
    here = [past(fitting("2025-02-28"))]
    before = visit("2024-02-28", deck_id="second", week=10.0)
    alone = due_of(deck(hours_a_week=7.0), cartridge(), here, TODAY)
    both = due_of(deck(hours_a_week=7.0), cartridge(), here, TODAY, elsewhere=[before])
    hours = [
        figure(next(d for d in one if d.kind is DueKind.STYLUS), "stylus_hours")
        for one in (alone, both)
    ]
    assert hours[0] == pytest.approx(1.0)
    assert hours[1] == pytest.approx(1.0 + 366 / 7 * 10)
