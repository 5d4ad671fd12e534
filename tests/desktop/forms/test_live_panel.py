"""A live recording in the form: what comes from an input moves on the screen and becomes figures.

What is true is what `core.practice.played_record` cut. Here a made input gives its sound faster
than it plays; one test hears a real sound server.
"""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable
from pathlib import Path
from typing import Self

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFileDialog, QWidget
from pytestqt.qtbot import QtBot

import core.recordings
from core.language import Name, Numbers, message, step_text
from core.practice.played_record import CutBand, Playing
from core.recordings import LiveProblem, SoundInput
from core.records import BandUse, CutRecord, RecordBand, RecordPlayed
from core.steps import STEPS, ways_of
from core.steps.mount.readings import ResonanceByRecord
from core.steps.shared import HeardFault, HeardSound
from core.steps.speed import Tone
from core.steps.tilt import LeakByTone
from desktop.forms.file_editor import FileEditor
from desktop.forms.form import Form
from desktop.forms.live_panel import LivePanel
from desktop.widgets import theme
from desktop.widgets.panels import button
from desktop.widgets.preferences import Preferences
from desktop.widgets.scheme import Scheme
from tests.core.tones.test_resonance import RATE as SWEPT_RATE
from tests.core.tones.test_resonance import swept, truth_of
from tests.sound_server import sound_server
from tests.sounding import pieces_of, written

RATE = 48_000
Shown = Callable[..., QWidget]


class MadeInput:
    """Gives sound in blocks of 20 ms; then it waits, or is lost."""

    def __init__(self, sound: NDArray[np.float64], *, is_lost: bool = False) -> None:
        self.rate, self.channels, self.lost_blocks = RATE, sound.shape[1], 0
        self.asked: tuple[SoundInput, int, int] | None = None
        self._sound, self._is_lost, self._at = sound, is_lost, 0

    def __call__(self, wanted: SoundInput, left: int, right: int) -> MadeInput:
        self.asked = wanted, left, right
        return self

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_what: object) -> None:
        pass

    def take(self) -> NDArray[np.float64]:
        block = self._sound[self._at : self._at + 960]
        self._at += 960
        if not block.size:
            if self._is_lost:
                why = message("tones.live.problem", why="lost", name=Name("Deck"))
                raise LiveProblem(why, message("tones.live.todo", why="lost"))
            time.sleep(0.02)
        return block


INPUTS = (SoundInput("aa", "Deck", 2, RATE), SoundInput("bb", "Desk", 6, RATE))


@pytest.fixture
def heard_from(monkeypatch: pytest.MonkeyPatch) -> Callable[..., MadeInput]:
    def made(sound: NDArray[np.float64], **how: bool) -> MadeInput:
        source = MadeInput(sound, **how)
        monkeypatch.setattr(core.recordings, "Capture", source)
        monkeypatch.setattr(core.recordings, "sound_inputs", lambda: INPUTS)
        return source

    return made


def opened(qtbot: QtBot, form: Form) -> tuple[FileEditor, LivePanel]:
    editor = form.fields.entries["recorded"]
    assert isinstance(editor, FileEditor)
    editor.listen_button.click()
    assert editor.live is not None
    return editor, editor.live


def listed(qtbot: QtBot, form: Form) -> tuple[FileEditor, LivePanel]:
    editor, live = opened(qtbot, form)
    qtbot.waitUntil(live.start_button.isEnabled)
    return editor, live


def sound_of(*cut: CutBand) -> NDArray[np.float64]:
    return np.concatenate(list(pieces_of(cut, Playing(speed_percent=0.3), RATE)))


@pytest.fixture
def form(shown: Shown) -> Form:
    made = Form(Tone, Numbers(","))
    shown(made)
    return made


def test_a_tone_is_heard_long_enough_and_its_figures_are_used_as_from_a_file(
    form: Form, heard_from: Callable[..., MadeInput], qtbot: QtBot
) -> None:
    heard_from(sound_of(CutBand(3150.0, 33.0)))
    _, live = listed(qtbot, form)
    live.start_button.click()
    qtbot.waitUntil(lambda: live.now.text().startswith("0,30"), timeout=120_000)
    qtbot.waitUntil(lambda: not live.is_listening, timeout=300_000)
    assert live.use_button.isVisible()
    live.use_button.click()
    made = form.draft()
    assert isinstance(made, Tone)
    assert made.recorded.speed is not None
    assert made.recorded.speed.hz == pytest.approx(3150.0 * 1.003, rel=2e-5)
    assert len(made.recorded.sha256) == 64
    assert made.recorded.file.startswith("live ")
    assert not live.isVisible()


