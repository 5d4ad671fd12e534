"""What killed exports and restorations leave is swept up the next time, wherever it lies."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from core.store import Library
from core.store.files import UNFINISHED
from core.store.sqlite.backups import FileBackups
from tests.core.store.killing import ROOT

EXPORT = """
import os, sys
from pathlib import Path
from core.store import Library
from core.store.exporting import of_library, write_document
with Library.open(sys.argv[1]) as library:
    def told(written):
        if written:
            os.kill(os.getpid(), 9)
    write_document(library, Path(sys.argv[2]), of_library(library), told=told)
"""


def age(*paths: Path) -> None:
    for path in paths:
        os.utime(path, (0, 0))


@pytest.mark.skipif(sys.platform == "win32", reason="there is no such signal")
def test_a_killed_export_is_swept_up_from_another_folder(place: Path, tmp_path: Path) -> None:
    Library.open(place).close()
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    ended = subprocess.run(
        [sys.executable, "-c", EXPORT, str(place), str(elsewhere / "all.json")],
        cwd=ROOT,
        check=False,
    )
    assert ended.returncode == -signal.SIGKILL
    (left,) = elsewhere.iterdir()
    assert left.name.endswith(UNFINISHED)
    assert left.stat().st_mode & 0o777 == 0o600
    Library.open(place).close()
    assert left.exists(), "somebody may be writing it yet"
    age(left, *place.parent.glob(".setdown-*.note"))
    Library.open(place).close()
    assert list(elsewhere.iterdir()) == []
    assert list(place.parent.glob(".*")) == []


def test_what_a_killed_restoration_left_is_swept_up_on_opening(place: Path) -> None:
    Library.open(place).close()
    left = [
        place.with_name(f".{place.name}.0123{UNFINISHED}{ending}") for ending in ("", "-journal")
    ]
    strange = place.with_name(f".else.library.0123{UNFINISHED}")
    for one in (*left, strange):
        one.write_text("half of it")
    age(*left, strange)
    Library.open(place).close()
    assert [one.exists() for one in (*left, strange)] == [False, False, True]


def test_a_note_that_names_another_file_deletes_nothing(place: Path, tmp_path: Path) -> None:
    Library.open(place).close()
    precious = tmp_path / "precious.txt"
    precious.write_text("mine")
    note = place.with_name(".setdown-0123.note")
    note.write_text(str(precious))
    age(note, precious)
    FileBackups(place).sweep_up()
    assert precious.read_text() == "mine"
