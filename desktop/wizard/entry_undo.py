"""Takes back the entries of a fitting, the last first, and reports each that is withdrawn."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from core.fitting import (
    ChoiceMade,
    Entry,
    MoveMade,
    NoteWritten,
    ReadingTaken,
    SkatingAtZero,
    StepAccepted,
    Withdrawn,
)
from core.language import Name
from core.workflow import back_by_hand, described
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages
from desktop.widgets.undo_bar import UndoBar

_LONGEST = 160
_OF_STEPS = (ReadingTaken, MoveMade, ChoiceMade, NoteWritten, StepAccepted)
"""Entries that the list of a step can leave out."""


class EntryUndo(QObject):
    """The entries of one fitting made, withdrawn or restored in this window, the last first."""

    undone = Signal()
    """An entry was taken back: the page stands where it stood before that."""

    def __init__(
        self, controller: FittingController, messages: Messages, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._controller, self._messages = controller, messages
        self._done: list[Entry] = []
        """What can be taken back; after an entry that can't be, nothing before it either."""
        self._is_undoing = False
        self.bar = UndoBar()
        self.bar.undo_wanted.connect(self.undo)
        controller.recorded.connect(self._note)

    def undo(self) -> None:
        """Undo the last act; say so if nothing was done here since the fitting was opened."""
        if not self._done:
            nothing = tr("wizard.entry_undo.nothing")
            if self._controller.fitting.is_finished:
                nothing = tr("wizard.entry_undo.finished")
            self.bar.say(nothing, can_undo=False)
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
        if sentence is None:
            self.undone.emit()
        else:
            self._done.append(last)
            self._messages.tell(tr("wizard.step_page.not_in_the_record_yet"), sentence)

    def _note(self, entry: Entry) -> None:
        if not isinstance(entry.body, Withdrawn):
            if not isinstance(entry.body, (*_OF_STEPS, SkatingAtZero)):
                self._done.clear()
                return
            self._done.append(entry)
            self.bar.put_away()  # what it offers to undo is no longer the last
            return
        if not self._is_undoing:
            self._done.append(entry)
        # "Undo" beside what undoing left out would seem to bring that back.
        offers = bool(self._done) and isinstance(self._done[-1].body, Withdrawn)
        self.bar.say(self._words(entry.body), can_undo=offers)
        if offers:  # the button that was pressed is gone
            self.bar.undo_button.setFocus()

    def _words(self, body: Withdrawn) -> str:
        """Return what became of the entry that this withdrawal concerns."""
        counts, entry = False, self._controller.entry(body.entry)
        while entry is not None and isinstance(entry.body, Withdrawn):
            counts, entry = not counts, self._controller.entry(entry.body.entry)
        if entry is None:
            return ""
        deck = self._controller.journey.deck
        said = self._controller.numbers.text(
            described(entry.body, parallel=not deck.arm.is_pivoted, deck=deck)
        )
        what = Name(said if len(said) <= _LONGEST else f"{said[: _LONGEST - 1]}…")
        if counts:
            return tr("wizard.entry_undo.counts_again", what=what)
        back = back_by_hand(self._controller.fitting, entry.id, deck)
        if back is not None:
            if self._is_undoing:
                return tr("wizard.entry_undo.taken_back_move", what=what, back=back)
            return tr("wizard.entry_undo.left_out_move", what=what, back=back)
        if self._is_undoing and isinstance(entry.body, _OF_STEPS):
            return tr("wizard.entry_undo.taken_back", what=what)
        return tr("wizard.entry_undo.left_out", what=what)
