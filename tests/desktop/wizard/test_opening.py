"""A step's page is seen, and can be typed into, before all of it is made; soon it is whole."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from desktop.widgets.verdict_badge import Headline
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import FittingBench, Opener, RecordingMessages, press, step_page


class FirstPainting(QObject):
    """Notes what of a page was made when it was first painted."""

    def __init__(self, page: StepPage) -> None:
        super().__init__()
        self.page = page
        self.charts: list[int] = []
        self.verdicts: list[str] = []
        page.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002 - Qt's
        """Count at the first painting."""
        if event.type() == QEvent.Type.Paint and not self.charts:
            made = [one for one in self.page.findChildren(QWidget) if _is_chart(one)]
            self.charts.append(len(made))
            self.verdicts.append(self.page.readout.headline())
        return False


def _is_chart(widget: QWidget) -> bool:
    return type(widget).__name__ == "Chart"


@pytest.fixture
def fresh(bench: FittingBench, messages: RecordingMessages) -> Wizard:
    """Return a wizard that nobody has seen yet; whoever shows it has it deleted."""
    return Wizard(bench.controller, messages)


def test_verdict_and_reading_are_painted_before_the_picture_is_made_and_all_is_there_soon(
    fresh: Wizard, shown: Callable[..., QWidget], qtbot: QtBot
) -> None:
    page = step_page(fresh)
    first = FirstPainting(page)
    shown(fresh)
    qtbot.waitUntil(lambda: page.deferred.is_done)
    assert first.charts == [0]
    assert first.verdicts == [page.readout.headline()]
    assert page.readout.headline()
    QApplication.processEvents()
    QApplication.processEvents()
    assert page.side_pane.chart_button.isVisible(), "a chart of no reading is folded away"
    page.side_pane.chart_button.click()
    assert page.side_pane.chart.isVisible()
    assert page.side_pane.chart.picture is not None
    assert page.side_pane.trail.isVisible()
    said = [label.text() for label in page.guide.findChildren(QLabel) if label.isVisible()]
    assert "Have ready" in said


@pytest.mark.parametrize("width", [760, 1024, 1280, 1900])
def test_the_headline_is_whole_from_the_first_painting_on(
    bench: FittingBench, messages: RecordingMessages, shown: Callable[..., QWidget], width: int
) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=4.0)  # a long one: the stylus in danger
    wizard = Wizard(bench.another(), messages)
    wizard.go("rough_downforce")
    headline = step_page(wizard).readout.findChild(Headline)
    assert isinstance(headline, Headline)
    cut: list[tuple[int, int]] = []

    class Painted(QObject):
        def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002 - Qt's
            if event.type() == QEvent.Type.Paint:
                cut.append((headline.height(), headline.heightForWidth(headline.width())))
            return False

    painted = Painted()
    headline.installEventFilter(painted)
    shown(wizard, width)
    for _ in range(10):
        QApplication.processEvents()
    assert headline.text()
    assert cut
    assert all(height >= needed for height, needed in cut), cut


def test_what_is_typed_before_the_page_is_whole_stays_and_is_shown(
    fresh: Wizard, shown: Callable[..., QWidget], qtbot: QtBot
) -> None:
    page = step_page(fresh)
    shown(fresh)
    page.reading.start_typing()
    form = page.reading.form
    assert form is not None
    line, way = form.fields.entries["divisions"].tab_stops()
    assert isinstance(way, QAbstractButton)
    QTest.keyClicks(line, "2,5")
    way.click()
    qtbot.waitUntil(
        lambda: page.deferred.is_done and page.readout.accessibleName().startswith("While typing:")
    )
    assert line.property("text") == "2,5"
    assert QApplication.focusWidget() is line
    picture = page.side_pane.chart.picture
    assert picture is not None
    draft = page.reading.draft()
    assert draft is not None
    assert picture.summary == fresh.controller.while_typing("level", draft).picture.summary


def test_the_keyboard_goes_through_a_page_as_it_stands_from_above(
    open_wizard: Opener, qtbot: QtBot
) -> None:
    wizard = open_wizard()
    page = step_page(wizard)
    qtbot.waitUntil(lambda: page.deferred.is_done)
    form = page.reading.form
    assert form is not None
    page.title.setFocus()
    passed = []
    for _ in range(7):
        press(Qt.Key.Key_Tab)
        passed.append(QApplication.focusWidget())
    assert passed[0] is page.reading.ways_button
    assert passed[1:5] == form.tab_stops()
    assert passed[5] is page.reading.keep_button
    press(Qt.Key.Key_Backtab)
    assert QApplication.focusWidget() is page.reading.keep_button
