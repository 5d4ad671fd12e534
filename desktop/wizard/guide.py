"""The instructions of a step: why, what to have ready, how, and the cautions."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from core.language import Caution, Name, StepText
from desktop.widgets import theme
from desktop.widgets.language import caution_words, tr
from desktop.widgets.panels import (
    add_all,
    button,
    clear_layout,
    column_in,
    heading,
    panel,
    panel_in,
    text_label,
)

_NO_BREAK: Final = "\u00a0"


class Guide(QWidget):
    """The words of a step.

    Cautions stay in view whatever is folded away.
    """

    folded = Signal(bool)
    """The person folded the guide away (True) or opened it (False)."""

    def __init__(self, text: StepText, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = text
        self._way = ""
        self._case: tuple[str, ...] = ()
        self._is_compact = False
        self._all_cautions = False
        self._shown_cautions: tuple[object, ...] | None = None
        self._caution_words: dict[str, QLabel] = {}
        self.is_folded = False
        self._there_is_doing = True
        self._reading_matter: _ReadingMatter | None = None
        self._column = column_in(self)
        self._make_cautions()
        self.show_cautions(())

    def fill(self) -> None:
        """Make the explanations, if that was not done yet; the cautions are made at once."""
        if self._reading_matter is not None:
            return
        made = self._reading_matter = _ReadingMatter(self._text, self)
        made.fold_button.clicked.connect(lambda: self.fold(away=not self.is_folded, told=True))
        made.fold(away=self.is_folded)
        made.show_doing(there_is=self._there_is_doing)
        made.show_way(self._way)
        self._column.addWidget(made)

    @property
    def cautions_panel(self) -> QWidget:
        """The cautions; the page shows them above the work, not among the explanations."""
        return self._caution_frame

    def fold(self, *, away: bool, told: bool = False) -> None:
        """Fold the guide away or open it; ``told`` emits the signal."""
        self.is_folded = away
        if self._reading_matter is not None:
            self._reading_matter.fold(away=away)
        self.show_cautions(self._case)
        if told:
            self.folded.emit(away)

    def show_doing(self, *, there_is: bool) -> None:
        """Say what to have at hand and how it is done only where there is something to do."""
        self._there_is_doing = there_is
        if self._reading_matter is not None:
            self._reading_matter.show_doing(there_is=there_is)

    def show_way(self, way: str) -> None:
        """Show how it is done with one way of reading."""
        self._way = way
        if self._reading_matter is not None:
            self._reading_matter.show_way(way)

    def set_compact(self, *, compact: bool) -> None:
        """Name the cautions by their titles where there is no room for all words, or say them."""
        self._is_compact = compact
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
        state = (more, self.is_folded, self._is_compact, self._all_cautions)
        if state == self._shown_cautions:
            return
        self._shown_cautions = state
        known = caution_words()
        case = [key for key in dict.fromkeys(more) if key in known]
        own = [key for key in self._text.cautions if key in known and key not in case]
        if self._all_cautions or not (self._is_compact or self.is_folded):
            named: list[str] = []
        else:
            named = [*case, *own] if self._is_compact else own
        self._show_named(known, named, [key for key in case if key in named])
        for place, key in enumerate((*case, *own)):
            label = self._caution_words.get(key)
            if label is None:
                label = self._caution_words[key] = _caution(known[key].title, known[key].text)
            if self._cautions.indexOf(label) != place + 2:  # heading and titles stand first
                self._cautions.insertWidget(place + 2, label)
        for key, label in self._caution_words.items():
            label.setVisible(key in (*case, *own) and key not in named)
        can_change = self._is_compact or self.is_folded
        self.cautions_button.setText(
            tr("wizard.guide.names_alone") if self._all_cautions else tr("wizard.guide.all_words")
        )
        self.cautions_button.setVisible(can_change)
        self._caution_heading.setVisible(not named or not self._is_compact)
        self._caution_frame.setVisible(bool(case or own))

    def _make_cautions(self) -> None:
        self._caution_frame, self._cautions = panel()
        self._caution_heading = heading(tr("wizard.guide.take_care"))
        self._cautions.addWidget(self._caution_heading)
        self._caution_frame.setParent(
            self
        )  # until the page takes it: without a parent it would be a window
        strip = QHBoxLayout()
        self._short = text_label("", "question")
        strip.addWidget(self._short, 1)
        self.cautions_button = button(
            tr("wizard.guide.all_words"),
            keys="Ctrl+T",
            tip=tr("wizard.guide.what_every_caution_says_or"),
            quiet=True,
        )
        self.cautions_button.setAccessibleName(tr("wizard.guide.cautions_all_words_or_names"))
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
        self._short.setAccessibleName(
            tr("wizard.guide.cautions_replace", replace=Name("; ".join(said).replace("⚠ ", "")))
        )
        self._short.setVisible(bool(said))


class _ReadingMatter(QFrame):
    """Why the step is there, what to have at hand, and how it is done."""

    def __init__(self, text: StepText, parent: QWidget) -> None:
        super().__init__(parent)
        self._text = text
        self._way: str | None = None
        column = panel_in(self)
        line = theme.em(self)
        top = QHBoxLayout()
        top.addWidget(heading(tr("wizard.guide.what_this_is_for")), 1)
        self.fold_button = button(
            tr("wizard.guide.less"),
            keys="Ctrl+G",
            tip=tr("wizard.guide.fold_the_guide_away_or"),
            quiet=True,
        )
        self.fold_button.setAccessibleName(tr("wizard.guide.guide_less_or_more"))
        top.addWidget(self.fold_button, 0, Qt.AlignmentFlag.AlignTop)
        add_all(column, top, text_label(text.why))
        self._rest = QWidget(self)
        rest = column_in(self._rest)
        rest.setSpacing(round(line * 0.35))
        more_button = button(tr("wizard.guide.why_now_and_what_if"), quiet=True)
        rest.addWidget(more_button, 0, Qt.AlignmentFlag.AlignLeft)
        more = text_label(
            tr("wizard.guide.why_now_if_you_skip", why_now=Name(text.why_now), skip=Name(text.skip))
        )
        rest.addWidget(more)
        more.hide()
        more_button.clicked.connect(lambda: more.setVisible(more.isHidden()))
        self._doing = QWidget(self._rest)
        doing = column_in(self._doing)
        doing.setSpacing(round(line * 0.35))
        doing.addWidget(heading(tr("wizard.guide.have_at_hand"), 1.0))
        doing.addWidget(text_label("\n".join(f"•  {one}" for one in text.need)))
        doing.addWidget(heading(tr("wizard.guide.how"), 1.0))
        self._how = QVBoxLayout()
        self._how.setSpacing(round(line * 0.25))
        doing.addLayout(self._how)
        rest.addWidget(self._doing)
        column.addWidget(self._rest)

    def fold(self, *, away: bool) -> None:
        """Leave only the first lines, or show all."""
        self._rest.setVisible(not away)
        self.fold_button.setText(tr("wizard.guide.more") if away else tr("wizard.guide.less"))

    def show_doing(self, *, there_is: bool) -> None:
        """Say what to have at hand and how it is done, or nothing of it."""
        self._doing.setVisible(there_is)

    def show_way(self, way: str) -> None:
        """Show how it is done with one way of reading."""
        if way == self._way:
            return
        self._way = way
        clear_layout(self._how)
        known = self._text.ways.get(way)
        lines = (*self._text.how, *(known.how if known else ()))
        for number, line in enumerate(lines, start=1):
            self._how.addWidget(text_label(f"{number}.  {line}"))


def _caution(title: str, text: str) -> QLabel:
    label = text_label(f"⚠ {title}. {text}", "question")
    label.setAccessibleName(
        tr("wizard.guide.caution_title_text", title=Name(title), text=Name(text))
    )
    return label
