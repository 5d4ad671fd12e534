"""Stylus hours and the months to the next check go from bench to bench like everything else."""

from __future__ import annotations

import json

import pytest

from core.fitting import Finished, Fitting, HoursRead, Withdrawn
from core.store import Library, LibraryAddress
from core.store.document_text import DocumentProblem
from core.store.documents import document_from
from core.store.exporting import of_decks
from core.store.importing import plan, take_in
from tests.core.store.worked import content_of
from tests.examples import deck


def test_hours_entered_after_the_end_leave_it_finished_and_go_out_and_in(
    library: Library, fitting: Fitting, other_address: LibraryAddress
) -> None:
    library.keep_deck(deck(check_months=6, hours_a_week=7.5), id=fitting.deck_id)
    library.append(fitting.id, Finished())
    slip = library.append(fitting.id, HoursRead(hours=6400))
    library.append(fitting.id, Withdrawn(entry=slip.id))
    library.append(fitting.id, HoursRead(hours=640.5, note="counted"))
    assert library.fittings(finished=True)[0].id == fitting.id
    document = document_from(content_of(library, of_decks(library, fitting.deck_id)), "hours")
    with Library.open(other_address) as other:
        take_in(other, plan(other, document), {})
        assert other.fitting(fitting.id) == library.fitting(fitting.id)
        assert other.fittings(finished=True)[0].id == fitting.id
        taken = other.deck(fitting.deck_id).thing
        assert (taken.check_months, taken.hours_a_week) == (6, 7.5)


@pytest.mark.parametrize("hours", [-1, 20001, "many", None])
def test_a_document_with_impossible_hours_is_refused_whole(
    library: Library, fitting: Fitting, hours: object
) -> None:
    library.append(fitting.id, HoursRead(hours=640))
    said = json.loads(content_of(library, of_decks(library, fitting.deck_id)))
    said["fittings"][0]["entries"][-1]["body"]["hours"] = hours
    with pytest.raises(DocumentProblem, match="hours"):
        document_from(json.dumps(said).encode(), "worn")


def test_a_document_from_before_these_fields_opens_with_the_usual_months(
    library: Library, fitting: Fitting
) -> None:
    said = json.loads(content_of(library, of_decks(library, fitting.deck_id)))
    for revision in said["decks"][0]["revisions"]:
        del revision["thing"]["check_months"], revision["thing"]["hours_a_week"]
    said["version"] = 1
    document = document_from(json.dumps(said).encode(), "older")
    older = document.decks[0].revisions[-1].thing
    assert (older.check_months, older.hours_a_week) == (12, None)
