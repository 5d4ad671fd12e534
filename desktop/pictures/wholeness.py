"""Whether a picture file ends before its picture does, as after a copy that broke off.

Some decoders fill in grey for what is missing and say nothing. JPEG: ITU-T T.81, annex B; PNG:
ISO/IEC 15948, section 5.3; GIF: GIF89a, sections 15 to 27; WebP: the length in its RIFF header;
TIFF: TIFF 6.0, section 2; BMP: the headers of Windows. TIFF strips that are missing are refused by
their decoder.
"""

from __future__ import annotations

import io
import re
import struct
from typing import Final, Literal

from core.store import WorkStoppedError
from desktop.tasks.background_task import GoOn

_TIFF_BYTES: Final = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8}
"""How long a value of each kind is in a TIFF."""

_PIECE: Final = 1_000_000
_MOST_PARTS: Final = 100_000
"""Parts of a file that are looked at; a picture has some hundreds."""
_END: Final = 0xD9
_ALONE: Final = 0x01
"""A marker without a length."""
_MARKER: Final = re.compile(rb"\xff[^\x00\xff\xd0-\xd7]")
"""Any marker but those that may stand inside a scan."""


def ends_early(stream: io.BufferedIOBase, size: int, kind: str, go_on: GoOn) -> bool:
    """Whether a file of so many bytes lacks some of its picture.

    False too where it is faulty in another way, which its decoder finds. WorkStoppedError once
    ``go_on`` says no.
    """
    if kind == "jpeg":
        return _jpeg_ends_early(stream, go_on)
    if kind == "gif":
        return _gif_ends_early(stream, go_on)
    if kind == "png":
        return _png_ends_early(stream, size)
    if kind == "webp":
        return size < 8 + int.from_bytes(_bytes_at(stream, 4, 4), "little")
    if kind == "tiff":
        return _tiff_ends_early(stream, size)
    return kind == "bmp" and _bmp_ends_early(stream, size)


def _jpeg_ends_early(stream: io.BufferedIOBase, go_on: GoOn) -> bool:
    at = 2
    for _ in range(_MOST_PARTS):
        found = _next_marker(stream, at, go_on)
        if found is None:
            return True
        at = found
        head = _bytes_at(stream, at, 4)
        if head[1] == _END:
            return False
        length = int.from_bytes(head[2:])
        if length < 2 and head[1] != _ALONE:
            return True
        at += 2 if head[1] == _ALONE else 2 + length
    return False


def _next_marker(stream: io.BufferedIOBase, at: int, go_on: GoOn) -> int | None:
    """Return where the next marker is, behind a scan if one is here; None if the file ends."""
    while True:
        if not go_on():
            raise WorkStoppedError
        piece = _bytes_at(stream, at, _PIECE)
        found = _MARKER.search(piece)
        if found is not None:
            return at + found.start()
        if len(piece) < _PIECE:
            return None
        at += len(piece) - 1  # a marker may lie across


def _png_ends_early(stream: io.BufferedIOBase, size: int) -> bool:
    at = 8
    for _ in range(_MOST_PARTS):
        head = _bytes_at(stream, at, 8)
        if len(head) < 8:
            return True
        at += 12 + int.from_bytes(head[:4])
        if head[4:] == b"IEND" or not head[4:].isalpha():
            return False
        if at > size:
            return True
    return False


def _bmp_ends_early(stream: io.BufferedIOBase, size: int) -> bool:
    head = _bytes_at(stream, 0, 34)
    if len(head) < 34:
        return True
    told, begin, header, width, height = struct.unpack("<2xI4xIIii", head[:26])
    bits, packed = struct.unpack("<HI", head[28:34])
    if header < 40:
        return False
    if packed in (1, 2):  # run lengths: only the file's own word says how much there is
        return bool(size < told)
    return bool(size < begin + (abs(width) * bits + 31) // 32 * 4 * abs(height))


def _tiff_ends_early(stream: io.BufferedIOBase, size: int) -> bool:
    """Whether the directory of the first picture, or a value that it names, lies behind the end."""
    begin = _bytes_at(stream, 0, 8)
    order: Literal["little", "big"] = "little" if begin[:2] == b"II" else "big"
    at = int.from_bytes(begin[4:], order)
    count = int.from_bytes(_bytes_at(stream, at, 2), order)
    entries = stream.read(12 * count)
    if at + 6 + 12 * count > size:
        return True
    for one in range(0, len(entries), 12):
        kind = int.from_bytes(entries[one + 2 : one + 4], order)
        values = int.from_bytes(entries[one + 4 : one + 8], order)
        place = int.from_bytes(entries[one + 8 : one + 12], order)
        length = _TIFF_BYTES.get(kind, 0) * values
        if length > 4 and place + length > size:
            return True
    return False


def _gif_ends_early(stream: io.BufferedIOBase, go_on: GoOn) -> bool:
    head = _bytes_at(stream, 0, 13)
    if len(head) < 13:
        return True
    at = 13 + _colours(head[10])
    for _ in range(_MOST_PARTS):
        kind = _bytes_at(stream, at, 10)
        if not kind:
            return True
        if kind[0] == 0x3B:
            return False
        if kind[0] == 0x21:
            at += 2
        elif kind[0] == 0x2C and len(kind) == 10:
            at += 11 + _colours(kind[9])
        else:
            return len(kind) < 10
        end = _end_of_blocks(stream, at, go_on)
        if end is None:
            return True
        at = end
    return False


def _colours(flags: int) -> int:
    """Return how long the table of colours is that these flags tell of."""
    return 3 << ((flags & 7) + 1) if flags & 0x80 else 0


def _end_of_blocks(stream: io.BufferedIOBase, at: int, go_on: GoOn) -> int | None:
    """Return what comes after a row of blocks; None if the file ends before that."""
    stream.seek(at)
    while True:
        if not go_on():
            raise WorkStoppedError
        length = stream.read(1)
        if not length:
            return None
        if length == b"\x00":
            return stream.tell()
        stream.seek(length[0], io.SEEK_CUR)


def _bytes_at(stream: io.BufferedIOBase, at: int, most: int) -> bytes:
    stream.seek(at)
    return stream.read(most)
