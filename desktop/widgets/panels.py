"""Small widgets and layout helpers that pages are made of."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import TypeVar

from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QColor,
    QFontMetricsF,
    QKeySequence,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QBoxLayout,
    QComboBox,
    QFrame,
    QGridLayout,
    QLabel,
    QLayout,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QTableView,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import delete, invalidate

from desktop.widgets import theme
from desktop.widgets.plain_text import plain_label, plain_tip

BoxLayout = TypeVar("BoxLayout", bound=QBoxLayout)


def text_label(text: str = "", kind: str = "") -> QLabel:
    """Return a label that wraps; ``kind`` is ``muted``, ``problem`` or ``question``."""
    label = plain_label(text, wraps=True)
    if kind:
        label.setProperty("kind", kind)
    return label


class NumberLabel(QWidget):
    """A right-aligned number on one line that is cheap to change at every keystroke.

    A QLabel triggers a layout of its page whenever its text changes; this label does so only when
    it needs more room than before.
    """

    def __init__(self, text: str, *, strong: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = ""
        self._widest = 0
        self._folds = False
        self._lines = 1
        self._strong = strong
        if strong:
            self.setFont(theme.scaled(self.font(), 1.0, bold=True))
        self.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)
        self.say(text)

    def text(self) -> str:
        """Return the text on show."""
        return self._text

    def say(self, text: str) -> None:
        """Show another number."""
        if text == self._text:
            return
        self._text = text
        self.setAccessibleName(text)
        wide = self.width_of(text)
        if wide > self._widest:
            self._widest = wide
            self.updateGeometry()
        if self._folds:
            self._count_lines()
        self.update()

    def width_of(self, text: str) -> int:
        """Return the width of a number on one line."""
        return ceil(QFontMetricsF(self.font()).horizontalAdvance(text)) + 2

    def changeEvent(self, event: QEvent) -> None:
        """Measure again after a change of font; what was wider before is forgotten."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.measure()

    def measure(self) -> None:
        """Take the room of the present number, whatever stood here before."""
        self._widest = self.width_of(self._text)
        if self._folds:
            self._count_lines()
        self.updateGeometry()

    def fold(self, *, folds: bool) -> None:
        """Let the words after a number go below it if there is no room beside."""
        if folds is not self._folds:
            self._folds = folds
            self._count_lines()
            self.updateGeometry()

    def least_width(self) -> int:
        """Return the width of its longest part without a space at which a line may break."""
        metrics = QFontMetricsF(self.font())
        return max(ceil(metrics.horizontalAdvance(part)) + 2 for part in self._text.split(" "))

    def sizeHint(self) -> QSize:
        """Return room for the widest number so far."""
        return QSize(self._widest, self._lines * ceil(theme.em(self)))

    def minimumSizeHint(self) -> QSize:
        """Return the same: a number is never cut."""
        hint = self.sizeHint()
        return QSize(self.least_width(), hint.height()) if self._folds else hint

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take as many lines as the words need at this width."""
        super().resizeEvent(event)
        if self._folds:
            self._count_lines()

    def _count_lines(self) -> None:
        lines = 1
        if self._folds and self._text:
            room = QRectF(0.0, 0.0, max(1, self.width()), 1e6)
            flags = int(Qt.TextFlag.TextWordWrap)
            metrics = QFontMetricsF(self.font())
            high = metrics.boundingRect(room, flags, self._text).height()
            lines = max(1, round(high / metrics.lineSpacing()))
        if lines != self._lines:
            self._lines = lines
            self.updateGeometry()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the number."""
        look = theme.appearance_of(self)
        painter = QPainter(self)
        painter.setPen(QColor(look.text if self._strong else look.muted))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        wraps = Qt.TextFlag.TextWordWrap if self._folds else Qt.TextFlag.TextSingleLine
        painter.drawText(self.rect(), int(right) | int(wraps), self._text)
        painter.end()


def heading(text: str, factor: float = 1.1) -> QLabel:
    """Return a heading."""
    label = text_label(text)
    label.setFont(theme.scaled(label.font(), factor, bold=True))
    return label


def button(
    text: str, *, keys: str = "", tip: str = "", primary: bool = False, quiet: bool = False
) -> QPushButton:
    """Return a button; its tooltip names its keys.

    The tooltip only names the keys: the page binds them, so that they work wherever the focus is.
    """
    made = QPushButton(text)
    made.setAutoDefault(True)  # Enter presses it while it has the focus
    if primary:
        made.setProperty("primary", "true")
    if quiet:
        made.setProperty("quiet", "true")
    named = QKeySequence(keys).toString(QKeySequence.SequenceFormat.NativeText) if keys else ""
    told = " ".join(part for part in (tip, f"({named})" if named else "") if part)
    if told:
        made.setToolTip(plain_tip(told))
        made.setAccessibleDescription(told)
    return made


def panel(title: str = "") -> tuple[QFrame, QVBoxLayout]:
    """Return a framed panel and its column layout."""
    frame = QFrame()
    column = panel_in(frame)
    if title:
        column.addWidget(heading(title))
    return frame, column


def framed(widget: QWidget, title: str = "") -> QVBoxLayout:
    """Fill a widget with a framed panel and return its column layout."""
    frame, column = panel(title)
    column_in(widget).addWidget(frame)
    return column


def column_in(widget: QWidget) -> QVBoxLayout:
    """Return a column layout without margins in a widget."""
    column = QVBoxLayout(widget)
    column.setContentsMargins(0, 0, 0, 0)
    return column


