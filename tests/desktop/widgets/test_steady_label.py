"""Words that change at every stroke move nothing around them, and are never cut."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil

import pytest
from PySide6.QtCore import QEvent, QObject, QRectF, Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QApplication, QLabel, QVBoxLayout, QWidget

from desktop.widgets.steady_label import SteadyLabel, activate_layouts

Shown = Callable[..., QWidget]

LONG = "Turn the front left foot half a turn longer, then read both ways once more. " * 3


class Requests(QObject):
    """Counts how often anything is laid out anew."""

    def __init__(self) -> None:
        super().__init__()
        self.count = 0

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002 - Qt's
        """Count."""
        self.count += event.type() == QEvent.Type.LayoutRequest
        return False


@pytest.fixture
def label(shown: Shown) -> SteadyLabel:
    page = QWidget()
    column = QVBoxLayout(page)
    made = SteadyLabel(LONG)
    column.addWidget(made)
    column.addWidget(QLabel("below"))
    column.addStretch(1)
    shown(page, 400, 500)
    return made


def requests_during(label: SteadyLabel, text: str, *, keep_size: bool) -> int:
    QApplication.processEvents()
    watch = Requests()
    app = QApplication.instance()
    assert app is not None
    app.installEventFilter(watch)
    try:
        label.say(text, keep_size=keep_size)
        QApplication.processEvents()
    finally:
        app.removeEventFilter(watch)
    return watch.count


def needed(label: SteadyLabel) -> float:
    room = QRectF(0, 0, label.width(), 1e6)
    flags = int(Qt.TextFlag.TextWordWrap)
    return QFontMetricsF(label.font()).boundingRect(room, flags, label.text()).height()


def test_shorter_words_keep_their_room_on_request(label: SteadyLabel) -> None:
    high = label.height()
    assert requests_during(label, "Short.", keep_size=True) == 0
    assert label.height() == high
    assert label.text() == "Short."


def test_room_kept_is_given_back_once_nobody_asks_for_it(label: SteadyLabel) -> None:
    high = label.height()
    label.say("Short.", keep_size=True)
    assert requests_during(label, "Short.", keep_size=False) > 0
    assert label.height() < high


@pytest.mark.parametrize("keep_size", [True, False])
def test_longer_words_are_never_cut(label: SteadyLabel, keep_size: bool) -> None:
    label.say(LONG * 2, keep_size=keep_size)
    activate_layouts(label)
    assert label.height() >= needed(label)


def test_words_on_one_line_ask_for_their_width(shown: Shown) -> None:
    page = QWidget()
    column = QVBoxLayout(page)
    label = SteadyLabel("1", wraps=False)
    column.addWidget(label, 0, Qt.AlignmentFlag.AlignLeft)
    shown(page, 400, 100)
    label.say("= 12.34 mm")
    activate_layouts(label)
    assert label.width() >= QFontMetricsF(label.font()).horizontalAdvance("= 12.34 mm")


def test_it_is_read_out_and_styled_like_any_label(label: SteadyLabel) -> None:
    assert isinstance(label, QLabel)
    label.setText("Level.")
    assert label.accessibleName() == "Level."


def test_larger_type_is_measured_anew(label: SteadyLabel) -> None:
    before = label.height()
    font = label.font()
    font.setPointSizeF(2 * font.pointSizeF())
    label.setFont(font)
    QApplication.processEvents()
    QApplication.processEvents()
    assert label.height() > before
    assert label.height() >= needed(label)


def test_words_that_are_long_again_before_the_page_is_laid_out_are_not_cut(
    label: SteadyLabel,
) -> None:
    """The layout may have asked for the height of the words between."""
    column = label.parentWidget().layout()
    assert column is not None
    label.say("Short.")
    column.totalHeightForWidth(label.parentWidget().width())
    label.say(LONG)
    activate_layouts(label)
    QApplication.processEvents()
    assert label.height() >= needed(label)


def test_words_that_changed_without_a_layout_are_not_cut_at_another_width(
    label: SteadyLabel,
) -> None:
    """The layout remembers the heights of the earlier words."""
    page = label.window()
    label.say("Short.")
    QApplication.processEvents()
    for width in (150, 400):  # at either it is one line high
        page.resize(width, 500)
        QApplication.processEvents()
    requests = requests_during(label, "A line that is full at 400.", keep_size=False)
    page.resize(150, 500)
    QApplication.processEvents()
    QApplication.processEvents()
    assert needed(label) > label.fontMetrics().height() * 1.5
    assert label.height() >= needed(label)
    assert requests == 0


def test_too_little_height_leaves_out_lines_and_cuts_none_in_half(shown: Shown) -> None:
    page = QWidget()
    label = SteadyLabel(LONG, parent=page)
    line = ceil(QFontMetricsF(label.font()).lineSpacing())
    label.setGeometry(0, 0, 200, line + line // 2)
    shown(page, 300, 100)
    image = label.grab().toImage()
    empty = image.pixel(image.width() - 1, image.height() - 1)
    rows = [
        y
        for y in range(image.height())
        if any(image.pixel(x, y) != empty for x in range(image.width()))
    ]
    assert rows
    assert max(rows) < line
