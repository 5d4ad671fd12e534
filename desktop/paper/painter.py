"""Paints sheets of paper, and asks the font how wide words are."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QPointF
from PySide6.QtGui import QFont, QFontDatabase, QFontMetricsF, QPainter

from core.paper.sheet import Sheet
from desktop.charts.mark_painter import MarkPainter, MarkStyle, sized

_FONT_UNITS_PER_MM: Final = 100
"""Letters are measured at 100 pixels to the mm, the finest a whole pixel size allows."""


def paint_sheet(painter: QPainter, sheet: Sheet, units_per_mm: float, factor: float = 1.0) -> None:
    """Paint a sheet ``factor`` times as large as life, about the middle of the paper.

    The painter's own scale must be one unit to ``1 / units_per_mm`` mm, its origin the upper left
    corner of the paper.
    """
    size, units = sheet.size, units_per_mm * factor
    # The middle of the paper stays where it is, whatever the factor.
    left = size.width_mm / 2.0 * (units_per_mm - units)
    top = size.height_mm / 2.0 * (units_per_mm - units)
    style = MarkStyle(_paper_font())
    MarkPainter(painter, QPointF(left, top), size.height_mm, units, style).paint(sheet.marks)


class FontMeasure:
    """Says how wide text is in the font the sheets are set in; remembers each size."""

    def __init__(self) -> None:
        self._metrics: dict[tuple[float, bool], QFontMetricsF] = {}

    def __call__(self, text: str, size_mm: float, *, bold: bool = False) -> float:
        """Return the width in mm."""
        metrics = self._metrics.get((size_mm, bold))
        if metrics is None:
            font = sized(_paper_font(), size_mm, bold=bold, units_per_mm=_FONT_UNITS_PER_MM)
            metrics = self._metrics[size_mm, bold] = QFontMetricsF(font)
        return float(metrics.horizontalAdvance(text)) / _FONT_UNITS_PER_MM


def _paper_font() -> QFont:
    font = QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont)
    font.setStyleStrategy(QFont.StyleStrategy.PreferOutline)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return font
