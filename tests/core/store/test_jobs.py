"""Jobs: their numbers, their fittings, what lists say of them, and the way to another bench."""

from __future__ import annotations

import csv
import io
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from core.fitting import Finished, Fitting, JobGiven, NoteWritten, ReadingTaken, Withdrawn
from core.language import Numbers
from core.records import Customer, Job, JobState
from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind
from core.store.documents import Document, document_from
from core.store.exporting import (
    Selection,
    of_decks,
    of_fittings,
    of_jobs,
    of_library,
    with_customers,
)
from core.store.importing import ImportDecision, MatchKind, plan, take_in
from core.store.tables import fitting_table, record_table
from core.store.taking_back import take_back
from core.workflow.descriptions import described
from core.workflow.replay import journey_of
from tests.core.store.worked import content_of, everything
from tests.examples import cartridge, deck

NAME = "Zebulon Quill-Xylander"
CONTACT = "0000 555 0199 77"


def said(message: object) -> str:
    return Numbers().text(message)


def job_of(library: Library, **fields: str) -> str:
    return library.keep_job(Job(**fields)).id


def begun(library: Library, job_id: str, name: str = "Example deck") -> Fitting:
    deck_id = library.keep_deck(deck(name=name)).id
    return library.start_fitting(deck_id, library.keep_cartridge(cartridge()).id, job_id=job_id)


def test_a_job_numbers_itself_and_keeps_every_state(library: Library) -> None:
    year = datetime.now().astimezone().year
    first = library.keep_job(Job(brought="a deck in its box"))
    assert first.thing.number == f"{year}-001"
    library.keep_job(Job(number=f"{year}-017"))
    library.keep_job(Job(number=f"{year}-x"))
    library.keep_job(Job(number=f"{year - 1}-400"))
    assert library.keep_job(Job()).thing.number == f"{year}-018"
    changed = library.keep_job(first.thing.model_copy(update={"noises": "hum"}), id=first.id)
    assert [one.thing.noises for one in library.jobs.records.history(first.id)] == ["", "hum"]
    assert changed.revision == 2
    with pytest.raises(LibraryProblem, match="changed in another window"):
        library.keep_job(first.thing.model_copy(update={"notes": "x"}), id=first.id, based_on=1)


def test_a_number_of_another_job_is_refused_in_a_sentence_and_nothing_is_lost(
    library: Library,
) -> None:
    library.keep_job(Job(number="A 7"))
    other = library.keep_job(Job(number="A 8"))
    for call in (
        lambda: library.keep_job(Job(number="A 7")),
        lambda: library.keep_job(Job(number="A 7"), id=other.id),
    ):
        with pytest.raises(
            LibraryProblem, match="Number A 7 already belongs to another job"
        ) as told:
            call()
        assert told.value.kind is ProblemKind.UNSUITABLE
    assert library.jobs.records.get(other.id) == other
    assert library.keep_job(Job(number="A 8", notes="mine"), id=other.id).revision == 2


@pytest.mark.parametrize(
    ("typed", "kept"), [("2026-3-1", "2026-03-01"), ("2024-02-29", "2024-02-29"), ("", "")]
)
def test_a_day_is_kept_as_the_standard_writes_it(typed: str, kept: str) -> None:
    assert Job(received=typed).received == kept


@pytest.mark.parametrize("typed", ["1.3.2026", "2026-02-30", "tomorrow", "2026-13-01", "20260301"])
def test_what_is_no_day_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match="must be a day"):
        Job(promised=typed)
    with pytest.raises(ValueError, match="It was handed over before it was received"):
        Job(received="2026-03-02", handed_over="2026-03-01")


def test_a_fitting_belongs_to_a_job_and_can_be_given_to_another(
    address: LibraryAddress,
) -> None:
    with Library.open(address, "Ann") as library:
        first, second = job_of(library, number="1"), job_of(library, number="2")
        fitting = begun(library, first)
        assert library.fittings(job_id=first)[0].id == fitting.id
        library.append(fitting.id, Finished())
        entry = library.give_job(fitting.id, second)  # also when all is finished
        assert library.give_job(fitting.id, second) is None
        assert library.fittings(job_id=first) == ()
        log = library.fitting(fitting.id)
        assert log.job_id == second
        words = [said(described(one.body)) for one in log.entries]
        assert words[0] == "Belongs to job 1"
        assert words[-1] == "Belongs to job 2"
        assert entry is not None
        library.append(fitting.id, Withdrawn(entry=entry.id))
        assert library.log.rows_of([fitting.id])[0].job_id == first
        library.give_job(fitting.id, "")
        assert said(described(library.fitting(fitting.id).entries[-1].body)) == (
            "No longer belongs to a job"
        )
    with Library.open(address) as again:
        assert again.log.rows_of([fitting.id])[0].job_id == ""
        assert again.log.rows_of([fitting.id])[0].finished
        assert again.fitting(fitting.id).job_id == ""
        with pytest.raises(LibraryProblem, match="holds no job"):
            again.give_job(fitting.id, "no such job")


