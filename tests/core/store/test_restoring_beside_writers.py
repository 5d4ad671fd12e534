"""A restoration is one locked act: what others confirm meanwhile is in the copy, or comes after."""

from __future__ import annotations

import shutil
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from core.fitting import Fitting, NoteWritten
from core.store import Library, LibraryProblem, ProblemKind
from core.store.sqlite.backups import FileBackups
from core.store.sqlite.file import SqliteFile
from tests.core.store.beside import restore_beside_writers
from tests.examples import deck

pytestmark = pytest.mark.long


def test_what_a_writer_confirms_meanwhile_is_somewhere(tmp_path: Path) -> None:
    confirmed, lost = restore_beside_writers(tmp_path / "example.library", restorations=6)
    assert confirmed > 6
    assert lost == 0


def test_nobody_can_write_between_the_copy_and_the_replacement(
    place: Path, library: Library, fitting: Fitting, monkeypatch: pytest.MonkeyPatch
) -> None:
    backup = library.address.backups.make()
    library.append(fitting.id, NoteWritten(text="before"))
    refused: list[ProblemKind] = []
    overwrite = SqliteFile.overwrite_with

    def late(target: SqliteFile, source: SqliteFile) -> None:
        def write() -> None:
            with Library.open(place, wait_s=0.05) as other, pytest.raises(LibraryProblem) as caught:
                other.append(fitting.id, NoteWritten(text="between"))
            refused.append(caught.value.kind)

        thread = threading.Thread(target=write)
        thread.start()
        thread.join()
        overwrite(target, source)

    monkeypatch.setattr(SqliteFile, "overwrite_with", late)
    kept = FileBackups(place).restore(backup.path)
    assert refused == [ProblemKind.LOCKED]
    assert kept is not None
    with Library.open(kept, read_only=True) as copy:
        assert len(copy.fitting(fitting.id).entries) == 1


def test_an_older_backup_is_brought_up_to_date_and_leaves_nothing_beside(
    place: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    example = Path(__file__).parent / "examples" / "version_1.library"
    oldest = Path(shutil.copy(example, tmp_path_factory.mktemp("old")))
    with Library.open(place) as library:
        library.keep_deck(deck(name="Later"))
        FileBackups(place).restore(oldest)
        assert "Later" not in [row.name for row in library.decks()]
        assert library.faults() == []
        library.keep_deck(deck(name="Later still"))
    assert sorted(one.name for one in place.parent.iterdir()) == ["backups", place.name]


def test_a_program_with_the_library_open_goes_on_after_it(place: Path, fitting: Fitting) -> None:
    program = (
        "import sys; from core.store import Library\n"
        "with Library.open(sys.argv[1]) as library:\n"
        "    before = len(library.fittings()); print('open', flush=True); sys.stdin.readline()\n"
        "    print(before, len(library.fittings()), library.faults(), flush=True)\n"
    )
    with Library.open(place) as library:
        early = FileBackups(place).make()
        library.start_fitting(fitting.deck_id, fitting.cartridge_id)
    root = Path(__file__).parents[3]
    with subprocess.Popen(
        [sys.executable, "-c", program, str(place)],
        cwd=root,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "open\n"
        FileBackups(place).restore(early.path)
        said, _ = other.communicate("\n")
    assert said == "2 1 []\n"
