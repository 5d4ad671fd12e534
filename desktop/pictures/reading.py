"""Reading a picture of any size and kind into one that a library keeps.

Whatever the file holds, it is looked at before anything is decoded: what it says it is, how large
it would be, how often a decoder would go over it. It is decoded scaled down, in a thread, through a
device that says how far it is and ends when it is asked to. What is kept is encoded anew, so that
nothing but the picture itself comes along: no place, no camera, no second picture.
"""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QIODeviceBase, QSize, Qt
from PySide6.QtGui import QColor, QColorSpace, QImage, QImageReader, QImageWriter, QPainter

from core.language import Message, Name, message
from core.store import LibraryProblem, ProblemKind, WorkStoppedError
from core.store.document_text import shown
from core.store.jpeg import (
    LONGEST_EDGE,
    LONGEST_SMALL_EDGE,
    MOST_BYTES,
    MOST_SMALL_BYTES,
    Content,
    NoPictureError,
)
from desktop.pictures.wholeness import ends_early
from desktop.tasks.background_task import GoOn, Told

LARGEST_BYTES: Final = 100_000_000
MOST_PIXELS: Final = 50_000_000
"""Of a picture that comes in: 200 MB while it is decoded."""
_MOST_MEGABYTES: Final = 256
"""What Qt may take for one picture; a file that says less than it holds goes no further."""
_MOST_SCANS: Final = 100
"""A camera's progressive JPEG has some ten; each is gone over in full."""
_PIECE: Final = 1_000_000

_KINDS: Final = (
    (b"\xff\xd8\xff", 0, "jpeg"),
    (b"\x89PNG\r\n\x1a\n", 0, "png"),
    (b"WEBP", 8, "webp"),
    (b"BM", 0, "bmp"),
    (b"GIF8", 0, "gif"),
    (b"II*\x00", 0, "tiff"),
    (b"MM\x00*", 0, "tiff"),
)
"""How the files of each kind begin: at which byte stands what."""
_OF_PHONES: Final = (b"ftyphei", b"ftyphev", b"ftypmif", b"ftypavi")
"""Kinds that many telephones write, and that no program can read everywhere."""
_MAY_MOVE: Final = ("gif", "webp")
KINDS: Final = ("bmp", "gif", "jpe", "jpeg", "jpg", "png", "tif", "tiff", "webp")
"""Endings of files that are offered to be added."""
ENDINGS: Final = frozenset(f".{one}" for one in (*KINDS, "jfif", "heic", "heif", "avif", "svg"))
"""Endings of files that are taken for pictures; some of them are told what they should be."""

_QUALITIES: Final = (85, 75, 65, 50)


class PictureProblem(LibraryProblem):
    """A file that can't be taken for a picture, told to a person."""

    def __init__(self, what: Message) -> None:
        super().__init__(ProblemKind.UNSUITABLE, what, message("pictures.others_are_kept"))


def read_file(path: Path, go_on: GoOn = lambda: True, told: Told = lambda _bytes: None) -> Content:
    """Read a picture from a file; PictureProblem in one sentence, WorkStoppedError if stopped.

    ``told`` is told how many bytes are read.
    """
    name = _name(path.name)
    try:
        if not path.is_file():  # a pipe would be waited for
            raise PictureProblem(message("pictures.no_file", name=name))
        with path.open("rb") as stream:
            size = os.fstat(stream.fileno()).st_size
            return _read(stream, size, name, go_on, told)
    except OSError as error:
        detail = Name(error.strerror or type(error).__name__)
        raise PictureProblem(message("pictures.unreadable", name=name, detail=detail)) from error


def read_bytes(
    content: bytes, name: str, go_on: GoOn = lambda: True, told: Told = lambda _bytes: None
) -> Content:
    """Read a picture from bytes, as :func:`read_file` does from a file."""
    return _read(io.BytesIO(content), len(content), _name(name), go_on, told)


def _name(name: str) -> Name:
    return Name(shown(name, 80))


def _read(stream: io.BufferedIOBase, size: int, name: Name, go_on: GoOn, told: Told) -> Content:
    if size > LARGEST_BYTES:
        most = round(LARGEST_BYTES / 1e6)
        raise PictureProblem(message("pictures.file_too_large", name=name, most=most))
    kind = _kind_of(stream.read(16), name)
    if kind == "jpeg":
        _count_scans(stream, name, go_on)
    if ends_early(stream, size, kind, go_on):
        raise PictureProblem(message("pictures.ends_early", name=name))
    device = _Watched(stream, size, go_on, told)
    image = _decoded(device, kind, name)
    if not go_on():
        raise WorkStoppedError
    return _content(_flat(image), name)


def _kind_of(begin: bytes, name: Name) -> str:
    for sign, at, kind in _KINDS:
        if begin.startswith(sign, at):
            return kind
    if begin.startswith(_OF_PHONES, 4):
        raise PictureProblem(message("pictures.of_a_phone", name=name))
    raise PictureProblem(message("pictures.none", name=name))


