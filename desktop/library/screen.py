"""The first screen: one obvious way to go on, and four shelves of what is on file."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QTabWidget, QVBoxLayout, QWidget

from core.language import Numbers
from core.store import FittingRow, Library, LibraryProblem
from desktop.library.due_line import DueLine
from desktop.library.export_line import ExportLine
from desktop.library.import_export import ImportExport
from desktop.library.path_label import PathLabel
from desktop.library.shelf_plans import (
    CARTRIDGES,
    DECKS,
    FINISHED,
    UNDER_WAY,
    moment,
)
from desktop.widgets import theme
from desktop.widgets.messages import Messages
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_list.shelf import Shelf
from desktop.widgets.resume_button import ResumeButton, shortened
from desktop.widgets.technician_box import TechnicianBox

_AFTER_PAINT_MS: Final = 50


class LibraryScreen(QWidget):
    """The library.

    Parameters
    ----------
    library
        An open library.
    numbers
        How numbers are written.
    messages
        The channel for whatever goes wrong.
    remembered
        Who stands at the bench.

    Signals
    -------
    start_wanted
        Ids of a deck and a cartridge that are picked already; both may be empty.
    fitting_wanted
        The id of a fitting to open.
    edit_wanted
        ``deck`` or ``cartridge``, and the id of the one to correct, empty for a new one.
    copy_wanted
        The same, for a new one that starts as a copy.
    other_library_wanted
        The person wants to work in another file.
    backups_wanted
        The person wants to see the backups of this library.
    swap_wanted
        The id of a finished fitting whose deck gets another cartridge.
    rehearsal_wanted
        The person wants to rehearse on a simulated deck.
    history_wanted
        The id of a deck whose history is to be seen.
    due_wanted
        The person wants to see the decks that are due for their check.
    """

    start_wanted = Signal(str, str)
    fitting_wanted = Signal(str)
    edit_wanted = Signal(str, str)
    copy_wanted = Signal(str, str)
    other_library_wanted = Signal()
    backups_wanted = Signal()
    look_wanted = Signal()
    swap_wanted = Signal(str)
    rehearsal_wanted = Signal()
    history_wanted = Signal(str)
    due_wanted = Signal()

    def __init__(
        self,
        library: Library,
        numbers: Numbers,
        messages: Messages,
        remembered: Preferences,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library = library
        self._numbers = numbers
        self._messages = messages
        self._remembered = remembered
        self.export_line = ExportLine(library.address, messages)
        self._carrier = ImportExport(library, numbers, messages, self.export_line)
        self._latest = ""
        # What was said of the latest fitting; while its row stays the same, so does that.
        self._latest_row: FittingRow | None = None
        self._said: tuple[FittingRow | None, Callable[[int], str], str] | None = None
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_AFTER_PAINT_MS)
        self._soon.timeout.connect(self.say_where_the_latest_stands)
        self.setAccessibleName("Library")
        self._build_shelves()
        self._build_head()
        self._arrange_widgets()
        self.refresh()

    def refresh(self) -> None:
        """Read the library anew: another window may have written to it."""
        try:
            self.under_way.read()  # the first screen needs it; the others wait until they are seen
        except LibraryProblem as problem:
            self._tell(problem)
            return
        for shelf in (self.finished, self.decks, self.cartridges):
            shelf.refresh()
        self.who.refresh()
        listing = self.under_way.model.listing
        newest = listing.find()[:1]  # they come with the one last worked on first
        latest = listing.row(newest[0]) if newest else None
        self._latest = latest.id if latest else ""
        self._say_what_is_next(latest)
        self.due.look()

    def say_where_the_latest_stands(self) -> None:
        """Say now which step is next in the fitting to resume, not only when the window is up."""
        self._soon.stop()
        if not self._latest:
            return
        try:
            self._say_step()
        except LibraryProblem as problem:
            self._tell(problem)

    def show_deck(self, deck_id: str) -> None:
        """Bring a deck into view."""
        self.tabs.setCurrentWidget(self.decks)
        self.decks.pick(deck_id)

    def show_cartridge(self, cartridge_id: str) -> None:
        """Bring a cartridge into view."""
        self.tabs.setCurrentWidget(self.cartridges)
        self.cartridges.pick(cartridge_id)

    def begin(self) -> None:
        """Put the focus on the obvious way to go on."""
        self.primary.setFocus()

    def end(self) -> None:
        """Ask the library nothing more by itself: it is about to be closed."""
        self._soon.stop()
        self.due.stop()
        self.export_line.stop()

    def may_leave(self) -> bool:
        """Whether nothing is under way that would be lost, or the person gives it up."""
        return self.export_line.may_leave()

    # building

    def _build_shelves(self) -> None:
        library, numbers = self._library, self._numbers
        self.under_way = Shelf(
            UNDER_WAY, load=lambda: library.log.listing(finished=False), numbers=numbers
        )
        self.finished = Shelf(
            FINISHED, load=lambda: library.log.listing(finished=True), numbers=numbers
        )
        self.decks = Shelf(DECKS, load=library.deck_records.listing, numbers=numbers)
        self.cartridges = Shelf(CARTRIDGES, load=library.cartridge_records.listing, numbers=numbers)
        for shelf in (self.under_way, self.finished):
            shelf.opened.connect(self.fitting_wanted)
            shelf.asked.connect(lambda key, ids: self._do("fitting", key, ids))
        for shelf, kind in ((self.decks, "deck"), (self.cartridges, "cartridge")):
            shelf.opened.connect(lambda one, kind=kind: self.edit_wanted.emit(kind, one))
            shelf.asked.connect(lambda key, ids, kind=kind: self._do(kind, key, ids))
        for shelf in (self.under_way, self.finished, self.decks, self.cartridges):
            shelf.failed.connect(self._tell)
        self.under_way.beside_wanted.connect(lambda words: self._look_on(self.finished, words))
        self.finished.beside_wanted.connect(lambda words: self._look_on(self.under_way, words))
        self.tabs = QTabWidget()
        self.tabs.setAccessibleName("Shelves of the library")
        self.tabs.setDocumentMode(True)
        for words, shelf in (
            ("Fittings under &way", self.under_way),
            ("&Finished", self.finished),
            ("&Decks", self.decks),
            ("&Cartridges", self.cartridges),
        ):
            self.tabs.addTab(shelf, words)
        find = QShortcut(QKeySequence.StandardKey.Find, self)
        find.activated.connect(self._find)

    def _build_head(self) -> None:
        self.title = QLabel("Setdown")
        self.title.setFont(theme.scaled(self.font(), 1.6, bold=True))
        self.primary = ResumeButton()
        self.primary.setObjectName("primaryWay")
        self.primary.setProperty("primary", "true")
        self.primary.setFont(theme.scaled(self.font(), 1.25, bold=True))
        self.primary.setAutoDefault(True)
        self.primary.clicked.connect(self._go_on)
        self.another = QPushButton("&Start a fitting…")
        self.another.setObjectName("startAnother")
        self.another.setAccessibleDescription("Pick a deck and a cartridge for a new fitting.")
        self.another.clicked.connect(lambda: self.start_wanted.emit("", ""))
        self.next = QLabel()
        self.next.setObjectName("whatIsNext")
        self.next.setProperty("kind", "muted")
        self.next.setWordWrap(True)
        self.due = DueLine(self._library)
        self.due.clicked.connect(self.due_wanted)
        self.due.failed.connect(self._tell)
        self.who = TechnicianBox(self._remembered)
        self.where = PathLabel(str(self._library.address), "Library file")
        self.where.setProperty("kind", "muted")
        self.take_in = QPushButton("I&mport…")
        self.take_in.setProperty("quiet", "true")
        self.take_in.setAccessibleDescription(
            "Takes in a document with decks, cartridges and fittings from another bench. What is "
            "here stays."
        )
        self.take_in.clicked.connect(self._take_in)
        self.carry_all = QPushButton("Export e&verything…")
        self.carry_all.setProperty("quiet", "true")
        self.carry_all.setAccessibleDescription(
            "Writes the whole library to one document, what is archived as well."
        )
        self.carry_all.clicked.connect(self._carrier.carry_all_out)
        self.backups = QPushButton("Backu&ps…")
        self.backups.setProperty("quiet", "true")
        self.backups.setAccessibleDescription("Shows the backups, makes one, or restores one.")
        self.backups.clicked.connect(self.backups_wanted)
        if self._library.address.backups is None:
            self.backups.hide()
        self.other = QPushButton("Another &library…")
        self.other.setProperty("quiet", "true")
        self.other.setAccessibleDescription("Opens another library file, or begins a new one.")
        self.other.clicked.connect(self.other_library_wanted)
        self.look = QPushButton("Look…")  # every letter of it is taken
        self.look.setObjectName("look")
        self.look.setProperty("quiet", "true")
        self.look.setAccessibleDescription("Colours and size of type.")
        self.look.clicked.connect(self.look_wanted)
        self.rehearse = QPushButton("Rehearse on a simula&ted deck…")
        self.rehearse.setProperty("quiet", "true")
        self.rehearse.setAccessibleDescription(
            "The whole job on a deck that is only drawn. Nothing there touches this library."
        )
        self.rehearse.clicked.connect(self.rehearsal_wanted)

    def _arrange_widgets(self) -> None:
        who_label = QLabel("At the &bench")
        who_label.setBuddy(self.who)
        top = QHBoxLayout()
        top.addWidget(self.title)
        top.addWidget(self.where, stretch=1)
        top.addWidget(self.look)
        top.addWidget(who_label)
        top.addWidget(self.who)
        ways = QHBoxLayout()
        ways.addWidget(self.primary)
        ways.addWidget(self.another)
        ways.addStretch(1)  # takes only what the buttons leave
        ways.addWidget(self.due)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(self.rehearse)
        foot.addWidget(self.take_in)
        foot.addWidget(self.carry_all)
        foot.addWidget(self.backups)
        foot.addWidget(self.other)
        layout = QVBoxLayout(self)
        layout.addLayout(top)
        layout.addWidget(self.next)
        layout.addLayout(ways)
        layout.addWidget(self.tabs, stretch=1)
        layout.addWidget(self.export_line)
        layout.addLayout(foot)

    # living

    def _look_on(self, shelf: Shelf, words: str) -> None:
        self.tabs.setCurrentWidget(shelf)
        shelf.look_for(words)

    def _find(self) -> None:
        shelf = self.tabs.currentWidget()
        if isinstance(shelf, Shelf):
            shelf.focus_filter()

    def _go_on(self) -> None:
        if self._latest:
            self.fitting_wanted.emit(self._latest)
        else:
            self.start_wanted.emit("", "")

    def _say_what_is_next(self, latest: FittingRow | None) -> None:
        self.another.setVisible(latest is not None)
        self._latest_row = latest
        if latest is None:
            self.primary.say(lambda _longest: "Start a fitting")
            self.next.setText(
                "Nine steps, one reading at a time: level, mount, rough downforce, arm height, "
                "alignment, tilt, skating, final downforce, speed."
            )
            return
        if self._said is not None and self._said[0] == latest:
            self._soon.stop()
            self.primary.say(self._said[1])
            self.next.setText(self._said[2])
            return
        deck, cartridge = latest.deck_name, latest.cartridge_name
        self.primary.say(
            lambda longest: (
                f"Resume: {shortened(deck, longest)} with {shortened(cartridge, longest)}"
            )
        )
        self.next.setText(f"Last entry {moment(latest.last_at)}.")
        self._soon.start()  # the window is seen first: the steps bring half of the core

    def _say_step(self) -> None:
        # Only now: an empty shelf can do without them.
        from core.language import step_text
        from core.steps import STEP_NAMES
        from core.workflow.replay import journey_of

        fitting = self._library.fitting(self._latest)
        deck_revision, cartridge_revision = fitting.revisions
        deck = self._library.deck(fitting.deck_id, deck_revision).thing
        cartridge = self._library.cartridge(fitting.cartridge_id, cartridge_revision).thing
        due = journey_of(deck, cartridge, fitting, self._numbers).due
        if due is None:
            where, what = "all nine steps settled", "What is left is to finish it."
        else:
            where = f"step {STEP_NAMES.index(due) + 1} of {len(STEP_NAMES)}"
            what = f"Next: {step_text(due).title}."

        def words(longest: int) -> str:
            names = f"{shortened(deck.name, longest)} with {shortened(cartridge.name, longest)}"
            return f"Resume: {names}, {where}"

        self.primary.say(words)
        last = fitting.entries[-1] if fitting.entries else None
        if last is None:
            self.next.setText(f"{what} Started {moment(fitting.started_at)}.")
        else:
            by = f" by {last.who}" if last.who else ""
            self.next.setText(f"{what} Last entry {moment(last.at)}{by}.")
        self._said = self._latest_row, words, self.next.text()

    def _do(self, kind: str, key: str, ids: list[str]) -> None:
        if key == "open":
            self.fitting_wanted.emit(ids[0])
        elif key == "history":
            self.history_wanted.emit(ids[0])
        elif key == "swap":
            self.swap_wanted.emit(ids[0])
        elif key == "add":
            self.edit_wanted.emit(kind, "")
        elif key == "edit":
            self.edit_wanted.emit(kind, ids[0])
        elif key == "copy":
            self.copy_wanted.emit(kind, ids[0])
        elif key == "fit":
            self.start_wanted.emit(*((ids[0], "") if kind == "deck" else ("", ids[0])))
        elif key == "export":
            self._carrier.carry_out(kind, ids)
        else:
            self._archive(kind, ids, archived=key == "archive")

    def _take_in(self) -> None:
        if self._carrier.carry_in():
            self.refresh()

    def _archive(self, kind: str, ids: Iterable[str], *, archived: bool) -> None:
        put = {
            "deck": self._library.archive_deck,
            "cartridge": self._library.archive_cartridge,
            "fitting": self._library.archive_fitting,
        }[kind]
        try:
            put(*ids, archived=archived)
        except LibraryProblem as problem:
            self._tell(problem)
        self.refresh()

    def _tell(self, problem: LibraryProblem) -> None:
        self._messages.tell(problem.kind.label, problem.sentence, problem.remedy)
