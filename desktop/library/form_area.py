"""An area that scrolls a form and always gives it its full height."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QLineEdit, QScrollArea, QWidget

from desktop.forms.model_fields import ModelFields

_MOST_TRIES: Final = 20
"""How often a form is laid out anew before it is left as it is."""


class FormArea(QScrollArea):
    """Scrolls a form.

    Qt asks a form whose lines wrap for its height before its new fields are laid out, and then
    squeezes all of them into what it was told. Here the height is asked for again once they are.
    """

    def __init__(self, form: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._tries = 0
        self._timer = QTimer(self, singleShot=True, interval=0)
        self._timer.timeout.connect(self.fit)
        self.setWidget(form)

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

    def fit(self) -> None:
        """Give the form the height that its fields need at this width."""
        form = self.widget()
        if form is None:
            return
        if not _is_squeezed(form):
            self._tries = 0
        elif self._tries < _MOST_TRIES:
            self._tries += 1
            self._timer.start()
            for inner in reversed(form.findChildren(QWidget)):  # from the innermost outward
                layout = inner.layout()
                if layout is not None:
                    layout.invalidate()
                    layout.activate()
        for inner in reversed(form.findChildren(ModelFields)):
            _hold(inner, inner.width())
        _hold(form, self.viewport().width())


def _is_squeezed(form: QWidget) -> bool:
    parts: list[QWidget] = [*form.findChildren(QAbstractButton), *form.findChildren(QLineEdit)]
    return any(one.isVisible() and one.height() < one.minimumSizeHint().height() for one in parts)


def _hold(widget: QWidget, width: int) -> None:
    """Keep a widget from being lower than what it holds needs at a width."""
    layout = widget.layout()
    needed = layout.totalHeightForWidth(width) if layout is not None else 0
    if needed > 0 and needed != widget.minimumHeight():
        widget.setMinimumHeight(needed)
