"""Headshells in a library: kept with every revision, and carried wherever fittings go."""

from __future__ import annotations

from pathlib import Path

from core.fitting import HeadshellUsed
from core.language import message
from core.records import Headshell
from core.store import Library, LibraryAddress
from core.store.addresses import address_of
from core.store.documents import Document, read_document
from core.store.exporting import of_decks, of_headshells, of_library, write_document
from core.store.importing import ImportDecision, MatchKind, plan, take_in
from core.store.rescue import rescue
from core.store.taking_back import take_back
from tests.examples import cartridge, deck

SHELL = Headshell(name="Headshell A", mass_g=9.5, fits="Four pins, half-inch")


def begun(library: Library) -> tuple[str, str]:
    """Begin a fitting with a new headshell; return the ids of both."""
    shell = library.keep_headshell(SHELL).id
    deck_id, cartridge_id = library.keep_deck(deck()).id, library.keep_cartridge(cartridge()).id
    return shell, library.start_fitting(
        deck_id, cartridge_id, headshell=library.used_headshell(shell)
    ).id


def written(library: Library, path: Path, *deck_ids: str) -> Document:
    choice = of_decks(library, *deck_ids) if deck_ids else of_library(library)
    write_document(library, path, choice)
    return read_document(path)


def test_every_revision_of_a_headshell_is_kept(library: Library) -> None:
    kept = library.keep_headshell(SHELL)
    heavier = SHELL.model_copy(update={"mass_g": 10.0})
    library.keep_headshell(heavier, id=kept.id, based_on=1)
    assert [one.thing.mass_g for one in library.headshell_records.history(kept.id)] == [9.5, 10.0]
    assert library.headshell(kept.id, 1).thing == SHELL
    (row,) = library.headshells()
    assert (row.name, row.owner_reference, row.revision) == ("Headshell A", SHELL.fits, 2)
    library.archive("headshell", [kept.id], archived=True)
    assert library.headshells(archived=False) == ()


def test_a_fitting_says_which_headshell_was_on_as_it_was_then(library: Library) -> None:
    shell, fitting = begun(library)
    library.keep_headshell(SHELL.model_copy(update={"mass_g": 12.0}), id=shell)
    said = library.fitting(fitting).headshell
    assert said == HeadshellUsed(
        headshell=shell, name="Headshell A", mass_g=9.5, thickness_mm=SHELL.thickness_mm
    )
    assert [row.id for row in library.fittings(headshell_id=shell)] == [fitting]
    assert library.fittings(headshell_id="another") == ()


def test_a_headshell_goes_with_its_fittings_to_another_bench(
    library: Library, other_address: LibraryAddress, tmp_path: Path
) -> None:
    shell, fitting = begun(library)
    document = written(library, tmp_path / "deck.json", library.fitting(fitting).deck_id)
    assert [one.id for one in document.headshells] == [shell]
    with Library.open(other_address) as other:
        brought = take_in(other, plan(other, document), {})
        assert other.headshell(shell).thing == SHELL
        assert [row.id for row in other.fittings(headshell_id=shell)] == [fitting]
        again = plan(other, document)
        assert again.count(MatchKind.SAME) == len(again.items)
        take_back(other, brought)
        assert other.headshells(archived=False) == ()


def test_a_headshell_kept_as_a_second_one_keeps_its_fittings(
    library: Library, other_address: LibraryAddress, tmp_path: Path
) -> None:
    shell, fitting = begun(library)
    document = written(library, tmp_path / "all.json")
    with Library.open(other_address) as other:
        mine = SHELL.model_copy(update={"notes": "mine"})
        other.headshell_records.add(shell, mine, who="Another")
        planned = plan(other, document)
        (conflict,) = planned.conflicts
        assert conflict.sort == "headshell"
        take_in(other, planned, {conflict.id: ImportDecision.BOTH})
        assert len(other.headshells()) == 2
        named = other.fitting(fitting).headshell
        assert named is not None
        assert named.headshell != shell
        assert other.headshell(named.headshell).thing == SHELL
        assert plan(other, document).conflicts == ()


def test_headshells_alone_are_written(library: Library, tmp_path: Path) -> None:
    shell, _ = begun(library)
    path = tmp_path / "shell.json"
    write_document(library, path, of_headshells(library, shell))
    document = read_document(path)
    assert [one.id for one in document.headshells] == [shell]
    assert (document.decks, document.fittings) == ((), ())


def test_a_headshell_is_rescued_with_its_fittings(place: Path) -> None:
    with Library.open(place) as library:
        shell, fitting = begun(library)
    target = address_of(place.with_name("new.library"))
    told = rescue(address_of(place), target, keep_strays=lambda _: message("swap.unread"))
    assert told.lost == []
    with Library.open(target) as rescued:
        assert rescued.headshell(shell).thing == SHELL
        assert [row.id for row in rescued.fittings(headshell_id=shell)] == [fitting]
