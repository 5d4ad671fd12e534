"""JPEGs put together by hand from ITU-T T.81: flat grey, of any size, each with its own bytes."""

from __future__ import annotations

from typing import Final

BEGIN: Final = b"\xff\xd8"
END: Final = b"\xff\xd9"
JFIF: Final = bytes.fromhex("ffe000104a46494600010100000100010000")
"""The header by which the format is known (T.871)."""
EXIF: Final = b"\xff\xe1\x00\x10Exif\x00\x00place!!!"
"""A segment as cameras write them (CIPA DC-008), in which a place could stand."""
ONE_CODE: Final = bytes([1, *[0] * 15, 0])
"""A Huffman table (C.2) of one code, 0, which stands for the value 0."""


def segment(kind: int, content: bytes) -> bytes:
    """Return a marker with its length, which counts itself (B.1.1.4)."""
    return bytes([0xFF, kind]) + (len(content) + 2).to_bytes(2) + content


def frame(width: int, height: int, kind: int = 0xC0, depth: int = 8) -> bytes:
    """Return a frame header (B.2.2) of one component."""
    size = height.to_bytes(2) + width.to_bytes(2)
    return segment(kind, bytes([depth]) + size + bytes([1, 1, 0x11, 0]))


def scan(width: int, height: int) -> bytes:
    """Return the one scan: of every 8 x 8 block no difference and no end but the end (F.1.2)."""
    blocks = -(-width // 8) * -(-height // 8)
    bits = "00" * blocks
    bits += "1" * (-len(bits) % 8)
    data = bytes(int(bits[at : at + 8], 2) for at in range(0, len(bits), 8))
    return segment(0xDA, bytes([1, 1, 0, 0, 63, 0])) + data.replace(b"\xff", b"\xff\x00")


def jpeg(width: int = 64, height: int = 48, mark: int = 1, extra: bytes = b"") -> bytes:
    """Return a grey picture; ``mark``, 1 to 255, makes its bytes different from others'."""
    tables = segment(0xDB, bytes([0, *[mark] * 64]))
    codes = segment(0xC4, bytes([0x00]) + ONE_CODE) + segment(0xC4, bytes([0x10]) + ONE_CODE)
    head = BEGIN + JFIF + extra + tables + frame(width, height) + codes
    return head + scan(width, height) + END
