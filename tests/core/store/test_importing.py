"""Two benches that went on from the same state: nothing of either is lost, nothing doubled."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from core.fitting import (
    Control,
    ControlChecked,
    Fitting,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    ThingsRevised,
    Withdrawn,
)
from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind
from core.store.differences import Side, differences, put_together
from core.store.documents import Document, DocumentFitting, DocumentProblem, document_from
from core.store.exporting import of_decks, of_fittings, of_library
from core.store.importing import FieldsChosen, ImportDecision, MatchKind, plan, take_in
from core.store.matching import under
from tests.core.store.worked import content_of, everything, work_on
from tests.examples import cartridge, deck
from tests.kit import fitting_of


@pytest.fixture
def two_benches(
    library: Library, fitting: Fitting, other_address: LibraryAddress
) -> tuple[Library, Document]:
    """This bench and a document of another, which both went on from the same state."""
    start = document_from(content_of(library, of_decks(library, fitting.deck_id)), "start")
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, start), {})
        other.keep_deck(deck(notes="theirs", arm={"offset_deg": 21.5}), id=fitting.deck_id)
        theirs = other.append(fitting.id, NoteWritten(text="theirs"))
        other.append(fitting.id, Withdrawn(entry=theirs.id))
        other.append(fitting.id, ThingsRevised(deck_revision=2, cartridge_revision=1))
        other.start_fitting(fitting.deck_id, fitting.cartridge_id)
        document = document_from(content_of(other, of_decks(other, fitting.deck_id)), "theirs")
    library.keep_deck(deck(notes="mine"), id=fitting.deck_id)
    library.append(fitting.id, NoteWritten(text="mine"))
    return library, document


def test_what_differs_is_shown_side_by_side_and_must_be_decided(
    two_benches: tuple[Library, Document], fitting: Fitting
) -> None:
    library, document = two_benches
    planned = plan(library, document)
    deck_item, fitting_item = planned.conflicts
    assert deck_item.id == fitting.deck_id
    assert [(d.label, d.here, d.incoming) for d in deck_item.differences] == [
        ("Notes", "mine", "theirs"),
        ("Arm: Offset angle", "22.986 °", "21.5 °"),
    ]
    assert fitting_item.decisions == (ImportDecision.MINE, ImportDecision.BOTH)
    before = everything(library)
    for decisions in (
        {},
        {deck_item.id: ImportDecision.MINE},
        {deck_item.id: ImportDecision.MINE, fitting_item.id: ImportDecision.THEIRS},
    ):
        with pytest.raises(DocumentProblem, match="not decided yet"):
            take_in(library, planned, decisions)
        assert everything(library) == before


@pytest.mark.parametrize("for_deck", list(ImportDecision))
@pytest.mark.parametrize("for_fitting", [ImportDecision.MINE, ImportDecision.BOTH])
def test_whatever_is_decided_nothing_of_mine_is_lost(
    two_benches: tuple[Library, Document],
    fitting: Fitting,
    for_deck: ImportDecision,
    for_fitting: ImportDecision,
) -> None:
    library, document = two_benches
    mine_deck, mine_fitting = library.deck(fitting.deck_id), library.fitting(fitting.id)
    planned = plan(library, document)
    decks, fittings = len(library.decks()), len(library.fittings())
    take_in(library, planned, {fitting.deck_id: for_deck, fitting.id: for_fitting})

    assert mine_deck.thing in [kept.thing for kept in library.deck_records.history(fitting.deck_id)]
    assert library.fitting(fitting.id) == mine_fitting
    newest = library.deck(fitting.deck_id).thing.notes
    assert newest == ("theirs" if for_deck is ImportDecision.THEIRS else "mine")
    assert len(library.decks()) == decks + (for_deck is ImportDecision.BOTH)
    assert len(library.fittings()) == fittings + 1 + (for_fitting is ImportDecision.BOTH)
    assert library.faults() == []
    for row in library.fittings():
        theirs = library.fitting(row.id)
        if any(isinstance(entry.body, ThingsRevised) for entry in theirs.entries):
            deck_revision, cartridge_revision = theirs.revisions
            assert library.deck(theirs.deck_id, deck_revision).thing.notes == "theirs"
            assert library.cartridge(theirs.cartridge_id, cartridge_revision).revision == 1
            assert len(theirs.withdrawn_ids()) == 1
            assert [e.id in theirs.withdrawn_ids() for e in theirs.entries] == [True, False, False]
    if for_deck is not ImportDecision.MINE and for_fitting is ImportDecision.BOTH:
        before = everything(library)
        again = plan(library, document)
        assert {item.status for item in again.items} == {MatchKind.SAME}
        take_in(library, again, {})
        assert everything(library) == before


def test_fields_chosen_from_both_become_the_newest_and_both_stay_in_the_history(
    two_benches: tuple[Library, Document], fitting: Fitting
) -> None:
    library, document = two_benches
    mine = library.deck(fitting.deck_id).thing
    planned = plan(library, document)
    versions = planned.conflicts[0].versions
    assert versions is not None
    told = differences(mine, versions.incoming.thing, common=versions.common)
    notes, offset = told
    assert (notes.changed_by, offset.changed_by) == (None, Side.INCOMING)
    both = put_together(mine, versions.incoming.thing, {offset.place: Side.INCOMING})
    decisions = {
        fitting.deck_id: FieldsChosen(both, "Ada"),
        fitting.id: ImportDecision.BOTH,
    }
    take_in(library, planned, decisions)
    newest = library.deck(fitting.deck_id)
    assert (newest.thing.notes, newest.thing.arm.offset_deg, newest.who) == ("mine", 21.5, "Ada")
    notes_kept = [one.thing.notes for one in library.deck_records.history(fitting.deck_id)]
    assert notes_kept[-3:] == ["mine", "theirs", "mine"]
    assert {item.status for item in plan(library, document).items} == {MatchKind.SAME}


def test_fields_can_be_chosen_for_decks_and_cartridges_alone(
    two_benches: tuple[Library, Document], fitting: Fitting
) -> None:
    library, document = two_benches
    planned = plan(library, document)
    for chosen in (
        {fitting.deck_id: ImportDecision.MINE, fitting.id: FieldsChosen(deck())},
        {fitting.deck_id: FieldsChosen(cartridge()), fitting.id: ImportDecision.MINE},
    ):
        with pytest.raises(DocumentProblem, match="not decided yet"):
            take_in(library, planned, chosen)


def test_a_plan_that_is_out_of_date_is_refused(
    library: Library, fitting: Fitting, other_address: LibraryAddress
) -> None:
    document = document_from(content_of(library, of_decks(library, fitting.deck_id)), "x")
    with Library.open(other_address) as other:
        planned = plan(other, document)
        take_in(other, planned, {})
        before = everything(other)
        with pytest.raises(LibraryProblem) as caught:
            take_in(other, planned, {})
        assert caught.value.kind is ProblemKind.CHANGED_ELSEWHERE
        assert everything(other) == before


def test_an_import_that_fails_halfway_leaves_nothing(
    place: Path, library: Library, fitting: Fitting
) -> None:
    work_on(library, fitting)
    document = document_from(content_of(library, of_library(library)), "x")
    with Library.open(place.with_name("other.library")) as other:
        before = everything(other)
        ((pages,),) = other._backend.rows("PRAGMA page_count")
        other._backend.run(f"PRAGMA max_page_count={pages}")
        kinds = []
        for copy in range(40):
            try:
                take_in(other, plan(other, _renumbered(document, copy)), {})
            except LibraryProblem as problem:
                kinds.append(problem.kind)
                break
            before = everything(other)
        assert kinds == [ProblemKind.FULL]
        assert everything(other) == before
        assert other.faults() == []


def _renumbered(document: Document, copy: int) -> Document:
    text = json.dumps(document.model_dump(mode="json"))
    ids = [one.id for one in document.decks]
    ids += [one.id for one in document.cartridges]
    ids += [fitting.id for fitting in document.fittings]
    ids += [entry.id for fitting in document.fittings for entry in fitting.entries]
    for record_id in ids:
        text = text.replace(record_id, f"{copy}-{record_id}")
    return document_from(text.encode(), "copy")


def test_numbers_that_belong_to_something_else_are_refused(
    library: Library, fitting: Fitting
) -> None:
    entry = library.append(fitting.id, NoteWritten(text="x"))
    said = json.loads(content_of(library, of_fittings(library, fitting.id)))
    before = everything(library)
    for old, new, sentence in (
        (fitting.deck_id, fitting.cartridge_id, "the same number"),
        (fitting.id, "another-fitting", "belongs to another fitting"),
    ):
        text = json.dumps(said).replace(old, new)
        with pytest.raises(DocumentProblem, match=sentence):
            plan(library, document_from(text.encode(), "x"))
    swapped = json.dumps(said)
    for old, new in (
        (fitting.deck_id, "@"),
        (fitting.cartridge_id, fitting.deck_id),
        ("@", fitting.cartridge_id),
    ):
        swapped = swapped.replace(old, new)
    with pytest.raises(DocumentProblem, match="belongs to a"):
        plan(library, document_from(swapped.encode(), "x"))
    assert entry in library.fitting(fitting.id).entries
    assert everything(library) == before


def test_a_move_put_right_stays_so_in_a_fitting_that_is_kept_beside_ours() -> None:
    part = MovePart(control=Control.COUNTERWEIGHT, amount=0.25, unit="turns")
    checked = ControlChecked(control=Control.COUNTERWEIGHT, reversed_entry="f-1")
    record = fitting_of(
        MoveMade(step="rough_downforce", parts=(part,)),
        ReadingTaken(step="rough_downforce", reading=checked.model_dump(mode="json")),
        began=datetime(2026, 1, 2, tzinfo=UTC),
    )
    theirs = DocumentFitting.model_validate(record.model_dump())
    counted = [entry.body for entry in under(theirs, "0" * 32).counting()]
    assert isinstance(counted[0], MoveMade)
    assert counted[0].parts[0].amount == -0.25


def test_a_second_log_keeps_what_was_said_of_figures_that_changed_places() -> None:
    gaps = ReadingTaken(step="tilt", reading={"way": "gaps", "left_mm": 2.0, "right_mm": 3.0})
    checked = ControlChecked(
        control=Control.TILT, exchanged=("f-1",), fields=("left_mm", "right_mm"), as_read="f-2"
    )
    told = ReadingTaken(step="tilt", reading=checked.model_dump(mode="json"))
    record = fitting_of(gaps, gaps, told, began=datetime(2026, 1, 2, tzinfo=UTC))
    theirs = DocumentFitting.model_validate(record.model_dump())
    kept = under(theirs, "0" * 32)
    counted = [entry.body for entry in kept.counting() if isinstance(entry.body, ReadingTaken)]
    assert counted[0].reading["left_mm"] == 3.0
    assert counted[1].reading["left_mm"] == 2.0
    assert counted[2].reading["as_read"] == kept.entries[1].id
