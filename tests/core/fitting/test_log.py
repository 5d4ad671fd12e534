"""The log: nothing is removed, a withdrawal hides, its own withdrawal brings back."""

from __future__ import annotations

from datetime import datetime

import pytest
from pydantic import ValidationError

from core.fitting import (
    Control,
    Entry,
    Finished,
    Fitting,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    Reopened,
    ThingsRevised,
    Withdrawn,
)
from tests.kit import fitting_of


def test_an_entry_with_no_time_zone_is_refused() -> None:
    with pytest.raises(ValidationError):
        Entry(at=datetime(2026, 1, 2), body=NoteWritten(text="x"))  # noqa: DTZ001 - that is the test


def test_a_withdrawn_entry_no_longer_counts_but_stays() -> None:
    reading = Entry(body=ReadingTaken(step="level", reading={"way": "x"}))
    taken_back = Entry(body=Withdrawn(entry=reading.id))
    fitting = fitting_of().with_entry(reading).with_entry(taken_back)
    assert list(fitting.counting()) == []
    assert fitting.entries == (reading, taken_back)


def test_withdrawing_a_withdrawal_brings_the_entry_back() -> None:
    reading = Entry(body=ReadingTaken(step="level", reading={"way": "x"}))
    away = Entry(body=Withdrawn(entry=reading.id))
    back = Entry(body=Withdrawn(entry=away.id))
    fitting = fitting_of().with_entry(reading).with_entry(away).with_entry(back)
    assert list(fitting.counting()) == [reading]
    again = fitting.with_entry(Entry(body=Withdrawn(entry=back.id)))
    assert list(again.counting()) == []


def test_the_last_of_finishing_and_reopening_decides() -> None:
    fitting = fitting_of().with_entry(Entry(body=Finished()))
    assert fitting.is_finished
    assert not fitting.with_entry(Entry(body=Reopened())).is_finished


def test_a_revision_taken_over_midway_is_the_one_worked_with() -> None:
    revised = Entry(body=ThingsRevised(deck_revision=3, cartridge_revision=2))
    assert fitting_of().revisions == (1, 1)
    assert fitting_of().with_entry(revised).revisions == (3, 2)


def test_a_fitting_survives_being_written_as_json() -> None:
    part = MovePart(control=Control.FOOT, amount=-0.5, unit="turns", where="front left")
    fitting = fitting_of().with_entry(Entry(body=MoveMade(step="level", parts=(part,))))
    assert Fitting.model_validate_json(fitting.model_dump_json()) == fitting


def test_a_move_with_no_part_is_refused() -> None:
    with pytest.raises(ValidationError):
        MoveMade(step="level", parts=())


def test_what_a_log_came_to_is_not_handed_on_to_a_longer_one() -> None:
    fitting = fitting_of(NoteWritten(text="x"))
    assert not fitting.is_finished
    done = fitting.with_entry(Entry(body=Finished()))
    assert done.is_finished
    assert not fitting.is_finished
    assert len(list(done.counting())) == 2
    assert done == done.model_copy(update={"entries": done.entries})
