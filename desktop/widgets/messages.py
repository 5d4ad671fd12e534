"""Notices and questions outside the pages.

A notice stays in the window and blocks nothing; a question is a modal dialog. Tests pass in a fake
that records.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QKeyEvent
from PySide6.QtWidgets import (
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QLabel,
    QMessageBox,
    QPushButton,
    QSizePolicy,
    QWidget,
)

from core.store import LibraryProblem
from desktop.widgets.language import local_label, said, tr


class Messages(Protocol):
    """Shows notices and asks questions."""

    def tell(self, title: str, sentence: str, remedy: str = "", *, went_well: bool = False) -> None:
        """Show a problem and its remedy, or what ``went_well``, without blocking."""
        ...

    def put_away(self, title: str, sentence: str) -> None:
        """Take away a notice that no longer holds."""
        ...

    def ask(
        self,
        title: str,
        sentence: str,
        choices: Sequence[str],
        *,
        stays: int | None = None,
        enter: int = 0,
    ) -> int | None:
        """Return the index of the chosen answer, or None if the person cancelled.

        ``stays`` is the index of a choice that changes nothing: it takes the place of a button to
        go back, and Escape means it. ``enter`` is the index of what Enter means; nothing is erased,
        replaced or lost by that.
        """
        ...

    def file_to_open(self, title: str, start: Path, kinds: str) -> Path | None:
        """Return an existing file, or None if the person cancelled."""
        ...

    def file_to_save(self, title: str, start: Path, kinds: str) -> Path | None:
        """Return the path for a new file, or None if the person cancelled."""
        ...

    def folder(self, title: str, start: Path) -> Path | None:
        """Return an existing folder, or None if the person cancelled."""
        ...


def tell_problem(messages: Messages, problem: LibraryProblem) -> None:
    """Show a library problem and its remedy."""
    messages.tell(local_label(problem.kind.label), said(problem.what), said(problem.todo))


class NoticeBar(QFrame):
    """A strip above the page that shows a notice until it is dismissed.

    Of several notices the newest is shown first, the older ones behind it.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("noticeBar")
        self.setProperty("panel", "true")
        self.setAccessibleName(tr("widgets.messages.notice"))
        self._waiting: list[tuple[str, str, str, bool]] = []
        self._text = QLabel(textFormat=Qt.TextFormat.PlainText, wordWrap=True)
        self._text.setObjectName("noticeText")
        self._text.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse
            | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        self._text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self._close = QPushButton(tr("widgets.messages.understood"))
        self._close.setObjectName("noticeClose")
        self._close.setAccessibleDescription(tr("widgets.messages.puts_this_notice_away"))
        self._close.clicked.connect(self._next)
        self.wrong, self.well = QLabel("!"), QLabel("✓")
        self.wrong.setProperty("kind", "problem")
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 8)
        for mark in (self.wrong, self.well):
            mark.setAccessibleName("")
            layout.addWidget(mark, alignment=Qt.AlignmentFlag.AlignTop)
        layout.addWidget(self._text, stretch=1)
        layout.addWidget(self._close, alignment=Qt.AlignmentFlag.AlignTop)
        self.hide()

    @property
    def text(self) -> str:
        """The text on show, empty if none."""
        return self._text.text() if self._waiting else ""

    def say(self, title: str, sentence: str, remedy: str, *, went_well: bool = False) -> None:
        """Show a notice before older ones; a repeated notice is shown once."""
        notice = (title, sentence, remedy, went_well)
        if self._waiting[:1] == [notice]:
            return
        if notice in self._waiting:
            self._waiting.remove(notice)
        self._waiting.insert(0, notice)
        self._show()

    def put_away(self, title: str, sentence: str) -> None:
        """Take away a notice, whether it is shown or waits behind another."""
        self._waiting = [one for one in self._waiting if one[:2] != (title, sentence)]
        self._show()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Dismiss the notice with Escape while it has the focus."""
        if event.key() == Qt.Key.Key_Escape:
            self._next()
        else:
            super().keyPressEvent(event)

    def _next(self) -> None:
        if self._waiting:
            self._waiting.pop(0)
        self._show()

    def _show(self) -> None:
        if not self._waiting:
            held_focus = self._close.hasFocus()
            self.hide()
            if held_focus:
                self.focusNextChild()
            return
        title, sentence, remedy, went_well = self._waiting[0]
        self.wrong.setHidden(went_well)
        self.well.setVisible(went_well)
        words = "\n".join(part for part in (f"{title}: {sentence}", remedy.strip()) if part)
        self._text.setText(words)
        self._text.setAccessibleName(words)
        more = len(self._waiting) - 1
        self._close.setText(
            tr("widgets.messages.understood_more_more", more=more)
            if more
            else tr("widgets.messages.understood")
        )
        self.show()
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, words))


class QtMessages:
    """Messages in a real window."""

    def __init__(self, window: QWidget, bar: NoticeBar) -> None:
        self._window = window
        self._bar = bar

    def tell(self, title: str, sentence: str, remedy: str = "", *, went_well: bool = False) -> None:
        """Show the words in the strip above the page."""
        self._bar.say(title, sentence, remedy, went_well=went_well)

    def put_away(self, title: str, sentence: str) -> None:
        """Take the words out of the strip."""
        self._bar.put_away(title, sentence)

    def ask(
        self,
        title: str,
        sentence: str,
        choices: Sequence[str],
        *,
        stays: int | None = None,
        enter: int = 0,
    ) -> int | None:
        """Ask in a dialog with one button an answer; one has the focus, Escape backs out."""
        box = QMessageBox(self._window)
        box.setWindowTitle(title)
        box.setTextFormat(Qt.TextFormat.PlainText)
        box.setText(sentence)
        box.setIcon(QMessageBox.Icon.Question)
        answers = [box.addButton(words, QMessageBox.ButtonRole.AcceptRole) for words in choices]
        box.setEscapeButton(
            box.addButton(tr("widgets.messages.go_back"), QMessageBox.ButtonRole.RejectRole)
            if stays is None
            else answers[stays]
        )
        if answers:
            box.setDefaultButton(answers[enter])
        box.exec()
        clicked = box.clickedButton()
        box.deleteLater()
        return next((index for index, one in enumerate(answers) if one is clicked), None)

    def file_to_open(self, title: str, start: Path, kinds: str) -> Path | None:
        """Ask with the system's own file dialog."""
        name, _ = QFileDialog.getOpenFileName(self._window, title, str(start), kinds)
        return Path(name) if name else None

    def file_to_save(self, title: str, start: Path, kinds: str) -> Path | None:
        """Ask with the system's own file dialog."""
        name, _ = QFileDialog.getSaveFileName(self._window, title, str(start), kinds)
        return Path(name) if name else None

    def folder(self, title: str, start: Path) -> Path | None:
        """Ask with the system's own dialog."""
        name = QFileDialog.getExistingDirectory(self._window, title, str(start))
        return Path(name) if name else None
