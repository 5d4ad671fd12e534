"""The plan for another cartridge, before a screw is touched."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from core.fitting import StepState, Verdict
from core.language import (
    NO_BREAK,
    Name,
    Numbers,
    Series,
    StepTitle,
    message,
)
from core.steps import STEP_NAMES
from core.swap import DueStep, Need, RunsOut
from core.swap.words import PlanLine, in_the_head, plan_lines
from desktop.swap.planned_swap import PlannedSwap
from desktop.swap.side_panels import side_panels
from desktop.widgets import theme
from desktop.widgets.language import caution_words, local_label, step_words, tr
from desktop.widgets.local_time import day
from desktop.widgets.page import Page, PageTitle
from desktop.widgets.panels import (
    add_all,
    add_layout,
    announce,
    button,
    column_in,
    heading,
    panel,
    text_label,
)
from desktop.widgets.plain_text import plain_tip
from desktop.widgets.plan_words import name_words
from desktop.widgets.side_by_side import SideBySide
from desktop.widgets.verdict_badge import Badge, Headline
from desktop.widgets.verdict_signs import Sign

_SIGNS: Final[dict[Need, Sign]] = {
    Need.SET: Verdict.MOVE,
    Need.CONFIRM: Verdict.READ_AGAIN,
    Need.NOTHING: Verdict.NOTHING_TO_SET,
}

_RUNS_OUT: Final = StepState.CHECK_AGAIN
_TWO_FROM_EM: Final = 68.0
"""In a narrower page the tables of the background would be cut beside the steps."""
_LOW_EM: Final = 46.0
"""In a window lower than this the headline takes fewer lines."""


class PlanPage(Page):
    """One plan."""

    start_wanted = Signal()  # the person wants the fitting begun
    paper_wanted = Signal()  # the person wants it on paper
    another_wanted = Signal()  # the person wants to look at another cartridge

    def __init__(self, swap: PlannedSwap, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.swap = swap
        self._numbers = numbers
        plan = swap.plan
        line = theme.em(self)
        self.title = PageTitle(tr("swap.plan_page.plan"), self)
        deck, old, new = plan.deck.name, plan.old_cartridge.name, plan.new_cartridge.name
        what = text_label(_swap_words(name_words(deck), name_words(old), name_words(new)), "muted")
        what.setToolTip(plain_tip(_swap_words(deck, old, new)))
        what.setAccessibleName(_swap_words(deck, old, new))
        self.badge = Badge(self._sign(), round(line * 3.0), self)
        self.word = heading(self._word(), 1.15)
        self.headline = Headline(self)
        self.headline.say(self._headline())
        self.care = text_label(self._care(), "question")
        self.start_button = button(
            tr("swap.plan_page.start_this_fitting"),
            keys="Ctrl+Shift+Return",
            tip=tr("swap.plan_page.begins_the_fitting_this_plan"),
            primary=True,
        )
        self.another_button = button(
            tr("swap.plan_page.another_cartridge"), tip=tr("swap.plan_page.back_to_the_list_of")
        )
        self.paper_button = button(
            tr("swap.plan_page.on_paper"), tip=tr("swap.plan_page.on_paper_tip")
        )
        self.back_button = button(
            tr("swap.plan_page.back"), tip=tr("swap.plan_page.nothing_was_begun")
        )
        if plan.cannot_fit:
            self.start_button.hide()
            self.care.hide()
            self.another_button.setProperty("primary", "true")
        self.cards: dict[str, QWidget] = {}
        self._lay_out(what)
        way_on = self.another_button if plan.cannot_fit else self.start_button
        self.title.entered.connect(way_on.setFocus)
        self.start_button.clicked.connect(self.start_wanted)
        self.another_button.clicked.connect(self.another_wanted)
        self.back_button.clicked.connect(self.closed)
        self.paper_button.clicked.connect(self.paper_wanted)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take less for the headline where there is little room."""
        super().resizeEvent(event)
        self.headline.set_compact(compact=self.window().height() < _LOW_EM * theme.em(self))

    def begin(self) -> None:
        """Put the focus on the title, and announce it."""
        self.title.setFocus(Qt.FocusReason.OtherFocusReason)
        announce(
            self.title,
            tr(
                "swap.plan_page.plan_word_headline",
                word=Name(self.word.text()),
                headline=Name(self.headline.text()),
            ),
        )

    def start(self) -> None:
        """Ask for the fitting to be begun, if it can be."""
        if not self.swap.plan.cannot_fit:
            self.start_wanted.emit()

    def focused(self) -> str:
        """Return which of its buttons has the focus, empty for none."""
        return next((name for name, one in self._buttons().items() if one.hasFocus()), "")

    def scrolled(self) -> list[int]:
        """Return how far its parts are scrolled."""
        return [area.verticalScrollBar().value() for area in self.findChildren(QScrollArea)]

    def take_place(self, focused: str, scrolled: Sequence[int]) -> None:
        """Go on where a page before this one stood: its focus, and how far it was scrolled."""
        if focused:
            self._buttons()[focused].setFocus(Qt.FocusReason.OtherFocusReason)

        def scroll() -> None:
            for area, value in zip(self.findChildren(QScrollArea), scrolled, strict=False):
                area.verticalScrollBar().setValue(value)

        QTimer.singleShot(0, self, scroll)  # once it is laid out

    def _buttons(self) -> dict[str, QPushButton]:
        return {
            "start": self.start_button,
            "another": self.another_button,
            "back": self.back_button,
        }

    # what stands above everything

    def _sign(self) -> Sign:
        plan = self.swap.plan
        if plan.cannot_fit:
            return Verdict.STOP
        if plan.runs_out or any(due.is_out for due in plan.due):
            return _RUNS_OUT
        moves = any(start.part is not None for start in plan.starts)
        return Verdict.MOVE if moves else Verdict.READ_AGAIN

    def _word(self) -> str:
        plan = self.swap.plan
        if plan.cannot_fit:
            return tr("swap.plan_page.cant_be_fitted")
        if plan.runs_out:
            fixed = all(one.is_fixed for one in plan.runs_out)
            if fixed:
                return tr("swap.plan_page.cant_be_set")
            return tr("swap.plan_page.runs_out_of_travel")
        if plan.back_to is not None:
            last = plan.back_to.fitting.entries[-1]
            return tr("swap.plan_page.back_to_the_settings_it", day=Name(day(last.at)))
        return tr("swap.plan_page.where_to_start")

    def _headline(self) -> str:
        plan = self.swap.plan
        if plan.cannot_fit:
            return self._numbers.text(plan.cannot_fit)
        if plan.runs_out:
            ends = [one for one in plan.runs_out if not one.is_fixed]
            if not ends:
                return " ".join(self._numbers.text(one.sentence) for one in plan.runs_out)
            controls = dict.fromkeys(one.control for one in ends)
            names = tuple(message("control.inside", control=control) for control in controls)
            return self._numbers.text(message("swap.not_enough_travel", controls=Series(names)))
        count = sum(start.part is not None for start in plan.starts)
        out = tuple(StepTitle(due.step) for due in plan.due if due.is_out)
        if not count and out:
            return self._numbers.text(message("swap.left_out_first", steps=Series(out)))
        if not count:
            return tr("swap.plan_page.nothing_needs_to_start_elsewhere")
        return tr("swap.plan_page.move_controls", count=count)

    def _care(self) -> str:
        plan = self.swap.plan
        guard = plan.old_cartridge.has_guard or plan.new_cartridge.has_guard
        keys = (["guard"] if guard else []) + ["arm_locked", "muted", "no_heat"]
        known = caution_words()
        titles = [known[key].title for key in keys]
        if in_the_head(plan.starts):
            titles.append(tr("swap.plan_page.mark_where_the_old_screws"))
        said = "  ·  ".join(title.replace(" ", NO_BREAK) for title in titles)
        return tr("swap.plan_page.before_a_screw_is_touched", said=Name(said))

    # the parts

    def _lay_out(self, what: QWidget) -> None:
        plan, line = self.swap.plan, theme.em(self)
        top = QHBoxLayout()
        top.setSpacing(round(line * 0.6))
        add_all(top, self.title, (what, 1))
        frame = QFrame()
        frame.setProperty("panel", "true")
        said = add_all(QVBoxLayout(), self.word, self.headline)
        row = QHBoxLayout(frame)
        row.addWidget(self.badge, 0, Qt.AlignmentFlag.AlignTop)
        add_layout(row, said, 1)
        main = QWidget()
        column = column_in(main)
        column.setSpacing(round(line * 0.4))
        for one in plan.runs_out:
            column.addWidget(self._end(one))
        if plan.warnings:
            box, inside = panel(tr("swap.plan_page.good_to_know_first"))
            for text in map(self._numbers.text, plan.warnings):
                inside.addWidget(text_label(text))
            column.addWidget(box)
        if not plan.cannot_fit:
            for line_of in plan_lines(plan, self.swap.foretold):
                card = self._card(line_of)
                self.cards[line_of.due.step] = card
                column.addWidget(card)
        middle: QWidget
        if plan.cannot_fit:
            column.addWidget(text_label(tr("swap.plan_page.nothing_was_begun_pick_another")))
            column.addStretch(1)
            middle = main
        else:
            beside = side_panels(self.swap, self._numbers)
            middle = SideBySide(
                main,
                beside,
                (tr("swap.plan_page.steps"), tr("swap.plan_page.background")),
                two_from_em=_TWO_FROM_EM,
            )
        bar = add_all(QHBoxLayout(), self.back_button, 1, self.paper_button)
        add_all(bar, self.another_button, self.start_button)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(round(line * 0.5), round(line * 0.3), round(line * 0.5), 8)
        outer.setSpacing(round(line * 0.35))
        add_all(outer, top, frame, self.care, (middle, 1), bar)

    def _end(self, one: RunsOut) -> QWidget:
        """Return the warning about a control that can't go as far as it should."""
        frame, column = panel()
        line = theme.em(self)
        top = QHBoxLayout()
        top.addWidget(Badge(_RUNS_OUT, round(line * 1.5)))
        name = Name(step_words(one.step).title)
        title = (
            tr("swap.plan_page.cant_be_set_title", title=name)
            if one.is_fixed
            else tr("swap.plan_page.runs_out_of_travel_title", title=name)
        )
        top.addWidget(heading(title, 1.15), 1)
        sentence, cured = (self._numbers.text(said) for said in (one.sentence, one.cure))
        add_all(column, top, text_label(sentence, "problem"))
        cure = text_label(
            tr("swap.plan_page.instead_cured", cured=Name(cured))
            if one.is_fixed
            else tr("swap.plan_page.cure_cured", cured=Name(cured))
        )
        column.addWidget(cure)
        frame.setAccessibleName(f"{title}. {sentence} {cure.text()}")
        return frame

    def _card(self, line_of: PlanLine) -> QWidget:
        """Return what is to be expected of one step."""
        due, mine = line_of.due, line_of.runs_out
        plan, numbers, line = self.swap.plan, self._numbers, theme.em(self)
        frame, column = panel()
        title = f"{STEP_NAMES.index(due.step) + 1}  {step_words(due.step).title}"
        need = _need_words(due, mine)
        top = QHBoxLayout()
        sign = _RUNS_OUT if mine or due.is_out else _SIGNS[due.need]
        top.addWidget(Badge(sign, round(line * 1.3)))
        top.addWidget(heading(title, 1.05), 1)
        state = heading(need, 1.0)
        state.setWordWrap(False)
        top.addWidget(state)
        add_layout(column, top)
        said = [tr("swap.plan_page.step_title", title=Name(title)), need]

        def say(text: str, kind: str = "", factor: float = 1.0) -> None:
            label = heading(text, factor) if factor > 1.0 else text_label(text, kind)
            column.addWidget(label)
            said.append(text)

        if line_of.order is not None:
            say(numbers.text(line_of.order), factor=1.45)
        elif line_of.stays is not None:
            say(numbers.text(line_of.stays))
        facts, why = ([numbers.text(one) for one in said] for said in (line_of.facts, line_of.why))
        if not any(start.step == due.step for start in plan.starts):
            facts, why = [], [*why, *facts]  # one line is enough where nothing is moved
        for lines, kind in ((facts, ""), (why, "muted")):
            if lines:
                say("  ".join(lines), kind)
        frame.setAccessibleName(". ".join(part.rstrip(".") for part in said if part))
        return frame


def _need_words(due: DueStep, ends: Sequence[RunsOut]) -> str:
    """Return what a step asks for, and what stands against it."""
    need = local_label(due.need.label)
    if due.is_out:
        return tr("swap.plan_page.need_out", need=Name(need))
    if not ends:
        return need
    if all(one.is_fixed for one in ends):
        return tr("swap.plan_page.need_cant_be_set", need=Name(need))
    return tr("swap.plan_page.need_runs_out_of_travel", need=Name(need))


def _swap_words(deck: str, old: str, new: str) -> str:
    if old == new:
        return tr("swap.plan_page.deck_old_off_and_on", deck=Name(deck), old=Name(old))
    return tr("swap.plan_page.deck_old_off_new_on", deck=Name(deck), old=Name(old), new=Name(new))
