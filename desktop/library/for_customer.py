"""The fold in which a fitting is given to a job; an owner at home leaves it closed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QWidget,
)

from core.language import Name, Numbers
from core.records import Job, fields_of
from core.store import Library, LibraryProblem
from desktop.library.job_days import JobDays
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.language import tr
from desktop.widgets.local_time import today
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.panels import (
    add_all,
    add_layout,
    column_in,
    may_be_narrow,
    set_shown,
)

if TYPE_CHECKING:
    from desktop.forms.form import Form
    from desktop.library.customer_part import CustomerPart
    from desktop.library.form_area import FormArea

_ASKED: Final = frozenset({"number", "brought", "promised", "stylus_seen", "noises", "missing"})
"""What is asked of a new job here; its page has the rest."""


class ForCustomer(QWidget):
    """A box that opens it; then a job that is here, or a new one with its customer."""

    def __init__(
        self,
        library: Library,
        numbers: Numbers,
        messages: Messages,
        who: str,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self._messages, self._who = library, messages, who
        self._numbers = numbers
        self._days = JobDays(messages)
        self._suggested = ""
        self.box = QCheckBox(tr("jobs.start.for_customer"))
        self.box.setObjectName("forCustomer")
        self.box.setAccessibleDescription(tr("jobs.start.for_customer_tip"))
        self.box.setToolTip(tr("jobs.start.for_customer_tip"))
        self.jobs = ElidedCombo()
        self.jobs.setAccessibleName(tr("jobs.start.which_job"))
        may_be_narrow(self.jobs)
        label = QLabel(tr("jobs.start.job"))
        label.setBuddy(self.jobs)
        self._label = label
        self._new = QWidget()
        self._row = QHBoxLayout(self._new)
        self._row.setContentsMargins(0, 0, 0, 0)
        self.form: Form | None = None
        self.customer: CustomerPart | None = None
        top = add_all(QHBoxLayout(), self.box, label, (self.jobs, 1))
        self._column = column_in(self)
        add_layout(self._column, top)
        self._area: FormArea | None = None
        self.box.toggled.connect(self._show)
        self.jobs.currentIndexChanged.connect(self._show)
        self._load()

    def choose(self, job_id: str) -> None:
        """Open it with this job."""
        place = self.jobs.findData(job_id)
        if place >= 0:
            self.box.setChecked(True)
            self.jobs.setCurrentIndex(place)

    def typed(self) -> dict[str, Any]:
        """Return what stands here, to show it again on a page that is made again."""
        said: dict[str, Any] = {"open": self.box.isChecked(), "job": self.jobs.currentData()}
        if self.form is not None and self.customer is not None:
            said["new"] = self.form.typed_raw() or {}
            said["whose"] = self.customer.form.typed_raw() or {}
            said["customer"] = self.customer.customer_id
        return said

    def type_again(self, said: dict[str, Any]) -> None:
        """Show what :meth:`typed` has returned."""
        if said.get("job"):
            self.choose(str(said["job"]))
        self.box.setChecked(bool(said.get("open")))
        if self.form is not None and self.customer is not None and "new" in said:
            self.form.type_again(said["new"])
            if said["customer"]:
                self.customer.show_customer(said["customer"])
            self.customer.form.type_again(said["whose"])

    def is_whole(self) -> bool:
        """Whether a fitting can be begun with what stands here; else say what is wrong."""
        if not self._makes_new() or self.form is None or self.customer is None:
            return True
        if self.form.draft() is None:
            self.form.reveal()
            return False
        if not self._days.are_meant(self.form.draft()):
            self.form.fields.entries["promised"].where_wrong().setFocus()
            return False
        return self.customer.is_whole()

    def keep(self) -> str:
        """Return the id of the job, kept first if it is new; empty for a fitting without one.

        LibraryProblem if it can't be kept.
        """
        if not self.box.isChecked():
            return ""
        if not self._makes_new():
            return str(self.jobs.currentData())
        job = self.form.draft() if self.form is not None else None
        if not isinstance(job, Job) or self.customer is None:
            raise TypeError("a job that is not whole")
        number = "" if job.number == self._suggested else job.number
        whole = job.model_copy(update={"number": number, "customer": self.customer.keep()})
        return self._library.keep_job(whole, who=self._who).id

    def _load(self) -> None:
        """Offer the jobs that are here."""
        self.jobs.addItem(tr("jobs.start.new_job"), "")
        try:
            for row in self._library.jobs.rows(handed_over=False):
                words = tr("jobs.start.one", number=Name(row.number), what=Name(row.what or "–"))
                self.jobs.addItem(words, row.id)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
        self._show()

    def _makes_new(self) -> bool:
        return self.box.isChecked() and not self.jobs.currentData()

    def _show(self) -> None:
        is_open = self.box.isChecked()
        if self._makes_new():
            self._build_new()
        for part in (self._label, self.jobs):
            set_shown(part, shown=is_open and self.jobs.count() > 1)
        if self._area is not None:
            set_shown(self._area, shown=self._makes_new())

    def _build_new(self) -> None:
        """Make the fields of a new job; an owner at home never sees them."""
        if self.form is not None:
            return
        # Imported here: most fittings are begun without a new job.
        from desktop.forms.field_editors import TextEditor
        from desktop.forms.form import Form
        from desktop.library.customer_part import CustomerPart
        from desktop.library.essentials import wait_with_problems
        from desktop.library.form_area import FormArea

        job = self._library.jobs.begun(today())
        self._suggested = job.number
        self.form = Form(Job, self._numbers, job)
        self.form.keep_to_top()
        wait_with_problems(self.form)
        self.form.fields.set_aside({spec.name for spec in fields_of(Job)} - _ASKED)
        for one in self.form.fields.made.values():
            if isinstance(one, TextEditor):
                one.show_lines(1)  # the page has little room, and the job's own has more
        self.form.forget_typing()
        self.customer = CustomerPart(self._library, self._numbers, self._messages, self._who)
        self.customer.form.forget_typing()
        add_all(self._row, (self.form, 1), (self.customer, 1))
        self._area = FormArea(self, whole=True)  # in little room the page scrolls
        self._area.setWidget(self._new)
        self._area.setFrameShape(QFrame.Shape.NoFrame)
        self._column.addWidget(self._area)
