"""Keys that mean the same on every page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QWidget

ENTER_KEYS: Final = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
_ARROWS: Final = {
    Qt.Key.Key_Up: -1,
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Down: 1,
    Qt.Key.Key_Right: 1,
}
"""The step of each arrow key among the buttons of a choice."""


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


def choose_by_arrow(group: QButtonGroup, focused: QAbstractButton, event: QEvent) -> bool:
    """Choose with an arrow key while none is chosen: Qt would only move the focus.

    The ids of the group count its buttons from the top. Return whether one was chosen.
    """
    if not isinstance(event, QKeyEvent) or event.type() != QEvent.Type.KeyPress:
        return False
    if group.checkedId() >= 0 or event.key() not in _ARROWS:
        return False
    at = group.id(focused) + _ARROWS[Qt.Key(event.key())]
    button = group.button(max(0, min(at, len(group.buttons()) - 1)))
    button.setChecked(True)
    button.setFocus(Qt.FocusReason.OtherFocusReason)
    return True


def step_by_arrow(focused: QAbstractButton, event: QEvent) -> bool:
    """Choose the button after this one by Down, or the one before it by Up, in a row.

    Qt takes the arrows left and right alone there. Return whether it was such a key.
    """
    if not isinstance(event, QKeyEvent) or event.type() != QEvent.Type.KeyPress:
        return False
    if event.key() not in (Qt.Key.Key_Up, Qt.Key.Key_Down):
        return False
    buttons = focused.group().buttons()
    at = buttons.index(focused) + _ARROWS[Qt.Key(event.key())]
    if 0 <= at < len(buttons):
        buttons[at].setFocus(Qt.FocusReason.OtherFocusReason)
        buttons[at].click()
    return True


def bind(page: QWidget, keys: str | QKeySequence.StandardKey, act: Callable[[], object]) -> None:
    """Call ``act`` when these keys are pressed while the focus is anywhere in a page."""
    shortcut = QShortcut(QKeySequence(keys), page)
    shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
    shortcut.activated.connect(act)
