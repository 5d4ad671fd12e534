"""The row that names the headshell on the arm; of decks whose head does not come off it is gone."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QWidget

from core.language import Numbers
from core.records import FIRST_ARM, Deck
from core.store import Library, LibraryProblem
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, column_in, may_be_narrow
from desktop.widgets.plain_text import plain_label


class HeadshellRow(QWidget):
    """A list of the headshells on file, and what is known of the one that is chosen."""

    chosen = Signal(str)  # the id of the headshell that was chosen, empty for none
    add_wanted = Signal()
    edit_wanted = Signal(str)  # the id of the one to correct

    def __init__(self, library: Library, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._library, self._numbers = library, numbers
        self.shells = ElidedCombo()
        self.shells.setObjectName("headshells")
        self.shells.setAccessibleName(tr("library.headshell_row.which"))
        may_be_narrow(self.shells)
        label = QLabel(tr("library.headshell_row.headshell"))
        label.setBuddy(self.shells)
        self.add = QPushButton(tr("library.headshell_row.new"), autoDefault=True)
        self.add.setAccessibleDescription(tr("library.headshell_row.new_tip"))
        self.edit = QPushButton(tr("library.headshell_row.edit"), autoDefault=True)
        self.edit.setAccessibleDescription(tr("library.headshell_row.edit_tip"))
        self.said = plain_label(wraps=True)
        self.said.setObjectName("headshellSaid")
        self.said.setProperty("kind", "muted")
        row = add_all(QHBoxLayout(), label, (self.shells, 1), self.edit, self.add)
        add_all(column_in(self), row, self.said)
        self.shells.currentIndexChanged.connect(self._tell)
        self.add.clicked.connect(self.add_wanted)
        self.edit.clicked.connect(lambda: self.edit_wanted.emit(self.current_id))
        self.read()
        self.hide()

    @property
    def current_id(self) -> str:
        """The id of the headshell that is chosen; empty for none, or where none comes off."""
        return "" if self.isHidden() else str(self.shells.currentData() or "")

    def read(self) -> None:
        """List what is on file; LibraryProblem if it can't be read."""
        rows = self._library.headshells(archived=False)
        was = self.shells.currentData()
        with QSignalBlocker(self.shells):
            self.shells.clear()
            self.shells.addItem(tr("library.headshell_row.none"), "")
            for row in rows:
                self.shells.addItem(row.name, row.id)
            self.shells.setCurrentIndex(max(self.shells.findData(was), 0))
        self._show()

    def choose(self, headshell_id: str) -> None:
        """Choose one."""
        place = self.shells.findData(headshell_id)
        if place >= 0:
            self.shells.setCurrentIndex(place)

    def show_for(self, deck: Deck | None) -> None:
        """Show the row if the deck's headshell comes off."""
        wanted = deck is not None and deck.arm.headshell_mass_g > 0.0
        if wanted == self.isHidden():
            self.setVisible(wanted)
            self._tell()

    def say(self, deck_id: str, cartridge_id: str, arm_key: str = FIRST_ARM) -> None:
        """Say whether alignment and tilt still hold in the one that is chosen."""
        words = ""
        if self.current_id and deck_id and cartridge_id:
            # Imported here: the page is shown before anything is picked.
            from core.swap import setting_of

            try:
                setting = setting_of(self._library, deck_id, self.current_id, cartridge_id, arm_key)
            except LibraryProblem:
                return  # starting reports the problem
            words = self._numbers.text(setting.said)
        self.said.setText(words)
        self.said.setAccessibleName(words)
        self.said.setVisible(bool(words))

    def _tell(self) -> None:
        self._show()
        self.chosen.emit(self.current_id)

    def _show(self) -> None:
        self.edit.setVisible(bool(self.shells.currentData()))
