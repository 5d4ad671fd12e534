"""Paints a drawn instrument, as large as there is room for."""

from __future__ import annotations

from typing import ClassVar, Final

from PySide6.QtCore import QElapsedTimer, QPointF, QSize, Qt, QTimer
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QStyle, QWidget

from core.drawing.drawing import Drawing
from core.drawing.roles import Colour, Ink, MarkRole
from core.language import Name
from desktop.charts.mark_painter import MarkPainter, MarkStyle, grey
from desktop.widgets import theme
from desktop.widgets.language import tr

_LEAST_EM: Final = 12.0
_MOST_EM: Final = 34.0
_TALLEST_EM: Final = 31.0
_FRAME_MS: Final = 40
_LEADS: Final = {
    Ink.WHITE_LEAD: "#f4f1e8",
    Ink.BLUE_LEAD: "#3568c0",
    Ink.RED_LEAD: "#c43c32",
    Ink.GREEN_LEAD: "#2f8f4e",
}
"""What the leads themselves look like, the same in light and dark; each has its word beside it."""


class InstrumentView(QWidget):
    """A drawing, scaled as a whole; its proportions stay true."""

    OF_WINDOW: ClassVar[float] = 0.56
    """About what a page of the wizard leaves of the window's height: all of it is to be in view."""
    TALL_EM: ClassVar[float] = 20.0
    """The height in ems that it may take in the smallest window."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._drawing: Drawing | None = None
        self._still: Drawing | None = None
        self._clock = QElapsedTimer()
        self._tick = QTimer(self)
        self._tick.setInterval(_FRAME_MS)
        self._tick.timeout.connect(self._next_frame)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setMinimumWidth(round(theme.em(self) * _LEAST_EM))

    @property
    def drawing(self) -> Drawing | None:
        """What is on show just now."""
        return self._drawing

    @property
    def is_playing(self) -> bool:
        """Whether a film runs."""
        return self._tick.isActive()

    def show_drawing(self, drawing: Drawing | None) -> None:
        """Show a drawing, still; None shows an empty sheet."""
        self._tick.stop()
        before = self._ratio()
        self._still = self._drawing = drawing
        self._say(drawing)
        if self._ratio() != before:
            self.updateGeometry()
        self.update()

    def _say(self, drawing: Drawing | None) -> None:
        """Tell a screen reader what is drawn."""
        self.setAccessibleName(
            tr("rehearsal.instrument_view.instrument_drawing", drawing=Name(drawing.title))
            if drawing
            else tr("rehearsal.instrument_view.no_instrument")
        )
        self.setAccessibleDescription(drawing.summary if drawing else "")

    def _ratio(self) -> float:
        """Return the height that the drawing has for its width; 0 without one."""
        still = self._still
        return still.height_mm / still.width_mm if still is not None else 0.0

    def play(self) -> None:
        """Show how the drawing comes to stand as it does, where that can be watched."""
        if self._still is None or self._still.film is None:
            return
        self._clock.start()
        self._tick.start()
        self._next_frame()

    def stop(self) -> None:
        """Show the end at once."""
        self._tick.stop()
        self._drawing = self._still
        self.update()

    def heightForWidth(self, width: int) -> int:
        """Return the height that the drawing takes at a width."""
        if not self._ratio():
            return round(theme.em(self) * 4)
        line = theme.em(self)
        wide = min(float(width), line * _MOST_EM)
        room = min(
            max(self.OF_WINDOW * self.window().height(), line * self.TALL_EM), line * _TALLEST_EM
        )
        return round(min(wide * self._ratio(), room))

    def hasHeightForWidth(self) -> bool:
        """Say that the height follows from the width."""
        return True

    def sizeHint(self) -> QSize:
        """Return a size at which everything can be read."""
        wide = round(theme.em(self) * 22)
        return QSize(wide, self.heightForWidth(wide))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the drawing."""
        drawing, look = self._drawing, theme.appearance_of(self)
        if drawing is None:
            return
        unit = min(self.width() / drawing.width_mm, self.height() / drawing.height_mm)
        left = 0.5 * (self.width() - unit * drawing.width_mm)
        top = 0.5 * (self.height() - unit * drawing.height_mm)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        style = MarkStyle(
            self.font(), lambda colour: _colour(colour, look), 1.0, Qt.PenJoinStyle.BevelJoin
        )
        corner = QPointF(left, top)
        MarkPainter(painter, corner, drawing.height_mm, unit, style).paint(drawing.marks)
        painter.end()

    def _next_frame(self) -> None:
        film = self._still.film if self._still else None
        if film is None:
            self._tick.stop()
            return
        share = self._clock.elapsed() / 1000.0 / max(film.seconds, 0.1)
        if share >= 1.0:
            self.stop()
            return
        self._drawing = film.at(share)
        self.update()


def moves_allowed(widget: QWidget) -> bool:
    """Say whether the system lets things move on the screen."""
    hint = QStyle.StyleHint.SH_Widget_Animation_Duration
    return widget.style().styleHint(hint, None, widget) > 0


def _colour(colour: Colour, look: theme.Appearance) -> QColor:
    if isinstance(colour, MarkRole):
        return look.role(colour)
    if not isinstance(colour, Ink):
        return grey(colour)
    body, glass = ("#3a3f46", "#191b1e") if look.is_dark else ("#ebe6da", "#f8f7f3")
    known = {
        Ink.WORD: look.text,
        Ink.FAINT: look.muted,
        Ink.MARK: look.roles[MarkRole.DANGER],
        Ink.BODY: body,
        Ink.GLASS: glass,
    }
    return QColor((known | _LEADS)[colour])