def test_which_job_it_is_changes_nothing_of_a_step(library: Library, fitting: Fitting) -> None:
    """The fold of a log with the entry is the fold without it."""
    reading = ReadingTaken(step="rough_downforce", reading={"way": "scale", "downforce_gf": 1.95})
    library.append(fitting.id, reading)
    before = library.fitting(fitting.id)
    library.give_job(fitting.id, job_of(library))
    after = library.fitting(fitting.id)
    things = library.deck(fitting.deck_id).thing, library.cartridge(fitting.cartridge_id).thing
    assert journey_of(*things, after).statuses == journey_of(*things, before).statuses


def test_the_state_follows_from_the_days_and_the_fittings(library: Library) -> None:
    job_id = job_of(library, brought="a deck, dusty")

    def state() -> JobState:
        return library.jobs.row(job_id).state

    assert state() is JobState.RECEIVED
    assert library.jobs.row(job_id).what == "a deck, dusty"
    one, other = begun(library, job_id, "Deck A"), begun(library, job_id, "Deck B")
    assert state() is JobState.IN_PROGRESS
    assert sorted(library.jobs.row(job_id).decks) == ["Deck A", "Deck B"]
    reading = ReadingTaken(step="rough_downforce", reading={"way": "scale", "downforce_gf": 1.95})
    library.append(one.id, reading)
    library.append(one.id, NoteWritten(step="speed", text="a note is no work"))
    assert library.jobs.row(job_id).step == library.log.listing().row(0).reached == "1 level"
    library.append(one.id, Finished())
    assert state() is JobState.IN_PROGRESS
    library.archive_fitting(other.id)
    assert state() is JobState.READY
    kept = library.jobs.records.get(job_id)
    library.keep_job(kept.thing.model_copy(update={"handed_over": "2026-03-05"}), id=job_id)
    assert state() is JobState.HANDED_OVER
    assert [row.id for row in library.jobs.rows(handed_over=False)] == []


def test_the_promise_is_told_in_words() -> None:
    today = date(2026, 2, 28)  # of a year without a 29th

    def told(promised: str, handed_over: str = "") -> str | None:
        with_days = Job(number="1", promised=promised, handed_over=handed_over)
        row = row_of(with_days)
        found = row.told_of_promise(today)
        return None if found is None else said(found)

    assert told("2026-02-26") == "overdue by 2 days"
    assert told("2026-02-27") == "overdue by one day"
    assert told("2026-02-28") == "today"
    assert told("2026-03-01") == "tomorrow"
    assert told("2026-03-02") == "in 2 days"
    assert told("") is None
    assert told("2026-02-26", "2026-02-27") is None


def row_of(job: Job) -> object:
    """Return the row of a job in a library of its own."""
    from tests.core.store.memory import MemoryAddress

    with Library.open(MemoryAddress("one", Path())) as library:
        return library.jobs.row(library.keep_job(job).id)


def test_jobs_are_sorted_by_their_promise_and_found_by_number_deck_state_and_day(
    library: Library,
) -> None:
    job_of(library, number="2026-10", promised="2026-04-02")
    job_of(library, number="2026-9")
    job_of(library, number="2026-2", promised="2026-04-01")
    begun(library, job_of(library, number="2026-8"), "Deck with a walnut plinth")
    listing = library.jobs.listing()

    def numbers(words: str = "", order: str = "", *, down: bool = False) -> list[str]:
        found = listing.find(words, order=order, descending=down)
        return [listing.row(place).number for place in found]

    assert numbers() == ["2026-2", "2026-10", "2026-8", "2026-9"]
    assert numbers(order="number") == ["2026-2", "2026-8", "2026-9", "2026-10"]
    assert numbers(order="promised", down=True)[:2] == ["2026-10", "2026-2"]
    assert numbers(order="state")[-1] == "2026-8"
    assert numbers("walnut") == ["2026-8"]
    assert numbers("in progress") == ["2026-8"]
    assert numbers("2026-04-02") == ["2026-10"]


# Customers are kept apart


@pytest.fixture
def named(library: Library) -> tuple[Library, str, str]:
    """A library with a customer, their job, and a fitting of it with a full log."""
    customer = library.keep_customer(Customer(name=NAME, contact=CONTACT))
    job_id = job_of(library, number="A 1", customer=customer.id, accessories="lid")
    fitting = begun(library, job_id)
    library.append(fitting.id, NoteWritten(text="cleaned"))
    library.append(fitting.id, Finished())
    return library, customer.id, job_id


