"""The next move, part by part, to be recorded as proposed or as really made."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import Any, Final

from pydantic import ValidationError
from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFormLayout, QHBoxLayout, QVBoxLayout, QWidget

from core.fitting import WITHOUT_AMOUNT, Assessment, Control, MovePart
from core.language import Numbers, Quantity, WorkLine, message
from core.records import NUMBER, UNITS, Directions, FieldKind, FieldSpec, Limits
from core.steps.shared import (
    MayBeRead,
    asked_name,
    directions_of,
    is_far_from_order,
    read_instead,
)
from core.workflow import place_words
from desktop.forms.directed_field import DirectedField
from desktop.forms.draft_line import DraftLine
from desktop.forms.read_or_moved_line import ReadOrMovedLine
from desktop.forms.recipe import TYPE, LineState, RecipeLine
from desktop.widgets import theme
from desktop.widgets.caution_line import CautionLine
from desktop.widgets.language import local_label, said, tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import (
    add_all,
    add_layout,
    announce,
    button,
    clear_layout,
    framed,
    text_label,
)

_FARTHEST = 1000.0
_IN_EIGHTHS: Final = (Control.FOOT, Control.PILLAR)
"""Controls whose turns are shown in eighths, whatever was calculated."""
_TURN_DECIMALS: Final = 2
"""The fraction shown for other turns that are not whole eighths."""
_SAME_TURN: Final = 1e-6
OTHER_MOVE_TIP = message("forms.move_panel.records_a_move_that_was")


class MovePanel(QWidget):
    """The parts to move and their amounts, which the person may correct.

    ``lines`` are the actions before the move, each with its controls; ``parallel`` selects the
    words for a parallel-tracking arm. The order itself is the page's headline.
    """

    made = Signal(object, str)
    """The parts really moved (a tuple of MovePart) and a note."""
    typed = Signal()
    """An amount or a direction was changed."""
    other_wanted = Signal()
    """The person made an unplanned move."""
    was_read = Signal(object, str)
    """The number typed for a move is a reading: its :class:`MayBeRead`, and the text."""

    def __init__(
        self,
        numbers: Numbers,
        parent: QWidget | None = None,
        *,
        lines: tuple[WorkLine, ...] = (),
        parallel: bool = False,
    ) -> None:
        super().__init__(parent)
        self._parallel = parallel
        self._numbers = numbers
        self._proposed: tuple[MovePart, ...] = ()
        self._parts: tuple[MovePart, ...] = ()
        self.fields: list[DirectedField | None] = []
        self._as_put: list[_Entered] = []
        self._dropped: tuple[tuple[MovePart, ...], list[tuple[MovePart, _Entered]]] = ((), [])
        self._questioned: list[_Entered] = []
        self._may_be_read: tuple[MayBeRead, ...] = ()
        self._in_doubt: tuple[DirectedField, MayBeRead] | None = None
        self._sure: list[tuple[DirectedField, _Entered]] = []
        column = framed(self)
        self._given_lines = lines
        self._lines: list[RecipeLine] = []
        self._are_folded = False
        self._steps = QVBoxLayout()
        self._steps.setSpacing(column.spacing())
        self._order_line = RecipeLine(len(lines) + 1, WorkLine(text=""), self)
        self._order_line.mark(LineState.IN_HAND)
        add_all(column, self._steps, self._order_line)
        # A long name goes above its amount in a narrow column.
        self._rows = QFormLayout()
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
        self._rows.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self._rows.setLabelAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self._rows.setVerticalSpacing(round(theme.em(self) * 0.4))
        inside = self._order_line.layout()
        if isinstance(inside, QVBoxLayout):
            add_layout(inside, self._rows)
        self.draft_line = DraftLine()
        column.addWidget(self.draft_line)
        self._problem = MessageLine()
        column.addWidget(self._problem)
        self.which = ReadOrMovedLine(numbers)
        self.which.was_read.connect(self.take_as_read)
        self.which.was_moved.connect(self.take_as_moved)
        self.which.left.connect(self._back_to_amount)
        column.addWidget(self.which)
        self.made_button = button(
            tr("forms.move_panel.move_made"),
            keys="Ctrl+M",
            tip=tr("forms.move_panel.keeps_the_move_in_the"),
            primary=True,
        )
        self.made_button.clicked.connect(self.confirm)
        row = QHBoxLayout()
        row.addWidget(self.made_button)
        other = button(
            tr("forms.move_panel.another_move"),
            keys="Ctrl+Shift+M",
            tip=said(OTHER_MOVE_TIP),
            quiet=True,
        )
        other.clicked.connect(self.other_wanted)
        add_all(row, 1, other)
        add_layout(column, row)
        self._how_far = text_label(tr("forms.move_panel.as_you_really_moved_it"), "muted")
        column.addWidget(self._how_far)
        self.hide()

    def show_move(self, assessment: Assessment, may_be_read: tuple[MayBeRead, ...] = ()) -> None:
        """Offer the parts of an assessment's next move; without any, the panel hides.

        ``may_be_read`` are the figures that a person who looked only at the instrument would type
        next: an amount that may be one of them is asked about.

        Unsaved input stays as long as a move is proposed. If the move is withdrawn its input is
        removed too, and returns only with the same move.
        """
        self._may_be_read = may_be_read
        parts = assessment.next_move.parts if assessment.next_move else ()
        if parts:
            self._make_lines({part.control.value for part in parts})
        if not parts:
            self._withdraw()
        elif parts != self._proposed:
            proposed, dropped = self._dropped
            self._dropped = (), []
            self._proposed = parts
            typed = self._typed() or (dropped if proposed == parts else [])
            others = [part for part, _ in typed if _control(part) not in map(_control, parts)]
            self._parts = (*parts, *others)
            self._build()
            self._put_back(typed)
        self.setVisible(bool(self._parts))

    def _withdraw(self) -> None:
        """Remove the form: the proposal no longer applies."""
        if not self._parts:
            return
        typed = self._typed()
        if typed:
            self._dropped = self._proposed, typed
        self._proposed = self._parts = ()
        self._build()
        if typed:
            self.typed.emit()

    def _make_lines(self, controls: set[str]) -> None:
        """Create the lines before a move of these controls; most pages have none."""
        wanted = [line for line in self._given_lines if line.belongs_to(controls)]
        if wanted == [made.line for made in self._lines]:
            return
        clear_layout(self._steps)
        self._lines = []
        for number, line in enumerate(wanted, 1):
            made = RecipeLine(number, line, self)
            made.mark(LineState.IN_HAND)
            made.fold_to_caution(away=self._are_folded)
            self._steps.addWidget(made)
            self._lines.append(made)
        self._order_line.renumber(len(wanted) + 1)

    def start(self) -> None:
        """Focus the first amount, or the button if there is none."""
        first = next((field.line for field in self.fields if field is not None), None)
        (first or self.made_button).setFocus(Qt.FocusReason.TabFocusReason)

    def fold_words(self, *, away: bool) -> None:
        """Show only the fields with their labels and the cautions."""
        self._are_folded = away
        for line in self._lines:
            line.fold_to_caution(away=away)

    def cautions(self) -> list[CautionLine]:
        """Return the cautions of the visible lines."""
        if self.isHidden():
            return []
        return [line.caution for line in self._lines if line.caution is not None]

    def has_unsaved(self) -> bool:
        """Whether a typed amount is not recorded."""
        return bool(self._typed())

    def typed_raw(self) -> dict[str, Any] | None:
        """Return the parts with a changed amount or direction as JSON, or None."""
        typed = self._typed()
        if not typed:
            return None
        return {"parts": [[part.model_dump(mode="json"), *entered] for part, entered in typed]}

    def type_again(self, raw: Mapping[str, Any]) -> bool:
        """Show the result of :meth:`typed_raw`, as typed; False if that is impossible."""
        typed: list[tuple[MovePart, _Entered]] = []
        rows = raw.get("parts")
        for row in rows if isinstance(rows, list) else ():
            match row:
                case [dict(said), str(text), int(way)]:
                    with suppress(ValidationError):
                        typed.append((MovePart.model_validate(said), (text, way)))
        if not typed or not self._proposed:
            return False
        there = list(map(_control, self._parts))
        others = [part for part, _ in typed if _control(part) not in there]
        if others:
            self._parts = (*self._parts, *others)
            self._build()
        self._put_back(typed)
        self._say("")
        self.setVisible(bool(self._parts))
        return True

    def clear_typed(self) -> None:
        """Show the parts as proposed."""
        self._parts = self._proposed
        self._build()
        self.setVisible(bool(self._parts))

    def confirm(self, *, by_enter: bool = False) -> None:
        """Emit the move as made, or show the problem.

        An amount that may be a reading, or is far from the proposed one, is questioned first.
        Enter in its field confirms nothing; a second press of the button does, if the amounts are
        unchanged.
        """
        if self.asks_which and not by_enter:
            self.take_as_moved()
            return
        moved: list[MovePart] = []
        for part, field in zip(self._parts, self.fields, strict=True):
            if field is None:
                moved.append(part)
                continue
            value = field.value
            if value is None:
                field.reveal()
                field.where_wrong().setFocus(Qt.FocusReason.OtherFocusReason)
                self._say_wrong(field.problem)
                return
            is_sure = (field, _entered(field)) in self._sure
            doubtful = not is_sure and (by_enter or self._questioned != self._all_entered())
            if doubtful and self._asks_which(part, field):
                return
            if doubtful and is_far_from_order(value, _by_hand(part), part.unit):
                self._questioned = self._all_entered()
                field.line.setFocus(Qt.FocusReason.OtherFocusReason)
                field.line.selectAll()
                self._ask(part, value)
                return
            if value != 0:
                moved.append(_as_moved(part, value))
        if not moved:
            self._say(tr("forms.move_panel.nothing_was_moved_enter_at"))
            return
        self._problem.say("")
        self._drop_question()
        before, as_put = self.fields, self._as_put
        self._as_put = self._all_entered()
        self.made.emit(tuple(moved), "")
        if self.fields is before:  # it was not saved: keep the input
            self._as_put = as_put

    def _typed(self) -> list[tuple[MovePart, _Entered]]:
        """Return the parts whose amount or direction was changed, as entered."""
        rows = zip(self._parts, self.fields, self._as_put, strict=True)
        return [(part, _entered(field)) for part, field, put in rows if _entered(field) != put]

    def _put_back(self, typed: list[tuple[MovePart, _Entered]]) -> None:
        entered = {_control(part): one for part, one in typed}
        for part, field in zip(self._parts, self.fields, strict=True):
            if field is not None and _control(part) in entered:
                text, way = entered[_control(part)]
                field.set_text(text)
                field.choose(None if way < 0 else way == 0)
        if typed:
            self._say(tr("forms.move_panel.what_is_proposed_has_changed"))

    @property
    def asks_which(self) -> bool:
        """Whether it asks if a number was read or moved."""
        return self._in_doubt is not None and not self.isHidden()

    def take_as_read(self) -> None:
        """Emit the number in doubt as a reading; keep it here until that is accepted."""
        if self._in_doubt is not None:
            field, figure = self._in_doubt
            self.was_read.emit(figure, field.text())

    def take_as_moved(self) -> None:
        """Take the number in doubt as moved, and go on to the next amount, if any."""
        if self._in_doubt is not None:
            field, _ = self._in_doubt
            self._sure.append((field, _entered(field)))
            self._drop_question()
            self._after(field)

    def take_back(self) -> None:
        """Show the move as ordered, once its input was used elsewhere."""
        self.clear_typed()
        self.typed.emit()

    def say_reading_waits(self) -> None:
        """Say that the number can't be taken as a reading: the reading form holds other input."""
        self._say(tr("forms.read_or_moved.another_waits"))

    def _asks_which(self, part: MovePart, field: DirectedField) -> bool:
        """Ask whether an amount was read, if it may be; return whether it asks."""
        value = field.value
        if value is None or (field, _entered(field)) in self._sure:
            return False
        ordered = part.model_copy(update={"amount": _by_hand(part)})
        figure = read_instead(value, ordered, self._may_be_read)
        if figure is None:
            return False
        self._questioned, self._in_doubt = self._all_entered(), (field, figure)
        self._problem.say("")
        as_read = Quantity(abs(value), figure.unit.symbol, figure.unit.decimals, form="short")
        self.which.ask(as_read, _short(part, value))
        return True

    def _back_to_amount(self) -> None:
        if self._in_doubt is not None:
            self._in_doubt[0].line.setFocus(Qt.FocusReason.OtherFocusReason)
            self._in_doubt[0].line.selectAll()

    def _drop_question(self) -> None:
        """Withdraw the question whether a number was read."""
        self._in_doubt = None
        self.which.hide()

    def _say_wrong(self, problem: str) -> None:
        """Name what is wrong at its field alone; a screen reader hears it from here."""
        if problem:
            self._say(tr("forms.form.marked_above"))
            announce(self.made_button, problem)
        else:
            self._say(tr("forms.move_panel.enter_how_far_you_moved"))

    def _say(self, sentence: str) -> None:
        self._problem.say(f"{sentence}")

    def _build(self) -> None:
        clear_layout(self._rows)
        self.fields = []
        self._problem.say("")
        self._drop_question()
        for part in self._parts:
            where = f" – {place_words(part.control, part.where)}" if part.where else ""
            if part.control in WITHOUT_AMOUNT:
                self._rows.addRow(text_label(f"{local_label(part.control.label)}{where}"))
                self.fields.append(None)
                continue
            name = self._numbers.text(asked_name(part.control, part.unit))
            label = text_label(f"{name}{where}")
            label.setFont(theme.scaled(label.font(), TYPE))
            field = DirectedField(
                _spec(part, name, self._numbers, parallel=self._parallel), self._numbers
            )
            field.line.setFont(theme.scaled(field.line.font(), TYPE))
            field.put(_by_hand(part))
            field.entered.connect(lambda field=field: self._after(field))
            field.typed.connect(self._drop_question)
            field.typed.connect(self.typed)
            self._rows.addRow(label, field)
            self.fields.append(field)
        self._how_far.setVisible(any(field is not None for field in self.fields))
        self._as_put = self._all_entered()
        self._questioned, self._sure = [], []

    def _all_entered(self) -> list[_Entered]:
        return list(map(_entered, self.fields))

    def _ask(self, part: MovePart, value: float) -> None:
        typed, proposed = _short(part, value), _short(part, _by_hand(part))
        asked = message("forms.move_panel.far_off", typed=typed, proposed=proposed)
        self._problem.say("", self._numbers.text(asked))

    def _after(self, field: DirectedField) -> None:
        """Move on with Enter: to the next amount, or after the last confirm the move."""
        at = next((place for place, one in enumerate(self.fields) if one is field), -1)
        if at >= 0 and self._asks_which(self._parts[at], field):
            return
        rest = [one for one in self.fields[at + 1 :] if one is not None]
        if rest:
            rest[0].line.setFocus(Qt.FocusReason.TabFocusReason)
        else:
            self.confirm(by_enter=True)


