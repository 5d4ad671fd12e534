"""Files of every kind that may be given for a picture: what becomes of them, and what is told.

The files are put together from the standards of their formats, or written by Qt; what is kept is
read back by Qt's own reader.
"""

from __future__ import annotations

import os
import random
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QBuffer, QByteArray, QIODeviceBase, Qt
from PySide6.QtGui import QColor, QImage, QImageWriter, QPainter

from core.language import Numbers
from core.store import WorkStoppedError
from core.store.jpeg import Content
from desktop.pictures.reading import LARGEST_BYTES, PictureProblem, read_bytes, read_file
from tests.jpegs import BEGIN, frame, jpeg, segment

DECODERS_SAY = pytest.mark.qt_log_ignore(
    "JPEG", "TIFF", "directory", "libpng", "PNG", "png", extend=True
)
"""What decoders say of broken files goes to the log; a person is told in our own words."""

KINDS = ("jpeg", "png", "webp", "bmp", "tiff")


def image(width: int = 60, height: int = 40, *, alpha: bool = False) -> QImage:
    """Red on the left and blue on the right; with ``alpha`` the right lets everything through."""
    made = QImage(width, height, QImage.Format.Format_ARGB32)
    made.fill(QColor("red"))
    painter = QPainter(made)
    painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
    right = Qt.GlobalColor.transparent if alpha else Qt.GlobalColor.blue
    painter.fillRect(width // 2, 0, width - width // 2, height, right)
    painter.end()
    return made


def encoded(picture: QImage, kind: str = "jpeg", quality: int = 90) -> bytes:
    into = QBuffer()
    into.open(QIODeviceBase.OpenModeFlag.WriteOnly)
    writer = QImageWriter(into, QByteArray(kind.encode()))
    writer.setQuality(quality)
    assert writer.write(picture), writer.errorString()
    return bytes(into.data().data())


def seen(content: bytes) -> QImage:
    read = QImage.fromData(content)
    assert not read.isNull()
    return read


def looks_like(picture: QImage, x: int, y: int, colour: str) -> bool:
    there, wanted = QColor(picture.pixel(x, y)), QColor(colour)
    return all(
        abs(one - other) < 60
        for one, other in zip(there.getRgb()[:3], wanted.getRgb()[:3], strict=True)
    )


def why(content: bytes, name: str = "given.jpg") -> str:
    with pytest.raises(PictureProblem) as caught:
        read_bytes(content, name)
    sentence = Numbers().text(caught.value.what)
    assert name in sentence
    return sentence


def with_exif(content: bytes, orientation: int, place: bytes) -> bytes:
    """Put EXIF into a JPEG: one entry, 0x0112, and words behind it (CIPA DC-008, 4.6)."""
    entry = struct.pack(">HHIHH", 0x0112, 3, 1, orientation, 0)
    tiff = b"MM\x00*" + struct.pack(">I", 8) + struct.pack(">H", 1) + entry + bytes(4) + place
    return BEGIN + segment(0xE1, b"Exif\x00\x00" + tiff) + content[2:]


def png(width: int, height: int, data: bytes) -> bytes:
    """Return a PNG (ISO 15948) that says it has this size, with these bytes as its content."""

    def chunk(kind: bytes, inside: bytes) -> bytes:
        check = zlib.crc32(kind + inside)
        return struct.pack(">I", len(inside)) + kind + inside + struct.pack(">I", check)

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    parts = chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts


def gif(frames: int) -> bytes:
    """Return a GIF89a of one black dot, so many times over."""
    dot = b"\x2c" + struct.pack("<HHHHB", 0, 0, 1, 1, 0) + b"\x02\x02\x44\x01\x00"
    head = b"GIF89a" + struct.pack("<HHBBB", 1, 1, 0x80, 0, 0) + bytes(6)
    loop = b"\x21\xff\x0bNETSCAPE2.0\x03\x01\x00\x00\x00"
    control = b"\x21\xf9\x04\x00\x0a\x00\x00\x00"
    return head + loop + (control + dot) * frames + b"\x3b"


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_of_every_kind_becomes_a_small_plain_jpeg(kind: str) -> None:
    content = read_bytes(encoded(image(), kind), f"a.{kind}")
    assert (content.width, content.height) == (60, 40)
    kept = seen(content.image)
    assert looks_like(kept, 10, 20, "red")
    assert looks_like(kept, 50, 20, "blue")
    assert seen(content.small).size() == kept.size()


def test_a_large_one_is_scaled_and_stays_within_its_bytes() -> None:
    noise = QImage.fromData(
        png(3000, 2000, zlib.compress(b"".join(b"\0" + os.urandom(9000) for _ in range(2000)), 1))
    )
    assert not noise.isNull()
    content = read_bytes(encoded(noise), "noise.jpg")
    assert max(content.width, content.height) <= 1600
    assert abs(content.width / content.height - 1.5) < 0.01
    assert len(content.image) <= 600_000
    assert len(content.small) <= 40_000
    assert max(seen(content.small).width(), seen(content.small).height()) <= 256


def test_what_is_transparent_lies_on_white() -> None:
    kept = seen(read_bytes(encoded(image(alpha=True), "png"), "a.png").image)
    assert looks_like(kept, 50, 20, "white")
    assert looks_like(kept, 10, 20, "red")


def test_a_picture_is_turned_upright_and_says_nothing_of_its_place() -> None:
    place = b"Elmstead 51.5 N 0.1 W"
    given = with_exif(encoded(image()), 6, place)  # 6: its left side is the top (DC-008, 4.6.4)
    content = read_bytes(given, "phone.jpg")
    assert (content.width, content.height) == (40, 60)
    kept = seen(content.image)
    assert looks_like(kept, 20, 10, "red")
    assert looks_like(kept, 20, 50, "blue")
    for made in (content.image, content.small):
        assert place not in made
        assert b"Exif" not in made


def test_colours_of_another_space_are_turned_into_common_ones() -> None:
    from PySide6.QtGui import QColorSpace

    wide = image()
    wide.setColorSpace(QColorSpace(QColorSpace.NamedColorSpace.DisplayP3))
    content = read_bytes(encoded(wide), "wide.jpg")
    assert b"ICC_PROFILE" not in content.image


def test_what_a_library_checks_by_hand_is_what_qt_decodes() -> None:
    given = jpeg(640, 480)
    assert (seen(given).width(), seen(given).height()) == (640, 480)
    assert Content.of(given, jpeg(64, 48)).width == 640


@DECODERS_SAY
@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "can't be read"),
        (b"Dear sir, the belt squeaks.", "can't be read"),
        (
            b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'/>",
            "can't be read",
        ),
        (
            b"<?xml version='1.0'?><svg><image href='file:///etc/passwd'/></svg>",
            "can't be read",
        ),
        (b"%PDF-1.4 and so on", "can't be read"),
        (b"\x00\x00\x00\x18ftypheic" + bytes(40), "many phones"),
        (encoded(image(), "jpeg")[:30], "ends too early"),
        (encoded(image(), "png")[:60], "ends too early"),
        (encoded(image(), "webp")[:40], "ends too early"),
        (b"\x89PNG\r\n\x1a\n" + bytes(50), "cut short"),
        (b"\xff\xd8\xff\xe0" + bytes(50), "ends too early"),
        (b"II*\x00" + b"\xff" * 50, "ends too early"),
        (b"BM" + bytes(60), "cut short"),
        (b"GIF89a" + bytes(20), "cut short"),
        (gif(2), "moving"),
        (png(30_000, 30_000, zlib.compress(bytes(1000))), "30000 x 30000 pixels"),
        (png(2**31 - 1, 1, zlib.compress(bytes(1000))), "cut short"),
        (png(7000, 7000, zlib.compress(bytes(9))), "cut short"),
        (jpeg().replace(frame(64, 48), frame(65_000, 65_000)), "65000 x 65000"),
        (jpeg()[:-2] + b"\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00" * 200 + b"\xff\xd9", "damaged"),
    ],
)
def test_what_is_no_picture_gets_one_sentence(content: bytes, words: str) -> None:
    assert words in why(content)


