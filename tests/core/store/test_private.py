"""Private by default: what the program makes is its owner's alone; a copy takes over the mode."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten
from core.store import Library
from core.store.exporting import of_decks, of_library, write_document
from core.store.places import default_library_path
from core.store.sqlite.backups import FileBackups
from core.store.sqlite.file import companion

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="rights are told otherwise there")


@pytest.fixture(autouse=True)
def open_handed() -> Iterator[None]:
    """A system on which everybody may read what is made."""
    before = os.umask(0o022)
    yield
    os.umask(before)


def mode(path: Path) -> str:
    return f"{path.stat().st_mode & 0o777:o}"


def test_a_library_with_its_log_and_backups_is_private(
    place: Path, library: Library, fitting: Fitting
) -> None:
    library.append(fitting.id, NoteWritten(text="x"))
    backup = FileBackups(place).make()
    assert [mode(one) for one in (place, companion(place), backup.path)] == ["600"] * 3
    assert mode(backup.path.parent) == "700"


def test_the_default_folder_is_private(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if sys.platform == "darwin":
        pytest.skip("the place can't be moved there")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    Library.open(default_library_path()).close()
    assert mode(default_library_path().parent) == "700"


@pytest.mark.parametrize("usable", [True, False])
def test_copies_and_what_is_restored_take_over_the_mode(place: Path, usable: bool) -> None:
    with Library.open(place):
        place.chmod(0o640)
        backup = FileBackups(place).make()
    assert mode(backup.path) == "640"
    if not usable:
        place.write_bytes(b"no library any more" * 100)
    FileBackups(place).restore(backup.path)
    assert mode(place) == "640"
    place.unlink()
    backup.path.chmod(0o600)
    FileBackups(place).restore(backup.path)
    assert mode(place) == "600"


def test_an_export_of_everything_is_private_and_one_to_hand_on_is_not(
    library: Library, fitting: Fitting, tmp_path: Path
) -> None:
    everything, one = tmp_path / "all.json", tmp_path / "one.json"
    write_document(library, everything, of_library(library))
    write_document(library, one, of_decks(library, fitting.deck_id))
    assert (mode(everything), mode(one)) == ("600", "644")
    one.chmod(0o604)
    write_document(library, one, of_decks(library, fitting.deck_id))
    assert mode(one) == "604", "what was there is replaced in kind"
