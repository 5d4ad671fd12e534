"""From a finished fitting to the next one: pick a cartridge, read the plan, begin."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QStackedWidget, QWidget

from core.language import Numbers
from core.store import Library, LibraryProblem
from desktop.swap.pick_page import PickPage
from desktop.swap.plan_page import PlanPage
from desktop.swap.planned_swap import PlannedSwap, work_out_swap
from desktop.widgets.keys import bind
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import Page
from desktop.widgets.panels import column_in, let_go


class SwapPage(Page):
    """Picks the next cartridge, shows its plan, and begins the fitting.

    Nothing is stored before the person starts the fitting, and then fitting and plan together.

    Raises LibraryProblem if the fitting or the lists can't be read.
    """

    escape_leaves = True
    paper_wanted = Signal(object)  # the PlannedSwap that is to be put on paper
    started = Signal(str)  # the id of the fitting that was begun
    # The id of the fitting set out from, and the name of a cartridge that is not on file
    add_wanted = Signal(str, str)

    def __init__(
        self,
        library: Library,
        from_fitting: str,
        *,
        who: str = "",
        numbers: Numbers,
        messages: Messages,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library = library
        self._from = from_fitting
        self._who = who
        self._numbers = numbers
        self._messages = messages
        self.setAccessibleName(tr("swap.swap_page.fit_another_cartridge"))
        self.pick = PickPage()
        self.plan: PlanPage | None = None
        self._stack = QStackedWidget(self)
        self._stack.addWidget(self.pick)
        outer = column_in(self)
        outer.addWidget(self._stack)
        self.pick.picked.connect(self.show_plan)
        self.pick.latest_wanted.connect(self._set_out_from)
        self.pick.add_wanted.connect(lambda name: self.add_wanted.emit(self._from, name))
        self.pick.closed.connect(self.closed)
        bind(self, "Ctrl+Shift+Return", self._go_on)
        self._list()

    def begin(self) -> None:
        """Put the focus where the person starts."""
        if self.plan is not None:
            self.plan.begin()
        else:
            self.pick.begin()

    def show_plan(self, cartridge_id: str) -> None:
        """Show the plan for a cartridge, or say why there is none."""
        try:
            swap = work_out_swap(self._library, self._from, cartridge_id)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self._show(swap)

    def show_list(self) -> None:
        """Show the list of cartridges."""
        self._drop_plan()
        self.pick.begin()

    def leave(self) -> None:
        """Go one back: from the plan to the list, from there to where one came from."""
        if self.plan is not None:
            self.show_list()
        else:
            self.closed.emit()

    def look_again(self) -> None:
        """Follow what another window has written: the list, and the plan where it changes it.

        What is typed to find a cartridge stays; so do the focus, and how far the plan is scrolled.
        """
        try:
            self._list()
            if self.plan is None or self.plan.swap.is_current(self._library):
                return
            swap = work_out_swap(self._library, self._from, self.plan.swap.cartridge.id)
        except LibraryProblem:
            return  # starting says so
        before = self.plan
        if swap.plan == before.swap.plan:
            before.swap = swap
            return
        held, places = before.focused(), before.scrolled()
        self._show(swap)
        if self.plan is not None:
            self.plan.take_place(held, places)
        self.told_of_others.emit(tr("swap.swap_page.changed_in_another_window"))

    def _list(self) -> None:
        fitting = self._library.fitting(self._from)
        deck = self._library.deck(fitting.deck_id)
        self.pick.show_deck(self._library, deck, self._from)

    def _set_out_from(self, fitting_id: str) -> None:
        before, self._from = self._from, fitting_id
        try:
            self._list()
        except LibraryProblem as problem:
            self._from = before
            tell_problem(self._messages, problem)
        self.pick.begin()

    def _show(self, swap: PlannedSwap) -> None:
        self._drop_plan()
        plan = PlanPage(swap, self._numbers)
        plan.start_wanted.connect(self._start)
        plan.another_wanted.connect(self.show_list)
        plan.paper_wanted.connect(lambda: self.paper_wanted.emit(swap))
        plan.closed.connect(self.closed)
        self.plan = plan
        self._stack.addWidget(plan)
        self._stack.setCurrentWidget(plan)
        plan.begin()

    def _drop_plan(self) -> None:
        if self.plan is not None:
            self._stack.setCurrentWidget(self.pick)
            let_go(self._stack, self.plan)
            self.plan = None

    def _go_on(self) -> None:
        if self.plan is not None:
            self.plan.start()
        elif self.pick.records.current_id:
            self.show_plan(self.pick.records.current_id)

    def _start(self) -> None:
        if self.plan is None:
            return
        swap = self.plan.swap
        try:
            if not swap.is_current(self._library):
                self._messages.tell(
                    tr("swap.swap_page.plan_made_anew"),
                    tr("swap.swap_page.deck_or_cartridge_was_changed"),
                    tr("swap.swap_page.here_is_the_plan_for"),
                )
                self.show_plan(swap.cartridge.id)
                return
            fitting = self._library.start_fitting(
                swap.deck.id,
                swap.cartridge.id,
                who=self._who,
                planned=swap.plan.planned(),
                headshell=swap.old.fitting.headshell,  # it stays on the arm
                arm_key=swap.old.fitting.arm_key,
            )
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self.started.emit(fitting.id)
