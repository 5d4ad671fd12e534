"""A list of decks reads of the fittings no more than is seen or asked for."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from core.language import message
from core.records import Service, ServicePart
from core.store import Library, LibraryProblem
from core.store.problems import ProblemKind
from tests.examples import cartridge, deck
from tests.visits import keep


@pytest.fixture
def asked(library: Library, monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """Under which conditions fittings are read, as it happens."""
    pick = library.keep_cartridge(cartridge(name="Own pick")).id
    for name in ("One", "Two", "Three"):
        keep(library, "2024-03-01", library.keep_deck(deck(name=name)).id, pick)
    found: list[dict[str, Any]] = []
    for name in ("select", "select_in_parts"):
        read = getattr(library._backend, name)

        def noted(table: str, columns: Any, where: Any = None, read: Any = read, **how: Any) -> Any:
            if table == "fittings":
                found.append(dict(where))
            return read(table, columns, where, **how)

        monkeypatch.setattr(library._backend, name, noted)
    return found


def test_a_list_that_nobody_looks_at_reads_no_fitting(
    library: Library, asked: list[dict[str, Any]]
) -> None:
    listing = library.deck_listing()
    listing.find("one")
    listing.find(order="name")
    assert asked == []


def test_a_row_asks_for_its_own_fittings_and_several_rows_ask_once(
    library: Library, asked: list[dict[str, Any]]
) -> None:
    listing = library.deck_listing()
    places = [*listing.find("two"), *listing.find("three")]
    rows = listing.rows(places)
    assert [row.work.cartridge_name for row in rows if row.work] == ["Own pick"] * 2
    assert [one["deck_id"] for one in asked] == [tuple(listing.ids[place] for place in places)]


def test_a_search_for_what_is_due_reads_all_once(
    library: Library, asked: list[dict[str, Any]]
) -> None:
    listing = library.deck_listing()
    # 12 months after March 2024 have passed.
    assert len(listing.find(only=frozenset({"due"}))) == 3
    assert len(listing.find("due")) == 3
    assert len(asked) == 1


def test_what_can_no_longer_be_read_is_told_and_the_list_stays(
    library: Library, asked: list[dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    listing = library.deck_listing()
    problem = LibraryProblem(ProblemKind.DAMAGED, message("storage.cant_be_written"))

    def fails(*_args: object, **_how: object) -> None:
        raise problem

    for name in ("select", "select_in_parts"):
        monkeypatch.setattr(library._backend, name, fails)
    place = listing.find("one")[0]
    with pytest.raises(LibraryProblem):
        listing.row(place)
    told: list[LibraryProblem] = []
    listing.troubled = told.append
    row = listing.row(place)
    assert (row.name, row.work) == ("One", None)
    assert listing.find(only=frozenset({"due"})) == []
    assert told == [problem, problem]
    assert asked == []


def test_what_is_due_is_read_a_few_decks_at_a_time_and_once(
    library: Library, asked: list[dict[str, Any]]
) -> None:
    another = library.keep_cartridge(cartridge(name="Another")).id
    keep(library, "2024-04-01", library.decks()[0].id, another, finished=False)
    listing, plain = library.deck_listing(), library.deck_listing()
    filters = [frozenset({one}) for one in ("kept", "mine", "under way", "due")]
    found = [plain.find(only=one) for one in filters]
    assert len(found[2]) == 1
    assert found[3]
    asked.clear()
    assert not listing.prepare(2)
    while not listing.prepare(2):
        pass
    assert max(len(one["deck_id"]) for one in asked) == 2
    assert [deck for one in asked for deck in one["deck_id"]] == listing.ids
    count = len(asked)
    assert listing.prepare(2)
    assert [listing.find(only=one) for one in filters] == found
    assert listing.keys("cartridge_name") == plain.keys("cartridge_name")
    assert len(asked) == count


def test_a_row_takes_what_is_due_of_service_from_what_was_read_ahead(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = library.keep_deck(deck(name="Belt-driven", hours_a_week=7.0)).id
    library.keep_deck(deck(name="Never serviced"))
    belt = Service(deck=one, part=ServicePart.BELT, day="2024-03-01", done="New belt", hours=70.0)
    library.service.add(belt, who="")
    listing = library.deck_listing()
    before = listing.rows(range(len(listing)))
    assert {row.id: row.service_due for row in before if row.service_due} == {
        one: date(2024, 5, 10)  # 70 hours at 7 a week are 70 days
    }
    while not listing.prepare(1):
        pass
    asked: list[str] = []
    select = library._backend.select

    def noted(table: str, *rest: Any, **how: Any) -> Any:
        asked.append(table)
        return select(table, *rest, **how)

    monkeypatch.setattr(library._backend, "select", noted)
    assert listing.rows(range(len(listing))) == before
    assert "services" not in asked


def test_what_is_due_on_all_decks_is_never_read_at_once(
    library: Library, asked: list[dict[str, Any]]
) -> None:
    """The records of thousands of decks would take many megabytes at the same time."""
    with library.transaction():
        for number in range(450):
            library.keep_deck(deck(name=f"Of many, {number}"))
    assert len(library.deck_listing().due) > 450
    assert max(len(one["deck_id"]) for one in asked) <= 200


def test_a_problem_while_what_is_due_is_read_is_told_once(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    listing = library.deck_listing()
    problem = LibraryProblem(ProblemKind.DAMAGED, message("storage.cant_be_written"))

    def fails(*_args: object, **_how: object) -> None:
        raise problem

    monkeypatch.setattr(library._backend, "select_in_parts", fails)
    told: list[LibraryProblem] = []
    listing.troubled = told.append
    while not listing.prepare(1):
        pass
    assert set(listing.due) == {None}
    assert told == [problem]


def test_rows_read_in_parts_are_those_that_are_read_at_once(library: Library) -> None:
    with library.transaction():
        for number in range(1100):
            library.keep_deck(deck(name=f"Of many, {number}"))
    for where in ({"sort": "deck"}, {"name": tuple(f"Of many, {one}" for one in range(1050))}, {}):
        parts = list(library._backend.select_in_parts("things", ("id", "name"), where))
        at_once = library._backend.select("things", ("id", "name"), where)
        assert len(parts) > 1
        assert sorted(row for part in parts for row in part) == sorted(at_once)


def test_the_first_stroke_finds_the_texts_that_it_ranks_ready(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    deck_id = library.keep_deck(deck(name="Bench deck 270")).id
    keep(library, "2024-03-01", deck_id, library.keep_cartridge(cartridge()).id)
    for listing in (library.deck_listing(), library.log.listing()):
        while not listing.prepare(2):
            pass
        with monkeypatch.context() as patch:
            patch.setattr("core.store.listing.spaced", lambda text: f"[{text}]")
            assert "[" not in "".join(listing._texts())
        assert listing.find("270")
