"""What a person is told before the hands move: why, what to have ready, how, what can be hurt."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from core.texts import Caution, StepText, cautions
from desktop import theme
from desktop.wizard.pieces import button, emptied, heading, panel, words

_NO_BREAK: Final = "\u00a0"


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
        self._case: tuple[str, ...] = ()
        self._is_short = False
        self._all_cautions = False
        self._shown_cautions: tuple[object, ...] | None = None
        self._caution_words: dict[str, QLabel] = {}
        line = theme.em(self)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(round(line * 0.5))
        self._make_cautions()
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
        self._doing = QWidget(self._rest)
        doing = QVBoxLayout(self._doing)
        doing.setContentsMargins(0, 0, 0, 0)
        doing.setSpacing(round(line * 0.35))
        doing.addWidget(heading("Have at hand", 1.0))
        doing.addWidget(words("\n".join(f"•  {one}" for one in text.need)))
        doing.addWidget(heading("How", 1.0))
        self._how = QVBoxLayout()
        self._how.setSpacing(round(line * 0.25))
        doing.addLayout(self._how)
        rest.addWidget(self._doing)
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
        self.show_cautions(self._case)
        if told:
            self.folded.emit(away)

    def show_doing(self, *, there_is: bool) -> None:
        """Say what to have at hand and how it is done only where there is something to do."""
        self._doing.setVisible(there_is)

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

    def be_short(self, *, short: bool) -> None:
        """Name the cautions by their titles where there is no room for all words, or say them."""
        self._is_short = short
        self.show_cautions(self._case)

    def caution_words(self) -> str:
        """Return all that is said of cautions now, a line each, with plain spaces."""
        shown = [self._short, *self._caution_words.values()]
        said = "\n".join(label.text() for label in shown if not label.isHidden())
        return said.replace(_NO_BREAK, " ")

    def toggle_cautions(self) -> None:
        """Say every caution in full where only titles stand, or go back to the titles."""
        self._all_cautions = not self._all_cautions
        self.show_cautions(self._case)

    def show_cautions(self, more: tuple[str, ...]) -> None:
        """Show the step's cautions, and those of the case at hand before them.

        While the guide is folded away the step's own are named by their titles; those of the case
        are in full. Where there is no room all are named by their titles, and only what can hurt
        at once in this case has a sentence. All words are a key away in both.
        """
        self._case = more
        state = (more, self.is_folded, self._is_short, self._all_cautions)
        if state == self._shown_cautions:
            return
        self._shown_cautions = state
        known = cautions()
        case = [key for key in dict.fromkeys(more) if key in known]
        own = [key for key in self._text.cautions if key in known and key not in case]
        if self._all_cautions or not (self._is_short or self.is_folded):
            named: list[str] = []
        else:
            named = [*case, *own] if self._is_short else own
        self._show_named(known, named, [key for key in case if key in named])
        for place, key in enumerate((*case, *own)):
            label = self._caution_words.get(key)
            if label is None:
                label = self._caution_words[key] = _caution(known[key].title, known[key].text)
            if self._cautions.indexOf(label) != place + 2:  # heading and titles stand first
                self._cautions.insertWidget(place + 2, label)
        for key, label in self._caution_words.items():
            label.setVisible(key in (*case, *own) and key not in named)
        can_change = self._is_short or self.is_folded
        self.cautions_button.setText("Names alone" if self._all_cautions else "All words")
        self.cautions_button.setVisible(can_change)
        self._caution_heading.setVisible(not named or not self._is_short)
        self._caution_frame.setVisible(bool(case or own))

    def _make_cautions(self) -> None:
        self._caution_frame, self._cautions = panel()
        self._caution_heading = heading("Take care")
        self._cautions.addWidget(self._caution_heading)
        self._caution_frame.setParent(self)  # until the page takes it: alone it would be a window
        strip = QHBoxLayout()
        self._short = words("", "question")
        strip.addWidget(self._short, 1)
        self.cautions_button = button(
            "All words", keys="Ctrl+T", tip="What every caution says, or its name alone", quiet=True
        )
        self.cautions_button.setAccessibleName("Cautions: all words or names alone")
        self.cautions_button.clicked.connect(self.toggle_cautions)
        strip.addWidget(self.cautions_button, 0, Qt.AlignmentFlag.AlignTop)
        self._cautions.addLayout(strip)

    def _show_named(self, known: dict[str, Caution], named: list[str], case: list[str]) -> None:
        """Name cautions by their titles; those of the case that can hurt at once say how."""
        urgent = [key for key in case if known[key].brief]
        said = [f"⚠ {known[key].title}. {known[key].brief}" for key in urgent]
        titles = [known[key].title.replace(" ", _NO_BREAK) for key in named if key not in urgent]
        if titles:
            said.append("⚠ " + f"{_NO_BREAK}{_NO_BREAK}·  ".join(titles))
        self._short.setText("\n".join(said))
        self._short.setAccessibleName(f"Cautions: {'; '.join(said).replace('⚠ ', '')}")
        self._short.setVisible(bool(said))

    def _toggle_more(self) -> None:
        self._more.setVisible(self._more.isHidden())


def _caution(title: str, text: str) -> QLabel:
    label = words(f"⚠ {title}. {text}", "question")
    label.setAccessibleName(f"Caution. {title}. {text}")
    return label
