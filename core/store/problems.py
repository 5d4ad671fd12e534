"""The problems of a library, each a sentence for a person with what to do about it.

An engine words its own problems: see :mod:`core.store.file_problems`.
"""

from __future__ import annotations

from core.language import Message, Name, Text, ToldProblem, message
from core.records import Choice


class ProblemKind(Choice):
    """The kind of a library problem."""

    MISSING_FOLDER = "missing folder", "The folder is missing"
    NOT_A_LIBRARY = "not a library", "Not a library of this program"
    DAMAGED = "damaged", "The file is damaged"
    NEWER = "newer", "Made by a newer version"
    READ_ONLY = "read only", "The file can't be written"
    LOCKED = "locked", "Another window is writing"
    FULL = "full", "The disk is full"
    VANISHED = "vanished", "The file has gone"
    DISK_FAULT = "disk fault", "The disk refused"
    NO_SUCH_RECORD = "no such record", "Not in this library"
    CHANGED_ELSEWHERE = "changed elsewhere", "Changed in another window"
    UNSUITABLE = "unsuitable", "Can't be saved"


class LibraryProblem(ToldProblem):
    """A failure of the library: what is wrong, and what a person can do about it."""

    def __init__(self, kind: ProblemKind, what: Text, todo: Text = "") -> None:
        super().__init__(what, todo)
        self.kind = kind


def unsuitable(what: Message) -> LibraryProblem:
    """Return the problem of content that can't be kept as it is."""
    return LibraryProblem(ProblemKind.UNSUITABLE, what, message("storage.unsuitable"))


def no_such(sort: str, record_id: str) -> LibraryProblem:
    """Return the problem of a record that is not in this library."""
    return LibraryProblem(
        ProblemKind.NO_SUCH_RECORD,
        message("storage.no_such", sort=sort, number=Name(repr(record_id))),
        message("storage.no_such_todo"),
    )


def changed_elsewhere(sort: str, name: str = "") -> LibraryProblem:
    """Return the problem of a record, or the whole library, changed by another window meanwhile."""
    return LibraryProblem(
        ProblemKind.CHANGED_ELSEWHERE,
        message("storage.changed_elsewhere", sort=sort, name=Name(name)),
        message("storage.changed_elsewhere_todo"),
    )
