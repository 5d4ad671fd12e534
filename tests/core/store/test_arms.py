"""Decks with several arms in a library: fittings on each, lists, documents, and wrong days."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from core.fitting import ArmUsed, Finished
from core.language import message
from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind
from core.store.addresses import address_of
from core.store.document_text import DocumentProblem
from core.store.documents import read_document
from core.store.exporting import of_decks, of_library, write_document
from core.store.importing import MatchKind, plan, take_in
from core.store.listing import Listing
from core.store.rescue import rescue
from core.store.taking_back import take_back
from tests.arms import FRONT, REAR, rear_arm, two_arms
from tests.examples import cartridge, deck

DAY = datetime(2026, 3, 3, 12, tzinfo=UTC)


def shop(library: Library) -> tuple[str, str, str]:
    """Fit one cartridge in front, then another at the rear; return the ids of all three."""
    deck_id = library.keep_deck(two_arms()).id
    first = library.keep_cartridge(cartridge(name="Cartridge in front")).id
    second = library.keep_cartridge(cartridge(name="Cartridge at the rear")).id
    for days, (key, one) in enumerate(((FRONT, first), (REAR, second))):
        at = DAY + timedelta(days=days)
        fitting = library.start_fitting(deck_id, one, arm_key=key, at=at)
        library.append(fitting.id, Finished(), at=at)
    return deck_id, first, second


def found(listing: Listing[Any], words: str = "") -> list[Any]:
    return [listing.row(place) for place in listing.find(words)]


def test_fittings_are_found_by_their_arm(library: Library) -> None:
    deck_id, first, second = shop(library)
    front, rear = (library.fittings(deck_id=deck_id, arm_key=key) for key in (FRONT, REAR))
    assert [row.cartridge_id for row in front] == [first]
    assert [(row.cartridge_id, row.arm_name) for row in rear] == [(second, "Rear arm")]
    said = library.fitting(rear[0].id).arm
    assert said is not None
    assert said.arm == rear_arm().arm


def test_a_deck_with_one_arm_is_never_asked_for_it(library: Library) -> None:
    deck_id = library.keep_deck(deck()).id
    fitting = library.start_fitting(deck_id, library.keep_cartridge(cartridge()).id)
    assert fitting.entries == ()
    assert library.fittings()[0].arm_name == ""


def test_an_arm_that_is_gone_by_now_begins_no_fitting(library: Library) -> None:
    deck_id = library.keep_deck(deck()).id
    with pytest.raises(LibraryProblem) as problem:
        library.start_fitting(deck_id, library.keep_cartridge(cartridge()).id, arm_key=REAR)
    assert problem.value.kind is ProblemKind.UNSUITABLE
    assert library.fittings() == ()


def test_an_arm_with_fittings_is_put_away_not_removed(library: Library) -> None:
    deck_id, *_ = shop(library)
    with pytest.raises(LibraryProblem) as problem:
        library.keep_deck(deck(), id=deck_id)
    assert problem.value.what.key == "storage.arm_in_use"
    assert library.deck(deck_id).thing == two_arms()
    away = two_arms(further_arms=(rear_arm(put_away=True),))
    assert library.keep_deck(away, id=deck_id).revision == 2


def test_an_arm_without_fittings_may_be_removed(library: Library) -> None:
    deck_id = library.keep_deck(two_arms()).id
    assert library.keep_deck(deck(), id=deck_id).thing.further_arms == ()


def test_the_list_says_what_is_on_each_arm(library: Library) -> None:
    deck_id, *_ = shop(library)
    (row,) = found(library.deck_listing(), "rear arm")
    assert row.id == deck_id
    work = row.work
    assert work is not None
    assert [(one.arm_name, one.cartridge_name) for one in work.arms] == [
        ("Front arm", "Cartridge in front"),
        ("Rear arm", "Cartridge at the rear"),
    ]


def test_a_deck_is_due_as_soon_as_one_of_its_arms_is(library: Library) -> None:
    deck_id, *_ = shop(library)
    (work,) = [row.work for row in found(library.deck_listing()) if row.id == deck_id]
    assert work is not None
    assert str(work.due) == "2027-03-03"  # twelve months after the front arm's, the earlier
    rows = {row.arm_name: row.due for row in found(library.log.listing())}
    assert {name: str(day) for name, day in rows.items()} == {
        "Front arm": "2027-03-03",
        "Rear arm": "2027-03-04",
    }
    library.keep_deck(two_arms(further_arms=(rear_arm(put_away=True),)), id=deck_id)
    (work,) = [row.work for row in found(library.deck_listing()) if row.id == deck_id]
    assert work is not None
    assert str(work.due) == "2027-03-03"


def test_fittings_are_searched_by_the_name_of_their_arm(library: Library) -> None:
    _, _, second = shop(library)
    listing = library.log.listing()
    assert [row.cartridge_id for row in found(listing, "rear arm")] == [second]
    assert second not in [row.cartridge_id for row in found(listing, "front arm")]


def test_another_bench_gets_the_arms_with_their_fittings(
    library: Library, other_address: LibraryAddress, tmp_path: Path
) -> None:
    deck_id, _, second = shop(library)
    path = tmp_path / "deck.json"
    write_document(library, path, of_decks(library, deck_id))
    with Library.open(other_address) as other:
        take_in(other, plan(other, read_document(path)), {})
        assert other.deck(deck_id).thing == two_arms()
        (row,) = other.fittings(deck_id=deck_id, arm_key=REAR)
        assert (row.cartridge_id, row.arm_name) == (second, "Rear arm")
        again = plan(other, read_document(path))
        assert again.count(MatchKind.SAME) == len(again.items)


def test_a_document_with_two_arms_of_one_name_is_refused(library: Library, tmp_path: Path) -> None:
    deck_id = library.keep_deck(two_arms()).id
    path = tmp_path / "deck.json"
    write_document(library, path, of_decks(library, deck_id))
    said = json.loads(path.read_text(encoding="utf-8"))
    said["decks"][0]["revisions"][0]["thing"]["first_arm_name"] = "Rear arm"
    path.write_text(json.dumps(said), encoding="utf-8")
    with pytest.raises(DocumentProblem):
        read_document(path)


def test_a_fitting_on_an_arm_that_the_deck_has_not_is_taken_in_and_stands_on_its_own(
    library: Library, other_address: LibraryAddress, tmp_path: Path
) -> None:
    deck_id, *_ = shop(library)
    path = tmp_path / "deck.json"
    write_document(library, path, of_decks(library, deck_id))
    said = json.loads(path.read_text(encoding="utf-8"))
    thing = said["decks"][0]["revisions"][0]["thing"]
    thing["further_arms"], thing["first_arm_name"] = [], ""
    path.write_text(json.dumps(said), encoding="utf-8")
    with Library.open(other_address) as other:
        take_in(other, plan(other, read_document(path)), {})
        (row,) = other.fittings(deck_id=deck_id, arm_key=REAR)
        assert row.arm_name == ""
        fitting = other.fitting(row.id)
        assert fitting.arm is not None
        assert fitting.arm.arm.effective_length_mm == 308.8
        assert {one.arm_key for one in found(other.log.listing())} == {FRONT, REAR}


def test_hostile_names_of_arms_stay_words(library: Library) -> None:
    name = '<b>Rear</b>\targ & "arm"\u202e'
    deck_id = library.keep_deck(two_arms(further_arms=(rear_arm(name),))).id
    library.start_fitting(deck_id, library.keep_cartridge(cartridge()).id, arm_key=REAR)
    (row,) = library.fittings(deck_id=deck_id)
    assert row.arm_name == " ".join(name.split())
    assert found(library.deck_listing(), "arg & ")[0].id == deck_id


def test_arms_are_rescued_with_their_fittings(place: Path) -> None:
    with Library.open(place) as library:
        deck_id, *_ = shop(library)
    target = address_of(place.with_name("new.library"))
    told = rescue(address_of(place), target, keep_strays=lambda _: message("swap.unread"))
    assert told.lost == []
    with Library.open(target) as rescued:
        assert [row.arm_name for row in rescued.fittings(deck_id=deck_id, arm_key=REAR)] == [
            "Rear arm"
        ]


def test_a_whole_library_is_written_with_its_arms(library: Library, tmp_path: Path) -> None:
    shop(library)
    path = tmp_path / "all.json"
    write_document(library, path, of_library(library))
    kinds = {
        type(entry.body) for fitting in read_document(path).fittings for entry in fitting.entries
    }
    assert ArmUsed in kinds


def test_an_arm_that_fittings_here_name_is_put_away_not_lost_by_an_import(
    library: Library, other_address: LibraryAddress, tmp_path: Path
) -> None:
    deck_id = library.keep_deck(two_arms()).id
    cartridge_id = library.keep_cartridge(cartridge()).id
    path = tmp_path / "deck.json"
    write_document(library, path, of_decks(library, deck_id))
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, read_document(path)), {})
        other.keep_deck(deck(name="One arm less"), id=deck_id)
        write_document(other, path, of_decks(other, deck_id))
    fitting = library.start_fitting(deck_id, cartridge_id, arm_key=REAR)
    brought = take_in(library, plan(library, read_document(path)), {})
    now = library.deck(deck_id).thing
    assert now.name == "One arm less"
    assert [(arm.key, arm.put_away) for arm in now.further_arms] == [(REAR, True)]
    assert library.fittings()[0].arm_name == "Rear arm"
    assert plan(library, read_document(path)).count(MatchKind.SAME) == 1
    take_back(library, brought)
    assert library.deck(deck_id).thing == two_arms()
    assert library.fitting(fitting.id).arm is not None


def test_an_import_is_not_taken_back_under_a_fitting_on_the_arm_it_brought(
    library: Library, other_address: LibraryAddress, tmp_path: Path
) -> None:
    deck_id = library.keep_deck(deck()).id
    cartridge_id = library.keep_cartridge(cartridge()).id
    path = tmp_path / "deck.json"
    write_document(library, path, of_decks(library, deck_id))
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, read_document(path)), {})
        other.keep_deck(two_arms(), id=deck_id)
        write_document(other, path, of_decks(other, deck_id))
    brought = take_in(library, plan(library, read_document(path)), {})
    library.start_fitting(deck_id, cartridge_id, arm_key=REAR)
    assert take_back(library, brought).left == [("deck", deck_id)]
    assert library.deck(deck_id).thing == two_arms()
