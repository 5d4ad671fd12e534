"""The library keeps what it is told, all of it, and finds it again."""

from __future__ import annotations

import math
from contextlib import suppress
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.fitting import (
    Body,
    Control,
    Finished,
    Fitting,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    Reopened,
    StepAccepted,
    ThingsRevised,
    Verdict,
    Withdrawn,
    new_id,
)
from core.records import Deck
from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind
from core.store.sqlite.schema import SCHEMA
from tests.examples import cartridge, deck

SOME_DAY = datetime(2025, 3, 1, 9, 30, 0, 123456, tzinfo=UTC)


def test_a_deck_is_found_again_after_reopening(address: LibraryAddress) -> None:
    with Library.open(address, "Ann") as library:
        kept = library.keep_deck(deck(owner_reference="Shelf 3", notes="umlaut ä, emoji 🎵"))
    with Library.open(address) as library:
        again = library.deck(kept.id)
    assert again == kept
    assert (again.revision, again.who, again.archived) == (1, "Ann", False)


def test_a_change_is_a_new_revision_and_the_old_one_stays(library: Library) -> None:
    first = library.keep_deck(deck())
    second = library.keep_deck(deck(arm={"offset_deg": 22.0}), id=first.id, who="Bo")
    assert (second.revision, second.who) == (2, "Bo")
    assert library.deck(first.id).thing.arm.offset_deg == 22.0
    assert library.deck(first.id, 1).thing == first.thing
    assert [kept.revision for kept in library.deck_records.history(first.id)] == [1, 2]


def test_unchanged_content_makes_no_revision(library: Library) -> None:
    first = library.keep_cartridge(cartridge())
    assert library.keep_cartridge(cartridge(), id=first.id) == first
    assert len(library.cartridge_records.history(first.id)) == 1


def test_a_change_made_elsewhere_is_not_passed_over(library: Library) -> None:
    first = library.keep_deck(deck())
    library.keep_deck(deck(notes="from the other window"), id=first.id, based_on=1)
    with pytest.raises(LibraryProblem, match="changed in another window") as caught:
        library.keep_deck(deck(notes="from this window"), id=first.id, based_on=1)
    assert caught.value.kind is ProblemKind.CHANGED_ELSEWHERE
    assert library.deck(first.id).thing.notes == "from the other window"


def test_archiving_hides_nothing_and_comes_back(library: Library, fitting: Fitting) -> None:
    library.archive("deck", [fitting.deck_id], archived=True)
    library.archive("cartridge", [fitting.cartridge_id], archived=True)
    library.archive_fitting(fitting.id)
    assert library.deck(fitting.deck_id).archived
    assert fitting.deck_id not in [row.id for row in library.decks(archived=False)]
    assert fitting.deck_id in [row.id for row in library.decks()]
    assert library.fittings(archived=False) == ()
    library.archive("deck", [fitting.deck_id], archived=False)
    library.archive_fitting(fitting.id, archived=False)
    assert not library.deck(fitting.deck_id).archived
    assert [row.id for row in library.fittings(archived=False)] == [fitting.id]


@pytest.mark.parametrize("words", ["job 17", "JOB", "17 9-inch", "%", "_", "\\", "ÄRM"])
def test_searching_finds_names_that_hold_all_words(library: Library, words: str) -> None:
    library.keep_deck(deck(name="Job 17, 9-inch, 100% _sure_, C:\\ärm"))
    listing = library.deck_records.listing()
    found = [listing.row(place).name for place in listing.find(words)]
    assert found == ["Job 17, 9-inch, 100% _sure_, C:\\ärm"] or words == "17 9-inch"
    assert "Job 17, 9-inch, 100% _sure_, C:\\ärm" in found


def test_searching_fittings_by_owner_cartridge_date_and_state(
    library: Library, fitting: Fitting
) -> None:
    library.append(fitting.id, Finished(), at=SOME_DAY)
    other = library.start_fitting(fitting.deck_id, fitting.cartridge_id, at=SOME_DAY)
    every, under_way = library.log.listing(), library.log.listing(finished=False)
    assert {every.ids[at] for at in every.find("job elliptical")} == {fitting.id, other.id}
    assert [under_way.ids[at] for at in under_way.find("2025-03")] == [other.id]
    assert [row.id for row in library.fittings(finished=False)] == [other.id]
    assert [row.id for row in library.fittings(finished=True)] == [fitting.id]
    assert every.find("no such word") == []
    assert len(library.fittings(limit=1)) == 1
    assert library.fittings(deck_id="elsewhere") == ()


