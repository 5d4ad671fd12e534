"""What can go wrong with a library, each as a sentence for a person and a way on."""

from __future__ import annotations

import errno
import shutil
from pathlib import Path
from typing import Final

from core.records import Choice

_NEARLY_FULL_BYTES: Final = 256 * 1024


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
    """A failure of the library, told to a person.

    Parameters
    ----------
    kind
        What sort of trouble.
    sentence
        What is wrong and where, one sentence.
    remedy
        What to do about it, one sentence or two.
    path
        The file it is about, where there is one.
    """

    def __init__(
        self, kind: ProblemKind, sentence: str, remedy: str = "", path: Path | None = None
    ) -> None:
        super().__init__(f"{sentence} {remedy}".strip())
        self.kind = kind
        self.sentence = sentence
        self.remedy = remedy
        self.path = path


def missing_folder(path: Path) -> LibraryProblem:
    """Return the problem of a folder that is not there."""
    return LibraryProblem(
        ProblemKind.MISSING_FOLDER,
        f"There is no folder {path.parent}.",
        "Check the path for a slip, plug in the disk it lies on, or make the folder first.",
        path,
    )


def no_library(path: Path, found: str) -> LibraryProblem:
    """Return the problem of a file that is something else; ``found`` says what."""
    return LibraryProblem(
        ProblemKind.NOT_A_LIBRARY,
        f"There is no library at {path}: it is {found}.",
        "Choose the library file itself, or give a name that is not taken yet to begin a new one. "
        "The file was left as it is.",
        path,
    )


def no_database(path: Path) -> LibraryProblem:
    """Return the problem of a file that is not even a database."""
    return no_library(path, "no database of any kind")


def contradiction(path: Path) -> LibraryProblem:
    """Return the problem of a record that does not go together with what is kept."""
    return LibraryProblem(
        ProblemKind.UNSUITABLE,
        f"What was to be kept contradicts what is already in {path}.",
        "Nothing was changed; open the library again and repeat the last step.",
        path,
    )


def damaged(path: Path, detail: str = "") -> LibraryProblem:
    """Return the problem of a file that can't be trusted any more."""
    return LibraryProblem(
        ProblemKind.DAMAGED,
        f"The library {path} is damaged{f': {detail}' if detail else ''}.",
        "Restore the newest backup; the damaged file is set aside, not deleted. "
        "It can also be opened to look only.",
        path,
    )


def newer(path: Path, version: int, known: int) -> LibraryProblem:
    """Return the problem of a file from a later version of the program."""
    return LibraryProblem(
        ProblemKind.NEWER,
        f"The library {path} was made by a newer version of Setdown (file version {version}; "
        f"this program knows up to {known}).",
        "Update Setdown on this computer, or choose another library. The file was left as it is.",
        path,
    )


def read_only(path: Path) -> LibraryProblem:
    """Return the problem of a file or folder that may not be written."""
    return LibraryProblem(
        ProblemKind.READ_ONLY,
        f"The library {path} can't be written: the file or its folder is read-only.",
        "Open it to look only, or give yourself the right to write there and try again.",
        path,
    )


def looking_only(path: Path) -> LibraryProblem:
    """Return the problem of an entry made in a library that was opened to look only."""
    return LibraryProblem(
        ProblemKind.READ_ONLY,
        f"The library {path} was opened to look only, so nothing can be entered.",
        "Open it for writing, or open a copy of it in a folder of yours.",
        path,
    )


def locked(path: Path) -> LibraryProblem:
    """Return the problem of a second window that does not finish writing."""
    return LibraryProblem(
        ProblemKind.LOCKED,
        f"Another window or program is writing to {path} and has not finished.",
        "Wait a moment and try again; if it stays so, close the other window.",
        path,
    )


def full(path: Path) -> LibraryProblem:
    """Return the problem of a disk without room."""
    return LibraryProblem(
        ProblemKind.FULL,
        f"The disk that holds {path} is full, so nothing more can be saved there.",
        "Make room on that disk, then save again; what was saved before is still there, and what "
        "is on the screen is not saved yet.",
        path,
    )


def no_room_for_backup(folder: Path, needed_bytes: int) -> LibraryProblem:
    """Return the problem of a backup that would fill the disk."""
    return LibraryProblem(
        ProblemKind.FULL,
        f"The disk that holds {folder} has too little room for a backup, which needs "
        f"{max(1, round(needed_bytes / 1e6))} MB and something to spare.",
        "Make room on that disk. The library itself is as it was, and can be worked in.",
        folder,
    )


def vanished(path: Path) -> LibraryProblem:
    """Return the problem of a file that was there and no longer is."""
    return LibraryProblem(
        ProblemKind.VANISHED,
        f"The library {path} is no longer where it was: moved, replaced or deleted, or its disk "
        "was taken out.",
        "Bring it back and open it again, or restore a backup. What is on the screen is not "
        "saved yet.",
        path,
    )


def disk_fault(path: Path, detail: str) -> LibraryProblem:
    """Return the problem of a disk or network folder that refuses."""
    return LibraryProblem(
        ProblemKind.DISK_FAULT,
        f"The disk that holds {path} can't be read or written ({detail}).",
        "Check that the disk is plugged in or the network is up, then try again. What is on the "
        "screen is not saved yet.",
        path,
    )


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


def of_os_error(error: OSError, path: Path) -> LibraryProblem:
    """Return what a failed file operation means for the library or document at ``path``."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return full(path)
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return read_only(path)
    if error.errno in (errno.ENOENT, errno.ENOTDIR):
        return vanished(path) if path.parent.is_dir() else missing_folder(path)
    return disk_fault(path, error.strerror or type(error).__name__)


def has_no_room(path: Path) -> bool:
    """Whether the disk at ``path`` has next to nothing left."""
    try:
        return shutil.disk_usage(path.parent).free < _NEARLY_FULL_BYTES
    except OSError:
        return False
