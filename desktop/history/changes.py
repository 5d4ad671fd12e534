"""What changed between any two fittings of a deck."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from core.history import Change, Comparison, Meaning, Snapshot, Timeline, compare_fittings
from core.language import NO_BREAK, Name, Numbers, clock_of
from core.workflow import change_value, figure_value
from desktop.widgets import theme
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.language import local_label, tr
from desktop.widgets.panels import add_all, clear_layout, framed, heading, may_be_narrow, text_label
from desktop.widgets.plain_text import plain_label, plain_tip

_WIDEST_EM: Final = 7.7


class ChangesPanel(QWidget):
    """Two lists to pick a fitting from, and everything that differs between the two."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._timeline = Timeline((), ())
        column = framed(self)
        self.earlier, self.later = ElidedCombo(), ElidedCombo()
        self._picks = QWidget()
        row = QHBoxLayout(self._picks)
        row.setContentsMargins(0, 0, 0, 0)
        for text, box, name in (
            (
                tr("history.changes.what_changed_from"),
                self.earlier,
                tr("history.changes.fitting_to_compare"),
            ),
            (
                tr("history.changes.to"),
                self.later,
                tr("history.changes.fitting_to_compare_it_with"),
            ),
        ):
            label = plain_label(text)
            label.setBuddy(box)
            box.setAccessibleName(name)
            box.setAccessibleDescription(tr("history.changes.up_and_down_go_through"))
            may_be_narrow(box)
            add_all(row, label, (box, 1))
        self._note = text_label("", "muted")
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(round(theme.em(self) * 0.9))
        self._grid.setVerticalSpacing(round(theme.em(self) * 0.3))
        self._rest = QVBoxLayout()
        add_all(column, self._picks, self._note, self._grid, self._rest)
        for box in (self.earlier, self.later):
            box.currentIndexChanged.connect(lambda _index: self._compare())
        self.show_timeline(self._timeline)

    def show_timeline(self, timeline: Timeline) -> None:
        """Show another timeline: the two picked stay if they are there, else the last two."""
        picked = self.earlier.currentData(), self.later.currentData()
        self._timeline = timeline
        ids = [stand.id for stand in timeline.stands]
        last_two = (ids[-2:] if len(ids) > 1 else ids * 2) or ["", ""]
        for box, one, other in zip((self.earlier, self.later), picked, last_two, strict=True):
            with QSignalBlocker(box):
                box.clear()
                for stand in reversed(timeline.stands):
                    box.addItem(stand_words(stand, timeline), stand.id)
                    box.setItemData(
                        box.count() - 1,
                        plain_tip(stand.past.cartridge.name),
                        Qt.ItemDataRole.ToolTipRole,
                    )
                kept = box.findData(one) if one is not None else -1
                box.setCurrentIndex(kept if kept >= 0 else max(0, box.findData(other)))
        self._picks.setVisible(len(ids) > 1)
        self._compare()

    def _compare(self) -> None:
        clear_layout(self._grid)
        clear_layout(self._rest)
        one, other = self.earlier.currentData(), self.later.currentData()
        if len(self._timeline.stands) < 2 or one == other:
            self._note.setText(
                tr("history.changes.pick_two_different_fittings")
                if len(self._timeline.stands) > 1
                else tr("history.changes.with_a_second_fitting_all")
            )
            self._note.show()
            return
        self._note.hide()
        self._show(compare_fittings(self._timeline, one, other))

    def _show(self, found: Comparison) -> None:
        right, say = Qt.AlignmentFlag.AlignRight, self._numbers
        for place, title in enumerate(
            (
                "",
                found.then.day.isoformat(),
                found.now.day.isoformat(),
                tr("history.changes.change"),
            )
        ):
            label = heading(title, 0.95)
            label.setWordWrap(False)
            self._grid.addWidget(label, 0, place, right)
        self._grid.setColumnStretch(0, 1)
        for place, change in enumerate(found.changes, start=1):
            self._row(2 * place, change)
        self._list(
            tr("history.changes.set_or_chosen_otherwise"),
            [
                f"{say.text(one.label)}: {say.value(one.then)} → {say.value(one.now)}"
                for one in found.settings
            ],
            tr("history.changes.nothing_was_set_or_chosen"),
        )
        self._list(
            tr("history.changes.moved_in_between_in_sum"),
            [say.text(part) for part in found.moved],
            tr("history.changes.no_control_was_moved"),
        )

    def _row(self, row: int, change: Change) -> None:
        numbers, right = self._numbers, Qt.AlignmentFlag.AlignRight
        then = numbers.value(figure_value(change.then)) if change.then else "–"
        now = numbers.value(figure_value(change.now)) if change.now else "–"
        by = ""
        if change.meaning is Meaning.NONE:
            by = local_label(change.meaning.label)
        elif change.change is not None:
            known = change.either
            by = numbers.value(change_value(change.change, known.ways, known.unit, known.decimals))
        loud = change.meaning is Meaning.BEYOND
        name = text_label(numbers.text(change.label))
        self._grid.addWidget(name, row, 0)
        for place, text in enumerate((then, now, by), start=1):
            label = text_label(text, "muted" if text == local_label(Meaning.NONE.label) else "")
            _narrowed(label)
            if loud and place == 3:
                label.setFont(theme.scaled(label.font(), 1.0, bold=True))
            self._grid.addWidget(label, row, place, right)
        said = tr(
            "history.changes.name_then_then_now_by",
            name=Name(name.text()),
            then=Name(then),
            now=Name(now),
            by=Name(by),
        )
        if change.meaning is not Meaning.NONE:
            meaning = self._meaning(change)
            under = text_label(meaning, "" if loud else "muted")
            under.setAlignment(right)
            under.setFont(theme.scaled(under.font(), 0.9, bold=loud))
            self._grid.addWidget(under, row + 1, 0, 1, 4)
            said = f"{said}, {meaning}" if by else f"{said}{meaning}"
        name.setAccessibleName(said)

    def _meaning(self, change: Change) -> str:
        if change.then is None or change.now is None:
            return tr(
                "history.changes.not_read_in_fitting",
                which="earlier" if change.then is None else "later",
            )
        text = local_label(change.meaning.label)
        if change.half_width is not None and change.meaning is Meaning.NOT_TOLD:
            known = change.either
            half = self._numbers.unit(change.half_width, known.unit, known.decimals)
            text += f", ±{NO_BREAK}{half}"
        return text

    def _list(self, title: str, lines: list[str], none: str) -> None:
        self._rest.addWidget(heading(title, 1.0))
        for text in lines or [none]:
            self._rest.addWidget(text_label(text, "" if lines else "muted"))


def _narrowed(label: QLabel) -> None:
    """Allow two lines for a figure with its direction; keep a plain figure on one."""
    wide = label.fontMetrics().horizontalAdvance(label.text())
    room = round(theme.em(label) * _WIDEST_EM)
    label.setWordWrap(wide > room)
    label.setAlignment(Qt.AlignmentFlag.AlignRight)
    if wide > room:
        label.setFixedWidth(room)


def stand_words(stand: Snapshot, timeline: Timeline) -> str:
    """Name a fitting in a list by its day, with what tells it from the others."""
    same_day = sum(other.day == stand.day for other in timeline.stands) > 1
    parts = [f"{stand.day.isoformat()}{f' {clock_of(stand.at)}' if same_day else ''}"]
    if len({other.letter for other in timeline.stands}) > 1:
        parts.append(stand.letter)
    if not stand.is_finished:
        parts.append(tr("history.changes.not_finished"))
    return " · ".join(parts)
