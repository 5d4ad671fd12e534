from __future__ import annotations

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from desktop.shell.app import main_window
from desktop.shell.command_line import Options
from desktop.widgets.preferences import Preferences


def test_names_come_latest_first_each_once_and_not_without_end(tmp_path: Path) -> None:
    path = tmp_path / "r.ini"
    preferences = Preferences(path)
    for name in ("Ada", "Ben", " Ada ", *(f"Guest {n}" for n in range(10))):
        preferences.remember_who(name)
    preferences.save()
    again = Preferences(path)
    assert again.who == "Guest 9"
    assert again.names == tuple(f"Guest {n}" for n in range(9, 1, -1))


def test_nobody_in_particular_is_an_answer_and_forgets_no_name(tmp_path: Path) -> None:
    preferences = Preferences(tmp_path / "r.ini")
    preferences.remember_who("Ada, with a comma")
    preferences.remember_who("  ")
    assert preferences.who == ""
    assert preferences.names == ("Ada, with a comma",)


def test_a_file_full_of_rubbish_is_as_good_as_none(tmp_path: Path) -> None:
    path = tmp_path / "r.ini"
    path.write_bytes(bytes(range(256)) + b"[window]\ngeometry=7\n[who\nnow==\n")
    preferences = Preferences(path)
    assert preferences.names == ()
    assert preferences.geometry is None


def test_a_name_of_another_program_signs_for_nobody_here(tmp_path: Path) -> None:
    mine = Preferences(tmp_path / "remembered.ini")
    mine.remember_who("Ben")
    mine.save()
    other = Preferences(tmp_path / "remembered.ini")
    other.remember_who("Second")
    other.save()
    mine.save()  # reads what the other wrote
    assert mine.who == "Ben"
    assert other.who == "Second"


def test_a_name_for_one_run_is_not_written(
    tmp_path: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Preferences, "of_program", None)
    first = Preferences(tmp_path / "remembered.ini")
    first.remember_who("Ben")
    first.save()
    qtbot.addWidget(main_window(Options(who="Second"), tmp_path))
    assert Preferences.of_program is not None
    assert Preferences.of_program.who == "Second"
    Preferences.of_program.save()
    after = Preferences(tmp_path / "remembered.ini")
    assert (after.who, after.names) == ("Ben", ("Ben",))
