"""A recording chosen, dropped, read and given up in the form of a reading, bad ones included."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.practice.played_record import CutBand, Playing
from core.steps.speed import Tone
from desktop.forms.file_editor import FileEditor
from desktop.forms.form import Form
from tests.sounding import written

Shown = Callable[..., QWidget]
CUT = (CutBand(3150.0, 8.0),)


@pytest.fixture
def form(shown: Shown) -> Form:
    made = Form(Tone, Numbers(","))
    shown(made)
    return made


def editor_of(form: Form) -> FileEditor:
    entry = form.fields.entries["recorded"]
    assert isinstance(entry, FileEditor)
    return entry


def typed(qtbot: QtBot, form: Form, path: Path) -> FileEditor:
    editor = editor_of(form)
    editor.line.setText(str(path))
    qtbot.keyClick(editor.line, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: not editor.is_reading, timeout=20_000)
    return editor


def words(editor: FileEditor) -> str:
    return " ".join(one.text() for one in editor.findChildren(QLabel) if not one.isHidden())


def test_a_recording_is_read_and_says_what_it_holds(
    form: Form, tmp_path: Path, qtbot: QtBot
) -> None:
    hums = Playing(hum_db=-25.0)
    editor = typed(qtbot, form, written(tmp_path / "tone.wav", CUT, hums))
    made = form.draft()
    assert isinstance(made, Tone)
    assert made.recorded.speed is not None
    assert "1 band found in 8" in words(editor)
    assert "It hums" in words(editor)


def test_a_file_is_dropped_on_the_line(form: Form, tmp_path: Path, qtbot: QtBot) -> None:
    path = written(tmp_path / "a tone.flac", CUT, Playing())
    editor = editor_of(form)
    dropped = QMimeData()
    dropped.setUrls([QUrl.fromLocalFile(str(path))])
    nothing = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    entered = QDragEnterEvent(QPointF(4, 4).toPoint(), Qt.DropAction.CopyAction, dropped, *nothing)
    QApplication.sendEvent(editor.line, entered)
    assert entered.isAccepted()
    drop = QDropEvent(QPointF(4, 4), Qt.DropAction.CopyAction, dropped, *nothing)
    QApplication.sendEvent(editor.line, drop)
    assert editor.line.text() == str(path)
    qtbot.waitUntil(lambda: form.draft() is not None, timeout=20_000)


def silence(path: Path) -> None:
    soundfile.write(path, np.zeros((44_100, 2)), 44_100)


def some_words(path: Path) -> None:
    path.write_text("no sound at all", encoding="utf-8")


def broken(path: Path) -> None:
    written(path, CUT, Playing())
    path.write_bytes(path.read_bytes()[:44])


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (silence, "The recording is silent"),
        (some_words, "odd.wav is not a sound file that can be read."),
        (broken, "odd.wav holds no sound."),
        (lambda _path: None, "There is no file"),
        (lambda path: path.mkdir(), "odd.wav is a folder."),
        (lambda path: path.touch(), "odd.wav holds no sound."),
    ],
)
def test_what_is_no_recording_gets_its_sentence_and_the_path_stays(
    make: Callable[[Path], None], said: str, form: Form, tmp_path: Path, qtbot: QtBot
) -> None:
    path = tmp_path / "odd.wav"
    make(path)
    editor = typed(qtbot, form, path)
    assert said in words(editor)
    assert form.draft() is None
    assert editor.line.text() == str(path)


def test_escape_gives_up_and_enter_begins_anew(form: Form, tmp_path: Path, qtbot: QtBot) -> None:
    path = written(tmp_path / "long.wav", (CutBand(3150.0, 120.0),), Playing())
    editor = editor_of(form)
    editor.line.setText(str(path))
    qtbot.keyClick(editor.line, Qt.Key.Key_Return)
    assert editor.is_reading
    assert editor.stop_button.isVisible()
    qtbot.keyClick(editor.line, Qt.Key.Key_Escape)
    assert not editor.is_reading
    assert not editor.stop_button.isVisible()
    assert form.draft() is None
    assert editor.line.text() == str(path)
    qtbot.keyClick(editor.line, Qt.Key.Key_Return)
    assert editor.is_reading
    editor.give_up()


def test_nothing_that_reads_sound_is_there_before_the_first_file() -> None:
    code = (
        "import sys\nfrom desktop.shell import main_window\nfrom core.steps import STEPS\n"
        "from desktop.wizard import Wizard\n"
        "print([m for m in sys.modules if m in ('soundfile', 'core.tones', 'core.recordings')])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )  # our own words
    assert done.stdout.strip() == "[]"
