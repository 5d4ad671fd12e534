"""The draft of a form that is no step's: kept from stroke to stroke, and shown again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from PySide6.QtCore import QObject

from core.store import Library
from core.store.drafts import Draft
from desktop.forms.draft_line import DraftLine
from desktop.tasks.draft_keeper import DraftKeeper


class DraftedForm(Protocol):
    """What a page lets happen to its form."""

    def typed_raw(self) -> Mapping[str, Any] | None:
        """Return what was typed, as JSON holds it, or None."""

    def type_again(self, raw: Mapping[str, Any]) -> None:
        """Show what :meth:`typed_raw` has returned."""

    def clear_typed(self) -> None:
        """Show it as it stands before anybody has typed."""


class FormDraft(QObject):
    """What is typed into one form of a record, as far as it is not saved.

    ``sort`` is what the form is for, ``record_id`` whose it is, empty for a new one; ``form`` tells
    apart several forms of one record. The page calls :meth:`note` whenever something was typed.
    """

    def __init__(
        self,
        library: Library,
        sort: str,
        record_id: str,
        page: DraftedForm,
        line: DraftLine,
        *,
        form: str = "",
        who: str = "",
        parent: QObject,
    ) -> None:
        super().__init__(parent)
        self._sort, self._form, self._page, self._line = sort, form, page, line
        self.keeper = DraftKeeper(library, record_id, of_record=True, who=who, parent=self)
        self._other: Draft | None = None
        line.cleared.connect(self._clear)
        line.wanted.connect(self._take_over)

    def offer(self) -> bool:
        """Show again what was typed before, and say so; return whether something was."""
        mine, others = self.keeper.found(self._sort, self._form)
        self._other = others[-1] if others else None
        if mine:
            self._page.type_again(mine[-1].content)
            self._line.say_typed(mine[-1].at)
        elif self._other is not None:
            self._line.say_elsewhere(self._other.who, self._other.at)
        return bool(mine)

    def note(self) -> None:
        """Note that something was typed."""
        self.keeper.note(self._sort, self._form, self._page.typed_raw)

    def drop(self) -> None:
        """Remove the draft because it is being saved; joins the transaction that saves it."""
        self.keeper.drop(self._sort, self._form)

    def forget(self) -> None:
        """Write no more of it: it is saved."""
        self.keeper.forget(self._sort, self._form)
        self._line.put_away()

    def throw_away(self) -> None:
        """Remove the draft because nobody wants it."""
        self.keeper.discard(self._sort, self._form)
        self._line.put_away()

    def _clear(self) -> None:
        """Empty the form, if the draft can be removed: else it would be shown again."""
        if self.keeper.discard(self._sort, self._form):
            self._page.clear_typed()
            self.keeper.forget(self._sort, self._form)
            self._line.put_away()

    def _take_over(self) -> None:
        """Show a copy of what another window holds; there it stays as it is."""
        other, self._other = self._other, None
        if other is not None:
            self._page.type_again(other.content)
            self.note()
            self._line.put_away()
