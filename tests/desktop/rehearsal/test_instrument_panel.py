"""The instrument beside the form: set up by the form, shut while the stylus stays up."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtGui import QFont, QFontMetricsF, QImage
from PySide6.QtWidgets import QApplication, QWidget

from core.drawing.drawing import Drawing
from core.drawing.marks import Words
from core.language import Numbers
from core.practice import new_rehearsal
from core.practice.instruments import INSTRUMENTS
from core.practice.invented_decks import starter_decks
from desktop.charts.instrument_view import InstrumentView
from desktop.rehearsal import instrument_panel as panel_module
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from tests.desktop.kit import RecordingMessages, settle, words_of
from tests.desktop.rehearsal.keyboard import RehearsalHands, window_of

KINDS = ("pivoted offset", "pivoted straight", "parallel tracking")
DECKS = {kind: next(d for d in starter_decks() if d.arm.kind.value == kind) for kind in KINDS}


def drawings(step: str, way: str) -> Iterator[Drawing]:
    for kind, deck in DECKS.items():
        parallel = kind == "parallel tracking"
        if parallel and step == "skating":
            continue  # nothing pulls such an arm inward
        if (way == "path") is not parallel and step == "alignment":
            continue
        for difficulty in ("gentle", "bad day"):
            for number in range(2):
                rehearsal = new_rehearsal(5, difficulty, deck, number=number)
                yield rehearsal.instrument(step, way).drawn(Numbers(","))


@pytest.fixture
def hands(
    tmp_path: Path, shown: Callable[[MainWindow], MainWindow], messages: RecordingMessages
) -> Iterator[RehearsalHands]:
    one = RehearsalHands(shown(window_of(tmp_path, messages, Numbers(","))), ",")
    one.open_room()
    one.begin(12)
    yield one
    messages.answers.append(1)  # whatever is typed and not kept may go


@pytest.mark.parametrize(("step", "way"), list(INSTRUMENTS))
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_instrument_is_painted_on_every_kind_of_deck(
    step: str, way: str, scheme: str, shown: Callable[..., QWidget], qapp: QApplication
) -> None:
    theme.apply(qapp, scheme)
    view = InstrumentView()
    shown(view, 340, 460)
    for drawing in drawings(step, way):
        view.show_drawing(drawing)
        image = view.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
        colours = {
            image.pixel(x, y)
            for x in range(0, image.width(), 5)
            for y in range(0, image.height(), 5)
        }
        assert len(colours) > 4
        assert view.accessibleDescription() == drawing.summary
    theme.apply(qapp, "light")


@pytest.mark.parametrize(("step", "way"), list(INSTRUMENTS))
def test_no_words_of_a_drawing_run_off_its_sheet_or_are_too_small_to_read(
    step: str, way: str, shown: Callable[..., QWidget]
) -> None:
    view = InstrumentView()
    shown(view, 340, 460)
    line = theme.em(view)
    for drawing in drawings(step, way):
        view.show_drawing(drawing)
        unit = min(340.0 / drawing.width_mm, view.heightForWidth(340) / drawing.height_mm)
        for part in drawing.marks:
            if not isinstance(part, Words):
                continue
            font = QFont(view.font())
            font.setPixelSize(round(part.size_mm * unit))
            font.setBold(part.bold)
            wide = QFontMetricsF(font).horizontalAdvance(part.text) / unit
            left = part.x - {"left": 0.0, "middle": 0.5, "right": 1.0}[part.align] * wide
            assert left > -1.0, part.text
            assert left + wide < drawing.width_mm + 1.0, part.text
            if ":" in part.name:  # the figures of a scale
                assert part.size_mm * unit >= 0.6 * line, part.text


def test_the_instrument_follows_the_form_and_waits_for_what_it_is_set_up_by(
    hands: RehearsalHands,
) -> None:
    while hands.bench.controller.journey.due != "rough_downforce":
        assert hands.act()
    hands.wizard.go("rough_downforce")
    settle()
    hands.step.reading.choose("check weight")
    settle()
    assert hands.panel.shown is None
    assert "First fill in “Check weight”" in words_of(hands.panel)
    assert not hands.panel.again_button.isEnabled()
    hands.type({"weight_g": 5.0})
    settle()
    shown = hands.panel.shown
    assert shown is not None
    assert shown.values["weight_g"] == 5.0
    assert shown.values["shown_gf"] == pytest.approx(5.0, abs=0.2)
    assert "check weight of 5\u00a0g" in shown.drawn(Numbers()).summary


def test_a_step_looked_at_while_it_was_closed_has_its_instrument_once_it_is_open(
    hands: RehearsalHands,
) -> None:
    hands.wizard.go("mount")
    settle()
    assert not hands.panel.isVisible()
    assert hands.panel.shown is None
    hands.wizard.go("level")
    settle()
    while hands.bench.controller.journey.due == "level":
        assert hands.act()
    hands.wizard.go("mount")
    settle()
    assert hands.panel.isVisible()
    assert hands.panel.shown is not None


def test_typing_what_is_read_changes_nothing_on_the_bench(hands: RehearsalHands) -> None:
    shown = hands.choose("ruler", {"direction": "left-right", "length_mm": 400.0})
    assert shown.values["length_mm"] == 400.0
    hands.type({"gap_mm": 0.7})
    settle()
    assert hands.panel.shown is shown
    hands.type({"direction": "front-back"})
    settle()
    again = hands.panel.shown
    assert again is not None
    assert again is not shown
    assert again.values["direction"] == "front-back"


def test_no_stylus_is_lowered_on_the_bench_before_the_wizard_lets_it(
    hands: RehearsalHands, monkeypatch: pytest.MonkeyPatch
) -> None:
    reading = hands.step.reading
    monkeypatch.setattr(reading, "closed_reason", lambda: "⊘ The stylus stays up.")
    hands.panel.look()
    assert hands.panel.shown is None
    assert "The stylus stays up" in words_of(hands.panel)


def test_the_bars_drift_only_when_asked_and_only_where_things_may_move(
    hands: RehearsalHands, monkeypatch: pytest.MonkeyPatch
) -> None:
    rehearsal = hands.bench.rehearsal
    view = hands.panel.view
    shown = rehearsal.instrument("speed", "strobe")
    drawing = shown.drawn(Numbers())
    for moves in (True, False):
        monkeypatch.setattr(panel_module, "moves_allowed", lambda _view, moves=moves: moves)
        hands.panel._show(shown, None)
        assert not view.is_playing, "nothing moves by itself"
        assert hands.panel.film_button.isVisible() is moves
        assert view.drawing is not None
        assert view.drawing.marks == drawing.marks, "the still picture is the end of the film"
    view.play()
    assert view.is_playing
    assert view.drawing is not None
    assert view.drawing.marks != drawing.marks
    view.stop()
    assert view.drawing.marks == drawing.marks


def test_a_number_with_a_comma_is_read_off_a_scale_with_commas(hands: RehearsalHands) -> None:
    shown = hands.read_drawn("inclinometer", direction="front-back")
    assert "." not in shown.drawn(Numbers(",")).marks[2].text  # type: ignore[union-attr]  # words
    (entry,) = hands.bench.controller.fitting.entries
    assert entry.body.reading["angle_deg"] == shown.values["angle_deg"]
