"""The check by ear at the end: four optional questions."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from core.fitting import ListeningCheck
from core.language import Name, Numbers
from desktop.forms.form import Form
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_all, announce, button, framed, set_shown, text_label


class ListeningPanel(QWidget):
    """The answers, and the form that asks on demand."""

    given = Signal(object)
    """The person saves this ``ListeningCheck``."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self.form: Form | None = None
        column = framed(self, tr("wizard.listening_panel.title"))
        self._said = text_label(tr("wizard.listening_panel.why"), "muted")
        self._heard = text_label("")
        self._shut = text_label("", "problem")
        self._place = QHBoxLayout()
        self._problem = MessageLine()
        self.open_button = button(
            tr("wizard.listening_panel.open"), tip=tr("wizard.listening_panel.opens")
        )
        self.keep_button = button(
            tr("wizard.listening_panel.keep"),
            tip=tr("wizard.listening_panel.keeps"),
            primary=True,
        )
        self.open_button.clicked.connect(self.open)
        self.keep_button.clicked.connect(self.keep)
        self.keep_button.hide()
        row = add_all(QHBoxLayout(), self.open_button, self.keep_button, 1)
        add_all(column, self._said, self._shut, self._heard, self._place, self._problem, row)

    def show_heard(
        self, said: list[str], *, is_open: bool, shut: str = "", in_job: bool = True
    ) -> None:
        """Show what was heard and what to do; ask nothing if ``is_open`` is False.

        ``shut`` says why the stylus may not be lowered now; it stands above the questions. In a job
        without downforce (``in_job`` is False) that orders nothing: it says what was not weighed.
        """
        why = tr("wizard.listening_panel.shut", why=Name(shut))
        self._shut.setText(why if in_job else tr("wizard.listening_panel.not_weighed"))
        set_shown(self._shut, shown=is_open and bool(shut))
        self._heard.setText("\n".join(said))
        set_shown(self._heard, shown=bool(said))
        set_shown(self, shown=is_open or bool(said))
        set_shown(self.open_button, shown=is_open and self.keep_button.isHidden())
        if not is_open:
            self.close_form()

    def open(self) -> None:
        """Ask the four questions."""
        if self.form is None:
            self.form = Form(ListeningCheck, self._numbers)
            self.form.submitted.connect(self._give)
            self.form.refused.connect(self._refuse)
            self._place.addWidget(self.form)
        self.form.put(None)
        self.form.show()
        self.keep_button.show()
        self.open_button.hide()
        self.form.start()

    def _refuse(self, sentence: str) -> None:
        """Name what is wrong at its field alone; a screen reader hears it from here."""
        self._problem.say(tr("forms.form.marked_above"))
        announce(self.keep_button, sentence)

    def keep(self) -> None:
        """Emit the answers for saving."""
        if self.form is not None:
            self.form.submit()

    def close_form(self) -> None:
        """Hide the questions after saving."""
        self._problem.say("")
        if self.form is not None:
            self.form.hide()
        self.keep_button.hide()

    def has_unsaved(self) -> bool:
        """Whether there are unsaved answers."""
        is_asked = self.form is not None and not self.form.isHidden()
        return is_asked and self.form is not None and self.form.typed_raw() is not None

    def _give(self) -> None:
        draft = self.form.draft() if self.form is not None else None
        if isinstance(draft, ListeningCheck):
            self.given.emit(draft)
