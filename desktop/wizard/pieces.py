"""Small pieces the wizard's panels are made of."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QKeySequence
from PySide6.QtWidgets import QFrame, QLabel, QLayout, QPushButton, QVBoxLayout, QWidget

from desktop import theme


def words(text: str = "", kind: str = "") -> QLabel:
    """Return a label that wraps; ``kind`` is ``muted``, ``problem`` or ``question``."""
    label = QLabel(text)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    label.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    if kind:
        label.setProperty("kind", kind)
    return label


def heading(text: str, factor: float = 1.1) -> QLabel:
    """Return a heading."""
    label = words(text)
    label.setFont(theme.scaled(label.font(), factor, bold=True))
    return label


def button(
    text: str, *, keys: str = "", tip: str = "", primary: bool = False, quiet: bool = False
) -> QPushButton:
    """Return a button; its tooltip names its keys.

    The keys are only named here: the page binds them, so that they work wherever the focus is.
    """
    made = QPushButton(text)
    made.setAutoDefault(True)  # Enter presses it while it has the focus
    if primary:
        made.setProperty("primary", True)  # noqa: FBT003 - Qt's property
    if quiet:
        made.setProperty("quiet", True)  # noqa: FBT003 - Qt's property
    named = QKeySequence(keys).toString(QKeySequence.SequenceFormat.NativeText) if keys else ""
    told = " ".join(part for part in (tip, f"({named})" if named else "") if part)
    if told:
        made.setToolTip(told)
        made.setAccessibleDescription(told)
    return made


def panel(title: str = "") -> tuple[QFrame, QVBoxLayout]:
    """Return a framed panel and the column inside it."""
    frame = QFrame()
    frame.setProperty("panel", True)  # noqa: FBT003 - Qt's property
    column = QVBoxLayout(frame)
    line = theme.em(frame)
    column.setContentsMargins(
        round(line * 0.7), round(line * 0.6), round(line * 0.7), round(line * 0.6)
    )
    column.setSpacing(round(line * 0.35))
    if title:
        column.addWidget(heading(title))
    return frame, column


def emptied(layout: QLayout) -> None:
    """Remove and delete everything in a layout, also in the layouts inside it."""
    while layout.count():
        item = layout.takeAt(0)
        if item is None:
            break
        inner, widget = item.layout(), item.widget()
        if widget is not None:
            widget.hide()
            widget.setParent(None)
            widget.deleteLater()
        elif inner is not None:
            emptied(inner)


def announce(widget: QWidget, text: str) -> None:
    """Let a screen reader say a sentence."""
    QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(widget, text))
