"""Pack a sound file as FLAC, so that unpacking restores the identical file.

FLAC holds samples of 16 or 24 bit exactly. The other bytes of the file (its header, and what
programs wrote after the samples) are kept in the FLAC's comment, so that the fingerprint of the
file still matches.
"""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Generator, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

MOST_CHANNELS: Final = 8
"""Of FLAC. Source: RFC 9639, section 9.1.3."""

_MOST_AROUND: Final = 65_536
"""Bytes besides the samples; a file with more, such as a picture, is not packed."""

_KINDS: Final = {"WAV": "<", "WAVEX": "<", "RF64": "<", "AIFF": ">"}
_WIDTHS: Final = {"PCM_16": 2, "PCM_24": 3}
_BLOCK: Final = 65_536
_KEY: Final = "setdown packed"


class NotPackedError(Exception):
    """The file was not written by :func:`pack`, or can't be unpacked."""


def pack(source: Path, target: Path) -> Generator[None, None, bool]:
    """Write ``source`` as FLAC, and yield after each block so that the caller can stop.

    Returns whether it was written. False if FLAC can't hold it exactly or it can't be read;
    ``target`` is then useless. Compare the bytes of :func:`unpacked` to know that it is the same.
    """
    try:
        import soundfile
    except (ImportError, OSError):  # OSError: its own library is missing
        return False
    try:
        with soundfile.SoundFile(str(source)) as sound:
            width, order = _WIDTHS.get(sound.subtype), _KINDS.get(sound.format)
            if width is None or order is None or sound.channels > MOST_CHANNELS:
                return False
            around = _around(source, order, sound.frames * sound.channels * width)
            if around is None:
                return False
            packed = soundfile.SoundFile(
                str(target), "w", sound.samplerate, sound.channels, sound.subtype, format="FLAC"
            )
            with packed:
                packed.comment = _told(order, around)
                while (block := sound.read(_BLOCK, _samples_of(width), always_2d=True)).size:
                    packed.write(block)
                    yield
    except (soundfile.SoundFileError, OSError, TypeError, ValueError):
        return False
    return True


def unpacked(path: Path) -> Iterator[bytes]:
    """Yield the bytes of the packed file, piece by piece; raises NotPackedError."""
    try:
        import soundfile
    except (ImportError, OSError) as error:
        raise NotPackedError from error
    try:
        with soundfile.SoundFile(str(path)) as packed:
            order, head, tail = _of_told(packed.comment)
            width = _WIDTHS[packed.subtype]
            yield head
            while (block := packed.read(_BLOCK, _samples_of(width), always_2d=True)).size:
                yield _bytes_of(block, order, width)
            yield tail
    except (soundfile.SoundFileError, OSError, KeyError, TypeError, ValueError) as error:
        raise NotPackedError from error


def _samples_of(width: int) -> str:
    return "int16" if width == 2 else "int32"


def _bytes_of(block: NDArray[Any], order: str, width: int) -> bytes:
    """Return samples as bytes of the file; 24 bit are the upper three bytes of 32."""
    if width == 2:
        return block.astype(f"{order}i2").tobytes()
    four = np.ascontiguousarray(block, dtype=f"{order}i4").view(np.uint8).reshape(-1, 4)
    return (four[:, 1:] if order == "<" else four[:, :3]).tobytes()


def _around(path: Path, order: str, length: int) -> tuple[bytes, bytes] | None:
    """Return the bytes before and after ``length`` bytes of samples; None if not found."""
    size = path.stat().st_size
    if length <= 0 or size - length > _MOST_AROUND:
        return None
    with path.open("rb") as file:
        start = file.read(min(_MOST_AROUND + 8, size))
        begin = _sound_at(start, order)
        if begin is None or begin + length > size:
            return None
        file.seek(begin + length)
        return start[:begin], file.read()


def _sound_at(start: bytes, order: str) -> int | None:
    """Return the index of the first sample; chunks begin with four letters and a length.

    Sources: Multimedia Programming Interface 1.0 (RIFF), EBU Tech 3306 (RF64), AIFF 1.3; from
    memory.
    """
    at, byteorder = 12, "little" if order == "<" else "big"
    while at + 8 <= len(start):
        name, length = start[at : at + 4], int.from_bytes(start[at + 4 : at + 8], byteorder)  # type: ignore[arg-type] # one of two words
        if name == b"data":
            return at + 8
        if name == b"SSND":
            return at + 16 + int.from_bytes(start[at + 8 : at + 12], "big")
        at += 8 + length + length % 2
    return None


def _told(order: str, around: tuple[bytes, bytes]) -> str:
    head, tail = (base64.b64encode(one).decode("ascii") for one in around)
    return json.dumps({"is": _KEY, "order": order, "head": head, "tail": tail})


def _of_told(comment: str) -> tuple[str, bytes, bytes]:
    told: Any = None
    with suppress(json.JSONDecodeError):
        told = json.loads(comment)
    if not isinstance(told, dict) or told.get("is") != _KEY or told.get("order") not in ("<", ">"):
        raise NotPackedError
    try:
        head, tail = (base64.b64decode(told[one], validate=True) for one in ("head", "tail"))
    except binascii.Error as error:
        raise NotPackedError from error
    return told["order"], head, tail
