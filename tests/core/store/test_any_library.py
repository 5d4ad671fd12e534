"""Whatever a library holds: it goes out and comes in, is merged, taken back and rescued whole."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from core.language import Numbers
from core.records import arm_of
from core.store import Library, LibraryProblem
from core.store.addresses import address_of
from core.store.differences import Side, differences, put_together
from core.store.documents import Document, document_from
from core.store.exporting import of_library, with_customers, with_pictures
from core.store.importing import FieldsChosen, ImportDecision, ImportPlan, MatchKind, plan, take_in
from core.store.matching import key_of
from core.store.rescue import rescue
from core.store.taking_back import take_back
from core.workflow.replay import journey_of
from tests.core.store.drawn import RECORDS, Draw, act, fill
from tests.core.store.memory import MemoryAddress
from tests.core.store.worked import content_of

FEW = settings(
    max_examples=15,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@contextmanager
def a_library(name: str = "one") -> Iterator[Library]:
    """A library in memory that ends with the block."""
    with (
        tempfile.TemporaryDirectory() as folder,
        Library.open(MemoryAddress(name, Path(folder)), name) as library,
    ):
        yield library


def content(library: Library) -> bytes:
    whole = with_pictures(library, with_customers(library, of_library(library)))
    return content_of(library, whole)


def document_of(library: Library) -> Document:
    return document_from(content(library), "any.json")


def stands(library: Library) -> dict[tuple[str, str], Any]:
    """Return of everything whether it was put away, and what its newest state says."""
    found: dict[tuple[str, str], Any] = {
        (sort, row.id): (row.archived, library.records(sort).get(row.id).thing)
        for sort in RECORDS
        for row in library.records(sort).rows()
    }
    for row in library.fittings():
        counting = [entry.id for entry in library.fitting(row.id).counting()]
        found["fitting", row.id] = row.archived, counting
    return found


def said(library: Library) -> dict[tuple[str, str], list[Any]]:
    """Return all that was ever said of everything but customers."""
    found: dict[tuple[str, str], list[Any]] = {
        (sort, row.id): [key_of(one) for one in library.records(sort).history(row.id)]
        for sort in RECORDS
        if sort != "customer"
        for row in library.records(sort).rows()
    }
    for fitting in library.fittings():
        found["fitting", fitting.id] = list(library.fitting(fitting.id).entries)
    return found


def assert_sound(library: Library) -> None:
    """Hold what is true of every library."""
    assert library.faults() == []
    shown = {row[0] for row in library._backend.select("picture_contents", ("hash",))}
    pictures = [
        library.pictures.records.get(row.id).thing for row in library.pictures.records.rows()
    ]
    assert shown == {one.content for one in pictures if not one.erased}
    for row in library.jobs.customers.rows():
        history = library.jobs.customers.history(row.id)
        if any(one.thing.forgotten for one in history):
            assert {one.thing.name for one in history} == {""}
    for row in library.fittings():
        fitting = library.fitting(row.id)
        deck, cartridge = (
            get(thing, revision).thing
            for get, thing, revision in (
                (library.deck, fitting.deck_id, fitting.revisions[0]),
                (library.cartridge, fitting.cartridge_id, fitting.revisions[1]),
            )
        )
        journey_of(deck, cartridge, fitting)
        now = library.deck(fitting.deck_id).thing
        assert arm_of(now, row.arm_key) is not None, "an arm that a fitting names is on record"


def decided(draw: Draw, planned: ImportPlan) -> dict[str, ImportDecision | FieldsChosen]:
    """Draw a decision for everything that differs."""
    found: dict[str, ImportDecision | FieldsChosen] = {}
    for item in planned.conflicts:
        found[item.id] = draw(st.sampled_from(item.decisions))
        if item.versions is not None and draw(st.booleans()):
            here, incoming = item.versions.here.thing, item.versions.incoming.thing
            told = differences(here, incoming)
            sides = {one.place: draw(st.sampled_from(Side)) for one in told}
            with suppress(LibraryProblem):  # these two don't go together
                found[item.id] = FieldsChosen(put_together(here, incoming, sides))
    return found


@FEW
@given(st.data())
def test_it_goes_to_an_empty_library_and_is_the_same_there(data: st.DataObject) -> None:
    with a_library() as library, a_library("other") as other:
        fill(library, data.draw)
        for _ in range(data.draw(st.integers(0, 8))):
            act(library, data.draw)
        assert_sound(library)
        document = document_of(library)
        take_in(other, plan(other, document), {})
        assert content(other) == content(library)
        assert_sound(other)
        again = plan(other, document)
        assert again.count(MatchKind.SAME) == len(again.items)
        take_in(other, again, {})
        assert content(other) == content(library)


@FEW
@given(st.data())
def test_two_benches_merge_and_the_import_is_taken_back_whole(data: st.DataObject) -> None:
    with a_library() as library, a_library("other") as other:
        fill(library, data.draw)
        take_in(other, plan(other, document_of(library)), {})
        for place in (library, other):
            for _ in range(data.draw(st.integers(1, 6))):
                act(place, data.draw)
        before, mine = stands(library), said(library)
        forgotten = {one for one, state in before.items() if getattr(state[1], "forgotten", "")}
        document = document_of(other)
        planned = plan(library, document)
        brought = take_in(library, planned, decided(data.draw, planned))
        after, now = stands(library), said(library)
        assert_sound(library)
        for one, history in mine.items():
            assert [said_so for said_so in now[one] if said_so in history] == history
        for one in forgotten:
            assert after[one] == before[one]
        again = plan(library, document)
        assert again.count(MatchKind.NEW) == again.count(MatchKind.AHEAD) == 0
        taken = take_back(library, brought)
        assert taken.left == []
        back = stands(library)
        assert {one: back[one] for one in before} == before
        assert all(back[one][0] for one in back.keys() - before.keys()), "what came is put away"
        assert_sound(library)


@settings(FEW, max_examples=5)
@given(st.data())
def test_a_rescue_of_a_sound_file_loses_nothing(data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as folder:
        place, target = Path(folder) / "one.library", Path(folder) / "rescued.library"
        with Library.open(place, "one") as library:
            fill(library, data.draw)
            for _ in range(data.draw(st.integers(0, 6))):
                act(library, data.draw)
            whole = content(library)
        told = rescue(address_of(place), address_of(target), keep_strays=lambda _strays: None)  # type: ignore[arg-type, return-value]  # there are none
        assert [Numbers().text(line) for line in told.lines()] == []
        with Library.open(target, "one") as rescued:
            assert content(rescued) == whole
            assert_sound(rescued)
