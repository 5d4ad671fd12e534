"""The skating compensation that is at 0 for weighing: what it was set to, and a line to tick."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from core.fitting import SkatingAtZero
from core.language import Numbers
from core.workflow import SetBack
from desktop.forms.form import Form
from desktop.widgets.caution_line import SIGN
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_all, announce, button, framed, set_shown
from desktop.widgets.wrapping_buttons import WrappedBox


class SetBackPanel(QWidget):
    """A line that stays until it is ticked; a field for the setting, if nobody said it yet."""

    given = Signal(object)
    """The person saves this ``SkatingAtZero``."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self.form: Form | None = None
        self._open: SetBack | None = None
        column = framed(self, tr("wizard.set_back_panel.title"))
        self._place = QHBoxLayout()
        self._problem = MessageLine()
        self.keep_button = button(
            tr("wizard.set_back_panel.keep"), tip=tr("wizard.set_back_panel.keeps")
        )
        self.tick = WrappedBox("")
        self.keep_button.clicked.connect(self.keep)
        self.tick.clicked.connect(self._give_back)
        row = add_all(QHBoxLayout(), self.keep_button, 1)
        add_all(column, self._place, self._problem, row, self.tick)
        self.hide()

    def show_open(self, open_now: SetBack | None) -> None:
        """Show what is to be set back, and nothing once it is."""
        set_shown(self, shown=open_now is not None)
        self._open = open_now
        if open_now is None:
            return
        said = self._numbers.text(open_now.said)
        self.tick.say(f"{SIGN} {said}")
        self.tick.setAccessibleName(said)
        self.untick()
        is_asked = open_now.was is None
        if is_asked and self.form is None:
            self.form = Form(SkatingAtZero, self._numbers, units=open_now.units)
            self.form.submitted.connect(self.keep)
            self.form.refused.connect(self._refuse)
            self._place.addWidget(self.form)
        if self.form is not None:
            set_shown(self.form, shown=is_asked)
        set_shown(self.keep_button, shown=is_asked)

    def untick(self) -> None:
        """Take the tick away: it is not set back, or that was not kept."""
        self.tick.setChecked(False)

    def has_unsaved(self) -> bool:
        """Whether a setting is typed and not saved."""
        form = self.form
        asked = form is not None and not form.isHidden() and not self.isHidden()
        return asked and form is not None and form.typed_raw() is not None

    def keep_typed(self) -> None:
        """Save what is typed, if anything is."""
        if self.has_unsaved():
            self.keep()

    def keep(self) -> None:
        """Save the setting as typed."""
        if self.has_unsaved():
            self._give(is_back=False)

    def _give_back(self) -> None:
        self._give(is_back=True)

    def _give(self, *, is_back: bool) -> None:
        typed = (
            self.form.draft() if self.form is not None and self.has_unsaved() else SkatingAtZero()
        )
        if not isinstance(typed, SkatingAtZero):
            self._refuse(tr("forms.form.marked_above"))
            self.untick()
            return
        self._problem.say("")
        if self.form is not None:
            self.form.put(None)
        if is_back and self._open is not None:
            setting = self._open.was if typed.was is None else typed.was
            known = {"was": setting} if self._open.anew else {"back_to": setting}
            typed = typed.model_copy(update={"is_back": True, **known})
        self.given.emit(typed)

    def _refuse(self, sentence: str) -> None:
        """Say that the setting can't be kept as typed; it stays."""
        self._problem.say(tr("forms.form.marked_above"))
        announce(self.keep_button, sentence)
