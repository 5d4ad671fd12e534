"""A reading's form as a recipe: one line per action, in working order."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Final

from pydantic import BaseModel
from PySide6.QtCore import QEvent, QObject, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QComboBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from core.language import Numbers, WorkLine
from core.records import FieldKind, FieldSpec, Unit, fields_of
from desktop.forms.choice_editor import ChoiceEditor
from desktop.forms.model_fields import ModelFields
from desktop.widgets import theme
from desktop.widgets.after_release import AfterRelease, is_pressed
from desktop.widgets.caution_line import CautionLine
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_layout, button, column_in, parts_of
from desktop.widgets.plain_text import plain_tip

TYPE: Final = 1.15
"""Font scale of the work's words against the rest."""

_DONE_SIGN: Final = "✓"

_OF_BOX_EM: Final = 2.2
"""Width of a list's frame and arrow."""
_PROBLEM_LINES: Final = 3
"""Most lines that the problem of a number takes in the style sheet's font."""


class LineState(Enum):
    """State of a line; a done line was passed, whatever was typed there."""

    AHEAD = "ahead"
    IN_HAND = "in hand"
    DONE = "done"


class LineWords(QLabel):
    """The words of a line; once done, muted, and cut to one line unless they keep from harm."""

    def __init__(self, text: str, parent: QWidget) -> None:
        super().__init__(parent)
        self._words = text
        self._is_past = self._is_short = False
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        self.setText(text)
        self.setAccessibleName(text)

    def pass_by(self, *, past: bool, whole: bool) -> None:
        """Mute the words of a line that is past, and cut them to one line unless ``whole``."""
        short = past and not whole
        if (past, short) == (self._is_past, self._is_short):
            return
        self._is_past, self._is_short = past, short
        self.setWordWrap(not short)
        self.setProperty("kind", "muted" if past else "")
        self.style().unpolish(self)
        self.style().polish(self)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Cut the words again."""
        super().resizeEvent(event)
        if self._is_short:
            self._fit()

    def minimumSizeHint(self) -> QSize:
        """Return a small width while the words may be cut."""
        least = super().minimumSizeHint()
        return QSize(1, least.height()) if self._is_short else least

    def _fit(self) -> None:
        room = self.width() if self._is_short else 0
        cut = self.fontMetrics().elidedText(self._words, Qt.TextElideMode.ElideRight, room)
        self.setText(cut if self._is_short else self._words)
        self.setToolTip(plain_tip(self._words) if self.text() != self._words else "")


class RecipeLine(QWidget):
    """One action: its number, words, fields and caution."""

    def __init__(self, number: int, line: WorkLine, parent: QWidget) -> None:
        super().__init__(parent)
        self.line = line
        self._number = number
        self._state = LineState.AHEAD
        self._is_folded = False
        self._is_answered = self._is_held = False
        self._wide = 0
        em = TYPE * theme.em(self)
        column = QVBoxLayout(self)
        column.setSpacing(round(em * 0.2))
        self.words = LineWords(line.text, self)
        self.words.setFont(theme.scaled(self.font(), TYPE))
        column.addWidget(self.words)
        self.caution = CautionLine(line.caution, self) if line.caution else None
        if self.caution is not None:
            column.addWidget(self.caution)
        self.to_choices = self._button_to_choices(column) if line.chooses else None
        self.fields = QFormLayout()
        if line.fields:
            self.fields.setContentsMargins(0, 0, 0, 0)
            self.fields.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
            self.fields.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
            self.fields.setLabelAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
            self.fields.setVerticalSpacing(round(em * 0.3))
            add_layout(column, self.fields)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self._column = column
        self._keep_margins()
        self._arrange()

    def _button_to_choices(self, column: QVBoxLayout) -> QPushButton:
        made = button(
            tr("forms.recipe.to_choices"), tip=tr("forms.recipe.goes_to_choices"), quiet=True
        )
        made.setParent(self)
        column.addWidget(made, 0, Qt.AlignmentFlag.AlignLeft)
        return made

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the label of a list above it where its longest entry has no room beside."""
        super().resizeEvent(event)
        boxes = self.findChildren(QComboBox) if event.size().width() != self._wide else []
        self._wide = event.size().width()
        if not boxes:
            return
        margins = self._column.contentsMargins()
        room = self._wide - margins.left() - margins.right()
        labels: list[QWidget | None] = [
            self.fields.labelForField(part) for part in parts_of(self.fields)
        ]
        seen = (one for one in labels if one is not None and not one.isHidden())
        label = max((one.sizeHint().width() for one in seen), default=0)
        above = label + theme.em(self) + max(map(_whole_width, boxes)) > room
        wrap = QFormLayout.RowWrapPolicy
        policy = wrap.WrapAllRows if above else wrap.WrapLongRows
        if self.fields.rowWrapPolicy() is not policy:
            self.fields.setRowWrapPolicy(policy)

    def changeEvent(self, event: QEvent) -> None:
        """Keep room for the number after a change of font."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_column"):
            self._keep_margins()

    def _keep_margins(self) -> None:
        em = TYPE * theme.em(self)
        self._column.setContentsMargins(
            round(em * 2.0), round(em * 0.2), round(em * 0.4), round(em * 0.2)
        )

    @property
    def state(self) -> LineState:
        """Whether it is ahead, in hand or done."""
        return self._state

    @property
    def sign(self) -> str:
        """The sign before the words: a tick depends only on the line's fields."""
        ticked = self._state is LineState.DONE and self._is_answered
        return _DONE_SIGN if ticked else str(self._number)

    def renumber(self, number: int) -> None:
        """Set the line's number."""
        self._number = number
        self.update()

    def claim(self, *, answered: bool) -> None:
        """Set whether every box of the line is ticked, or its other fields have a value."""
        if answered is not self._is_answered:
            self._is_answered = answered
            self.update()

    @property
    def is_held(self) -> bool:
        """Whether it must not be followed for now."""
        return self._is_held

    def mark(self, state: LineState, *, held: bool = False) -> None:
        """Set whether the line is ahead, in hand or done.

        A line that is ``held`` must not be followed for now: all its words are muted.
        """
        if (state, held) == (self._state, self._is_held):
            return
        self._state, self._is_held = state, held
        self._arrange()
        self.update()

    def fold(self, *, away: bool) -> None:
        """Show only the fields, or the words as well."""
        if away is not self._is_folded:
            self._is_folded = away
            self._arrange()

    def keep_room(self, *, kept: bool) -> None:
        """Keep room for a problem under the first field that can have a long one.

        So nothing moves when it appears.
        """
        lines = [
            one
            for one in self.findChildren(MessageLine)
            if not isinstance(one.parentWidget(), ChoiceEditor)
        ]
        for first in lines[:1]:
            policy = first.sizePolicy()
            if policy.retainSizeWhenHidden() is not kept:
                policy.setRetainSizeWhenHidden(kept)
                first.setSizePolicy(policy)
                line = first.fontMetrics().lineSpacing()
                first.setMinimumHeight(_PROBLEM_LINES * line if kept else 0)

    def fold_to_caution(self, *, away: bool) -> None:
        """Show only the caution, or the words as well."""
        _show(self.words, shown=not away and bool(self.line.text))
        if self.caution is not None:
            self.caution.stand_beside(words=not away)
        _show(self, shown=not away or self.caution is not None)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the number, and a band at the line in hand."""
        look = theme.appearance_of(self)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        em = TYPE * theme.em(self)
        in_hand = self._state is LineState.IN_HAND
        if in_hand:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(look.raised))
            painter.drawRoundedRect(QRectF(self.rect()), em * 0.25, em * 0.25)
            painter.setBrush(QColor(look.accent))
            painter.drawRect(QRectF(0, 0, max(3.0, em * 0.2), self.height()))
        if not self._is_folded:
            painter.setFont(theme.scaled(self.font(), TYPE, bold=in_hand))
            painter.setPen(QPen(QColor(look.accent if in_hand else look.muted)))
            room = QRectF(0, round(em * 0.2), em * 1.6, em)
            painter.drawText(room, Qt.AlignmentFlag.AlignRight, self.sign)
        painter.end()

    def _arrange(self) -> None:
        done = self._state is LineState.DONE
        whole = self.line.keeps_from_harm or self._is_held
        self.words.pass_by(past=done or self._is_held, whole=whole)
        _show(self.words, shown=not self._is_folded and bool(self.line.text))
        if self.caution is not None:
            _show(self.caution, shown=not self._is_folded)
            self.caution.stand_beside(words=not self._is_folded)
        if self.to_choices is not None:
            _show(self.to_choices, shown=not self._is_folded and not done)
        if not self.line.fields and self.line.text:
            _show(self, shown=not self._is_folded)


def _whole_width(box: QComboBox) -> int:
    """Return the width at which no entry of a list is cut."""
    words = max((box.itemText(at) for at in range(box.count())), key=len, default="")
    return box.fontMetrics().horizontalAdvance(words) + round(_OF_BOX_EM * theme.em(box))


def _show(widget: QWidget, *, shown: bool) -> None:
    """Show or hide a widget, without a layout if nothing changes."""
    if widget.isHidden() is shown:
        widget.setVisible(shown)


class RecipeFields(ModelFields):
    """The fields of a model, each in the line of work where it is filled in."""

    _says_help = False

    moved = Signal()
    """Another line is in hand."""
    choice_wanted = Signal()
    """The person goes to the choices of the step."""

    def __init__(
        self,
        model: type[BaseModel],
        numbers: Numbers,
        lines: tuple[WorkLine, ...],
        parent: QWidget | None = None,
        *,
        units: Mapping[str, Unit] | None = None,
    ) -> None:
        self._given_lines = lines
        super().__init__(model, numbers, parent, units=units)
        self._visited: set[str] = set()
        self._marked = ""
        self._is_held = False
        self._pressed = ""
        self._after_press = AfterRelease(self)
        self._after_press.due.connect(lambda: self.mark_field(self._pressed))
        for name in self.made:
            self._watch(name)
        self.changed.connect(self._claim)

    def _lay_out(self) -> None:
        column = column_in(self)
        column.setSpacing(round(theme.em(self) * 0.15))
        self.lines = [
            RecipeLine(number, line, self) for number, line in enumerate(self._given_lines, 1)
        ]
        for line in self.lines:
            column.addWidget(line)
            if line.to_choices is not None:
                line.to_choices.clicked.connect(self.choice_wanted)
        self._foot = QFormLayout()
        add_layout(column, self._foot)

    def _in_order(self) -> tuple[FieldSpec, ...]:
        """Return the fields in the order of the lines."""
        by_name = {spec.name: spec for spec in fields_of(self.model)}
        return tuple(by_name[name] for line in self._given_lines for name in line.fields)

    def _home_of(self, name: str) -> QFormLayout:
        return next(line.fields for line in self.lines if name in line.line.fields)

    def _below_all(self) -> QFormLayout:
        return self._foot

    def _show_and_hide(self) -> None:
        """Show a line if one of its fields applies, else hide it."""
        super()._show_and_hide()
        for line in self.lines:
            if line.line.fields:
                applies = any(not self._is_hidden(name) for name in line.line.fields)
                _show(line, shown=applies)
        on_show = [line for line in self.lines if not line.isHidden()]
        for number, line in enumerate(on_show, 1):
            line.renumber(number)

    def cautions(self) -> list[CautionLine]:
        """Return the cautions of all lines."""
        return [line.caution for line in self.lines if line.caution is not None]

    def fold_words(self, *, away: bool) -> None:
        """Show only the fields, or the words as well."""
        for line in self.lines:
            line.fold(away=away)

    def rest(self) -> None:
        """Mark no line."""
        self._visited.clear()
        self._marked = ""
        self._mark_none()

    def _mark_none(self) -> None:
        held = self._is_held and self.lowers_stylus
        for line in self.lines:
            line.keep_room(kept=False)
            line.mark(LineState.AHEAD, held=held)

    def start_at(self, name: str) -> None:
        """Mark the lines that lead up to a field, and none as done."""
        self._visited.clear()
        self.mark_field(name)

    def mark_field(self, name: str) -> None:
        """Mark the line of a field, and those that lead up to it, as in hand.

        Lines up to the last visited field before it are done.
        """
        at = next((at for at, line in enumerate(self.lines) if name in line.line.fields), None)
        if at is None:
            return
        self._visited.add(name)
        self._marked = name
        self._mark_lines(at)
        self._claim()
        self.moved.emit()

    @property
    def lowers_stylus(self) -> bool:
        """Whether one of the lines lowers the stylus."""
        return any(line.line.does == "lower stylus" for line in self.lines)

    def hold(self, *, held: bool) -> None:
        """Mute the lines that come before the field in hand, or all, while the stylus stays up.

        Those of work that does not lower the stylus stay as they are.
        """
        if held is self._is_held:
            return
        self._is_held = held
        marked = (at for at, one in enumerate(self.lines) if self._marked in one.line.fields)
        at = next(marked, None)
        if at is None:
            self._mark_none()
        else:
            self._mark_lines(at)

    def _mark_lines(self, at: int) -> None:
        """Mark every line, given the place of the one whose field is in hand."""
        passed = [
            place
            for place, line in enumerate(self.lines[:at])
            if self._visited.intersection(line.line.fields)
        ]
        first = passed[-1] + 1 if passed else 0
        is_last = not any(line.line.fields for line in self.lines[at + 1 :])
        held = self._is_held and self.lowers_stylus
        for place, line in enumerate(self.lines):
            line.keep_room(kept=place == at)
            if place < first:
                line.mark(LineState.DONE)
            elif held and place < at:
                line.mark(LineState.AHEAD, held=True)
            elif place <= at or is_last:
                line.mark(LineState.IN_HAND)
            else:
                line.mark(LineState.AHEAD)

    def was_visited(self, name: str) -> bool:
        """Return whether a field has been in hand."""
        return name in self._visited

    def _claim(self) -> None:
        """Update for each passed line whether it was answered."""
        for line in self.lines:
            if line.state is LineState.DONE:
                line.claim(answered=self._is_answered(line))

    def _is_answered(self, line: RecipeLine) -> bool:
        shown = [self.entries[name] for name in line.line.fields if not self._is_hidden(name)]
        answers = [(one.spec.kind, one.answer()) for one in shown]
        boxes = [answer.value for kind, answer in answers if kind is FieldKind.FLAG]
        others = [
            not answer.problems and answer.given and answer.value not in (None, "", ())
            for kind, answer in answers
            if kind is not FieldKind.FLAG
        ]
        return any(others) if others else bool(boxes) and all(boxes)

    def guard_is_off(self) -> bool:
        """Return whether the guard was taken off and not yet put back on."""
        done = [one.line.does for one in self.lines if one.state is LineState.DONE]
        deeds = [deed for deed in done if deed in ("guard off", "guard on")]
        return deeds[-1:] == ["guard off"]

    def cautions_in_hand(self) -> list[CautionLine]:
        """Return the cautions of the lines in hand."""
        in_hand = [line for line in self.lines if line.state is LineState.IN_HAND]
        return [line.caution for line in in_hand if line.caution and not line.isHidden()]

    def in_hand(self) -> list[QWidget]:
        """Return the lines in hand."""
        return [line for line in self.lines if line.state is LineState.IN_HAND]

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Mark the line that gets the focus."""
        if event.type() == QEvent.Type.FocusIn:
            name = watched.property("field")
            if isinstance(name, str) and is_pressed():
                self._pressed = name  # lines that change their height would move it away
                self._after_press.start()
            elif isinstance(name, str):
                self.mark_field(name)
        return super().eventFilter(watched, event)

    def _watch(self, name: str) -> None:
        for part in self.made[name].findChildren(QWidget):
            if isinstance(part, QLineEdit | QAbstractButton):
                part.setFont(theme.scaled(part.font(), TYPE))
            if part.focusPolicy() != Qt.FocusPolicy.NoFocus:
                part.setProperty("field", name)
                part.installEventFilter(self)
