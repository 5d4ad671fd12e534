"""Where a rehearsal is begun or gone on with."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from core.language import Name, Numbers
from core.practice.saved_rehearsals import SavedRehearsal, Wish
from desktop.forms.form import Form
from desktop.widgets.language import tr
from desktop.widgets.local_time import moment
from desktop.widgets.message_line import MessageLine
from desktop.widgets.page import Page
from desktop.widgets.panels import (
    add_all,
    add_layout,
    announce,
    button,
    heading,
    panel,
    scrolled,
    text_label,
)

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
        self.setAccessibleName(tr("rehearsal.start_page.rehearse_on_a_simulated_deck"))
        self.form = Form(Wish, numbers, wish or Wish(number=fresh_number()))
        self.problem = MessageLine()
        self.begin_button = button(tr("rehearsal.start_page.begin_the_rehearsal"), primary=True)
        self.another_button = button(
            tr("rehearsal.start_page.another_number"),
            tip=tr("rehearsal.start_page.puts_a_fresh_number_in"),
        )
        self.back_button = button(tr("rehearsal.start_page.back_to_the_library"))
        self.go_on_buttons: list[QWidget] = []
        self._kept, self._kept_rows = panel(tr("rehearsal.start_page.left_half_way"))
        self._lay_out()
        self.show_kept(kept)
        self.form.submitted.connect(self._begin)
        self.form.refused.connect(self._refuse)
        self.form.draft_changed.connect(lambda: self.problem.say(""))
        self.begin_button.clicked.connect(self.form.submit)
        self.another_button.clicked.connect(self._renumber)
        self.back_button.clicked.connect(self.closed)

    def begin(self) -> None:
        """Put the focus on the form."""
        self.form.start()

    def show_kept(self, kept: Sequence[SavedRehearsal]) -> None:
        """Show the rehearsals left half way; what stands in the form, and the focus, stay."""
        held = next((one.property("fitting") for one in self.go_on_buttons if one.hasFocus()), "")
        for one in self.go_on_buttons:
            self._kept_rows.removeWidget(one)
            one.deleteLater()
        self.go_on_buttons = [self._go_on_button(one) for one in kept[:_MOST_KEPT]]
        before: QWidget | None = None
        for button_ in self.go_on_buttons:
            self._kept_rows.addWidget(button_, 0, Qt.AlignmentFlag.AlignLeft)
            if before is not None:
                QWidget.setTabOrder(before, button_)
            before = button_
            if button_.property("fitting") == held:
                button_.setFocus(Qt.FocusReason.OtherFocusReason)
        if before is not None:
            first = next(iter(self.form.fields.entries.values()))
            QWidget.setTabOrder(before, first.tab_stops()[0])
        self._kept.setVisible(bool(self.go_on_buttons))

    def _refuse(self, sentence: str) -> None:
        """Name what is wrong at its field alone; a screen reader hears it from here."""
        self.say(tr("forms.form.marked_above"))
        announce(self.begin_button, sentence)

    def say(self, sentence: str) -> None:
        """Say why a rehearsal could not be begun."""
        self.problem.say(tr("rehearsal.start_page.not_begun_yet_sentence", sentence=Name(sentence)))

    def _go_on_button(self, one: SavedRehearsal) -> QWidget:
        wish = self._numbers.text(one.wish.described())
        made = button(
            tr(
                "rehearsal.start_page.go_on_with_wish_last",
                wish=Name(wish),
                moment=Name(moment(one.row.last_at)),
            )
        )
        made.setProperty("fitting", one.row.id)
        made.clicked.connect(lambda: self.go_on_wanted.emit(one.row.id))
        return made

    def _lay_out(self) -> None:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.addWidget(heading(tr("rehearsal.start_page.rehearse_on_a_simulated_deck"), 1.6))
        column.addWidget(
            text_label(
                tr("rehearsal.start_page.the_whole_job_on_a"),
                "muted",
            )
        )
        column.addWidget(self._kept)
        frame, fresh = panel(tr("rehearsal.start_page.a_new_rehearsal"))
        add_all(fresh, self.form, self.problem)
        row = add_all(QHBoxLayout(), self.begin_button, self.another_button, 1)
        add_layout(fresh, row)
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