def test_no_list_table_or_document_holds_a_customer_unless_asked(
    named: tuple[Library, str, str],
) -> None:
    library, _, job_id = named
    rows = [*library.decks(), *library.cartridges(), *library.fittings(), *library.jobs.rows()]
    texts = [repr(row) for row in rows]
    for listing in (
        library.deck_records.listing(),
        library.cartridge_records.listing(),
        library.log.listing(),
        library.jobs.listing(),
    ):
        texts += [repr(vars(listing)), *(repr(listing.row(at)) for at in listing.find())]
        assert listing.find("zebulon") == []
        assert listing.find("0199") == []
    texts.append(record_table(library.decks(), sort="deck"))
    texts.append(fitting_table(library.fittings()))
    selections = (
        of_library(library),
        of_jobs(library, job_id),
        of_fittings(library, *(row.id for row in library.fittings())),
        of_decks(library, *(row.id for row in library.decks())),
    )
    texts += [content_of(library, one).decode() for one in selections]
    assert len(texts) > 12
    for text in texts:
        assert "zebulon" not in text.casefold()
        assert CONTACT not in text
    asked = content_of(library, with_customers(library, selections[1])).decode()
    assert NAME in asked
    assert with_customers(library, selections[1]).is_private


def test_a_customer_is_found_in_the_field_of_their_own(named: tuple[Library, str, str]) -> None:
    library, customer_id, job_id = named
    listing = library.jobs.customers.listing()
    assert [listing.ids[at] for at in listing.find("quill")] == [customer_id]
    assert [listing.ids[at] for at in listing.find("0199")] == [customer_id]
    assert [row.id for row in library.jobs.of_customer(customer_id)] == [job_id]
    with pytest.raises(LibraryProblem, match="holds no customer"):
        job_of(library, customer="nobody")
    with pytest.raises(ValueError, match="needs a name"):
        Customer(contact=CONTACT)


def taken_in(library: Library, content: bytes) -> Document:
    document = document_from(content, "other.json")
    take_in(library, plan(library, document), {})
    return document


def test_jobs_go_to_another_bench_and_customers_only_when_asked(
    named: tuple[Library, str, str], other_address: LibraryAddress
) -> None:
    library, customer_id, job_id = named
    whole = of_jobs(library, job_id)
    with Library.open(other_address) as other:
        document = taken_in(other, content_of(library, whole))
        assert other.jobs.row(job_id)._replace(at=None) == library.jobs.row(job_id)._replace(
            at=None
        )
        assert other.fittings(job_id=job_id)[0].id == library.fittings(job_id=job_id)[0].id
        assert not other.jobs.customers.has(customer_id)
        assert plan(other, document).count(MatchKind.SAME) == len(plan(other, document).items)
        taken_in(other, content_of(library, with_customers(library, whole)))
        assert other.jobs.customers.get(customer_id).thing.name == NAME
        assert (
            everything(other).count('"number": "A 1"') == 2
        )  # the job, and the entry that names it
        before = everything(library)
        assert taken_in(library, content_of(other, of_library(other)))
        assert everything(library) == before


def test_a_job_kept_as_a_second_one_takes_its_fitting_along(
    named: tuple[Library, str, str], other_address: LibraryAddress
) -> None:
    library, _, job_id = named
    with Library.open(other_address) as other:
        taken_in(other, content_of(library, of_jobs(library, job_id)))
        here, there = library.jobs.records.get(job_id), other.jobs.records.get(job_id)
        library.keep_job(here.thing.model_copy(update={"notes": "here"}), id=job_id)
        other.keep_job(there.thing.model_copy(update={"notes": "there"}), id=job_id)
        more = begun(other, job_id, "Another deck")
        document = document_from(content_of(other, of_jobs(other, job_id)), "other.json")
        planned = plan(library, document)
        (conflict,) = planned.conflicts
        assert (conflict.sort, conflict.name) == ("job", "A 1")
        assert [one.label for one in conflict.differences] == ["Notes"]
        brought = take_in(library, planned, {conflict.id: ImportDecision.BOTH})
        second = library.log.rows_of([more.id])[0].job_id
        assert second not in ("", job_id)
        assert library.jobs.records.get(second).thing.notes == "there"
        assert not plan(library, document).conflicts
        undone = take_back(library, brought)
        assert undone.archived["job"] == 1
        assert [row.id for row in library.jobs.rows()] == [job_id]


def test_a_document_may_name_a_job_it_has_not(
    named: tuple[Library, str, str], other_address: LibraryAddress
) -> None:
    library, _, job_id = named
    row = library.fittings(job_id=job_id)[0]
    alone = Selection("one", (row.deck_id,), (row.cartridge_id,), (row.id,))
    with Library.open(other_address) as other:
        taken_in(other, content_of(library, alone))
        assert other.log.rows_of([row.id])[0].job_id == job_id
        assert other.jobs.rows() == ()
        assert said(described(other.fitting(row.id).entries[0].body)) == "Belongs to job A 1"


