"""Opens paper that leaves the house: the owner's sheet, a plan, a history, the decks due."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QLineEdit, QPushButton, QVBoxLayout, QWidget

from core.fitting import Fitting, Journey
from core.history import Timeline
from core.language import Name, Numbers
from core.maintenance.model import Due
from core.paper.letterhead import Letterhead, letterhead_of
from core.paper.sheet import PaperSize, Sheet
from core.records import Deck, Service
from core.store import Library, LibraryProblem, Stored
from core.swap import Foretold, SwapPlan
from desktop.paper.letterhead_dialog import LetterheadDialog
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages
from desktop.widgets.panels import add_all, text_label

if TYPE_CHECKING:
    from core.paper.due_sheet import DueRow
    from desktop.paper.dialog import PaperDialog


class PaperOptions(QWidget):
    """What may be chosen for a sheet that leaves the house: whose it is, and whom it is for."""

    changed = Signal()

    def __init__(
        self,
        library: Library,
        messages: Messages,
        *,
        customer: str = "",
        asks_for_check: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self._messages, self._customer = library, messages, customer
        self.letterhead_button = QPushButton(tr("paper.leaving.letterhead"))
        self.letterhead_button.setAutoDefault(False)
        self.name_box = QCheckBox(tr("paper.leaving.customer"))
        self.name_box.setVisible(bool(customer))
        self.next_check = QLineEdit(maxLength=120)
        self.next_check.setPlaceholderText(tr("paper.leaving.next_check_hint"))
        self.next_check.setAccessibleName(tr("paper.leaving.next_check"))
        self.next_check.setVisible(asks_for_check)
        check_label = text_label(tr("paper.leaving.next_check"))
        check_label.setVisible(asks_for_check)
        self._column = column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        add_all(column, self.letterhead_button, self.name_box, check_label, self.next_check)
        self.letterhead_button.clicked.connect(self._ask)
        self.name_box.toggled.connect(self.changed)
        self.next_check.editingFinished.connect(self.changed)

    @property
    def customer(self) -> str:
        """The customer's name, if it is to stand on the sheet."""
        return self._customer if self.name_box.isChecked() else ""

    def add_choice(self, box: QCheckBox) -> None:
        """Put one more choice at the end."""
        self._column.addWidget(box)
        box.toggled.connect(self.changed)

    def letterhead(self) -> Letterhead:
        """Return whose sheet it is; an empty one if that can't be read now."""
        try:
            return letterhead_of(self._library)
        except LibraryProblem:
            return Letterhead()

    def _ask(self) -> None:
        dialog = LetterheadDialog(self._library, self._messages, self)
        dialog.accepted.connect(self.changed)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()


def of_job(title: str, journey: Journey) -> str:
    """Return the title of a fitting's sheet, the job's number first: its file is named so."""
    number = journey.fitting.job.number
    return tr("paper.leaving.of_job", number=Name(number), title=Name(title)) if number else title


@dataclass(frozen=True, slots=True)
class LeavingPaper:
    """Makes dialogs for one library; each is parented to the window it is opened from."""

    library: Library
    numbers: Numbers
    messages: Messages
    who: str = ""

    def owner(self, fitting: Callable[[], Journey], parent: QWidget) -> PaperDialog:
        """Show the owner's sheet of a fitting."""
        from core.maintenance.gathering import check_kept
        from core.paper.customer_sheet import Addressed, customer_sheets
        from desktop.paper.kept_pictures import PicturesBox
        from desktop.paper.painter import FontMeasure

        options = self._options(customer=self._customer(fitting().fitting), asks_for_check=True)
        pictures = PicturesBox(self.library, fitting().fitting)
        options.add_choice(pictures)

        def make(size: PaperSize) -> tuple[Sheet, ...]:
            check, seen = options.next_check.text(), pictures.chosen()
            journey = fitting()
            kept = check_kept(self.library, journey.fitting)
            head, job = options.letterhead(), self.library.jobs.of_fitting(journey.fitting)
            to = Addressed(head, options.customer, check, seen, kept, job)
            return customer_sheets(journey, size, self.numbers, FontMeasure(), to)

        title = tr("paper.leaving.owner_title", deck=Name(fitting().deck.name))
        return self._open(of_job(title, fitting()), make, options, parent)

    def plan(self, plan: SwapPlan, foretold: Sequence[Foretold], parent: QWidget) -> PaperDialog:
        """Show a plan for another cartridge."""
        from core.paper.plan_sheet import plan_sheets
        from desktop.paper.painter import FontMeasure

        options = self._options()

        def make(size: PaperSize) -> tuple[Sheet, ...]:
            head = options.letterhead()
            return plan_sheets(plan, foretold, size, self.numbers, FontMeasure(), letterhead=head)

        deck = Name(plan.deck.name)
        return self._open(tr("paper.leaving.plan_title", deck=deck), make, options, parent)

    def history(
        self,
        deck: Deck,
        timeline: Timeline,
        dues: Sequence[Due],
        services: Sequence[Stored[Service]],
        parent: QWidget,
    ) -> PaperDialog:
        """Show the history of a deck."""
        from core.paper.history_sheet import history_sheets
        from desktop.paper.painter import FontMeasure

        options = self._options()

        def make(size: PaperSize) -> tuple[Sheet, ...]:
            head, measure = options.letterhead(), FontMeasure()
            return history_sheets(
                deck,
                timeline,
                dues,
                size,
                self.numbers,
                measure,
                letterhead=head,
                services=services,
            )

        title = tr("paper.leaving.history_title", deck=Name(deck.name))
        return self._open(title, make, options, parent)

    def due(self, decks: Sequence[DueRow], today: date, parent: QWidget) -> PaperDialog:
        """Show the decks that are due."""
        from core.paper.due_sheet import due_sheets
        from desktop.paper.painter import FontMeasure

        options = self._options()

        def make(size: PaperSize) -> tuple[Sheet, ...]:
            head, measure = options.letterhead(), FontMeasure()
            return due_sheets(decks, today, size, self.numbers, measure, letterhead=head)

        return self._open(tr("paper.leaving.due_title"), make, options, parent)

    def _options(self, *, customer: str = "", asks_for_check: bool = False) -> PaperOptions:
        return PaperOptions(
            self.library, self.messages, customer=customer, asks_for_check=asks_for_check
        )

    def _open(
        self,
        title: str,
        make: Callable[[PaperSize], tuple[Sheet, ...]],
        options: PaperOptions,
        parent: QWidget,
    ) -> PaperDialog:
        from desktop.paper.dialog import PaperDialog

        dialog = PaperDialog(
            title,
            make,
            self.library,
            numbers=self.numbers,
            messages=self.messages,
            who=self.who,
            parent=parent,
        )
        dialog.put_options(options)
        options.changed.connect(dialog.remake)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()
        return dialog

    def _customer(self, fitting: Fitting) -> str:
        """Return the name of the customer whose job the fitting belongs to; empty for none."""
        try:
            if not fitting.job_id:
                return ""
            customer = self.library.jobs.records.get(fitting.job_id).thing.customer
            return self.library.jobs.customers.get(customer).thing.name if customer else ""
        except LibraryProblem:
            return ""  # a sheet without the name is whole
