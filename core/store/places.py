"""The default place of a library, and places that are unsafe for one."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Final

from core.language import Message, Name, message

LIBRARY_NAME: Final = "setdown.library"

_MOUNTS: Final = Path("/proc/mounts")
_NETWORK_TYPES: Final = frozenset(
    {
        *("9p", "afs", "ceph", "cifs", "coda", "davfs", "glusterfs", "gpfs", "lustre", "ncpfs"),
        *("nfs", "nfs4", "ocfs2", "smb2", "smb3", "smbfs", "vboxsf", "virtiofs"),
        *("fuse.davfs2", "fuse.glusterfs", "fuse.rclone", "fuse.s3fs", "fuse.sshfs"),
    }
)
_SHARE: Final = "network share"
_DRIVE_REMOTE: Final = 4  # values of Windows' GetDriveType for a drive on another machine


def default_library_path() -> Path:
    """Return the default path of the library, in the user's application-data folder.

    ``%LOCALAPPDATA%`` on Windows, ``~/Library/Application Support`` on macOS, else
    ``$XDG_DATA_HOME`` (XDG Base Directory Specification: an absolute path, ``~/.local/share``
    if unset).
    """
    return _application_data() / "setdown" / LIBRARY_NAME


def rehearsal_library_path(library_path: Path) -> Path:
    """Return the path of the rehearsal library, a file of its own beside the real one."""
    return library_path.with_name(f"{library_path.stem}.rehearsals{library_path.suffix}")


def _application_data() -> Path:
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    told = Path(os.environ.get("XDG_DATA_HOME") or "")
    return told if told.is_absolute() else Path.home() / ".local" / "share"


def network_kind(path: Path, mounts: str | None = None) -> str | None:
    r"""Return the kind of network folder that holds ``path``, or None if none is recognised.

    Best effort: file-system types of /proc/mounts on Linux, ``\\server\share`` and mapped drives on
    Windows; not checked on other systems. ``mounts`` replaces /proc/mounts in tests.
    """
    if str(path).startswith(("\\\\", "//")):
        return _SHARE
    if sys.platform == "win32":
        import ctypes  # imported here: it slows start-up

        return kind_of_windows_drive(path.resolve().drive, ctypes.windll.kernel32.GetDriveTypeW)
    if mounts is None:
        try:
            mounts = _MOUNTS.read_text(encoding="utf-8", errors="surrogateescape")
        except OSError:
            return None
    kind = _type_of_mount(Path(os.path.realpath(path)), mounts)
    return kind if kind in _NETWORK_TYPES else None


def kind_of_windows_drive(drive: str, drive_type: Callable[[str], int]) -> str | None:
    r"""Return the kind of network folder on a Windows drive, or None for a local one.

    ``drive`` is ``Z:`` or ``\\\\server\\share``; ``drive_type`` has the values of GetDriveType.
    """
    if drive.startswith("\\\\"):
        return _SHARE
    return "mapped network drive" if drive_type(f"{drive}\\") == _DRIVE_REMOTE else None


def _type_of_mount(path: Path, mounts: str) -> str:
    """Return the file-system type of the innermost mount that holds ``path``; later lines win."""
    depth, kind = -1, ""
    for line in mounts.splitlines():
        words = line.split()
        if len(words) < 3:
            continue
        place = Path(_unescaped(words[1]))
        if path.is_relative_to(place) and len(place.parts) >= depth:
            depth, kind = len(place.parts), words[2]
    return kind


def _unescaped(word: str) -> str:
    for code, character in ((r"\040", " "), (r"\011", "\t"), (r"\012", "\n"), (r"\134", "\\")):
        word = word.replace(code, character)
    return word


def network_warning(path: Path, mounts: str | None = None) -> Message | None:
    """Return a warning if the library lies in a network folder, else None.

    Its statements about SQLite come, from memory, from SQLite's own pages: "Write-Ahead Logging"
    (all processes must be on the same host computer; it does not work over a network file system),
    "Frequently Asked Questions" (locking is broken in many implementations of NFS, and said to be
    on Windows shares) and "SQLite Over a Network" (use a server instead). Not looked up.
    """
    kind = network_kind(path, mounts)
    if kind is None:
        return None
    return message("storage.network_folder", kind=Name(kind))