def test_every_sort_of_entry_is_found_again_in_order(address: LibraryAddress) -> None:
    bodies: list[Body] = [
        ReadingTaken(step="level", reading={"way": "bubble", "slope": 1.25, "list": [1, 2.5]}),
        MoveMade(step="level", parts=(MovePart(control=Control.FOOT, amount=-0.5, unit="mm"),)),
        StepAccepted(step="level", verdict=Verdict.MOVE, reason="the shelf is what it is"),
        NoteWritten(text="Zeile 1\nZeile 2 – „ja“"),
        Finished(),
        Reopened(reason="came back"),
    ]
    with Library.open(address, "Ann") as library:
        kept_deck, kept_cartridge = library.keep_deck(deck()), library.keep_cartridge(cartridge())
        begun = library.start_fitting(kept_deck.id, kept_cartridge.id)
        entries = [library.append(begun.id, body) for body in bodies]
        entries.append(library.append(begun.id, Withdrawn(entry=entries[0].id, reason="slip")))
        library.keep_deck(deck(notes="now with notes"), id=kept_deck.id)
        revised = ThingsRevised(deck_revision=2, cartridge_revision=1)
        entries.append(library.append(begun.id, revised, who="Bo", at=SOME_DAY))
    with Library.open(address) as library:
        again = library.fitting(begun.id)
    assert again.entries == tuple(entries)
    assert [entry.who for entry in again.entries] == ["Ann"] * 7 + ["Bo"]
    assert again.revisions == (2, 1)
    assert not again.is_finished


def test_a_list_row_says_when_and_whether_finished(library: Library, fitting: Fitting) -> None:
    closing = library.append(fitting.id, Finished(), at=SOME_DAY)
    (row,) = library.fittings()
    assert (row.finished, row.last_at, row.entry_count) == (True, SOME_DAY, 1)
    assert (row.owner_reference, row.cartridge_name) == ("Job 17", "Example cartridge, elliptical")
    undo = library.append(fitting.id, Withdrawn(entry=closing.id))
    assert not library.fittings()[0].finished
    library.append(fitting.id, Withdrawn(entry=undo.id))
    assert library.fittings()[0].finished
    library.append(fitting.id, Reopened())
    assert library.fittings()[0].finished is library.fitting(fitting.id).is_finished is False


def test_appending_the_same_entry_again_changes_nothing(library: Library, fitting: Fitting) -> None:
    number = new_id()
    note = NoteWritten(text="once")
    first = library.append(fitting.id, note, entry_id=number, at=SOME_DAY)
    assert library.append(fitting.id, note, entry_id=number) == first
    assert library.fitting(fitting.id).entries == (first,)
    with pytest.raises(LibraryProblem, match="Another entry has the number"):
        library.append(fitting.id, NoteWritten(text="other words"), entry_id=number)


def test_a_time_in_another_zone_is_the_same_moment(library: Library, fitting: Fitting) -> None:
    local = SOME_DAY.astimezone(timezone(timedelta(hours=-7)))
    library.append(fitting.id, NoteWritten(text="x"), at=local)
    assert library.fitting(fitting.id).entries[0].at == local


@pytest.mark.parametrize(
    "body",
    [
        MoveMade(step="level", parts=(MovePart(control=Control.FOOT, amount=math.nan, unit="mm"),)),
        ReadingTaken(step="level", reading={"slope": math.inf}),
        ReadingTaken(step="level", reading={"words": "half a \ud800 character"}),
        ThingsRevised(deck_revision=99, cartridge_revision=1),
    ],
)
def test_what_no_file_can_hold_is_refused_in_one_sentence(
    library: Library, fitting: Fitting, body: NoteWritten
) -> None:
    with pytest.raises(LibraryProblem) as caught:
        library.append(fitting.id, body)
    assert caught.value.kind is ProblemKind.UNSUITABLE
    assert caught.value.sentence.endswith(".")
    assert caught.value.sentence.count(".") == 1
    assert library.fitting(fitting.id).entries == ()


def test_a_name_with_half_a_character_is_refused(library: Library) -> None:
    before = library.decks()
    with pytest.raises(LibraryProblem, match="a broken character"):
        library.keep_deck(deck(), who="half a \ud800 character")
    assert library.decks() == before