def test_spreadsheet_tables_hold_no_customer(
    named: tuple[Library, str, str], tmp_path: Path
) -> None:
    from core.spreadsheet import write_tables

    library, _, _ = named
    write_tables(library, tmp_path / "figures.csv")
    texts = [path.read_text("utf-8-sig") for path in tmp_path.glob("*.csv")]
    assert any(list(csv.reader(io.StringIO(text)))[1:] for text in texts)
    assert not any("zebulon" in text.casefold() or CONTACT in text for text in texts)


# Forgetting


def test_who_is_forgotten_is_gone_from_every_state_and_the_job_stays_whole(
    named: tuple[Library, str, str],
) -> None:
    library, customer_id, job_id = named
    library.keep_customer(Customer(name=NAME, contact="second"), id=customer_id)
    other = library.keep_customer(Customer(name="Somebody else"))
    job = library.jobs.records.history(job_id)
    before = library.jobs.customers.get(customer_id)
    assert library.forget_customer(customer_id)
    today = datetime.now().astimezone().date().isoformat()
    states = [one.thing for one in library.jobs.customers.history(customer_id)]
    assert states == [Customer(forgotten=today)] * 3
    assert library.jobs.records.history(job_id) == job
    assert library.jobs.customers.listing().find("zebulon") == []
    assert library.jobs.customers.get(other.id) == other
    assert [row.id for row in library.jobs.of_customer(customer_id)] == [job_id]
    # What another window saw is not kept over it, nor does an old document bring it back.
    with pytest.raises(LibraryProblem, match=f"forgotten on {today}"):
        library.keep_customer(before.thing, id=customer_id, based_on=before.revision)
    library.forget_customer(customer_id)
    assert len(library.jobs.customers.history(customer_id)) == 3


def test_a_document_of_before_does_not_bring_back_who_was_forgotten(
    named: tuple[Library, str, str],
) -> None:
    library, customer_id, job_id = named
    content = content_of(library, with_customers(library, of_jobs(library, job_id)))
    library.forget_customer(customer_id)
    taken_in(library, content)
    assert all(not one.thing.name for one in library.jobs.customers.history(customer_id))


def test_a_clock_is_needed_for_nothing_but_the_day(library: Library) -> None:
    """Jobs of another year number themselves anew."""
    assert library.jobs.next_number(date(2031, 1, 1)) == "2031-001"
    at = datetime.now(UTC) - timedelta(days=400)
    fitting = begun(library, "")
    library.jobs.give(fitting.id, job_of(library), who="", at=at)
    assert isinstance(library.fitting(fitting.id).entries[-1].body, JobGiven)


def test_the_list_of_fittings_knows_number_and_promise_of_their_jobs(library: Library) -> None:
    deck_id, cartridge_id = library.keep_deck(deck()).id, library.keep_cartridge(cartridge()).id
    late = library.keep_job(Job(number="2026-014", promised="2026-05-02"))
    soon = library.keep_job(Job(number="2026-140", promised="2026-05-01"))
    of_late, of_soon, of_none = (
        library.start_fitting(deck_id, cartridge_id, job_id=job).id
        for job in (late.id, soon.id, "")
    )
    listing = library.log.listing()
    rows = {one: listing.row(place) for place, one in enumerate(listing.ids)}
    assert (rows[of_late].job_number, rows[of_late].promised) == ("2026-014", "2026-05-02")
    assert (rows[of_none].job_number, rows[of_none].promised) == ("", "")
    by_promise = [listing.ids[place] for place in listing.find(order="promised")]
    assert by_promise[:2] == [of_soon, of_late]
    assert [listing.ids[place] for place in listing.find("2026-014")] == [of_late]


def test_the_list_of_decks_finds_the_number_of_a_job(library: Library) -> None:
    one, other = (job_of(library, number=number) for number in ("2026-014", "2026-015"))
    begun(library, one, "Deck on the left")
    begun(library, other, "Deck on the right")
    library.start_fitting(
        library.keep_deck(deck(name="Deck of nobody 3")).id, library.cartridges()[0].id
    )

    def found(words: str) -> list[str]:
        listing = library.deck_listing()
        return [listing.row(place).name for place in listing.find(words)]

    assert found("2026-014") == ["Deck on the left"]
    assert found("no. 015") == ["Deck on the right"]
    assert found("deck 2026-01") == ["Deck on the left", "Deck on the right"]
    assert found("nobody 3") == ["Deck of nobody 3"]
    assert found("2026-016") == []
