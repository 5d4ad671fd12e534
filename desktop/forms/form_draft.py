"""Drafts of forms outside the steps: kept at every keystroke, and shown again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from PySide6.QtCore import QObject

from core.store import Draft, Library
from desktop.forms.draft_line import DraftLine
from desktop.tasks.draft_keeper import DraftKeeper


class DraftedForm(Protocol):
    """What a page lets be done to its form."""

    def typed_raw(self) -> Mapping[str, Any] | None:
        """Return the input as JSON, or None."""

    def type_again(self, raw: Mapping[str, Any]) -> None:
        """Show the result of :meth:`typed_raw`."""

    def clear_typed(self) -> None:
        """Reset the form to its state before any input."""


class FormDraft(QObject):
    """The unsaved input in one form of a record.

    ``sort`` is the sort of record, ``record_id`` its id, empty for a new one; ``form``
    distinguishes several forms of one record. The page calls :meth:`note` at every input.
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
        """Show an earlier draft again, and say so; return whether there was one."""
        mine, others = self.keeper.found(self._sort, self._form)
        self._other = others[-1] if others else None
        if mine:
            self._page.type_again(mine[-1].content)
            self._line.say_typed(mine[-1].at)
        elif self._other is not None:
            self._line.say_elsewhere(self._other.who, self._other.at)
        return bool(mine)

    def note(self) -> None:
        """Note an input."""
        self.keeper.note(self._sort, self._form, self._page.typed_raw)

    def drop(self) -> None:
        """Remove the draft while saving; joins the saving transaction."""
        self.keeper.drop(self._sort, self._form)

    def forget(self) -> None:
        """Stop keeping the draft: it was saved."""
        self.keeper.forget(self._sort, self._form)
        self._line.put_away()

    def throw_away(self) -> None:
        """Discard the draft."""
        self.keeper.discard(self._sort, self._form)
        self._line.put_away()

    def _clear(self) -> None:
        """Clear the form, if the draft can be removed; otherwise it would come back."""
        if self.keeper.discard(self._sort, self._form):
            self._page.clear_typed()
            self.keeper.forget(self._sort, self._form)
            self._line.put_away()

    def _take_over(self) -> None:
        """Show a copy of another window's draft, which stays there."""
        other, self._other = self._other, None
        if other is not None:
            self._page.type_again(other.content)
            self.note()
            self._line.put_away()
