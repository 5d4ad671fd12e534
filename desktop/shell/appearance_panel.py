"""Colours, size of type and decimal sign: a panel above whatever page is open."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QApplication,
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QPushButton,
    QRadioButton,
    QWidget,
)
from shiboken6 import isValid

from core.language import Message, message
from desktop.widgets import theme
from desktop.widgets.flow_row import FlowRow
from desktop.widgets.keys import step_by_arrow
from desktop.widgets.language import said, tr
from desktop.widgets.panels import add_all
from desktop.widgets.plain_text import plain_label
from desktop.widgets.preferences import Preferences
from desktop.widgets.scheme import Scheme

SCHEMES: Final[tuple[tuple[Scheme, Message], ...]] = (
    ("light", message("shell.appearance_panel.light")),
    ("dark", message("shell.appearance_panel.dark")),
    ("system", message("shell.appearance_panel.system")),
)
SCALES: Final = theme.SCALES
SIGNS: Final[tuple[tuple[str, Message], ...]] = (
    (".", message("shell.appearance_panel.point")),
    (",", message("shell.appearance_panel.comma")),
    ("", message("shell.appearance_panel.system")),
)


class AppearancePanel(QFrame):
    """Shown only when it is asked for. Escape or Done closes it.

    Colours and type change at once. The decimal sign changes once the page that is open is left, as
    half a page with a comma and half with a point would be worse; the panel says so beside the
    choice.
    """

    sign_chosen = Signal()
    """Another decimal sign was chosen, and is remembered."""

    def __init__(
        self, preferences: Preferences, pages: QWidget, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setProperty("panel", "true")
        self._preferences = preferences
        self._pages = pages
        self._before: QWidget | None = None
        self.schemes = {key: QRadioButton(said(words)) for key, words in SCHEMES}
        self.scales = {scale: QRadioButton(f"{round(100 * scale)} %") for scale in SCALES}
        self.signs = {sign: QRadioButton(said(words)) for sign, words in SIGNS}
        self.later = plain_label(tr("shell.appearance_panel.on_the_next_page"))
        self.later.setProperty("kind", "muted")
        parts: list[QWidget] = []
        for title, choices in (
            (tr("shell.appearance_panel.colours"), self.schemes),
            (tr("shell.appearance_panel.size_of_type"), self.scales),
            (tr("shell.appearance_panel.decimal_sign"), self.signs),
        ):
            part = QWidget()
            row = add_all(QHBoxLayout(part), plain_label(title))
            row.setContentsMargins(0, 0, self.fontMetrics().height(), 0)
            group = QButtonGroup(self)
            for one in choices.values():
                one.setAccessibleName(f"{title}: {one.text()}")
                one.installEventFilter(self)
                group.addButton(one)
                row.addWidget(one)
            group.buttonClicked.connect(lambda _button: self._on_choice())
            parts.append(part)
        parts.append(self.later)
        self.done_button = QPushButton(tr("shell.appearance_panel.done"))
        self.done_button.clicked.connect(self._close)
        # In a narrow window they stand below each other: nothing of any is cut.
        add_all(QHBoxLayout(self), (FlowRow(parts), 1), self.done_button)
        self.hide()

    def ask(self) -> None:
        """Show what holds now, and wait for a choice."""
        if self.isHidden():
            self._before = QApplication.focusWidget()
        scheme = self.show_current()
        self.show()
        self.schemes[scheme].setFocus(Qt.FocusReason.OtherFocusReason)

    def show_current(self) -> Scheme:
        """Mark the colours and the size that hold now, and return the colours."""
        scheme, scale = theme.current_scheme(_app())
        self.schemes[scheme].setChecked(True)
        if scale in self.scales:
            self.scales[scale].setChecked(True)
        self.signs[self._preferences.decimal].setChecked(True)
        return scheme

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close with Escape or Enter."""
        if event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._close()
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Move within the choices of a row by the arrows up and down too."""
        if isinstance(watched, QRadioButton) and step_by_arrow(watched, event):
            return True
        return super().eventFilter(watched, event)

    def _on_choice(self) -> None:
        scheme, scale = theme.current_scheme(_app())
        scheme = next((key for key, one in self.schemes.items() if one.isChecked()), scheme)
        scale = next((size for size, one in self.scales.items() if one.isChecked()), scale)
        sign = next((one for one, shown in self.signs.items() if shown.isChecked()), "")
        if sign != self._preferences.decimal:
            self._preferences.remember_decimal(sign)
            self.sign_chosen.emit()
            return
        _take(self._preferences, scheme, scale)

    def _close(self) -> None:
        self.hide()
        before, self._before = self._before, None
        if before is not None and isValid(before) and self._pages.isAncestorOf(before):
            before.setFocus(Qt.FocusReason.OtherFocusReason)


def change_scheme(preferences: Preferences, scheme: Scheme) -> None:
    """Change the colours at once, and for good."""
    _, scale = theme.current_scheme(_app())
    _take(preferences, scheme, scale)


def change_scale(preferences: Preferences, steps: int) -> None:
    """Make the type so many sizes larger or smaller, at once and for good."""
    scheme, scale = theme.current_scheme(_app())
    place = min(range(len(SCALES)), key=lambda one: abs(SCALES[one] - scale)) + steps
    _take(preferences, scheme, SCALES[max(0, min(place, len(SCALES) - 1))])


def _take(preferences: Preferences, scheme: Scheme, scale: float) -> None:
    theme.apply(_app(), scheme, text_scale=scale)
    preferences.remember_appearance(scheme, scale)


def _app() -> QApplication:
    app = QApplication.instance()
    if not isinstance(app, QApplication):
        raise TypeError("a panel needs an application to dress")
    return app
