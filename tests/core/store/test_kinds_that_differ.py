"""Records of any kind that differ in a document are asked about; an import is undone whole."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from core.language import Numbers
from core.records import Customer, Headshell, Job, PictureOf, Service, ServicePart
from core.store import Library, LibraryAddress
from core.store.differences import Side, differences, put_together
from core.store.documents import Document, DocumentProblem, document_from
from core.store.exporting import of_library, with_customers, with_pictures
from core.store.importing import FieldsChosen, ImportDecision, ImportItem, MatchKind, plan, take_in
from core.store.jpeg import Content
from core.store.taking_back import take_back
from tests.core.store.test_test_records import RECORD
from tests.core.store.worked import content_of
from tests.examples import cartridge, deck
from tests.jpegs import jpeg

DAY = date(2025, 3, 1)


def content(mark: int = 1) -> Content:
    return Content.of(jpeg(640, 480, mark), jpeg(64, 48, mark))


def document_of(library: Library) -> Document:
    whole = with_pictures(library, with_customers(library, of_library(library)))
    return document_from(content_of(library, whole), "other.json")


def newest(library: Library) -> dict[tuple[str, str], Any]:
    """Return what the newest revisions say of all that is not put away."""
    return {
        (sort, row.id): library.records(sort).get(row.id).thing
        for sort in CHANGES
        for row in library.records(sort).rows(archived=False)
    }


Changes = dict[str, tuple[str, Any, Any, str]]
CHANGES: Changes = {
    "deck": ("notes", "here", "there", "Notes"),
    "cartridge": ("name", "Cartridge here", "Cartridge there", "Name"),
    "job": ("noises", "Hums here", "Hums there", "Noises"),
    "headshell": ("name", "Headshell here", "Headshell there", "Name"),
    "test record": ("name", "Record here", "Record there", "Name"),
    "customer": ("contact", "0101", "0102", "To reach them"),
    "service": ("withdrawn", "2025-04-01", "2025-04-02", "Left out"),
    "picture": ("caption", "Seen here", "Seen there", "Caption"),
}
"""Of every kind the field that both benches change, to what, and what it is called."""


@pytest.fixture
def ids(library: Library) -> dict[str, str]:
    deck_id, customer = library.keep_deck(deck()).id, Customer(name="Customer of this test")
    library.service.add(
        Service(deck=deck_id, part=ServicePart.BELT, day="2024-03-01", done="New belt"),
        "a-service",
        who="Ann",
    )
    who = library.keep_customer(customer).id
    library.pictures.add(PictureOf.DECK, deck_id, content(), who="Ann", day=DAY, picture_id="a-pic")
    return {
        "deck": deck_id,
        "cartridge": library.keep_cartridge(cartridge()).id,
        "job": library.keep_job(Job(brought="A deck", customer=who)).id,
        "headshell": library.keep_headshell(Headshell(name="Headshell A", mass_g=9.5)).id,
        "test record": library.keep_test_record(RECORD).id,
        "customer": who,
        "service": "a-service",
        "picture": "a-pic",
    }


def change(library: Library, sort: str, record_id: str, **fields: Any) -> None:
    store = library.records(sort)
    thing = store.get(record_id).thing.model_copy(update=fields)
    store.keep(thing, record_id, who=library.who)


@pytest.fixture
def theirs(
    library: Library, ids: dict[str, str], other_address: LibraryAddress
) -> Callable[..., Document]:
    """Return a document of another bench, where one record was changed; here it was, too."""

    def made(sort: str) -> Document:
        field, here, there, _ = CHANGES[sort]
        with Library.open(other_address, "Other") as other:
            take_in(other, plan(other, document_of(library)), {})
            change(other, sort, ids[sort], **{field: there})
            change(library, sort, ids[sort], **{field: here})
            return document_of(other)

    return made


def only_conflict(library: Library, document: Document) -> ImportItem:
    (item,) = plan(library, document).conflicts
    return item


@pytest.mark.parametrize("sort", CHANGES)
def test_a_record_of_any_kind_that_differs_is_shown_field_by_field(
    library: Library, ids: dict[str, str], theirs: Callable[..., Document], sort: str
) -> None:
    document = theirs(sort)
    item = only_conflict(library, document)
    field, here, there, label = CHANGES[sort]
    assert (item.sort, item.id) == (sort, ids[sort])
    # Of a record left out it is said since when: a bare day could be that of the work.
    since = "since " if sort == "service" else ""
    assert [(one.label, one.here, one.incoming) for one in item.differences] == [
        (label, f"{since}{here}", f"{since}{there}")
    ]
    before = newest(library)
    with pytest.raises(DocumentProblem) as caught:
        take_in(library, plan(library, document), {})
    assert "You have not decided yet" in Numbers().text(caught.value.what)
    assert newest(library) == before
    brought = take_in(library, plan(library, document), {item.id: ImportDecision.MINE})
    assert newest(library) == before
    assert brought.came == ()
    brought = take_in(library, plan(library, document), {item.id: ImportDecision.THEIRS})
    assert getattr(library.records(sort).get(ids[sort]).thing, field) == there
    take_back(library, brought)
    assert newest(library) == before
    assert library.faults() == []


@pytest.mark.parametrize("sort", CHANGES)
def test_a_field_that_is_chosen_is_kept_and_taken_back(
    library: Library, ids: dict[str, str], theirs: Callable[..., Document], sort: str
) -> None:
    document = theirs(sort)
    item, before = only_conflict(library, document), newest(library)
    assert item.versions is not None
    here, incoming = item.versions.here.thing, item.versions.incoming.thing
    (one,) = differences(here, incoming, common=item.versions.common)
    assert one.changed_by is None, "both changed it: nobody is chosen for the person"
    chosen = put_together(here, incoming, {one.place: Side.INCOMING})
    decided = {item.id: FieldsChosen(chosen, "Ada")}
    brought = take_in(library, plan(library, document), decided)
    kept = library.records(sort).get(ids[sort])
    assert (kept.who, kept.thing) == ("Ada", incoming)
    assert not plan(library, document).conflicts
    take_back(library, brought)
    assert newest(library) == before


@pytest.mark.parametrize("sort", CHANGES)
def test_two_benches_that_came_to_the_same_are_not_asked_about(
    library: Library, ids: dict[str, str], other_address: LibraryAddress, sort: str
) -> None:
    field, _, there, _ = CHANGES[sort]
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, document_of(library)), {})
        for place in (other, library):
            change(place, sort, ids[sort], **{field: there})
        document = document_of(other)
    planned, before = plan(library, document), newest(library)
    assert planned.conflicts == ()
    take_in(library, planned, {})
    assert newest(library) == before
    assert plan(library, document).count(MatchKind.CONFLICT) == 0


@pytest.mark.parametrize("sort", ["customer", "service", "picture"])
def test_what_is_never_two_can_not_be_kept_as_two(
    library: Library, theirs: Callable[..., Document], sort: str
) -> None:
    document = theirs(sort)
    item = only_conflict(library, document)
    with pytest.raises(DocumentProblem):
        take_in(library, plan(library, document), {item.id: ImportDecision.BOTH})


def test_what_goes_with_a_deck_that_is_kept_as_a_second_one_is_not_asked_about(
    library: Library, ids: dict[str, str], other_address: LibraryAddress
) -> None:
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, document_of(library)), {})
        for place, at in ((other, 2), (library, 1)):
            for sort in ("deck", "service", "picture"):
                field, *values, _ = CHANGES[sort]
                change(place, sort, ids[sort], **{field: values[at - 1]})
        document = document_of(other)
    before = newest(library)
    planned = plan(library, document)
    assert [item.sort for item in planned.conflicts] == ["deck", "service", "picture"]
    brought = take_in(library, planned, {ids["deck"]: ImportDecision.BOTH})
    (second,) = (row.id for row in library.decks() if library.deck(row.id).thing.notes == "there")
    assert [one.thing.withdrawn for one in library.service.of_deck(second)] == ["2025-04-02"]
    assert [one.thing.caption for one in library.pictures.of("deck", second)] == ["Seen there"]
    assert {key: newest(library)[key] for key in before} == before
    take_back(library, brought)
    assert newest(library) == before


def test_a_job_says_who_the_two_customers_are_not_their_numbers(
    library: Library, ids: dict[str, str], other_address: LibraryAddress
) -> None:
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, document_of(library)), {})
        another = other.keep_customer(Customer(name="Customer of the other bench")).id
        change(other, "job", ids["job"], customer=another)
        change(library, "job", ids["job"], customer="")
        document = document_of(other)
        alone = document_from(content_of(other, of_library(other)), "without customers")
    versions = only_conflict(library, document).versions
    assert versions is not None
    told = differences(versions.here.thing, versions.incoming.thing, named=dict(versions.named))
    assert [(one.here, one.incoming) for one in told] == [("empty", "Customer of the other bench")]
    versions = only_conflict(library, alone).versions
    assert versions is not None
    (one,) = differences(versions.here.thing, versions.incoming.thing, named=dict(versions.named))
    assert one.incoming == "a customer who is not on file here"
    assert another not in f"{one.here}{one.incoming}"


# Who was forgotten


def names_in(library: Library, customer: str) -> set[str]:
    return {one.thing.name for one in library.jobs.customers.history(customer)}


@pytest.mark.parametrize("is_changed_there", [False, True])
def test_who_was_forgotten_here_stays_forgotten_whatever_comes_in(
    library: Library, ids: dict[str, str], other_address: LibraryAddress, *, is_changed_there: bool
) -> None:
    who = ids["customer"]
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, document_of(library)), {})
        if is_changed_there:
            change(other, "customer", who, contact="0102")
        document = document_of(other)
    library.forget_customer(who)
    before = library.jobs.customers.history(who)
    planned = plan(library, document)
    (item,) = (one for one in planned.items if one.sort == "customer")
    assert item.status is MatchKind.SAME
    for decided in (*ImportDecision, FieldsChosen(Customer(name="Customer of this test"))):
        brought = take_in(library, plan(library, document), {who: decided})
        assert library.jobs.customers.history(who) == before
        take_back(library, brought)
        assert library.jobs.customers.history(who) == before
    assert names_in(library, who) == {""}


def test_who_is_forgotten_after_an_import_stays_so_when_it_is_taken_back(
    library: Library, ids: dict[str, str], theirs: Callable[..., Document]
) -> None:
    who = ids["customer"]
    document = theirs("customer")
    brought = take_in(library, plan(library, document), {who: ImportDecision.THEIRS})
    library.forget_customer(who)
    taken = take_back(library, brought)
    assert ("customer", who) in taken.left
    assert names_in(library, who) == {""}


def test_a_document_makes_nobody_forgotten_here_but_says_who_was(
    library: Library, ids: dict[str, str], other_address: LibraryAddress
) -> None:
    who = ids["customer"]
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, document_of(library)), {})
        other.forget_customer(who)
        document = document_of(other)
    before = newest(library)
    planned = plan(library, document)
    (item,) = (one for one in planned.items if one.erased_there)
    assert (item.name, item.status) == ("Customer of this test", MatchKind.SAME)
    take_in(library, planned, {})
    assert newest(library) == before


def test_a_document_that_calls_somebody_forgotten_but_holds_a_name_brings_no_name(
    library: Library, ids: dict[str, str], other_address: LibraryAddress
) -> None:
    who = ids["customer"]
    document = document_of(library)
    (record,) = document.customers
    forgotten = record.revisions[0].model_copy(
        update={"revision": 2, "thing": Customer(forgotten="2025-05-01")}
    )
    said = record.model_copy(update={"revisions": (*record.revisions, forgotten)})
    false = document.model_copy(update={"customers": (said,)})
    before = newest(library)
    take_in(library, plan(library, false), {})
    assert newest(library) == before, "the name here would stay in the file"
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, false), {})
        assert names_in(other, who) == {""}
        take_in(other, plan(other, document), {})
        assert names_in(other, who) == {""}


# Numbers of something else


@pytest.mark.parametrize(("sort", "list_name"), [("service", "services"), ("picture", "pictures")])
def test_a_number_that_belongs_to_something_of_another_deck_is_refused(
    library: Library, ids: dict[str, str], sort: str, list_name: str
) -> None:
    other = library.keep_deck(deck(name="Other")).id
    document = document_of(library)
    field = "deck" if sort == "service" else "thing"
    (record,) = getattr(document, list_name)
    first = record.revisions[0]
    moved = first.model_copy(update={"thing": first.thing.model_copy(update={field: other})})
    clashing = document.model_copy(
        update={list_name: (record.model_copy(update={"revisions": (moved,)}),)}
    )
    before = newest(library)
    with pytest.raises(DocumentProblem) as caught:
        plan(library, clashing)
    assert "belongs to a" in Numbers().text(caught.value.what)
    assert newest(library) == before
