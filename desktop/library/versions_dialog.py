"""Asks which version of a record to keep where a document differs from the library."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QCheckBox, QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from core.language import Name, Numbers
from core.store.differences import Side
from core.store.importing import FieldsChosen, ImportDecision
from desktop.library.deciding import Decided
from desktop.library.two_versions import TwoVersions, Version, made_words
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, text_label
from desktop.widgets.plain_text import breakable, one_line

if TYPE_CHECKING:
    from core.store.importing import ImportItem, Versions


class VersionsDialog(QDialog):
    """One record: what is here beside what came in, a choice for each field."""

    def __init__(
        self,
        item: ImportItem,
        versions: Versions,
        others: int,
        numbers: Numbers,
        who: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.decided: Decided | None = None
        self._who = who
        self.setWindowTitle(tr("library.import_export.two_versions_of_a_sort", sort=item.sort))
        lead = text_label(
            breakable(tr("library.versions_dialog.lead", name=Name(one_line(item.name))))
        )
        here, incoming = versions.here, versions.incoming
        self.versions = TwoVersions(
            Version(
                tr("library.versions_dialog.here"),
                made_words(here.revision, here.at, here.who),
                tr("library.versions_dialog.changed_here"),
                tr("library.versions_dialog.take_here"),
                here.thing,
            ),
            Version(
                tr("library.versions_dialog.incoming"),
                made_words(incoming.revision, incoming.at, incoming.who),
                tr("library.versions_dialog.changed_there"),
                tr("library.versions_dialog.take_incoming"),
                incoming.thing,
            ),
            numbers,
            versions.common,
            dict(versions.named),
        )
        self.status = text_label()
        self.status.setObjectName("versionsStatus")
        self.same = QCheckBox(tr("library.versions_dialog.same_for_others", others=others))
        self.same.setObjectName("versionsSame")
        self.same.setVisible(others > 0)
        back = QPushButton(tr("library.versions_dialog.import_nothing"))
        back.setObjectName("versionsBack")
        back.setAutoDefault(False)
        back.clicked.connect(self.reject)
        both = QPushButton(tr("library.versions_dialog.keep_both"))
        both.setObjectName("versionsBoth")
        both.setAutoDefault(False)
        both.clicked.connect(lambda: self._decide(ImportDecision.BOTH))
        both.setVisible(item.is_decided_by(ImportDecision.BOTH))
        self.keep = QPushButton(tr("library.versions_dialog.keep_chosen"))
        self.keep.setObjectName("versionsSave")
        self.keep.setProperty("primary", "true")
        self.keep.setAutoDefault(False)
        self.keep.clicked.connect(self._keep)
        bottom = add_all(QHBoxLayout(), (self.same, 1), back, both, self.keep)
        add_all(QVBoxLayout(self), lead, (self.versions, 1), self.status, bottom)
        self.versions.chosen.connect(self._mark)
        self.versions.entered.connect(self.keep.setFocus)
        self.same.toggled.connect(self._mark)
        theme.take_room(self, 60.0, 34.0)
        self._mark()
        self.versions.begin()

    def _mark(self) -> None:
        why_not = self.versions.why_not()
        if not why_not and self.same.isChecked() and self.versions.only_side() is None:
            why_not = tr("library.versions_dialog.not_for_others")
        self.status.setText(breakable(why_not))
        self.keep.setEnabled(not why_not)

    def _keep(self) -> None:
        side = self.versions.only_side()
        if side is None:
            self._decide(FieldsChosen(self.versions.thing(), self._who))
        else:
            self._decide(ImportDecision.MINE if side is Side.HERE else ImportDecision.THEIRS)

    def _decide(self, decision: ImportDecision | FieldsChosen) -> None:
        self.decided = Decided(decision, self.same.isChecked())
        self.accept()


def ask_which(
    window: QWidget | None, item: ImportItem, others: int, numbers: Numbers, who: str
) -> Decided | None:
    """Ask in a dialog over the window; None if the person imports nothing."""
    if item.versions is None:
        raise TypeError(f"nothing to choose from field by field in {item.sort} {item.id}")
    dialog = VersionsDialog(item, item.versions, others, numbers, who, window)
    dialog.exec()
    dialog.deleteLater()
    return dialog.decided
