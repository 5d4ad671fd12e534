"""What a library without any fitting says: where the nine steps take place, and what they need."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from core.language import Message, Numbers, message
from desktop.widgets import theme
from desktop.widgets.language import said, tr
from desktop.widgets.panels import add_all, heading, text_label

_AFTER_PAINT_MS: Final = 400
_PICTURE_EM: Final = 25.0
_NEEDED: Final[tuple[Message, ...]] = (
    message("library.welcome.need_cartridge"),
    message("library.welcome.need_manuals"),
    message("library.welcome.need_tools"),
    message("library.welcome.need_scale"),
    message("library.welcome.need_level"),
    message("library.welcome.need_paper"),
)


class Welcome(QWidget):
    """A drawing of a deck with its nine places, what is needed in hand, and one large button."""

    start_wanted = Signal()

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self.start = QPushButton(tr("library.welcome.start"), autoDefault=True)
        self.start.setObjectName("welcomeStart")
        self.start.setProperty("primary", "true")
        self.start.setFont(theme.scaled(self.font(), 1.5, bold=True))
        self.start.clicked.connect(self.start_wanted)
        line = theme.em(self)
        self._place = add_all(QVBoxLayout(), 1)
        words = QVBoxLayout()
        words.setSpacing(round(0.45 * line))
        needed = [text_label(f"•  {said(one)}") for one in _NEEDED]
        add_all(
            words,
            heading(tr("library.welcome.title"), 1.4),
            text_label(tr("library.welcome.lead")),
            heading(tr("library.welcome.needed"), 1.1),
            *needed,
            text_label(tr("library.welcome.without"), "muted"),
            add_all(QHBoxLayout(), self.start, 1),
            1,
        )
        row = QHBoxLayout(self)
        row.setSpacing(round(1.5 * line))
        add_all(row, (self._place, 4), (words, 5))
        self.picture: QWidget | None = None
        self._timer = QTimer(self, singleShot=True, interval=_AFTER_PAINT_MS)
        self._timer.timeout.connect(self.draw)

    def showEvent(self, event: QShowEvent) -> None:
        """Draw once the window is there: the drawing brings the steps."""
        super().showEvent(event)
        if self.picture is None:
            self._timer.start()

    def draw(self) -> None:
        """Draw the deck with its nine places."""
        if self.picture is not None:
            return
        from core.steps.explained import draw_places, example_scene
        from desktop.charts.instrument_view import InstrumentView

        picture = InstrumentView(self)
        picture.show_drawing(draw_places(example_scene(self._numbers)))
        picture.setAccessibleName(tr("library.welcome.drawing"))
        picture.setMinimumWidth(round(theme.em(self) * 12))
        picture.setMaximumWidth(round(theme.em(self) * _PICTURE_EM))
        self.picture = picture
        self._place.insertWidget(0, picture)
