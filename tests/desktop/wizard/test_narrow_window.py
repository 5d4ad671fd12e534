"""In the smallest window with the largest type no button, title or step is cut."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QPushButton, QWidget

from core.language import Numbers
from core.steps import STEP_NAMES
from core.store import Library
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from tests.desktop.kit import FittingBench, RecordingMessages, page_of, press, settle, step_page

SMALLEST, LARGEST_TYPE = (640, 480), 1.75

pytestmark = pytest.mark.usefixtures("usual_look")


@pytest.fixture
def narrow(
    qapp: QApplication,
    library: Library,
    bench: FittingBench,
    preferences: Preferences,
    messages: RecordingMessages,
    shown: Callable[..., QWidget],
) -> Wizard:
    theme.apply(qapp, "light", text_scale=LARGEST_TYPE)
    window = MainWindow(numbers=Numbers(","), preferences=preferences, messages=messages)
    shown(window, *SMALLEST)
    window.open_library(library.address.path)
    window.open_fitting(bench.fitting.id)
    return page_of(window, Wizard)


@pytest.mark.parametrize("step", STEP_NAMES)
def test_no_button_and_no_title_is_cut(narrow: Wizard, step: str) -> None:
    narrow.go(step)
    for _ in range(4):
        settle()
    assert narrow.window().width() == SMALLEST[0]
    assert narrow.minimumSizeHint().width() <= SMALLEST[0]
    buttons = [one for one in narrow._bar.findChildren(QPushButton) if one.isVisible()]
    assert len(buttons) == 6
    for one in buttons:
        assert one.width() >= one.minimumSizeHint().width(), one.text()
        assert one.visibleRegion().boundingRect() == one.rect(), one.text()
    title = step_page(narrow).title
    assert title.width() >= title.minimumSizeHint().width()


def test_the_narrow_rail_shows_numbers_and_is_told_and_worked_as_the_wide_one(
    narrow: Wizard,
) -> None:
    settle()
    rail = narrow.rail
    assert rail.width() < 0.2 * narrow.width()
    step = rail.buttons["tilt"]
    assert step.accessibleName().endswith("Tilt, Closed") or "Tilt" in step.accessibleName()
    assert "Tilt" in step.toolTip()
    step.setFocus()
    press(Qt.Key.Key_Space)
    assert narrow.place == "tilt"


def test_in_a_wide_window_the_rail_is_wide_and_the_buttons_are_in_one_row(
    narrow: Wizard, qapp: QApplication
) -> None:
    settle()
    narrow_rail = narrow.rail.width()
    theme.apply(qapp, "light", text_scale=1.0)
    narrow.window().resize(900, 600)
    for _ in range(4):
        settle()
    assert narrow.rail.width() > 1.3 * narrow_rail
    tops = {one.y() for one in narrow._bar.findChildren(QPushButton) if one.isVisible()}
    assert len(tops) == 1
