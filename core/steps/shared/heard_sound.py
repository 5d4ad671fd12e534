"""The base of whatever is heard in sound: from a file, or live while it plays."""

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
"""Of sound files; as ``core.recordings`` has them, which is imported with the first file."""

HASHED_SHARE: Final = 0.1
"""How much of the time the fingerprint takes, as the progress tells it."""

_PIECE: Final = 1 << 20


class Follower(Protocol):
    """Follows sound while it plays."""

    @property
    def seconds(self) -> float:
        """How much was heard."""

    def feed(self, sound: NDArray[np.floating[Any]]) -> None:
        """Take sound, shape (samples, channels)."""

    def so_far(self) -> HeardSound | None:
        """Return what a file of the sound up to now would give; None if nothing yet."""

    def still_s(self, quiet_s: float) -> float | None:
        """Return how long it has to go on, 0 if there is enough; None if that is not known.

        ``quiet_s`` is how long no tone has been heard.
        """

    def told_now(self, moment: Moment) -> tuple[Message, ...]:
        """Return what is large on the screen while it plays."""


class HeardSound(FileFigures):
    """Figures heard in sound. A subclass says what it can't do without, and when it has enough."""

    ENDINGS: ClassVar[tuple[str, ...]] = SOUND_ENDINGS

    sha256: str = Field(
        "", max_length=64, title="Fingerprint", description="SHA-256 of the file, hexadecimal."
    )
    record: RecordPlayed | None = Field(
        None, title="Test record", description="The one that played, as it was described then."
    )

    @classmethod
    def read(cls, path: Path, played: RecordPlayed | None = None) -> Generator[float, None, Self]:
        """Yield the share read so far, and return what the sound of a record told.

        Raises ``RecordingProblem`` where there is no sound, or none that this reading needs.
        """
        raise NotImplementedError

    @classmethod
    def follower(cls, rate: int, channels: int, played: RecordPlayed | None) -> Follower:
        """Return what follows the same live."""
        raise NotImplementedError

    def lacks(self) -> Message | None:
        """Return what the reading needs and the sound does not hold; None if nothing."""
        return None

    def with_sound_missing(self) -> Self:
        """Return the same with what missing sound spoils said of it, if it spoils anything."""
        return self

    def told_last(self) -> tuple[Message, ...]:
        """Return what is large on the screen once it has ended."""
        raise NotImplementedError


def fingerprint_of(path: Path) -> Generator[float, None, str]:
    """Yield a small share of the time now and then, and return a file's SHA-256 in hexadecimal."""
    fingerprint = hashlib.sha256()
    size, done = max(path.stat().st_size, 1), 0
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            fingerprint.update(piece)
            done += len(piece)
            yield HASHED_SHARE * min(done / size, 1.0)
    return fingerprint.hexdigest()
