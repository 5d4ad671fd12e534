"""The last page of a rehearsal: how the deck really was, how it is now, and what was said of it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from core.language import Name, Numbers, StepTitle, message
from core.practice import MisleadingControl, StepDebrief, Truth
from core.practice.own_readings import OwnReading, named, told_of
from core.practice.saved_rehearsals import Wish
from desktop.widgets import theme
from desktop.widgets.language import said, tr
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, add_layout, button, heading, panel, scrolled, text_label

_HEADS = (
    message("rehearsal.truth_page.step"),
    message("rehearsal.truth_page.what"),
    message("rehearsal.truth_page.at_the_start"),
    message("rehearsal.truth_page.now_truly"),
    message("rehearsal.truth_page.wanted"),
    message("rehearsal.truth_page.the_wizard_said"),
)
_OWN_HEADS = (
    message("rehearsal.truth_page.step"),
    message("rehearsal.truth_page.instrument"),
    message("rehearsal.truth_page.you_read"),
    message("rehearsal.truth_page.in_truth"),
    message("rehearsal.truth_page.off_by"),
    message("rehearsal.truth_page.it_may_be_off"),
)
_OWN_SHARES = (0, 6, 3, 3, 2, 2)
_NUMBERS = (2, 3, 4)
"""Columns of values, which are never broken."""


class TruthPage(Page):
    """Hidden truth beside what was achieved."""

    another_wanted = Signal()
    same_wanted = Signal()
    go_on_wanted = Signal()

    def __init__(
        self,
        endings: Sequence[StepDebrief],
        misleading: Sequence[MisleadingControl],
        own: Sequence[tuple[OwnReading, int]],
        wish: Wish,
        numbers: Numbers,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._own = tuple(own)
        self.setAccessibleName(tr("rehearsal.truth_page.the_truth_about_this_deck"))
        self.title = heading(tr("rehearsal.truth_page.the_truth_about_this_deck"), 1.6)
        self.title.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.verdict = text_label(self._on_the_whole(endings))
        self.verdict.setFont(theme.scaled(self.font(), 1.2))
        self.another_button = button(tr("rehearsal.truth_page.another_deck"), primary=True)
        self.same_button = button(tr("rehearsal.truth_page.the_same_deck_again"))
        self.go_on_button = button(
            tr("rehearsal.truth_page.go_on_with_this_one"),
            tip=tr("rehearsal.truth_page.back_to_the_bench_now"),
            quiet=True,
        )
        self.back_button = button(tr("rehearsal.truth_page.back_to_the_library"))
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.addWidget(self.verdict)
        column.addWidget(
            text_label(
                tr(
                    "rehearsal.truth_page.it_was_described",
                    described=Name(numbers.text(wish.described())),
                ),
                "muted",
            )
        )
        frame, table = panel()
        add_layout(table, self._table(endings))
        column.addWidget(frame)
        column.addWidget(self._costs(endings))
        column.addWidget(self._own_panel())
        frame, told = panel(tr("rehearsal.truth_page.controls_that_misled_you"))
        self.misleading = text_label(
            "\n".join(numbers.text(one.sentence) for one in misleading)
            or tr("rehearsal.truth_page.none_every_control_did_what")
        )
        told.addWidget(self.misleading)
        column.addWidget(frame)
        column.addWidget(
            text_label(
                tr("rehearsal.truth_page.near_enough_is_what_this")
                .replace(".325", f"{numbers.decimal}325")
                .replace(".05", f"{numbers.decimal}05"),
                "muted",
            )
        )
        column.addStretch(1)
        area = scrolled(inside)
        area.setFocusPolicy(Qt.FocusPolicy.StrongFocus)  # the page is long: keys scroll it
        area.setAccessibleName(tr("rehearsal.truth_page.the_truth_about_this_deck"))
        row = QHBoxLayout()
        row.addWidget(self.back_button)
        row.addWidget(self.go_on_button)
        row.addStretch(1)
        row.addWidget(self.same_button)
        row.addWidget(self.another_button)
        add_all(QVBoxLayout(self), self.title, (area, 1), row)
        self.another_button.clicked.connect(self.another_wanted)
        self.same_button.clicked.connect(self.same_wanted)
        self.go_on_button.clicked.connect(self.go_on_wanted)
        self.back_button.clicked.connect(self.closed)

    def begin(self) -> None:
        """Put the focus on the title, so that it is read out."""
        self.title.setFocus(Qt.FocusReason.OtherFocusReason)

    def rows(self) -> list[tuple[str, ...]]:
        """Return what the table says, row by row; the judgement comes last."""
        return self._rows

    def _table(self, endings: Sequence[StepDebrief]) -> QGridLayout:
        grid = QGridLayout()
        line = theme.em(self)
        grid.setHorizontalSpacing(round(line * 0.9))
        grid.setVerticalSpacing(round(line * 0.15))
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(5, 3)
        self._rows = [self._row(one) for one in endings]
        for column, head in enumerate(_HEADS):
            grid.addWidget(heading(said(head), 0.9), 0, column)
        top = Qt.AlignmentFlag.AlignTop
        for place, (ending, cells) in enumerate(zip(endings, self._rows, strict=True)):
            row = 3 * place + 1
            for column, text in enumerate(cells[:-1]):
                label = text_label(text)
                label.setWordWrap(column not in _NUMBERS)
                if column in (0, 3):
                    label.setFont(theme.scaled(label.font(), 1.0, bold=True))
                grid.addWidget(label, row, column, top)
            told = text_label(cells[-1], "problem" if ending.was_true is False else "muted")
            told.setAccessibleName(f"{cells[0]}: {cells[-1]}")
            grid.addWidget(told, row + 1, 1, 1, len(_HEADS) - 1, top)
            grid.setRowMinimumHeight(row + 2, round(line * 0.4))
        return grid

    def _costs(self, endings: Sequence[StepDebrief]) -> QWidget:
        frame, told = panel(tr("rehearsal.truth_page.what_mistakes_would_have_cost"))
        self.costs = [self._numbers.text(one.cost) for one in endings if one.cost is not None]
        for text in self.costs or [tr("rehearsal.truth_page.nothing_is_far_enough_off")]:
            told.addWidget(text_label(text))
        return frame

    def _own_panel(self) -> QWidget:
        frame, told = panel(tr("rehearsal.truth_page.your_own_readings"))
        if self._own:
            told.addWidget(text_label(tr("rehearsal.truth_page.the_worst_of_each"), "muted"))
            add_layout(told, self._own_table(self._own))
        else:
            told.addWidget(text_label(tr("rehearsal.truth_page.nothing_was_read"), "muted"))
        return frame

    def _own_table(self, own: Sequence[tuple[OwnReading, int]]) -> QGridLayout:
        """Lay out what was read beside what was so, a row for each figure of an instrument."""
        grid = QGridLayout()
        line = theme.em(self)
        grid.setHorizontalSpacing(round(line * 0.9))
        grid.setVerticalSpacing(round(line * 0.25))
        for column, share in enumerate(_OWN_SHARES):
            grid.setColumnStretch(column, share)
        for column, head in enumerate(_OWN_HEADS):
            grid.addWidget(heading(said(head), 0.9), 0, column)
        top = Qt.AlignmentFlag.AlignTop
        before = ""
        for row, (one, count) in enumerate(own, start=1):
            title = self._numbers.value(StepTitle(one.step))
            cells = (
                "" if title == before else title,
                self._numbers.text(named(one, count)),
                self._numbers.value(one.told(one.read)),
                self._numbers.value(one.told(one.truth)),
                self._off(one),
                self._numbers.unit(one.allowed, one.unit, one.decimals),
            )
            before = title
            for column, text in enumerate(cells):
                label = text_label(text, "" if one.is_allowed or column != 4 else "problem")
                if column == 0:
                    label.setFont(theme.scaled(label.font(), 1.0, bold=True))
                if column == 1:
                    label.setAccessibleName(self._numbers.text(told_of(one, count)))
                grid.addWidget(label, row, column, top)
        return grid

    def _off(self, one: OwnReading) -> str:
        sign = "✓" if one.is_allowed else "✕"
        return f"{sign} {self._numbers.unit(one.off, one.unit, one.decimals)}"

    def _row(self, one: StepDebrief) -> tuple[str, ...]:
        truth = one.after
        title = self._title(one)
        said_, judgement = self._numbers.value(one.said), self._numbers.text(one.judgement)
        if truth is None:
            return title, "", "", "", "", said_, judgement
        return (
            title,
            self._numbers.text(truth.label),
            self._value(one.before),
            self._value(truth),
            self._wanted(truth),
            said_,
            judgement,
        )

    def _title(self, one: StepDebrief) -> str:
        return self._numbers.value(StepTitle(one.step))

    def _value(self, truth: Truth | None) -> str:
        if truth is None:
            return ""
        sign = "✓" if truth.is_inside else "✕"
        return f"{sign} {self._numbers.value(truth.told(_decimals(truth)))}"

    def _wanted(self, truth: Truth) -> str:
        return self._numbers.within(truth.target, truth.tolerance, truth.unit, _decimals(truth))

    def _on_the_whole(self, endings: Sequence[StepDebrief]) -> str:
        judged = [one for one in endings if one.after is not None]
        right = sum(1 for one in judged if one.after is not None and one.after.is_inside)
        wrong = [self._title(one) for one in endings if one.was_true is False]
        words_ = tr(
            "rehearsal.truth_page.right_of_judged_steps_are",
            right=right,
            judged=len(judged),
        )
        if wrong:
            return tr(
                "rehearsal.truth_page.words_what_the_wizard_said",
                words=Name(words_),
                join=Name(", ".join(wrong)),
            )
        claimed = any(one.was_true for one in endings)
        return (
            tr("rehearsal.truth_page.words_everything_the_wizard_said", words=Name(words_))
            if claimed
            else words_
        )


def _decimals(truth: Truth) -> int:
    return 1 if truth.unit in ("mm/m", "g") else 2