def add_all(
    layout: BoxLayout, *parts: QWidget | QLayout | int | tuple[QWidget | QLayout, int]
) -> BoxLayout:
    """Add widgets and layouts, each with its stretch if it is a pair; a number is a stretch."""
    for part in parts:
        if isinstance(part, int):
            layout.addStretch(part)
            continue
        added, stretch = part if isinstance(part, tuple) else (part, 0)
        if isinstance(added, QLayout):
            add_layout(layout, added, stretch)
        else:
            layout.addWidget(added, stretch)
    return layout


def add_layout(outer: QBoxLayout | QGridLayout, inner: QLayout, *place: int) -> None:
    """Add a layout to another one, at a stretch or at a row and a column.

    Qt's binding makes an object for each item of a layout that is filled by then, and the outer
    layout keeps it. An item ends with its widget and such an object does not: what is made later at
    the same address is taken for it, and the program ends in a segmentation fault. So they are told
    at once to stand for nothing.
    """
    if isinstance(outer, QGridLayout):
        row, column = place
        outer.addLayout(inner, row, column)
    else:
        outer.addLayout(inner, *place)
    _forget_items(inner)


def _forget_items(layout: QLayout) -> None:
    for place in range(layout.count()):
        item = layout.itemAt(place)
        if isinstance(item, QLayout):
            _forget_items(item)
        elif item is not None:
            invalidate(item)


def scrolled(widget: QWidget) -> QScrollArea:
    """Return a scroll area around a widget that takes no focus."""
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setWidget(widget)
    return area


def panel_in(frame: QFrame) -> QVBoxLayout:
    """Make a frame a panel and return its column layout."""
    frame.setProperty("panel", "true")
    column = QVBoxLayout(frame)
    line = theme.em(frame)
    column.setContentsMargins(
        round(line * 0.7), round(line * 0.6), round(line * 0.7), round(line * 0.6)
    )
    column.setSpacing(round(line * 0.35))
    return column


def table(titles: Sequence[str], rows: Sequence[Sequence[str]]) -> QWidget:
    """Return a table, names on the left and values right-aligned, read out row by row."""
    made = QWidget()
    grid = QGridLayout(made)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setHorizontalSpacing(round(theme.em(made) * 0.9))
    grid.setColumnStretch(0, 1)
    for place, title in enumerate(titles):
        if title:
            head = heading(title, 0.9)
            head.setWordWrap(False)
            grid.addWidget(head, 0, place, Qt.AlignmentFlag.AlignRight)
    for down, row in enumerate(rows, start=1):
        for place, text in enumerate(row):
            label = text_label(text)
            if place:
                label.setWordWrap(False)
                grid.addWidget(label, down, place, Qt.AlignmentFlag.AlignRight)
            else:
                grid.addWidget(label, down, 0)
    said = [
        ", ".join(" ".join(pair) if pair[0] else pair[1] for pair in zip(titles, row, strict=True))
        for row in rows
    ]
    made.setAccessibleName(". ".join(said))
    return made


def may_be_narrow(box: QComboBox) -> None:
    """Let a combo box be narrower than its longest entry."""
    box.setMinimumContentsLength(12)
    box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)


def pick_rows_only(table: QTableView) -> None:
    """Select whole rows only, allow no editing, and let Tab leave the table."""
    table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
    table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
    table.setTabKeyNavigation(False)
    table.setShowGrid(False)
    table.verticalHeader().hide()
    table.horizontalHeader().setHighlightSections(False)


def set_shown(part: QWidget, *, shown: bool) -> None:
    """Show or hide a part of a page; a part that was never hidden is shown with its page.

    Showing it before the page would lay it out for a size it will never have.
    """
    parent = part.parentWidget()
    on_show = parent is not None and parent.isVisible()
    if on_show or not shown or part.testAttribute(Qt.WidgetAttribute.WA_WState_ExplicitShowHide):
        part.setVisible(shown)


def let_go(stack: QStackedWidget, page: QWidget) -> None:
    """Take a page out of its stack and end it in the next turns; show another page first.

    If the page is still on show, Qt shows the next page of the stack for a moment, and leads the
    focus through it.
    """
    stack.removeWidget(page)
    page.deleteLater()


def clear_layout(layout: QLayout) -> None:
    """Remove and delete everything in a layout, also in the layouts inside it."""
    for widget in take_out(layout):
        widget.hide()
        widget.setParent(None)
        widget.deleteLater()


def take_out(layout: QLayout) -> list[QWidget]:
    """Take everything out of a layout and return its widgets; spaces and inner layouts end.

    ``takeAt`` would leave each item in memory for good: no Python object owns it.
    """
    widgets: list[QWidget] = []
    for part in parts_of(layout):
        if isinstance(part, QLayout):
            widgets += take_out(part)
            layout.removeItem(part)
            delete(part)
        else:
            layout.removeWidget(part)
            widgets.append(part)
    while (space := layout.itemAt(0)) is not None:
        layout.removeItem(space)
        delete(space)
    return widgets


def parts_of(layout: QLayout) -> list[QWidget | QLayout]:
    """Return the widgets and the layouts in a layout that belongs to a widget, in order.

    ``itemAt`` would make objects for the items; :func:`add_layout` says what comes of that.
    """
    inside: list[QWidget | QLayout] = [
        *(direct_parts(host) if (host := layout.parentWidget()) is not None else ()),
        *(one for one in layout.children() if isinstance(one, QLayout)),
    ]
    placed = {part: layout.indexOf(part) for part in inside}
    return sorted((part for part in inside if placed[part] >= 0), key=placed.__getitem__)


def direct_parts(host: QWidget) -> list[QWidget]:
    """Return the widgets right inside a widget.

    ``children`` would make an object for its layouts and timers too, and some widgets of a page
    would then stay in memory when the page goes.
    """
    return host.findChildren(QWidget, options=Qt.FindChildOption.FindDirectChildrenOnly)


def announce(widget: QWidget, text: str) -> None:
    """Make a screen reader say a sentence."""
    QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(widget, text))
