"""Check pictures before they are kept: a plain, small JPEG without metadata.

The check parses the bytes without decoding: ITU-T T.81, annex B. So a picture from another bench
takes no more time or memory to show than one of our own.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from typing import Final, Self

LONGEST_EDGE: Final = 1600
"""Pixels of the longer side of a picture."""
LONGEST_SMALL_EDGE: Final = 256
"""Pixels of the longer side of a thumbnail, for lists."""
JPEG: Final = "image/jpeg"
MOST_BYTES: Final = 600_000
MOST_SMALL_BYTES: Final = 40_000

_BEGIN: Final = b"\xff\xd8"
_END: Final = b"\xff\xd9"
_FRAME: Final = (0xC0, 0xC1)
"""Frame types with one scan. Progressive ones could hold thousands of full-size scans."""
_TABLES: Final = (0xC4, 0xDB, 0xDD, 0xE0)
"""Allowed markers: tables and the JFIF header. EXIF, profiles and comments are not."""
_SCAN: Final = 0xDA
_MARKER: Final = re.compile(rb"\xff[^\x00\xd0-\xd7]")
"""Any marker except those allowed inside a scan."""


class NoPictureError(ValueError):
    """Bytes that are not a picture a library keeps."""


@dataclass(frozen=True, slots=True)
class Content:
    """The content of a picture: a JPEG and a thumbnail."""

    image: bytes
    small: bytes
    hash: str
    width: int
    height: int

    @classmethod
    def of(cls, image: bytes, small: bytes) -> Self:
        """Return the content of two JPEGs; raises NoPictureError if they can't be kept."""
        width, height = size_of_jpeg(image, LONGEST_EDGE, MOST_BYTES)
        size_of_jpeg(small, LONGEST_SMALL_EDGE, MOST_SMALL_BYTES)
        return cls(image, small, hashlib.sha256(image).hexdigest(), width, height)

    def row(self) -> tuple[str | int | bytes, ...]:
        """Return the table row, in the order of its columns."""
        size = len(self.image) + len(self.small)
        return self.hash, JPEG, self.width, self.height, size, self.small, self.image


def size_of_jpeg(content: bytes, longest: int, most: int) -> tuple[int, int]:
    """Return width and height in pixels of a JPEG within these limits of bytes and pixels a side.

    Raises NoPictureError unless it is plain: one frame with one scan, grey or colour, and nothing
    beside the picture itself.
    """
    if not content.startswith(_BEGIN) or len(content) > most:
        raise NoPictureError
    size, at = _head(content)
    after = _MARKER.search(content, at)
    if after is None or content[after.start() :] != _END:
        raise NoPictureError
    if min(size) < 1 or max(size) > longest:
        raise NoPictureError
    return size


def _head(content: bytes) -> tuple[tuple[int, int], int]:
    """Return the size in the frame header, and where the scan begins."""
    at, size = len(_BEGIN), None
    while True:
        if len(content) < at + 4 or content[at] != 0xFF:
            raise NoPictureError
        kind, length = content[at + 1], int.from_bytes(content[at + 2 : at + 4])
        inside = content[at + 4 : at + 2 + length]
        at += 2 + length
        if length < 2 or at > len(content):
            raise NoPictureError
        if kind in _FRAME and size is None:
            size = _size_in(inside)
        elif kind == _SCAN and size is not None:
            return size, at
        elif kind not in _TABLES:
            raise NoPictureError


def _size_in(frame: bytes) -> tuple[int, int]:
    """Return width and height from a frame header with eight bits a sample, grey or colour."""
    if len(frame) < 6 or frame[0] != 8 or frame[5] not in (1, 3):
        raise NoPictureError
    return int.from_bytes(frame[3:5]), int.from_bytes(frame[1:3])
