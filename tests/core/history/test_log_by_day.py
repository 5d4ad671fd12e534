"""The history of one fitting, by day and step, in words."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from core.fitting import Body, Entry, Fitting, NoteWritten, ReadingTaken, Withdrawn
from core.history.log_by_day import LogLine, log_by_day
from core.language import Numbers
from tests.visits import fitting, noon
from tests.worded import worded

POINT = Numbers(".")
WEIGHED = {"way": "scale", "downforce_gf": 2.6}


def lines(of: Fitting) -> list[LogLine]:
    return [line for day in worded(log_by_day(of)) for step in day.steps for line in step.lines]


def log(*entries: tuple[str, str, Body]) -> Fitting:
    return fitting("2025-03-04", said=()).model_copy(
        update={
            "entries": tuple(Entry(id=name, at=noon(day), body=body) for name, day, body in entries)
        }
    )


def test_entries_keep_their_order_under_their_day_and_step() -> None:
    done = fitting("2025-03-04")
    (day,) = worded(log_by_day(done))
    assert day.day.isoformat() == "2025-03-04"
    assert [step.title for step in day.steps] == [
        "Level",
        "Mount",
        "Rough downforce",
        "Arm height",
        "Alignment",
        "Tilt",
        "Skating",
        "Final downforce",
        "Speed",
        "The whole fitting",
    ]
    assert [line.at for line in lines(done)] == [entry.at for entry in done.entries]
    assert lines(done)[-1].words == "Finished"


def test_a_step_gone_back_to_stands_there_again() -> None:
    told = worded(
        log_by_day(
            log(
                ("1", "2025-03-04", ReadingTaken(step="rough_downforce", reading=WEIGHED)),
                ("2", "2025-03-04", NoteWritten(step="speed", text="belt slips")),
                ("3", "2025-03-05", ReadingTaken(step="rough_downforce", reading=WEIGHED)),
            )
        )
    )
    assert [[step.title for step in day.steps] for day in told] == [
        ["Rough downforce", "Speed"],
        ["Rough downforce"],
    ]


def test_a_withdrawn_entry_stays_in_its_place_and_is_marked() -> None:
    of = log(
        ("1", "2025-03-04", ReadingTaken(step="rough_downforce", reading=WEIGHED)),
        ("2", "2025-03-05", Withdrawn(entry="1", reason="mistyped")),
    )
    first, gone = lines(of)
    assert not first.counts
    assert gone.words == (
        "Left out from here on: “Scale under the stylus: Scale shows 2.60\u00a0gf” (mistyped)"
    )
    assert [day.steps[0].title for day in worded(log_by_day(of))] == ["Rough downforce"] * 2
    back = of.with_entry(Entry(id="3", at=noon("2025-03-06"), body=Withdrawn(entry="2")))
    assert lines(back)[0].counts
    assert lines(back)[2].words == "Counts again"
    assert worded(log_by_day(back))[2].steps[0].title == "Rough downforce"


def test_a_clock_set_back_keeps_the_order_and_is_told() -> None:
    told = worded(
        log_by_day(
            log(
                ("1", "2025-03-04", NoteWritten(text="one")),
                ("2", "2019-01-01", NoteWritten(text="two")),
                ("3", "2025-03-05", NoteWritten(text="three")),
            )
        )
    )
    assert [(day.day.isoformat(), day.clock_set_back) for day in told] == [
        ("2025-03-04", False),
        ("2019-01-01", True),
        ("2025-03-05", False),
    ]


def test_withdrawals_of_nothing_and_of_each_other_are_told_too() -> None:
    of = log(
        ("1", "2025-03-04", Withdrawn(entry="never")),
        ("2", "2025-03-04", Withdrawn(entry="3")),
        ("3", "2025-03-04", Withdrawn(entry="2")),
    )
    assert len(lines(of)) == 3


@settings(max_examples=50, deadline=None)
@given(days=st.lists(st.integers(0, 3), max_size=12), gone=st.lists(st.integers(0, 11), max_size=4))
def test_every_entry_is_told_once(days: list[int], gone: list[int]) -> None:
    entries = [
        Entry(id=str(n), at=noon("2025-03-04") + timedelta(days=day), body=NoteWritten(text="note"))
        for n, day in enumerate(days)
    ]
    entries += [
        Entry(id=f"w{n}", at=noon("2025-03-08"), body=Withdrawn(entry=str(which)))
        for n, which in enumerate(gone)
    ]
    of = fitting("2025-03-04", said=()).model_copy(update={"entries": tuple(entries)})
    assert [line.at for line in lines(of)] == [entry.at for entry in entries]
