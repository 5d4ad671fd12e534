"""The controller of one fitting: its state, and the only way to add to its log.

A thin adapter between the library and the screens: it holds the log, lets the core replay it, and
signals changes. It decides nothing itself.
"""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject, Signal

from core.fitting import (
    Assessment,
    Body,
    Entry,
    Fitting,
    Journey,
    MoveMade,
    Reading,
    ReadingTaken,
    new_id,
)
from core.language import Name, Numbers, shown
from core.records import Deck, RecordPlayed
from core.steps import step_named
from core.steps.shared import HeardSound
from core.store import Library, LibraryProblem
from core.workflow import (
    OtherArmWork,
    as_asked,
    journey_of,
    minding_loose,
    told_as_set,
    why_refused,
)
from desktop.tasks.draft_keeper import DraftKeeper
from desktop.widgets.language import told, tr

NEXT_MOVE: Final = "next move"
START_MOVE: Final = "start move"
OTHER_MOVE: Final = "other move"
MOVE_FORMS: Final = (NEXT_MOVE, START_MOVE, OTHER_MOVE)
"""The forms for moves by the names under which drafts of them are kept; no way is called so."""


class FittingController(QObject):
    """One fitting, kept in a library.

    Raises LibraryProblem if the fitting, its deck or its cartridge can't be read.
    """

    changed = Signal()
    """An entry was kept, or the fitting was read again: the state changed."""
    recorded = Signal(object)
    """This window has stored an entry (the Entry); ``changed`` comes first."""
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
        self.library = library
        self._fitting_id = fitting_id
        self.who = who
        self.numbers = numbers or Numbers()
        self._unkept: tuple[Body, str] | None = None
        self._data_version = library.others_wrote()
        self.journey = self._worked_out(library.fitting(fitting_id))
        self.drafts = DraftKeeper(library, fitting_id, who=who, parent=self)

    @property
    def fitting(self) -> Fitting:
        """The log."""
        return self.journey.fitting

    def entry(self, entry_id: str) -> Entry | None:
        """Return an entry of the log, or None."""
        return next((entry for entry in self.fitting.entries if entry.id == entry_id), None)

    def record(self, body: Body, *, page: str = "") -> str | None:
        """Store an entry; what was typed for it into the forms of its step is no draft any more.

        ``page`` is the step on whose page it was typed, if that is another than the entry's.
        Returns None once it is durable; otherwise a sentence that says why it was not stored and
        what to do, and nothing has changed.
        """
        # A retry reuses the id: whatever became of the first attempt, the entry is stored once.
        entry_id = self._unkept[1] if self._unkept and self._unkept[0] == body else new_id()
        typed_in = _forms_of(body, page)
        before, kept, refusal = self.fitting, None, None
        try:
            # In one transaction: entries of another window are known when this one is judged,
            # and none can come between.
            with self.library.transaction():
                self._catch_up()
                refusal = why_refused(self.journey, body)
                if refusal is None:
                    kept = self.library.append(
                        self._fitting_id, body, who=self.who, entry_id=entry_id
                    )
                    for form in typed_in:
                        self.drafts.drop(*form)
        except LibraryProblem as problem:
            self._unkept = (body, entry_id)
            self._tell_of_others(before)
            return tr(
                "tasks.fitting_controller.not_kept_sentence_remedy",
                sentence=shown(problem.what),
                remedy=shown(problem.todo),
            ).strip()
        if kept is None:
            return self._refused(self.numbers.text(refusal or ""), before)
        self._unkept = None
        # From here on the entry is stored, whatever else fails.
        for form in typed_in:
            self.drafts.forget(*form)
        others = self.fitting
        try:
            if self.entry(kept.id) is None:
                self.journey = self._worked_out(others.with_entry(kept))
        except LibraryProblem as problem:
            return tr(
                "tasks.fitting_controller.kept_but_what_it_changes",
                sentence=shown(problem.what),
                remedy=shown(problem.todo),
            )
        self.changed.emit()
        self.recorded.emit(kept)
        self._name_others(before, others)
        return None

    def look(self) -> str | None:
        """Read the fitting again if another window has written; a sentence if that fails."""
        shown, before = self.journey, self.fitting
        try:
            self._catch_up()
        except LibraryProblem as problem:
            return told(problem)
        self._tell_of_others(before)
        if self.fitting is before and self.journey is not shown:
            self.changed.emit()
        return None

    def while_typing(self, step: str, draft: Reading) -> Assessment:
        """Assess a step with a reading that is still being typed."""
        context = self.journey.context(step).with_draft(draft)
        said = told_as_set(step_named(step).assess(context), context)
        return as_asked(minding_loose(said, context), self.fitting.work)

    def records_to_play(self) -> tuple[tuple[RecordPlayed, ...], RecordPlayed | None]:
        """Return the library's test records, and the one that usually plays on this deck.

        That is the one of the last sound that was read here, else the one its bench kit remembers.
        """
        heard = [
            (trial.at, recorded.record)
            for status in self.journey.statuses
            for trial in status.trials
            if trial.at is not None
            and isinstance(recorded := getattr(trial.reading, "recorded", None), HeardSound)
        ]
        try:
            records = self.library.records_to_play()
            if heard:
                return records, max(heard, key=lambda one: one[0])[1]
            return records, self.library.deck(self.fitting.deck_id).thing.bench.played
        except LibraryProblem:
            return (), None  # keeping a reading says what is wrong

    def remember_played(self, reading: Reading) -> None:
        """Let the deck's bench kit remember which test record was played."""
        recorded = getattr(reading, "recorded", None)
        if not isinstance(recorded, HeardSound):
            return
        try:
            self.library.remember_played(self.fitting.deck_id, recorded.record, who=self.who)
        except LibraryProblem:
            return  # the reading is kept; only what is chosen beforehand next time depends on it

    def _catch_up(self) -> None:
        """Read what others have written since the last check."""
        now = self.library.others_wrote()
        if now is not None and now == self._data_version:
            return
        fitting = self.library.fitting(self._fitting_id)
        if fitting != self.fitting:
            self.journey = self._worked_out(fitting)
        elif self.journey.arm is not None:  # other fittings may have moved the deck itself
            self.journey = self._worked_out(self.fitting)
        self._data_version = now

    def _refused(self, refusal: str, before: Fitting) -> str:
        if self.fitting is before:
            return refusal
        self._tell_of_others(before)
        return tr("tasks.fitting_controller.another_window_has_added_to", refusal=Name(refusal))

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
        deck = self.library.deck(fitting.deck_id, deck_revision)
        cartridge = self.library.cartridge(fitting.cartridge_id, cartridge_revision)
        elsewhere = () if fitting.is_finished else self._elsewhere(deck.thing, fitting)
        return journey_of(deck.thing, cartridge.thing, fitting, elsewhere=elsewhere)

    def _elsewhere(self, deck: Deck, fitting: Fitting) -> tuple[OtherArmWork, ...]:
        """Return what was done to the deck itself in fittings on its other arms."""
        if not deck.further_arms:
            return ()
        from core.swap import work_elsewhere  # few decks have several arms

        return work_elsewhere(self.library, deck, fitting)


def _forms_of(body: Body, page: str) -> list[tuple[str, str]]:
    """Return the forms, by step and name, whose drafts end with an entry."""
    if isinstance(body, ReadingTaken):
        return [(body.step, str(body.reading.get("way", "")))]
    return [(page or body.step, form) for form in MOVE_FORMS] if isinstance(body, MoveMade) else []
