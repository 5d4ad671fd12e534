"""A change of colours and type dresses what is on show, once, whatever ends meanwhile."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QEvent, QObject, QRect, QSize
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import delete, isValid

from core.language import WorkLine
from desktop.forms.recipe import TYPE, RecipeLine
from desktop.widgets import theme
from desktop.widgets.flow_row import FlowRow
from desktop.widgets.plain_text import plain_label
from desktop.widgets.steady_label import SteadyLabel
from desktop.widgets.wrapping_buttons import WrappedRadio

Show = Callable[..., QWidget]


class Counted(QLabel):
    """Counts how often it was told of another look, and does something on it if asked.

    Where only colours change it is told of them, and of no other style: that would lay it out.
    """

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(words, parent)
        self.changes = 0
        self.told_by = QEvent.Type.StyleChange
        self.on_change: Callable[[], None] = lambda: None

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == self.told_by:
            self.changes += 1
            self.on_change()


class Asked(QObject):
    """Counts which widgets were asked to lay out their parts."""

    def __init__(self, app: QApplication) -> None:
        super().__init__()
        self.times: dict[QObject, int] = {}
        app.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.LayoutRequest:
            self.times[watched] = self.times.get(watched, 0) + 1
        return False


class Painted(QObject):
    """Notes where everything stood each time a page was painted."""

    def __init__(self, app: QApplication, page: QWidget) -> None:
        super().__init__()
        self.page = page
        self.places: list[list[QRect]] = []
        app.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.page and event.type() == QEvent.Type.Paint:
            self.places.append(places(self.page))
        return False


def one_of_each() -> QWidget:
    """Return a page that scrolls, with a part of each usual kind, none bold by the style sheet.

    Qt takes that type off and puts it on again.
    """
    held = QWidget()
    column = QVBoxLayout(held)
    words, muted, title = (plain_label(f"some words to wrap {n} " * 9) for n in range(3))
    for label in (words, muted):
        label.setWordWrap(True)
    muted.setProperty("kind", "muted")
    title.setFont(theme.scaled(title.font(), 1.4, bold=True))
    box = QComboBox()
    box.addItems(["one", "another"])
    primary = QPushButton("primary")
    primary.setProperty("primary", True)
    row = FlowRow([QPushButton("left"), primary])
    parts = (words, muted, title, box, row, QLineEdit("typed"), WrappedRadio("a choice " * 30))
    for part in (*parts, QCheckBox("box"), SteadyLabel("steady words " * 20)):
        column.addWidget(part)
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setWidget(held)
    page = QWidget()
    QVBoxLayout(page).addWidget(area)
    return page


def places(page: QWidget) -> list[QRect]:
    return [one.geometry() for one in page.findChildren(QWidget)]


def nest(depth: int) -> tuple[QWidget, Counted]:
    """Return a label so many widgets deep, and what holds it."""
    page = inner = QWidget()
    for _ in range(depth):
        column = QVBoxLayout(inner)
        inner = QWidget()
        column.addWidget(inner)
    label = Counted("deep down")
    QVBoxLayout(inner).addWidget(label)
    return page, label


pytestmark = pytest.mark.usefixtures("usual_look")


@pytest.fixture
def pages(shown: Show) -> tuple[QStackedWidget, Counted, Counted]:
    """Two pages that were both shown; the first is on show."""
    stack = QStackedWidget()
    labels = []
    for _ in range(2):
        page, label = nest(6)
        stack.addWidget(page)
        labels.append(label)
    shown(stack)
    for place in (1, 0):
        stack.setCurrentIndex(place)
        QApplication.processEvents()
    for label in labels:
        label.changes = 0
    return stack, labels[0], labels[1]


@pytest.mark.parametrize(("scheme", "scale"), [("dark", 1.0), ("light", 1.5), ("dark", 1.75)])
def test_what_is_on_show_is_dressed_once_and_the_rest_when_it_is_shown(
    qapp: QApplication,
    pages: tuple[QStackedWidget, Counted, Counted],
    scheme: theme.Scheme,
    scale: float,
) -> None:
    stack, on_show, hidden = pages
    if scale == 1.0:
        on_show.told_by = QEvent.Type.PaletteChange
    theme.apply(qapp, scheme, text_scale=scale)
    qapp.processEvents()
    assert (on_show.changes, hidden.changes) == (1, 0)
    stack.setCurrentIndex(1)
    qapp.processEvents()
    assert (on_show.changes, hidden.changes) == (1, 1)
    stack.setCurrentIndex(0)
    stack.setCurrentIndex(1)
    qapp.processEvents()
    assert (on_show.changes, hidden.changes) == (1, 1)


def test_other_colours_lay_nothing_out(qapp: QApplication, shown: Show) -> None:
    page = shown(one_of_each())
    QTest.qWait(20)
    before, asked = places(page), Asked(qapp)
    theme.apply(qapp, "dark")
    QTest.qWait(20)
    assert asked.times == {}
    assert places(page) == before


def test_other_type_is_laid_out_once_and_not_once_for_each_level(
    qapp: QApplication, shown: Show
) -> None:
    page, label = nest(12)
    shown(page)
    QTest.qWait(20)
    asked = Asked(qapp)
    theme.apply(qapp, "light", text_scale=1.5)
    QTest.qWait(20)
    assert label.height() >= label.sizeHint().height()
    assert max(asked.times.values()) <= 2, sorted(asked.times.values())


def test_other_type_is_laid_out_at_once_and_painted_when_all_is_in_its_place(
    qapp: QApplication, shown: Show
) -> None:
    page = shown(one_of_each())
    QTest.qWait(20)
    before, painted = places(page), Painted(qapp, page)
    theme.apply(qapp, "light", text_scale=1.5)
    laid_out = places(page)
    assert laid_out != before
    QTest.qWait(50)
    assert places(page) == laid_out
    assert painted.places == [laid_out]


def test_a_fixed_size_is_the_same_after_other_sizes_of_type_and_a_part_of_qts_stays(
    qapp: QApplication, shown: Show
) -> None:
    page = one_of_each()
    fixed = [QWidget(page) for _ in range(40)]
    for side, one in enumerate(fixed, 11):
        one.setFixedSize(side, 3 * side)
    holder = QWidget(page, objectName="qt_a_part_of_its_own")
    holder.setMaximumSize(14, 524287)
    shown(page)
    QTest.qWait(20)
    before = [one.size() for one in fixed]
    for scale in (1.75, 1.5, 1.25, 1.75, 1.0):
        theme.apply(qapp, "light", text_scale=scale)
        QTest.qWait(20)
        assert holder.maximumSize() == QSize(14, 524287)
    assert [one.size() for one in fixed] == before


def test_two_sizes_of_type_in_a_row_leave_the_window_painted(
    qapp: QApplication, shown: Show
) -> None:
    page = shown(one_of_each())
    QTest.qWait(20)
    before, painted = places(page), Painted(qapp, page)
    for scale in (1.5, 1.25, 1.0):
        theme.apply(qapp, "light", text_scale=scale)
    QTest.qWait(50)
    assert page.window().updatesEnabled()
    assert painted.places == [before]


def test_a_widget_that_ends_others_on_the_change_does_no_harm(
    qapp: QApplication, pages: tuple[QStackedWidget, Counted, Counted]
) -> None:
    stack, on_show, _hidden = pages
    page = stack.currentWidget()
    column = page.layout()
    assert column is not None
    doomed = [Counted(f"doomed {n}") for n in range(200)]
    for one in doomed:
        column.addWidget(one)
    qapp.processEvents()

    def end_them() -> None:
        for one in doomed:
            if isValid(one):
                delete(one)

    on_show.on_change = end_them
    theme.apply(qapp, "dark", text_scale=1.5)
    qapp.processEvents()
    assert on_show.changes == 1
    assert not any(isValid(one) for one in doomed)
    assert theme.appearance_of(on_show).is_dark


def test_what_was_hidden_wears_the_new_colours_and_its_own_type_in_the_new_size(
    qapp: QApplication, shown: Show
) -> None:
    stack = QStackedWidget()
    page = QWidget()
    column = QVBoxLayout(page)
    muted, title, box = plain_label("muted"), plain_label("title"), QCheckBox("box")
    muted.setProperty("kind", "muted")
    title.setFont(theme.scaled(title.font(), 1.4, bold=True))
    for one in (muted, title, box):
        column.addWidget(one)
    stack.addWidget(page)
    stack.addWidget(QWidget())
    shown(stack)
    stack.setCurrentIndex(1)
    points, own_points = muted.font().pointSizeF(), title.font().pointSizeF()
    theme.apply(qapp, "dark", text_scale=1.5)
    stack.setCurrentIndex(0)
    qapp.processEvents()
    assert muted.palette().color(muted.foregroundRole()).name() == theme.DARK.muted
    assert muted.font().pointSizeF() == pytest.approx(1.5 * points)
    assert title.font().pointSizeF() == pytest.approx(1.5 * own_points)
    assert title.font().bold()
    ground = box.grab().toImage().pixelColor(box.width() - 1, 0)
    assert ground.name() == theme.DARK.window


def test_type_of_its_own_keeps_its_size_when_it_moves_elsewhere(
    qapp: QApplication, shown: Show
) -> None:
    host, first, second = QWidget(), QWidget(), QWidget()
    beside = QHBoxLayout(host)
    for one in (first, second):
        QVBoxLayout(one)
        beside.addWidget(one)
    title = plain_label("title")
    title.setFont(theme.scaled(title.font(), 1.4, bold=True))
    homes = [first.layout(), second.layout()]
    assert homes[0] is not None
    homes[0].addWidget(title)
    shown(host)
    points = title.font().pointSizeF()
    for place, scale in ((1, 1.5), (0, 1.25), (1, 1.0)):
        theme.apply(qapp, "light", text_scale=scale)
        home = homes[place]
        assert home is not None
        home.addWidget(title)
        qapp.processEvents()
        assert title.font().pointSizeF() == pytest.approx(scale * points)
        assert title.font().bold()


def test_the_words_of_a_line_stay_clear_of_its_number(qapp: QApplication, shown: Show) -> None:
    host = QWidget()
    line = RecipeLine(4, WorkLine(text="Lower the stylus gently."), host)
    column = QVBoxLayout(host)
    column.addWidget(line)
    shown(host)
    theme.apply(qapp, "light", text_scale=1.75)
    qapp.processEvents()
    number_px = 1.6 * TYPE * theme.em(line)  # where the number ends
    assert line.words.geometry().left() > number_px
