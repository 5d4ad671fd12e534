"""Putting away and bringing back, any number at once, and undoing exactly that."""

from __future__ import annotations

import pytest

from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind, WorkStoppedError
from tests.examples import deck


@pytest.fixture
def decks(library: Library) -> list[str]:
    with library.transaction():
        return [library.keep_deck(deck(owner_reference=f"Job {n}")).id for n in range(1200)]


def away(library: Library) -> set[str]:
    return {row.id for row in library.decks(archived=True)}


def stamps(library: Library) -> dict[str, str]:
    return dict(library._backend.select("things", ("id", "archived_at"), {"archived": 1}))


def test_what_one_act_put_away_its_undoing_brings_back_and_nothing_else(
    library: Library, decks: list[str]
) -> None:
    library.archive("deck", [decks[0], decks[1]], archived=True)
    before = stamps(library)
    act = library.archive("deck", decks, archived=True)
    assert len(act.before) == 1198
    assert away(library) == set(decks)
    assert {one: stamps(library)[one] for one in before} == before, "they were away already"
    undone = library.undo_archiving(act)
    assert (undone.count, undone.left) == (1198, ())
    assert stamps(library) == before


def test_bringing_back_is_undone_with_the_dates_of_before(
    library: Library, decks: list[str]
) -> None:
    library.archive("deck", [*decks[:600]], archived=True)
    library.archive("deck", [*decks[600:700]], archived=True)
    before = stamps(library)
    assert len(set(before.values())) == 2
    act = library.archive("deck", decks, archived=False)
    assert away(library) == set()
    assert library.undo_archiving(act).count == 700
    assert stamps(library) == before


def test_what_somebody_changed_since_is_left_as_it_is(
    address: LibraryAddress, library: Library, decks: list[str]
) -> None:
    act = library.archive("deck", decks[:10], archived=True)
    with Library.open(address, "Other") as other:
        other.archive("deck", [decks[3]], archived=False)
        other.archive("deck", [decks[4]], archived=False)
        other.archive("deck", [decks[4]], archived=True)
        undone = other.undo_archiving(act)
    assert undone.count == 8
    assert set(undone.left) == {decks[3], decks[4]}
    assert away(library) == {decks[4]}
    assert library.undo_archiving(act).count == 0, "once undone there is nothing left to undo"


def test_it_is_all_or_nothing(library: Library, decks: list[str]) -> None:
    with pytest.raises(LibraryProblem) as caught:
        library.archive("deck", [*decks, "not on file"], archived=True)
    assert caught.value.kind is ProblemKind.NO_SUCH_RECORD
    assert away(library) == set()
    answers = iter([True, True, False])
    with pytest.raises(WorkStoppedError):
        library.archive("deck", decks, archived=True, go_on=lambda: next(answers))
    assert away(library) == set()
    act = library.archive("deck", decks, archived=True)
    answers = iter([True, False])
    with pytest.raises(WorkStoppedError):
        library.undo_archiving(act, go_on=lambda: next(answers))
    assert away(library) == set(decks)


def test_how_far_it_is_is_told(library: Library, decks: list[str]) -> None:
    told: list[int] = []
    act = library.archive("deck", decks, archived=True, told=told.append)
    library.undo_archiving(act, told=told.append)
    assert told == [500, 1000, 1200] * 2


def test_a_cartridge_is_no_deck(library: Library) -> None:
    with pytest.raises(LibraryProblem):
        library.archive("deck", [library.cartridges()[0].id], archived=True)