def _count_scans(stream: io.BufferedIOBase, name: Name, go_on: GoOn) -> None:
    """Refuse a JPEG that a decoder would go over again and again."""
    stream.seek(0)
    count, last = 0, b""
    while piece := stream.read(_PIECE):
        if not go_on():
            raise WorkStoppedError
        count += (last + piece).count(b"\xff\xda")
        last = piece[-1:]
    if count > _MOST_SCANS:
        raise PictureProblem(message("pictures.broken", name=name))


def _decoded(device: _Watched, kind: str, name: Name) -> QImage:
    """Return the picture upright, no longer than may be kept."""
    QImageReader.setAllocationLimit(_MOST_MEGABYTES)
    reader = QImageReader(device, QByteArray(kind.encode()))
    reader.setAutoDetectImageFormat(False)
    reader.setAutoTransform(True)
    size = reader.size()
    if size.isEmpty():
        device.ask()
        raise PictureProblem(message("pictures.broken", name=name))
    if size.width() * size.height() > MOST_PIXELS:
        raise PictureProblem(
            message(
                "pictures.too_many_pixels",
                name=name,
                width=size.width(),
                height=size.height(),
                most=round(MOST_PIXELS / 1e6),
            )
        )
    if max(size.width(), size.height()) > LONGEST_EDGE:
        edge = QSize(LONGEST_EDGE, LONGEST_EDGE)
        wanted = size.scaled(edge, Qt.AspectRatioMode.KeepAspectRatio)
        reader.setScaledSize(wanted.expandedTo(QSize(1, 1)))
    image = reader.read()
    if image.isNull():
        device.ask()
        raise PictureProblem(message("pictures.broken", name=name))
    if kind in _MAY_MOVE and not reader.read().isNull():
        raise PictureProblem(message("pictures.moves", name=name))
    return image


def _flat(image: QImage) -> QImage:
    """Return the picture in plain colours, on white where it lets something through."""
    if image.colorSpace().isValid():
        image.convertToColorSpace(QColorSpace(QColorSpace.NamedColorSpace.SRgb))
    flat = QImage(image.size(), QImage.Format.Format_RGB32)
    flat.fill(QColor("white"))
    painter = QPainter(flat)
    painter.drawImage(0, 0, image)
    painter.end()
    return flat


def _content(image: QImage, name: Name) -> Content:
    try:
        small = _encoded(_within(image, LONGEST_SMALL_EDGE), MOST_SMALL_BYTES)
        return Content.of(_encoded(image, MOST_BYTES), small)
    except NoPictureError as error:
        raise PictureProblem(message("pictures.broken", name=name)) from error


def _within(image: QImage, edge: int) -> QImage:
    if max(image.width(), image.height()) <= edge:
        return image
    size = image.size().scaled(QSize(edge, edge), Qt.AspectRatioMode.KeepAspectRatio)
    return image.scaled(
        size.expandedTo(QSize(1, 1)),
        Qt.AspectRatioMode.IgnoreAspectRatio,
        Qt.TransformationMode.SmoothTransformation,
    )


def _encoded(image: QImage, most: int) -> bytes:
    """Return a JPEG of at most so many bytes: coarser if need be, at last smaller."""
    while True:
        for quality in _QUALITIES:
            jpeg = _jpeg(image, quality)
            if len(jpeg) <= most:
                return jpeg
        image = _within(image, max(image.width(), image.height()) * 3 // 4)


def _jpeg(image: QImage, quality: int) -> bytes:
    into = QBuffer()
    into.open(QIODeviceBase.OpenModeFlag.WriteOnly)
    writer = QImageWriter(into, QByteArray(b"jpeg"))
    writer.setQuality(quality)
    writer.setOptimizedWrite(True)
    writer.write(image)
    return bytes(into.data().data())


class _Watched(QIODevice):
    """Hands a decoder what it asks for, and nothing any more once nobody wants the picture."""

    def __init__(self, stream: io.BufferedIOBase, size: int, go_on: GoOn, told: Told) -> None:
        super().__init__()
        self._stream, self._size, self._go_on, self._told = stream, size, go_on, told
        mode = QIODeviceBase.OpenModeFlag
        self.open(mode.ReadOnly | mode.Unbuffered)

    def ask(self) -> None:
        """Raise WorkStoppedError if nobody wants it any more."""
        if not self._go_on():
            raise WorkStoppedError

    def size(self) -> int:
        """Return how many bytes there are."""
        return self._size

    def isSequential(self) -> bool:  # noqa: N802 - Qt calls it so
        """Say that any place can be gone to."""
        return False

    def readData(self, most: int) -> object:  # noqa: N802 - the same
        """Return the next bytes; none once nobody wants them."""
        if not self._go_on():
            return b""
        at = self.pos()
        self._stream.seek(at)
        found = self._stream.read(most)
        self._told(min(self._size, at + len(found)))
        return found

    def writeData(self, _data: object, _most: int) -> int:  # noqa: N802 - the same
        """Take nothing."""
        return -1
