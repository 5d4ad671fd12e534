"""Asks what to do with a fitting whose log in a document differs from the one that is here."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from core.fitting import Fitting
from core.language import Name, Numbers
from core.store.importing import ImportDecision, ImportItem, Logs
from desktop.library.deciding import Decided
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.log_list import LogList
from desktop.widgets.panels import add_all, text_label
from desktop.widgets.plain_text import breakable, one_line

_MOST_SHOWN: Final = 150
"""Entries of each log that are shown, from where the two part."""


class LogsDialog(QDialog):
    """One fitting: what only one of the two logs holds, side by side, with who and when."""

    def __init__(
        self,
        item: ImportItem,
        logs: Logs,
        others: int,
        numbers: Numbers,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.decision: ImportDecision | None = None
        self.setWindowTitle(tr("library.import_export.two_versions_of_a_sort", sort=item.sort))
        name = Name(one_line(item.name))
        lead = text_label(breakable(tr("library.logs_dialog.lead", name=name)))
        same = text_label(tr("library.logs_dialog.same_so_far", count=logs.agreeing), "muted")
        sides = QHBoxLayout()
        self.logs: list[LogList] = []
        for title, fitting in (
            (tr("library.logs_dialog.here"), logs.here),
            (tr("library.logs_dialog.incoming"), logs.incoming),
        ):
            sides.addWidget(self._side(title, _shortened(fitting), fitting, numbers))
        self.same = QCheckBox(tr("library.versions_dialog.same_for_others", others=others))
        self.same.setVisible(others > 0)
        back = QPushButton(tr("library.versions_dialog.import_nothing"))
        back.clicked.connect(self.reject)
        self.mine = QPushButton(tr("library.logs_dialog.keep_mine"))
        self.mine.clicked.connect(lambda: self._decide(ImportDecision.MINE))
        self.both = QPushButton(tr("library.logs_dialog.keep_both"))
        self.both.setProperty("primary", "true")
        self.both.clicked.connect(lambda: self._decide(ImportDecision.BOTH))
        buttons = add_all(QHBoxLayout(), (self.same, 1), back, self.mine, self.both)
        add_all(QVBoxLayout(self), lead, same, (sides, 1), buttons)
        for one in (back, self.mine, self.both):
            one.setAutoDefault(False)
        theme.take_room(self, 60.0, 34.0)
        self.both.setFocus()

    def _side(self, title: str, shown: Fitting, whole: Fitting, numbers: Numbers) -> QWidget:
        inside = QWidget()
        column = QVBoxLayout(inside)
        log = LogList(numbers, shown, title)
        self.logs.append(log)
        column.addWidget(log)
        more = len(whole.entries) - len(shown.entries)
        if more:
            column.addWidget(text_label(tr("library.logs_dialog.and_more", more=more), "muted"))
        column.addStretch(1)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setWidget(inside)
        area.setAccessibleName(title)
        return area

    def _decide(self, decision: ImportDecision) -> None:
        self.decision = decision
        self.accept()


def _shortened(fitting: Fitting) -> Fitting:
    return fitting.model_copy(update={"entries": fitting.entries[:_MOST_SHOWN]})


def ask_which_log(
    window: QWidget | None, item: ImportItem, others: int, numbers: Numbers
) -> Decided | None:
    """Ask in a dialog over the window; None if the person imports nothing."""
    if item.logs is None:
        raise TypeError(f"nothing to decide by in {item.sort} {item.id}")
    dialog = LogsDialog(item, item.logs, others, numbers, window)
    dialog.exec()
    dialog.deleteLater()
    return None if dialog.decision is None else Decided(dialog.decision, dialog.same.isChecked())
