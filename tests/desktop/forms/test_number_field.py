"""A field for one number: typed text stays, what is understood stands beside it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)
from pytestqt.qtbot import QtBot

from core.fitting import Control
from core.language import Numbers
from core.records import GF, MM, RPM, TURN, FieldKind, FieldSpec, Limits, Unit
from desktop.forms.choice_editor import ChoiceEditor
from desktop.forms.field_editors import NumbersEditor
from desktop.forms.number_field import NumberField

Shown = Callable[[QWidget], QWidget]


def spec(unit: Unit = MM, limits: Limits | None = None) -> FieldSpec:
    return FieldSpec(
        "height",
        "Height in front",
        "Of the tube.",
        FieldKind.NUMBER,
        True,
        False,
        None,
        unit,
        limits or Limits(5, 40, usual=(12, 24)),
    )


def offers(made: NumberField) -> list[QPushButton]:
    """Return the buttons on show: the one that takes the number in another unit, or none."""
    return [one for one in made.findChildren(QPushButton) if not one.isHidden()]


@pytest.fixture
def field(shown: Shown) -> NumberField:
    page = QWidget()
    column = QVBoxLayout(page)
    made = NumberField(spec(), Numbers(","))
    column.addWidget(made)
    column.addWidget(QLineEdit())
    shown(page)
    made.line.setFocus()
    return made


@pytest.mark.parametrize("text", ["17,5", "17.5", "17.5 mm", "1.234,5", "abc", " 12 ", "-3", "0.7"])
def test_the_text_stays_as_typed_whatever_it_is(
    field: NumberField, qtbot: QtBot, text: str
) -> None:
    qtbot.keyClicks(field.line, text)
    qtbot.keyClick(field.line, Qt.Key.Key_Return)
    qtbot.keyClick(field.line, Qt.Key.Key_Tab)
    assert field.text() == text


def test_the_value_understood_is_shown_in_the_countrys_own_writing(
    field: NumberField, qtbot: QtBot
) -> None:
    qtbot.keyClicks(field.line, "17.5")
    assert field.result.value == 17.5
    assert "= 17,5\u00a0mm" in [
        label.text() for label in field.findChildren(type(field._understood))
    ]


@pytest.mark.parametrize(
    ("typed", "said"), [("17,5", ""), ("17.5", "= 17,5 mm"), (" 17,5 mm", ""), ("17,50", "")]
)
def test_a_number_that_stands_there_with_its_unit_is_not_said_again(
    field: NumberField, qtbot: QtBot, typed: str, said: str
) -> None:
    """Beside "380 mm" stood "= 380 mm"."""
    qtbot.keyClicks(field.line, typed)
    assert field.result.value == 17.5
    assert field._understood.text().replace("\u00a0", " ") == said


def test_what_is_understood_is_never_cut_however_narrow_the_page(shown: Shown) -> None:
    page = QWidget()
    column = QVBoxLayout(page)
    made = NumberField(spec(TURN, Limits(-1000, 1000)), Numbers(","))
    column.addWidget(made)
    made.line.setText("-104.56")
    shown(page)
    page.resize(page.minimumSizeHint())
    QApplication.processEvents()
    said = made._understood
    assert "turns" in said.text()
    assert said.width() >= QFontMetricsF(said.font()).horizontalAdvance(said.text())


def test_a_number_on_its_way_is_not_complained_of_until_the_field_is_left(
    field: NumberField, qtbot: QtBot
) -> None:
    qtbot.keyClicks(field.line, "1")
    assert field.message() == ""
    qtbot.keyClick(field.line, Qt.Key.Key_Tab)
    assert "is too small" in field.message()


def test_an_impossible_text_is_complained_of_at_once(field: NumberField, qtbot: QtBot) -> None:
    qtbot.keyClicks(field.line, "x")
    assert "needs a number" in field.message()
    qtbot.keyClick(field.line, Qt.Key.Key_Backspace)
    assert field.message() == ""


def test_leaving_an_empty_field_says_nothing_and_confirming_it_does(
    field: NumberField, qtbot: QtBot
) -> None:
    qtbot.keyClick(field.line, Qt.Key.Key_Tab)
    assert field.message() == ""
    field.line.setFocus()
    qtbot.keyClick(field.line, Qt.Key.Key_Return)
    assert "needs a number" in field.message()


def test_arrow_keys_step_by_the_units_step_and_stop_at_the_limits(
    field: NumberField, qtbot: QtBot
) -> None:
    field.put(39.95)
    qtbot.keyClick(field.line, Qt.Key.Key_Up)
    assert field.result.value == 40.0
    qtbot.keyClick(field.line, Qt.Key.Key_Up)
    assert field.result.value == 40.0
    qtbot.keyClick(field.line, Qt.Key.Key_Down)
    assert field.text() == "39,9"


@pytest.mark.parametrize("key", [Qt.Key.Key_PageUp, Qt.Key.Key_PageDown])
def test_page_keys_go_to_the_page_and_change_no_number(field: NumberField, key: Qt.Key) -> None:
    field.put(20.0)
    event = QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier)
    event.setAccepted(True)
    field.line.keyPressEvent(event)
    assert field.text() == "20"
    assert not event.isAccepted()


def test_arrow_keys_leave_a_text_alone_that_is_no_number(field: NumberField, qtbot: QtBot) -> None:
    qtbot.keyClicks(field.line, "about 12")
    qtbot.keyClick(field.line, Qt.Key.Key_Up)
    assert field.text() == "about 12"


def _wheel(widget: QWidget) -> QWheelEvent:
    event = QWheelEvent(
        QPointF(3, 3),
        QPointF(3, 3),
        QPoint(0, 0),
        QPoint(0, 120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(widget, event)
    return event


def test_the_wheel_goes_to_the_page_and_changes_no_number(field: NumberField) -> None:
    field.put(20.0)
    field.line.setFocus()
    event = _wheel(field.line)
    assert field.text() == "20"
    assert not event.isAccepted()


def test_the_wheel_and_page_keys_change_no_choice(shown: Shown) -> None:
    choices = tuple(Control)[:6]
    kind = FieldSpec("what", "What", "", FieldKind.CHOICE, True, False, None, choices=choices)
    editor = ChoiceEditor(kind)
    shown(editor)
    box = editor.findChild(QComboBox)
    assert box is not None
    editor.put(choices[2])
    box.setFocus()
    _wheel(box)
    QTest.keyClick(box, Qt.Key.Key_PageDown)
    assert editor.answer().value == choices[2]


def test_signals_tell_of_every_stroke_and_of_every_new_value(
    field: NumberField, qtbot: QtBot
) -> None:
    strokes: list[str] = []
    values: list[object] = []
    field.typed.connect(lambda: strokes.append(field.text()))
    field.value_changed.connect(values.append)
    qtbot.keyClicks(field.line, "17,0")
    assert strokes == ["1", "17", "17,", "17,0"]
    assert values == [17.0]


def test_a_screen_reader_is_told_name_unit_and_help(qapp: QApplication) -> None:
    assert qapp is not None
    made = NumberField(spec(GF), Numbers())
    assert made.line.accessibleName() == "Height in front, grams-force"
    assert made.line.accessibleDescription() == "Of the tube."
    made.deleteLater()


# 1 gf is 9.80665 mN (standard gravity, CGPM 1901), an inch 25.4 mm (1959): both exact.
@pytest.mark.parametrize(
    ("unit", "limits", "typed", "offered", "value"),
    [
        (GF, Limits(0, 50, usual=(0.5, 6)), "19,6", "Take 19,6 mN as 2,00 gf", 2.0),
        (GF, Limits(0, 50, usual=(0.5, 6)), "17.6 mN", "Take 17,6 mN as 1,79 gf", 1.79),
        (GF, Limits(0, 10, usual=(0.5, 6)), "19,6", "Take 19,6 mN as 2,00 gf", 2.0),
        (MM, Limits(5, 40, usual=(12, 24)), "0.7", "Take 0,7 in as 17,78 mm", 17.78),
    ],
)
def test_a_number_in_another_unit_is_taken_in_one_act(
    shown: Shown, unit: Unit, limits: Limits, typed: str, offered: str, value: float
) -> None:
    page = QWidget()
    column = QVBoxLayout(page)
    made, below = NumberField(spec(unit, limits), Numbers(",")), QLineEdit()
    column.addWidget(made)
    column.addWidget(below)
    shown(page)
    made.line.setFocus()
    QTest.keyClicks(made.line, typed)
    made.reveal()
    (button,) = offers(made)
    assert button.text().replace("\u00a0", " ") == offered
    assert made.text() == typed, "nothing is changed before"
    QTest.keyClick(made.line, Qt.Key.Key_Tab)
    assert QApplication.focusWidget() is button
    QTest.keyClick(button, Qt.Key.Key_Space)
    assert made.result.value == value
    assert made.message() == ""
    assert not offers(made)
    assert QApplication.focusWidget() is made.line
    QTest.keyClick(made.line, Qt.Key.Key_Tab)
    assert QApplication.focusWidget() is below


@pytest.mark.parametrize("typed", ["2,0", "3000", "abc", "2 kg", "-2"])
def test_nothing_is_offered_where_no_other_unit_is_likely(field: NumberField, typed: str) -> None:
    field.spec = spec(GF, Limits(0, 50, usual=(0.5, 6)))
    field.set_text(typed)
    field.reveal()
    assert not offers(field)


def test_no_unit_is_cut_where_there_is_little_room(shown: Shown) -> None:
    page = QWidget()
    column = QVBoxLayout(page)
    made = NumberField(spec(TURN, Limits(-20, 20)), Numbers(","))
    column.addWidget(made)
    column.addStretch(1)
    shown(page)
    made.put(4.625)
    page.resize(page.minimumSizeHint().width(), 200)
    QApplication.processEvents()
    unit = next(one for one in made.findChildren(QLabel) if one.text() == "turns")
    assert unit.width() >= unit.fontMetrics().horizontalAdvance("turns")


@pytest.mark.parametrize("value", [33.333333, 100.0 / 3.0])
def test_a_speed_of_33_and_a_third_is_shown_so_and_kept_to_its_last_digit(
    shown: Shown, value: float
) -> None:
    spec = FieldSpec("rpm", "Speed", "", FieldKind.NUMBER, False, True, None, RPM, Limits(10, 100))
    field = NumberField(spec, Numbers("."))
    shown(field)
    field.put(value)
    assert field.text() == "33⅓"
    assert field.result.value == value
    field.put(45.0)
    field.put(value)
    assert field.result.value == value
    field.set_text("33.4")
    assert field.result.value == 33.4


def test_the_speeds_of_a_deck_are_shown_so_and_kept_to_their_last_digit(shown: Shown) -> None:
    limits = Limits(10, 100)
    spec = FieldSpec("rpm", "Speeds", "", FieldKind.NUMBERS, False, False, (), RPM, limits)
    editor = NumbersEditor(spec, Numbers("."))
    shown(editor)
    editor.put((33.333333, 45.0))
    assert editor.line.text() == "33⅓; 45"
    assert editor.answer().value == (33.333333, 45.0)
    editor.line.setText("33⅓; 45; 78.26")
    assert editor.answer().value == (33.333333, 45.0, 78.26)
