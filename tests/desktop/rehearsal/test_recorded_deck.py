"""A rehearsal that is heard: the deck is recorded, and its recording is read like any file."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Generator, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QPushButton
from pytestqt.qtbot import QtBot

from core.fitting import Body, MoveMade, Reading, ReadingTaken, StepAccepted, StepState, Verdict
from core.language import Numbers
from core.practice.instruments import SUSPENSION_UM_PER_MN
from core.practice.world import World
from core.records import BandUse, CutOn, CutRecord, RecordBand, RecordPlayed
from core.steps import reading_from
from core.steps.mount import ResonanceByRecord
from core.steps.skating import BandsByTone
from core.steps.speed import Tone
from core.steps.tilt import LeakByTone
from desktop.forms.file_editor import FileEditor
from desktop.shell.main_window import MainWindow
from tests.desktop.kit import Key, RecordingMessages, settle
from tests.desktop.rehearsal.keyboard import MOST_DEEDS, RehearsalHands, window_of

Shown = Callable[[MainWindow], MainWindow]
CTRL = Qt.KeyboardModifier.ControlModifier
LONGEST_MS = 60_000


@pytest.fixture
def hands(
    tmp_path: Path,
    shown: Shown,
    messages: RecordingMessages,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[RehearsalHands]:
    folder = tmp_path / "temporary"
    folder.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(folder))
    one = RehearsalHands(shown(window_of(tmp_path, messages, Numbers())))
    one.open_room()
    one.begin(11, kind="Pivoted arm, head at an angle")
    yield one
    messages.answers.append(1)  # whatever is typed and not kept may go


def sounds(tmp_path: Path) -> list[Path]:
    return sorted((tmp_path / "temporary").rglob("*.wav"))


def come_to(hands: RehearsalHands, step: str) -> None:
    """Work until a step is due, without the keys: those are tested elsewhere."""
    controller, rehearsal = hands.bench.controller, hands.bench.rehearsal
    for _ in range(MOST_DEEDS):
        journey = controller.journey
        due = journey.due
        if due is None or due == step:
            break
        now = journey.status(due)
        verdict, move = now.assessment.verdict, now.assessment.next_move
        again = now.state is StepState.CHECK_AGAIN
        body: Body
        if verdict.passes and not again:
            body = StepAccepted(step=due, verdict=verdict)
        elif verdict in (Verdict.MOVE, Verdict.STOP) and not again and move and move.parts:
            body = MoveMade(step=due, parts=move.parts)
        else:
            read = hands.person.read(rehearsal, journey, due)
            typed = reading_from(due, read.values).as_kept()
            body = ReadingTaken(step=due, reading=typed.model_dump(mode="json"))
        assert controller.record(body) is None
    hands.wizard.go(step)
    settle()


def editor_of(hands: RehearsalHands, way: str) -> FileEditor:
    hands.press(Key.Key_R, CTRL)
    if hands.step.reading.way != way:
        hands._choose_way(way)  # as `choose` does, without its look
    settle()
    form = hands.step.reading.form
    assert form is not None
    editor = form.fields.entries["recorded"]
    assert isinstance(editor, FileEditor)
    return editor


def recorded(hands: RehearsalHands, way: str, qtbot: QtBot) -> Reading:
    """Record the deck by keyboard, keep the reading, and return it."""
    editor = editor_of(hands, way)
    shown = hands.panel.shown
    assert shown is not None
    hands.type({name: shown.values[name] for name in ("setting",) if name in shown.values})
    hands.press_button(editor.record_button)
    assert editor.is_reading
    qtbot.waitUntil(lambda: not editor.is_reading, timeout=LONGEST_MS)
    assert not editor.answer().problems
    assert not editor.keep_box.isVisible()
    before = len(hands.bench.controller.fitting.entries)
    hands.press(Key.Key_Return, CTRL)
    settle()
    assert len(hands.bench.controller.fitting.entries) == before + 1
    last = hands.bench.controller.journey.status(hands.wizard.place).trials[-1].reading
    assert last is not None
    return last


def world_of(hands: RehearsalHands) -> World:
    return hands.bench.rehearsal.world


def test_speed_is_read_by_a_recording_of_the_deck_and_its_file_goes(
    hands: RehearsalHands, tmp_path: Path, qtbot: QtBot
) -> None:
    come_to(hands, "speed")
    world = world_of(hands)
    reading = recorded(hands, "tone", qtbot)
    assert isinstance(reading, Tone)
    nominal = world.deck.platter.speeds_rpm[0]
    told, common = reading.rpm_read(nominal, world.deck)
    # The tone is as true as the record was cut, which nobody can hear.
    true = world.rpm(f"{nominal:g}") / nominal * (1.0 + world.tools.record_share)
    assert told.value / nominal == pytest.approx(true, abs=2e-5)
    assert common > 0.0
    assert len(sounds(tmp_path)) == 1
    assert sounds(tmp_path)[0].stat().st_size < 20e6
    hands.room.leave()
    qtbot.waitUntil(lambda: not sounds(tmp_path), timeout=5_000)
    assert not list((tmp_path / "temporary").iterdir())


def test_tilt_is_read_by_a_recording_of_the_deck(hands: RehearsalHands, qtbot: QtBot) -> None:
    come_to(hands, "tilt")
    world = world_of(hands)
    reading = recorded(hands, "leak by tone", qtbot)
    assert isinstance(reading, LeakByTone)
    assert reading.recorded.is_in_phase
    for side, leak in zip(("left", "right"), world.leaks(), strict=True):
        (band,) = (one for one in reading.recorded.bands if one.side.value == side)
        assert band.leak_db == pytest.approx(20.0 * math.log10(abs(leak)), abs=0.2)
        phase = math.degrees(math.atan2(leak.imag, leak.real))
        assert band.leak_deg is not None
        assert abs((band.leak_deg - phase + 180.0) % 360.0 - 180.0) < 2.0


def test_skating_is_read_by_a_recording_of_the_deck(hands: RehearsalHands, qtbot: QtBot) -> None:
    come_to(hands, "skating")
    world = world_of(hands)
    reading = recorded(hands, "bands by tone", qtbot)
    assert isinstance(reading, BandsByTone)
    left_over = world.mean_side_force_gf() - world.compensation_gf()
    down = world.downforce_gf
    told = reading.recorded.break_up().difference
    assert told is not None
    # The loads of the walls are as (W + S) : (W - S), and peaks hold in proportion (derived).
    truth = 20.0 * math.log10((down + left_over) / (down - left_over))
    assert told.value == pytest.approx(truth, abs=2.0 * told.half_width())


def never_whole(path: Path) -> Generator[float, None, None]:
    """Write a little of a recording, and never its end."""
    with path.open("wb") as stream:
        while True:
            stream.write(b"RIFF")
            time.sleep(0.01)
            yield 0.1


def test_a_recording_under_way_can_be_given_up_and_left(
    hands: RehearsalHands, tmp_path: Path, qtbot: QtBot
) -> None:
    come_to(hands, "speed")
    editor = editor_of(hands, "tone")
    editor.offer_recording(lambda _played: never_whole)
    hands.press_button(editor.record_button)
    assert editor.is_reading
    hands.tab_to(editor.line)
    hands.press(Key.Key_Escape)
    assert not editor.is_reading
    assert not editor.line.text()
    hands.press_button(editor.record_button)
    assert editor.is_reading
    QApplication.processEvents()
    hands.room.leave()
    qtbot.waitUntil(lambda: not list((tmp_path / "temporary").iterdir()), timeout=5_000)


def test_nothing_of_it_is_offered_outside_a_rehearsal(shown: Callable[..., FileEditor]) -> None:
    from desktop.forms.form import Form

    form = Form(Tone, Numbers())
    shown(form)
    assert not [
        one for one in form.findChildren(QPushButton) if one.isVisible() and "deck" in one.text()
    ]


def test_the_resonance_is_read_by_a_recording_of_the_deck(
    hands: RehearsalHands, qtbot: QtBot
) -> None:
    come_to(hands, "rough_downforce")  # the stylus rests on a record with some force
    come_to(hands, "mount")
    hands.wizard.go("mount")
    settle()
    world = world_of(hands)
    reading = recorded(hands, "resonance by record", qtbot)
    assert isinstance(reading, ResonanceByRecord)
    grams = world.deck.arm.effective_mass_g + world.arm().head_g
    gives = world.build.gives_um_per_mn or SUSPENSION_UM_PER_MN
    # f = 1 / (2 pi sqrt(m c)), grams and micrometres per millinewton in SI (derived).
    true = 1.0 / (2.0 * math.pi * math.sqrt(grams * 1e-3 * gives * 1e-3))
    assert reading.recorded.hz == pytest.approx(true, rel=0.05)
    assert not reading.recorded.is_at_end


def test_the_chosen_record_plays_its_own_tone(hands: RehearsalHands, qtbot: QtBot) -> None:
    """At 3,000 Hz the deck is as fast as at the usual 3,150; no other tone is taken for it."""
    come_to(hands, "speed")
    world = world_of(hands)
    editor = editor_of(hands, "tone")
    nominal = world.deck.platter.speeds_rpm[0]
    band = RecordBand(label="Steady tone", kind=BandUse.SPEED, hz=3000.0)
    mine = RecordPlayed(record=CutRecord(name="Example record", rpm=nominal, bands=(band,)))
    editor.offer_records((mine,), None)
    hands.tab_to(editor.records.box)
    hands.press(Key.Key_Down)
    assert editor.records.played == mine
    reading = recorded(hands, "tone", qtbot)
    assert isinstance(reading, Tone)
    assert reading.recorded.record == mine
    assert reading.recorded.speed is not None
    true = world.rpm(f"{nominal:g}") / nominal * (1.0 + world.tools.record_share)
    assert reading.recorded.speed.hz == pytest.approx(3000.0 * true, rel=2e-5)
    told, _ = reading.rpm_read(nominal, world.deck)
    assert told.value / nominal == pytest.approx(true, abs=2e-5)


def test_a_record_without_such_a_band_is_refused_with_the_way_on(
    hands: RehearsalHands, tmp_path: Path
) -> None:
    come_to(hands, "speed")
    editor = editor_of(hands, "tone")
    band = RecordBand(label="Left alone", kind=BandUse.SEPARATION, hz=1000.0, side=CutOn.LEFT)
    other = RecordPlayed(record=CutRecord(name="Example record", bands=(band,)))
    editor.offer_records((other,), None)
    hands.tab_to(editor.records.box)
    hands.press(Key.Key_Down)
    hands.press_button(editor.record_button)
    assert not editor.is_reading
    said = " ".join(label.text() for label in editor.findChildren(QLabel) if label.isVisible())
    assert "“Example record” has no band for this reading." in said
    assert "Choose another test record." in said
    assert sounds(tmp_path) == []
