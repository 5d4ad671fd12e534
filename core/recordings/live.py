"""Sound as it comes from an input of this computer: which inputs there are, and one being heard.

The library that captures is imported when inputs are first asked for, never at start-up.
"""

from __future__ import annotations

import sys
import threading
import time
from collections import deque
from collections.abc import Generator
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Final, Self

import numpy as np
from numpy.typing import NDArray

from core.language import Message, Name, message
from core.recordings.sound_file import MOST_CHANNELS, RATES, RecordingProblem

LOST_AFTER_S: Final = 1.0
"""An input that gives nothing for so long is lost."""

_BEGUN_AFTER_S: Final = 4.0
"""The same before the first block: some inputs take two seconds to wake."""

_KEPT_BYTES: Final = 128_000_000
"""So much may wait while what listens is behind: 5 minutes at 48 kHz. With 25 programs waiting for
two cores it was behind by a minute (measured)."""

_AT_ONCE_S: Final = 1.0
_BLOCK_MS: Final = 20
_DEVICE_BLOCKS: Final = 100
"""The system keeps two seconds for us: on a computer with 20 programs waiting for two cores, the
library's own thread was kept from its 60 ms now and then (measured)."""

_USUAL_RATE: Final = 48_000
_DENIED: Final = -8
_IN_USE: Final = -19
"""Results of the capturing library: access denied, busy. Source: its header, miniaudio.h."""

_NOTHING: Final = b"null"
"""What ALSA calls the device that gives silence without any hardware."""


@dataclass(frozen=True, slots=True)
class SoundInput:
    """An input: ``key`` names it from one start of the program to the next."""

    key: str
    name: str
    channels: int
    rate: int


class LiveProblem(RecordingProblem):
    """An input that cannot be heard, or no longer."""


def sound_inputs() -> tuple[SoundInput, ...]:
    """Return every input there is, in the system's order.

    Raises LiveProblem where there is none: a computer without one must not be taken for silence.
    """
    library = _library()
    try:
        listed = _listed(library)
    except library.MiniaudioError:  # no server answers and there is no hardware
        listed = []
    found = [one for one, handle in listed if _raw(library, handle) != _NOTHING]
    if not found:
        raise LiveProblem(message("tones.live.no_input"), message("tones.live.no_input_todo"))
    return tuple(found)


