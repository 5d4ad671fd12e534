"""What can be read of a damaged library goes into a new one, and what can't is said."""

from __future__ import annotations

import os
import random
import shutil
import stat
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten, ThingsRevised, Withdrawn
from core.history.stray_entries import StrayEntriesFile
from core.language import Numbers
from core.store import Library, LibraryProblem, WorkStoppedError, address_of
from core.store.rescue import Rescued, rescue
from tests.core.store.damaging import PAGE, damage_page, large_library
from tests.core.store.worked import work_on
from tests.examples import deck

EXAMPLES = Path(__file__).parent / "examples"
Logs = dict[str, tuple[str, ...]]


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return large_library(tmp_path_factory.mktemp("large") / "large.library")


def logs_of(library: Library) -> Logs:
    return {
        row.id: tuple(entry.model_dump_json() for entry in library.fitting(row.id).entries)
        for row in library.fittings()
    }


def rescued(place: Path) -> tuple[Rescued, Logs, list[str]]:
    target = place.with_name("rescued.library")
    told = rescue(
        address_of(place), address_of(target), keep_strays=StrayEntriesFile(target, Numbers())
    )
    with Library.open(target) as library:
        assert library.faults() == []
        assert len(library.fittings()) == told.fittings
        return told, logs_of(library), [Numbers().text(line) for line in told.lines()]


def test_a_sound_library_comes_through_whole(
    place: Path, library: Library, fitting: Fitting
) -> None:
    work_on(library, fitting)
    kept = library.keep_deck(deck(name="Put away"))
    library.keep_deck(deck(name="Put away", notes="second"), id=kept.id)
    library.archive("deck", [kept.id], archived=True)
    library.append(fitting.id, ThingsRevised(deck_revision=1, cartridge_revision=1))
    before = logs_of(library)
    decks = {row.id: library.deck_records.history(row.id) for row in library.decks()}
    library.close()
    told, after, lines = rescued(place)
    assert (after, lines) == (before, [])
    assert (told.decks, told.entries) == (len(decks), sum(map(len, before.values())))
    with Library.open(place.with_name("rescued.library")) as other:
        assert {row.id: other.deck_records.history(row.id) for row in other.decks()} == decks


@pytest.mark.parametrize("seed", range(8))
def test_one_bad_page_costs_at_most_what_lay_on_it_and_that_is_said(
    large: Path, tmp_path: Path, seed: int
) -> None:
    with Library.open(large, read_only=True) as sound:
        whole = logs_of(sound)
        things = len(sound.decks()) + len(sound.cartridges())
    place = Path(shutil.copy(large, tmp_path / "example.library"))
    damage_page(place, random.Random(seed))
    harmed = place.read_bytes()
    told, after, lines = rescued(place)
    assert place.read_bytes() == harmed
    assert set(after) == set(whole), "a fitting is lost, or another one is invented"
    lost = 0
    for fitting, entries in whole.items():
        kept = after.get(fitting, ())
        assert set(kept) <= set(entries), "an entry was invented or changed"
        assert [one for one in entries if one in set(kept)] == list(kept), "the order is another"
        lost += len(entries) - len(kept)
    assert lost <= PAGE // 300, "more is lost than a page holds"
    rebuilt = [line for line in lines if "put together again" in line]
    is_less = told.decks + told.cartridges < things
    assert bool(lines) is (lost > 0 or bool(rebuilt) or is_less)
    if lost:
        assert f"In all, {lost} entries are known to be lost." in lines or lost == 1


def pages_with(place: Path, *parts: str, kind: int) -> list[int]:
    """Return the pages of a kind in which all these words stand (SQLite's file format, 1.6)."""
    content = place.read_bytes()
    pages = [content[at : at + PAGE] for at in range(0, len(content), PAGE)]
    return [
        number
        for number, page in enumerate(pages)
        if page[0] == kind and all(part.encode() in page for part in parts)
    ]


def wipe(place: Path, pages: list[int]) -> None:
    with place.open("r+b") as stream:
        for page in pages:
            stream.seek(page * PAGE)
            stream.write(bytes(PAGE))


TABLE_LEAF, INDEX_LEAF = 13, 10


@pytest.fixture
def few(tmp_path: Path) -> Path:
    return large_library(tmp_path / "example.library", fittings=5, entries=3)


