"""Pictures: a page to send in a message, and pictures that are read to stand on a page."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, Qt
from PySide6.QtGui import QImage, QImageReader, QImageWriter, QPainter

from core.paper.sheet import Sheet
from desktop.paper.painter import paint_sheet
from desktop.paper.pdf import write_content

_POINTS_PER_MM: Final = 8.0
"""A page of A4 is 1680 points wide: legible on a telephone, and some 300 kB."""
_LARGEST_FILE: Final = 30_000_000
_MOST_MEMORY_MB: Final = 128


def write_picture(path: Path, sheet: Sheet) -> None:
    """Write a page into a file as a PNG picture.

    Raises PaperProblem if the file can't be written: what was there before is there still.
    """
    write_content(path, png_of(picture_of(sheet)))


def picture_of(sheet: Sheet) -> QImage:
    """Return a page as a picture, white where nothing is drawn."""
    size = sheet.size
    wide, high = (round(mm * _POINTS_PER_MM) for mm in (size.width_mm, size.height_mm))
    picture = QImage(wide, high, QImage.Format.Format_RGB32)
    picture.fill(Qt.GlobalColor.white)
    painter = QPainter(picture)
    try:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint_sheet(painter, sheet, _POINTS_PER_MM)
    finally:
        painter.end()
    return picture


def read_picture(path: Path, most_wide: int, most_high: int) -> QImage | None:
    """Return a picture of at most so many points; None for a file that holds none.

    Its size is looked at before it is decoded: a small file can hold a picture that fills memory.
    """
    try:
        if not path.is_file() or path.stat().st_size > _LARGEST_FILE:
            return None
    except (OSError, ValueError):
        return None
    QImageReader.setAllocationLimit(_MOST_MEMORY_MB)
    reader = QImageReader(str(path))
    reader.setDecideFormatFromContent(True)
    reader.setAutoTransform(True)
    picture = reader.read()
    if picture.isNull():
        return None
    if picture.width() > most_wide or picture.height() > most_high:
        mode = Qt.TransformationMode.SmoothTransformation
        keep = Qt.AspectRatioMode.KeepAspectRatio
        picture = picture.scaled(most_wide, most_high, keep, mode)
    return picture


def png_of(picture: QImage) -> bytes:
    """Return a picture as the content of a PNG file."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"png")).write(picture)
    return bytes(buffer.data().data())
