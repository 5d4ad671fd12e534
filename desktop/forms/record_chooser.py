"""The list of test records above a recording: which one plays."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from core.records import RecordPlayed
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.keys import ENTER_KEYS
from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, may_be_narrow
from desktop.widgets.plain_text import one_line


class _List(ElidedCombo):
    """A combo box that leaves the wheel to the page and moves on with Enter."""

    entered = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move on with Enter; the space bar opens the list as usual."""
        if event.key() in ENTER_KEYS:
            self.entered.emit()
            event.accept()
            return
        super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: scrolling changes no choice."""
        event.ignore()


class RecordChooser(QWidget):
    """A list of the library's test records; the first entry stands for any usual one."""

    chosen = Signal()
    entered = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._records: list[RecordPlayed | None] = [None]
        self._is_own_choice = False
        self.box = _List()
        self.box.setAccessibleName(tr("forms.record_chooser.which"))
        self.box.setToolTip(tr("forms.record_chooser.tip"))
        self.box.addItem(tr("forms.record_chooser.any"))
        may_be_narrow(self.box)
        label = QLabel(tr("forms.record_chooser.label"))
        label.setBuddy(self.box)
        row = add_all(QHBoxLayout(self), label, (self.box, 1))
        row.setContentsMargins(0, 0, 0, 0)
        self.box.activated.connect(self._choose)
        self.box.entered.connect(self.entered)

    @property
    def played(self) -> RecordPlayed | None:
        """The chosen record; None for any."""
        place = self.box.currentIndex()
        return self._records[place] if 0 <= place < len(self._records) else None

    def offer(self, records: Sequence[RecordPlayed], usual: RecordPlayed | None) -> None:
        """List records; choose the usual one unless the person chose another here.

        A record that is no longer on file is listed from its copy.
        """
        wanted = self.played if self._is_own_choice else usual
        self._fill(records, wanted)

    def choose(self, played: RecordPlayed | None) -> None:
        """Choose the record of the figures in the form."""
        known = [one for one in self._records if one is not None]
        self._fill(known, played)

    def _fill(self, records: Sequence[RecordPlayed], wanted: RecordPlayed | None) -> None:
        listed: list[RecordPlayed | None] = [None, *records]
        place = _place_of(wanted, listed)
        if place < 0:
            listed.append(wanted)
            place = len(listed) - 1
        if listed == self._records and place == self.box.currentIndex():
            return
        self._records = listed
        with QSignalBlocker(self.box):
            self.box.clear()
            self.box.addItem(tr("forms.record_chooser.any"))
            self.box.addItems([one_line(one.record.name) for one in listed if one is not None])
            self.box.setCurrentIndex(place)

    def _choose(self) -> None:
        self._is_own_choice = True
        self.chosen.emit()


def _place_of(wanted: RecordPlayed | None, listed: Sequence[RecordPlayed | None]) -> int:
    """Return the index of a record: by its id, else by its content."""
    for place, one in enumerate(listed):
        if one == wanted or (one and wanted and wanted.id and one.id == wanted.id):
            return place
    return -1
