"""A live reading of tones: waiting for the tone, running, enough."""

from __future__ import annotations

import time
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from core.language import Message
from core.records import RecordPlayed
from core.steps.shared.heard_sound import HeardSound

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from core.tones import Moment

LONGEST_S: Final = 600.0
"""Seconds after which a reading ends by itself."""

NOTHING_AFTER_S: Final = 2.0
"""Seconds of zeros that no open input gives (our own)."""

_TONE_FOR_S: Final = 0.3
_FIGURES_EVERY_S: Final = 0.2
_FIGURES_SHARE: Final = 0.3
"""Largest share of the time spent on figures; on a busy computer they come more rarely."""

_FIGURES_AFTER_S: Final = 2.0
_HELD_S: Final = 1.5


class LiveState(Enum):
    """The phase of a live reading."""

    WAITING = "waiting"
    RUNNING = "running"
    ENOUGH = "enough"


@dataclass(frozen=True, slots=True)
class LiveTold:
    """The present results.

    ``held`` are the highest peaks of the last 1.5 seconds; ``figures`` those of a file with the
    sound so far, None in the first two seconds; ``now`` is the line shown large; ``still_s`` is the
    time the tone is still needed, None if unknown.
    """

    state: LiveState
    moment: Moment
    held: tuple[float, float]
    seconds: float
    figures: HeardSound | None
    now: tuple[Message, ...]
    still_s: float | None
    is_nothing: bool


class LiveTones:
    """Takes blocks of sound as they come. The sound from the tone's beginning goes into a file.

    Parameters
    ----------
    wanted
        The reading's recording: it says which tones it needs.
    path
        The file of the sound, FLAC of 24 bits. A reading is read from there as from any file.
    played
        The test record, if it is described: its own tone is then looked for.
    """

    def __init__(
        self,
        wanted: type[HeardSound],
        path: Path,
        rate: int,
        channels: int,
        played: RecordPlayed | None = None,
    ) -> None:
        import numpy as np  # the first reading of a step needs none of these
        import soundfile

        self._numpy = np
        self._rate = rate
        self._follower = wanted.follower(rate, channels, played)
        path.touch(mode=0o600)
        self._file: Any = soundfile.SoundFile(
            str(path), "w", rate, channels, subtype="PCM_24", format="FLAC"
        )
        self._state = LiveState.WAITING
        self._last = np.zeros((0, channels), dtype=np.float32)
        self._peaks: list[tuple[float, float, float]] = []
        self._clock_s = self._tone_s = self._quiet_s = self._nothing_s = self._next_s = 0.0
        self._figures: HeardSound | None = None
        self._still_s: float | None = None

    def feed(self, sound: NDArray[np.floating[Any]]) -> LiveTold:
        """Take sound, shape (samples, channels), and return the present results."""
        from core.tones import MOMENT_S, moment_of

        seconds = sound.shape[0] / self._rate
        self._clock_s += seconds
        self._last = self._numpy.concatenate((self._last, sound))[-round(MOMENT_S * self._rate) :]
        moment = moment_of(self._last, self._rate)
        has_tone = moment.hz is not None
        self._tone_s = self._tone_s + seconds if has_tone else 0.0
        self._quiet_s = 0.0 if has_tone else self._quiet_s + seconds
        self._nothing_s = 0.0 if self._numpy.any(sound) else self._nothing_s + seconds
        if self._state is LiveState.WAITING and self._tone_s >= _TONE_FOR_S:
            self._state = LiveState.RUNNING
        if self._state is LiveState.RUNNING:
            self._file.write(sound)
            self._follower.feed(sound)
            self._look()
        left, right = self._held(sound)
        return LiveTold(
            self._state,
            moment,
            (left, right),
            self._follower.seconds,
            self._figures,
            self._follower.told_now(moment),
            self._still_s,
            self._nothing_s >= NOTHING_AFTER_S,
        )

    def close(self) -> None:
        """Close the file, so that it can be read."""
        self._file.close()

    def _look(self) -> None:
        seconds = self._follower.seconds
        if seconds >= LONGEST_S:
            self._state = LiveState.ENOUGH
        if seconds < max(_FIGURES_AFTER_S, self._next_s):
            return
        begun = time.monotonic()
        self._figures = self._follower.so_far()
        took = time.monotonic() - begun
        self._next_s = seconds + max(_FIGURES_EVERY_S, took / _FIGURES_SHARE)
        self._still_s = self._follower.still_s(self._quiet_s)
        if self._still_s is not None and self._still_s <= 0.0:
            self._state = LiveState.ENOUGH

    def _held(self, sound: NDArray[np.floating[Any]]) -> tuple[float, float]:
        most = self._numpy.max(self._numpy.abs(sound), axis=0, initial=0.0)
        self._peaks.append((self._clock_s, float(most[0]), float(most[-1])))
        self._peaks = [one for one in self._peaks if one[0] > self._clock_s - _HELD_S]
        return max(one[1] for one in self._peaks), max(one[2] for one in self._peaks)
