"""A bar that says what was done to many records at once, and offers undo."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLineEdit, QProgressBar, QWidget

from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, announce, button
from desktop.widgets.plain_text import plain_label

_TYPED_AFTER: Final = "typedAfterAct"
"""The property of a line that says after how many acts something was typed in it last."""


class UndoBar(QFrame):
    """Hidden until an act; stays until it is dismissed or another act follows."""

    undo_wanted = Signal()
    """The person wants to undo the last act."""
    stop_wanted = Signal()
    """The person wants to cancel the act in progress."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("panel", "true")
        self.setAccessibleName(tr("widgets.undo_bar.done"))
        self._words = plain_label(wraps=True)
        self._words.setObjectName("undoWords")
        self.progress = QProgressBar()
        self.progress.setFormat(tr("widgets.undo_bar.v_of_m"))
        self.undo_button = button(
            tr("widgets.undo_bar.undo"), keys="Ctrl+Z", tip=tr("widgets.undo_bar.takes_it_back")
        )
        self.stop_button = button(
            tr("widgets.undo_bar.stop"), tip=tr("widgets.undo_bar.leaves_all_as_it_was")
        )
        self._seen = button(
            tr("widgets.undo_bar.seen"), tip=tr("widgets.undo_bar.puts_it_away"), quiet=True
        )
        self.undo_button.clicked.connect(self.undo_wanted)
        self.stop_button.clicked.connect(self.stop_wanted)
        self._seen.clicked.connect(self.put_away)
        self.acts = 0
        """How many acts were told of so far."""
        self.can_undo = False
        """Whether the act told of last can be undone, also when the bar is put away."""
        add_all(
            QHBoxLayout(self),
            (self._words, 2),
            (self.progress, 1),
            self.undo_button,
            self.stop_button,
            self._seen,
        )
        self.hide()

    @property
    def text(self) -> str:
        """The text on show, empty if none."""
        return "" if self.isHidden() else self._words.text()

    def say(self, words: str, *, can_undo: bool) -> None:
        """Show what was done, and offer undo if possible."""
        held = self.stop_button.hasFocus() or self.undo_button.hasFocus()
        self.acts, self.can_undo = self.acts + 1, can_undo
        self._words.setText(words)
        for one, there in (
            (self.progress, False),
            (self.stop_button, False),
            (self.undo_button, can_undo),
            (self._seen, True),
        ):
            one.setVisible(there)
        self.show()
        if held:
            (self.undo_button if can_undo else self._seen).setFocus()
        announce(self, words)

    def say_under_way(self, words: str, most: int) -> None:
        """Show what is being done, and to how many records."""
        self._words.setText(words)
        self.progress.setAccessibleName(words)
        self.progress.setRange(0, most)
        self.progress.setValue(0)
        for one, there in (
            (self.progress, True),
            (self.stop_button, True),
            (self.undo_button, False),
            (self._seen, False),
        ):
            one.setVisible(there)
        self.show()
        announce(self, words)

    def put_away(self) -> None:
        """Hide, and leave the focus to the page."""
        held_focus = self._seen.hasFocus()
        self.hide()
        if held_focus:
            self.focusNextChild()


class _LetUndoThrough(QObject):
    """Leaves Ctrl+Z to the page while a line has nothing newer to undo."""

    def __init__(self, page: QWidget, bar: UndoBar | None) -> None:
        super().__init__(page)
        self._bar = bar

    def watch(self, line: QLineEdit) -> None:
        """Look after a line, which may be looked after already."""
        if line.property(_TYPED_AFTER) is None:
            line.setProperty(_TYPED_AFTER, -1)
            line.textEdited.connect(lambda words: self._on_edited(line, words))
        line.installEventFilter(self)

    def _on_edited(self, line: QLineEdit, words: str) -> None:
        if words and self._bar is not None:  # to clear a line is not to type
            line.setProperty(_TYPED_AFTER, self._bar.acts)

    def _leaves_to_page(self, line: QLineEdit) -> bool:
        if not line.isUndoAvailable():
            return True
        bar = self._bar
        return bar is not None and bar.can_undo and line.property(_TYPED_AFTER) != bar.acts

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep a line from taking the undo keys."""
        if (
            isinstance(watched, QLineEdit)
            and isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.ShortcutOverride
            and event.matches(QKeySequence.StandardKey.Undo)
            and self._leaves_to_page(watched)
        ):
            event.ignore()
            return True
        return super().eventFilter(watched, event)


def let_undo_through(page: QWidget, bar: UndoBar | None = None) -> None:
    """Pass Ctrl+Z to the page from every line in it without typed text.

    With a ``bar``, also from lines in which nothing was typed since the act that it offers to undo.
    """
    let_through = page.findChild(_LetUndoThrough) or _LetUndoThrough(page, bar)
    for line in page.findChildren(QLineEdit):
        let_through.watch(line)
