"""Draws any picture: axes with units, legend, scale note, and words for those who can't see it."""

from __future__ import annotations

from html import escape
from typing import Any, Final

import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QSpinBox, QVBoxLayout, QWidget

from core.drawing.chart import Axis, MarkRole, Picture, Swatch, swatch_of
from core.drawing.words_apart import Spot, without_overlap
from core.language import MINUS, Name, Numbers
from desktop.charts.items import ItemPool, fill_for, paint_symbol, pen_for
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.plain_text import plain_tip
from desktop.widgets.steady_label import SteadyLabel

_SMALLEST_SHARE: Final = 0.4


class Chart(QWidget):
    """A picture on the screen, its axes labelled with ``numbers``.

    The view is the picture's own: nothing is dragged or zoomed, and the wheel goes to the page.
    """

    def __init__(self, numbers: Numbers | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._picture: Picture | None = None
        self._axes: tuple[Axis, Axis, bool] | tuple[()] = ()
        self._named: list[tuple[str, str, bool]] = []
        self._still = False
        self._title = SteadyLabel(parent=self)
        self._title.setFont(theme.scaled(self._title.font(), 1.05, bold=True))
        self._numbers = numbers or Numbers()
        self._plot = _Plot(self._numbers, self)
        self._legend = _Legend(self._numbers, self)
        self._note = SteadyLabel(parent=self)
        self._note.setProperty("kind", "muted")
        self._note.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self._title)
        column.addWidget(self._plot, 1)
        column.addWidget(self._legend)
        column.addWidget(self._note)
        self._pool = ItemPool(self._plot.getViewBox(), self._numbers)
        line = theme.em(self)
        self._plot.setMinimumHeight(round(line * 17))
        self._plot.setMinimumWidth(round(line * 13))
        self._dress()

    def draw(self, picture: Picture) -> None:
        """Draw a picture in place of the last one."""
        self._picture = picture
        look = theme.appearance_of(self)
        say = self._numbers.text
        title, summary, note = map(say, (picture.title, picture.summary, picture.scale_note))
        self._title.say(title, keep_size=self._still)
        self._set_axes(picture)
        self._pool.draw(picture, look, QColor(look.text))
        self._legend.show_picture(picture)
        self._note.say(note, keep_size=self._still)
        stays = self._still and not self._note.isHidden()
        self._note.setVisible(bool(note) or stays)
        words = f"{title}. {summary}"
        if self.accessibleDescription() != summary:
            self.setAccessibleName(tr("charts.chart.picture_title", title=Name(title)))
            self.setAccessibleDescription(summary)
            self._plot.setAccessibleName(words)
            self._plot.setToolTip(plain_tip(summary))

    def _name_of(self, axis: Axis) -> tuple[str, str, bool]:
        return self._numbers.text(axis.label), axis.unit, axis.shown

    def hold(self, *, still: bool) -> None:
        """Keep legend and scale still while pictures follow one another quickly, or let them go."""
        self._still = still
        self._legend.hold(still=still)

    @property
    def picture(self) -> Picture | None:
        """The picture on show."""
        return self._picture

    def changeEvent(self, event: QEvent) -> None:
        """Follow a change of colours or type."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange) and hasattr(
            self, "_pool"
        ):
            self._dress()

    def _dress(self) -> None:
        look = theme.appearance_of(self)
        self._plot.setBackground(look.base)
        small = theme.scaled(self.font(), 0.9)
        for side in ("left", "bottom"):
            axis = self._plot.getAxis(side)
            axis.setPen(QPen(QColor(look.line), 1))
            axis.setTextPen(QPen(QColor(look.text)))
            axis.setTickFont(small)
            axis.label.setFont(small)
            axis.label.setDefaultTextColor(QColor(look.text))
        self._pool.type = small
        self._axes, self._named = (), []
        if self._picture is not None:
            self.draw(self._picture)

    def _set_axes(self, picture: Picture) -> None:
        axes = (picture.x, picture.y, picture.fixed_aspect)
        if axes == self._axes:
            return
        named = [self._name_of(picture.x), self._name_of(picture.y)]
        if self._still and named == self._named and self._scale_serves(picture):
            return
        self._axes = axes
        box = self._plot.getViewBox()
        box.setAspectLocked(lock=picture.fixed_aspect)
        box.setRange(
            xRange=_range_of(picture.x), yRange=_range_of(picture.y), padding=0.02, update=True
        )
        for side, axis in (("bottom", picture.x), ("left", picture.y)):
            self._plot.getAxis(side).setTicks(
                [[(at, self._numbers.text(words)) for at, words in axis.ticks]]
                if axis.ticks
                else None
            )
        if named == self._named:
            return
        self._named = named
        colour = theme.appearance_of(self).text
        for side, axis in (("bottom", picture.x), ("left", picture.y)):
            if axis.shown:
                label = self._numbers.text(axis.label)
                words = f"{label} ({axis.unit})" if axis.unit else label
                self._plot.setLabel(side, escape(words, quote=False), color=colour)  # it takes HTML
            self._plot.getAxis(side).whole = axis.whole
            self._plot.showAxis(side, axis.shown)

    def _scale_serves(self, picture: Picture) -> bool:
        """Return whether the scale on show can stay: it jumps only for what it shows badly."""
        if not self._axes:
            return False
        x, y, fixed = self._axes
        return fixed == picture.fixed_aspect and _shows(x, picture.x) and _shows(y, picture.y)


class _Axis(pg.AxisItem):
    """An axis that writes its numbers as the sentences beside it do."""

    def __init__(self, side: str, numbers: Numbers) -> None:
        super().__init__(side)
        self._numbers = numbers
        self.whole = False

    def tickSpacing(self, low: float, high: float, size: float) -> list[tuple[float, float]]:
        """Return the spacings of the ticks; no halves where only whole numbers mean anything."""
        spacings: list[tuple[float, float]] = super().tickSpacing(low, high, size)
        if not self.whole:
            return spacings
        return [one for one in spacings if one[0] >= 1.0 and one[0] % 1.0 == 0.0] or [(1.0, 0.0)]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        """Return a number for each tick, with the decimal sign of the country."""
        written: list[str] = super().tickStrings(values, scale, spacing)
        signed = [text.replace("-", MINUS) for text in written]
        return [text.replace(".", self._numbers.decimal) for text in signed]

    def generateDrawSpecs(self, painter: QPainter) -> Any:
        """Return what is drawn, without numbers and dates that would cover others."""
        drawn = super().generateDrawSpecs(painter)
        if drawn is None:
            return None
        axis, ticks, texts = drawn
        spots = [Spot(box.x(), box.y(), box.width(), box.height()) for box, _, _ in texts]
        stays = without_overlap(spots)
        return axis, ticks, [text for text, stay in zip(texts, stays, strict=True) if stay]


class _Plot(pg.PlotWidget):
    """A plot that holds still."""

    def __init__(self, numbers: Numbers, parent: QWidget) -> None:
        axes = {side: _Axis(side, numbers) for side in ("left", "bottom")}
        super().__init__(parent, axisItems=axes, enableMenu=False)
        self.setMouseEnabled(x=False, y=False)
        self.hideButtons()
        for box in self.getPlotItem().ctrlMenu.findChildren(QSpinBox):  # a menu never shown
            theme.forget_with(box.lineEdit())
        self.getViewBox().disableAutoRange()
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.viewport().setFocusPolicy(Qt.FocusPolicy.NoFocus)  # no key does anything in it
        self.setFrameShape(self.Shape.NoFrame)
        for side in ("left", "bottom"):
            self.getAxis(side).enableAutoSIPrefix(enable=False)

    def sizeHint(self) -> QSize:
        """Return its least size: a view of a scene asks for the size it had last."""
        return QSize(self.minimumSize())

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the page."""
        event.ignore()