def test_blocks_that_were_lost_are_told_with_what_they_spoil(
    form: Form, heard_from: Callable[..., MadeInput], qtbot: QtBot
) -> None:
    source = heard_from(sound_of(CutBand(3150.0, 6.0)), is_lost=True)
    source.lost_blocks = 3
    _, live = listed(qtbot, form)
    live.start_button.click()
    qtbot.waitUntil(lambda: "3 blocks of sound were lost" in live.figures.text(), timeout=120_000)
    qtbot.waitUntil(lambda: not live.is_listening, timeout=120_000)
    assert "3 blocks of sound were lost" in live.figures.text()
    assert "speed and what varies" in live.figures.text()
    assert "Sound is missing" not in live.figures.text(), "it is said once"
    live.use_button.click()
    made = form.draft()
    assert isinstance(made, Tone)
    assert HeardFault.DROPPED in made.recorded.known_faults()


def test_the_leak_of_the_side_that_plays_is_large_on_the_screen(
    shown: Shown, heard_from: Callable[..., MadeInput], qtbot: QtBot
) -> None:
    heard_from(sound_of(CutBand(1000.0, 4.0, "left")))
    form = Form(LeakByTone, Numbers())
    shown(form)
    _, live = listed(qtbot, form)
    live.start_button.click()
    qtbot.waitUntil(lambda: live.now.text().startswith("Left into right: −30"), timeout=120_000)
    live.give_up()


def test_the_sound_is_saved_for_its_owner_alone(
    form: Form,
    heard_from: Callable[..., MadeInput],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
) -> None:
    heard_from(sound_of(CutBand(3150.0, 6.0)))
    _, live = listed(qtbot, form)
    live.start_button.click()
    qtbot.waitUntil(lambda: "Let it play" in live.state.text(), timeout=120_000)
    live.stop_button.click()
    qtbot.waitUntil(live.save_button.isVisible, timeout=120_000)
    kept = tmp_path / "kept.flac"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_asked: (str(kept), ""))
    live.save_button.click()
    assert kept.stat().st_mode & 0o777 == 0o600
    assert kept.read_bytes()[:4] == b"fLaC"


def test_an_input_lost_in_mid_reading_is_told_and_what_was_heard_can_be_used(
    form: Form, heard_from: Callable[..., MadeInput], qtbot: QtBot
) -> None:
    heard_from(sound_of(CutBand(3150.0, 8.0)), is_lost=True)
    _, live = listed(qtbot, form)
    live.start_button.click()
    qtbot.waitUntil(lambda: not live.is_listening, timeout=120_000)
    assert "Deck gives no more sound. Check its lead" in live.message.text()
    assert live.use_button.isVisible()


def test_where_no_tone_comes_it_says_so(
    form: Form, heard_from: Callable[..., MadeInput], qtbot: QtBot
) -> None:
    heard_from(np.zeros((3 * RATE, 2)))
    _, live = listed(qtbot, form)
    live.start_button.click()
    qtbot.waitUntil(lambda: "not even noise" in live.state.text(), timeout=120_000)
    live.stop_button.click()
    qtbot.waitUntil(lambda: not live.is_listening, timeout=120_000)
    assert "No tone came." in live.message.text()
    assert not live.use_button.isVisible()
    assert live.start_button.isVisible()


