"""Where a rehearsal is begun or gone on with."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from core.language import Numbers
from core.practice.saved_rehearsals import SavedRehearsal, Wish
from desktop.forms.form import Form
from desktop.widgets.local_time import moment
from desktop.widgets.message_line import MessageLine
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, button, heading, panel, scrolled, text_label

_FRESH_BELOW: Final = 10_000
_MOST_KEPT: Final = 8


def fresh_number() -> int:
    """Return a random rehearsal number."""
    return 1 + secrets.randbelow(_FRESH_BELOW - 1)


class RehearsalStart(Page):
    """Difficulty, kind of deck and number, and the rehearsals left half way."""

    escape_leaves = True
    begin_wanted = Signal(object)
    """A :class:`Wish`."""
    go_on_wanted = Signal(str)
    """The id of a rehearsal's fitting."""

    def __init__(
        self,
        kept: Sequence[SavedRehearsal],
        numbers: Numbers,
        wish: Wish | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self.setAccessibleName("Rehearse on a simulated deck")
        self.form = Form(Wish, numbers, wish or Wish(number=fresh_number()))
        self.problem = MessageLine()
        self.begin_button = button("&Begin the rehearsal", primary=True)
        self.another_button = button("Another &number", tip="Puts a fresh number in")
        self.back_button = button("Back to the &library")
        self.go_on_buttons = [self._go_on_button(one) for one in kept[:_MOST_KEPT]]
        self._lay_out()
        self.form.submitted.connect(self._begin)
        self.form.refused.connect(self.say)
        self.form.draft_changed.connect(lambda: self.problem.say(""))
        self.begin_button.clicked.connect(self.form.submit)
        self.another_button.clicked.connect(self._renumber)
        self.back_button.clicked.connect(self.closed)

    def begin(self) -> None:
        """Put the focus on the form."""
        self.form.start()

    def say(self, sentence: str) -> None:
        """Say why a rehearsal could not be begun."""
        self.problem.say(f"Not begun yet. {sentence}")

    def _go_on_button(self, one: SavedRehearsal) -> QWidget:
        wish = self._numbers.text(one.wish.described())
        made = button(f"Go on with {wish} – last entry {moment(one.row.last_at)}")
        made.setProperty("fitting", one.row.id)
        made.clicked.connect(lambda: self.go_on_wanted.emit(one.row.id))
        return made

    def _lay_out(self) -> None:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.addWidget(heading("Rehearse on a simulated deck", 1.6))
        column.addWidget(
            text_label(
                "The whole job on a deck that is only drawn, with faults nobody has told you of. "
                "You read the instruments on the screen, type what you see and make the moves. At "
                "the end you are shown how the deck truly was and how it truly stands.",
                "muted",
            )
        )
        if self.go_on_buttons:
            frame, kept = panel("Left half way")
            for one in self.go_on_buttons:
                kept.addWidget(one, 0, Qt.AlignmentFlag.AlignLeft)
            column.addWidget(frame)
        frame, fresh = panel("A new rehearsal")
        add_all(fresh, self.form, self.problem)
        row = add_all(QHBoxLayout(), self.begin_button, self.another_button, 1)
        fresh.addLayout(row)
        column.addWidget(frame)
        column.addWidget(self.back_button, 0, Qt.AlignmentFlag.AlignLeft)
        column.addStretch(1)
        area = scrolled(inside)
        outer = QVBoxLayout(self)
        outer.addWidget(area)

    def _begin(self) -> None:
        wish = self.form.draft()
        if isinstance(wish, Wish):
            self.begin_wanted.emit(wish)

    def _renumber(self) -> None:
        self.form.fields.entries["number"].put(fresh_number())
        self.form.fields.entries["number"].tab_stops()[0].setFocus()
