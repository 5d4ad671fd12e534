"""The purpose of a step: why, why now, what to have ready, and what follows without it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QWidget

from core.language import Name, StepText
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, button, column_in, heading, panel_in, text_label


class Guide(QWidget):
    """The explanations of a step; its instructions are at the lines of work."""

    folded = Signal(bool)
    """The person folded the words away (True) or opened them (False)."""

    def __init__(self, text: StepText, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = text
        self.is_folded = False
        self._there_is_doing = True
        self._reading_matter: _ReadingMatter | None = None
        self._column = column_in(self)

    def fill(self) -> None:
        """Fill in the explanations, once."""
        if self._reading_matter is not None:
            return
        made = self._reading_matter = _ReadingMatter(self._text, self)
        made.fold_button.clicked.connect(lambda: self.fold(away=not self.is_folded, told=True))
        made.fold(away=self.is_folded)
        made.show_doing(there_is=self._there_is_doing)
        self._column.addWidget(made)

    def fold(self, *, away: bool, told: bool = False) -> None:
        """Fold the guide away or open it; ``told`` emits the signal."""
        self.is_folded = away
        if self._reading_matter is not None:
            self._reading_matter.fold(away=away)
        if told:
            self.folded.emit(away)

    def show_doing(self, *, there_is: bool) -> None:
        """List what to have at hand only if there is something to do."""
        self._there_is_doing = there_is
        if self._reading_matter is not None:
            self._reading_matter.show_doing(there_is=there_is)


class _ReadingMatter(QFrame):
    """Why the step exists, and what to have at hand."""

    def __init__(self, text: StepText, parent: QWidget) -> None:
        super().__init__(parent)
        column = panel_in(self)
        line = theme.em(self)
        top = QHBoxLayout()
        top.addWidget(heading(tr("wizard.guide.what_this_is_for")), 1)
        self.fold_button = button(
            tr("wizard.guide.less"),
            keys="F2",
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
        rest.addWidget(self._doing)
        column.addWidget(self._rest)

    def fold(self, *, away: bool) -> None:
        """Show only the first lines, or all."""
        self._rest.setVisible(not away)
        self.fold_button.setText(tr("wizard.guide.more") if away else tr("wizard.guide.less"))

    def show_doing(self, *, there_is: bool) -> None:
        """Show or hide what to have at hand."""
        self._doing.setVisible(there_is)
