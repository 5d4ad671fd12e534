"""What is taken for a picture, by bytes put together from the standard; a screen's test decodes."""

from __future__ import annotations

import pytest

from core.store.jpeg import NoPictureError, size_of_jpeg
from tests.jpegs import BEGIN, END, EXIF, JFIF, ONE_CODE, frame, jpeg, scan, segment

TABLES = segment(0xDB, bytes([0, *[1] * 64])) + segment(0xC4, bytes([0]) + ONE_CODE)


def test_width_and_height_are_those_of_the_frame() -> None:
    assert size_of_jpeg(jpeg(640, 48), 1600, 10_000) == (640, 48)
    assert size_of_jpeg(jpeg(48, 640), 640, 10_000) == (48, 640)


@pytest.mark.parametrize(
    ("what", "content"),
    [
        ("nothing", b""),
        ("a text", b"<svg xmlns='http://www.w3.org/2000/svg'/>"),
        ("a PNG", b"\x89PNG\r\n\x1a\n" + bytes(200)),
        ("only its first bytes", BEGIN),
        ("cut short in the scan", jpeg()[:-10]),
        ("cut short in the head", jpeg()[:40]),
        ("something behind the end", jpeg() + b"x"),
        ("a second picture behind the end", jpeg() + jpeg()),
        ("a segment with a place", jpeg(extra=EXIF)),
        ("a comment", jpeg(extra=segment(0xFE, b"hello"))),
        ("a profile", jpeg(extra=segment(0xE2, b"ICC_PROFILE"))),
        ("a segment that is longer than the file", BEGIN + b"\xff\xe0\xff\xff" + bytes(20)),
        ("a segment without a length", BEGIN + b"\xff\xe0\x00\x00" + bytes(20)),
        ("no frame", BEGIN + JFIF + TABLES + scan(8, 8) + END),
        ("a progressive one", BEGIN + JFIF + TABLES + frame(8, 8, 0xC2) + scan(8, 8) + END),
        ("two frames", BEGIN + TABLES + frame(8, 8) + frame(99, 99) + scan(8, 8) + END),
        ("two scans", jpeg()[:-2] + scan(64, 48) + END),
        ("a frame between scan and end", jpeg()[:-2] + frame(9000, 9000) + END),
        ("twelve bits", BEGIN + JFIF + TABLES + frame(8, 8, 0xC1, depth=12) + scan(8, 8) + END),
        ("no width", jpeg(0, 8)),
        ("a height that is told later", jpeg(8, 0)),
        ("too wide", jpeg(1608, 8)),
        ("too high", jpeg(8, 1608)),
        ("too many bytes", jpeg(1600, 1600)),
    ],
)
def test_anything_else_is_none(what: str, content: bytes) -> None:
    with pytest.raises(NoPictureError):
        size_of_jpeg(content, 1600, 9_000)
