"""Whose job it is: a name, one way to reach them, and a button that forgets both."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QListWidget, QListWidgetItem, QWidget

from core.language import Name, Numbers
from core.records import Customer
from core.store import Library, LibraryProblem, WorkStoppedError
from desktop.forms.form import Form
from desktop.library.essentials import wait_with_problems
from desktop.tasks.background_task import GoOn, Told
from desktop.tasks.blocking_task import run_blocking
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.panels import add_all, button, framed, set_shown, text_label
from desktop.widgets.plain_text import plain_tip

_LEAST_LETTERS: Final = 2
_MOST_OFFERED: Final = 6


class CustomerPart(QWidget):
    """Two fields; who is on file already is offered while a name is typed."""

    changed = Signal()
    """Something was typed or chosen."""
    forgotten = Signal()
    """The customer was forgotten; all that was typed here is gone too."""

    def __init__(
        self,
        library: Library,
        numbers: Numbers,
        messages: Messages,
        who: str,
        customer_id: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self._messages, self._who = library, messages, who
        self._revision = 0
        self.customer_id = ""
        column = framed(self, tr("jobs.customer.title"))
        self.state = text_label("", "muted")
        self.state.setObjectName("customerState")
        self.form = Form(Customer, numbers)
        wait_with_problems(self.form)
        self.on_file = QListWidget()
        self.on_file.setWordWrap(True)  # a long name is not cut
        self.on_file.setAccessibleName(tr("jobs.customer.on_file"))
        self.on_file.setMaximumHeight(round(6 * theme.em(self)))
        self.on_file.hide()
        self.forget_button = button(
            tr("jobs.customer.forget"), tip=tr("jobs.customer.forget_tip"), quiet=True
        )
        add_all(column, self.state, self.form, self.on_file, self.forget_button, 1)
        self.form.draft_changed.connect(self._on_typed)
        self.on_file.itemActivated.connect(self._take)
        self.on_file.itemClicked.connect(self._take)
        self.forget_button.clicked.connect(self.forget)
        self.show_customer(customer_id)

    def show_customer(self, customer_id: str) -> None:
        """Show a customer, or empty fields."""
        self.customer_id, self._revision = customer_id, 0
        thing, words = None, ""
        if customer_id and not self._library.jobs.customers.has(customer_id):
            words = tr("jobs.customer.not_here")
        elif customer_id:
            kept = self._library.jobs.customers.get(customer_id)
            thing, self._revision = kept.thing, kept.revision
            if thing.forgotten:
                words = tr("jobs.customer.was_forgotten", day=Name(thing.forgotten))
        is_open = bool(thing and not thing.forgotten)
        self.form.put(thing if is_open else None)
        self.state.setText(words)
        set_shown(self.state, shown=bool(words))
        set_shown(self.form, shown=not words)
        set_shown(self.forget_button, shown=is_open and not self._library.read_only)
        self.on_file.hide()

    def typed(self) -> tuple[str, str]:
        """Return what stands in the two fields."""
        entries = self.form.fields.entries
        name, contact = (entries[one].answer().value or "" for one in ("name", "contact"))
        return str(name), str(contact)

    def is_whole(self) -> bool:
        """Whether what is typed can be kept; else say at the field what is missing."""
        if not any(self.typed()) or self.form.draft() is not None:
            return True
        self.form.reveal()
        return False

    def keep(self) -> str:
        """Keep what is typed; return the id of the customer, empty without one.

        LibraryProblem, and nothing is changed, if it can't be kept.
        """
        draft = self.form.draft()
        if self.form.isHidden():
            return self.customer_id
        if not isinstance(draft, Customer):
            return ""
        return self._library.keep_customer(
            draft,
            id=self.customer_id or None,
            who=self._who,
            based_on=self._revision or None,
        ).id

    def forget(self) -> None:
        """Ask, and erase the customer's name and way to reach them for good."""
        answer = self._messages.ask(
            tr("jobs.customer.forget_title"),
            tr("jobs.customer.forget_question"),
            [
                tr("jobs.customer.forget_now"),
                tr("jobs.customer.forget_everywhere"),
                tr("jobs.customer.keep"),
            ],
            stays=2,
            enter=2,
        )
        if answer not in (0, 1):
            return
        try:
            is_gone = self._library.forget_customer(self.customer_id, who=self._who)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        if not is_gone:
            self._messages.tell(
                tr("jobs.customer.forgotten_title"), tr("jobs.customer.other_window_holds")
            )
        if answer == 1:
            self._forget_in_backups()
        self.show_customer(self.customer_id)
        self.forgotten.emit()

    def _forget_in_backups(self) -> None:
        address, customer_id, who = self._library.address, self.customer_id, self._who

        def apart(go_on: GoOn, told: Told) -> tuple[Path, ...]:
            with Library.open(address) as library:
                return library.forget_in_backups(customer_id, who=who, go_on=go_on, told=told)

        try:
            left = run_blocking(self.window(), tr("jobs.customer.in_backups"), apart)
        except WorkStoppedError:
            self._messages.tell(
                tr("jobs.customer.forgotten_title"), tr("jobs.customer.backups_stopped")
            )
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
        else:
            if left:
                names = Name(", ".join(path.name for path in left))
                self._messages.tell(
                    tr("jobs.customer.forgotten_title"),
                    tr("jobs.customer.backups_left", names=names),
                )

    def _on_typed(self) -> None:
        self._offer()
        self.changed.emit()

    def _offer(self) -> None:
        """Offer who is on file under such a name; only while one is typed."""
        name = self.typed()[0]
        self.on_file.clear()
        if not self.customer_id and len(name) >= _LEAST_LETTERS:
            try:
                listing = self._library.jobs.customers.listing()
            except LibraryProblem:
                return  # only an offer; saving says what is wrong
            for place in listing.find(name)[:_MOST_OFFERED]:
                row = listing.row(place)
                item = QListWidgetItem(f"{row.name}   {row.owner_reference}")
                item.setToolTip(plain_tip(item.text()))
                item.setData(Qt.ItemDataRole.UserRole, row.id)
                self.on_file.addItem(item)
        set_shown(self.on_file, shown=self.on_file.count() > 0)

    def _take(self, item: QListWidgetItem) -> None:
        self.show_customer(str(item.data(Qt.ItemDataRole.UserRole)))
        self.form.start()
        self.changed.emit()
