"""The jobs of a bench: what is promised when, and how far each is."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from core.language import Name, Numbers, message
from core.store import JobRow, Library, LibraryProblem
from desktop.library.acts import LibraryActs
from desktop.library.import_export import ImportExport
from desktop.library.job_page import may_hand_over
from desktop.library.tables import ARCHIVED, COMMON_ACTIONS, PICTURES, reached_words
from desktop.widgets import theme
from desktop.widgets.keys import bind
from desktop.widgets.language import local_label, tr
from desktop.widgets.local_time import today
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, set_shown
from desktop.widgets.plain_text import plain_tip
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_table import Column, RecordTable, RowAction, TableSpec
from desktop.widgets.undo_bar import UndoBar, let_undo_through

_LEAST_LETTERS: Final = 2
_MOST_FOUND: Final = 50
_MOST_ROWS: Final = 5
"""So many of the jobs found are seen at once; the rest is scrolled to."""


def _promise(row: JobRow) -> str:
    told = row.told_of_promise(today())
    if told is None:
        return row.promised
    return tr("jobs.list.promise", day=Name(row.promised), told=told)


def _step(row: JobRow) -> str:
    """Say how far the work is; nothing before any was begun."""
    if row.step:
        return reached_words(row.step)
    return tr("jobs.list.finished") if row.fittings else ""


_COLUMNS: Final = (
    Column(message("jobs.list.number"), lambda row: row.number, key="number", shrinks=False),
    Column(message("jobs.list.what"), lambda row: row.what, key="what"),
    Column(message("jobs.list.step"), _step, key="step"),
    Column(
        message("jobs.list.received"),
        lambda row: row.received,
        key="received",
        shrinks=False,
        is_extra=True,
    ),
    Column(message("jobs.list.promised"), _promise, key="promised", shrinks=False),
    Column(
        message("jobs.list.state"),
        lambda row: local_label(row.state.label),
        key="state",
        shrinks=False,
    ),
    ARCHIVED,
)
_DAY_GONE: Final = Column(
    message("jobs.list.day_handed_over"),
    lambda row: row.handed_over,
    key="handed_over",
    shrinks=False,
)
_ADD: Final = RowAction("add", message("jobs.list.add"), message("jobs.list.add_tip"), least=0)
_OPEN: Final = RowAction("open", message("jobs.list.open"), message("jobs.list.open_tip"))
_START: Final = RowAction("start", message("jobs.page.start"), message("jobs.page.start_tip"))
_HAND_OVER: Final = RowAction(
    "hand_over", message("jobs.page.hand_over"), message("jobs.page.hand_over_tip")
)
_KEPT_GONE: Final = tuple(
    replace(one, words=message("jobs.list.bring_back"), hint=message("jobs.list.bring_back_tip"))
    if one.key == "restore"
    else one
    for one in COMMON_ACTIONS
)

HERE: Final = TableSpec(
    name=message("jobs.list.name_here"),
    columns=_COLUMNS,
    actions=(_ADD, _OPEN, _START, _HAND_OVER, *COMMON_ACTIONS, PICTURES),
    empty=message("jobs.list.none_here"),
    has_archive=True,
    other_table=message("jobs.list.name_handed_over"),
    key="jobs",
)
GONE: Final = TableSpec(
    name=message("jobs.list.name_handed_over"),
    columns=(*_COLUMNS[:-1], _DAY_GONE, _COLUMNS[-1]),
    actions=(_OPEN, *_KEPT_GONE, PICTURES),
    empty=message("jobs.list.none_handed_over"),
    has_archive=True,
    other_table=message("jobs.list.name_here"),
    key="jobs_gone",
)


class JobsPage(Page):
    """Two lists, and a field that finds the jobs of a customer; lists hold no names."""

    escape_leaves = True
    is_list = True
    job_wanted = Signal(str)  # the id of a job to open, empty for a new one
    start_wanted = Signal(str)  # the id of a job that a fitting is to be begun for
    pictures_wanted = Signal(str, str)  # "job" and the id of the one whose pictures are to be seen

    def __init__(
        self,
        library: Library,
        numbers: Numbers,
        messages: Messages,
        preferences: Preferences,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        who = preferences.who
        self._library, self._messages, self._who = library, messages, who
        self.setAccessibleName(tr("jobs.list.title"))
        self.undo_bar = UndoBar()
        self.acts = LibraryActs(library, numbers, messages, self.undo_bar, lambda: who, self)
        self.acts.changed.connect(self.refresh)
        bind(self, "Ctrl+Z", self.acts.undo)
        self._exchange = ImportExport(library, numbers, messages, who=lambda: who)
        title = QLabel(tr("jobs.list.title"))
        title.setFont(theme.scaled(self.font(), 1.6, bold=True))
        self.here, self.gone = (
            RecordTable(
                spec,
                load=partial(library.jobs.listing, handed_over=handed_over),
                numbers=numbers,
                preferences=preferences,
            )
            for spec, handed_over in ((HERE, False), (GONE, True))
        )
        for records in (self.here, self.gone):
            records.made.connect(partial(let_undo_through, self, self.undo_bar))
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.setAccessibleName(tr("jobs.list.title"))
        for records, other, words in (
            (self.here, self.gone, tr("jobs.list.here")),
            (self.gone, self.here, tr("jobs.list.handed_over")),
        ):
            records.opened.connect(self.job_wanted)
            records.action_chosen.connect(self._do)
            records.failed.connect(partial(tell_problem, messages))
            records.other_table_wanted.connect(partial(self._look_on, other))
            records.nothing_found.connect(partial(self._point_to_customers, records))
            records.offer_wanted.connect(self._look_among_customers)
            self.tabs.addTab(records, words)
        self._build_customer()
        back = QPushButton(tr("jobs.list.back"))
        back.clicked.connect(self.closed)
        find = QShortcut(QKeySequence.StandardKey.Find, self)
        find.activated.connect(self._find)
        foot = add_all(QHBoxLayout(), back, 1)
        head = add_all(QHBoxLayout(), title, 1, self._customer_label, (self.customer, 1))
        add_all(QVBoxLayout(self), head, self.found, (self.tabs, 1), self.undo_bar, foot)
        let_undo_through(self, self.undo_bar)
        self.refresh()

    def begin(self) -> None:
        """Put the cursor where a number can be typed."""
        self.here.focus_filter()

    def refresh(self) -> None:
        """Read the lists again."""
        self.here.refresh()
        self.gone.refresh()
        self._find_customer()

    def subject(self) -> tuple[str, str] | None:
        """Return the job that is picked, if it is one."""
        records = self.tabs.currentWidget()
        picked = records.picked_ids() if isinstance(records, RecordTable) else []
        return ("job", picked[0]) if len(picked) == 1 else None

    def look_again(self) -> None:
        """Show what another window has written."""
        self.refresh()

    def pick(self, job_id: str) -> None:
        """Bring a job into view."""
        for records in (self.here, self.gone):
            if records.pick(job_id):
                self.tabs.setCurrentWidget(records)

    def note_handed_over(self, job_id: str) -> None:
        """Say that a job was handed over, and offer to undo it."""
        self.acts.note_handed_over(job_id)

    def _build_customer(self) -> None:
        self.customer = QLineEdit(clearButtonEnabled=True)
        self.customer.setPlaceholderText(tr("jobs.list.customer_hint"))
        self.customer.setAccessibleName(tr("jobs.list.customer_name"))
        self.customer.setAccessibleDescription(tr("jobs.list.customer_tip"))
        self.customer.textChanged.connect(lambda _text: self._find_customer())
        self.customer.returnPressed.connect(self._go_to_found)
        self._customer_label = QLabel(tr("jobs.list.customer"))
        self._customer_label.setBuddy(self.customer)
        self.found = QListWidget()
        self.found.setWordWrap(True)  # a long name is not cut
        self.found.setAccessibleName(tr("jobs.list.found"))
        self.found.itemActivated.connect(
            lambda item: self.job_wanted.emit(str(item.data(Qt.ItemDataRole.UserRole)))
        )
        self.found.hide()

    def _find_customer(self) -> None:
        """Show the jobs of customers whose name or way to reach them holds what is typed."""
        words = self.customer.text().strip()
        self.found.clear()
        if len(words) >= _LEAST_LETTERS:
            try:
                self._fill_found(words)
            except LibraryProblem as problem:
                tell_problem(self._messages, problem)
        elif words:
            self._say_in_found(tr("jobs.list.customer_tip"))
        rows = min(self.found.count(), _MOST_ROWS)
        tall = max(self.found.sizeHintForRow(0), self.fontMetrics().height()) * rows
        self.found.setFixedHeight(tall + 2 * self.found.frameWidth() + 2)
        set_shown(self.found, shown=bool(words))

    def _fill_found(self, words: str) -> None:
        for person in self._library.jobs.customers_found(words)[:_MOST_FOUND]:
            for row in self._library.jobs.of_customer(person.id):
                item = QListWidgetItem(
                    tr(
                        "jobs.list.one_found",
                        name=Name(person.name),
                        number=Name(row.number),
                        what=Name(row.what or "–"),
                        state=Name(local_label(row.state.label)),
                    )
                )
                item.setToolTip(plain_tip(item.text()))
                item.setData(Qt.ItemDataRole.UserRole, row.id)
                self.found.addItem(item)
        if not self.found.count():
            self._say_in_found(tr("jobs.list.nobody"))

    def _say_in_found(self, words: str) -> None:
        """Say something where the jobs found would stand."""
        said = QListWidgetItem(words)
        said.setFlags(Qt.ItemFlag.NoItemFlags)
        self.found.addItem(said)

    def _point_to_customers(self, records: RecordTable, words: str) -> None:
        """Offer the field for customers where a list of jobs, which holds no names, finds none."""
        words = words.strip()
        try:
            is_known = len(words) >= _LEAST_LETTERS and any(
                self._library.jobs.of_customer(one.id)
                for one in self._library.jobs.customers_found(words)
            )
        except LibraryProblem:
            is_known = False  # only an offer; looking there says what is wrong
        records.nothing.offer(tr("jobs.list.look_among_customers") if is_known else "")

    def _look_among_customers(self, words: str) -> None:
        self.customer.setText(words.strip())
        self.customer.setFocus(Qt.FocusReason.OtherFocusReason)

    def _go_to_found(self) -> None:
        if self.found.isVisible() and self.found.item(0).flags() & Qt.ItemFlag.ItemIsSelectable:
            self.found.setCurrentRow(0)
            self.found.setFocus(Qt.FocusReason.TabFocusReason)

    def _find(self) -> None:
        records = self.tabs.currentWidget()
        if isinstance(records, RecordTable):
            records.focus_filter()

    def _look_on(self, records: RecordTable, words: str) -> None:
        self.tabs.setCurrentWidget(records)
        records.look_for(words)

    def _do(self, key: str, ids: list[str]) -> None:
        if key == "add":
            self.job_wanted.emit("")
        elif key == "open":
            self.job_wanted.emit(ids[0])
        elif key == "start":
            self.start_wanted.emit(ids[0])
        elif key == "hand_over":
            self._hand_over(ids[0])
        elif key == "export":
            self._exchange.export_records("job", ids)
        else:
            self.acts.archive("job", ids, archived=key == "archive")

    def _hand_over(self, job_id: str) -> None:
        if not may_hand_over(self._library, self._messages, job_id):
            return
        day = today().isoformat()
        try:
            kept = self._library.jobs.records.get(job_id)
            job = kept.thing.model_validate(kept.thing.model_dump() | {"handed_over": day})
            self._library.keep_job(job, id=job_id, who=self._who, based_on=kept.revision)
            self.note_handed_over(job_id)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
        except ValueError:
            self._messages.tell(tr("jobs.list.not_handed_over"), tr("jobs.list.received_later"))
        self.refresh()
