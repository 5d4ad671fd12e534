"""The page that begins a fitting: a deck, a cartridge, and who stands at the bench."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from core.store import FittingRow, Library, LibraryProblem
from desktop.library.shelf_plans import (
    CARTRIDGES,
    DECKS,
    moment,
)
from desktop.widgets import theme
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_list.plan import ShelfPlan
from desktop.widgets.record_list.shelf import Shelf
from desktop.widgets.technician_box import TechnicianBox


def _for_picking(plan: ShelfPlan, columns: int) -> ShelfPlan:
    return replace(plan, columns=plan.columns[:columns], deeds=(), has_archive=False)


class StartPage(QWidget):
    """Pick a deck and a cartridge side by side, then start.

    Parameters
    ----------
    library
        Where decks and cartridges come from.
    remembered
        What was picked last, and who picked it.

    Signals
    -------
    start_wanted
        Ids of the deck and of the cartridge.
    resume_wanted
        The id of a fitting of the picked deck that is under way already.
    left
        The person goes back to the library.
    """

    start_wanted = Signal(str, str)
    resume_wanted = Signal(str)
    left = Signal()

    def __init__(
        self,
        library: Library,
        remembered: Preferences,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library = library
        self._remembered = remembered
        self._under_way = ""
        self.setAccessibleName("Start a fitting")
        self._build()
        self._load()

    def pick(self, deck_id: str = "", cartridge_id: str = "") -> None:
        """Make a deck and a cartridge current."""
        if deck_id:
            self.decks.pick(deck_id)
        if cartridge_id:
            self.cartridges.pick(cartridge_id)

    def begin(self) -> None:
        """Put the cursor where the person starts."""
        self.decks.focus_filter()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's own name
        """Go back with Escape: nothing is lost, nothing was begun."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _build(self) -> None:
        title = QLabel("Start a fitting")
        title.setFont(theme.scaled(self.font(), 1.6, bold=True))
        lead = QLabel("Which cartridge goes on which deck? Type a few letters to find it.")
        lead.setProperty("kind", "muted")
        lead.setWordWrap(True)
        self.decks, self.cartridges = (
            Shelf(_for_picking(plan, 2), load=things.listing)
            for plan, things in (
                (DECKS, self._library.deck_records),
                (CARTRIDGES, self._library.cartridge_records),
            )
        )
        columns = QHBoxLayout()
        for words, shelf in (("&1  Deck", self.decks), ("&2  Cartridge", self.cartridges)):
            box = QGroupBox(words)
            box.setFlat(True)
            inside = QVBoxLayout(box)
            inside.setContentsMargins(0, 0, 0, 0)
            inside.addWidget(shelf)
            columns.addWidget(box, stretch=1)
        self.decks.opened.connect(lambda _id: self.cartridges.focus_filter())
        self.cartridges.opened.connect(lambda _id: self._go_to_start())
        self.decks.picked.connect(lambda _id: self._say())
        self.cartridges.picked.connect(lambda _id: self._say())

        self.who = TechnicianBox(self._remembered)
        who_label = QLabel("Who stands at the &bench")
        who_label.setBuddy(self.who)

        self.summary = QLabel()
        self.summary.setWordWrap(True)
        self.summary.setAccessibleName("What will be started")
        self.resume = QPushButton("&Resume that one")
        self.resume.clicked.connect(lambda: self.resume_wanted.emit(self._under_way))
        self.start = QPushButton("&Start the fitting")
        self.start.setObjectName("startFitting")
        self.start.setProperty("primary", "true")
        self.start.setAutoDefault(True)
        self.start.clicked.connect(self._start)
        back = QPushButton("Back to the &library")
        back.clicked.connect(self.left)

        name_row = QHBoxLayout()
        name_row.addWidget(who_label)
        name_row.addWidget(self.who, stretch=1)
        say_row = QHBoxLayout()
        say_row.addWidget(self.summary, stretch=1)
        say_row.addWidget(self.resume)
        buttons = QHBoxLayout()
        buttons.addWidget(back)
        buttons.addStretch(1)
        buttons.addWidget(self.start)
        layout = QVBoxLayout(self)
        layout.addWidget(title)
        layout.addWidget(lead)
        layout.addLayout(columns, stretch=1)
        layout.addLayout(name_row)
        layout.addLayout(say_row)
        layout.addLayout(buttons)

    def _load(self) -> None:
        self.decks.read()
        self.cartridges.read()
        self.pick(*self._remembered.pairing)
        self._say()

    def _say(self) -> None:
        deck_id, cartridge_id = self.decks.current_id, self.cartridges.current_id
        self.start.setEnabled(bool(deck_id and cartridge_id))
        found = self._under_way_on(deck_id)
        self._under_way = found.id if found else ""
        self.resume.setVisible(found is not None)
        if found is not None:
            self.summary.setText(
                f"A fitting of {found.cartridge_name} on this deck is under way since "
                f"{moment(found.started_at)}. You can resume that one, or start another beside it."
            )
        elif deck_id and cartridge_id:
            deck = self.decks.current_words()
            self.summary.setText(f"{self.cartridges.current_words()} on {deck}.")
        else:
            missing = "deck" if not deck_id else "cartridge"
            self.summary.setText(f"Pick a {missing} to start.")

    def _under_way_on(self, deck_id: str) -> FittingRow | None:
        if not deck_id:
            return None
        try:
            found = self._library.fittings(deck_id=deck_id, finished=False, archived=False, limit=1)
        except LibraryProblem:
            return None  # only a hint hangs on it; starting says what is the matter
        return found[0] if found else None

    def _go_to_start(self) -> None:
        self.start.setFocus()

    def _start(self) -> None:
        self.who.keep()
        deck_id, cartridge_id = self.decks.current_id, self.cartridges.current_id
        self._remembered.remember_pairing(deck_id, cartridge_id)
        self.start_wanted.emit(deck_id, cartridge_id)
