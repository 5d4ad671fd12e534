"""Live capture for long, and how soon the screen shows what is played.

``python -m tests.bench.live --minutes N`` captures from a sound server of its own and listens as
the program does, readings of ten minutes one after another. The left channel plays the numbers of
its samples: every sample that did not come is seen, wherever it was lost. Blocks lost and memory
are told from time to time. Then a leak is changed in the sound, and the time until the panel shows
it is told, from the moment of the change: once for the analysis and the panel alone, once from the
player's pipe through the sound server to the words on the panel, the player's own delay included.
"""

from __future__ import annotations

import argparse
import fcntl
import os
import subprocess
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from core.recordings import Capture, sound_inputs
from core.steps.shared import LiveState, LiveTones
from core.steps.speed.tone import RecordedTone
from tests.sound_server import SoundServer, sound_server

RATE = 48_000
NUMBERS = 30_000
"""So many numbers, from 1, are played over and over; zero is silence."""


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=1.0)
    minutes = parser.parse_args().minutes
    with sound_server() as server:
        _long(server, minutes)
    _latency()
    with sound_server() as server:
        _latency_through(server)


class _Unending(RecordedTone):
    """A recording that never has enough: its reading lasts as long as one may."""

    LIVE_S = 1e9


@dataclass
class _Numbers:
    """Follows the numbers that the left channel plays."""

    last: int | None = None
    gaps: int = 0
    lost: int = 0
    silent: int = 0

    def take(self, left: NDArray[np.float32]) -> None:
        """Count what is missing; zeros in a row are a player that came too late, no loss."""
        heard = np.round(left * 32768.0).astype(np.int64)
        numbers = heard[heard != 0]
        self.silent += heard.size - numbers.size
        if self.last is not None:
            numbers = np.concatenate(([self.last], numbers))
        steps = np.diff(numbers) % NUMBERS
        self.gaps += int(np.sum(steps != 1))
        self.lost += int(np.sum((steps - 1) % NUMBERS))
        if numbers.size:
            self.last = int(numbers[-1])


def _long(server: SoundServer, minutes: float) -> None:
    command = ("pacat", "--playback", "--device=deck", "--raw", "--format=s16le", "--channels=2")
    player = subprocess.Popen(
        [*command, f"--rate={RATE}", "--latency-msec=1000"],
        stdin=subprocess.PIPE,
        env=server.environment,
    )
    threading.Thread(target=_feed, args=(player,), daemon=True).start()
    numbers, samples, most_lag, begun = _Numbers(), 0, 0.0, 0.0
    told_every = 60.0 * max(minutes / 12.0, 1.0)
    with tempfile.TemporaryDirectory() as folder, Capture(sound_inputs()[0]) as capture:
        reading, readings, next_at = None, 0, 0.0
        while not begun or time.monotonic() - begun < 60.0 * minutes:
            got = capture.take()
            if not got.size:
                continue
            begun = begun or time.monotonic()
            samples += got.shape[0]
            most_lag = max(most_lag, capture._waiting_samples / capture.rate)
            numbers.take(got[:, 0])
            if reading is None:
                readings += 1
                path = Path(folder) / f"{readings}.flac"
                reading = LiveTones(_Unending, path, RATE, 2)
            told = reading.feed(np.repeat(got[:, 1:], 2, axis=1))
            if told.state is LiveState.ENOUGH:
                reading.close()
                path.unlink()
                reading = None
            passed = time.monotonic() - begun
            if passed >= next_at:
                print(
                    f"{passed / 60.0:5.1f} min: {_resident_mb():.0f} MB, reading {readings},"
                    f" {told.seconds:.0f} s of it, {capture.lost_blocks} blocks lost,"
                    f" {numbers.gaps} gaps of {numbers.lost} samples,"
                    f" {passed - samples / RATE:.2f} s less than the clock,"
                    f" the analysis {most_lag:.2f} s behind at most",
                    flush=True,
                )
                next_at += told_every
        if reading is not None:
            reading.close()
        print(
            f"{samples / RATE:.1f} s captured in {time.monotonic() - begun:.1f} s,"
            f" {capture.lost_blocks} blocks lost, {numbers.gaps} gaps of {numbers.lost} samples,"
            f" the player was silent for {numbers.silent} samples"
        )
    player.terminate()
    player.wait(5)


def _feed(player: subprocess.Popen[bytes]) -> None:
    """Play numbers on the left and a tone on the right, until the player ends."""
    assert player.stdin is not None
    first = 0
    while True:
        places = np.arange(first, first + RATE)
        first += RATE
        left = 1 + places % NUMBERS
        right = 8000.0 * np.sin(2.0 * np.pi * 3150.0 * (places % RATE) / RATE)
        sound = np.stack((left, np.round(right)), axis=1).astype("<i2")
        try:
            player.stdin.write(sound.tobytes())
        except OSError:
            return


