"""One picture, large: as the window has room, or nearer, to be moved about."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QScrollArea, QScrollBar, QWidget

_STEP: Final = 1.25
_NEAREST: Final = 4.0
_PAN_PX: Final = 60


class LargeView(QScrollArea):
    """Shows a picture; + and - go nearer and further, 0 fits it to the window.

    Arrow keys move about in what is larger than the window; where there is nothing to move,
    left and right ask for the picture before and after, as the page keys always do.
    """

    other_wanted = Signal(int)  # -1 for the picture before, 1 for the one after
    zoomed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._canvas = _Canvas()
        self._picture = QPixmap()
        self._zoom: float | None = None
        self._held: QPoint | None = None
        self.setWidget(self._canvas)
        self.setWidgetResizable(True)
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    @property
    def zoom(self) -> float:
        """How many points of the screen one of the picture is wide."""
        return self._fitting() if self._zoom is None else self._zoom

    @property
    def fits(self) -> bool:
        """Whether the whole picture is seen."""
        return self._zoom is None

    def show_picture(self, jpeg: bytes | None, words: str) -> None:
        """Show a picture, fitted to the window; without one the words alone."""
        self._picture = QPixmap()
        if jpeg is not None:
            self._picture.loadFromData(jpeg, "JPEG")
        self._zoom = None
        self.setAccessibleName(words)
        self._draw()

    def nearer(self, steps: int = 1) -> None:
        """Zoom in by so many steps, or out if it is negative."""
        least = min(self._fitting(), 1.0)
        wanted = self.zoom * _STEP**steps
        bars = self.horizontalScrollBar(), self.verticalScrollBar()
        middle = [_middle(bar) for bar in bars]
        self._zoom = None if wanted <= least * 1.001 else min(wanted, _NEAREST)
        self._draw()
        for bar, share in zip(bars, middle, strict=True):
            bar.setValue(round(share * (bar.maximum() + bar.pageStep()) - bar.pageStep() / 2))

    def fit(self) -> None:
        """Show all of it."""
        self._zoom = None
        self._draw()

    def as_it_is(self) -> None:
        """Show one point of it as one of the screen."""
        self._zoom = 1.0
        self._draw()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Zoom, move about, go to the next."""
        key = event.key()
        if key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.nearer()
        elif key == Qt.Key.Key_Minus:
            self.nearer(-1)
        elif key == Qt.Key.Key_0:
            self.fit()
        elif key == Qt.Key.Key_1:
            self.as_it_is()
        elif key in (Qt.Key.Key_PageDown, Qt.Key.Key_PageUp):
            self.other_wanted.emit(1 if key == Qt.Key.Key_PageDown else -1)
        elif not self._move(key):
            super().keyPressEvent(event)

    def _move(self, key: int) -> bool:
        sideways = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(key))
        down = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(key))
        if sideways is not None:
            bar = self.horizontalScrollBar()
            if bar.maximum() > 0:
                bar.setValue(bar.value() + sideways * _PAN_PX)
            else:
                self.other_wanted.emit(sideways)
        elif down is not None:
            bar = self.verticalScrollBar()
            bar.setValue(bar.value() + down * _PAN_PX)
        return sideways is not None or down is not None

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom with Ctrl and the wheel; without, scroll."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.nearer(1 if event.angleDelta().y() >= 0 else -1)
            event.accept()
        else:
            super().wheelEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the picture."""
        self._held = event.position().toPoint()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move it about."""
        if self._held is None:
            return
        now = event.position().toPoint()
        moved, self._held = now - self._held, now
        for bar, by in (
            (self.horizontalScrollBar(), moved.x()),
            (self.verticalScrollBar(), moved.y()),
        ):
            bar.setValue(bar.value() - by)

    def mouseReleaseEvent(self, _event: QMouseEvent) -> None:
        """Let go of it."""
        self._held = None

    def mouseDoubleClickEvent(self, _event: QMouseEvent) -> None:
        """Change between all of it and as it is."""
        if self.fits:
            self.as_it_is()
        else:
            self.fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit it again."""
        super().resizeEvent(event)
        if self.fits:
            self._draw()

    def changeEvent(self, event: QEvent) -> None:
        """Fit it again on another screen."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self._draw()

    def _fitting(self) -> float:
        if self._picture.isNull():
            return 1.0
        room, ratio = self.maximumViewportSize(), self.devicePixelRatioF()
        return min(
            room.width() * ratio / self._picture.width(),
            room.height() * ratio / self._picture.height(),
            1.0,
        )

    def _draw(self) -> None:
        """Have the picture painted at its zoom, or the words that stand for it."""
        self._canvas.show_picture(self._picture, self.zoom, self.accessibleName())
        ratio, zoom = self.devicePixelRatioF(), self.zoom
        size = QSizeF(self._picture.size()) * (zoom / ratio)
        self._canvas.setMinimumSize(QSize(0, 0) if self.fits else size.toSize())
        self.zoomed.emit()


def _middle(bar: QScrollBar) -> float:
    """Return which share of all lies before the middle of what is seen."""
    return (bar.value() + bar.pageStep() / 2) / max(1, bar.maximum() + bar.pageStep())


class _Canvas(QWidget):
    """Paints what is in sight of the picture: near up, all of it would take much memory."""

    def __init__(self) -> None:
        super().__init__()
        self._picture = self._drawn = QPixmap()
        self._zoom = 1.0
        self._words = ""

    def show_picture(self, picture: QPixmap, zoom: float, words: str) -> None:
        """Show a picture, or words where there is none."""
        self._picture, self._zoom, self._words = picture, zoom, words
        size = (QSizeF(picture.size()) * zoom).toSize().expandedTo(QSize(1, 1))
        smooth = Qt.TransformationMode.SmoothTransformation
        is_smaller = zoom < 1 and not picture.isNull()
        self._drawn = (
            picture.scaled(size, Qt.AspectRatioMode.IgnoreAspectRatio, smooth)
            if is_smaller
            else picture
        )
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint it in the middle."""
        painter = QPainter(self)
        if self._picture.isNull():
            how = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(self.rect(), how, self._words)
        else:
            size = QSizeF(self._picture.size()) * (self._zoom / self.devicePixelRatioF())
            place = QRectF(QPointF(0, 0), size)
            place.moveCenter(QRectF(self.rect()).center())
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, self._zoom > 1)
            painter.drawPixmap(place, self._drawn, QRectF(self._drawn.rect()))
        painter.end()
