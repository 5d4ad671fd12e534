"""One of several choices: radio buttons while they are few, a list when they are many."""

from __future__ import annotations

from typing import Any, Final

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QButtonGroup, QRadioButton, QWidget

from core.language import Name
from core.records import Choice, FieldSpec
from desktop.forms.field_editors import Answer, FieldEditor, fill
from desktop.forms.number_field import begins_a_number
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.keys import ENTER_KEYS, choose_by_arrow, is_enter
from desktop.widgets.language import local_label, tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import may_be_narrow, set_shown
from desktop.widgets.plain_text import plain_label
from desktop.widgets.wrapping_buttons import WrappedRadio

_MOST_RADIO_BUTTONS: Final = 4
_NONE: Final = object()
"""A value that is in no list of choices."""


class _Combo(ElidedCombo):
    """A combo box that leaves the wheel and the page keys to the page.

    Words that it has no room for end in an ellipsis, and stand whole in ``whole`` below it.
    """

    entered = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.whole = plain_label(parent=parent, wraps=True)  # never a window of its own
        self.whole.setProperty("kind", "muted")
        self.whole.hide()
        self.currentIndexChanged.connect(self._say_whole)
        self._soon = QTimer(self, singleShot=True, interval=0)
        self._soon.timeout.connect(self._say_anew)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """See whether the words still fit."""
        super().resizeEvent(event)
        self._say_whole()

    def changeEvent(self, event: QEvent) -> None:
        """See that again for another font, once everything else has its own."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_soon"):
            self._soon.start()

    def _say_anew(self) -> None:
        self._say_whole()
        self.whole.updateGeometry()  # it may have come or gone amid a layout

    def _say_whole(self) -> None:
        words = self.currentText()
        fits = self.fontMetrics().horizontalAdvance(words) <= self.room()
        self.whole.setText("" if fits else words)
        set_shown(self.whole, shown=not fits)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page: scrolling changes no choice."""
        event.ignore()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move on with Enter; open with the space bar as usual."""
        if event.key() in ENTER_KEYS:
            self.entered.emit()
            event.accept()
            return
        typed = event.text()
        if begins_a_number(typed) and self.findText(typed, Qt.MatchFlag.MatchStartsWith) < 0:
            event.ignore()  # the page takes it into the number that waits
            return
        if event.key() in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            event.ignore()
            return
        super().keyPressEvent(event)


class ChoiceEditor(FieldEditor):
    """One of several choices: radio buttons while they are few, a list when they are many."""

    def __init__(self, spec: FieldSpec, parent: QWidget | None = None) -> None:
        super().__init__(spec, parent)
        self._options: list[tuple[str, Choice | None]] = [
            (local_label(choice.label), choice) for choice in spec.choices
        ]
        if spec.optional:
            self._options.insert(0, (tr("forms.choice_editor.not_known"), None))
        self._combo: _Combo | None = None
        self._group: QButtonGroup | None = None
        self._message = MessageLine(self)
        if len(self._options) <= _MOST_RADIO_BUTTONS:
            self._make_buttons()
        else:
            self._make_combo()

    def answer(self) -> Answer:
        """Return the choice, or that none was made."""
        index = self._index()
        if index < 0:
            words = tr("forms.choice_editor.spec_choose_one", spec=Name(self.spec.label))
            return Answer(problems=((self.spec.label, words),))
        return Answer(self._options[index][1])

    def put(self, value: Any) -> None:
        """Show a choice; an unknown value shows none."""
        index = next((i for i, (_, one) in enumerate(self._options) if one == value), -1)
        if value is None and not self.spec.optional:
            index = -1
        if self._combo is not None:
            self._combo.setCurrentIndex(index)
        elif self._group is not None:
            if index >= 0:
                self._group.button(index).setChecked(True)
            else:
                self._group.setExclusive(False)
                for one in self._group.buttons():
                    one.setChecked(False)
                self._group.setExclusive(True)
        self._message.say("")

    def raw(self) -> str | bool:
        """Return the choice as stored; False if none was made, empty for 'not known'."""
        index = self._index()
        return False if index < 0 else str(self._options[index][1] or "")

    def put_raw(self, raw: Any) -> None:
        """Show a choice."""
        known = [str(one or "") for _, one in self._options]
        if raw is False:
            self.put(_NONE)
        elif raw in known:
            self.put(self._options[known.index(raw)][1])

    def tab_stops(self) -> list[QWidget]:
        """Return the list, or the checked button (else the first): arrow keys do the rest."""
        if self._combo is not None:
            return [self._combo]
        if self._group is None:
            return []
        return [self._group.checkedButton() or self._group.button(0)]

    def reveal(self) -> None:
        """Show that a choice is missing."""
        problems = self.answer().problems
        self._message.say(problems[0][1] if problems else "")

    def refuse(self, sentence: str) -> bool:
        """Show why the choice is refused; an empty sentence clears it."""
        self._message.say(sentence)
        return True

    def settle(self) -> None:
        """Clear the choice, if it is read anew each time."""
        if self.spec.read_anew:
            self.put(_NONE)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Move on with Enter, or report a missing choice; an arrow key makes a first choice."""
        if (
            isinstance(watched, QRadioButton)
            and self._group is not None
            and choose_by_arrow(self._group, watched, event)
        ):
            return True
        if is_enter(event) and isinstance(watched, QRadioButton):
            self.reveal()
            self.entered.emit()
            return True
        return super().eventFilter(watched, event)

    def _make_buttons(self) -> None:
        self._group = QButtonGroup(self)
        buttons: list[QWidget] = []
        for index, (words, _) in enumerate(self._options):
            button = WrappedRadio(words, self)
            button.setAccessibleName(f"{self.spec.label}: {words}")
            button.setAccessibleDescription(self.spec.help)
            button.installEventFilter(self)
            self._group.addButton(button, index)
            buttons.append(button)
        fill(self, *buttons, self._message)
        self._group.idToggled.connect(lambda _index, on: self._picked(checked=on))

    def _make_combo(self) -> None:
        self._combo = _Combo(self)
        self._combo.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._combo.setAccessibleName(self.spec.label)
        self._combo.setAccessibleDescription(self.spec.help)
        may_be_narrow(self._combo)
        self._combo.addItems([words for words, _ in self._options])
        self._combo.setCurrentIndex(-1)
        fill(self, self._combo, self._combo.whole, self._message)
        self._combo.currentIndexChanged.connect(self._changed)
        self._combo.entered.connect(self.entered)

    def _index(self) -> int:
        if self._combo is not None:
            return self._combo.currentIndex()
        return self._group.checkedId() if self._group is not None else -1

    def _picked(self, *, checked: bool) -> None:
        if checked:
            self.fields_changed.emit()  # the tab stop is the checked button
            self._changed()

    def _changed(self) -> None:
        self._message.say("")
        self.changed.emit()
