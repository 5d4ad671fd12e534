"""Paints geometric marks with QPainter, on paper and on the screen."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QImage,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
)

from core.drawing.marks import (
    Arc,
    Area,
    Bitmap,
    Circle,
    Line,
    Mark,
    Pen,
    Polyline,
    RingWords,
    Sector,
    Words,
)
from core.drawing.roles import Colour

_PIECE_DEG: Final = 15.0


def grey(share: Colour) -> QColor:
    """Return a grey from 0 (black) to 1 (white): paper knows nothing else."""
    if isinstance(share, str):
        raise TypeError(f"paper has no colour for {share!r}")
    return QColor.fromRgbF(share, share, share)


def sized(font: QFont, size_mm: float, *, bold: bool, units_per_mm: float) -> QFont:
    """Return a font in the size of some words."""
    font = QFont(font)
    font.setPixelSize(max(round(size_mm * units_per_mm), 1))
    font.setBold(bold)
    return font


@dataclass(frozen=True, slots=True)
class MarkStyle:
    """How marks look on one medium.

    ``colour`` turns the colours of marks into Qt's. No line is thinner than ``least_width`` of the
    painter's units.
    """

    font: QFont
    colour: Callable[[Colour], QColor] = grey
    least_width: float = 0.0
    join: Qt.PenJoinStyle = Qt.PenJoinStyle.MiterJoin


class MarkPainter:
    """Paints the marks of a sheet whose upper left corner lies at a point of the painter."""

    def __init__(
        self,
        painter: QPainter,
        corner: QPointF,
        height_mm: float,
        units_per_mm: float,
        style: MarkStyle,
    ) -> None:
        self._painter = painter
        self._left, self._top = corner.x(), corner.y()
        self._height = height_mm
        self._units = units_per_mm
        self._style = style

    def paint(self, marks: Iterable[Mark]) -> None:
        """Paint marks in order, the first at the back."""
        self._painter.save()
        for mark in marks:
            self._draw(mark)
        self._painter.restore()

    def _at(self, x: float, y: float) -> QPointF:
        return QPointF(self._left + x * self._units, self._top + (self._height - y) * self._units)

    def _draw(self, mark: Mark) -> None:
        painter = self._painter
        match mark:
            case Line():
                self._use(mark.pen)
                painter.drawLine(self._at(mark.x0, mark.y0), self._at(mark.x1, mark.y1))
            case Polyline():
                self._use(mark.pen)
                painter.drawPolyline(QPolygonF([self._at(x, y) for x, y in mark.points]))
            case Arc():
                self._use(mark.pen)
                path = QPainterPath()
                self._add_arc(path, mark.x, mark.y, mark.radius_mm, mark.start_deg, mark.span_deg)
                painter.drawPath(path)
            case Circle():
                self._use(mark.pen, mark.fill)
                path = QPainterPath()
                self._add_arc(path, mark.x, mark.y, mark.radius_mm, 0.0, 360.0)
                path.closeSubpath()
                painter.drawPath(path)
            case Sector():
                self._use(None, mark.fill)
                painter.drawPath(self._sector(mark))
            case Area():
                self._use(mark.pen, mark.fill)
                painter.drawPolygon(QPolygonF([self._at(x, y) for x, y in mark.points]))
            case Words():
                self._words(mark)
            case RingWords():
                self._ring_words(mark)
            case Bitmap():
                self._bitmap(mark)

    def _use(self, pen: Pen | None, fill: Colour | None = None) -> None:
        if pen is None:
            self._painter.setPen(Qt.PenStyle.NoPen)
        else:
            width = max(pen.width_mm * self._units, self._style.least_width)
            line = QPen(self._style.colour(pen.colour), width)
            line.setCapStyle(Qt.PenCapStyle.FlatCap)
            line.setJoinStyle(self._style.join)
            if pen.dash_mm:
                line.setDashPattern([part / pen.width_mm for part in pen.dash_mm])
            self._painter.setPen(line)
        if fill is None:
            self._painter.setBrush(Qt.BrushStyle.NoBrush)
        else:
            self._painter.setBrush(QBrush(self._style.colour(fill)))

    def _sector(self, mark: Sector) -> QPainterPath:
        path = QPainterPath()
        self._add_arc(path, mark.x, mark.y, mark.outer_mm, mark.start_deg, mark.span_deg)
        end = mark.start_deg + mark.span_deg
        self._add_arc(path, mark.x, mark.y, mark.inner_mm, end, -mark.span_deg)
        path.closeSubpath()
        return path

    def _add_arc(
        self, path: QPainterPath, x: float, y: float, radius: float, start_deg: float, span: float
    ) -> None:
        """Add part of a circle, with a line to where it starts if the path has begun.

        Qt's own arcs leave the circle by 0.03 % (0.065 mm at 240 mm). Pieces of at most 15 degrees
        with handles of 4/3 tan(angle/4) stay within 1e-8 of the radius (derived).
        """
        pieces = max(math.ceil(abs(span) / _PIECE_DEG), 1)
        step = math.radians(span) / pieces
        handle = 4.0 / 3.0 * math.tan(step / 4.0) * radius
        angle = math.radians(start_deg)
        px, py = x + radius * math.cos(angle), y + radius * math.sin(angle)
        if path.elementCount():
            path.lineTo(self._at(px, py))
        else:
            path.moveTo(self._at(px, py))
        for _ in range(pieces):
            end = angle + step
            ex, ey = x + radius * math.cos(end), y + radius * math.sin(end)
            path.cubicTo(
                self._at(px - handle * math.sin(angle), py + handle * math.cos(angle)),
                self._at(ex + handle * math.sin(end), ey - handle * math.cos(end)),
                self._at(ex, ey),
            )
            angle, px, py = end, ex, ey

    def _words(self, mark: Words) -> None:
        painter = self._painter
        metrics = self._set_font(mark)
        painter.setPen(self._style.colour(mark.colour))
        at = self._at(mark.x, mark.y)
        share = {"left": 0.0, "middle": 0.5, "right": 1.0}[mark.align]
        shift = -share * metrics.horizontalAdvance(mark.text) if share else 0.0
        drop = 0.5 * metrics.capHeight() if mark.at_height == "middle" else 0.0
        if not mark.turn_deg:
            painter.drawText(QPointF(at.x() + shift, at.y() + drop), mark.text)
            return
        painter.save()
        painter.translate(at)
        painter.rotate(-mark.turn_deg)
        painter.drawText(QPointF(shift, drop), mark.text)
        painter.restore()

    def _ring_words(self, mark: RingWords) -> None:
        """Set each letter upright on the circle, spaced as the font spaces it."""
        painter = self._painter
        metrics = self._set_font(mark)
        painter.setPen(self._style.colour(mark.colour))
        radius = mark.radius_mm * self._units
        widths = [float(metrics.horizontalAdvance(letter)) for letter in mark.text]
        angle = mark.middle_deg + math.degrees(sum(widths) / radius) / 2.0
        centre = self._at(mark.x, mark.y)
        for letter, width in zip(mark.text, widths, strict=True):
            angle -= math.degrees(width / radius) / 2.0
            painter.save()
            painter.translate(centre)
            painter.rotate(90.0 - angle)
            painter.drawText(QPointF(-width / 2.0, -radius), letter)
            painter.restore()
            angle -= math.degrees(width / radius) / 2.0

    def _bitmap(self, mark: Bitmap) -> None:
        picture = QImage.fromData(mark.content)
        right, top = mark.x + mark.width_mm, mark.y + mark.height_mm
        corners = self._at(mark.x, top), self._at(right, mark.y)
        if not picture.isNull():
            self._painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            self._painter.drawImage(QRectF(*corners), picture)

    def _set_font(self, mark: Words | RingWords) -> QFontMetricsF:
        font = sized(self._style.font, mark.size_mm, bold=mark.bold, units_per_mm=self._units)
        self._painter.setFont(font)
        return QFontMetricsF(font)
