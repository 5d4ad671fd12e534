"""The service record of decks: kept, withdrawn, and the way to another bench and back."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from pydantic import ValidationError

from core.language import Numbers
from core.records import Service, ServicePart
from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind
from core.store.addresses import address_of
from core.store.documents import Document, DocumentProblem, document_from
from core.store.exporting import Selection, of_cartridges, of_decks, of_library
from core.store.importing import ImportDecision, MatchKind, plan, take_in
from core.store.rescue import rescue
from core.store.taking_back import take_back
from tests.core.store.worked import content_of, everything
from tests.examples import cartridge, deck
from tests.visits import keep


def service(deck_id: str, done: str = "New belt", day: str = "2024-03-01") -> Service:
    return Service(deck=deck_id, part=ServicePart.BELT, day=day, done=done, months=24)


@pytest.fixture
def deck_id(library: Library) -> str:
    kept = library.keep_deck(deck()).id
    library.service.add(service(kept), "one", who="Ann")
    library.service.add(service(kept, "Belt washed", "2025-03-01"), "two", who="Ben")
    return kept


def document_of(library: Library, selection: Selection) -> Document:
    return document_from(content_of(library, selection), "one.json")


def said(library: Library, deck_id: str) -> list[tuple[str, str, bool]]:
    kept = library.service.of_deck(deck_id)
    return [(one.thing.done, one.who, bool(one.thing.withdrawn)) for one in kept]


def test_an_entry_stays_as_it_was_and_a_withdrawal_is_one_revision_more(
    library: Library, deck_id: str
) -> None:
    library.service.withdraw("one", "2025-04-01", who="Ben")
    assert said(library, deck_id) == [("Belt washed", "Ben", False), ("New belt", "Ben", True)]
    history = library.service.records.history("one")
    assert [(one.who, one.thing.withdrawn) for one in history] == [
        ("Ann", ""),
        ("Ben", "2025-04-01"),
    ]
    library.service.withdraw("one", "", who="Ann")
    assert [one.thing.withdrawn for one in library.service.records.history("one")] == [
        "",
        "2025-04-01",
        "",
    ]


def test_an_entry_that_is_saved_again_after_a_failure_is_there_once(
    library: Library, deck_id: str
) -> None:
    library.service.add(service(deck_id), "one", who="Ann")
    assert len(library.service.of_deck(deck_id)) == 2


def test_an_entry_needs_a_deck_a_day_words_and_both_mats(library: Library) -> None:
    with pytest.raises(LibraryProblem) as caught:
        library.service.add(service("nowhere"), who="Ann")
    assert caught.value.kind is ProblemKind.NO_SUCH_RECORD
    for wrong in ({"day": ""}, {"day": "2025-02-30"}, {"done": "  "}, {"mat_after_mm": 2.0}):
        with pytest.raises(ValidationError):
            Service.model_validate(
                {"part": "mat", "day": "2025-01-01", "done": "New mat", "deck": "a"} | wrong
            )


def test_a_deck_takes_its_service_record_to_another_bench_and_withdrawals_follow(
    library: Library, deck_id: str, other_address: LibraryAddress
) -> None:
    with Library.open(other_address) as other:
        first = document_of(library, of_decks(library, deck_id))
        brought = take_in(other, plan(other, first), {})
        assert said(other, deck_id) == said(library, deck_id)
        again = plan(other, first)
        assert again.count(MatchKind.SAME) == len(again.items)
        library.service.withdraw("two", "2025-04-01", who="Ann")
        later = document_of(library, of_library(library))
        take_in(other, plan(other, later), {})
        assert said(other, deck_id) == said(library, deck_id)
        before = everything(library)
        take_in(library, plan(library, document_of(other, of_library(other))), {})
        assert everything(library) == before
        undone = take_back(other, brought)
        assert undone.archived["service"] == 1
        assert undone.left == [("service", "two")], "it was withdrawn since"
        cartridge_id = library.keep_cartridge(cartridge()).id
        assert document_of(library, of_cartridges(library, cartridge_id)).services == ()


def test_a_deck_that_is_kept_as_a_second_one_has_its_service_record(
    library: Library, deck_id: str, other_address: LibraryAddress
) -> None:
    with Library.open(other_address) as other:
        take_in(other, plan(other, document_of(library, of_decks(library, deck_id))), {})
        other.keep_deck(deck(notes="there"), id=deck_id)
        library.keep_deck(deck(notes="here"), id=deck_id)
        other.service.add(service(deck_id, "Belt turned"), "three", who="Cleo")
        document = document_of(other, of_decks(other, deck_id))
        planned = plan(library, document)
        (conflict,) = planned.conflicts
        take_in(library, planned, {conflict.id: ImportDecision.BOTH})
        (second,) = (
            row.id for row in library.decks() if library.deck(row.id).thing.notes == "there"
        )
        assert {done for done, *_ in said(library, second)} == {
            "New belt",
            "Belt washed",
            "Belt turned",
        }
        assert len(said(library, deck_id)) == 2
        assert plan(library, document).count(MatchKind.SAME) == len(planned.items)


def test_a_document_with_the_service_record_of_a_deck_it_has_not_is_refused(
    library: Library, deck_id: str
) -> None:
    selection = Selection("Services", services=library.service.ids_of([deck_id]))
    with pytest.raises(DocumentProblem):
        document_of(library, selection)


def test_a_rescue_keeps_the_service_record(place: Path, library: Library, deck_id: str) -> None:
    library.service.withdraw("one", "2025-04-01", who="Ben")
    before = {one: library.service.records.history(one) for one in ("one", "two")}
    library.close()
    target = place.with_name("rescued.library")
    told = rescue(address_of(place), address_of(target), keep_strays=lambda _strays: None)  # type: ignore[arg-type, return-value]  # there are none
    assert [Numbers().text(line) for line in told.lines()] == []
    with Library.open(target) as other:
        assert {one: other.service.records.history(one) for one in before} == before
        assert said(other, deck_id)[0] == ("Belt washed", "Ben", False)


@pytest.mark.parametrize("is_fitted", [False, True])
def test_the_list_of_decks_finds_and_shows_service_that_is_due(
    library: Library, deck_id: str, *, is_fitted: bool
) -> None:
    """Months by hand: 24 after 2023-01-01. Of the belt only the last entry counts."""
    other = library.keep_deck(deck(name="Other deck", check_months=None, hours_a_week=7.0)).id
    late = service(other, day="2023-01-01")
    library.service.add(late, "three", who="Ann")
    if is_fitted:
        keep(library, "2024-01-01", other, library.keep_cartridge(cartridge()).id)
    listing = library.deck_listing()
    (place,) = listing.find("due", only=frozenset({"due"}))
    row = listing.row(place)
    assert row.name == "Other deck"
    assert row.service_due == date(2025, 1, 1)
    assert (row.work is not None) is is_fitted
    library.service.withdraw("three", "2025-04-01", who="Ben")
    assert library.deck_listing().row(place).service_due is None


def test_hours_of_play_date_a_service_in_the_list_of_decks(library: Library) -> None:
    """100 h at 7 h a week are 100 days: 2024-01-01 to 2024-04-10 (by hand, a leap year)."""
    played = library.keep_deck(deck(hours_a_week=7.0)).id
    oil = service(played, "Oil", "2024-01-01").model_copy(update={"months": None, "hours": 100.0})
    library.service.add(oil, who="Ann")
    listing = library.deck_listing()
    assert listing.row(listing.place_of(played)).service_due == date(2024, 4, 10)
