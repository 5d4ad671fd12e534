"""The signs of verdicts and step states, drawn with a painter."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF

from core.fitting import QualifiedPass, StepState, Verdict
from desktop.widgets import theme

Sign = Verdict | StepState | QualifiedPass


def paint_sign(painter: QPainter, box: QRectF, sign: Sign, fill: QColor, inside: QColor) -> None:
    """Draw the shape of a verdict or a step state into a square.

    Every shape differs in outline or in its cut-out, so that it is recognisable without colour.
    """
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(box.center())
    painter.scale(box.width() / 2, box.height() / 2)  # from here on -1 to 1
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(fill)
    _SHAPES[sign](painter, fill, inside)
    painter.restore()


def sign_colour(look: theme.Appearance, sign: Sign) -> QColor:
    """Return the colour of a verdict or a state in a colour scheme."""
    if sign is QualifiedPass.LEFT_AS_SET:
        return look.verdict(Verdict.LEFT_AS_FOUND)
    if isinstance(sign, QualifiedPass):
        return look.verdict(Verdict.READ_AGAIN)  # amber
    return look.verdict(sign if isinstance(sign, Verdict) else _ALIKE[sign])


def _line(painter: QPainter, colour: QColor, width: float, *points: tuple[float, float]) -> None:
    pen = QPen(colour, width)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in points]))


def _disc(painter: QPainter) -> None:
    painter.drawEllipse(QPointF(0, 0), 0.94, 0.94)


def _ring(painter: QPainter, colour: QColor, *, dashed: bool = False) -> None:
    pen = QPen(colour, 0.16)
    if dashed:
        pen.setDashPattern([1.6, 1.5])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawEllipse(QPointF(0, 0), 0.84, 0.84)


def _no_reading(painter: QPainter, fill: QColor, _inside: QColor) -> None:
    _ring(painter, fill, dashed=True)


def _good(painter: QPainter, _fill: QColor, inside: QColor) -> None:
    _disc(painter)
    _line(painter, inside, 0.24, (-0.42, 0.05), (-0.1, 0.36), (0.46, -0.32))


def _move(painter: QPainter, _fill: QColor, _inside: QColor) -> None:
    painter.drawPolygon(
        QPolygonF(
            [
                QPointF(x, y)
                for x, y in (
                    (-0.94, -0.36),
                    (0.1, -0.36),
                    (0.1, -0.86),
                    (0.96, 0.0),
                    (0.1, 0.86),
                    (0.1, 0.36),
                    (-0.94, 0.36),
                )
            ]
        )
    )


def _read_again(painter: QPainter, fill: QColor, _inside: QColor) -> None:
    pen = QPen(fill, 0.26)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawArc(QRectF(-0.72, -0.72, 1.44, 1.44), 20 * 16, 285 * 16)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(fill)
    painter.drawPolygon(QPolygonF([QPointF(0.98, -0.52), QPointF(0.9, 0.26), QPointF(0.28, -0.2)]))


def _left_as_found(painter: QPainter, _fill: QColor, inside: QColor) -> None:
    painter.drawRoundedRect(QRectF(-0.88, -0.88, 1.76, 1.76), 0.22, 0.22)
    _line(painter, inside, 0.24, (-0.44, 0.0), (0.44, 0.0))


def _diamond(painter: QPainter) -> None:
    painter.drawPolygon(QPolygonF([QPointF(0, -1), QPointF(1, 0), QPointF(0, 1), QPointF(-1, 0)]))


def _good_outside(painter: QPainter, _fill: QColor, inside: QColor) -> None:
    _diamond(painter)
    _line(painter, inside, 0.22, (-0.36, 0.04), (-0.08, 0.3), (0.38, -0.26))


def _left_outside(painter: QPainter, _fill: QColor, inside: QColor) -> None:
    _diamond(painter)
    _line(painter, inside, 0.22, (-0.4, 0.0), (0.4, 0.0))


def _nothing_outside(painter: QPainter, _fill: QColor, inside: QColor) -> None:
    _diamond(painter)
    _line(painter, inside, 0.22, (-0.28, 0.28), (0.28, -0.28))


def _nothing_to_set(painter: QPainter, fill: QColor, _inside: QColor) -> None:
    _ring(painter, fill)
    _line(painter, fill, 0.16, (-0.58, 0.58), (0.58, -0.58))


def _stop(painter: QPainter, _fill: QColor, inside: QColor) -> None:
    cut = 0.39
    corners = [
        (-cut, -0.94),
        (cut, -0.94),
        (0.94, -cut),
        (0.94, cut),
        (cut, 0.94),
        (-cut, 0.94),
        (-0.94, cut),
        (-0.94, -cut),
    ]
    painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in corners]))
    _line(painter, inside, 0.26, (0.0, -0.5), (0.0, 0.14))
    _line(painter, inside, 0.28, (0.0, 0.54), (0.0, 0.55))


def _closed(painter: QPainter, fill: QColor, _inside: QColor) -> None:
    painter.drawRoundedRect(QRectF(-0.6, -0.12, 1.2, 0.98), 0.12, 0.12)
    pen = QPen(fill, 0.2)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawArc(QRectF(-0.38, -0.84, 0.76, 1.1), 0, 180 * 16)


def _to_do(painter: QPainter, fill: QColor, _inside: QColor) -> None:
    _ring(painter, fill)


def _not_asked(painter: QPainter, fill: QColor, _inside: QColor) -> None:
    _line(painter, fill, 0.2, (-0.5, 0.0), (0.5, 0.0))


def _in_hand(painter: QPainter, fill: QColor, _inside: QColor) -> None:
    _ring(painter, fill)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(fill)
    half = QPainterPath()
    half.moveTo(0, 0.84)
    half.arcTo(QRectF(-0.84, -0.84, 1.68, 1.68), -90, -180)
    half.closeSubpath()
    painter.drawPath(half)


def _kept(painter: QPainter, fill: QColor, _inside: QColor) -> None:
    _line(painter, fill, 0.2, (-0.5, -0.8), (-0.5, 0.9))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(fill)
    painter.drawPolygon(QPolygonF([QPointF(-0.5, -0.84), QPointF(0.82, -0.42), QPointF(-0.5, 0.1)]))


def _check_again(painter: QPainter, _fill: QColor, inside: QColor) -> None:
    painter.drawPolygon(QPolygonF([QPointF(0, -0.92), QPointF(0.98, 0.82), QPointF(-0.98, 0.82)]))
    _line(painter, inside, 0.22, (0.0, -0.3), (0.0, 0.26))
    _line(painter, inside, 0.24, (0.0, 0.56), (0.0, 0.57))


_SHAPES: Final[dict[Sign, Callable[[QPainter, QColor, QColor], None]]] = {
    Verdict.NO_READING: _no_reading,
    Verdict.GOOD: _good,
    Verdict.MOVE: _move,
    Verdict.READ_AGAIN: _read_again,
    Verdict.LEFT_AS_FOUND: _left_as_found,
    Verdict.NOTHING_TO_SET: _nothing_to_set,
    Verdict.STOP: _stop,
    StepState.CLOSED: _closed,
    StepState.TO_DO: _to_do,
    StepState.IN_HAND: _in_hand,
    StepState.DONE: _good,
    StepState.KEPT: _kept,
    StepState.CHECK_AGAIN: _check_again,
    StepState.NOT_ASKED: _not_asked,
    QualifiedPass.GOOD: _good_outside,
    QualifiedPass.LEFT_AS_FOUND: _left_outside,
    QualifiedPass.LEFT_AS_SET: _left_as_found,
    QualifiedPass.NOTHING_TO_SET: _nothing_outside,
    QualifiedPass.DONE: _good_outside,
    QualifiedPass.GOOD_ON_TRUST: _good_outside,
    QualifiedPass.DONE_ON_TRUST: _good_outside,
}

_ALIKE: Final[dict[StepState, Verdict]] = {
    StepState.CLOSED: Verdict.NO_READING,
    StepState.TO_DO: Verdict.NO_READING,
    StepState.IN_HAND: Verdict.MOVE,
    StepState.DONE: Verdict.GOOD,
    StepState.KEPT: Verdict.LEFT_AS_FOUND,
    StepState.CHECK_AGAIN: Verdict.READ_AGAIN,
    StepState.NOT_ASKED: Verdict.NO_READING,
}
