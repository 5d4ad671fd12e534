"""Drafts of a step's forms: kept at every keystroke, and shown again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, Protocol

from PySide6.QtCore import QObject, SignalInstance

from core.fitting import StepStatus
from core.store import Draft
from desktop.forms.draft_line import DraftLine
from desktop.forms.reading_panel import ReadingPanel
from desktop.tasks.fitting_controller import NEXT_MOVE, OTHER_MOVE, START_MOVE, FittingController


class MoveForm(Protocol):
    """A form for moves."""

    draft_line: DraftLine

    @property
    def typed(self) -> SignalInstance:
        """Emitted when something was changed in it."""

    def typed_raw(self) -> dict[str, Any] | None:
        """Return the changes as JSON, or None."""

    def type_again(self, raw: Mapping[str, Any]) -> bool:
        """Show the result of :meth:`typed_raw`; False if that is impossible now."""

    def clear_typed(self) -> None:
        """Reset it to its state before any input."""


class StepDrafts(QObject):
    """The drafts of one step's page."""

    def __init__(
        self,
        controller: FittingController,
        step: str,
        reading: ReadingPanel,
        open_other_move: Callable[[], MoveForm],
        parent: QObject,
    ) -> None:
        super().__init__(parent)
        self._keeper, self._step = controller.drafts, step
        self._controller, self._reading = controller, reading
        self._open_other_move = open_other_move
        self._moves: dict[str, MoveForm] = {}
        mine, others = self._keeper.found(step)
        self._waiting = mine
        self._mine: dict[str, Draft] = {}
        self._others = {draft.form: draft for draft in others}
        reading.typed_into.connect(self._note_reading)
        reading.way_changed.connect(lambda _way: self._say_of_reading())
        reading.draft_line.cleared.connect(self._clear_reading)
        reading.draft_line.wanted.connect(self._take_over_reading)
        self.destroyed.connect(partial(self._keeper.stop_asking, step))

    def add_move_form(self, name: str, form: MoveForm) -> None:
        """Keep drafts of a form for moves, too."""
        if self._moves.get(name) is form:
            return
        self._moves[name] = form
        form.typed.connect(lambda: self._keeper.note(self._step, name, form.typed_raw))
        form.draft_line.cleared.connect(lambda: self._clear_move(name))
        form.draft_line.wanted.connect(lambda: self._take_over_move(name))

    def refresh(self, *, works: bool) -> None:
        """Restore earlier drafts, once, as far as their forms exist; and say so."""
        for draft in self._waiting if works else ():
            if self._show(draft):
                self._mine[draft.form] = draft
        if works:
            self._waiting = [one for one in self._waiting if one.form not in self._mine]
        kept = [form for form in self._mine if self._keeper.holds(self._step, form)]
        self._mine = {form: self._mine[form] for form in kept}
        self._say_of_reading()
        for name, form in self._moves.items():
            self._say_of(form.draft_line, name, is_typed=form.typed_raw() is not None)

    def _show(self, draft: Draft) -> bool:
        if draft.form == OTHER_MOVE:
            return self._open_other_move().type_again(draft.content)
        form = self._moves.get(draft.form)
        if form is not None:
            return form.type_again(draft.content)
        return draft.form != START_MOVE and self._reading.type_again(draft.form, draft.content)

    def _note_reading(self, way: str) -> None:
        self._keeper.note(self._step, way, partial(self._reading.typed_raw, way))

    def _say_of_reading(self) -> None:
        way = self._reading.way
        is_typed = self._reading.typed_raw(way) is not None
        self._say_of(self._reading.draft_line, way, is_typed=is_typed)

    def _say_of(self, line: DraftLine, form: str, *, is_typed: bool) -> None:
        other = self._others.get(form)
        if form in self._mine:
            line.say_typed(self._mine[form].at)
        elif other is not None and not is_typed:
            line.say_elsewhere(other.who, other.at)
        else:
            line.put_away()

    def _clear_reading(self) -> None:
        way = self._reading.way
        if self._forget(way):
            self._reading.clear_typed(self._status.trials)
            self._keeper.forget(self._step, way)
            self._say_of_reading()
            self._reading.start_typing()

    def _clear_move(self, name: str) -> None:
        if self._forget(name):
            self._moves[name].clear_typed()
            self._keeper.forget(self._step, name)
            self.refresh(works=True)

    def _forget(self, form: str) -> bool:
        """Remove a draft; if that fails, don't clear the form either."""
        if not self._keeper.discard(self._step, form):
            return False
        self._mine.pop(form, None)
        return True

    def _take_over_reading(self) -> None:
        """Show a copy of another window's draft, which stays there."""
        way = self._reading.way
        other = self._others.pop(way, None)
        if other is not None and self._reading.type_again(way, other.content):
            self._note_reading(way)
            self._say_of_reading()
            self._reading.start_typing()

    def _take_over_move(self, name: str) -> None:
        other = self._others.pop(name, None)
        if other is not None and self._moves[name].type_again(other.content):
            self._keeper.note(self._step, name, self._moves[name].typed_raw)
            self.refresh(works=True)

    @property
    def _status(self) -> StepStatus:
        return self._controller.journey.status(self._step)


__all__ = ["NEXT_MOVE", "OTHER_MOVE", "START_MOVE", "MoveForm", "StepDrafts"]
