"""Shown over a form whose record was changed in another window meanwhile."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from core.language import Name, Numbers
from core.records import AnyRecord, name_of
from core.store import LibraryProblem, Stored
from desktop.library.two_versions import TwoVersions, Version, made_words
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.panels import add_all, text_label
from desktop.widgets.plain_text import breakable, one_line


class ChangedElsewhere(QWidget):
    """What is typed beside what is on file, until the person saves a choice or goes back."""

    save_wanted = Signal(object)
    """The record as chosen."""
    back_wanted = Signal()
    """The person goes on typing."""

    def __init__(
        self,
        typed: AnyRecord,
        on_file: Stored[Any],
        begun: AnyRecord | None,
        numbers: Numbers,
        messages: Messages,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._messages = messages
        self.setAccessibleName(tr("library.changed_elsewhere.title"))
        lead = text_label(
            breakable(
                tr(
                    "library.changed_elsewhere.lead",
                    noun=type(typed).__name__.lower(),
                    name=Name(one_line(name_of(on_file.thing))),
                )
            )
        )
        self.versions = TwoVersions(
            Version(
                tr("library.changed_elsewhere.yours"),
                tr("library.changed_elsewhere.typed_here"),
                tr("library.changed_elsewhere.you_changed"),
                tr("library.changed_elsewhere.take_yours"),
                typed,
            ),
            Version(
                tr("library.changed_elsewhere.on_file"),
                made_words(on_file.revision, on_file.at, on_file.who),
                tr("library.changed_elsewhere.other_changed"),
                tr("library.changed_elsewhere.take_on_file"),
                on_file.thing,
            ),
            numbers,
            begun,
        )
        self.status = text_label()
        self.status.setObjectName("versionsStatus")
        back = QPushButton(tr("library.changed_elsewhere.back"))
        back.setObjectName("versionsBack")
        back.clicked.connect(self.back_wanted)
        self.save = QPushButton(tr("library.changed_elsewhere.save"))
        self.save.setObjectName("versionsSave")
        self.save.setProperty("primary", "true")
        self.save.setAutoDefault(True)
        self.save.clicked.connect(self._save)
        bottom = add_all(QHBoxLayout(), (self.status, 1), back, self.save)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        add_all(layout, lead, (self.versions, 1), bottom)
        self.versions.chosen.connect(self._mark)
        self.versions.entered.connect(self.save.setFocus)
        self._mark()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go back to the form with Escape; the form itself asks before it is left."""
        if event.key() == Qt.Key.Key_Escape:
            self.back_wanted.emit()
        else:
            super().keyPressEvent(event)

    def _mark(self) -> None:
        why_not = self.versions.why_not()
        self.status.setText(breakable(why_not))
        self.save.setEnabled(not why_not)

    def _save(self) -> None:
        try:
            thing = self.versions.thing()
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self.save_wanted.emit(thing)
