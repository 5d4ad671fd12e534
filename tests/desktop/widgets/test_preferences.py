from __future__ import annotations

from pathlib import Path

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
    assert preferences.pairing == ("", "")
