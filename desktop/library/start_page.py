"""The page that begins a fitting: a deck, a cartridge, and who stands at the bench."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from core.fitting import Work
from core.language import Name, Numbers
from core.records import arm_of, seen_with_arm
from core.store import FittingRow, Library, LibraryProblem
from desktop.library.arm_row import ArmRow
from desktop.library.headshell_row import HeadshellRow
from desktop.library.tables import CARTRIDGES, DECKS
from desktop.widgets import theme
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.following_area import FollowingArea
from desktop.widgets.language import local_label, tr
from desktop.widgets.local_time import moment
from desktop.widgets.messages import Messages
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, announce, column_in
from desktop.widgets.plain_text import one_line, plain_label
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_table import RecordTable, TableSpec
from desktop.widgets.technician_box import TechnicianBox

if TYPE_CHECKING:
    from core.records import Deck


def _for_picking(spec: TableSpec, columns: int) -> TableSpec:
    return replace(
        spec,
        columns=spec.columns[:columns],
        actions=(),
        has_archive=False,
        chips=(),
        key="",
        picks_first=False,
    )


class StartPage(Page):
    """Pick a deck and a cartridge side by side, then start."""

    escape_leaves = True
    # ids of the deck and of the cartridge, and the kind of work
    start_wanted = Signal(str, str, str)
    # deck or cartridge, and the name that was looked for, for a new one
    add_wanted = Signal(str, str)
    headshell_wanted = Signal(str)  # the id of the headshell to correct, empty for a new one
    resume_wanted = Signal(str)  # the id of a fitting of the picked deck that is under way already

    def __init__(
        self,
        library: Library,
        preferences: Preferences,
        numbers: Numbers,
        messages: Messages,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library = library
        self._numbers = numbers
        self._messages = messages
        self._preferences = preferences
        self._under_way = ""
        self.setAccessibleName(tr("library.start_page.start_a_fitting"))
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

    def look_again(self) -> None:
        """Show what another window has kept or begun; what is typed and picked stays."""
        try:
            self.decks.read()
            self.cartridges.read()
            self.headshell.read()
        except LibraryProblem:
            return  # starting says so
        self._say()

    def _build(self) -> None:
        title = QLabel(tr("library.start_page.start_a_fitting"))
        title.setFont(theme.scaled(self.font(), 1.6, bold=True))
        lead = QLabel(tr("library.start_page.which_cartridge_goes_on_which"))
        lead.setProperty("kind", "muted")
        lead.setWordWrap(True)
        self.decks, self.cartridges = (
            RecordTable(_for_picking(spec, 2), load=things.listing)
            for spec, things in (
                (DECKS, self._library.deck_records),
                (CARTRIDGES, self._library.cartridge_records),
            )
        )
        columns = QHBoxLayout()
        self.adders: dict[str, QPushButton] = {}
        for kind, words, add, records in (
            (
                "deck",
                tr("library.start_page.1_deck"),
                tr("library.start_page.new_deck"),
                self.decks,
            ),
            (
                "cartridge",
                tr("library.start_page.2_cartridge"),
                tr("library.start_page.new_cartridge"),
                self.cartridges,
            ),
        ):
            box = QGroupBox(words, flat=True)
            adder = QPushButton(add, autoDefault=True)
            adder.setAccessibleDescription(tr("library.start_page.new_tip"))
            adder.clicked.connect(partial(self._add, kind, records))
            self.adders[kind] = adder
            row = add_all(QHBoxLayout(), adder, 1)
            add_all(column_in(box), (records, 1), row)
            columns.addWidget(box, stretch=1)
        self.decks.opened.connect(lambda _id: self.cartridges.focus_filter())
        self.cartridges.opened.connect(lambda _id: self._go_to_start())
        self.decks.picked.connect(lambda _id: self._say())
        self.cartridges.picked.connect(lambda _id: self._say())

        back = self._make_buttons()
        self.arm = ArmRow(self._library)
        self.arm.chosen.connect(lambda _key: self._say())
        self.arm.entered.connect(self.start.setFocus)
        self.headshell = HeadshellRow(self._library, self._numbers)
        self.headshell.chosen.connect(self._take_headshell)
        self.headshell.add_wanted.connect(lambda: self.headshell_wanted.emit(""))
        self.headshell.edit_wanted.connect(self.headshell_wanted)
        name_row = self._name_row()
        say_row = add_all(QHBoxLayout(), (self.summary, 1), self.resume)
        buttons = add_all(QHBoxLayout(), back, 1, self.start)
        fit = add_all(QVBoxLayout(), say_row, self.misfit, self.screws)
        # Imported here: the first screen needs none of it.
        from desktop.library.for_customer import ForCustomer

        self.for_customer = ForCustomer(
            self._library, self._numbers, self._messages, self._preferences.who
        )
        parts = (self.arm, self.headshell, name_row, self.for_customer)
        asked = QWidget()
        add_all(column_in(asked), (columns, 1), *parts)
        # With a customer there is more than a small window holds: it scrolls, nothing is squeezed.
        self.area = FollowingArea(asked)
        add_all(QVBoxLayout(self), title, lead, (self.area, 1), fit, buttons)

    def _make_buttons(self) -> QPushButton:
        """Make what says what will be started, and the ways on; return the way back."""
        self.misfit = plain_label(wraps=True)
        self._misfit_said = ""
        self.misfit.setObjectName("misfit")
        self.misfit.setProperty("kind", "problem")
        self.misfit.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByKeyboard
            | Qt.TextInteractionFlag.TextSelectableByMouse
        )
        self.misfit.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.screws = plain_label(wraps=True)
        self.screws.setProperty("kind", "muted")
        self.summary = plain_label(wraps=True)
        self.summary.setAccessibleName(tr("library.start_page.what_will_be_started"))
        self.resume = QPushButton(tr("library.start_page.resume_that_one"))
        self.resume.clicked.connect(lambda: self.resume_wanted.emit(self._under_way))
        self.start = QPushButton(tr("library.start_page.start_the_fitting"), autoDefault=True)
        self.start.setObjectName("startFitting")
        self.start.setProperty("primary", "true")
        self.start.clicked.connect(self._start)
        back = QPushButton(tr("library.start_page.back_to_the_library"))
        back.clicked.connect(self.closed)
        return back

    def _name_row(self) -> QHBoxLayout:
        """Make the row of who works, and what is asked for."""
        self.who = TechnicianBox(self._preferences)
        who_label = QLabel(tr("library.start_page.who_stands_at_the_bench"))
        who_label.setBuddy(self.who)
        who_label.setMinimumWidth(who_label.sizeHint().width() + round(0.6 * theme.em(self)))

        self.work = ElidedCombo()
        self.work.setAccessibleName(tr("library.start_page.work_name"))
        self.work.setToolTip(tr("library.start_page.work_tip"))
        for work in Work:
            if work is Work.HEADSHELL:
                continue  # once a headshell is chosen
            self.work.addItem(local_label(work.label), work.value)
        self.work.currentIndexChanged.connect(lambda _place: self._say())
        work_label = QLabel(tr("library.start_page.work"))
        work_label.setBuddy(self.work)
        return add_all(QHBoxLayout(), who_label, (self.who, 1), work_label, (self.work, 1))

    def _load(self) -> None:
        self.decks.read()
        self.cartridges.read()
        self._say()

    def _say(self) -> None:
        deck_id, cartridge_id = self.decks.current_id, self.cartridges.current_id
        self.start.setEnabled(bool(deck_id and cartridge_id))
        self.arm.show_for(deck_id, self._record_of(deck_id), cartridge_id)
        self.headshell.show_for(self._deck(deck_id))
        self.headshell.say(deck_id, cartridge_id, self.arm.current_key)
        found = self._under_way_on(deck_id)
        self._under_way = found.id if found else ""
        self.resume.setVisible(found is not None)
        if found is not None:
            self.summary.setText(
                tr(
                    "library.start_page.a_fitting_of_cartridge_name",
                    cartridge_name=Name(found.cartridge_name),
                    moment=Name(moment(found.started_at)),
                )
            )
        elif deck_id and cartridge_id:
            deck = self.decks.current_words()
            if self.arm.current_name:
                deck = f"{deck} · {one_line(self.arm.current_name)}"
            self.summary.setText(
                tr(
                    "library.start_page.current_words_on_deck",
                    current_words=Name(self.cartridges.current_words()),
                    deck=Name(deck),
                )
            )
        else:
            missing = "deck" if not deck_id else "cartridge"
            self.summary.setText(
                tr("library.start_page.pick_a_missing_to_start", missing=Name(missing))
            )

        self._say_fit(deck_id, cartridge_id)

    def _say_fit(self, deck_id: str, cartridge_id: str) -> None:
        """Say what does not fit and which screws to have ready, where a cartridge is mounted."""
        said_of, screws = "", ""
        if deck_id and cartridge_id and self._mounts():
            # Imported here: the page is shown before anything is picked.
            from core.workflow import misfits, screws_needed

            deck = self._deck(deck_id)
            try:
                cartridge = self._library.cartridge(cartridge_id).thing
            except LibraryProblem:
                return  # only a hint depends on it; starting reports the problem
            if deck is None:
                return
            wrong = misfits(deck, cartridge)
            said_of = " ".join(self._numbers.text(one) for one in wrong)
            if not wrong and self.work.currentData() == Work.WHOLE.value:
                screws = self._numbers.text(screws_needed(deck, cartridge))
        if said_of and said_of != self._misfit_said:
            announce(self.misfit, said_of)
        self._misfit_said = said_of
        self.start.setAccessibleDescription(said_of)
        for label, words in (
            (self.misfit, f"✕ {said_of}" if said_of else ""),
            (self.screws, screws),
        ):
            label.setText(words)
            label.setAccessibleName(words)
            label.setVisible(bool(words))

    def _mounts(self) -> bool:
        """Whether the work that is chosen may put a cartridge into a head."""
        # Imported here: it brings the steps, and the page is shown before anything is picked.
        from core.steps.mount import NAME
        from core.workflow import work_asked

        asked = work_asked(Work(self.work.currentData()))
        return asked.moves and NAME in asked.steps

    def _deck(self, deck_id: str) -> Deck | None:
        """Return the deck with the arm that is chosen."""
        deck = self._record_of(deck_id)
        arm = arm_of(deck, self.arm.current_key) if deck is not None else None
        return deck if deck is None or arm is None else seen_with_arm(deck, arm)

    def _record_of(self, deck_id: str) -> Deck | None:
        try:
            return self._library.deck(deck_id).thing if deck_id else None
        except LibraryProblem:
            return None  # starting reports the problem

    def _take_headshell(self, headshell_id: str) -> None:
        """Pick the cartridge that is in the headshell, and offer the short job of putting it on."""
        place = self.work.findData(Work.HEADSHELL.value)
        if headshell_id and place < 0:
            self.work.addItem(local_label(Work.HEADSHELL.label), Work.HEADSHELL.value)
            place = self.work.count() - 1
        elif not headshell_id and place >= 0:
            self.work.removeItem(place)
        if headshell_id:
            # Imported here: the page is shown before anything is picked.
            from core.swap import cartridge_in

            try:
                inside = cartridge_in(self._library, headshell_id)
            except LibraryProblem:
                inside = ""  # starting reports the problem
            if inside:
                self.cartridges.pick(inside)
                self.work.setCurrentIndex(place)
        self._say()

    def _add(self, kind: str, records: RecordTable) -> None:
        """Ask for a form, the words that were looked for as its name if nothing was found."""
        nothing_found = not records.model.rowCount()
        self.add_wanted.emit(kind, records.filter.text().strip() if nothing_found else "")

    def _under_way_on(self, deck_id: str) -> FittingRow | None:
        if not deck_id:
            return None
        try:
            found = self._library.fittings(
                deck_id=deck_id,
                arm_key=self.arm.current_key,
                finished=False,
                archived=False,
                limit=1,
            )
        except LibraryProblem:
            return None  # only a hint depends on it; starting reports the problem
        return found[0] if found else None

    def _go_to_start(self) -> None:
        """Go on with Enter: to the arm where a deck has several, then to the start."""
        (self.start if self.arm.isHidden() else self.arm.arms).setFocus()

    def _is_meant(self) -> bool:
        """Whether what does not fit is to be begun all the same."""
        if self.misfit.isHidden():
            return True
        choices = [tr("library.start_page.pick_another"), tr("library.start_page.start_anyway")]
        title = tr("library.start_page.does_not_fit")
        answer = self._messages.ask(title, self._misfit_said, choices)
        if answer == 0:
            self.cartridges.focus_filter()
        return answer == 1

    def _start(self) -> None:
        self.who.keep()
        if not self.for_customer.is_whole() or not self._is_meant():
            return
        deck_id, cartridge_id = self.decks.current_id, self.cartridges.current_id
        self.start_wanted.emit(deck_id, cartridge_id, str(self.work.currentData()))
