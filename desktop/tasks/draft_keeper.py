"""Keeps what is typed into the forms of one fitting or record: a killed program shows it again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Any, Final

from PySide6.QtCore import QElapsedTimer, QObject, QTimer

from core.store import Draft, Library, LibraryProblem
from desktop.tasks.window_mark import WindowMark, may_be_there

AFTER_MS: Final = 400
"""So long after the last stroke a draft is written."""
_LONGEST_MS: Final = 2_000
"""After so long it is written in the middle of typing."""

Collect = Callable[[], Mapping[str, Any] | None]
"""Returns what stands in a form, None if nothing is typed there."""


class DraftKeeper(QObject):
    """The drafts of one fitting, or of one record's forms, as far as they are this window's.

    A stroke costs no more than a note that something was typed. What can't be written, because
    another window is writing or the disk is full, is tried again at the next stroke.
    """

    def __init__(
        self,
        library: Library,
        owner_id: str,
        *,
        of_record: bool = False,
        who: str = "",
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self._owner_id = library, owner_id
        self._drafts = library.form_drafts if of_record else library.drafts
        self.who = who
        mark = self._mark = WindowMark()
        self.destroyed.connect(mark.take_down)
        self._waiting: dict[tuple[str, str], Collect] = {}
        self._kept: dict[tuple[str, str], Mapping[str, Any]] = {}
        self._since = QElapsedTimer()
        self._timer = QTimer(self, singleShot=True, interval=AFTER_MS)
        self._timer.timeout.connect(self.flush)

    def found(self, step: str, form: str | None = None) -> tuple[list[Draft], list[Draft]]:
        """Return what is typed and not saved in a step's forms: this window's, and of others.

        With ``form``, of that form alone.

        What was left behind by a window that is gone becomes this window's, of each form what was
        typed last. Oldest first.
        """
        if self._library.read_only:
            return [], []
        mine: dict[str, Draft] = {}
        others: list[Draft] = []
        try:
            for draft in reversed(self._drafts.of(self._owner_id, step)):
                if form is not None and draft.form != form:
                    continue
                if draft.window == self._mark.name:
                    mine[draft.form] = draft
                elif may_be_there(draft.window):
                    others.append(draft)
                elif draft.form not in mine:
                    self._mark.put_up()
                    claimed = self._drafts.claim(draft, self._mark.name)
                    if claimed is not None:
                        mine[draft.form] = claimed
        except LibraryProblem:
            return [], []  # a reading that is saved says what is wrong
        self._kept |= {(step, form): one.content for form, one in mine.items()}
        return list(mine.values())[::-1], others[::-1]

    def note(self, step: str, form: str, collect: Collect) -> None:
        """Note that something was typed into a form; it is asked for what later."""
        if self._library.read_only:
            return
        if not self._waiting:
            self._since.start()
        self._waiting[step, form] = collect
        if not self._timer.isActive() or self._since.elapsed() < _LONGEST_MS:
            self._timer.start()

    def flush(self) -> None:
        """Write what waits, now."""
        self._timer.stop()
        for (step, form), collect in list(self._waiting.items()):
            content = collect()
            try:
                if content is None:
                    self.drop(step, form)
                    self._kept.pop((step, form), None)
                elif content != self._kept.get((step, form)):
                    self._keep(step, form, content)
            except LibraryProblem:
                continue
            self._waiting.pop((step, form), None)

    def drop(self, step: str, form: str) -> None:
        """Remove a form's draft; LibraryProblem if that can't be. Joins a transaction."""
        if (step, form) in self._kept:
            self._drafts.drop(self._owner_id, step, form, self._mark.name)

    def forget(self, step: str, form: str) -> None:
        """Write no more of what was typed into a form so far: it was saved, or cleared."""
        self._waiting.pop((step, form), None)
        self._kept.pop((step, form), None)

    def holds(self, step: str, form: str) -> bool:
        """Whether there is a draft of this window's for a form."""
        return (step, form) in self._kept

    def discard(self, step: str, form: str) -> bool:
        """Remove a form's draft because it is not wanted; False if that can't be now."""
        try:
            self.drop(step, form)
        except LibraryProblem:
            return False
        self.forget(step, form)
        return True

    def stop_asking(self, step: str) -> None:
        """Ask no form of a step any more: they are about to go."""
        for one in [key for key in self._waiting if key[0] == step]:
            del self._waiting[one]

    def throw_away(self) -> None:
        """Remove every draft of this window."""
        for step, form in list(self._kept.keys() | self._waiting.keys()):
            self.discard(step, form)

    def leave(self) -> None:
        """Write what waits and leave it for whichever window opens the fitting next."""
        self.flush()
        self._mark.take_down()

    def _keep(self, step: str, form: str, content: Mapping[str, Any]) -> None:
        self._mark.put_up()
        now = datetime.now(UTC)
        self._drafts.keep(
            Draft(self._owner_id, step, form, self._mark.name, now, self.who, content)
        )
        self._kept[step, form] = content