def _resident_mb() -> float:
    """Return the memory in use now; Linux alone tells it like this."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def _latency() -> None:
    """Turn a leak from -30 to -20 dB within running sound and show it as the panel does."""
    from PySide6.QtWidgets import QApplication

    from core.language import Numbers
    from core.steps.tilt.readings import RecordedLeak
    from desktop.forms.live_panel import LivePanel

    app = QApplication([])
    panel = LivePanel(RecordedLeak, Numbers())
    panel.resize(600, 300)
    panel.show()
    times = np.arange(3 * RATE) / RATE
    tone = 0.3 * np.sin(2 * np.pi * 1000.0 * times)
    leak = np.where(times < 2.0, 10**-1.5, 10**-1.0)
    sound = np.stack((tone, leak * tone), axis=1)
    waits, works = [], []
    with tempfile.TemporaryDirectory() as folder:
        reading = LiveTones(RecordedLeak, Path(folder) / "l.flac", RATE, 2)
        for begin in range(0, sound.shape[0], 960):
            at = time.perf_counter()
            panel._told = told = reading.feed(sound[begin : begin + 960])
            works.append(time.perf_counter() - at)
            panel._show_told()
            app.processEvents()
            shown = time.perf_counter() - at
            if begin >= 2 * RATE and told.moment.leak and told.moment.leak.db > -20.5:
                waits.append((begin + 960) / RATE - 2.0 + shown + 0.04)
        reading.close()
    print(f"a changed leak is shown right within {1e3 * waits[0]:.0f} ms of the sound")
    print(
        f"  (a block of 20 ms takes {1e3 * max(works):.0f} ms at most, the timer's 40 ms are in it)"
    )


def _latency_through(server: SoundServer) -> None:
    """Change a leak in what a player plays between -30 and -20 dB, and wait for the words."""
    from PySide6.QtWidgets import QApplication

    from core.language import Numbers
    from core.steps.tilt.readings import RecordedLeak
    from desktop.forms.live_panel import LivePanel

    app = QApplication.instance() or QApplication([])
    panel = LivePanel(RecordedLeak, Numbers())
    panel.resize(600, 300)
    panel.show()

    def waited(is_so: Callable[[], bool], longest_s: float = 30.0) -> float:
        begun = time.monotonic()
        while not is_so() and time.monotonic() - begun < longest_s:
            app.processEvents()
            time.sleep(0.002)
        return time.monotonic() - begun

    panel.list_inputs()
    waited(panel.start_button.isEnabled)
    command = ("pacat", "--playback", "--device=deck", "--raw", "--format=s16le", "--channels=2")
    player = subprocess.Popen(
        [*command, f"--rate={RATE}", "--latency-msec=40", "--process-time-msec=10"],
        stdin=subprocess.PIPE,
        env=server.environment,
    )
    assert player.stdin is not None
    fcntl.fcntl(player.stdin.fileno(), fcntl.F_SETPIPE_SZ, 4096)  # 21 ms: else 340 ms wait in it
    leak = [10.0**-1.5]
    threading.Thread(target=_feed_leak, args=(player, leak), daemon=True).start()
    panel.start_button.click()
    waited(lambda: "30." in panel.now.text())
    waits = []
    for change in range(20):
        waited(lambda: False, 0.5 + 0.013 * change)
        db = 20 if change % 2 == 0 else 30
        leak[0] = 10.0 ** (-db / 20.0)
        waits.append(waited(lambda: f"{db}." in panel.now.text()))  # noqa: B023 - used at once
    panel.give_up()
    player.terminate()
    player.wait(5)
    print(
        f"through the sound server, 20 changes: {1e3 * min(waits):.0f} to {1e3 * max(waits):.0f} ms"
        " from the player's pipe to the panel"
    )


def _feed_leak(player: subprocess.Popen[bytes], leak: list[float]) -> None:
    """Play a tone on the left, and so much of it on the right, until the player ends."""
    assert player.stdin is not None
    first = 0
    while True:
        tone = 0.3 * np.sin(2.0 * np.pi * 1000.0 * (first + np.arange(480)) / RATE)
        first += 480
        sound = np.stack((tone, leak[0] * tone), axis=1)
        try:
            player.stdin.write(np.round(32767.0 * sound).astype("<i2").tobytes())
            player.stdin.flush()
        except OSError:
            return


if __name__ == "__main__":
    main()
