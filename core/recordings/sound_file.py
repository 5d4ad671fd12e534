"""One sound file, read from beginning to end in blocks."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

import numpy as np
from numpy.typing import NDArray

from core.language import Message, Name, Quantity, ToldProblem, message

ENDINGS: Final = ("wav", "wave", "rf64", "w64", "aif", "aiff", "flac", "ogg", "oga", "mp3")
"""Of the files that hold sound, without the point."""

RATES: Final = (8_000, 768_000)
MOST_CHANNELS: Final = 64

_BLOCK: Final = 65_536

_SHORTER: Final = re.compile(
    r"^\s*(?:data|SSND|Riff size|riff) : (\d+) \(should be (\d+)\)", re.MULTILINE
)
"""How libsndfile notes a size in bytes that the header states, and the one that is there."""

_NO_END: Final = "end-of-stream"
"""How libsndfile notes that an Ogg file's last page does not end it."""
_UNSTATED: Final = 0x7FFFFF00
"""From this size on, in 32 bits, a header was written before its writer knew the size."""

_NOTICED_S: Final = 0.05
"""Our own allowance: less than this missing is not reported."""


class RecordingProblem(ToldProblem):
    """A sound file that cannot be listened to."""


class SoundFile:
    """An open sound file. Raises RecordingProblem where it cannot be opened or read."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._name = Name(path.name or str(path))
        _check(path, self._name)
        try:
            import soundfile  # imported here: start-up needs no sound
        except (ImportError, OSError) as error:  # OSError: its own library is missing
            raise RecordingProblem(
                message("tones.file.no_reader"), message("tones.file.no_reader_todo")
            ) from error
        self._fault = soundfile.SoundFileError
        try:
            self._file: Any = soundfile.SoundFile(str(path))
        except (self._fault, OSError, TypeError, ValueError) as error:
            raise self._no_sound() from error
        self.rate = int(self._file.samplerate)
        self.channels = int(self._file.channels)
        self.samples = max(int(self._file.frames), 0)
        self._log = str(self._file.extra_info)
        refused = self._refusal()
        if refused is not None:
            self.close()
            raise RecordingProblem(refused)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def blocks(self) -> Iterator[NDArray[np.float64]]:
        """Yield the sound, shape (samples, channels), 1 is full scale."""
        size = max(2 * _BLOCK // self.channels, 1024)
        while True:
            try:
                block: NDArray[np.float64] = self._file.read(size, "float64", always_2d=True)
            except (self._fault, OSError, ValueError) as error:
                raise RecordingProblem(
                    message("tones.file.damaged", file=self._name),
                    message("tones.file.damaged_todo"),
                ) from error
            if block.shape[0] == 0:
                return
            yield block

    def cut_short(self, samples: int) -> Message | None:
        """Return the warning that the file ends too soon, None where nothing shows it.

        ``samples`` is how many were read. Not every kind of file shows its full length.
        """
        ends = Quantity(samples / self.rate, "s", 1)
        whole = self._stated_samples() / self.rate
        if whole > samples / self.rate + _NOTICED_S:
            return message("tones.fault.cut_short", seconds=ends, whole=Quantity(whole, "s", 1))
        if _NO_END in self._log:
            return message("tones.fault.no_end", seconds=ends)
        return None

    def _stated_samples(self) -> float:
        for stated, there in _SHORTER.findall(self._log):
            if 0 < int(there) < int(stated) and not _UNSTATED <= int(stated) <= 0xFFFFFFFF:
                return self.samples * int(stated) / int(there)
        return self.samples

    def _refusal(self) -> Message | None:
        low, high = RATES
        if not low <= self.rate <= high:
            rate = Quantity(self.rate, "Hz", 0)
            return message("tones.file.rate", file=self._name, rate=rate)
        if self.channels > MOST_CHANNELS:
            return message("tones.file.channels", file=self._name, count=self.channels)
        if self.samples == 0:
            return message("tones.file.empty", file=self._name)
        return None

    def _no_sound(self) -> RecordingProblem:
        return RecordingProblem(
            message("tones.file.no_sound", file=self._name), message("tones.file.no_sound_todo")
        )


def _check(path: Path, name: Name) -> None:
    """Refuse what is no file, before a library of sound looks at it."""
    try:
        if path.is_dir():
            raise RecordingProblem(message("tones.file.folder", file=name))
        if not path.exists():
            raise RecordingProblem(
                message("tones.file.missing", file=Name(str(path))),
                message("tones.file.missing_todo"),
            )
        if not path.is_file():
            raise RecordingProblem(message("tones.file.no_file", file=name))
        if path.stat().st_size == 0:
            raise RecordingProblem(message("tones.file.empty", file=name))
        with path.open("rb"):
            pass
    except OSError as error:
        why = Name(error.strerror or type(error).__name__)
        raise RecordingProblem(message("tones.file.refused", file=name, why=why)) from error
    except ValueError as error:  # a zero byte in its name
        raise RecordingProblem(
            message("tones.file.missing", file=Name(repr(str(path)))),
            message("tones.file.missing_todo"),
        ) from error