def test_fittings_whose_rows_are_lost_are_put_together_again_from_the_lists(few: Path) -> None:
    with Library.open(few) as library:
        deck_id = library.fittings()[0].deck_id
        first = library.deck(deck_id)
        library.keep_deck(first.thing.model_copy(update={"notes": "changed since"}), id=deck_id)
        whole = logs_of(library)
        heads = {one: library.fitting(one).model_copy(update={"entries": ()}) for one in whole}
        library.settle()
    (page,) = pages_with(few, *whole, "Example hand", kind=TABLE_LEAF)
    wipe(few, [page])
    told, after, lines = rescued(few)
    assert after == whole
    assert lines == [
        (
            "5 fittings were put together again from other parts of the library. "
            "Who began them, and whether they were archived, is lost."
        )
    ]
    assert told.entries == 15
    with Library.open(few.with_name("rescued.library")) as other:
        for one, head in heads.items():
            again = other.fitting(one).model_copy(update={"entries": ()})
            # The state of the deck is that of the day, not what it became since.
            starts = other.deck_records.history(deck_id)
            assert starts[again.deck_revision - 1].thing.notes == first.thing.notes
            assert again == head.model_copy(
                update={"who": "", "deck_revision": again.deck_revision}
            )


def test_entries_of_which_nothing_says_the_deck_stand_in_a_text_beside_the_library(
    few: Path,
) -> None:
    with Library.open(few) as library:
        whole = logs_of(library)
        one = next(iter(whole))
        library.append(one, NoteWritten(text="the last <b>word</b>"))
        entry = library.append(one, NoteWritten(text="a slip"))
        library.append(one, Withdrawn(entry=entry.id, reason="x"))
        library.settle()
    (page,) = pages_with(few, *whole, "Example hand", kind=TABLE_LEAF)
    wipe(few, [page, *pages_with(few, "2026-01-01T0", "starter-deck", kind=INDEX_LEAF)])
    there = few.with_name("rescued entries.txt")
    there.write_text("of another rescue")
    told, after, lines = rescued(few)
    kept_in = few.with_name("rescued entries 2.txt")
    assert (after, told.fittings) == ({}, 0)
    assert lines == [
        "5 fittings could not be read.",
        (
            "18 entries belong to fittings whose decks and cartridges are not known any more. You "
            f"can read them in {kept_in}."
        ),
    ]
    assert there.read_text() == "of another rescue"
    text = kept_in.read_text("utf-8")
    assert text.count("xxx\n") == 15
    assert "Note: the last <b>word</b>\n" in text
    assert "left out: Note: a slip\n" in text
    assert all(f"Fitting {fitting}\n" in text for fitting in whole)
    if os.name == "posix":
        assert stat.S_IMODE(kept_in.stat().st_mode) == 0o600


def test_a_list_and_its_index_both_bad_say_that_more_may_be_missing(
    large: Path, tmp_path: Path
) -> None:
    place = Path(shutil.copy(large, tmp_path / "example.library"))
    chance = random.Random(4)  # leaves the list of tables whole, as seven of eight do
    for _ in range(60):
        damage_page(place, chance)
    _told, after, lines = rescued(place)
    assert sum(map(len, after.values())) > 0
    assert any("may be missing" in line for line in lines)


def test_not_even_a_beginning_is_told_and_nothing_is_made(large: Path, tmp_path: Path) -> None:
    place = Path(shutil.copy(large, tmp_path / "example.library"))
    with place.open("r+b") as stream:
        stream.write(b"\0" * PAGE)
    target = tmp_path / "rescued.library"
    with pytest.raises(LibraryProblem):
        rescue(
            address_of(place), address_of(target), keep_strays=StrayEntriesFile(target, Numbers())
        )
    assert not target.exists()


def test_a_rescue_that_is_stopped_leaves_the_new_one_empty(
    place: Path, library: Library, fitting: Fitting
) -> None:
    library.append(fitting.id, NoteWritten(text="x"))
    answers = iter([True] * 12)
    target = place.with_name("rescued.library")
    with pytest.raises(WorkStoppedError):
        rescue(
            address_of(place),
            address_of(target),
            keep_strays=StrayEntriesFile(target, Numbers()),
            go_on=lambda: next(answers, False),
        )
    if target.exists():
        with Library.open(target) as other:
            assert other.fittings() == ()


@pytest.mark.parametrize("example", sorted(EXAMPLES.glob("*.library")), ids=lambda one: one.stem)
def test_a_library_of_every_version_comes_through_whole(example: Path, tmp_path: Path) -> None:
    place = Path(shutil.copy(example, tmp_path / "example.library"))
    _told, after, lines = rescued(place)
    with Library.open(place) as library:
        assert (after, lines) == (logs_of(library), [])
