"""The form that takes the stylus hours of today."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import Signal
from PySide6.QtGui import QKeyEvent, Qt
from PySide6.QtWidgets import QHBoxLayout, QWidget

from core.fitting import HoursRead
from core.language import Name, Numbers
from core.maintenance.stylus_wear import entered_hours
from desktop.forms.form import Form
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_all, add_layout, announce, button, framed, text_label


class HoursForm(QWidget):
    """Hours, a note, and two buttons. What is typed stays until it is saved or cancelled."""

    given = Signal(HoursRead)  # the person wants these hours kept
    given_up = Signal()  # the person wants none kept
    taken_back = Signal()  # the hours entered last were a mistake and are to be left out

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._before: float | None = None
        column = framed(self, tr("history.hours_form.stylus_hours_today"))
        self.form = Form(HoursRead, numbers)
        self._question = text_label("", "question")
        self._question.hide()
        self._problem = MessageLine()
        self.keep_button = button(
            tr("history.hours_form.keep_these_hours"),
            tip=tr("history.hours_form.adds_them_to_the_record"),
            primary=True,
        )
        self.drop_button = button(
            tr("history.hours_form.not_now"), tip=tr("history.hours_form.keeps_nothing")
        )
        self.back_button = button(
            "", tip=tr("history.hours_form.it_stays_in_the_record"), quiet=True
        )
        add_all(column, self.form, self._question, self._problem)
        row = add_all(QHBoxLayout(), self.keep_button, self.drop_button, 1, self.back_button)
        add_layout(column, row)
        self.keep_button.clicked.connect(self.form.submit)
        self.drop_button.clicked.connect(self.given_up)
        self.back_button.clicked.connect(self.taken_back)
        self.form.submitted.connect(self._give)
        self.form.refused.connect(self._refuse)
        self.form.draft_changed.connect(self._look)

    def ask(self, before: float | None, day: date | None = None) -> None:
        """Show an empty form."""
        self._before = before
        self.back_button.setVisible(before is not None and day is not None)
        if before is not None and day is not None:
            hours = self._numbers.value(entered_hours(before))
            self.back_button.setText(
                tr(
                    "history.hours_form.the_hours_of_isoformat_do",
                    hours=Name(hours),
                    isoformat=Name(day.isoformat()),
                )
            )
        if not self.has_unsaved():
            self.empty()
        self._look()
        self.show()
        self.form.start()

    def empty(self) -> None:
        """Forget what was typed."""
        self.form.put(None)
        self._look()

    def has_unsaved(self) -> bool:
        """Whether something is typed."""
        entries = self.form.fields.entries
        typed = entries["hours"].answer()
        said = entries["note"].answer()
        return not self.isHidden() and bool(
            self._hours_text() or typed.value is not None or said.value
        )

    def question(self) -> str:
        """Return the question about the hours typed, empty if there is none."""
        return "" if self._question.isHidden() else self._question.text()

    def refuse(self, sentence: str) -> None:
        """Say why the hours were not kept; they stay as typed."""
        self._problem.say(tr("history.hours_form.not_kept_yet_sentence", sentence=Name(sentence)))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Cancel with Escape."""
        if event.key() == Qt.Key.Key_Escape:
            self.given_up.emit()
        else:
            super().keyPressEvent(event)

    def _hours_text(self) -> str:
        (line,) = self.form.fields.entries["hours"].tab_stops()
        return str(line.property("text") or "").strip()

    def _look(self) -> None:
        self._problem.say("")
        draft = self.form.draft()
        less = (
            isinstance(draft, HoursRead) and self._before is not None and draft.hours < self._before
        )
        if less and self._before is not None:
            before = self._numbers.value(entered_hours(self._before))
            self._question.setText(
                tr("history.hours_form.fewer_than_the_before_entered", before=Name(before))
            )
        self._question.setVisible(less)

    def _give(self) -> None:
        draft = self.form.draft()
        if isinstance(draft, HoursRead):
            self.given.emit(draft)

    def _refuse(self, sentence: str) -> None:
        self.refuse(tr("history.hours_form.mend_what_is_marked_above"))
        announce(self.keep_button, sentence)
