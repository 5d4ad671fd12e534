"""What a person is told before the hands move: why, what to have ready, how, what can be hurt."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from core.texts import StepText, cautions
from desktop import theme
from desktop.wizard.pieces import button, emptied, heading, panel, words


class Guide(QWidget):
    """The words of a step.

    Cautions stay in view whatever is folded away.

    Parameters
    ----------
    text
        The step's words.
    """

    folded = Signal(bool)
    """The person folded the guide away (True) or opened it (False)."""

    def __init__(self, text: StepText, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = text
        self._way = ""
        self._shown_cautions: tuple[tuple[str, ...], bool] | None = None
        self._caution_words: dict[str, QLabel] = {}
        line = theme.em(self)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(round(line * 0.5))
        self._caution_frame, self._cautions = panel("Take care")
        self._caution_frame.setParent(self)  # until the page takes it: alone it would be a window
        self._short = words("", "question")
        self._cautions.addWidget(self._short)
        frame, column = panel()
        outer.addWidget(frame)
        top = QHBoxLayout()
        top.addWidget(heading("What this is for"), 1)
        self._fold = button("Less", keys="Ctrl+G", tip="Fold the guide away or open it", quiet=True)
        self._fold.setAccessibleName("Guide: less or more")
        self._fold.clicked.connect(lambda: self.fold(away=not self.is_folded, told=True))
        top.addWidget(self._fold, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(top)
        column.addWidget(words(text.why))
        self._rest = QWidget()
        rest = QVBoxLayout(self._rest)
        rest.setContentsMargins(0, 0, 0, 0)
        rest.setSpacing(round(line * 0.35))
        self._more_button = button("Why now, and what if not", quiet=True)
        self._more_button.clicked.connect(self._toggle_more)
        rest.addWidget(self._more_button, 0, Qt.AlignmentFlag.AlignLeft)
        self._more = words(f"{text.why_now}\n\nIf you skip it: {text.skip}")
        self._more.hide()
        rest.addWidget(self._more)
        rest.addWidget(heading("Have at hand", 1.0))
        rest.addWidget(words("\n".join(f"•  {one}" for one in text.need)))
        rest.addWidget(heading("How", 1.0))
        self._how = QVBoxLayout()
        self._how.setSpacing(round(line * 0.25))
        rest.addLayout(self._how)
        column.addWidget(self._rest)
        self.show_way("")
        self.show_cautions(())

    @property
    def cautions_panel(self) -> QWidget:
        """The cautions; they belong above the work they are about, not among the reading matter."""
        return self._caution_frame

    @property
    def is_folded(self) -> bool:
        """Whether all but the first lines and the cautions is folded away."""
        return self._rest.isHidden()

    def fold(self, *, away: bool, told: bool = False) -> None:
        """Fold the guide away or open it; ``told`` makes the signal go out."""
        self._rest.setVisible(not away)
        self._fold.setText("More" if away else "Less")
        self.show_cautions(self._shown_cautions[0] if self._shown_cautions else ())
        if told:
            self.folded.emit(away)

    def show_way(self, way: str) -> None:
        """Show how it is done with one way of reading."""
        if way == self._way and self._how.count():
            return
        self._way = way
        emptied(self._how)
        known = self._text.ways.get(way)
        lines = (*self._text.how, *(known.how if known else ()))
        for number, line in enumerate(lines, start=1):
            self._how.addWidget(words(f"{number}.  {line}"))

    def show_cautions(self, more: tuple[str, ...]) -> None:
        """Show the step's cautions, and those of the case at hand before them.

        While the guide is folded away the step's own are named by their titles; those of the case
        are always in full.
        """
        if (more, self.is_folded) == self._shown_cautions:
            return
        self._shown_cautions = (more, self.is_folded)
        known = cautions()
        case = [key for key in dict.fromkeys(more) if key in known]
        own = [key for key in self._text.cautions if key in known and key not in case]
        titles = "  ·  ".join(known[key].title for key in own)
        self._short.setText(f"⚠ {titles}")
        self._short.setAccessibleName(f"Cautions: {titles}")
        self._short.setVisible(self.is_folded and bool(own))
        for place, key in enumerate((*case, *own)):
            label = self._caution_words.get(key)
            if label is None:
                label = self._caution_words[key] = _caution(known[key].title, known[key].text)
            if self._cautions.indexOf(label) != place + 1:  # the heading stands first
                self._cautions.insertWidget(place + 1, label)
        for key, label in self._caution_words.items():
            label.setVisible(key in case or (key in own and not self.is_folded))
        self._caution_frame.setVisible(bool(case or own))

    def _toggle_more(self) -> None:
        self._more.setVisible(self._more.isHidden())


def _caution(title: str, text: str) -> QLabel:
    label = words(f"⚠ {title}. {text}", "question")
    label.setAccessibleName(f"Caution. {title}. {text}")
    return label
