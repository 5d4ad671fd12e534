"""An area that scrolls a form and always gives it its full height."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QLineEdit, QScrollArea, QWidget
from shiboken6 import isValid

from desktop.forms.model_fields import ModelFields, NestedEditor
from desktop.widgets.focus_moves import follow_focus

_HELD: Final = (ModelFields, NestedEditor)
_MOST_TRIES: Final = 20
"""How often a form is laid out again before it is left as it is."""


class FormArea(QScrollArea):
    """Scrolls a form.

    Qt asks a form whose lines wrap for its height before its new fields are laid out, and then
    squeezes all of them into what it was told. Here the height is asked for again once they are.
    ``whole`` is an area as high as its form, on a page that scrolls itself.
    """

    def __init__(self, parent: QWidget | None = None, *, whole: bool = False) -> None:
        super().__init__(parent)
        self._is_whole = whole
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._tries = 0
        self._in_hand: QWidget | None = None
        follow_focus(self._note_focus)
        self._timer = QTimer(self, singleShot=True, interval=0)
        self._timer.timeout.connect(self.fit)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Ask for the height after every change of what the form holds."""
        done = super().eventFilter(watched, event)
        if watched is self.widget() and event.type() == QEvent.Type.LayoutRequest:
            self._timer.start()  # once its own layouts are through
        return done

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Ask for the height at the new width."""
        super().resizeEvent(event)
        self.fit()

    def _note_focus(self, now: QWidget | None) -> None:
        form = self.widget()
        inside = now is not None and form is not None and form.isAncestorOf(now)
        self._in_hand = now if inside else None

    def _show_in_hand(self) -> None:
        """Bring a field into view that got the focus before a new part had its place."""
        field, self._in_hand = self._in_hand, None
        if field is not None and isValid(field) and field.hasFocus():
            self.ensureWidgetVisible(field, 0, self.fontMetrics().height() * 3)

    def lay_out(self) -> None:
        """Give the form its height and the scroll bar its length now, not in the next turns."""
        form = self.widget()
        if form is not None:
            self.fit()
            QApplication.sendEvent(form, QEvent(QEvent.Type.LayoutRequest))

    def fit(self) -> None:
        """Give the form the height that its fields need at this width."""
        form = self.widget()
        if form is None:
            return
        is_ill = _fits_ill(form)
        if is_ill and self._tries < _MOST_TRIES:
            for inner in reversed(form.findChildren(QWidget)):  # from the innermost outward
                layout = inner.layout()
                if layout is not None:
                    layout.invalidate()
                    layout.activate()
        parts = [one for one in form.findChildren(QWidget) if isinstance(one, _HELD)]
        held = [_hold(inner, inner.width()) for inner in reversed(parts)]
        held.append(_hold(form, self.viewport().width()))
        if self._is_whole and self.minimumHeight() != form.minimumHeight() + 2 * self.frameWidth():
            self.setFixedHeight(form.minimumHeight() + 2 * self.frameWidth())
        if not is_ill and not any(held):
            self._tries = 0
            self._show_in_hand()
        elif self._tries < _MOST_TRIES:  # words that wrap break again at their new width
            self._tries += 1
            self._timer.start()


def _fits_ill(form: QWidget) -> bool:
    """Return whether a field is squeezed, or words stand far apart that needed more lines once."""
    buttons = [one for one in form.findChildren(QAbstractButton) if one.isVisible()]
    lines = [one for one in form.findChildren(QLineEdit) if one.isVisible()]
    parts: list[QWidget] = [*buttons, *lines]
    squeezed = any(one.height() < one.minimumSizeHint().height() for one in parts)
    return squeezed or any(one.height() > one.sizeHint().height() + 1 for one in buttons)


def _hold(widget: QWidget, width: int) -> bool:
    """Keep a widget from being lower than what it holds needs; return whether that changed."""
    layout = widget.layout()
    if layout is None:
        return False
    layout.invalidate()  # it may hold what its parts needed at another width
    needed = layout.totalHeightForWidth(width)
    if needed <= 0 or needed == widget.minimumHeight():
        return False
    widget.setMinimumHeight(needed)
    return True