def speckled(width: int, height: int, seed: int) -> QImage:
    """Return a picture without two equal places, so that a part that is missing shows."""
    noise = random.Random(seed).randbytes(4 * width * height)
    made = QImage(noise, width, height, 4 * width, QImage.Format.Format_RGB32)
    return made.copy()  # what was given to Qt is not kept alive by it


def in_scans(picture: QImage) -> bytes:
    """Return a progressive JPEG."""
    into = QBuffer()
    into.open(QIODeviceBase.OpenModeFlag.WriteOnly)
    writer = QImageWriter(into, QByteArray(b"jpeg"))
    writer.setProgressiveScanWrite(True)
    assert writer.write(picture)
    return bytes(into.data().data())


def gif_of_lines() -> bytes:
    """Return a GIF of 200 rows, one code a pixel, in several blocks (GIF89a, appendix F)."""
    rows = bytes(range(64)) * 200
    clear = "0000001"  # often enough for the codes to stay seven bits long
    codes = (f"{one:07b}"[::-1] + (clear if at % 40 == 39 else "") for at, one in enumerate(rows))
    bits = clear + "".join(codes) + "1000001"
    packed = bytes(int(bits[at : at + 8][::-1], 2) for at in range(0, len(bits), 8))
    blocks = b"".join(
        bytes([len(packed[at : at + 255])]) + packed[at : at + 255]
        for at in range(0, len(packed), 255)
    )
    colours = b"".join(bytes([one * 4, 255 - one * 4, 90]) for one in range(64))
    head = b"GIF89a" + struct.pack("<HHBBB", 64, 200, 0x85, 0, 0) + colours
    return head + b"," + struct.pack("<HHHHB", 0, 0, 64, 200, 0) + b"\x06" + blocks + b"\x00;"


