"""Sound files: opened, read in blocks, listened to; what cannot be read gets one sentence.

The library that reads them is imported when the first one is opened, never at start-up.
"""

from __future__ import annotations

from core.recordings.known_record import KnownRecord, record_named, record_of
from core.recordings.listening import Recording, listen
from core.recordings.sound_file import ENDINGS, RecordingProblem, SoundFile

__all__ = [
    "ENDINGS",
    "KnownRecord",
    "Recording",
    "RecordingProblem",
    "SoundFile",
    "listen",
    "record_named",
    "record_of",
]