class Capture:
    """An input being heard, two channels of it. Used with ``with``; raises LiveProblem.

    Blocks wait in a ring of some minutes. What does not fit any more is counted in ``lost_blocks``.

    Parameters
    ----------
    wanted
        The input, as ``sound_inputs`` has it.
    left, right
        Which of its channels are listened to, counted from 0. An input with one has one.
    """

    def __init__(self, wanted: SoundInput, left: int = 0, right: int = 1) -> None:
        self.input = wanted
        self.rate = wanted.rate
        self.channels = min(wanted.channels, 2)
        self.lost_blocks = 0
        last = wanted.channels - 1
        self._picked = [min(left, last), min(right, last)][: self.channels]
        self._ring: deque[NDArray[np.float32]] = deque()
        self._waiting_samples = 0
        self._arrived = threading.Condition()
        self._lost_at = time.monotonic() + _BEGUN_AFTER_S
        self._is_over = False
        self._device = self._opened()

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
        """End the capture; what waits in the ring can't be taken any more."""
        self._is_over = True
        device, self._device = self._device, None
        if device is not None:
            device.close()

    def take(self, longest_s: float = 0.1) -> NDArray[np.float32]:
        """Return what has come since the last time, shape (samples, channels).

        Waits for it, at most ``longest_s``, and returns no samples if nothing came; about a second
        at most, the rest the next time. Raises LiveProblem once nothing has come for a second.
        """
        with self._arrived:
            if not self._ring:
                self._arrived.wait(longest_s)
            blocks, taken = [], 0
            while self._ring and taken < _AT_ONCE_S * self.rate:
                blocks.append(self._ring.popleft())
                taken += blocks[-1].shape[0]
            self._waiting_samples -= taken
            is_lost = time.monotonic() > self._lost_at
        if blocks:
            return np.concatenate(blocks)
        if is_lost or self._is_over:
            raise self._problem("lost")
        return np.zeros((0, self.channels), dtype=np.float32)

    def _opened(self) -> Any:
        low, high = RATES
        if not low <= self.rate <= high:
            raise self._problem("rate")
        library = _library()
        try:
            handle = self._handle(library)
            try:
                device = self._device_of(library, handle, _DEVICE_BLOCKS)
            except library.MiniaudioError:  # a system that keeps no more than its own few blocks
                device = self._device_of(library, handle, 0)
            blocks = self._blocks()
            next(blocks)
            device.start(blocks)
        except library.MiniaudioError as error:
            code = error.args[-1] if error.args else 0
            why = {_DENIED: "refused", _IN_USE: "in_use"}.get(code, "not_opened")
            raise self._problem(why) from error
        return device

    def _device_of(self, library: Any, handle: Any, blocks: int) -> Any:
        return library.CaptureDevice(
            library.SampleFormat.FLOAT32,
            self.input.channels,
            self.rate,
            _BLOCK_MS,
            handle,
            callback_periods=blocks,
            backends=_backends(library),
        )

    def _handle(self, library: Any) -> Any:
        for one, handle in _listed(library):
            if one.key == self.input.key:
                return handle
        raise self._problem("gone")

    def _blocks(self) -> Generator[None, bytes, None]:
        """Take blocks in the library's own thread: nothing slow may be done here."""
        most = _KEPT_BYTES // (4 * self.channels)
        while not self._is_over:
            raw = yield
            block = np.frombuffer(raw, dtype=np.float32).reshape(-1, self.input.channels)
            with self._arrived:
                self._lost_at = time.monotonic() + LOST_AFTER_S
                if self._waiting_samples + block.shape[0] > most:
                    self.lost_blocks += 1
                    continue
                self._ring.append(block[:, self._picked])
                self._waiting_samples += block.shape[0]
                self._arrived.notify()

    def _problem(self, why: str) -> LiveProblem:
        said: Message = message("tones.live.problem", why=why, name=Name(self.input.name))
        return LiveProblem(said, message("tones.live.todo", why=why))


def _library() -> Any:
    try:
        import miniaudio  # imported here: start-up needs no sound
    except (ImportError, OSError) as error:
        raise LiveProblem(
            message("tones.live.no_library"), message("tones.live.no_library_todo")
        ) from error
    return miniaudio


def _backends(library: Any) -> list[Any]:
    """Return what sound may come through here; the library's null device is never among them."""
    names = {"win32": ("WASAPI", "DSOUND"), "darwin": ("COREAUDIO",)}
    return [
        getattr(library.Backend, name) for name in names.get(sys.platform, ("PULSEAUDIO", "ALSA"))
    ]


def _listed(library: Any) -> list[tuple[SoundInput, Any]]:
    class Tolerant(library.Devices):  # type: ignore[misc] # its base is imported late
        """A list that one device which tells nothing of itself does not spoil."""

        def _get_info(self, kind: Any, info: Any) -> dict[str, Any]:
            try:
                told: dict[str, Any] = super()._get_info(kind, info)
            except library.MiniaudioError:
                return {"formats": None}
            return told

    found = Tolerant(_backends(library)).get_captures()
    return [(_input_of(library, one), one["id"]) for one in found if one.get("formats") is not None]


def _input_of(library: Any, told: dict[str, Any]) -> SoundInput:
    rates = [int(one["samplerate"]) for one in told["formats"] if one["samplerate"]]
    counts = [int(one["channels"]) for one in told["formats"] if one["channels"]]
    rate = _USUAL_RATE if not rates or _USUAL_RATE in rates else rates[0]
    return SoundInput(
        key=_raw(library, told["id"]).hex(),
        name=str(told["name"]),
        channels=max(1, min(counts[0] if counts else 2, MOST_CHANNELS)),
        rate=rate,
    )


def _raw(library: Any, handle: Any) -> bytes:
    return bytes(library.ffi.buffer(handle)).rstrip(b"\0")
