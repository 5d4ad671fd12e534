"""The library: decks, cartridges, jobs, fittings and their log, whichever engine holds them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from datetime import UTC, date, datetime
from functools import cached_property
from itertools import chain
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Final, Self, TypeVar

from core.fitting import ArmUsed, Body, Entry, Fitting, HeadshellUsed, Planned, WorkAsked, new_id
from core.language import Message, Name, day_of, message
from core.records import (
    FIRST_ARM,
    ArmKind,
    Cartridge,
    Customer,
    CutRecord,
    Deck,
    FrozenModel,
    Headshell,
    Job,
    RecordPlayed,
    StylusShape,
    arm_of,
)
from core.store import archiving
from core.store.addresses import address_of
from core.store.archiving import Archiving, Undone
from core.store.arm_names import arms_text
from core.store.backend import Backend, Conditions, LibraryAddress, RowValues, WorkStoppedError
from core.store.deck_listing import DeckListing
from core.store.drafts import Drafts
from core.store.fitting_status import UNKNOWN_MONTHS
from core.store.jobs import Jobs
from core.store.last_finished import LastFinished
from core.store.listing import Listing
from core.store.log import FittingLog
from core.store.problems import LibraryProblem, unsuitable
from core.store.revisions import RevisionStore
from core.store.rows import FittingRow, RecordRow, Stored, stamp
from core.store.service import ServiceRecords

if TYPE_CHECKING:
    from core.store.documents import DocumentRecord
    from core.store.pictures import Pictures

T = TypeVar("T", bound=FrozenModel)

_STARTERS_ADDED: Final = "starters added"
_RECORDS_ADDED: Final = "test records added"
_RECORDS_MADE: Final = datetime(2026, 11, 29, tzinfo=UTC)
"""The same ids in every library, so that imports match."""
_BEGUN: Final = "begun at"
_LONGEST_OF_BANDS: Final = 160
_FEW: Final = 500
"""Up to this many records are queried one by one; for more, reading the whole table is faster."""


class Library:
    """An open library.

    Every change is durable when its call returns. Every failure is a
    :class:`~core.store.problems.LibraryProblem`, after which the library is as it was before the
    call and the call can be repeated. One Library belongs to one thread; any number of windows and
    programs may have the same library open, writers wait for each other.

    Made by :meth:`open`.
    """

    def __init__(self, backend: Backend, address: LibraryAddress, who: str) -> None:
        self._backend = backend
        self.address = address
        self.who = who
        self.deck_records: RevisionStore[Deck] = RevisionStore(
            backend,
            "deck",
            Deck,
            _light_of_deck,
            lambda kind: ArmKind(kind).label,
            lambda deck: {"check_months": deck.check_months or 0, "arms": arms_text(deck)},
        )
        self.cartridge_records: RevisionStore[Cartridge] = RevisionStore(
            backend, "cartridge", Cartridge, _light_of_cartridge, lambda cut: StylusShape(cut).label
        )
        self.headshell_records: RevisionStore[Headshell] = RevisionStore(
            backend, "headshell", Headshell, lambda shell: (shell.name, shell.fits, "")
        )
        self.test_records: RevisionStore[CutRecord] = RevisionStore(
            backend, "test record", CutRecord, lambda one: (one.name, _bands_in_words(one), "")
        )
        self.log = FittingLog(backend)
        self.last_finished = LastFinished(backend)
        self.drafts = Drafts(backend)
        self.form_drafts = Drafts.of_records(backend)
        self.jobs = Jobs(backend, self.log)
        self.service = ServiceRecords(backend, self.deck_records)

    @cached_property
    def pictures(self) -> Pictures:
        """Pictures of decks, cartridges, jobs and fittings."""
        # Imported here: no list shows pictures.
        from core.store.pictures import Pictures

        return Pictures(self._backend, self._has)

    def _has(self, sort: str, record_id: str) -> bool:
        return self.log.has(record_id) if sort == "fitting" else self.records(sort).has(record_id)

    @classmethod
    def open(
        cls,
        place: Path | str | LibraryAddress,
        who: str = "",
        *,
        read_only: bool = False,
        begin_anew: bool = False,
        wait_s: float = 5.0,
    ) -> Self:
        """Open the library at ``place``, or create it.

        Parameters
        ----------
        place
            The library's address; a path is that of a library file, whose folder must exist.
        who
            The author of entries that name none.
        read_only
            Open without writing; works on read-only disks and, as far as possible, with damaged
            files.
        begin_anew
            Create an empty library although traces of an earlier one (backups, a leftover log) are
            found. Otherwise these raise VANISHED.
        wait_s
            How long a change waits for another window, in seconds.

        Raises
        ------
        LibraryProblem
            Of every kind that :class:`~core.store.problems.ProblemKind` names for files.
        """
        address = address_of(place).resolved()
        backend = address.open(read_only=read_only, begin_anew=begin_anew, wait_s=wait_s)
        library = cls(backend, address, who)
        try:
            if not read_only:
                library.add_starters()
                library.sum_up_unknown()
        except BaseException:
            library.close()
            raise
        return library

    def close(self) -> None:
        """Close the library. Closing twice does nothing."""
        self._backend.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def read_only(self) -> bool:
        """Whether it was opened read-only."""
        return self._backend.read_only

    def warning(self) -> Message | None:
        """Return a warning about the library's place, or None."""
        return self.address.warning()

    # Decks

    def decks(self, *, archived: bool | None = None) -> tuple[RecordRow, ...]:
        """Return the decks by name; ``archived`` filters if it is not None."""
        return self.deck_records.rows(archived=archived)

    def deck(self, deck_id: str, revision: int | None = None) -> Stored[Deck]:
        """Return a deck, by default its newest revision."""
        return self.deck_records.get(deck_id, revision)

    def keep_deck(
        self,
        deck: Deck,
        *,
        id: str | None = None,  # noqa: A002 - the same word as on what is handed out
        who: str = "",
        based_on: int | None = None,
    ) -> Stored[Deck]:
        """Keep a new deck, or a new revision of the one with this id.

        Unchanged content makes no revision. With ``based_on``, the revision the person saw, a
        change made elsewhere since then is not passed over: CHANGED_ELSEWHERE. UNSUITABLE if an arm
        is gone that fittings name.
        """
        with self.transaction():
            kept = self.deck_records.keep(deck, id, who=who or self.who, based_on=based_on)
            used = self.log.arms_in_use(kept.id) if id is not None else frozenset()
            if used - {FIRST_ARM, *(arm.key for arm in deck.further_arms)}:
                self._refuse_missing_arms(kept, used)
        return kept

    def _refuse_missing_arms(self, kept: Stored[Deck], used: frozenset[str]) -> None:
        """Refuse a deck that lost an arm that fittings name; arms it never had may be unknown."""
        if kept.revision < 2:
            return
        before = self.deck(kept.id, kept.revision - 1).thing
        now = {arm.key for arm in kept.thing.further_arms}
        for arm in before.further_arms:
            if arm.key in used and arm.key not in now:
                raise unsuitable(message("storage.arm_in_use", arm=Name(arm.name)))

    # Cartridges

    def cartridges(self, *, archived: bool | None = None) -> tuple[RecordRow, ...]:
        """Return the cartridges by name; ``archived`` filters if it is not None."""
        return self.cartridge_records.rows(archived=archived)

    def cartridge(self, cartridge_id: str, revision: int | None = None) -> Stored[Cartridge]:
        """Return a cartridge, by default its newest revision."""
        return self.cartridge_records.get(cartridge_id, revision)

    def keep_cartridge(
        self,
        cartridge: Cartridge,
        *,
        id: str | None = None,  # noqa: A002 - the same word as on what is handed out
        who: str = "",
        based_on: int | None = None,
    ) -> Stored[Cartridge]:
        """Keep a new cartridge, or a new revision of the one with this id; as :meth:`keep_deck`."""
        return self.cartridge_records.keep(cartridge, id, who=who or self.who, based_on=based_on)

    # Headshells

    def headshells(self, *, archived: bool | None = None) -> tuple[RecordRow, ...]:
        """Return the headshells by name; ``archived`` filters if it is not None."""
        return self.headshell_records.rows(archived=archived)

    def headshell(self, headshell_id: str, revision: int | None = None) -> Stored[Headshell]:
        """Return a headshell, by default its newest revision."""
        return self.headshell_records.get(headshell_id, revision)

    def used_headshell(self, headshell_id: str) -> HeadshellUsed:
        """Return the log entry that names the headshell on the arm."""
        return HeadshellUsed.of(headshell_id, self.headshell(headshell_id).thing)

    def keep_headshell(
        self,
        headshell: Headshell,
        *,
        id: str | None = None,  # noqa: A002 - the same word as on what is handed out
        who: str = "",
        based_on: int | None = None,
    ) -> Stored[Headshell]:
        """Keep a new headshell, or a new revision of the one with this id; as :meth:`keep_deck`."""
        return self.headshell_records.keep(headshell, id, who=who or self.who, based_on=based_on)

    # Test records

    def keep_test_record(
        self,
        record: CutRecord,
        *,
        id: str | None = None,  # noqa: A002 - the same word as on what is handed out
        who: str = "",
        based_on: int | None = None,
    ) -> Stored[CutRecord]:
        """Keep a new test record, or a new revision of one; as :meth:`keep_deck`."""
        return self.test_records.keep(record, id, who=who or self.who, based_on=based_on)

    def records_to_play(self) -> tuple[RecordPlayed, ...]:
        """Return the unarchived test records by name, at their newest revisions."""
        with self.snapshot():
            return tuple(
                RecordPlayed(id=row.id, record=self.test_records.get(row.id).thing)
                for row in self.test_records.rows(archived=False)
            )

    def remember_played(self, deck_id: str, played: RecordPlayed | None, *, who: str) -> None:
        """Record in a deck's bench kit which test record was played, as a revision of the deck."""
        with self.transaction():
            now = self.deck(deck_id)
            if now.thing.bench.played != played:
                bench = now.thing.bench.model_copy(update={"played": played})
                changed = now.thing.model_copy(update={"bench": bench})
                self.keep_deck(changed, id=deck_id, who=who, based_on=now.revision)

    # Fittings

    def fittings(
        self,
        *,
        deck_id: str | None = None,
        cartridge_id: str | None = None,
        job_id: str | None = None,
        headshell_id: str | None = None,
        arm_key: str | None = None,
        finished: bool | None = None,
        archived: bool | None = None,
        limit: int | None = None,
    ) -> tuple[FittingRow, ...]:
        """Return the fittings that meet every condition, the one with the newest entry first."""
        return self.log.rows(
            deck_id=deck_id,
            cartridge_id=cartridge_id,
            job_id=job_id,
            headshell_id=headshell_id,
            arm_key=arm_key,
            finished=finished,
            archived=archived,
            limit=limit,
        )

    def start_fitting(  # noqa: PLR0913 - whose it is, and what its log begins with
        self,
        deck_id: str,
        cartridge_id: str,
        *,
        who: str = "",
        at: datetime | None = None,
        planned: Planned | None = None,
        work: WorkAsked | None = None,
        job_id: str = "",
        headshell: HeadshellUsed | None = None,
        arm_key: str = FIRST_ARM,
    ) -> Fitting:
        """Start fitting a cartridge to a deck, with the newest revisions of both.

        The first entries name the arm (for a deck with several), ``planned`` (what an earlier
        fitting predicts), ``work`` (a short job), the job and the headshell on the arm; all are
        kept in one transaction. Raises UNSUITABLE if the deck has no such arm.
        """
        began, name = at or datetime.now(UTC), who or self.who
        with self._backend.transaction():
            arm = self._arm_entry(deck_id, arm_key)
            bodies: list[Body] = [body for body in (arm, planned, work) if body is not None]
            if job_id:
                bodies.append(self.jobs.given(job_id))
            if headshell is not None:
                bodies.append(headshell)
            entries = tuple(Entry(at=began, who=name, body=body) for body in bodies)
            fitting = Fitting(
                id=new_id(),
                deck_id=deck_id,
                deck_revision=self.deck(deck_id).revision,
                cartridge_id=cartridge_id,
                cartridge_revision=self.cartridge(cartridge_id).revision,
                started_at=began,
                who=name,
                entries=entries,
            )
            self.log.add(fitting)
        return fitting

    def _arm_entry(self, deck_id: str, key: str) -> ArmUsed | None:
        """Return the entry that names an arm; None for a deck with one arm."""
        deck = self.deck(deck_id).thing
        if key == FIRST_ARM and not deck.further_arms:
            return None
        arm = arm_of(deck, key)
        if arm is None:
            raise unsuitable(message("storage.no_such_arm", deck=Name(deck.name)))
        return ArmUsed.of(arm)

    def fitting(self, fitting_id: str) -> Fitting:
        """Return a fitting with its whole log."""
        return self.log.get(fitting_id)

    def append(
        self,
        fitting_id: str,
        body: Body,
        *,
        who: str = "",
        at: datetime | None = None,
        entry_id: str | None = None,
    ) -> Entry:
        """Keep one entry at the end of a fitting's log; it is on the disk on return.

        With an ``entry_id`` of the caller's (:func:`core.fitting.new_id`) a call that failed can
        be repeated without fear of a second entry.
        """
        entry = Entry(
            id=entry_id or new_id(), at=at or datetime.now(UTC), who=who or self.who, body=body
        )
        return self.log.append(fitting_id, entry)

    def archive_fitting(self, *ids: str, archived: bool = True) -> None:
        """Archive or restore fittings."""
        self.archive("fitting", ids, archived=archived)

    # Jobs and customers

    def keep_job(
        self,
        job: Job,
        *,
        id: str | None = None,  # noqa: A002 - the same word as on what is handed out
        who: str = "",
        based_on: int | None = None,
    ) -> Stored[Job]:
        """Keep a new job, or a new revision of one; assign the next number if it has none.

        As :meth:`keep_deck`; raises UNSUITABLE if another job has the number.
        """
        today = day_of(datetime.now(UTC))
        return self.jobs.keep(job, id, who=who or self.who, today=today, based_on=based_on)

    def give_job(self, fitting_id: str, job_id: str, *, who: str = "") -> Entry | None:
        """Give a fitting to a job, to none if it is empty; None if it already belongs there."""
        return self.jobs.give(fitting_id, job_id, who=who or self.who, at=datetime.now(UTC))

    def keep_customer(
        self,
        customer: Customer,
        *,
        id: str | None = None,  # noqa: A002 - the same word as on what is handed out
        who: str = "",
        based_on: int | None = None,
    ) -> Stored[Customer]:
        """Keep a new customer, or a new revision of one; as :meth:`keep_deck`."""
        return self.jobs.keep_customer(customer, id, who=who or self.who, based_on=based_on)

    def forget_customer(self, customer_id: str, *, who: str = "") -> bool:
        """Erase a customer's name and contact for good; their jobs stay complete.

        Returns whether the file no longer holds any of it. If not, another window is reading: it is
        erased the next time somebody settles the library while no window reads.
        """
        now = datetime.now(UTC)
        self.jobs.forget(customer_id, who=who or self.who, at=now, day=day_of(now))
        return self.settle()

    def forget_in_backups(
        self,
        customer_id: str,
        *,
        who: str = "",
        go_on: Callable[[], bool] = lambda: True,
        told: Callable[[int], None] = lambda _count: None,
    ) -> tuple[Path, ...]:
        """Erase a customer in every backup too; return the backups in which that failed.

        Each backup is replaced by a copy without the name. ``go_on`` is called before each;
        WorkStoppedError once it returns False. ``told`` is called with the number of backups done.
        """
        now = datetime.now(UTC)

        def work(backend: Backend) -> bool:
            jobs = Jobs(backend, FittingLog(backend))
            if not jobs.customers.has(customer_id):
                return False
            return jobs.forget(customer_id, who=who or self.who, at=now, day=day_of(now))

        return self._in_backups(work, go_on, told)

    def erase_picture(self, picture_id: str, *, who: str = "") -> bool:
        """Erase the content of a withdrawn picture for good; its record stays.

        Returns as :meth:`forget_customer`; raises UNSUITABLE if the picture is not withdrawn.
        """
        now = datetime.now(UTC)
        day = day_of(now).isoformat()
        with self.transaction():
            if not self.pictures.records.get(picture_id).thing.withdrawn:
                raise unsuitable(message("pictures.withdraw_first"))
            self.pictures.erase(picture_id, day, who=who or self.who, at=now)
        return self.settle()

    def erase_picture_in_backups(
        self,
        picture_id: str,
        *,
        who: str = "",
        go_on: Callable[[], bool] = lambda: True,
        told: Callable[[int], None] = lambda _count: None,
    ) -> tuple[Path, ...]:
        """Erase the content of a picture in every backup too; as :meth:`forget_in_backups`."""
        from core.store.pictures import Pictures  # as for pictures

        now = datetime.now(UTC)
        day = day_of(now).isoformat()

        def work(backend: Backend) -> bool:
            pictures = Pictures(backend, lambda _sort, _id: True)
            if not pictures.records.has(picture_id):
                return False
            return pictures.erase(picture_id, day, who=who or self.who, at=now)

        return self._in_backups(work, go_on, told)

    def _in_backups(
        self,
        work: Callable[[Backend], bool],
        go_on: Callable[[], bool],
        told: Callable[[int], None],
    ) -> tuple[Path, ...]:
        """Apply ``work`` to every backup; return the backups in which that failed."""
        left = []
        backups = self.address.backups
        for count, backup in enumerate(backups.all() if backups is not None else (), 1):
            if not go_on():
                raise WorkStoppedError
            try:
                if backups is not None:
                    backups.rework(backup.path, work)
            except LibraryProblem:
                left.append(backup.path)
            told(count)
        return tuple(left)

    # Any number of records at once

    def records(self, sort: str) -> RevisionStore[Any]:
        """Return the store for a sort of record, as named in ``rows.TABLES``."""
        if sort == "picture":
            return self.pictures.records
        stores: dict[str, RevisionStore[Any]] = {
            "deck": self.deck_records,
            "cartridge": self.cartridge_records,
            "headshell": self.headshell_records,
            "job": self.jobs.records,
            "customer": self.jobs.customers,
            "service": self.service.records,
            "test record": self.test_records,
        }
        return stores[sort]

    def archive(
        self,
        sort: str,
        ids: Iterable[str],
        *,
        archived: bool,
        go_on: Callable[[], bool] = lambda: True,
        told: Callable[[int], None] = lambda _count: None,
    ) -> Archiving:
        """Archive or restore records of one sort; all or none.

        The result can be given to :meth:`undo_archiving`, also that of another Library with the
        same library open. ``go_on`` is called from time to time; WorkStoppedError once it returns
        False. ``told`` is called with the number of records done.
        """
        return archiving.archive(
            self._backend, sort, ids, archived=archived, go_on=go_on, told=told
        )

    def undo_archiving(
        self,
        act: Archiving,
        *,
        go_on: Callable[[], bool] = lambda: True,
        told: Callable[[int], None] = lambda _count: None,
    ) -> Undone:
        """Undo one act of archiving or restoring; records changed since stay as they are."""
        return archiving.undo(self._backend, act, go_on=go_on, told=told)

    # The whole

    def add_starters(self) -> None:
        """Add the starter decks, cartridges and test records; once in a library's life."""
        self._add_test_records()
        if self.fact(_STARTERS_ADDED) is not None:
            return
        from core.store.documents import document_from  # only a new library needs it
        from profiles import starter_documents

        starters = [document_from(content, name) for content, name in starter_documents()]
        with self._backend.transaction():
            if self.fact(_STARTERS_ADDED) is not None:
                return
            for document in starters:
                _add_missing(self.deck_records, document.decks)
                _add_missing(self.cartridge_records, document.cartridges)
            now = stamp(datetime.now(UTC))
            self.keep_fact(_STARTERS_ADDED, now)
            self.keep_fact(_BEGUN, now)

    def _add_test_records(self) -> None:
        """Add the invented test records; libraries of earlier versions get them too."""
        if self.fact(_RECORDS_ADDED) is not None:
            return
        from profiles.test_records import known_records  # only a new library needs it

        with self._backend.transaction():
            if self.fact(_RECORDS_ADDED) is not None:
                return
            for content, name in known_records():
                number = f"test-record-{name.removesuffix('.json')}"
                if not self.test_records.has(number):
                    record = CutRecord.model_validate_json(content)
                    self.test_records.add(number, record, who="", at=_RECORDS_MADE)
            self.keep_fact(_RECORDS_ADDED, stamp(datetime.now(UTC)))

    def deck_listing(self) -> DeckListing:
        """Return all decks with their latest work, as a list to search and sort."""
        decks = self.deck_records.listed("check_months", "arms")
        return DeckListing(
            decks,
            self.deck_records.feature_label,
            self._worked,
            self._cartridge_names,
            self._service_days,
            self._job_numbers,
        )

    def adopt(self, listing: Listing[Any]) -> None:
        """Let a list that another thread's Library read get its rows from this one."""
        if isinstance(listing, DeckListing):
            listing.ask(self._worked, self._cartridge_names, self._service_days, self._job_numbers)

    def _worked(self, columns: Sequence[str], where: Conditions) -> Iterator[RowValues]:
        return chain.from_iterable(
            self._backend.select_in_parts("fittings", columns, {"archived": 0, **where})
        )

    def _service_days(self, deck_ids: Sequence[str]) -> dict[str, date]:
        return self.service.due_days(deck_ids, self.last_finished.said_of_decks)

    def _job_numbers(self) -> dict[str, str]:
        return dict(self._backend.select("jobs", ("id", "name")))

    def _cartridge_names(self, ids: Sequence[str]) -> dict[str, str]:
        few: Conditions = {"id": tuple(ids)} if len(ids) < _FEW else {"sort": "cartridge"}
        return dict(self._backend.select("things", ("id", "name"), few))

    def sum_up_unknown(self) -> None:
        """Compute the list columns of records that an earlier version of the program kept."""
        self.log.sum_up_unknown()
        unknown: Conditions = {"sort": "deck", "check_months": UNKNOWN_MONTHS}
        ids = tuple(row[0] for row in self._backend.select("things", ("id",), unknown))
        if not ids:
            return
        usual = Deck.model_fields["check_months"].default
        said = self.last_finished.said_of_decks(ids, "check_months")
        with self.transaction():
            for deck_id in ids:
                months = said.get(deck_id, usual)
                values = {"check_months": months if isinstance(months, int) else 0}
                self._backend.update("things", values, {"id": deck_id})

    def fact(self, name: str) -> str | None:
        """Return the library's own setting with this name, or None."""
        found = self._backend.select("facts", ("content",), {"name": name})
        return str(found[0][0]) if found else None

    def keep_fact(self, name: str, content: str) -> None:
        """Set the library's own setting with this name, replacing its value."""
        with self._backend.transaction():
            if self.fact(name) is None:
                self._backend.insert("facts", ("name", "content"), [(name, content)])
            else:
                self._backend.update("facts", {"content": content}, {"name": name})

    def transaction(self) -> AbstractContextManager[None]:
        """Make several changes in one transaction: all of them are kept or none."""
        return self._backend.transaction()

    def snapshot(self) -> AbstractContextManager[None]:
        """Read several things as they are at one instant, whatever other windows write."""
        return self._backend.snapshot()

    def others_wrote(self) -> int | None:
        """Return a number that changes whenever others have written; None if that is unknown."""
        return self._backend.others_wrote()

    def has_more_than(self, records: int) -> bool:
        """Whether there are more fittings, decks and cartridges than so many; quick for few."""
        found = 0
        for table in ("fittings", "things"):
            found += len(self._backend.select(table, ("id",), limit=records + 1 - found))
            if found > records:
                return True
        return False

    def settle(self, *, drafts: bool = True) -> bool:
        """Move confirmed changes to where a copy of the library includes them; return whether done.

        Quick, and does nothing if nothing is new: call it whenever a person pauses. Without
        ``drafts``, does nothing if only drafts are new.
        """
        return self._backend.settle(drafts=drafts)

    @property
    def notice(self) -> Message | None:
        """What a person should know about how the library was opened, or None."""
        return self._backend.notice

    def faults(self, go_on: Callable[[], bool] = lambda: True) -> list[str]:
        """Check everything and return the faults found; empty if there are none."""
        return self._backend.faults(go_on)

    def check(self, go_on: Callable[[], bool] = lambda: True) -> None:
        """Check everything; raises DAMAGED if a fault is found."""
        if self._backend.faults(go_on):
            raise self._backend.damaged()


def _add_missing(store: RevisionStore[T], records: Iterable[DocumentRecord[T]]) -> None:
    for record in records:
        if not store.has(record.id):
            for revision in record.revisions:
                store.add(record.id, revision.thing, who=revision.who, at=revision.at)


def _bands_in_words(record: CutRecord) -> str:
    """Return the names of a record's bands for the list, as far as there is room."""
    said = ""
    for band in record.bands:
        longer = f"{said}, {band.label}" if said else band.label
        if len(longer) > _LONGEST_OF_BANDS:
            return f"{said}…"
        said = longer
    return said


def _light_of_deck(deck: Deck) -> tuple[str, str, str]:
    return deck.name, deck.owner_reference, deck.arm.kind.value


def _light_of_cartridge(cartridge: Cartridge) -> tuple[str, str, str]:
    return cartridge.name, "", cartridge.stylus.value
