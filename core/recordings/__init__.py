"""Sound files and live inputs, in blocks, listened to; what can't be heard gets one sentence.

The libraries that read and capture are imported when first needed, never at start-up.
"""

from __future__ import annotations

from core.recordings.known_record import known_bands, record_named, record_of
from core.recordings.listening import Recording, beside, listen
from core.recordings.live import Capture, LiveProblem, SoundInput, sound_inputs
from core.recordings.packed import NotPackedError, pack, unpacked
from core.recordings.sound_file import RecordingProblem, SoundFile

__all__ = [
    "Capture",
    "LiveProblem",
    "NotPackedError",
    "Recording",
    "RecordingProblem",
    "SoundFile",
    "SoundInput",
    "beside",
    "known_bands",
    "listen",
    "pack",
    "record_named",
    "record_of",
    "sound_inputs",
    "unpacked",
]
