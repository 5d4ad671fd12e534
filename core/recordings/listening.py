"""A whole sound file listened to."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from pathlib import Path

from core.recordings.sound_file import SoundFile
from core.tones import Heard, Listener


@dataclass(frozen=True, slots=True)
class Recording:
    """What a file tells, and the name it had."""

    file: str
    heard: Heard


def listen(
    path: Path, *, nominal_hz: float | None = None, rpm: float | None = None
) -> Generator[float, None, Recording]:
    """Yield the share listened to so far, and return what the file tells.

    Between two shares it may be given up. Raises RecordingProblem.
    """
    with SoundFile(path) as sound:
        listener = Listener(sound.rate, sound.channels, nominal_hz=nominal_hz, rpm=rpm)
        done = 0
        for block in sound.blocks():
            listener.feed(block)
            done += block.shape[0]
            yield min(done / sound.samples, 1.0)
        return Recording(path.name, listener.finish())
