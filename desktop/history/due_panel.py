"""What is due on a deck: signs, sentences, what to do."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from core.fitting import StepState, Verdict
from core.language import Name, Numbers
from core.maintenance.model import Due, Urgency
from desktop.widgets import theme
from desktop.widgets.language import local_label, tr
from desktop.widgets.panels import (
    add_all,
    add_layout,
    button,
    clear_layout,
    framed,
    heading,
    text_label,
)
from desktop.widgets.plain_text import plain_tip
from desktop.widgets.verdict_badge import Badge
from desktop.widgets.verdict_signs import Sign

_SIGNS: Final[dict[Urgency, Sign]] = {
    Urgency.DUE: StepState.CHECK_AGAIN,
    Urgency.SOON: Verdict.READ_AGAIN,
    Urgency.WATCH: Verdict.READ_AGAIN,
    Urgency.LATER: Verdict.GOOD,
    Urgency.STEADY: Verdict.GOOD,
    Urgency.UNDATED: Verdict.NO_READING,
}


class DuePanel(QWidget):
    """One row for each thing that falls due."""

    same_wanted = Signal()
    """The person wants a fitting with the cartridge that is on the deck, or to go on with it."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._say = numbers.text
        self._column = framed(self)
        self._rows = QVBoxLayout()
        self._rows.setSpacing(round(theme.em(self) * 0.35))
        add_layout(self._column, self._rows)
        self.same_button = button("")
        self.same_button.hide()
        self.same_button.clicked.connect(self.same_wanted)
        self._column.addWidget(self.same_button, 0, Qt.AlignmentFlag.AlignLeft)

    def offer_same(self, cartridge: str, *, goes_on: bool) -> None:
        """Offer a fitting with the cartridge on the deck, or to go on with one in progress."""
        text, tip = (
            (tr("history.due_panel.go_on"), tr("history.due_panel.go_on_tip"))
            if goes_on
            else (
                tr("history.due_panel.same_again"),
                tr("history.due_panel.same_again_tip", cartridge=Name(cartridge)),
            )
        )
        self.same_button.setText(text)
        self.same_button.setToolTip(plain_tip(tip))
        self.same_button.setAccessibleDescription(tip)
        self.same_button.show()

    def show_dues(self, dues: tuple[Due, ...], none: str) -> None:
        """Show these, or ``none`` if there are none."""
        clear_layout(self._rows)
        for due in dues:
            self._rows.addWidget(self._row(due))
        if not dues:
            self._rows.addWidget(text_label(none, "muted"))

    def _row(self, due: Due) -> QWidget:
        row = QWidget()
        line = theme.em(self)
        across = QHBoxLayout(row)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(round(line * 0.5))
        badge = Badge(_SIGNS[due.status], round(line * 1.4))
        badge.setAccessibleName(local_label(due.status.label))
        across.addWidget(badge, 0, Qt.AlignmentFlag.AlignTop)
        said = QVBoxLayout()
        said.setSpacing(0)
        title, sentence, do = (self._say(one) for one in (due.title, due.sentence, due.to_do))
        add_all(said, heading(title, 1.05), text_label(sentence))
        if do:
            to_do = text_label(f"→ {do}")
            to_do.setFont(theme.scaled(to_do.font(), 1.0, bold=True))
            said.addWidget(to_do)
        add_layout(across, said, 1)
        row.setAccessibleName(f"{title}. {sentence} {do}".strip())
        return row
