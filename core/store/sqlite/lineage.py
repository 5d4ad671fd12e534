"""Whether the write-ahead log beside a library file is that file's own.

SQLite merges whatever log lies beside a file, and ruins the file if the log is another one's: of a
library that was moved away, or of a newer state of which a copy was put in its place. So every
change keeps in the table of facts a mark of its own and the mark before it. A log belongs to a file
if the file's mark is among those in the log, or the one before the first of them.

Log and frame are laid out as in "Database File Format", 4, The Write-Ahead Log (sqlite.org).
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final
from uuid import uuid4

FACT: Final = "state"
"""The fact that holds the marks."""
NO_MARK: Final = "-" * 32
"""The mark before the first one."""

_MARKS: Final = re.compile(rb"setdown state ([0-9a-f]{32}) ([0-9a-f]{32}|-{32})")
_WRITTEN: Final = re.compile(r"^setdown state \S+ \S+ ([0-9a-f]{32}|-{32})")
_MAGIC: Final = (0x377F0682, 0x377F0683)
_HEAD: Final = 32
_FRAME_HEAD: Final = 24


def next_marks(before: str, *, drafts: bool = False) -> str:
    """Return the content of the fact after a change; ``before`` is what it was, or nothing.

    Behind the marks stands which change it was that was more than a draft.
    """
    mark = uuid4().hex
    return f"setdown state {mark} {mark_in(before)} {written_in(before) if drafts else mark}"


def written_in(content: str) -> str:
    """Return the mark of the last change that was more than a draft."""
    found = _WRITTEN.search(content)
    return found[1] if found else mark_in(content)


def mark_in(content: str) -> str:
    """Return a state's own mark."""
    found = _MARKS.search(content.encode())
    return found[1].decode() if found else NO_MARK


def belongs(frames: list[bytes], content: str | None) -> bool:
    """Whether a log with these pages was written on a file whose fact is ``content``.

    Empty if it has none; None, and it counts as its own, if the file can't be read without a log.
    """
    pairs = [found.groups() for frame in frames for found in _MARKS.finditer(frame)]
    if not frames or content is None or not (pairs or content):
        return True  # nothing would be merged, or both are of a time before the marks
    known = {mark.decode() for pair in pairs for mark in pair}
    return mark_in(content) in known


def confirmed_frames(path: Path) -> list[bytes]:
    """Return the pages that SQLite would merge: of this log, up to the last commit."""
    try:
        log = path.read_bytes()
    except OSError:
        return []  # opening it says what is wrong
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
