"""The nine steps at the side: number, title and state, always visible."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from core.fitting import Journey, QualifiedPass, StepState
from core.language import Numbers, help_text
from core.steps import STEP_NAMES
from desktop.widgets import theme
from desktop.widgets.language import local_label, spoken, step_words, tr
from desktop.widgets.verdict_signs import paint_sign, sign_colour

SUMMARY: Final = "summary"
"""The name of the last page, beside the steps' names."""


_WIDE_EM: Final = 13.2
_NARROW_EM: Final = 3.4
_EDGE_PX: Final = 1.5
_AFTER_PX: Final = 4
_MARGIN_PX: Final = 4
_SIGN_EM: Final = 1.15
_BEFORE_SIGN_EM: Final = 0.5
_AFTER_SIGN_EM: Final = 0.45
_WAITING: Final = (StepState.CLOSED, StepState.TO_DO)
"""States of steps still to come; opening one too early shows why it waits."""


class RailButton(QAbstractButton):
    """One step: its sign, number, title and state."""

    def __init__(self, name: str, number: int, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.name = name
        self._number = number
        self._minutes = help_text(spoken()).minutes.get(name, 0)
        self._title = title
        self.state: StepState | QualifiedPass | None = None
        self._is_due = False
        self._is_narrow = False
        self.setCheckable(True)
        self.setText(title)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        keys = f"Ctrl+{number}" if number else "Ctrl+0"
        self.setToolTip(f"{title} ({keys})")
        self._update_accessible_name()

    def show_state(
        self, state: StepState | QualifiedPass | None, *, is_due: bool, reason: str = ""
    ) -> None:
        """Show the state of the step."""
        self.state, self._is_due = state, is_due
        self.setAccessibleDescription(reason)
        self._update_accessible_name()
        self.updateGeometry()
        self.update()

    def state_word(self) -> str:
        """Return the state in words; marks the due step."""
        word = local_label(self.state.label) if self.state is not None else ""
        if self._is_due and self.state is StepState.TO_DO:
            return tr("wizard.rail.next_to_do")
        if self.state in _WAITING and self._minutes:
            return tr("wizard.rail.about_minutes", minutes=self._minutes)
        return word

    def sizeHint(self) -> QSize:
        """Return room for two lines of text."""
        line = theme.em(self)
        rows = 2.0 if self.state is not None else 1.0
        wide = _NARROW_EM - 0.4 if self._is_narrow else _WIDE_EM - 1.2
        return QSize(round(line * wide), round(line * rows + line * 0.55))

    def minimumSizeHint(self) -> QSize:
        """Return the same: a step is never cut."""
        return self.sizeHint()

    def whole_width(self) -> int:
        """Return the width at which the title is not cut, even in bold."""
        before = (_BEFORE_SIGN_EM + _SIGN_EM + _AFTER_SIGN_EM) * theme.em(self)
        metrics = QFontMetricsF(theme.scaled(self.font(), 1.0, bold=True))
        title = metrics.horizontalAdvance(self._titled)
        return math.ceil(_EDGE_PX + before + title + _AFTER_PX + _EDGE_PX)

    @property
    def _titled(self) -> str:
        return f"{self._number}  {self._title}" if self._number else self._title

    def narrow(self, *, narrow: bool) -> None:
        """Show sign and number only, or title and state as well."""
        self._is_narrow = narrow
        self.updateGeometry()
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the row."""
        look = theme.appearance_of(self)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        line = theme.em(self)
        box = QRectF(self.rect()).adjusted(_EDGE_PX, _EDGE_PX, -_EDGE_PX, -_EDGE_PX)
        if self.isChecked():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(look.base))
            painter.drawRoundedRect(box, 6, 6)
            painter.setBrush(QColor(look.accent))
            painter.drawRect(QRectF(box.left(), box.top() + 4, 4, box.height() - 8))
        if self.hasFocus():
            painter.setPen(QPen(QColor(look.accent), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(box, 6, 6)
        side = line * _SIGN_EM
        left = box.left() + line * _BEFORE_SIGN_EM
        if self.state is not None:
            sign = QRectF(left, box.center().y() - side / 2, side, side)
            shown_as = StepState.TO_DO if self.state in _WAITING else self.state
            paint_sign(painter, sign, shown_as, sign_colour(look, self.state), QColor(look.base))
        left += side + line * _AFTER_SIGN_EM
        room = box.right() - left - _AFTER_PX
        painter.setFont(theme.scaled(self.font(), 1.0, bold=self.isChecked() or self._is_due))
        painter.setPen(QColor(look.text))
        if self._is_narrow:
            whole = str(self._number) if self._number else "…"
            place = QRectF(left, box.top(), room, box.height())
            painter.drawText(place, Qt.AlignmentFlag.AlignVCenter, whole)
            painter.end()
            return
        metrics = QFontMetricsF(painter.font())
        shown = metrics.elidedText(self._titled, Qt.TextElideMode.ElideRight, room)
        if self.state is None:
            painter.drawText(
                QRectF(left, box.top(), room, box.height()), Qt.AlignmentFlag.AlignVCenter, shown
            )
        else:
            middle = box.center().y()
            painter.drawText(
                QRectF(left, middle - line, room, line), Qt.AlignmentFlag.AlignVCenter, shown
            )
            painter.setFont(theme.scaled(self.font(), 0.9))
            painter.setPen(QColor(look.muted))
            painter.drawText(
                QRectF(left, middle, room, line), Qt.AlignmentFlag.AlignVCenter, self.state_word()
            )
        painter.end()

    def _update_accessible_name(self) -> None:
        number = tr("wizard.rail.step_number", number=self._number) if self._number else ""
        word = f", {self.state_word()}" if self.state is not None else ""
        self.setAccessibleName(f"{number}{self._title}{word}")


class Rail(QScrollArea):
    """All steps and the last page."""

    chosen = Signal(str)

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self.setAccessibleName(tr("wizard.rail.steps"))
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        inside = QWidget()
        self._column = column = QVBoxLayout(inside)
        column.setContentsMargins(_MARGIN_PX, _MARGIN_PX, _MARGIN_PX, _MARGIN_PX)
        column.setSpacing(1)
        self._group = QButtonGroup(self)
        self.buttons: dict[str, RailButton] = {}
        for number, name in enumerate(STEP_NAMES, start=1):
            self._add(RailButton(name, number, step_words(name).title), column)
        self._add(RailButton(SUMMARY, 0, tr("wizard.rail.summary")), column)
        column.addStretch(1)
        self.setWidget(inside)
        self._is_narrow = False
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        self._group.buttonClicked.connect(self._on_click)
        self.verticalScrollBar().rangeChanged.connect(self.updateGeometry)

    def narrow(self, *, narrow: bool) -> None:
        """Show signs and numbers only, or the titles and states as well."""
        if narrow is not self._is_narrow:
            self._is_narrow = narrow
            for one in self.buttons.values():
                one.narrow(narrow=narrow)
            self.updateGeometry()

    def narrow_width(self) -> int:
        """Return the width of signs and numbers."""
        return round(theme.em(self) * _NARROW_EM) + self.verticalScrollBar().sizeHint().width()

    def changeEvent(self, event: QEvent) -> None:
        """Keep the width in step with the type."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.updateGeometry()

    def sizeHint(self) -> QSize:
        """Return the width for what it shows."""
        wide = self.narrow_width() if self._is_narrow else self._whole_width()
        return QSize(wide, super().sizeHint().height())

    def _whole_width(self) -> int:
        """Return the width of the titles; beside a scroll bar none is cut either."""
        bar = self.verticalScrollBar()
        beside = bar.sizeHint().width() if bar.maximum() > 0 else 0
        title = max(one.whole_width() for one in self.buttons.values())
        return max(round(theme.em(self) * _WIDE_EM), title + 2 * _MARGIN_PX + beside)

    def minimumSizeHint(self) -> QSize:
        """Return the same width: nothing of a step is cut."""
        return QSize(self.sizeHint().width(), super().minimumSizeHint().height())

    def put_above(self, widget: QWidget) -> None:
        """Show a widget above the steps."""
        self._column.insertWidget(0, widget)

    def show_journey(self, journey: Journey) -> None:
        """Show where every step stands."""
        due = journey.due
        for status in journey.statuses:
            self.buttons[status.step].show_state(
                status.shown_state,
                is_due=status.step == due,
                reason=self._numbers.text(status.reason),
            )
        self.buttons[SUMMARY].show_state(None, is_due=due is None)

    def mark(self, name: str) -> None:
        """Mark the step whose page is open."""
        self.buttons[name].setChecked(True)
        self.ensureWidgetVisible(self.buttons[name])

    def _add(self, button: RailButton, column: QVBoxLayout) -> None:
        self.buttons[button.name] = button
        self._group.addButton(button)
        column.addWidget(button)

    def _on_click(self, button: QAbstractButton) -> None:
        if isinstance(button, RailButton):
            self.chosen.emit(button.name)
