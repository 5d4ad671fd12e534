"""The line that says what another window has entered."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

from core.fitting import Entry
from core.language import Name, Numbers
from desktop.widgets.language import step_words, tr
from desktop.widgets.panels import add_all

_LONGEST = 160


class OtherWindowNotice(QFrame):
    """One line at the foot of the window; it stays until it is dismissed or outdated."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("panel", "true")
        self.setAccessibleName(tr("shell.other_window_notice.from_another_window"))
        self._text = QLabel(textFormat=Qt.TextFormat.PlainText, wordWrap=True)
        self._text.setObjectName("othersText")
        self._text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self._dismiss_button = QPushButton(tr("shell.other_window_notice.seen"))
        self._dismiss_button.setObjectName("othersSeen")
        self._dismiss_button.setProperty("quiet", "true")
        self._dismiss_button.setAccessibleDescription(
            tr("shell.other_window_notice.puts_this_line_away")
        )
        self._dismiss_button.clicked.connect(self.put_away)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 4, 12, 4)
        add_all(layout, (self._text, 1), self._dismiss_button)
        self.hide()

    @property
    def text(self) -> str:
        """What is being said, empty if nothing is."""
        return "" if self.isHidden() else self._text.text()

    def say(self, words: str) -> None:
        """Show a sentence in place of the one before, and have it read out."""
        self._text.setText(words)
        self.show()
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, words))

    def put_away(self) -> None:
        """Go away, and leave the focus to the page."""
        held_focus = self._dismiss_button.hasFocus()
        self.hide()
        if held_focus:
            self.focusNextChild()


def others_words(added: Sequence[Entry], numbers: Numbers, *, parallel: bool = False) -> str:
    """Say what another window has added to the fitting on show, the newest entry in full.

    ``parallel`` asks for the words of a parallel-tracking arm.
    """
    if not added:
        return tr("shell.other_window_notice.this_fitting_was_put_back")
    # Imported here: at start-up nothing of the steps is needed.
    from core.workflow import described

    newest = added[-1]
    step = getattr(newest.body, "step", "")
    where = f"{step_words(step).title}: " if step else ""
    said = numbers.text(described(newest.body, parallel=parallel))
    words = " ".join(f"{where}{said}".split())
    if len(words) > _LONGEST:
        words = f"{words[: _LONGEST - 1]}…"
    who = tr("shell.other_window_notice.by_who", who=Name(newest.who)) if newest.who else ""
    if len(added) == 1:
        return tr(
            "shell.other_window_notice.entered_in_another_window_who",
            who=Name(who),
            words=Name(words),
        )
    return tr(
        "shell.other_window_notice.entered_in_another_window_added",
        added=len(added),
        who=Name(who),
        words=Name(words),
    )
