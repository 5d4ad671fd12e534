"""Jobs and their customers: numbers, fittings of a job, and forgetting a customer.

Customers have tables of their own. No list, document or sheet about anything else reads them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, Final

from core.fitting import Entry, Fitting, JobGiven
from core.language import Name, message
from core.records import Customer, Job
from core.store import problems
from core.store.backend import Backend
from core.store.revisions import RevisionStore
from core.store.rows import JobRow, RecordRow, Stored, stamp, text_of

if TYPE_CHECKING:
    from core.store.job_listing import JobListing
    from core.store.log import FittingLog

_HEAD: Final = (
    *("id", "sort", "revision", "archived", "archived_at", "at", "who"),
    *("name", "owner_reference", "feature", "folded"),
)
_NOT_OF_NUMBERS: Final = re.compile(r"[^\d\s+()/.\-\u2010-\u2015]+")
"""What can't stand in a telephone number, so that it ends there."""
_REVISION: Final = ("thing_id", "revision", "at", "who", "body")


class Jobs:
    """All jobs of a library, and all customers."""

    def __init__(self, backend: Backend, log: FittingLog) -> None:
        self._backend = backend
        self._log = log
        self.records: RevisionStore[Job] = RevisionStore(
            backend, "job", Job, lambda job: (job.number, job.brought, ""), more=_columns_of
        )
        self.customers: RevisionStore[Customer] = RevisionStore(
            backend, "customer", Customer, lambda one: (one.name, one.contact, one.forgotten)
        )

    def rows(self, *, handed_over: bool | None = None) -> tuple[JobRow, ...]:
        """Return the unarchived jobs, those with a promised day first."""
        return _job_rows(self._backend, handed_over=handed_over)

    def of_fitting(self, fitting: Fitting) -> Job | None:
        """Return the job that a fitting belongs to; None if that is none, or is not here."""
        if not fitting.job_id or not self.records.has(fitting.job_id):
            return None
        return self.records.get(fitting.job_id).thing

    def row(self, job_id: str) -> JobRow:
        """Return one job as lists show it; NO_SUCH_RECORD if there is none."""
        found = _job_rows(self._backend, ids=(job_id,))
        if not found:
            raise problems.no_such("job", job_id)
        return found[0]

    def rows_of(self, job_ids: Sequence[str]) -> tuple[JobRow, ...]:
        """Return the rows of these jobs, by promised day."""
        return _job_rows(self._backend, ids=tuple(job_ids)) if job_ids else ()

    def listing(self, *, handed_over: bool | None = None) -> JobListing:
        """Return all jobs, or only those handed over or not, as a list to search and sort."""
        from core.store.job_listing import JobListing  # as in _job_rows

        return JobListing(_job_rows(self._backend, handed_over=handed_over, archived=None))

    def waiting(self, today: date) -> tuple[int, int, int]:
        """Return how many jobs are overdue, promised for today, and here in all."""
        days = [
            str(promised)
            for (promised,) in self._backend.select(
                "jobs", ("promised",), {"handed_over": "", "archived": 0}
            )
        ]
        now = today.isoformat()
        return sum("" < day < now for day in days), days.count(now), len(days)

    def are_kept(self) -> bool:
        """Whether there is any job: then the bench works with jobs."""
        return bool(self._backend.select("jobs", ("id",), limit=1))

    def next_number(self, today: date) -> str:
        """Return the next free number of this year, as ``2026-014``."""
        begin = f"{today.year}-"
        given = [
            int(number.removeprefix(begin))
            for (number,) in self._backend.select("jobs", ("name",))
            if number.startswith(begin) and _is_number(number.removeprefix(begin))
        ]
        return f"{begin}{max(given, default=0) + 1:03}"

    def begun(self, today: date) -> Job:
        """Return the initial content of the form for a new job: next number, received today."""
        return Job(number=self.next_number(today), received=today.isoformat())

    def keep(
        self,
        job: Job,
        job_id: str | None = None,
        *,
        who: str,
        today: date,
        based_on: int | None = None,
    ) -> Stored[Job]:
        """Keep a new job, or a new revision of one; assign the next number if it has none.

        Raises UNSUITABLE if another job has the new number; NO_SUCH_RECORD for an unknown new
        customer. Imported jobs may share a number or name a customer who is not here.
        """
        with self._backend.transaction():
            if not job.number:
                job = job.model_copy(update={"number": self.next_number(today)})
            before = Job() if job_id is None else self.records.get(job_id).thing
            same = self._backend.select("jobs", ("id",), {"name": job.number, "archived": 0})
            if job.number != before.number and any(other != job_id for (other,) in same):
                raise problems.unsuitable(message("jobs.number_given", number=Name(job.number)))
            if job.customer not in ("", before.customer) and not self.customers.has(job.customer):
                raise problems.no_such("customer", job.customer)
            kept = self.records.keep(job, job_id, who=who, based_on=based_on)
            if job_id is not None and job.number != before.number:
                for row in self._log.rows(job_id=job_id):  # titles and sheets show the new number
                    self._log.append(row.id, Entry(who=who, body=self.given(job_id)))
            return kept

    def given(self, job_id: str) -> JobGiven:
        """Return the log entry that gives a fitting to a job, or to none if ``job_id`` is empty."""
        if not job_id:
            return JobGiven()
        return JobGiven(job=job_id, number=self.records.get(job_id).thing.number)

    def give(self, fitting_id: str, job_id: str, *, who: str, at: datetime) -> Entry | None:
        """Give a fitting to a job, or to none; return None if it already belongs there."""
        with self._backend.transaction():
            if self._log.get(fitting_id).job_id == job_id:
                return None
            entry = Entry(at=at, who=who, body=self.given(job_id))
            return self._log.append(fitting_id, entry)

    def keep_customer(
        self,
        customer: Customer,
        customer_id: str | None = None,
        *,
        who: str,
        based_on: int | None = None,
    ) -> Stored[Customer]:
        """Keep a new customer, or a new revision; raises UNSUITABLE for a forgotten customer."""
        with self._backend.transaction():
            if customer_id is not None:
                day = self.customers.get(customer_id).thing.forgotten
                if day:
                    raise problems.unsuitable(message("jobs.was_forgotten", day=Name(day)))
            return self.customers.keep(customer, customer_id, who=who, based_on=based_on)

    def customers_found(self, words: str) -> tuple[RecordRow, ...]:
        """Return the customers whose name or way to reach them holds these words.

        A telephone number is found with or without the spaces and signs between its digits.
        """
        listing = self.customers.listing()
        found = listing.find(words)
        number = _digits(words) if _NOT_OF_NUMBERS.search(words) is None else ""
        if number:
            seen = set(found)
            found = [
                *found,
                *(
                    place
                    for place in listing.find()
                    if place not in seen and _holds(listing.row(place).owner_reference, number)
                ),
            ]
        return tuple(listing.row(place) for place in found)

    def of_customer(self, customer_id: str) -> tuple[JobRow, ...]:
        """Return the jobs of a customer, newest first."""
        theirs = self._backend.select("jobs", ("id",), {"customer_id": customer_id})
        found = _job_rows(self._backend, ids=tuple(job_id for (job_id,) in theirs))
        return tuple(sorted(found, key=lambda row: row.received, reverse=True))

    def customers_of(self, job_ids: Sequence[str]) -> tuple[str, ...]:
        """Return the ids of the customers of jobs that are on file, each once."""
        found = self._backend.select("jobs", ("customer_id",), {"id": tuple(job_ids)})
        named = tuple(dict.fromkeys(one for (one,) in found if one))
        return tuple(row.id for row in self.customers.rows_of(named))

    def forget(self, customer_id: str, *, who: str, at: datetime, day: date) -> bool:
        """Erase a customer's name and contact in every revision; keep the day it was done.

        Returns whether there was anything to erase. The rows of both tables are deleted and
        inserted again, so that no page of the file keeps the name; once the library is settled, its
        log does not either. Earlier backups, documents and copies still hold it.
        """
        blank = text_of(Customer(forgotten=day.isoformat()))
        with self._backend.transaction():
            customer = self.customers.get(customer_id)
            if customer.thing.forgotten:
                return False
            newest = customer.revision + 1
            heads = self._backend.select("customers", _HEAD)
            said = self._backend.select("customer_revisions", _REVISION)
            emptied = {
                "revision": newest,
                "at": stamp(at),
                "who": who,
                "name": "",
                "owner_reference": "",
                "folded": "",
                "feature": day.isoformat(),
            }
            self._backend.delete("customers", {})
            self._backend.delete("customer_revisions", {})
            self._backend.insert(
                "customers",
                _HEAD,
                [_changed(_HEAD, row, emptied if row[0] == customer_id else {}) for row in heads],
            )
            self._backend.insert(
                "customer_revisions",
                _REVISION,
                [
                    *(
                        _changed(_REVISION, row, {"body": blank} if row[0] == customer_id else {})
                        for row in said
                    ),
                    (customer_id, newest, stamp(at), who, blank),
                ],
            )
        return True


def _digits(text: str) -> str:
    return "".join(filter(str.isdigit, text))


def _holds(contact: str, number: str) -> bool:
    """Whether one of the numbers in a way to reach somebody holds these digits."""
    return any(number in _digits(one) for one in _NOT_OF_NUMBERS.split(contact))


def _job_rows(backend: Backend, **asked: Any) -> tuple[JobRow, ...]:
    """Return jobs as lists show them; see :func:`core.store.job_listing.job_rows`."""
    # Imported here: the first screen counts jobs and lists none.
    from core.store.job_listing import job_rows

    return job_rows(backend, **asked)


def _changed(columns: Sequence[str], row: Sequence[Any], values: dict[str, Any]) -> tuple[Any, ...]:
    return tuple((dict(zip(columns, row, strict=True)) | values).values())


def _columns_of(job: Job) -> Mapping[str, str]:
    return {
        "received": job.received,
        "promised": job.promised,
        "handed_over": job.handed_over,
        "customer_id": job.customer,
    }


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 10
