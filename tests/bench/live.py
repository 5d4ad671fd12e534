"""Live capture for long, and how soon the screen shows what is played.

``python -m tests.bench.live --minutes N`` captures from a sound server of its own: blocks lost,
and memory from minute to minute. Then a leak is changed in the sound, and the time until the panel
shows it is told, from the moment of the change.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from pathlib import Path

import numpy as np

from core.practice.played_record import CutBand, Playing
from core.recordings import Capture, sound_inputs
from tests.sound_server import SoundServer, sound_server
from tests.sounding import written

RATE = 48_000


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=1.0)
    minutes = parser.parse_args().minutes
    with sound_server() as server:
        _long(server, minutes)
    _latency()


def _long(server: SoundServer, minutes: float) -> None:
    tone = CutBand(3150.0, min(60.0 * minutes, 60.0) + 5.0)  # what is behind it is silence
    with tempfile.TemporaryDirectory() as folder:
        playing = server.play(written(Path(folder) / "t.wav", (tone,), Playing(), RATE))
        samples, begun = 0, 0.0
        with Capture(sound_inputs()[0]) as capture:
            next_at = 0.0
            while not begun or time.monotonic() - begun < 60.0 * minutes:
                got = capture.take().shape[0]
                if got and not begun:
                    begun = time.monotonic()
                samples += got
                if begun and time.monotonic() - begun >= next_at:
                    print(f"{next_at / 60.0:5.1f} min: {_resident_mb():.0f} MB")
                    next_at += 60.0
            print(
                f"{samples / RATE:.1f} s captured in {time.monotonic() - begun:.1f} s,"
                f" {capture.lost_blocks} blocks lost"
            )
        playing.terminate()
        playing.wait(5)


def _resident_mb() -> float:
    """Return the memory in use now; Linux alone tells it like this."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def _latency() -> None:
    """Turn a leak from -30 to -20 dB within running sound and show it as the panel does."""
    from PySide6.QtWidgets import QApplication

    from core.language import Numbers
    from core.steps.shared import LiveTones
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


if __name__ == "__main__":
    main()
