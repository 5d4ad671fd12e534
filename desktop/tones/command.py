"""``setdown tone``: what a recording tells, printed; no window and no display."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from core.language import Numbers, message
from core.recordings import Recording, RecordingProblem, listen
from core.records import CutRecord
from core.store import LibraryProblem
from desktop.tones.figures import figures_of, nothing_of
from desktop.tones.telling import told

WRONG: Final = 2
"""Exit code when nothing could be told: one sentence on the error stream says why."""


def run(parsed: argparse.Namespace) -> int:
    """Print what the recording tells and return the exit code."""
    path = parsed.file.expanduser()
    try:
        record = _record(parsed) if parsed.record else None
        shares = listen(path, nominal_hz=parsed.nominal, rpm=parsed.rpm, record=record)
        with _no_chatter():
            recording = _end_of(shares)
    except (RecordingProblem, LibraryProblem) as problem:
        sys.stderr.write(f"{problem}\n")
        if parsed.json:  # what reads it need not look at the exit code first
            _print(_object(nothing_of(path.name, str(problem))))
        return WRONG
    if parsed.json:
        return _printed(_object(figures_of(recording)))
    from desktop.widgets.locale_numbers import numbers_of  # only words need the decimal sign

    numbers: Numbers = numbers_of(getattr(parsed, "locale", None) or "")
    return _printed("".join(f"{numbers.text(line)}\n" for line in told(recording)))


def _record(parsed: argparse.Namespace) -> CutRecord:
    from desktop.tones.record_asked import record_asked  # it brings the library along

    return record_asked(parsed.record, getattr(parsed, "library", None))


def _object(figures: dict[str, Any]) -> str:
    return json.dumps(figures, indent=2, allow_nan=False) + "\n"


def _printed(words: str) -> int:
    """Print what was found and return the exit code: nothing else keeps it."""
    if _print(words):
        return 0
    problem = RecordingProblem(message("tones.unprinted"), message("tones.unprinted_todo"))
    if sys.stderr is not None:
        sys.stderr.write(f"{problem}\n")
    return WRONG


def _print(words: str) -> bool:
    """Print words; return whether there was a place for them. Raises BrokenPipeError."""
    if sys.stdout is None:  # it was closed beforehand
        return False
    try:
        sys.stdout.write(words)
        sys.stdout.flush()
    except BrokenPipeError:  # whoever reads has read enough
        raise
    except OSError:  # what it goes to is full
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # or the end says it again
        return False
    return True


@contextmanager
def _no_chatter() -> Iterator[None]:
    """Keep what a decoder writes by itself about a damaged file off the error stream."""
    sys.stderr.flush()
    kept, nowhere = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)


def _end_of(shares: Iterator[float]) -> Recording:
    while True:
        try:
            next(shares)
        except StopIteration as end:
            found: Recording = end.value
            return found
