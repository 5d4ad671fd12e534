"""The problems of files: a library's own, its backups, documents and tables."""

from __future__ import annotations

import errno
import shutil
from pathlib import Path
from typing import Final, Literal

from core.language import Message, Name, Text, message, shown
from core.store.problems import LibraryProblem, ProblemKind

_NEARLY_FULL_BYTES: Final = 256 * 1024


def missing_folder(path: Path) -> LibraryProblem:
    """Return the problem of a folder that does not exist."""
    return LibraryProblem(
        ProblemKind.MISSING_FOLDER,
        message("storage.missing_folder.what", folder=named(path.parent)),
        message("storage.missing_folder.todo"),
    )


def no_library(path: Path, found: Literal["folder", "empty", "other", "unknown"]) -> LibraryProblem:
    """Return the problem of a file that is not a library; ``found`` says what it is."""
    return LibraryProblem(
        ProblemKind.NOT_A_LIBRARY,
        message("storage.no_library", found=found, path=named(path)),
        message("storage.no_library_todo", found=found),
    )


def no_database(path: Path) -> LibraryProblem:
    """Return the problem of a file that is not a database."""
    return no_library(path, "unknown")


def no_path(path: Path) -> LibraryProblem:
    """Return the problem of a path that is not valid."""
    return LibraryProblem(
        ProblemKind.NOT_A_LIBRARY,
        message("storage.no_path.what", path=Name(repr(str(path)))),
        message("storage.no_path.todo"),
    )


def only_traces(path: Path) -> LibraryProblem:
    """Return the problem of a missing library of which traces are left."""
    return LibraryProblem(
        ProblemKind.VANISHED,
        message("storage.traces.what", path=named(path)),
        message("storage.traces.todo"),
    )


def contradiction(path: Path) -> LibraryProblem:
    """Return the problem of a record that contradicts what is kept."""
    return LibraryProblem(
        ProblemKind.UNSUITABLE,
        message("storage.contradiction.what", path=named(path)),
        message("storage.contradiction.todo"),
    )


def damaged(
    path: Path, how: Literal["unknown", "pages", "end", "rows"] = "unknown"
) -> LibraryProblem:
    """Return the problem of a damaged file."""
    return LibraryProblem(
        ProblemKind.DAMAGED,
        message("storage.damaged", how=how, path=named(path)),
        message("storage.damaged_todo"),
    )


def newer(path: Path, version: int, known: int) -> LibraryProblem:
    """Return the problem of a file from a newer version of the program."""
    return LibraryProblem(
        ProblemKind.NEWER,
        message("storage.newer.what", path=named(path), version=version, known=known),
        message("storage.newer.todo"),
    )


def outdated(path: Path) -> LibraryProblem:
    """Return the problem of an older file that is opened read-only."""
    return LibraryProblem(
        ProblemKind.READ_ONLY,
        message("storage.outdated.what", path=named(path)),
        message("storage.outdated.todo"),
    )


def read_only(path: Path) -> LibraryProblem:
    """Return the problem of a file or folder without write permission."""
    return LibraryProblem(
        ProblemKind.READ_ONLY,
        message("storage.read_only.what", path=named(path)),
        message("storage.read_only.todo"),
    )


def unread(path: Path) -> LibraryProblem:
    """Return the problem of a file without read permission."""
    return LibraryProblem(
        ProblemKind.READ_ONLY,
        message("storage.unread.what", path=named(path)),
        message("storage.unread.todo"),
    )


def looking_only(path: Path) -> LibraryProblem:
    """Return the problem of writing to a library that was opened read-only."""
    return LibraryProblem(
        ProblemKind.READ_ONLY,
        message("storage.looking_only.what", path=named(path)),
        message("storage.looking_only.todo"),
    )


def locked(path: Path) -> LibraryProblem:
    """Return the problem of another window that holds the write lock."""
    return LibraryProblem(
        ProblemKind.LOCKED,
        message("storage.locked.what", path=named(path)),
        message("storage.locked.todo"),
    )


def full(path: Path) -> LibraryProblem:
    """Return the problem of a full disk."""
    return LibraryProblem(
        ProblemKind.FULL,
        message("storage.full.what", path=named(path)),
        message("storage.full.todo"),
    )


def no_room_for_backup(folder: Path, needed_bytes: int) -> LibraryProblem:
    """Return the problem of a backup that would fill the disk."""
    size = max(1, round(needed_bytes / 1e6))
    return LibraryProblem(
        ProblemKind.FULL,
        message("storage.no_room_for_backup.what", folder=named(folder), size=size),
        message("storage.no_room_for_backup.todo"),
    )