class _Legend(QWidget):
    """What each line, dot and stripe stands for, in rows that wrap."""

    def __init__(self, numbers: Numbers, parent: QWidget) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._entries: tuple[tuple[Swatch, MarkRole, str], ...] = ()
        self._placed: dict[tuple[object, ...], tuple[list[QPointF], float]] = {}
        self._still = False
        self._held = 0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy = self.sizePolicy()
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def words(self) -> list[str]:
        """Return the words shown."""
        return [words for _, _, words in self._entries]

    def show_picture(self, picture: Picture) -> None:
        """Show what a picture's items say of themselves, each once."""
        entries: dict[tuple[Swatch, str], tuple[Swatch, MarkRole, str]] = {}
        for item in picture.items:
            words = self._numbers.text(getattr(item, "label", ""))
            if not words:
                continue
            kind = swatch_of(item)
            entries.setdefault((kind, words), (kind, item.role, words))
        found = tuple(entries.values())
        if found != self._entries:
            self._entries = found
            self._placed.clear()
            self.setAccessibleName(
                tr("charts.chart.legend") + "; ".join(self.words()) if found else ""
            )
            self._ask_for_room()
            self.update()

    def hold(self, *, still: bool) -> None:
        """Keep the room there is while pictures follow one another quickly, or give it back."""
        if still != self._still:
            self._still = still
            self._ask_for_room()

    def _ask_for_room(self) -> None:
        stays = self._still and self.isVisible()
        self.setVisible(bool(self._entries) or stays)
        need = self._places(self.width())[1]
        self._held = max(self.height(), round(need)) if stays else 0
        if not stays or need > self.height():
            self.updateGeometry()

    def hasHeightForWidth(self) -> bool:
        """Return True: rows wrap."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height of all rows at a width."""
        return max(round(self._places(width)[1]), self._held)

    def sizeHint(self) -> QSize:
        """Return a size for the width at hand."""
        width = max(self.width(), 200)
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        """Return room for the rows at the width at hand."""
        return QSize(60, self.heightForWidth(max(self.width(), 60)))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw swatches and words."""
        look = theme.appearance_of(self)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        metrics = QFontMetricsF(self.font())
        swatch = metrics.height() * 1.6
        for (kind, role, words), place in zip(
            self._entries, self._places(self.width())[0], strict=True
        ):
            box = QRectF(place.x(), place.y(), swatch, metrics.height())
            _paint_swatch(painter, box, kind, role, look)
            painter.setPen(QColor(look.text))
            left = place.x() + swatch + 5
            room = QRectF(left, place.y(), self.width() - left, metrics.height())
            painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, words)
        painter.end()

    def _places(self, width: int) -> tuple[list[QPointF], float]:
        """Return where each entry stands and the height of all; a layout asks many times over."""
        key = (width, self.font().key())
        if key not in self._placed:
            self._placed[key] = self._placed_at(width)
        return self._placed[key]

    def _placed_at(self, width: int) -> tuple[list[QPointF], float]:
        metrics = QFontMetricsF(self.font())
        swatch, row = metrics.height() * 1.6, metrics.height() + 3
        places: list[QPointF] = []
        x, y = 0.0, 0.0
        for _, _, words in self._entries:
            wide = swatch + 5 + metrics.horizontalAdvance(words) + 14
            if x > 0 and x + wide - 14 > width:
                x, y = 0.0, y + row
            places.append(QPointF(x, y))
            x += wide
        return places, y + row if self._entries else 0.0


def _paint_swatch(
    painter: QPainter, box: QRectF, kind: Swatch, role: MarkRole, look: theme.Appearance
) -> None:
    middle = box.center()
    if kind == "stripe":
        painter.setPen(QPen(look.role(role), 1))
        painter.setBrush(fill_for(look, role))
        painter.drawRect(box.adjusted(2, 3, -2, -3))
        return
    painter.setPen(pen_for(look, role))
    if kind == "frame":
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box.adjusted(2, 3, -2, -3))
        return
    if kind == "line":
        painter.drawLine(QPointF(box.left() + 1, middle.y()), QPointF(box.right() - 1, middle.y()))
        return
    paint_symbol(painter, middle, role, look.role(role), 4.5)


def _range_of(axis: Axis) -> tuple[float, float]:
    """Return a range that is never empty."""
    low, high = min(axis.low, axis.high), max(axis.low, axis.high)
    return (low, high) if high > low else (low - 0.5, high + 0.5)


def _shows(old: Axis, new: Axis) -> bool:
    """Return whether what is meant for one range is seen well on another."""
    (low, high), (wanted_low, wanted_high) = _range_of(old), _range_of(new)
    inside = low <= wanted_low and wanted_high <= high
    return inside and wanted_high - wanted_low > _SMALLEST_SHARE * (high - low)
