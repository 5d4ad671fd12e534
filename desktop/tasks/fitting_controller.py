"""One fitting on the bench: where it stands, and the one way to add to its log.

The thin adapter between the library and the screens: it holds what the library says, lets the core
work out the rest, and tells when it has changed. It decides nothing itself.
"""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from core.fitting import Assessment, Body, Entry, Fitting, Reading, new_id
from core.language import Numbers
from core.steps import step_named
from core.store import Library, LibraryProblem
from core.workflow.replay import journey_of
from core.workflow.status import Journey


class FittingController(QObject):
    """One fitting, kept in a library.

    Parameters
    ----------
    library
        Where everything is kept.
    fitting_id
        Which fitting.
    who
        Who stands at the bench; goes into every entry.
    numbers
        How numbers are written.

    Raises
    ------
    LibraryProblem
        If the fitting, its deck or its cartridge can't be read.
    """

    changed = Signal()
    """An entry was kept, or the fitting was read again: the journey is another one."""
    others_added = Signal(object)
    """Entries that another window has added (a tuple of Entry); ``changed`` comes first."""

    def __init__(
        self,
        library: Library,
        fitting_id: str,
        *,
        who: str = "",
        numbers: Numbers | None = None,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._library = library
        self._fitting_id = fitting_id
        self.who = who
        self.numbers = numbers or Numbers()
        self._unkept: tuple[Body, str] | None = None
        self._seen = library.others_wrote()
        self._journey = self._worked_out(library.fitting(fitting_id))

    @property
    def library(self) -> Library:
        """Where everything is kept."""
        return self._library

    @property
    def journey(self) -> Journey:
        """Where every step stands now."""
        return self._journey

    @property
    def fitting(self) -> Fitting:
        """The log."""
        return self._journey.fitting

    def entry(self, entry_id: str) -> Entry | None:
        """Return an entry of the log, or None."""
        return next((entry for entry in self.fitting.entries if entry.id == entry_id), None)

    def record(self, body: Body) -> str | None:
        """Keep an entry.

        Returns
        -------
        str or None
            None once it is durable; else one or two sentences that say why it was not kept and
            what to do. Nothing has changed then.
        """
        # Tried again, an entry keeps its name: whatever the first try came to, it is kept once.
        entry_id = self._unkept[1] if self._unkept and self._unkept[0] == body else new_id()
        before, kept, refusal = self.fitting, None, None
        try:
            # In one transaction: what another window has entered is known when this is judged,
            # and nothing can come between.
            with self._library.transaction():
                self._catch_up()
                refusal = self._journey.refusal(body)
                if refusal is None:
                    kept = self._library.append(
                        self._fitting_id, body, who=self.who, entry_id=entry_id
                    )
        except LibraryProblem as problem:
            self._unkept = (body, entry_id)
            self._tell_of_others(before)
            return f"Not kept: {problem.sentence} {problem.remedy}".strip()
        if kept is None:
            return self._refused(refusal or "", before)
        self._unkept = None
        # From here on the entry is safe, whatever else fails.
        others = self.fitting
        try:
            if self.entry(kept.id) is None:
                self._journey = self._worked_out(others.with_entry(kept))
        except LibraryProblem as problem:
            return f"Kept, but what it changes can't be shown: {problem.sentence} {problem.remedy}"
        self.changed.emit()
        self._name_others(before, others)
        return None

    def look(self) -> str | None:
        """Read the fitting again if another window has written; a sentence if that fails."""
        try:
            before = self.fitting
            self._catch_up()
        except LibraryProblem as problem:
            return f"{problem.sentence} {problem.remedy}".strip()
        self._tell_of_others(before)
        return None

    def while_typing(self, step: str, draft: Reading) -> Assessment:
        """Return what a step would say with a reading that is still being typed."""
        return step_named(step).assess(self._journey.context(step).with_draft(draft))

    def _catch_up(self) -> None:
        """Take over what others have written since the library was last looked at."""
        now = self._library.others_wrote()
        if now is not None and now == self._seen:
            return
        fitting = self._library.fitting(self._fitting_id)
        if fitting != self.fitting:
            self._journey = self._worked_out(fitting)
        self._seen = now

    def _refused(self, refusal: str, before: Fitting) -> str:
        if self.fitting is before:
            return refusal
        self._tell_of_others(before)
        return f"Another window has added to this fitting. {refusal}"

    def _tell_of_others(self, before: Fitting) -> None:
        if self.fitting is not before:
            self.changed.emit()
            self._name_others(before, self.fitting)

    def _name_others(self, before: Fitting, now: Fitting) -> None:
        known = {entry.id for entry in before.entries}
        added = tuple(entry for entry in now.entries if entry.id not in known)
        if now is not before:
            self.others_added.emit(added)

    def _worked_out(self, fitting: Fitting) -> Journey:
        deck_revision, cartridge_revision = fitting.revisions
        deck = self._library.deck(fitting.deck_id, deck_revision)
        cartridge = self._library.cartridge(fitting.cartridge_id, cartridge_revision)
        return journey_of(deck.thing, cartridge.thing, fitting, self.numbers)
