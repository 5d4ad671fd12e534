"""Reports a withdrawn or restored entry, and undoes it."""

from __future__ import annotations

from PySide6.QtCore import QObject

from core.fitting import Entry, Withdrawn
from core.language import Name
from core.workflow.descriptions import described
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages
from desktop.widgets.undo_bar import UndoBar

_LONGEST = 160


class EntryUndo(QObject):
    """The entries of one fitting withdrawn or restored in this window, the last first."""

    def __init__(
        self, controller: FittingController, messages: Messages, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._controller, self._messages = controller, messages
        self._done: list[Entry] = []
        self._is_undoing = False
        self.bar = UndoBar()
        self.bar.undo_wanted.connect(self.undo)
        controller.recorded.connect(self._note)

    def undo(self) -> None:
        """Undo the last act; does nothing without one."""
        if not self._done:
            return
        self._controller.look()
        last = self._done.pop()
        if last.id in self._controller.fitting.withdrawn_ids():
            self.bar.say(tr("wizard.entry_undo.changed_since"), can_undo=bool(self._done))
            return
        self._is_undoing = True
        try:
            sentence = self._controller.record(Withdrawn(entry=last.id))
        finally:
            self._is_undoing = False
        if sentence is not None:
            self._done.append(last)
            self._messages.tell(tr("wizard.step_page.not_in_the_record_yet"), sentence)

    def _note(self, entry: Entry) -> None:
        if not isinstance(entry.body, Withdrawn):
            return
        if not self._is_undoing:
            self._done.append(entry)
        self.bar.say(self._words(entry.body), can_undo=bool(self._done))
        if self._done:  # the button that was pressed is gone
            self.bar.undo_button.setFocus()

    def _words(self, body: Withdrawn) -> str:
        """Return what became of the entry that this withdrawal concerns."""
        counts, entry = False, self._controller.entry(body.entry)
        while entry is not None and isinstance(entry.body, Withdrawn):
            counts, entry = not counts, self._controller.entry(entry.body.entry)
        if entry is None:
            return ""
        said = self._controller.numbers.text(
            described(entry.body, parallel=not self._controller.journey.deck.arm.is_pivoted)
        )
        what = Name(said if len(said) <= _LONGEST else f"{said[: _LONGEST - 1]}…")
        if counts:
            return tr("wizard.entry_undo.counts_again", what=what)
        return tr("wizard.entry_undo.left_out", what=what)
