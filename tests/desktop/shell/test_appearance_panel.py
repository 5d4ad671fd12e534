"""Colours and size of type are changed inside the program, at once, and remembered."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QWidget

from core.language import Numbers
from core.store import Library
from desktop.library.screen import LibraryScreen
from desktop.shell.app import apply_appearance
from desktop.shell.appearance_panel import AppearancePanel
from desktop.shell.command_line import Options
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.widgets.locale_numbers import numbers_of
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import (
    FittingBench,
    RecordingMessages,
    press,
    retype,
    settle,
    step_page,
    words_of,
)

Key = Qt.Key
NONE = Qt.KeyboardModifier.NoModifier
BOTH = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier


pytestmark = pytest.mark.usefixtures("usual_look")


@pytest.fixture
def window(
    library: Library,
    preferences: Preferences,
    messages: RecordingMessages,
    shown: Callable[..., QWidget],
) -> MainWindow:
    window = MainWindow(numbers=Numbers(","), preferences=preferences, messages=messages)
    window.open_library(library.address.path)
    shown(window, 1280, 800)
    return window


def asked(window: MainWindow) -> AppearancePanel:
    press(Key.Key_L, BOTH)
    panel = window.findChild(AppearancePanel)
    assert isinstance(panel, AppearancePanel)
    assert panel.isVisible()
    return panel


def wizard_of(window: MainWindow) -> Wizard:
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    return wizard


def level_page(window: MainWindow, library: Library) -> StepPage:
    (deck, cartridge) = library.decks()[0], library.cartridges()[0]
    window.open_fitting(library.start_fitting(deck.id, cartridge.id).id)
    wizard = wizard_of(window)
    wizard.go("level")
    page = wizard.page
    assert isinstance(page, StepPage)
    return page


def test_a_change_in_the_wizard_holds_at_once_and_loses_nothing_typed(
    window: MainWindow, library: Library, preferences: Preferences, messages: RecordingMessages
) -> None:
    page = level_page(window, library)
    QApplication.processEvents()
    form = page.reading.form
    assert form is not None
    press(Key.Key_Return)
    for _ in range(3):
        press(Key.Key_Return)
    before = QApplication.focusWidget()
    assert isinstance(before, QLineEdit)
    QTest.keyClicks(before, "1,5")
    title_points = page.title.font().pointSizeF()
    body_points = page.font().pointSizeF()
    rail = wizard_of(window).rail
    rail_px = rail.width()
    panel = asked(window)
    assert QApplication.focusWidget() is panel.schemes["light"]
    press(Key.Key_Right)
    assert theme.appearance_of(page).is_dark
    panel.scales[1.0].setFocus()
    press(Key.Key_Right)
    press(Key.Key_Right)
    QApplication.processEvents()
    assert page.font().pointSizeF() == pytest.approx(1.5 * body_points)
    assert page.title.font().pointSizeF() == pytest.approx(1.5 * title_points)
    assert rail.width() == pytest.approx(1.5 * rail_px, abs=2)
    press(Key.Key_Escape)
    assert panel.isHidden()
    assert QApplication.focusWidget() is before
    assert before.text() == "1,5"
    messages.answers.append(1)  # the window is closed without it
    assert preferences.appearance == ("dark", 1.5)


@pytest.mark.parametrize(
    ("back", "on"), [(Key.Key_Left, Key.Key_Right), (Key.Key_Up, Key.Key_Down)]
)
def test_every_arrow_key_moves_within_a_row_of_choices(
    window: MainWindow, preferences: Preferences, back: Key, on: Key
) -> None:
    panel = asked(window)
    rows = (
        ("light", panel.schemes, lambda: preferences.appearance[0]),
        (1.0, panel.scales, lambda: preferences.appearance[1]),
        (".", panel.signs, lambda: preferences.decimal),
    )
    for first, row, chosen in rows:
        keys = list(row)
        row[first].setFocus()
        row[first].click()
        for wanted in (*keys[1:], keys[-1]):  # it stays at the end of the row
            press(on)
            assert QApplication.focusWidget() is row[wanted]
            assert row[wanted].isChecked()
            assert chosen() == wanted
        for wanted in (*keys[-2::-1], keys[0]):
            press(back)
            assert QApplication.focusWidget() is row[wanted]
            assert chosen() == wanted


def test_sizes_come_back_when_the_type_does(window: MainWindow, library: Library) -> None:
    page = level_page(window, library)
    QApplication.processEvents()
    app = QApplication.instance()
    assert isinstance(app, QApplication)

    def sizes() -> list[tuple[float, int, int]]:
        return [
            (round(one.font().pointSizeF(), 2), one.minimumWidth(), one.maximumWidth())
            for one in (page.title, page.readout, page.side_pane.chart, wizard_of(window).rail)
        ]

    before = sizes()
    theme.apply(app, "light", text_scale=1.75)
    assert sizes() != before
    theme.apply(app, "light", text_scale=1.0)
    for was, now in zip(before, sizes(), strict=True):
        assert list(now) == pytest.approx(list(was), abs=1)


def test_it_is_reached_from_the_menu_and_from_the_wizards_bar(
    window: MainWindow, library: Library
) -> None:
    panel = asked(window)
    panel.done_button.click()
    assert panel.isHidden()
    window.menus.acts["appearance"].trigger()
    assert panel.isVisible()
    panel.done_button.click()
    level_page(window, library)
    wizard_of(window).appearance_button.click()
    assert panel.isVisible()


def test_what_was_chosen_is_worn_at_the_next_start_and_an_option_wins_for_that_run(
    qapp: QApplication, tmp_path: Path
) -> None:
    place = tmp_path / "look.ini"
    chosen = Preferences(place)
    chosen.remember_appearance("dark", 1.25)
    chosen.save()
    apply_appearance(Options(), Preferences(place))
    assert theme.current_scheme(qapp) == ("dark", 1.25)
    apply_appearance(Options(scheme="light", text_scale=2.0), Preferences(place))
    assert theme.current_scheme(qapp) == ("light", 2.0)
    assert Preferences(place).appearance == ("dark", 1.25)


@pytest.mark.parametrize(
    "content", ["", "[look]\nscheme=pink\ntext_scale=lots", "[look]\ntext_scale=99", "\x00\xff"]
)
def test_a_spoilt_memory_of_the_look_is_the_systems(tmp_path: Path, content: str) -> None:
    place = tmp_path / "spoilt.ini"
    place.write_text(content, encoding="latin-1")
    assert Preferences(place).appearance == ("system", 1.0)


def test_the_decimal_sign_is_chosen_there_and_kept_for_the_next_start(
    window: MainWindow, tmp_path: Path, preferences: Preferences
) -> None:
    panel = asked(window)
    assert panel.signs[""].isChecked(), "the system's until somebody chooses"
    assert panel.later.isVisible()
    look = preferences.appearance
    panel.signs[","].click()
    assert panel.later.isVisible(), "it says when before and after"
    assert preferences.appearance == look
    preferences.save()
    again = Preferences(tmp_path / "preferences.ini")
    again.remember_decimal(",")
    again.save()
    again = Preferences(tmp_path / "preferences.ini")
    assert again.decimal == preferences.decimal == ","
    assert numbers_of("", again.decimal).plain(1.75) == "1,75"
    assert numbers_of("en_GB", again.decimal).plain(1.75) == "1.75", "an option wins for its run"
    panel.signs[""].click()
    assert preferences.decimal == ""


def test_a_sign_chosen_in_a_run_started_with_a_locale_is_taken_up(
    preferences: Preferences,
    messages: RecordingMessages,
    library: Library,
    shown: Callable[..., QWidget],
) -> None:
    """The panel said that the sign would show, and the locale went on deciding."""
    preferences.remember_decimal(".")
    numbers = numbers_of("de_DE", preferences.decimal)
    window = MainWindow(numbers=numbers, preferences=preferences, messages=messages)
    shown(window)
    window.open_library(library.address)
    screen = on_show(window)
    assert isinstance(screen, LibraryScreen)
    assert screen.numbers.decimal == ",", "the locale comes before what was chosen earlier"
    for sign in (".", ",", "."):
        asked(window).signs[sign].click()
        screen = on_show(window)
        assert isinstance(screen, LibraryScreen)
        assert screen.numbers.decimal == sign


def on_show(window: MainWindow) -> QWidget:
    page = window.pages.currentWidget()
    assert page is not None
    return page


def test_another_decimal_sign_shows_once_the_page_is_left_and_typed_text_means_the_same(
    window: MainWindow, library: Library, messages: RecordingMessages
) -> None:
    """It showed at the next start alone, in the midst of which half the sheets had the other."""
    bench = FittingBench(library)
    bench.rough()
    window.open_fitting(bench.fitting.id)
    assert isinstance(on_show(window), Wizard)
    wizard = wizard_of(window)
    wizard.go("rough_downforce")
    assert "2,00\u00a0gf" in words_of(wizard)
    wizard.go("arm_height")
    form = step_page(wizard).reading.form
    assert form is not None
    (line,) = form.fields.entries["front_mm"].findChildren(QLineEdit)
    retype(line, "27,25")
    panel = asked(window)
    assert "once you leave this fitting" in panel.later.text()
    panel.signs["."].click()
    assert line.text() == "27,25"
    assert "27,25" in words_of(wizard), "the page that is open stays as it is"
    messages.answers = [1]  # leave, and keep it for later
    window.menus.acts["library"].trigger()
    window.open_fitting(bench.fitting.id)
    wizard = wizard_of(window)
    wizard.go("rough_downforce")
    assert "2.00\u00a0gf" in words_of(wizard)
    assert "2,00" not in words_of(wizard)
    wizard.go("arm_height")
    form = step_page(wizard).reading.form
    assert form is not None
    entry = form.fields.entries["front_mm"]
    assert entry.raw() == "27,25", "as it was typed"
    assert entry.answer().value == 27.25
    messages.answers = [1]


def test_it_says_what_is_to_be_left_before_another_decimal_sign_shows(
    window: MainWindow, library: Library
) -> None:
    """In a fitting it said "once you leave this page", and the next page had the old one too."""
    bench = FittingBench(library)
    panel = asked(window)
    assert "once you leave" not in panel.later.text(), "the library shows it at once"
    window.open_fitting(bench.fitting.id)
    assert "once you leave this fitting" in panel.later.text()
    window.show_help()
    assert "once you leave this fitting" in panel.later.text(), "Help lies over it"
    window.show_jobs()
    assert "once you leave this page" in panel.later.text()
    window.show_library()
    window.show_rehearsal()
    assert "once you leave the rehearsal" in panel.later.text()


def test_the_library_is_written_anew_at_once_with_its_shelf_and_search(
    window: MainWindow, library: Library
) -> None:
    FittingBench(library)
    window.show_library()
    before = on_show(window)
    assert isinstance(before, LibraryScreen)
    before.tabs.setCurrentWidget(before.decks)
    before.decks.look_for("example")
    panel = asked(window)
    panel.signs["."].setFocus()
    panel.signs["."].click()
    after = on_show(window)
    assert isinstance(after, LibraryScreen)
    assert after.numbers.decimal == "."
    assert after.tabs.currentWidget() is after.decks
    assert after.decks.filter.text() == "example"
    assert panel.signs["."].hasFocus(), "the arrows go on choosing"
    panel.signs[","].click()
    assert isinstance(on_show(window), LibraryScreen)
    assert window.pages.count() == 1


@pytest.mark.parametrize(("wide", "tall"), [(900, 600), (640, 480), (1280, 800)])
def test_a_choice_stays_under_the_pointer_that_pressed_it(
    window: MainWindow, wide: int, tall: int
) -> None:
    window.resize(wide, tall)
    settle()
    panel = asked(window)
    settle()

    def at(choice: QWidget) -> QPoint:
        """Return where the pointer presses it: on its mark."""
        return choice.mapTo(window, QPoint(choice.height() // 2, choice.height() // 2))

    for row in (panel.scales, panel.schemes):
        for choice in (*row.values(), *reversed(row.values())):
            pressed = at(choice)
            QTest.mouseClick(window, Qt.MouseButton.LeftButton, pos=pressed)
            settle()
            under = window.childAt(pressed)
            assert under is choice, choice.text()
            assert abs(at(choice).y() - pressed.y()) <= 1
            for one in row.values():
                assert one.width() >= one.sizeHint().width(), "and is never cut"


@pytest.mark.parametrize("scale", theme.SCALES)
def test_no_word_of_the_panel_is_cut_in_a_small_window(
    window: MainWindow, qapp: QApplication, scale: float
) -> None:
    theme.apply(qapp, "light", text_scale=scale)
    window.resize(900, 600)
    settle()
    panel = asked(window)
    settle()
    for label in panel.findChildren(QLabel):
        room = QRect(0, 0, label.width(), 10_000)
        wraps = Qt.TextFlag.TextWordWrap if label.wordWrap() else Qt.TextFlag.TextSingleLine
        needed = label.fontMetrics().boundingRect(room, int(wraps), label.text())
        assert needed.width() <= label.width(), label.text()
        assert needed.height() <= label.height(), label.text()
        assert label.visibleRegion().boundingRect() == label.rect(), label.text()
