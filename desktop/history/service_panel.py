"""The service record of a deck: a list, a form for a new entry, and what an entry calls for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from types import MappingProxyType
from typing import Any, Final

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QHeaderView,
    QScrollArea,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from core.fitting import new_id
from core.language import Name, Numbers, Quantity, message
from core.maintenance.service_due import done_of
from core.records import Cartridge, Deck, Service, ServicePart
from core.store import Library, LibraryProblem, Stored
from core.workflow import told_of_mat, told_of_mat_by_arm
from desktop.forms.draft_line import DraftLine
from desktop.forms.form import Form
from desktop.forms.form_draft import FormDraft
from desktop.widgets import theme
from desktop.widgets.caution_line import CautionLine
from desktop.widgets.focus_moves import follow_focus
from desktop.widgets.language import local_label, said, told, tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.panels import (
    add_all,
    add_layout,
    announce,
    button,
    column_in,
    framed,
    pick_rows_only,
    text_label,
)
from desktop.widgets.plain_text import plain_tip

_TITLES: Final = (
    message("history.service.day"),
    message("history.service.part"),
    message("history.service.done"),
    message("history.service.next"),
    message("history.service.who"),
)
_DONE: Final = 2
_MOST_LINES: Final = 5
_CAUTIONS: Final = ("maker_first", "unplug")


class ServicePanel(QWidget):
    """What was done to a deck. What is typed stays until it is saved or cancelled."""

    changed = Signal()  # an entry was kept or withdrawn, or the deck's record was changed

    def __init__(
        self,
        library: Library,
        deck_id: str,
        numbers: Numbers,
        messages: Messages,
        *,
        who: str = "",
        today: Callable[[], date] = date.today,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self._deck_id, self._who = library, deck_id, who
        self._numbers, self._messages, self._today = numbers, messages, today
        self._rows: tuple[Stored[Service], ...] = ()
        self._deck: Stored[Deck] | None = None
        self._cartridge: Cartridge | None = None
        self._on_arms: dict[str, Cartridge] = {}
        self._unkept: tuple[Service, str] | None = None
        self._build()
        self.form_draft = FormDraft(
            library, "service", deck_id, self, self.draft_line, who=who, parent=self
        )
        self._connect()

    @property
    def current(self) -> Stored[Service] | None:
        """The entry that is picked."""
        at = self.table.currentRow()
        return self._rows[at] if 0 <= at < len(self._rows) else None

    def show_record(
        self,
        rows: Sequence[Stored[Service]],
        deck: Stored[Deck],
        cartridge: Cartridge | None,
        on_arms: Mapping[str, Cartridge] = MappingProxyType({}),
    ) -> None:
        """Show these entries, newest first; the cartridge is the one on the deck, if any.

        ``on_arms`` are those on its arms by their keys, where it has several.
        """
        before = self.current
        self._rows, self._deck, self._cartridge = tuple(rows), deck, cartridge
        self._on_arms = dict(on_arms)
        self.table.setRowCount(len(self._rows))
        for place, row in enumerate(self._rows):
            for column, text in enumerate(self._cells(row)):
                item = QTableWidgetItem(text)
                item.setToolTip(plain_tip(text))
                self.table.setItem(place, column, item)
        ids = [row.id for row in self._rows]
        if ids:
            wanted = ids.index(before.id) if before and before.id in ids else 0
            self.table.setCurrentCell(wanted, 0)
        self.table.resizeColumnsToContents()
        self.table.horizontalHeader().setSectionResizeMode(_DONE, QHeaderView.ResizeMode.Stretch)
        line = round(theme.em(self) + 10)
        self.table.verticalHeader().setDefaultSectionSize(line)
        self.table.setFixedHeight(line * (min(len(ids), _MOST_LINES) + 1) + 14)
        self.table.setVisible(bool(ids))
        self._nothing.setVisible(not ids)
        self.add_button.setEnabled(not self._library.read_only)
        self._on_moved()

    def has_unsaved(self) -> bool:
        """Whether something is typed."""
        return not self.entry.isHidden() and self.form.typed_raw() is not None

    def ask(self) -> None:
        """Show an empty form for a new entry."""
        if not self.has_unsaved():
            self._empty()
            self.form_draft.offer()
        self.entry.show()
        self.form.start()

    def typed_raw(self) -> Mapping[str, Any] | None:
        """Return what was typed, as JSON holds it, or None."""
        return self.form.typed_raw()

    def type_again(self, raw: Mapping[str, Any]) -> None:
        """Show what :meth:`typed_raw` has returned."""
        self.form.type_again(raw)

    def clear_typed(self) -> None:
        """Show the form as it stands before anybody has typed."""
        self._empty()
        self.form.start()

    def throw_away(self) -> None:
        """Keep nothing of what is typed."""
        self.form_draft.throw_away()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Cancel with Escape while the form is open."""
        if event.key() == Qt.Key.Key_Escape and not self.entry.isHidden():
            self._drop()
        else:
            super().keyPressEvent(event)

    # construction

    def _build(self) -> None:
        column = framed(self, tr("history.service.title"))
        self._nothing = text_label(tr("history.service.none"), "muted")
        self.table = QTableWidget(0, len(_TITLES))
        self.table.setHorizontalHeaderLabels([said(title) for title in _TITLES])
        self.table.setAccessibleName(tr("history.service.newest_first"))
        pick_rows_only(self.table)
        self.table.setWordWrap(False)
        header = self.table.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.asks_for = text_label("", "muted")
        self.add_button = button(tr("history.service.add"), tip=tr("history.service.add_tip"))
        self.withdraw_button = button("", tip=tr("history.service.withdraw_tip"))
        self.mat_button = button("", tip=tr("history.service.mat_tip"))
        self.pictures_button = button(
            tr("history.service.pictures"), keys="Ctrl+I", tip=tr("history.service.pictures_tip")
        )
        row = add_all(QHBoxLayout(), self.add_button, self.withdraw_button, 1, self.pictures_button)
        self.entry = QWidget()
        of_entry = column_in(self.entry)
        self.form = Form(Service, self._numbers)
        self._problem = MessageLine()
        self.keep_button = button(tr("history.service.keep"), primary=True)
        self.drop_button = button(
            tr("history.service.not_now"), tip=tr("history.service.keeps_nothing")
        )
        self.draft_line = DraftLine()
        cautions = [CautionLine(key) for key in _CAUTIONS]
        add_all(of_entry, *cautions, self.draft_line, self.form, self._problem)
        add_layout(of_entry, add_all(QHBoxLayout(), self.keep_button, self.drop_button, 1))
        self.entry.hide()
        add_all(column, self._nothing, self.table, self.asks_for)
        column.addWidget(self.mat_button, 0, Qt.AlignmentFlag.AlignLeft)
        add_all(column, row, self.entry)

    def _connect(self) -> None:
        self.table.currentCellChanged.connect(lambda *_cells: self._on_moved())
        self.add_button.clicked.connect(self.ask)
        self.withdraw_button.clicked.connect(self._withdraw)
        self.mat_button.clicked.connect(self._put_mat)
        self.keep_button.clicked.connect(self.form.submit)
        self.drop_button.clicked.connect(self._drop)
        self.form.submitted.connect(self._keep)
        self.form.refused.connect(self._refuse)
        self.form.draft_changed.connect(lambda: self._problem.say(""))
        self.form.draft_changed.connect(self.form_draft.note)
        # Enter goes from field to field of a form that is taller than a small window.
        self._reveal = QTimer(self, singleShot=True, interval=0)
        self._reveal.timeout.connect(self._bring_into_view)
        follow_focus(self._follow_focus)

    def _cells(self, row: Stored[Service]) -> tuple[str, ...]:
        one = row.thing
        if one.withdrawn:
            due = tr("history.service.withdrawn", day=Name(one.withdrawn))
        else:
            rate = self._deck.thing.hours_a_week if self._deck is not None else None
            on = done_of(one).due_on(rate)
            due = "" if on is None else on.isoformat()
        return one.day, local_label(one.part.label), one.done, due, row.who

    # behaviour

    def _follow_focus(self, now: QWidget | None) -> None:
        if now is not None and self.isAncestorOf(now):
            self._reveal.start()  # once the form is laid out

    def _bring_into_view(self) -> None:
        now, area = QApplication.focusWidget(), self.parentWidget()
        while area is not None and not isinstance(area, QScrollArea):
            area = area.parentWidget()
        if isinstance(area, QScrollArea) and now is not None and self.isAncestorOf(now):
            area.ensureWidgetVisible(now, 0, round(theme.em(self) * 4))

    def _on_moved(self) -> None:
        row = self.current
        can_write = row is not None and not self._library.read_only
        is_withdrawn = row is not None and bool(row.thing.withdrawn)
        self.withdraw_button.setVisible(bool(self._rows))
        self.withdraw_button.setEnabled(can_write)
        self.withdraw_button.setText(
            tr("history.service.count_again") if is_withdrawn else tr("history.service.withdraw")
        )
        words = "" if row is None or is_withdrawn else self._asks_for(row.thing)
        self.asks_for.setText(words)
        self.asks_for.setVisible(bool(words))
        mat_mm = self._new_mat(row.thing) if row is not None and not is_withdrawn else None
        self.mat_button.setVisible(mat_mm is not None and can_write)
        if mat_mm is not None:
            size = Name(self._numbers.value(Quantity(mat_mm, "mm", 1)))
            self.mat_button.setText(tr("history.service.put_mat", size=size))

    def _asks_for(self, one: Service) -> str:
        if one.part is ServicePart.CLAMP:
            return tr("history.service.clamp_loads")
        if self._deck is None or self._cartridge is None:
            return ""
        thicker, deck = one.mat_thicker_mm, self._deck.thing
        if self._on_arms:
            told_of = told_of_mat_by_arm(thicker, deck, self._on_arms)
        else:
            told_of = told_of_mat(thicker, deck, self._cartridge)
        return "\n".join(self._numbers.text(line) for line in told_of)

    def _new_mat(self, one: Service) -> float | None:
        """Return the mat thickness that the deck's record lacks; None if it has it."""
        newest = next(
            (
                row.thing
                for row in self._rows
                if row.thing.mat_after_mm is not None and not row.thing.withdrawn
            ),
            None,
        )
        if self._deck is None or newest is not one:
            return None
        return None if self._deck.thing.platter.mat_mm == one.mat_after_mm else one.mat_after_mm

    def _put_mat(self) -> None:
        row, stored = self.current, self._deck
        if row is None or stored is None:
            return
        platter = stored.thing.platter.model_copy(update={"mat_mm": row.thing.mat_after_mm})
        deck = stored.thing.model_copy(update={"platter": platter})
        try:
            self._library.keep_deck(deck, id=self._deck_id, who=self._who, based_on=stored.revision)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self.changed.emit()
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def _withdraw(self) -> None:
        row = self.current
        if row is None:
            return
        day = "" if row.thing.withdrawn else self._today().isoformat()
        try:
            self._library.service.withdraw(row.id, day, who=self._who)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
        self.changed.emit()

    def _keep(self) -> None:
        draft = self.form.draft()
        if not isinstance(draft, Service):
            return
        service = draft.model_copy(update={"deck": self._deck_id})
        # A retry reuses the id: whatever became of the first attempt, the entry is stored once.
        kept_id = self._unkept[1] if self._unkept and self._unkept[0] == service else new_id()
        self._unkept = service, kept_id
        try:
            with self._library.transaction():
                self._library.service.add(service, kept_id, who=self._who)
                self.form_draft.drop()
        except LibraryProblem as problem:
            self._problem.say(tr("history.service.not_kept", why=Name(told(problem))))
            return
        self.form_draft.forget()
        self._unkept = None
        self._drop()
        self.changed.emit()
        self._pick(kept_id)

    def _pick(self, service_id: str) -> None:
        places = [at for at, row in enumerate(self._rows) if row.id == service_id]
        if places:
            self.table.setCurrentCell(places[0], 0)
            self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def _refuse(self, sentence: str) -> None:
        why = Name(tr("history.hours_form.mend_what_is_marked_above"))
        self._problem.say(tr("history.service.not_kept", why=why))
        announce(self.keep_button, sentence)

    def _empty(self) -> None:
        self.form.put(None)
        self.form.fields.entries["day"].put(self._today().isoformat())
        if self._deck is not None and self._deck.thing.platter.mat_mm is not None:
            self.form.fields.entries["mat_before_mm"].put(self._deck.thing.platter.mat_mm)
        self.form.forget_typing()
        self._problem.say("")

    def _drop(self) -> None:
        self.throw_away()
        self._empty()
        self.entry.hide()
        self.add_button.setFocus(Qt.FocusReason.OtherFocusReason)
