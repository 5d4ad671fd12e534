"""The page of a job: its form, whose it is, its fittings, and the day it was handed over."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from core.fitting import Work
from core.language import Name, Numbers, message
from core.records import AnyRecord, Job
from core.store import FittingRow, Library, LibraryProblem, unsuitable
from desktop.library.customer_part import CustomerPart
from desktop.library.editor import JOB, RecordEditor
from desktop.library.job_days import JobDays
from desktop.widgets import theme
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.flow_row import FlowRow
from desktop.widgets.language import local_label, tr
from desktop.widgets.local_time import moment, today
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.panels import (
    add_all,
    button,
    may_be_narrow,
    panel,
    scrolled,
    set_shown,
    text_label,
)
from desktop.widgets.plain_text import plain_tip

_GONE: Final = "gone"
"""The wish to hand a job over, in the place of what is opened once it is saved."""
_MOST_OFFERED: Final = 50
"""How many fittings without a job are offered, those last worked on first."""


class JobPage(RecordEditor):
    """A job. What is typed is kept by Save, and before anything else is done with the job."""

    done = Signal(str)  # the id of the job that was saved
    gone = Signal(str)  # the id of the job that was saved as handed over
    start_wanted = Signal(str)  # the id of the job that a fitting is to be begun for
    fitting_wanted = Signal(str)  # the id of a fitting to open

    def __init__(
        self,
        library: Library,
        job_id: str = "",
        *,
        who: str = "",
        numbers: Numbers,
        messages: Messages,
        parent: QWidget | None = None,
    ) -> None:
        self._wish, self._suggested = "", ""
        self._days = JobDays(messages)
        super().__init__(
            JOB, library, job_id, who=who, numbers=numbers, messages=messages, parent=parent
        )
        self.kept.connect(self._go_on)

    def _begin_form(self) -> None:
        """Begin a new job with the next number and today's date."""
        if not self._record_id:
            job = self._library.jobs.begun(today())
            self._suggested = job.number
            self._blank = job
            self.form.put(job)
        super()._begin_form()

    def beside(self) -> QWidget:
        """Make what stands beside the form: customer, fittings, the day of handing over."""
        begun = self._begun
        customer = begun.customer if isinstance(begun, Job) else ""
        self.customer = CustomerPart(
            self._library, self._numbers, self._messages, self._who, customer
        )
        self.customer.forgotten.connect(self._note_forgotten)
        side = QWidget()
        add_all(QVBoxLayout(side), self.customer, self._fittings_part(), 1)
        return scrolled(side)

    def look_again(self) -> None:
        """Show what another window has changed."""
        super().look_again()
        self._show_fittings()

    def hand_over(self) -> None:
        """Put today's date where the job was handed over, and save; ask if work is unfinished."""
        if not may_hand_over(self._library, self._messages, self._record_id):
            return
        self.form.fields.entries["handed_over"].put(today().isoformat())
        self._save_and(_GONE)

    def _fittings_part(self) -> QWidget:
        frame, column = panel(tr("jobs.page.fittings"))
        self.none_yet = text_label(tr("jobs.page.no_fitting"), "muted")
        self.fittings = QListWidget()
        self.fittings.setMinimumHeight(round(3.5 * theme.em(self)))
        self.fittings.setAccessibleName(tr("jobs.page.fittings"))
        self.fittings.setAccessibleDescription(tr("jobs.page.fittings_tip"))
        self.fittings.setWordWrap(True)
        self.fittings.itemActivated.connect(
            lambda item: self._open(str(item.data(Qt.ItemDataRole.UserRole)))
        )
        self.take_out = button(tr("jobs.page.take_out"), tip=tr("jobs.page.take_out_tip"))
        self.take_out.clicked.connect(self._take_out)
        self.start = button(tr("jobs.page.start"), tip=tr("jobs.page.start_tip"))
        self.start.clicked.connect(lambda: self._save_and("start"))
        self.others = ElidedCombo()
        self.others.setAccessibleName(tr("jobs.page.others"))
        may_be_narrow(self.others)
        self.add = button(tr("jobs.page.add"), tip=tr("jobs.page.add_tip"))
        self.add.clicked.connect(self._add)
        self.handed = button(tr("jobs.page.hand_over"), tip=tr("jobs.page.hand_over_tip"))
        self.handed.setObjectName("handedOver")
        self.handed.clicked.connect(self.hand_over)
        row, more = FlowRow((self.start, self.take_out)), FlowRow((self.add, self.handed))
        add_all(column, self.none_yet, self.fittings, row, self.others, more)
        self._show_fittings()
        return frame

    def _show_fittings(self) -> None:
        try:
            rows = self._library.fittings(job_id=self._record_id) if self._record_id else ()
            free = self._library.fittings(job_id="", archived=False, limit=_MOST_OFFERED)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self.fittings.clear()
        for row in rows:
            item = QListWidgetItem(self._asked(row))
            item.setToolTip(plain_tip(item.text()))
            item.setData(Qt.ItemDataRole.UserRole, row.id)
            self.fittings.addItem(item)
        self.fittings.setCurrentRow(0)
        self.others.clear()
        for row in free:
            self.others.addItem(_said(row), row.id)
        is_kept = bool(self._record_id)
        set_shown(self.none_yet, shown=not rows)
        set_shown(self.fittings, shown=bool(rows))
        set_shown(self.take_out, shown=bool(rows))
        set_shown(self.others, shown=is_kept and bool(free))
        set_shown(self.add, shown=is_kept and bool(free))
        begun = self._begun
        is_here = not (isinstance(begun, Job) and begun.handed_over)
        set_shown(self.handed, shown=is_kept and is_here)

    def _asked(self, row: FittingRow) -> str:
        """Say a fitting, and what it was asked for where that is less than all."""
        try:
            asked = self._library.fitting(row.id).work
        except LibraryProblem:
            return _said(row)  # opening it says why
        if asked is None or asked.work is Work.WHOLE:
            return _said(row)
        what = Name(local_label(asked.work.label))
        return tr("jobs.page.short", fitting=Name(_said(row)), what=what)

    def _add(self) -> None:
        self._give(str(self.others.currentData() or ""), self._record_id)

    def _take_out(self) -> None:
        item = self.fittings.currentItem()
        if item is not None:
            self._give(str(item.data(Qt.ItemDataRole.UserRole)), "")

    def _give(self, fitting_id: str, job_id: str) -> None:
        if not fitting_id:
            return
        try:
            self._library.give_job(fitting_id, job_id, who=self._who)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
        self._show_fittings()

    def _open(self, fitting_id: str) -> None:
        if self.has_changes:
            self._save_and(fitting_id)
        else:
            self.fitting_wanted.emit(fitting_id)

    def _save_and(self, wish: str) -> None:
        self._wish = wish
        self.save()
        self._wish = ""

    def _go_on(self, job_id: str) -> None:
        if self._wish == "start":
            self.start_wanted.emit(job_id)
        elif self._wish == _GONE:
            self.gone.emit(job_id)
        elif self._wish:
            self.fitting_wanted.emit(self._wish)
        else:
            self.done.emit(job_id)

    def save(self) -> bool:
        """Keep job and customer, both or neither; return whether they were kept."""
        return self.customer.is_whole() and self._days_are_meant() and super().save()

    def _days_are_meant(self) -> bool:
        """Ask about a day promised that lies before the day received; no day is refused for it."""
        if self._days.are_meant(self.form.draft()):
            return True
        self.form.fields.entries["promised"].where_wrong().setFocus()
        return False

    def _keep(self, thing: object, revision: int) -> str:
        if not isinstance(thing, Job):
            raise TypeError(f"the form of a job made {type(thing).__name__}")
        with self._library.transaction():
            job = thing
            if job.customer == self.customer.customer_id:
                job = job.model_copy(update={"customer": self._kept_customer()})
            if job.number == self._suggested:
                job = job.model_copy(update={"number": ""})  # the next, whichever that is by now
            known, seen = self._record_id or None, revision or None
            return self._library.keep_job(job, id=known, who=self._who, based_on=seen).id

    def _kept_customer(self) -> str:
        try:
            return self.customer.keep()
        except LibraryProblem as problem:  # not to be taken for a change of the job itself
            raise unsuitable(message("jobs.customer_not_kept", why=problem.what)) from problem

    def _keep_or_compare(
        self, thing: object, seen: int = 0, begun: AnyRecord | None = None
    ) -> bool:
        return super()._keep_or_compare(self._with_customer(thing, seen), seen, begun)

    def _compare(self, thing: AnyRecord, begun: AnyRecord | None) -> None:
        typed = self._with_customer(thing)
        super()._compare(typed if isinstance(typed, Job) else thing, begun)

    def _with_customer(self, thing: object, seen: int = 0) -> object:
        """Return the job that the form made with the customer beside it; a chosen one as it is."""
        if isinstance(thing, Job) and not seen:
            return thing.model_copy(update={"customer": self.customer.customer_id})
        return thing

    def _note_forgotten(self) -> None:
        whose = len(self._whose())
        self._at_first = *self._at_first[:-whose], *self._whose()
        self.form.start()  # the button that was pressed is gone

    def _whose(self) -> tuple[object, ...]:
        return self.customer.typed(), self.customer.customer_id

    def _fingerprint(self) -> tuple[object, ...]:
        return *super()._fingerprint(), *self._whose()


def may_hand_over(library: Library, messages: Messages, job_id: str) -> bool:
    """Ask whether a job whose fittings are not all finished is handed over all the same."""
    try:
        open_ones = [row for row in library.fittings(job_id=job_id) if not row.finished]
    except LibraryProblem as problem:
        tell_problem(messages, problem)
        return False
    if not open_ones:
        return True
    answer = messages.ask(
        tr("jobs.page.unfinished"),
        tr("jobs.page.unfinished_question", count=len(open_ones)),
        [tr("jobs.page.go_back"), tr("jobs.page.hand_over_anyway")],
        stays=0,
    )
    return answer == 1


def _said(row: FittingRow) -> str:
    return tr(
        "jobs.page.fitting",
        deck=Name(row.deck_and_arm),
        cartridge=Name(row.cartridge_name),
        state="finished" if row.finished else "open",
        at=Name(moment(row.last_at)),
    )
