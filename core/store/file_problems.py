"""What can go wrong with files: a library's own, its backups, documents and tables."""

from __future__ import annotations

import errno
import shutil
from pathlib import Path
from typing import Final

from core.store.problems import LibraryProblem, ProblemKind

_NEARLY_FULL_BYTES: Final = 256 * 1024


def missing_folder(path: Path) -> LibraryProblem:
    """Return the problem of a folder that is not there."""
    return LibraryProblem(
        ProblemKind.MISSING_FOLDER,
        f"There is no folder {path.parent}.",
        "Check the path for a slip, plug in the disk it lies on, or make the folder first.",
    )


def no_library(path: Path, found: str) -> LibraryProblem:
    """Return the problem of a file that is something else; ``found`` says what."""
    return LibraryProblem(
        ProblemKind.NOT_A_LIBRARY,
        f"There is no library at {path}: it is {found}.",
        "Choose the library file itself, or give a name that is not taken yet to begin a new one. "
        "The file was left as it is.",
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
    )


def damaged(path: Path, detail: str = "") -> LibraryProblem:
    """Return the problem of a file that can't be trusted any more."""
    return LibraryProblem(
        ProblemKind.DAMAGED,
        f"The library {path} is damaged{f': {detail}' if detail else ''}.",
        "Restore the newest backup; the damaged file is set aside, not deleted. "
        "It can also be opened to look only.",
    )


def newer(path: Path, version: int, known: int) -> LibraryProblem:
    """Return the problem of a file from a later version of the program."""
    return LibraryProblem(
        ProblemKind.NEWER,
        f"The library {path} was made by a newer version of Setdown (file version {version}; "
        f"this program knows up to {known}).",
        "Update Setdown on this computer, or choose another library. The file was left as it is.",
    )


def read_only(path: Path) -> LibraryProblem:
    """Return the problem of a file or folder that may not be written."""
    return LibraryProblem(
        ProblemKind.READ_ONLY,
        f"The library {path} can't be written: the file or its folder is read-only.",
        "Open it to look only, or give yourself the right to write there and try again.",
    )


def looking_only(path: Path) -> LibraryProblem:
    """Return the problem of an entry made in a library that was opened to look only."""
    return LibraryProblem(
        ProblemKind.READ_ONLY,
        f"The library {path} was opened to look only, so nothing can be entered.",
        "Open it for writing, or open a copy of it in a folder of yours.",
    )


def locked(path: Path) -> LibraryProblem:
    """Return the problem of a second window that does not finish writing."""
    return LibraryProblem(
        ProblemKind.LOCKED,
        f"Another window or program is writing to {path} and has not finished.",
        "Wait a moment and try again; if it stays so, close the other window.",
    )


def full(path: Path) -> LibraryProblem:
    """Return the problem of a disk without room."""
    return LibraryProblem(
        ProblemKind.FULL,
        f"The disk that holds {path} is full, so nothing more can be saved there.",
        "Make room on that disk, then save again; what was saved before is still there, and what "
        "is on the screen is not saved yet.",
    )


def no_room_for_backup(folder: Path, needed_bytes: int) -> LibraryProblem:
    """Return the problem of a backup that would fill the disk."""
    return LibraryProblem(
        ProblemKind.FULL,
        f"The disk that holds {folder} has too little room for a backup, which needs "
        f"{max(1, round(needed_bytes / 1e6))} MB and something to spare.",
        "Make room on that disk. The library itself is as it was, and can be worked in.",
    )


def large_backups(folder: Path, count: int, taken_bytes: int, disk_bytes: int) -> str:
    """Return what to tell of backups that will take a large share of their disk."""
    return (
        f"{count} backups of this library take about {round(taken_bytes / 1e6)} MB in {folder}, "
        f"{round(100 * taken_bytes / disk_bytes)} % of that disk. Move the library to a larger "
        "disk, or keep copies on another one."
    )


def vanished(path: Path) -> LibraryProblem:
    """Return the problem of a file that was there and no longer is."""
    return LibraryProblem(
        ProblemKind.VANISHED,
        f"The library {path} is no longer where it was: moved, replaced or deleted, or its disk "
        "was taken out.",
        "Bring it back and open it again, or restore a backup. What is on the screen is not "
        "saved yet.",
    )


def foreign_log(path: Path, aside: Path) -> str:
    """Return what to tell of a log that was found beside a library and is not its own."""
    return (
        f"Beside the library {path} lay the log of another one, or of another state of it. Nothing "
        f"was taken from that log; it is kept in {aside}. If entries are missing here, put back "
        "the library file that belongs to it."
    )


def disk_fault(path: Path, detail: str) -> LibraryProblem:
    """Return the problem of a disk or network folder that refuses."""
    return LibraryProblem(
        ProblemKind.DISK_FAULT,
        f"The disk that holds {path} can't be read or written ({detail}).",
        "Check that the disk is plugged in or the network is up, then try again. What is on the "
        "screen is not saved yet.",
    )


def unreadable(what: str) -> LibraryProblem:
    """Return the problem of a record whose content this program can't read."""
    return LibraryProblem(
        ProblemKind.DAMAGED,
        f"In this library, {what} can't be read.",
        "Everything else can still be used; restore a backup to get this record back.",
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
