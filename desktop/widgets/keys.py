"""Keys that mean the same on every page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QWidget

ENTER_KEYS: Final = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


def is_enter(event: QEvent) -> bool:
    """Whether an event is Enter going down."""
    return (
        isinstance(event, QKeyEvent)
        and event.type() == QEvent.Type.KeyPress
        and event.key() in ENTER_KEYS
    )


def is_held_enter(event: QEvent) -> bool:
    """Whether an event is an auto-repeated Enter."""
    return isinstance(event, QKeyEvent) and is_enter(event) and event.isAutoRepeat()


def bind(page: QWidget, keys: str | QKeySequence.StandardKey, act: Callable[[], object]) -> None:
    """Call ``act`` when these keys are pressed while the focus is anywhere in a page."""
    shortcut = QShortcut(QKeySequence(keys), page)
    shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
    shortcut.activated.connect(act)
