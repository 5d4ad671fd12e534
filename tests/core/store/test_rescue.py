"""What can be read of a damaged library goes into a new one, and what can't is said."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten, ThingsRevised
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
    told = rescue(address_of(place), address_of(target))
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
    library.archive_deck(kept.id)
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
    place = Path(shutil.copy(large, tmp_path / "example.library"))
    damage_page(place, random.Random(seed))
    harmed = place.read_bytes()
    _told, after, lines = rescued(place)
    assert place.read_bytes() == harmed
    assert set(after) <= set(whole)
    lost = 0
    for fitting, entries in whole.items():
        kept = after.get(fitting, ())
        assert set(kept) <= set(entries), "an entry was invented or changed"
        assert [one for one in entries if one in set(kept)] == list(kept), "the order is another"
        lost += len(entries) - len(kept) if fitting in after else 0
    gone = whole.keys() - after.keys()
    assert lost <= PAGE // 300, "more is lost than a page holds"
    assert len(gone) <= PAGE // 150, "more fittings are lost than a page of their list holds"
    assert bool(lines) is (lost > 0 or bool(gone))
    if gone:
        orphans = sum(len(whole[fitting]) for fitting in gone)
        assert any(f"Entries left without their fitting: {orphans}." in line for line in lines)
    if lost:
        assert f"In all, {lost} entries are known to be lost." in lines or lost == 1


def test_a_list_and_its_index_both_bad_say_that_more_may_be_missing(
    large: Path, tmp_path: Path
) -> None:
    place = Path(shutil.copy(large, tmp_path / "example.library"))
    chance = random.Random(3)
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
        rescue(address_of(place), address_of(target))
    assert not target.exists()


def test_a_rescue_that_is_stopped_leaves_the_new_one_empty(
    place: Path, library: Library, fitting: Fitting
) -> None:
    library.append(fitting.id, NoteWritten(text="x"))
    answers = iter([True] * 12)
    target = place.with_name("rescued.library")
    with pytest.raises(WorkStoppedError):
        rescue(address_of(place), address_of(target), go_on=lambda: next(answers, False))
    if target.exists():
        with Library.open(target) as other:
            assert other.fittings() == ()


@pytest.mark.parametrize("example", sorted(EXAMPLES.glob("*.library")), ids=lambda one: one.stem)
def test_a_library_of_every_version_comes_through_whole(example: Path, tmp_path: Path) -> None:
    place = Path(shutil.copy(example, tmp_path / "example.library"))
    _told, after, lines = rescued(place)
    with Library.open(place) as library:
        assert (after, lines) == (logs_of(library), [])
