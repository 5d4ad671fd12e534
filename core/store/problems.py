"""What can go wrong with a library, each as a sentence for a person and what to do about it.

What an engine meets with is told in its own words: see :mod:`core.store.file_problems`.
"""

from __future__ import annotations

from core.records import Choice


class ProblemKind(Choice):
    """What sort of trouble a library is in."""

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
    UNSUITABLE = "unsuitable", "Can't be kept"


class LibraryProblem(Exception):  # noqa: N818 - it is told to a person, and not only as an error
    """A failure of the library, told to a person: what is wrong, and what to do about it."""

    def __init__(self, kind: ProblemKind, sentence: str, remedy: str = "") -> None:
        super().__init__(f"{sentence} {remedy}".strip())
        self.kind = kind
        self.sentence = sentence
        self.remedy = remedy


def unsuitable(sentence: str, remedy: str = "Correct it and enter it again.") -> LibraryProblem:
    """Return the problem of something that can't be kept as it is."""
    return LibraryProblem(ProblemKind.UNSUITABLE, sentence, remedy)


def no_such(what: str, record_id: str) -> LibraryProblem:
    """Return the problem of a record that is not in this library."""
    return LibraryProblem(
        ProblemKind.NO_SUCH_RECORD,
        f"This library holds no {what} with the number {record_id!r}.",
        "Go back to the library's list and choose from there.",
    )


def changed_elsewhere(what: str) -> LibraryProblem:
    """Return the problem of two windows changing the same thing."""
    return LibraryProblem(
        ProblemKind.CHANGED_ELSEWHERE,
        f"{what} was changed in another window in the meantime.",
        "Look at the newer state first, then decide again.",
    )
