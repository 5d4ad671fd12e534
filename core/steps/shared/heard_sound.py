"""The base of every reading from sound: from a file, or live."""

from __future__ import annotations

import hashlib
from collections.abc import Generator
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, Final, Protocol, Self

from pydantic import Field

from core.language import Message
from core.records import FileFigures, RecordPlayed

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from core.tones import Moment

SOUND_ENDINGS: Final = ("wav", "wave", "rf64", "w64", "aif", "aiff", "flac", "ogg", "oga", "mp3")
"""Suffixes of sound files, as in ``core.recordings``, which is imported with the first file."""

HASHED_SHARE: Final = 0.1
"""The share of the progress that the fingerprint takes."""

_PIECE: Final = 1 << 20


class Follower(Protocol):
    """Follows sound as it arrives."""

    @property
    def seconds(self) -> float:
        """The seconds of sound taken so far."""

    def feed(self, sound: NDArray[np.floating[Any]]) -> None:
        """Take sound, shape (samples, channels)."""

    def so_far(self) -> HeardSound | None:
        """Return the figures of a file with the sound so far; None if none yet."""

    def still_s(self, quiet_s: float) -> float | None:
        """Return the seconds still needed, 0 for none; None if unknown.

        ``quiet_s`` is the time without a tone.
        """

    def told_now(self, moment: Moment) -> tuple[Message, ...]:
        """Return the line shown large while it plays."""


class HeardSound(FileFigures):
    """Figures from sound. A subclass says what it requires, and when it has enough."""

    ENDINGS: ClassVar[tuple[str, ...]] = SOUND_ENDINGS

    sha256: str = Field(
        "", max_length=64, title="Fingerprint", description="SHA-256 of the file, hexadecimal."
    )
    record: RecordPlayed | None = Field(
        None, title="Test record", description="The one that played, as it was described then."
    )

    @classmethod
    def read(cls, path: Path, played: RecordPlayed | None = None) -> Generator[float, None, Self]:
        """Yield the progress, and return the figures of a recording.

        Raises ``RecordingProblem`` where there is no sound, or none that this reading needs.
        """
        raise NotImplementedError

    @classmethod
    def follower(cls, rate: int, channels: int, played: RecordPlayed | None) -> Follower:
        """Return the follower that yields the same live."""
        raise NotImplementedError

    def lacks(self) -> Message | None:
        """Return what the reading needs and the sound lacks; None for nothing."""
        return None

    def with_sound_missing(self) -> Self:
        """Return the same with the faults that missing sound causes, if any."""
        return self

    def told_last(self) -> tuple[Message, ...]:
        """Return the line shown large once it has ended."""
        raise NotImplementedError


def fingerprint_of(path: Path) -> Generator[float, None, str]:
    """Yield a small share of the progress now and then, and return a file's SHA-256 in hex."""
    fingerprint = hashlib.sha256()
    size, done = max(path.stat().st_size, 1), 0
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            fingerprint.update(piece)
            done += len(piece)
            yield HASHED_SHARE * min(done / size, 1.0)
    return fingerprint.hexdigest()