@pytest.mark.parametrize("number", ["nothing", "", "'; DROP TABLE things; --", "x" * 10_000])
def test_a_number_that_is_not_here_is_said(library: Library, fitting: Fitting, number: str) -> None:
    for ask in (
        lambda: library.deck(number),
        lambda: library.cartridge(number),
        lambda: library.deck(fitting.deck_id, 7),
        lambda: library.cartridge(fitting.deck_id),
        lambda: library.fitting(number),
        lambda: library.append(number, NoteWritten(text="x")),
        lambda: library.start_fitting(number, fitting.cartridge_id),
        lambda: library.keep_deck(deck(), id=number),
        lambda: library.archive("deck", [number], archived=True),
        lambda: library.archive_fitting(number),
    ):
        with pytest.raises(LibraryProblem) as caught:
            ask()
        assert caught.value.kind is ProblemKind.NO_SUCH_RECORD
        assert caught.value.remedy


def test_several_changes_are_kept_together_or_not_at_all(library: Library) -> None:
    before = library.decks()
    with suppress(ZeroDivisionError), library.transaction():
        library.keep_deck(deck())
        library.keep_cartridge(cartridge())
        raise ZeroDivisionError
    assert library.decks() == before
    library.keep_deck(deck())
    assert len(library.decks()) == len(before) + 1


def test_starters_come_once_and_stay_away_when_archived(address: LibraryAddress) -> None:
    with Library.open(address) as library:
        starters = {row.id for row in library.decks()}
        assert len(starters) >= 5
        library.archive("deck", [*starters], archived=True)
        library.add_starters()
    with Library.open(address) as library:
        assert {row.id for row in library.decks()} == starters
        assert library.decks(archived=False) == ()
        assert all(row.revision == 1 for row in library.decks())


def test_starters_interrupted_at_creation_are_added_on_the_next_opening(
    address: LibraryAddress, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(Library, "add_starters", lambda _: None)
        Library.open(address).close()
    with Library.open(address) as library:
        assert len(library.decks()) >= 5


def test_another_window_sees_a_change_at_once_and_can_tell(
    address: LibraryAddress, library: Library
) -> None:
    with Library.open(address) as other:
        mark = other.others_wrote()
        kept = library.keep_deck(deck())
        assert other.others_wrote() != mark
        assert other.deck(kept.id) == kept


def test_whether_it_holds_more_than_so_many_counts_things_and_fittings(
    library: Library, fitting: Fitting
) -> None:
    held = len(library.decks()) + len(library.cartridges()) + len(library.fittings())
    assert library.has_more_than(held - 1)
    assert not library.has_more_than(held)
    library.start_fitting(fitting.deck_id, fitting.cartridge_id)
    assert library.has_more_than(held)


def test_a_sound_library_has_no_faults(library: Library, fitting: Fitting) -> None:
    library.append(fitting.id, NoteWritten(text="x"))
    assert library.faults() == []


def test_a_missing_row_is_a_fault(place: Path, library: Library, fitting: Fitting) -> None:
    library.append(fitting.id, NoteWritten(text="x"))
    library._backend.run("PRAGMA foreign_keys=OFF")
    library._backend.run("DELETE FROM fittings")
    assert library.faults() == ["a row of entries names a missing row of fittings"]


def test_the_file_says_whose_it_is(place: Path, library: Library) -> None:
    library.close()
    header = place.read_bytes()[:100]
    assert header[68:72] == b"Setd"  # SQLite file format 1.3: application id at offset 68 (seen)
    assert int.from_bytes(header[60:64], "big") == SCHEMA.version


@settings(max_examples=60)
@given(
    name=st.text(min_size=1, max_size=30).filter(str.strip),
    notes=st.text(max_size=50),
    angle=st.floats(-5, 45),
)
def test_any_deck_that_is_valid_is_found_again_exactly(
    tmp_path_factory: pytest.TempPathFactory, name: str, notes: str, angle: float
) -> None:
    place = tmp_path_factory.getbasetemp() / "any.library"
    with Library.open(place) as library:
        wanted: Deck = deck(name=name, notes=notes, arm={"offset_deg": angle})
        kept = library.keep_deck(wanted)
        assert library.deck(kept.id).thing == wanted
        assert kept.id in [row.id for row in library.decks()]


def test_a_clock_set_back_does_not_push_the_fitting_in_hand_down_the_list(
    library: Library, fitting: Fitting
) -> None:
    now = datetime.now(UTC)
    other = library.start_fitting(fitting.deck_id, fitting.cartridge_id, at=now)
    library.append(other.id, NoteWritten(text="x"), at=now)
    library.append(fitting.id, NoteWritten(text="x"), at=now + timedelta(seconds=1))
    library.append(fitting.id, NoteWritten(text="y"), at=now - timedelta(days=400))
    library.append(fitting.id, Finished(), at=now - timedelta(days=400))
    assert [row.id for row in library.fittings()] == [fitting.id, other.id]
