"""Speed by a recorded tone on its page: the record chosen, its pictures, and its sound kept."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QCheckBox, QPushButton
from pytestqt.qtbot import QtBot

from core.practice.played_record import CutBand, Playing
from core.recordings.packed import unpacked
from core.records import BandUse, CutRecord, RecordBand
from core.steps import STEP_NAMES
from core.steps.speed import Tone
from core.store import Library
from desktop.forms.file_editor import FileEditor
from desktop.widgets import theme
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import FittingBench, press, settle, step_page
from tests.sounding import written

Key = Qt.Key
RECORD = CutRecord(
    name="Bench record",
    cut_percent=0.05,
    bands=(RecordBand(label="Speed", kind=BandUse.SPEED, hz=1000.0),),
)


@pytest.fixture(scope="module")
def wav(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Half a minute of 1 kHz, 0.2 % fast: no usual tone, so only the record can judge it."""
    path = tmp_path_factory.mktemp("tone") / "side one.wav"
    return written(path, (CutBand(1000.0, 24.0),), Playing(0.2, hole_mm=0.2))


def at_tone(wizard: Wizard) -> tuple[StepPage, FileEditor]:
    wizard.go("speed")
    wizard.activateWindow()
    settle()
    page = step_page(wizard)
    page.reading.choose("tone")
    settle()
    form = page.reading.form
    assert form is not None
    editor = form.fields.entries["recorded"]
    assert isinstance(editor, FileEditor)
    return page, editor


def read(qtbot: QtBot, editor: FileEditor, wav: Path) -> None:
    editor.line.setText(str(wav))
    editor.line.editingFinished.emit()
    qtbot.waitUntil(lambda: not editor.is_reading, timeout=60_000)


@pytest.fixture
def record_id(library: Library) -> str:
    return library.keep_test_record(RECORD).id


@pytest.fixture
def opened(bench: FittingBench, record_id: str, open_wizard: Callable[[], Wizard]) -> Wizard:
    assert record_id
    bench.rough()
    for step in STEP_NAMES[2:8]:
        bench.accept(step, "Not today")
    return open_wizard()


def test_both_ways_to_a_recording_are_written_alike(opened: Wizard, qapp: QApplication) -> None:
    theme.apply(qapp, "light")
    _, editor = at_tone(opened)
    chooser, *_ = [one for one in editor.findChildren(QPushButton) if one.text() == "Choose…"]
    assert editor.listen_button.isVisible()
    assert editor.listen_button.font().pointSizeF() == chooser.font().pointSizeF()


def test_the_record_is_chosen_by_key_and_the_tone_judged_by_it(
    opened: Wizard, bench: FittingBench, wav: Path, qtbot: QtBot, record_id: str
) -> None:
    page, editor = at_tone(opened)
    box = editor.records.box
    names = [box.itemText(place) for place in range(box.count())]
    assert names == [
        "Any, with the usual tones",
        "Bench record",
        "Example test record, 12-inch",
        "Example test record, 7-inch at 45",
    ]
    assert box.accessibleName() == "Test record: which one plays"
    box.setFocus()
    press(Key.Key_Down)
    assert box.currentText() == "Bench record"
    read(qtbot, editor, wav)
    made = page.reading.draft()
    assert isinstance(made, Tone)
    assert made.recorded.record is not None
    assert made.recorded.record.id == record_id
    page.reading.keep()
    settle()
    figure = bench.controller.journey.status("speed").assessment.figure("speed_error_33")
    assert figure is not None
    assert figure.value == pytest.approx(0.2, abs=0.005)
    # the bench kit remembers it, and the next form begins with it
    played = bench.library.deck(bench.fitting.deck_id).thing.bench.played
    assert played is not None
    assert played.record == RECORD
    assert editor.records.box.currentText() == "Bench record"
    assert bench.another().records_to_play()[1] == played


def test_another_record_reads_the_file_again(opened: Wizard, wav: Path, qtbot: QtBot) -> None:
    _, editor = at_tone(opened)
    read(qtbot, editor, wav)
    ((_, said),) = editor.answer().problems
    assert "No tone for speed was found" in said  # 1 kHz alone says nothing of speed
    editor.records.box.setCurrentIndex(1)
    editor.records.box.activated.emit(1)
    qtbot.waitUntil(lambda: not editor.is_reading, timeout=60_000)
    assert editor.answer().problems == ()


def test_turn_spectrum_and_drift_are_chosen_by_key_and_stay(
    opened: Wizard, wav: Path, qtbot: QtBot
) -> None:
    page, editor = at_tone(opened)
    editor.records.box.setCurrentIndex(1)
    read(qtbot, editor, wav)
    page.reading.keep()
    settle()
    pane = page.side_pane
    assert pane.chart.isVisible()
    assert pane.picture_box.isVisible()
    titles = []
    pane.picture_box.setCurrentIndex(0)
    pane.picture_box.setFocus()
    for _ in range(4):
        titles.append(pane.chart.accessibleName())
        assert pane.chart.accessibleDescription()
        press(Key.Key_Down)
    assert [title.split(",")[0] for title in titles] == [
        "Picture: Speed error in order of reading",
        "Picture: One turn at 33⅓ rpm: the mean of all turns",
        "Picture: What varies at 33⅓ rpm",
        "Picture: Drift while the tone played",
    ]
    page.refresh()
    assert pane.picture_box.currentText() == "Drift"


def test_the_sound_is_kept_if_wanted_and_not_otherwise(
    opened: Wizard,
    library: Library,
    wav: Path,
    qtbot: QtBot,
    preferences: Preferences,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Preferences, "of_program", preferences)
    shelf = library.address.sounds
    if shelf is None:
        pytest.skip("this engine keeps no files")
    page, editor = at_tone(opened)
    editor.records.box.setCurrentIndex(1)
    read(qtbot, editor, wav)
    keep: QCheckBox = editor.keep_box
    assert keep.isVisible()
    assert not keep.isChecked()
    size_mb = wav.stat().st_size / 1e6
    assert keep.text() == f"Keep the sound too ({size_mb:.1f}".replace(".", ",") + " MB)"
    page.reading.keep()
    settle()
    sha256 = hashlib.sha256(wav.read_bytes()).hexdigest()
    assert shelf.find(sha256) is None
    read(qtbot, editor, wav)
    keep.setFocus()
    press(Key.Key_Space)
    assert keep.isChecked()
    page.reading.keep()
    settle()
    kept = shelf.find(sha256)
    assert kept is not None
    assert kept.stat().st_size < wav.stat().st_size
    assert b"".join(unpacked(kept)) == wav.read_bytes()
    assert preferences.keeps_sound
