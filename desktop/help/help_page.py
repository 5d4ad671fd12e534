"""The pages of Help, shown over whatever page is open."""

from __future__ import annotations

import platform
from collections.abc import Callable
from importlib.metadata import PackageNotFoundError, version
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QListWidget,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from core.drawing.drawing import Drawing
from core.language import HelpText, KeyGroup, Message, Name, Numbers, TradeWord, help_text, message
from core.steps import STEP_NAMES
from core.steps.explained import draw_word
from desktop.charts.instrument_view import InstrumentView
from desktop.widgets import theme
from desktop.widgets.language import said, spoken, step_words, tr
from desktop.widgets.page import Page, PageTitle
from desktop.widgets.panels import add_all, button, heading, scrolled, text_label
from desktop.widgets.plain_text import plain_label

_PICTURE_EM: Final = 17.0
_NO_VERSION: Final = "?"


class HelpPage(Page):
    """Sections on the left, the one chosen on the right; each is made when it is first shown."""

    escape_leaves = True

    def __init__(self, numbers: Numbers, library: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._library = library
        self._text: HelpText = help_text(spoken())
        self._made: dict[str, QScrollArea] = {}
        self._makers: dict[str, tuple[Message, Callable[[QVBoxLayout], None]]] = {
            "words": (message("help.page.words"), self._fill_words),
            "keys": (message("help.page.keys"), self._fill_keys),
            "without": (message("help.page.without"), self._fill_without),
            "about": (message("help.page.about"), self._fill_about),
        }
        self.setAccessibleName(tr("help.page.help"))
        self.sections = QListWidget()
        self.sections.setAccessibleName(tr("help.page.sections"))
        self.sections.addItems([said(title) for title, _ in self._makers.values()])
        self.sections.setFixedWidth(round(theme.em(self) * 11.5))
        self.sections.currentRowChanged.connect(self._show_row)
        self.pages = QStackedWidget()
        self.close_button = button(tr("help.page.close"))
        self.close_button.clicked.connect(self.leave)
        middle = add_all(QHBoxLayout(), self.sections, (self.pages, 1))
        bottom = add_all(QHBoxLayout(), 1, self.close_button)
        add_all(QVBoxLayout(self), PageTitle(tr("help.page.help")), (middle, 1), bottom)

    def begin(self) -> None:
        """Put the focus on the list of sections."""
        self.sections.setFocus()

    def show_section(self, key: str) -> None:
        """Show a section by its key: words, keys, without or about."""
        self.sections.setCurrentRow(list(self._makers).index(key))
        self.begin()

    @property
    def section(self) -> str:
        """The key of the section on show."""
        return list(self._makers)[max(0, self.sections.currentRow())]

    def _show_row(self, row: int) -> None:
        key = list(self._makers)[row]
        if key not in self._made:
            title, fill = self._makers[key]
            inside = QWidget()
            column = QVBoxLayout(inside)
            column.setSpacing(round(theme.em(self) * 0.8))
            fill(column)
            column.addStretch(1)
            area = scrolled(inside)
            area.setAccessibleName(said(title))
            area.setFocusPolicy(Qt.FocusPolicy.StrongFocus)  # arrow keys scroll it
            area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
            self._made[key] = area
            self.pages.addWidget(area)
        self.pages.setCurrentWidget(self._made[key])

    # sections

    def _fill_words(self, column: QVBoxLayout) -> None:
        for key, word in self._text.words.items():
            column.addWidget(_WordPanel(word, draw_word(key, self._numbers)))

    def _fill_keys(self, column: QVBoxLayout) -> None:
        for group in self._text.keys.values():
            column.addWidget(heading(group.title))
            column.addWidget(_key_table(group))

    def _fill_without(self, column: QVBoxLayout) -> None:
        text = self._text.without
        column.addWidget(text_label(text.lead))
        for number, step in enumerate(STEP_NAMES, start=1):
            titled = tr("help.page.step_line", number=number, step=Name(step_words(step).title))
            column.addWidget(_entry(titled, text.steps[step]))
        column.addWidget(text_label(text.kit.text, "muted"))

    def _fill_about(self, column: QVBoxLayout) -> None:
        text = self._text.about
        running = tr(
            "help.page.version",
            version=Name(version_of("setdown")),
            python=Name(platform.python_version()),
        )
        column.addWidget(heading(running))
        for words in (text.what, text.maker_first, text.mains):
            column.addWidget(text_label(words))
        if self._library:
            place = plain_label(tr("help.page.library", place=Name(self._library)), wraps=True)
            place.setTextInteractionFlags(
                Qt.TextInteractionFlag.TextSelectableByMouse
                | Qt.TextInteractionFlag.TextSelectableByKeyboard
            )
            column.addWidget(place)
        column.addWidget(text_label(text.built_on))
        for name, licence in text.licences.items():
            line = tr(
                "help.page.license_line",
                name=Name(name),
                version=Name(version_of(name)),
                licence=Name(licence),
            )
            column.addWidget(text_label(line))


class _WordPanel(QFrame):
    """A word of the trade: its drawing, what it means, and where it is set."""

    def __init__(self, word: TradeWord, drawing: Drawing, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("panel", "true")
        picture = _Picture(word.name)
        picture.show_drawing(drawing)
        wide = round(theme.em(self) * _PICTURE_EM)
        picture.setFixedSize(wide, round(wide * drawing.height_mm / drawing.width_mm))
        number = STEP_NAMES.index(word.step) + 1
        step = Name(step_words(word.step).title)
        where = (
            tr("help.page.here_called", here=Name(word.here), number=number, step=step)
            if word.here
            else tr("help.page.in_step", number=number, step=step)
        )
        words = add_all(
            QVBoxLayout(), heading(word.name), text_label(word.means), text_label(where, "muted"), 1
        )
        row = QHBoxLayout(self)
        row.setSpacing(round(theme.em(self)))
        add_all(row, picture, (words, 1))


class _Picture(InstrumentView):
    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._name = name

    def _say(self, drawing: Drawing | None) -> None:
        self.setAccessibleName(tr("help.page.drawing_of", name=Name(self._name)))
        self.setAccessibleDescription(drawing.summary if drawing else "")


def _entry(title: str, words: str) -> QWidget:
    made = QWidget()
    column = QVBoxLayout(made)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(2)
    add_all(column, heading(title, 1.0), text_label(words))
    return made


def _key_table(group: KeyGroup) -> QWidget:
    made = QWidget()
    grid = QGridLayout(made)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setHorizontalSpacing(round(theme.em(made)))
    grid.setColumnStretch(1, 1)
    grid.setColumnMinimumWidth(0, round(theme.em(made) * 10))
    for row, (keys, does) in enumerate(group.does.items()):
        name = heading(keys_named(keys), 1.0)
        name.setWordWrap(False)
        top = Qt.AlignmentFlag.AlignTop
        grid.addWidget(name, row, 0, top)
        grid.addWidget(text_label(does), row, 1)
    return made


def keys_named(keys: str) -> str:
    """Return keys as this system writes them."""
    native = QKeySequence(keys).toString(QKeySequence.SequenceFormat.NativeText)
    return native or keys


def version_of(distribution: str) -> str:
    """Return the version of an installed distribution, a question mark if there is none."""
    try:
        return version(distribution)
    except PackageNotFoundError:
        return _NO_VERSION
