"""Check that the write-ahead log beside a library file belongs to that file.

SQLite merges any log that lies beside a file. If the log belongs to another file, this damages the
library: a log of a library that was moved away, or of a newer state than the copy that replaced it.
So every change writes a mark of its own and the previous mark into the table of facts. A log
belongs to a file if the file's mark is among those in the log, or precedes the first of them.

Log and frame are laid out as in "Database File Format", 4, The Write-Ahead Log (sqlite.org).
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final
from uuid import uuid4

FACT: Final = "state"
"""The name of the fact that holds the marks."""
NO_MARK: Final = "-" * 32
"""The mark before the first one."""

_MARKS: Final = re.compile(rb"setdown state ([0-9a-f]{32}) ([0-9a-f]{32}|-{32})")
_WRITTEN: Final = re.compile(r"^setdown state \S+ \S+ ([0-9a-f]{32}|-{32})")
_MAGIC: Final = (0x377F0682, 0x377F0683)
_HEAD: Final = 32
_FRAME_HEAD: Final = 24


def next_marks(before: str, *, drafts: bool = False) -> str:
    """Return the fact after a change; ``before`` is its previous content, empty for none.

    The marks are followed by the number of the last change that was more than a draft.
    """
    mark = uuid4().hex
    return f"setdown state {mark} {mark_in(before)} {written_in(before) if drafts else mark}"


def written_in(content: str) -> str:
    """Return the mark of the last change that was more than a draft."""
    found = _WRITTEN.search(content)
    return found[1] if found else mark_in(content)


def mark_in(content: str) -> str:
    """Return the newest mark of a state."""
    found = _MARKS.search(content.encode())
    return found[1].decode() if found else NO_MARK


def belongs(frames: list[bytes], content: str | None) -> bool:
    """Whether a log with these pages was written on a file whose fact is ``content``.

    ``content`` is empty if the file has none, and None if the file can't be read without its log,
    which then counts as its own.
    """
    pairs = [found.groups() for frame in frames for found in _MARKS.finditer(frame)]
    if not frames or content is None or not (pairs or content):
        return True  # nothing to merge, or both are older than the marks
    known = {mark.decode() for pair in pairs for mark in pair}
    return mark_in(content) in known


def confirmed_frames(path: Path) -> list[bytes]:
    """Return the pages that SQLite would merge from this log, up to the last commit."""
    try:
        log = path.read_bytes()
    except OSError:
        return []  # opening it will report what is wrong
    if len(log) < _HEAD or int.from_bytes(log[:4], "big") not in _MAGIC:
        return []
    size, salts = int.from_bytes(log[8:12], "big"), log[16:24]
    frames: list[bytes] = []
    confirmed = 0
    for start in range(_HEAD, len(log) - _FRAME_HEAD - size + 1, _FRAME_HEAD + size):
        if log[start + 8 : start + 16] != salts:
            break
        frames.append(log[start + _FRAME_HEAD : start + _FRAME_HEAD + size])
        if any(log[start + 4 : start + 8]):
            confirmed = len(frames)
    return frames[:confirmed]
