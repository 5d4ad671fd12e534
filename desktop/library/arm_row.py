"""The row that asks which arm of a deck is meant; of decks that have one arm it is gone."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSignalBlocker, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from core.language import Name
from core.records import FIRST_ARM, Deck, arms_of
from core.store import FittingRow, Library, LibraryProblem
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.keys import ENTER_KEYS
from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, column_in, may_be_narrow
from desktop.widgets.plain_text import one_line


class ArmRow(QWidget):
    """A list of a deck's arms, each with the cartridge that was fitted to it last.

    Offered is the arm that the cartridge was on last, else one that nothing was fitted to yet, else
    the arm last worked on. What a person chose stays until another deck is looked at.
    """

    chosen = Signal(str)  # the key of the arm that was chosen
    entered = Signal()  # Enter on the list: the person goes on

    def __init__(self, library: Library, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._library = library
        self._deck: tuple[str, Deck | None] = ("", None)
        self._cartridge = ""
        self._by_hand = False
        self.arms = ElidedCombo()
        self.arms.setObjectName("arms")
        self.arms.setAccessibleName(tr("library.arm_row.which"))
        self.arms.setToolTip(tr("library.arm_row.tip"))
        may_be_narrow(self.arms)
        label = QLabel(tr("library.arm_row.arm"))
        label.setBuddy(self.arms)
        add_all(column_in(self), add_all(QHBoxLayout(), label, (self.arms, 1)))
        self.arms.installEventFilter(self)
        self.arms.activated.connect(self._keep_choice)
        self.arms.currentIndexChanged.connect(lambda _place: self.chosen.emit(self.current_key))
        self.hide()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Go on with Enter."""
        if (
            watched is self.arms
            and isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.key() in ENTER_KEYS
        ):
            self._keep_choice()
            self.entered.emit()
            return True
        return super().eventFilter(watched, event)

    @property
    def current_key(self) -> str:
        """The key of the arm that is chosen; the first arm's where the deck has one."""
        return str(self.arms.currentData() or FIRST_ARM)

    @property
    def current_name(self) -> str:
        """What it is called; empty where the deck has one."""
        deck = self._deck[1]
        arms = arms_of(deck) if deck is not None and not self.isHidden() else ()
        return next((one.name for one in arms if one.key == self.current_key), "")

    def choose(self, key: str) -> None:
        """Choose an arm, as a person would."""
        place = self.arms.findData(key)
        if place >= 0:
            self._by_hand = True
            self.arms.setCurrentIndex(place)

    def show_for(self, deck_id: str, deck: Deck | None, cartridge_id: str) -> None:
        """List the arms of a deck; gone where it has but one."""
        if deck_id != self._deck[0]:
            self._by_hand = False
        elif deck == self._deck[1] and cartridge_id == self._cartridge:
            return
        self._deck, self._cartridge = (deck_id, deck), cartridge_id
        arms = arms_of(deck) if deck is not None else ()
        was = self.current_key
        last = self._last_fitted(deck_id) if len(arms) > 1 else ()
        with QSignalBlocker(self.arms):
            self.arms.clear()
            for arm in arms if len(arms) > 1 else ():
                on_it = next((row for row in last if row.arm_key == arm.key), None)
                self.arms.addItem(one_line(_words(arm.name, on_it)), arm.key)
            wanted = (
                was if self._by_hand else _offered([arm.key for arm in arms], last, cartridge_id)
            )
            self.arms.setCurrentIndex(max(self.arms.findData(wanted), 0))
        self.setVisible(len(arms) > 1)
        if self.current_key != was:
            self.chosen.emit(self.current_key)

    def _keep_choice(self) -> None:
        self._by_hand = True

    def _last_fitted(self, deck_id: str) -> tuple[FittingRow, ...]:
        try:
            return self._library.fittings(deck_id=deck_id, archived=False)
        except LibraryProblem:
            return ()  # starting reports the problem


def _offered(keys: list[str], last: tuple[FittingRow, ...], cartridge_id: str) -> str:
    """Return the key of the arm that is offered; ``last`` begins with what was worked on last."""
    on_arm = {row.arm_key: row for row in reversed(last)}
    was_on = next((row.arm_key for row in last if row.cartridge_id == cartridge_id), None)
    if was_on in keys:
        return str(was_on)
    empty = next((key for key in keys if key not in on_arm), None)
    if empty is not None and last:
        return empty
    return last[0].arm_key if last else FIRST_ARM


def _words(name: str, on_it: FittingRow | None) -> str:
    if on_it is None:
        return tr("library.arm_row.empty", arm=Name(name))
    return tr("library.arm_row.fitted", arm=Name(name), cartridge=Name(on_it.cartridge_name))