@DECODERS_SAY
@pytest.mark.parametrize("kind", [*KINDS, "progressive", "gif", "large jpeg", "large png"])
def test_a_file_that_was_cut_anywhere_is_refused_never_taken_half_grey(kind: str) -> None:
    made: dict[str, Callable[[], bytes]] = {
        "progressive": lambda: in_scans(speckled(90, 70, 1)),
        "gif": gif_of_lines,
        "large jpeg": lambda: encoded(speckled(1800, 300, 2), "jpeg"),
        "large png": lambda: encoded(speckled(1800, 300, 3), "png"),
    }
    whole = made.get(kind, lambda: encoded(speckled(90, 70, 4), kind))()
    shown = read_bytes(whole, "whole").hash
    chance = random.Random(len(whole))
    wrong = []
    for at in (len(whole) - 9, *(chance.randrange(16, len(whole) - 9) for _ in range(30))):
        for tail in (b"", bytes(len(whole) - at)):
            if tail and kind in CHECK_NOTHING:
                continue
            try:
                is_whole = read_bytes(whole[:at] + tail, "cut").hash == shown
            except PictureProblem as problem:
                sentence = Numbers().text(problem.what)
                assert "ends too early" in sentence or "cut short" in sentence
            else:
                if not is_whole:
                    wrong.append((at, len(tail)))
    assert wrong == []


CHECK_NOTHING = ("bmp", "webp", "gif", "tiff")
"""Of these a file of whole length whose end holds zeros can't be told from a dark picture."""


def test_what_lies_behind_a_whole_picture_does_no_harm() -> None:
    whole = encoded(speckled(60, 40, 5))
    read = read_bytes(whole, "whole").hash
    assert read_bytes(whole + b"\xff\xd8\xff\xe0 a second picture, cut", "two").hash == read
    filled = whole[:2] + b"\xff" * 7 + whole[2:]
    assert read_bytes(filled, "fill bytes before a marker, T.81 B.1.1.2").hash == read


def test_a_still_gif_is_a_picture() -> None:
    assert read_bytes(gif(1), "dot.gif").width == 1


def test_a_name_is_told_as_it_stands_and_not_at_any_length() -> None:
    with pytest.raises(PictureProblem) as caught:
        read_bytes(b"", "<b>" + "x" * 300 + "\u202e.jpg")
    assert "<b>xxx" in Numbers().text(caught.value.what)
    assert len(Numbers().text(caught.value.what)) < 250


def test_a_file_of_200_megabytes_is_not_even_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.jpg"
    with path.open("wb") as stream:
        stream.write(encoded(image()))
        stream.truncate(200_000_000)
    told: list[int] = []
    with pytest.raises(PictureProblem, match="larger than 100 MB"):
        read_file(path, told=told.append)
    assert told == []
    assert LARGEST_BYTES == 100_000_000


def test_what_is_no_file_gets_its_sentence(tmp_path: Path) -> None:
    (tmp_path / "folder.jpg").mkdir()
    for name in ("folder.jpg", "gone.jpg"):
        with pytest.raises(PictureProblem, match="is not a file"):
            read_file(tmp_path / name)


@DECODERS_SAY
def test_reading_says_how_far_it_is_and_ends_when_nobody_wants_it(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    content = encoded(image(2000, 1500), quality=100)
    path.write_bytes(content)
    told: list[int] = []
    read_file(path, told=told.append)
    assert told == sorted(told)
    assert len(told) > 3
    assert told[-1] == len(content)
    for most in (0, 1, 3):
        asked = iter([True] * most)
        with pytest.raises(WorkStoppedError):
            read_file(path, go_on=lambda asked=asked: next(asked, False))
