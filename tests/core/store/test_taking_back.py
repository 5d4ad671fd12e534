"""An import is taken back whole, except what somebody has changed since."""

from __future__ import annotations

import pytest

from core.fitting import NoteWritten, ReadingTaken, Withdrawn
from core.store import Library, LibraryAddress, WorkStoppedError
from core.store.documents import document_from
from core.store.exporting import of_library
from core.store.importing import ImportDecision, plan, take_in
from core.store.taking_back import Brought, names_of, take_back
from tests.core.store.worked import content_of, work_on
from tests.examples import cartridge, deck


def counted(library: Library) -> tuple[set[str], set[str], set[str]]:
    """Return what is not put away."""
    return (
        {row.id for row in library.decks(archived=False)},
        {row.id for row in library.cartridges(archived=False)},
        {row.id for row in library.fittings(archived=False)},
    )


def things(library: Library) -> dict[str, object]:
    """Return what the newest revisions and the logs say, without what does not count."""
    decks = {row.id: library.deck(row.id).thing for row in library.decks(archived=False)}
    fittings = {
        row.id: [entry.id for entry in library.fitting(row.id).counting()]
        for row in library.fittings(archived=False)
    }
    return decks | fittings


@pytest.fixture
def other(other_address: LibraryAddress, library: Library) -> Library:
    """Another bench's library that knows ours as it is now, with one fitting more."""
    with Library.open(other_address, "Other", wait_s=0.2) as opened:
        take_in(opened, plan(opened, document_of(library)), {})
        one = opened.keep_deck(deck(name="Example deck of the other bench"))
        two = opened.keep_cartridge(cartridge(name="Example cartridge of the other bench"))
        work_on(opened, opened.start_fitting(one.id, two.id))
        yield opened


def document_of(library: Library):  # type: ignore[no-untyped-def]  # a Document
    return document_from(content_of(library, of_library(library)), "one.json")


def brought_from(
    other: Library, library: Library, decided: ImportDecision | None = None
) -> Brought:
    planned = plan(library, document_of(other))
    decisions = {item.id: decided for item in planned.conflicts} if decided else {}
    return take_in(library, planned, decisions)


def test_what_was_new_is_put_away_and_nothing_else(library: Library, other: Library) -> None:
    before = counted(library)
    brought = brought_from(other, library)
    assert {one.sort for one in brought.came} == {"deck", "cartridge", "fitting"}
    assert counted(library) != before
    told: list[int] = []
    taken = take_back(library, brought, told=told.append)
    assert counted(library) == before
    assert taken.archived == {"fitting": 1, "deck": 1, "cartridge": 1}
    assert taken.left == []
    assert told == [1, 2, 3]
    assert library.faults() == []


def test_what_was_added_to_what_was_here_counts_no_more(
    library: Library, other: Library, fitting: object
) -> None:
    started = library.fittings()[0]
    take_in(other, plan(other, document_of(library)), {})
    before = things(library)
    reading = {"way": "scale", "downforce_gf": 1.9}
    kept = other.append(started.id, ReadingTaken(step="rough_downforce", reading=reading))
    other.append(started.id, Withdrawn(entry=kept.id))
    other.append(started.id, NoteWritten(text="from the other bench"))
    changed = other.deck(started.deck_id).thing.model_copy(update={"name": "Example deck, renamed"})
    other.keep_deck(changed, id=started.deck_id)
    brought = brought_from(other, library)
    assert library.deck(started.deck_id).thing.name == "Example deck, renamed"
    assert things(library) != before
    taken = take_back(library, brought, reason="slip")
    assert (taken.withdrawn, taken.put_back, taken.left) == (3, 1, [])
    assert things(library) == before
    assert len(library.deck_records.history(started.deck_id)) == 3, "nothing is deleted"


def test_what_somebody_changed_or_used_since_stays(library: Library, other: Library) -> None:
    brought = brought_from(other, library)
    ids = {one.sort: one.id for one in brought.came}
    library.append(ids["fitting"], NoteWritten(text="went on here"))
    before = counted(library)
    taken = take_back(library, brought)
    assert set(taken.left) == set(ids.items())
    assert taken.archived == {}
    assert counted(library) == before
    names = names_of(library, taken.left)
    deck_name = library.deck(ids["deck"]).thing.name
    assert names[ids["deck"]] == names[ids["fitting"]] == deck_name
    assert names[ids["cartridge"]] == "Example cartridge of the other bench"


def test_a_deck_changed_since_stays_and_the_rest_is_taken_back(
    library: Library, other: Library
) -> None:
    brought = brought_from(other, library)
    ids = {one.sort: one.id for one in brought.came}
    library.keep_deck(deck(name="Example deck, measured here"), id=ids["deck"])
    taken = take_back(library, brought)
    assert taken.left == [("deck", ids["deck"])]
    assert taken.archived == {"fitting": 1, "cartridge": 1}


def test_nothing_is_taken_back_once_it_is_stopped(library: Library, other: Library) -> None:
    brought = brought_from(other, library)
    before = counted(library)
    answers = iter([True, False])
    with pytest.raises(WorkStoppedError):
        take_back(library, brought, go_on=lambda: next(answers))
    assert counted(library) == before


def test_both_kept_is_one_put_away_again(library: Library, other: Library, fitting: object) -> None:
    started = library.fittings()[0]
    take_in(other, plan(other, document_of(library)), {})
    library.append(started.id, NoteWritten(text="here"))
    other.append(started.id, NoteWritten(text="there"))
    before = things(library)
    brought = brought_from(other, library, ImportDecision.BOTH)
    assert len(library.fittings(archived=False)) == len(other.fittings()) + 1
    take_back(library, brought)
    assert things(library) == before
