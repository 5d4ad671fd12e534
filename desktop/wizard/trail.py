"""All entries of a step, newest first, each of which can be withdrawn."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from core.fitting import Entry, Fitting, MoveMade, Withdrawn
from core.language import Name, Numbers
from core.records import Deck
from core.workflow import described_entry
from desktop.forms.move_panel import OTHER_MOVE_TIP
from desktop.widgets import theme
from desktop.widgets.flow_row import FlowRow
from desktop.widgets.language import said, tr
from desktop.widgets.page_turner import PageTurner
from desktop.widgets.panels import (
    add_all,
    add_layout,
    button,
    clear_layout,
    framed,
    heading,
    text_label,
)

_AT_ONCE: Final = 20
"""Rows a page: a row is half a dozen widgets, and a log may have thousands."""


class Trail(QWidget):
    """The entries of one step, or the notes of the whole fitting for the step named ''."""

    withdrawn = Signal(str)
    """Withdraw the entry with this id."""
    restored = Signal(str)
    """Withdraw the withdrawal with this id, so that the entry counts again."""
    noted = Signal(str)
    """Save this text as a note."""
    other_wanted = Signal()
    """The person made an unplanned move."""

    def __init__(self, step: str, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._step = step
        self._numbers = numbers
        self._shown: tuple[str, ...] | None = None
        self._is_open, self._parallel = True, False
        self._deck: Deck | None = None
        self._fitting: Fitting | None = None
        self._mine: list[Entry] = []
        column = framed(self)
        title = heading(
            tr("wizard.trail.readings_and_moves_so_far") if step else tr("wizard.trail.notes")
        )
        title.setWordWrap(False)  # the button goes below it instead
        self._other_button = button(
            tr("wizard.trail.record_another_move"),
            keys="Ctrl+Shift+M",
            tip=said(OTHER_MOVE_TIP),
            quiet=True,
        )
        self._other_button.clicked.connect(self.other_wanted)
        column.addWidget(FlowRow((title, self._other_button)))
        if not step:
            self._other_button.hide()
        self._none = text_label(tr("wizard.trail.nothing_yet"), "muted")
        column.addWidget(self._none)
        self._rows = QVBoxLayout()
        self._rows.setSpacing(round(theme.em(self) * 0.3))
        add_layout(column, self._rows)
        self.turner = PageTurner(_AT_ONCE)
        self.turner.turned.connect(self._show_part)
        column.addWidget(self.turner)
        row = QHBoxLayout()
        self.note_line = QLineEdit()
        self.note_line.setMaxLength(4000)
        self.note_line.setPlaceholderText(tr("wizard.trail.a_note_for_the_record"))
        self.note_line.setAccessibleName(tr("wizard.trail.a_note_for_the_record"))
        self.note_line.returnPressed.connect(self.keep_note)
        self._note_button = button(tr("wizard.trail.add_note"))
        self._note_button.clicked.connect(self.keep_note)
        add_all(row, (self.note_line, 1), self._note_button)
        add_layout(column, row)

    def show_fitting(
        self, fitting: Fitting, *, is_open: bool, parallel: bool = False, deck: Deck | None = None
    ) -> None:
        """Show the entries of a fitting; if ``is_open`` is False none can be withdrawn.

        ``parallel`` asks for the words of a parallel-tracking arm; ``deck`` says in which unit its
        scales are marked.
        """
        marks = (*(entry.id for entry in fitting.entries), str(is_open))
        if marks == self._shown:
            return
        self._shown = marks
        self._is_open, self._parallel, self._deck = is_open, parallel, deck
        self._other_button.setVisible(is_open and bool(self._step))
        self._fitting = fitting
        self._mine = [entry for entry in fitting.entries if self._belongs(entry)]
        self.turner.show_count(len(self._mine))
        self._show_part()
        self._none.setVisible(not self._mine)

    def _show_part(self) -> None:
        if self._fitting is None:
            return
        clear_layout(self._rows)
        gone, aside = _withdrawals(self._fitting), self._fitting.set_aside_ids()
        counted = {entry.id: entry for entry in self._fitting.counting()}
        for entry in reversed(self._mine[self.turner.part]):
            words = self._numbers.text(
                described_entry(entry, counted, parallel=self._parallel, deck=self._deck)
            )
            is_aside = entry.id in aside
            self._rows.addWidget(self._row(entry, words, gone.get(entry.id), is_aside=is_aside))

    def clear_note(self) -> None:
        """Clear the note line after the note was saved."""
        self.note_line.clear()

    def _belongs(self, entry: Entry) -> bool:
        if isinstance(entry.body, Withdrawn):
            return False
        if not self._step:
            return getattr(entry.body, "step", None) == ""
        return getattr(entry.body, "step", None) == self._step

    def _row(self, entry: Entry, text: str, withdrawal: Entry | None, *, is_aside: bool) -> QWidget:
        row = QWidget()
        line = QHBoxLayout(row)
        line.setContentsMargins(0, 0, 0, 0)
        when = entry.at.astimezone().strftime("%Y-%m-%d %H:%M")
        signed = f"{when}, {entry.who}" if entry.who else when
        counts = withdrawal is None and not is_aside
        if withdrawal is not None and isinstance(entry.body, MoveMade):
            text_shown = tr("wizard.trail.left_out_move", text=Name(text))
        elif withdrawal is not None:
            text_shown = tr("wizard.trail.left_out", text=Name(text))
        else:
            text_shown = tr("wizard.trail.other_arm", text=Name(text)) if is_aside else text
        said = text_label(text_shown, "" if counts else "muted")
        if not counts:
            font = said.font()
            font.setStrikeOut(True)
            said.setFont(font)
        column = QVBoxLayout()
        column.setSpacing(0)
        add_all(column, said, text_label(signed, "muted"))
        add_layout(line, column, 1)
        row.setAccessibleName(f"{said.text()} ({signed})")
        if self._is_open and not is_aside:
            line.addWidget(self._button(entry, withdrawal, text), 0, Qt.AlignmentFlag.AlignTop)
        return row

    def _button(self, entry: Entry, withdrawal: Entry | None, text: str) -> QWidget:
        if withdrawal is not None:
            back = button(tr("wizard.trail.counts_again"), quiet=True)
            back.setAccessibleName(tr("wizard.trail.counts_again_text", text=Name(text)))
            back.clicked.connect(lambda: self.restored.emit(withdrawal.id))
            return back
        gone = button(
            tr("wizard.trail.does_not_count"),
            tip=tr("wizard.trail.withdraws_the_entry_it_stays"),
            quiet=True,
        )
        gone.setAccessibleName(tr("wizard.trail.does_not_count_text", text=Name(text)))
        gone.clicked.connect(lambda: self.withdrawn.emit(entry.id))
        return gone

    def keep_note(self) -> None:
        """Ask for the typed note to be saved, if there is one."""
        text = self.note_line.text().strip()
        if text:
            self.noted.emit(text)


def _withdrawals(fitting: Fitting) -> dict[str, Entry]:
    """Return for every withdrawn entry its effective withdrawal."""
    gone = fitting.withdrawn_ids()
    return {
        entry.body.entry: entry
        for entry in fitting.entries
        if isinstance(entry.body, Withdrawn) and entry.id not in gone
    }
