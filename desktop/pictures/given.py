"""Pictures that lie on the clipboard or are dragged, as they can be read in a thread."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from PySide6.QtCore import QBuffer, QIODeviceBase, QMimeData
from PySide6.QtGui import QImage

from desktop.pictures.reading import ENDINGS
from desktop.pictures.taker import Given
from desktop.widgets.language import tr

_RAW: Final = ("image/jpeg", "image/png", "image/webp", "image/bmp", "image/tiff", "image/gif")
"""Kinds whose bytes are taken as they are, the first there is."""


def is_picture_file(path: Path) -> bool:
    """Whether a file has the name of a picture."""
    return path.suffix.lower() in ENDINGS


def given_by(data: QMimeData | None) -> list[Given]:
    """Return the pictures in what was copied: files, or one picture itself."""
    if data is None:
        return []
    if data.hasUrls():
        files = [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]
        return [path for path in files if is_picture_file(path)]
    name = tr("pictures.page.pasted")
    for kind in _RAW:
        if data.hasFormat(kind):
            return [(name, bytes(data.data(kind).data()))]
    image = data.imageData() if data.hasImage() else None
    return [(name, _png(image))] if isinstance(image, QImage) and not image.isNull() else []


def _png(image: QImage) -> bytes:
    """Return a picture that another program hands over as such, quickly packed."""
    into = QBuffer()
    into.open(QIODeviceBase.OpenModeFlag.WriteOnly)
    image.save(into, "PNG", 100)  # type: ignore[call-overload]  # the stubs want bytes, Qt takes both
    return bytes(into.data().data())