def _short(part: MovePart, amount: float) -> Quantity:
    """Return the amount of a part in its unit, without a sign."""
    unit = UNITS.get(part.unit, NUMBER)
    return Quantity(abs(amount), part.unit, unit.decimals, form="short")


def _control(part: MovePart) -> tuple[Control, str, str]:
    return part.control, part.where, part.unit


_Entered = tuple[str, int]
"""An amount as typed, and the index of its direction."""


def _entered(field: DirectedField | None) -> _Entered:
    return ("", -1) if field is None else (field.text(), field.chosen())


def _spec(part: MovePart, name: str, numbers: Numbers, *, parallel: bool) -> FieldSpec:
    ways = directions_of(part.control, part.unit, parallel=parallel)
    plus, minus = map(numbers.text, ways)
    where = f", {place_words(part.control, part.where)}" if part.where else ""
    return FieldSpec(
        name="amount",
        label=f"{name}{where}",
        help=tr("forms.move_panel.what_you_really_moved"),
        kind=FieldKind.NUMBER,
        required=True,
        optional=False,
        unit=UNITS.get(part.unit, NUMBER),
        limits=Limits(-_FARTHEST, _FARTHEST),
        directions=Directions(plus, minus),
    )


def _by_hand(part: MovePart) -> float:
    """Return the amount as ordered: in eighths of a turn, or to the order's decimals."""
    if part.unit != "turns":
        known = UNITS.get(part.unit, NUMBER)
        return round(part.amount, known.decimals) or part.amount
    eighths = round(part.amount * 8.0) / 8.0
    if eighths and (part.control in _IN_EIGHTHS or abs(part.amount - eighths) < _SAME_TURN):
        return eighths
    return round(part.amount, _TURN_DECIMALS) or part.amount


def _as_moved(part: MovePart, amount: float) -> MovePart:
    """Return the part as really moved; its millimetres change in proportion."""
    also = part.equivalent_mm
    if also is not None and part.amount:
        also *= amount / part.amount
    return part.model_copy(update={"amount": amount, "equivalent_mm": also})
