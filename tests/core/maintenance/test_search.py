"""Which decks are due, without working out a step of any fitting."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from core.fitting import Finished, HoursRead, NoteWritten, Reopened, Withdrawn, Work
from core.language import months_after
from core.maintenance.due import check_due, visit_of
from core.maintenance.search import DueSearch
from core.store import Library
from core.workflow.work import work_asked
from tests.examples import cartridge, deck
from tests.visits import keep, noon

TODAY = date(2025, 6, 1)


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    with Library.open(tmp_path / "test.library") as library:
        yield library


def found(library: Library, today: date = TODAY) -> dict[str, date]:
    search = DueSearch(library)
    search.begin()
    while not search.is_done:
        search.go_on()
    return {one.deck_id: one.on for one in search.due(today)}


def a_deck(library: Library, *days: str, months: int | None = 12, **how: bool) -> str:
    """Keep a deck with fittings of these days."""
    number = len(library.decks())
    deck_id = library.keep_deck(deck(name=f"Example deck {number}", check_months=months)).id
    cartridge_id = library.keep_cartridge(cartridge()).id
    for day in days:
        keep(library, day, deck_id, cartridge_id, **how)
    return deck_id


def test_decks_are_found_from_the_day_they_are_due(library: Library) -> None:
    due = a_deck(library, "2022-01-01", "2024-06-01")
    a_deck(library, "2024-06-02")
    a_deck(library)
    a_deck(library, "2020-01-01", finished=False)
    a_deck(library, "2020-01-01", months=None)
    monthly = a_deck(library, "2025-04-30", months=1)
    assert found(library) == {due: date(2025, 6, 1), monthly: date(2025, 5, 30)}


def test_decks_and_fittings_that_were_put_away_do_not_count(library: Library) -> None:
    away = a_deck(library, "2020-01-01")
    library.archive("deck", [away], archived=True)
    again = a_deck(library, "2020-01-01", "2025-05-01")
    assert found(library) == {}
    library.archive_fitting(f"{again}-2025-05-01")
    assert set(found(library)) == {again}


def test_what_is_entered_after_the_end_does_not_put_it_off(library: Library) -> None:
    due = a_deck(library, "2024-01-01")
    for body in (NoteWritten(text="dusty"), HoursRead(hours=200)):
        library.append(f"{due}-2024-01-01", body, at=noon("2025-05-30"))
    assert found(library) == {due: date(2025, 1, 1)}


def test_a_short_job_does_not_put_it_off(library: Library) -> None:
    due = a_deck(library, "2024-01-01", "2025-03-01")
    asked = library.append(f"{due}-2025-03-01", work_asked(Work.SPEED), at=noon("2025-03-01"))
    assert found(library) == {due: date(2025, 1, 1)}
    library.append(f"{due}-2025-03-01", Withdrawn(entry=asked.id), at=noon("2025-03-02"))
    assert found(library) == {}


def test_a_fitting_opened_again_waits_for_its_new_end(library: Library) -> None:
    due = a_deck(library, "2024-01-01")
    library.append(f"{due}-2024-01-01", Reopened(), at=noon("2025-05-01"))
    assert found(library) == {}
    library.append(f"{due}-2024-01-01", Finished(), at=noon("2025-05-02"))
    assert found(library) == {}
    assert found(library, date(2026, 5, 2)) == {due: date(2026, 5, 2)}


def test_only_what_changed_is_looked_at_again(library: Library) -> None:
    first = a_deck(library, "2024-01-01")
    search = DueSearch(library)
    assert looked(search)
    assert not looked(search)
    library.keep_deck(deck(name="Example deck, seldom", check_months=120), id=first)
    assert looked(search)
    assert search.due(TODAY) == ()
    second = a_deck(library, "2024-02-01")
    assert looked(search)
    assert [one.deck_id for one in search.due(TODAY)] == [second]


def looked(search: DueSearch) -> bool:
    """Look anew; return whether any record was read for it."""
    search.begin()
    has_read = False
    while not search.is_done:
        has_read |= bool(search._waiting)
        search.go_on()
    return has_read


def test_decks_are_listed_in_portions_and_none_is_left_out(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    due = {a_deck(library, "2024-01-01") for _ in range(9)}
    a_deck(library)
    for most in (1, 2, 3, 5, 9, 10, 11):
        monkeypatch.setattr("core.maintenance.search._LISTED", most)
        assert set(found(library)) == due
    monkeypatch.setattr("core.maintenance.search._LISTED", 3)
    search = DueSearch(library)
    assert looked(search)
    away = min(due)
    library.archive("deck", [away], archived=True)
    assert not looked(search)
    assert {one.deck_id for one in search.due(TODAY)} == due - {away}


def test_no_log_is_read_to_find_what_is_due(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One question for each of 20,000 fittings took more time than all else."""
    due = a_deck(library, "2022-01-01", "2023-06-01")
    asked: list[str] = []
    select = library._backend.select

    def noted(table: str, *rest: Any, **how: Any) -> Any:
        asked.append(table)
        return select(table, *rest, **how)

    monkeypatch.setattr(library._backend, "select", noted)
    assert found(library) == {due: date(2024, 6, 1)}
    assert "entries" not in asked


def test_what_an_earlier_version_did_not_keep_is_read_from_the_log(library: Library) -> None:
    due = a_deck(library, "2022-01-01", "2023-06-01")
    with library.transaction():
        library._backend.update("fittings", {"checked_at": ""}, {"deck_id": due})
    assert found(library) == {due: date(2024, 6, 1)}


def test_a_record_older_than_the_field_has_the_usual_months(library: Library) -> None:
    due = a_deck(library, "2024-01-01")
    with library.transaction():
        ((body,),) = library._backend.select("thing_revisions", ("body",), {"thing_id": due})
        earlier = body.replace('"check_months":12,', "")  # as an earlier program wrote it
        library._backend.update("thing_revisions", {"body": earlier}, {"thing_id": due})
    assert found(library) == {due: date(2025, 1, 1)}


def test_it_says_the_same_as_the_history_of_each_deck(library: Library) -> None:
    start = date(2023, 1, 31)
    ids = [
        a_deck(
            library,
            *(
                (start + timedelta(days=37 * place + 100 * turn)).isoformat()
                for turn in range(turns)
            ),
            months=months,
        )
        for place, (turns, months) in enumerate(
            [(1, 12), (2, 6), (3, 1), (0, 12), (2, None), (1, 18), (4, 3)] * 6
        )
    ]
    due = found(library)
    for deck_id in ids:
        record = library.deck(deck_id).thing
        visits = [visit_of(library.fitting(row.id)) for row in library.fittings(deck_id=deck_id)]
        told = check_due(record, visits, TODAY)
        assert (deck_id in due) == bool(told and told.is_due)
        if told is not None and told.is_due:
            assert due[deck_id] == told.on
            ends = [visit.finished for visit in visits if visit.finished]
            assert told.on == months_after(max(ends), record.check_months or 0)