def no_room_for_sound(folder: Path, needed_bytes: int) -> LibraryProblem:
    """Return the problem of a recording that would fill the disk."""
    size = max(1, round(needed_bytes / 1e6))
    return LibraryProblem(
        ProblemKind.FULL,
        message("storage.no_room_for_sound.what", folder=named(folder), size=size),
        message("storage.no_room_for_sound.todo"),
    )


def sound_unread(folder: Path) -> LibraryProblem:
    """Return the problem of a folder of recordings without read permission."""
    return LibraryProblem(
        ProblemKind.READ_ONLY,
        message("storage.sound_unread.what", path=named(folder)),
        message("storage.sound_unread.todo"),
    )


def sound_changed(path: Path) -> LibraryProblem:
    """Return the problem of a recording that is not the one that was read."""
    return LibraryProblem(
        ProblemKind.DISK_FAULT,
        message("storage.sound_changed.what", path=named(path)),
        message("storage.sound_changed.todo"),
    )


def large_backups(folder: Path, count: int, taken_bytes: int, disk_bytes: int) -> Message:
    """Return the warning about backups that will take a large share of their disk."""
    return message(
        "storage.large_backups",
        count=count,
        size=round(taken_bytes / 1e6),
        folder=named(folder),
        share=round(100 * taken_bytes / disk_bytes),
    )


def backups_elsewhere(folder: Path, beside: Path) -> Message:
    """Return the warning about a backup folder that does not exist now."""
    return message("storage.backups_elsewhere", folder=named(folder), beside=named(beside))


def vanished(path: Path) -> LibraryProblem:
    """Return the problem of a file that has disappeared."""
    return LibraryProblem(
        ProblemKind.VANISHED,
        message("storage.vanished.what", path=named(path)),
        message("storage.vanished.todo"),
    )


def foreign_log(path: Path, aside: Path) -> Message:
    """Return the warning about a log beside a library that is not its own."""
    return message("storage.foreign_log.what", path=named(path), aside=named(aside))


def disk_fault(path: Path, detail: Text) -> LibraryProblem:
    """Return the problem of a disk or network folder that fails."""
    return LibraryProblem(
        ProblemKind.DISK_FAULT,
        message("storage.disk_fault.what", path=named(path), detail=shown(detail)),
        message("storage.disk_fault.todo"),
    )


def unreadable(what: Message) -> LibraryProblem:
    """Return the problem of a record that can't be read; ``what`` names it."""
    return LibraryProblem(ProblemKind.DAMAGED, what, message("storage.unreadable.todo"))


def of_os_error(error: OSError, path: Path) -> LibraryProblem:
    """Return what a failed file operation means for the library at ``path``."""
    if _is_full(error):
        return full(path)
    if _is_forbidden(error):
        return read_only(path)
    if error.errno in (errno.ENOENT, errno.ENOTDIR):
        return vanished(path) if path.parent.is_dir() else missing_folder(path)
    return disk_fault(path, _detail(error))


def not_written(error: OSError, path: Path) -> LibraryProblem:
    """Return why a file beside the library, a document or a backup can't be written."""
    if _is_full(error):
        return LibraryProblem(
            ProblemKind.FULL,
            message("storage.file_full.what", path=named(path)),
            message("storage.file_full.todo"),
        )
    if _is_forbidden(error):
        return LibraryProblem(
            ProblemKind.READ_ONLY,
            message("storage.file_read_only.what", path=named(path)),
            message("storage.file_read_only.todo"),
        )
    if error.errno in (errno.ENOENT, errno.ENOTDIR) and not path.parent.is_dir():
        return missing_folder(path)
    return LibraryProblem(
        ProblemKind.DISK_FAULT,
        message("storage.file_fault.what", path=named(path), detail=Name(_detail(error))),
        message("storage.file_fault.todo"),
    )


def named(path: Path) -> Name:
    """Return a path for use in a sentence."""
    return Name(str(path))


def has_no_room(path: Path) -> bool:
    """Whether the disk at ``path`` is almost full."""
    try:
        return shutil.disk_usage(path.parent).free < _NEARLY_FULL_BYTES
    except OSError:
        return False


def _is_full(error: OSError) -> bool:
    return error.errno in (errno.ENOSPC, errno.EDQUOT)


def _is_forbidden(error: OSError) -> bool:
    return error.errno in (errno.EACCES, errno.EPERM, errno.EROFS)


def _detail(error: OSError) -> str:
    return error.strerror or type(error).__name__