def test_a_computer_without_an_input_says_so_and_names_the_way_on(
    form: Form, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    def none() -> None:
        raise LiveProblem(message("tones.live.no_input"), message("tones.live.no_input_todo"))

    monkeypatch.setattr(core.recordings, "sound_inputs", none)
    _, live = opened(qtbot, form)
    qtbot.waitUntil(lambda: "no sound input" in live.message.text())
    assert "read a recording from a file" in live.message.text()
    assert not live.start_button.isEnabled()
    assert live.again_button.isEnabled()


def test_input_and_channels_are_chosen_and_remembered(
    shown: Shown,
    heard_from: Callable[..., MadeInput],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
) -> None:
    source = heard_from(sound_of(CutBand(3150.0, 2.0)))
    monkeypatch.setattr(Preferences, "of_program", Preferences(tmp_path / "remembered.ini"))
    for attempt in range(2):
        form = Form(Tone, Numbers())
        shown(form)
        _, live = listed(qtbot, form)
        if attempt == 0:
            live.input_box.setCurrentIndex(1)
            live.left_box.setCurrentIndex(4)
            live.right_box.setCurrentIndex(5)
        assert live.left_box.isVisible()
        live.start_button.click()
        qtbot.waitUntil(lambda: source.asked is not None)
        assert source.asked == (INPUTS[1], 4, 5)
        source.asked = None
        live.give_up()


def test_nothing_is_heard_once_the_form_is_hidden(
    form: Form, heard_from: Callable[..., MadeInput], qtbot: QtBot
) -> None:
    heard_from(sound_of(CutBand(3150.0, 2.0)))
    _, live = listed(qtbot, form)
    live.start_button.click()
    assert live.is_listening
    form.hide()
    assert not live.is_listening


def test_a_record_that_plays_is_heard_through_a_sound_server(
    form: Form, tmp_path: Path, qtbot: QtBot
) -> None:
    tone = written(tmp_path / "t.wav", (CutBand(3150.0, 10.0),), Playing(speed_percent=0.3), RATE)
    with sound_server() as server:
        _, live = listed(qtbot, form)
        assert "Monitor" in live.input_box.currentText()
        live.start_button.click()
        playing = server.play(tone)
        qtbot.waitUntil(lambda: live.now.text().startswith("0,30"), timeout=120_000)
        live.give_up()
        playing.terminate()
        playing.wait(5)


def test_a_resonance_is_heard_live_and_ends_with_its_sweep(
    shown: Shown, heard_from: Callable[..., MadeInput], qtbot: QtBot
) -> None:
    made = Form(ResonanceByRecord, Numbers(","))
    shown(made)
    sweep = swept(9.0, seconds=16.0)
    source = heard_from(np.concatenate((sweep, 1e-5 * np.ones((3 * SWEPT_RATE, 2)))))
    source.rate = SWEPT_RATE
    _, live = listed(qtbot, made)
    live.start_button.click()
    qtbot.waitUntil(lambda: live.now.text().startswith("The sweep is at"), timeout=300_000)
    qtbot.waitUntil(lambda: not live.is_listening, timeout=120_000)
    assert live.now.text().startswith("Shaken most at ")
    live.use_button.click()
    reading = made.draft()
    assert isinstance(reading, ResonanceByRecord)
    assert reading.recorded.hz == pytest.approx(truth_of(9.0), abs=1.0)


def test_sound_heard_live_is_read_again_beside_another_record_and_can_be_kept(
    form: Form, heard_from: Callable[..., MadeInput], qtbot: QtBot
) -> None:
    heard_from(sound_of(CutBand(3150.0, 8.0)))
    editor, live = listed(qtbot, form)
    bands = (RecordBand(label="Speed", kind=BandUse.SPEED, hz=3140.0),)
    played = RecordPlayed(id="a", record=CutRecord(name="Record A", bands=bands))
    editor.offer_records((played,), None)
    live.start_button.click()
    qtbot.waitUntil(lambda: live.now.text().startswith("0,30"), timeout=300_000)
    live.stop_button.click()
    qtbot.waitUntil(lambda: not live.is_listening, timeout=300_000)
    live.use_button.click()
    editor.keep_box.click()
    kept = editor.sound_to_keep
    assert kept is not None
    assert hashlib.sha256(kept[0].read_bytes()).hexdigest() == kept[1]
    editor.records.box.setCurrentIndex(1)
    editor.records.box.activated.emit(1)
    qtbot.waitUntil(lambda: not editor.is_reading, timeout=300_000)
    made = form.draft()
    assert isinstance(made, Tone)
    assert made.recorded.speed is not None
    assert made.recorded.speed.nominal_hz == 3140.0
    assert made.recorded.record == played
    editor.keep_box.click()  # as it was, for the tests that follow


def test_a_long_name_of_an_input_has_the_width_of_the_panel_and_is_whole_in_its_tip(
    form: Form, heard_from: Callable[..., MadeInput], monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    heard_from(np.zeros((RATE, 2)))
    long = SoundInput("cc", "Built-in audio, analogue stereo, line in at the back", 2, RATE)
    monkeypatch.setattr(core.recordings, "sound_inputs", lambda: (long, *INPUTS))
    form.resize(360, 500)
    _, live = listed(qtbot, form)
    assert long.name in live.input_box.toolTip()
    assert live.input_box.width() > live.again_button.width() + live.start_button.width()
    assert live.again_button.mapTo(live, live.again_button.rect().topLeft()).y() >= (
        live.input_box.geometry().bottom()
    ), "nothing stands beside the name"
    live.input_box.setCurrentIndex(1)
    assert long.name not in live.input_box.toolTip()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_quiet_button_that_cannot_be_pressed_looks_so(
    shown: Shown, qapp: QApplication, scheme: Scheme
) -> None:
    theme.apply(qapp, scheme)
    one = button("List again", quiet=True)
    one.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # its frame would go too
    shown(one)
    free = one.grab().toImage()
    one.setEnabled(False)
    assert one.grab().toImage() != free
    theme.apply(qapp, "light")


def test_the_lines_of_a_recording_name_the_way_to_have_it_heard() -> None:
    for step in STEPS:
        for way, model in ways_of(step).items():
            recorded = model.model_fields.get("recorded")
            if recorded is None or not issubclass(recorded.annotation or object, HeardSound):
                continue
            lines = step_text(step.NAME).ways[way].lines
            (line,) = (one for one in lines if "recorded" in one.fields)
            assert "“Listen…”" in line.text, (step.NAME, way)
