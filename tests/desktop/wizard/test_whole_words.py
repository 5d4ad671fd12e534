"""In a small window with large type no title, label or button of a page is cut."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QScrollArea, QWidget

from core.fitting import Finished, StepAccepted
from core.language import Numbers
from core.steps import STEP_NAMES
from core.store import Library
from desktop.shell.main_window import MainWindow
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets import theme
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from desktop.wizard.rail import SUMMARY
from tests.desktop.kit import RecordingMessages
from tests.desktop.wizard.test_small_window import LARGE_TYPE, SMALL, fitting_at

Show = Callable[..., QWidget]
MOST_LINES_BESIDE = 3


@pytest.fixture(autouse=True)
def usual_look(qapp: QApplication) -> Iterator[None]:
    yield
    theme.apply(qapp, "light", text_scale=1.0)


def finish(library: Library, fitting: str) -> None:
    controller = FittingController(library, fitting, numbers=Numbers())
    for step in STEP_NAMES:
        status = controller.journey.status(step)
        if not status.is_settled:
            left = StepAccepted(step=step, verdict=status.assessment.verdict, reason="left so")
            assert controller.record(left) is None
    assert controller.record(Finished()) is None
    controller.deleteLater()


@pytest.mark.parametrize("is_finished", [False, True])
def test_every_label_and_button_of_every_page_is_whole(
    library: Library,
    preferences: Preferences,
    messages: RecordingMessages,
    shown: Show,
    qapp: QApplication,
    *,
    is_finished: bool,
) -> None:
    theme.apply(qapp, "light", text_scale=LARGE_TYPE)
    fitting = fitting_at(library, "speed")
    if is_finished:
        finish(library, fitting)
    window = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    window.open_library(library.address.path)
    shown(window, *SMALL)
    window.open_fitting(fitting)
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    for place in (*STEP_NAMES, SUMMARY):
        wizard.go(place)
        QTest.qWait(20)
        page = wizard.page
        page.deferred.finish()
        for _ in range(6):  # wrapped words and columns settle one after the other
            qapp.processEvents()
        assert page.width() <= wizard.width(), place
        texts: list[QLabel | QPushButton] = [*wizard.findChildren(QLabel)]
        texts += wizard.findChildren(QPushButton)
        for one in texts:
            if not one.isVisible() or not one.text():
                continue
            where = f"{place}: {one.text()}"
            assert one.width() >= one.minimumSizeHint().width(), where
            across = one.mapTo(window, one.rect().topLeft()).x()
            assert across >= 0, where
            assert across + one.width() <= window.width(), where
            home = one.parentWidget()
            assert one.x() >= 0, where
            assert one.x() + one.width() <= home.width(), where
        for area in wizard.findChildren(QScrollArea):
            assert area.horizontalScrollBar().maximum() == 0 or not area.isVisible(), place
        beside = page.title.toolTip()
        for label in page.findChildren(QLabel):
            if label.isVisible() and label.text() == beside:
                assert label.height() <= MOST_LINES_BESIDE * label.fontMetrics().height(), place
