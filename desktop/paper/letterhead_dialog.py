"""The window in which name, address and logo for paper are given."""

from __future__ import annotations

import base64
from pathlib import Path
from typing import Final

from pydantic import ValidationError
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from core.language import Name
from core.paper.letterhead import LARGEST_LOGO, Letterhead, keep_letterhead, letterhead_of
from core.paper.sheet import PaperProblem
from core.store import Library, LibraryProblem
from desktop.paper.pictures import png_of, read_picture
from desktop.widgets import theme
from desktop.widgets.language import said, tr
from desktop.widgets.messages import Messages
from desktop.widgets.panels import add_all, text_label

_LOGO_POINTS: Final = (900, 360)
_FEWER_POINTS: Final = 0.8
"""Smaller by this in width and height, until few enough bytes are left."""


class LetterheadDialog(QDialog):
    """Name, address and logo; kept in the library when Save is pressed."""

    def __init__(self, library: Library, messages: Messages, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._library, self._messages = library, messages
        self.setWindowTitle(tr("paper.letterhead_dialog.title"))
        kept = letterhead_of(library)
        self.logo = kept.logo
        self.name = QLineEdit(kept.name, maxLength=120)
        self.address = QPlainTextEdit(kept.address)
        self.address.setTabChangesFocus(True)
        self.choose_button = QPushButton(tr("paper.letterhead_dialog.choose"))
        self.remove_button = QPushButton(tr("paper.letterhead_dialog.remove"))
        self.save_button = QPushButton(tr("paper.letterhead_dialog.save"))
        self.save_button.setProperty("primary", "true")
        self.cancel_button = QPushButton(tr("paper.letterhead_dialog.cancel"))
        self._picture = QLabel()
        self._picture.setAccessibleName(tr("paper.letterhead_dialog.logo"))
        self.problem = text_label("", "problem")
        self._lay_out()
        self._show_logo()
        self.choose_button.clicked.connect(self.choose)
        self.remove_button.clicked.connect(self._remove)
        self.save_button.clicked.connect(self.save)
        self.cancel_button.clicked.connect(self.reject)

    def choose(self) -> None:
        """Ask for a picture, and make it small enough to be kept."""
        path = self._messages.file_to_open(
            tr("paper.letterhead_dialog.choose_title"),
            Path.home(),
            tr("paper.letterhead_dialog.pictures"),
        )
        if path is None:
            return
        logo = _read_logo(path)
        if logo is None:
            self._say(tr("paper.letterhead_dialog.no_picture", name=Name(path.name)))
            return
        self.logo = logo
        self._say("")
        self._show_logo()

    def save(self) -> None:
        """Keep what is typed, and close; what can't be kept is said and stays."""
        try:
            letterhead = Letterhead(
                name=self.name.text(),
                address=self.address.toPlainText(),
                logo=base64.b64encode(self.logo),
            )
            keep_letterhead(self._library, letterhead)
        except ValidationError:
            self._say(tr("paper.letterhead_dialog.too_long"))
        except (LibraryProblem, PaperProblem) as problem:
            self._say(f"{said(problem.what)} {said(problem.todo)}".strip())
        else:
            self.accept()

    def _remove(self) -> None:
        self.logo = b""
        self._show_logo()

    def _say(self, sentence: str) -> None:
        self.problem.setText(sentence)
        self.problem.setVisible(bool(sentence))

    def _show_logo(self) -> None:
        self.remove_button.setEnabled(bool(self.logo))
        if not self.logo:
            self._picture.setText(tr("paper.letterhead_dialog.no_logo"))
            return
        high = round(theme.em(self) * 4.0)
        picture = QPixmap.fromImage(QImage.fromData(self.logo))
        mode = Qt.TransformationMode.SmoothTransformation
        self._picture.setPixmap(picture.scaledToHeight(high, mode))

    def _lay_out(self) -> None:
        outer = QVBoxLayout(self)
        for words, field in (
            (tr("paper.letterhead_dialog.name"), self.name),
            (tr("paper.letterhead_dialog.address"), self.address),
        ):
            label = QLabel(words)
            label.setBuddy(field)
            field.setAccessibleName(words.replace("&", ""))
            add_all(outer, label, field)
        self.address.setFixedHeight(round(theme.em(self) * 5.5))
        logo = add_all(QHBoxLayout(), (self._picture, 1), self.choose_button, self.remove_button)
        buttons = add_all(QHBoxLayout(), self.cancel_button, 1, self.save_button)
        add_all(outer, logo, self.problem, buttons)
        self.problem.hide()
        self.setMinimumWidth(round(theme.em(self) * 30))
        for one in self.findChildren(QPushButton):
            one.setAutoDefault(False)


def _read_logo(path: Path) -> bytes | None:
    """Return a picture small enough to be kept; None for a file that holds none.

    A photograph in place of a drawing takes more bytes: it is kept with fewer points.
    """
    picture = read_picture(path, *_LOGO_POINTS)
    if picture is None:
        return None
    while len(png := png_of(picture)) > LARGEST_LOGO:
        mode = Qt.TransformationMode.SmoothTransformation
        size = picture.size() * _FEWER_POINTS
        picture = picture.scaled(size, Qt.AspectRatioMode.KeepAspectRatio, mode)
    return png or None
