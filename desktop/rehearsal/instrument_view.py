"""Paints a drawn instrument, as large as there is room for."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QElapsedTimer, QPointF, QRectF, QSize, Qt, QTimer
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QStyle, QWidget

from core.drawing.chart import Role
from core.practice.drawings.sheet import Area, Drawing, Ink, Stroke, Words
from desktop.widgets import theme

_LEAST_EM: Final = 17.0
_MOST_EM: Final = 34.0
_TALLEST_EM: Final = 31.0
_TALL_EM: Final = 20.0
_OF_WINDOW: Final = 0.56
"""About what a page of the wizard leaves of the window's height: all of it is to be in view."""
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

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.drawing: Drawing | None = None
        self._still: Drawing | None = None
        self._clock = QElapsedTimer()
        self._tick = QTimer(self, interval=_FRAME_MS)
        self._tick.timeout.connect(self._next_frame)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setMinimumWidth(round(theme.em(self) * _LEAST_EM))

    @property
    def is_playing(self) -> bool:
        """Whether a film runs."""
        return self._tick.isActive()

    def show_drawing(self, drawing: Drawing | None) -> None:
        """Show a drawing, still; None shows an empty sheet."""
        self._tick.stop()
        self._still = self.drawing = drawing
        self.setAccessibleName(f"Instrument: {drawing.title}" if drawing else "No instrument")
        self.setAccessibleDescription(drawing.summary if drawing else "")
        self.updateGeometry()
        self.update()

    def play(self) -> None:
        """Play the drawing's film, if it has one."""
        if self._still is None or self._still.film is None:
            return
        self._clock.start()
        self._tick.start()
        self._next_frame()

    def stop(self) -> None:
        """Show the end at once."""
        self._tick.stop()
        self.drawing = self._still
        self.update()

    def heightForWidth(self, width: int) -> int:
        """Return the height that the drawing takes at a width."""
        if self._still is None:
            return round(theme.em(self) * 4)
        line = theme.em(self)
        wide = min(float(width), line * _MOST_EM)
        room = min(max(_OF_WINDOW * self.window().height(), line * _TALL_EM), line * _TALLEST_EM)
        return round(min(wide * self._still.height / self._still.width, room))

    def hasHeightForWidth(self) -> bool:
        """Say that the height follows from the width."""
        return True

    def sizeHint(self) -> QSize:
        """Return a size at which everything can be read."""
        wide = round(theme.em(self) * 22)
        return QSize(wide, self.heightForWidth(wide))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the drawing."""
        if self.drawing is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        sheet = _InstrumentPainter(
            self.drawing, QRectF(self.rect()), theme.appearance_of(self), self.font()
        )
        sheet.paint(painter)
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
        self.drawing = film.at(share)
        self.update()


def moves_allowed(widget: QWidget) -> bool:
    """Return whether the system allows animations."""
    hint = QStyle.StyleHint.SH_Widget_Animation_Duration
    return widget.style().styleHint(hint, None, widget) > 0


class _InstrumentPainter:
    """Paints one drawing into one rectangle."""

    def __init__(self, drawing: Drawing, room: QRectF, look: theme.Appearance, font: QFont) -> None:
        self.drawing, self._look, self._font = drawing, look, font
        self._unit = min(room.width() / drawing.width, room.height() / drawing.height)
        self._left = room.left() + 0.5 * (room.width() - self._unit * drawing.width)
        self._foot = room.top() + 0.5 * (room.height() + self._unit * drawing.height)

    def paint(self, painter: QPainter) -> None:
        for part in self.drawing.parts:
            if isinstance(part, Area):
                self._area(painter, part)
            elif isinstance(part, Stroke):
                self._stroke(painter, part)
            else:
                self._words(painter, part)

    def _at(self, x: float, y: float) -> QPointF:
        return QPointF(self._left + x * self._unit, self._foot - y * self._unit)

    def _area(self, painter: QPainter, part: Area) -> None:
        edge = _colour(Ink.EDGE, self._look)
        pen = QPen(edge, max(1.0, 0.35 * self._unit)) if part.edged else QPen(Qt.PenStyle.NoPen)
        painter.setPen(pen)
        painter.setBrush(_colour(part.ink, self._look))
        painter.drawPolygon(QPolygonF([self._at(x, y) for x, y in part.points]))

    def _stroke(self, painter: QPainter, part: Stroke) -> None:
        pen = QPen(_colour(part.ink, self._look), max(1.0, part.width * self._unit))
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if part.dashed:
            pen.setStyle(Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPolyline(QPolygonF([self._at(x, y) for x, y in part.points]))

    def _words(self, painter: QPainter, part: Words) -> None:
        font = QFont(self._font)
        font.setPixelSize(max(1, round(part.size * self._unit)))
        font.setBold(part.strong)
        painter.setFont(font)
        painter.setPen(_colour(part.ink, self._look))
        metrics = QFontMetricsF(font)
        wide = metrics.horizontalAdvance(part.text)
        place = self._at(part.x, part.y)
        left = place.x() - (0.5 + 0.5 * part.anchor) * wide
        base = place.y() + 0.5 * metrics.capHeight()
        painter.drawText(QPointF(left, base), part.text)


def _colour(ink: Ink, look: theme.Appearance) -> QColor:
    if ink in _LEADS:
        return QColor(_LEADS[ink])
    body, glass = ("#3a3f46", "#191b1e") if look.is_dark else ("#ebe6da", "#f8f7f3")
    known = {
        Ink.EDGE: look.roles[Role.OUTLINE],
        Ink.TICK: look.text,
        Ink.WORD: look.text,
        Ink.FAINT: look.muted,
        Ink.HAND: look.roles[Role.NOW],
        Ink.MARK: look.roles[Role.DANGER],
        Ink.BODY: body,
        Ink.GLASS: glass,
        Ink.LEFT: look.roles[Role.LEFT],
        Ink.RIGHT: look.roles[Role.RIGHT],
    }
    return QColor(known[ink])
