"""A sound server of its own for tests: what is played into it comes back as an input."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest


@dataclass(frozen=True)
class SoundServer:
    """A running server with one output, ``deck``, whose monitor is an input."""

    process: subprocess.Popen[bytes]
    environment: dict[str, str]

    def play(self, path: Path) -> subprocess.Popen[bytes]:
        """Begin to play a file."""
        return subprocess.Popen(
            ["paplay", "--device=deck", str(path)], env=self.environment, stderr=subprocess.DEVNULL
        )

    def end(self) -> None:
        """End the server."""
        self.process.terminate()
        self.process.wait(5)


@contextmanager
def sound_server(channels: int = 2) -> Iterator[SoundServer]:
    """Start a server and let this process use it; skip where it is not installed."""
    if shutil.which("pulseaudio") is None or shutil.which("paplay") is None:
        pytest.skip("pulseaudio and paplay are not installed")
    pytest.importorskip("miniaudio", reason="the library that hears is not installed")
    folder = Path(tempfile.mkdtemp(prefix="sound-"))  # a socket's path has to be short
    folder.chmod(0o700)
    socket = folder / "pulse" / "native"
    environment = {
        **os.environ,
        "XDG_RUNTIME_DIR": str(folder),
        "HOME": str(folder),
        "PULSE_SERVER": f"unix:{socket}",
    }
    null_sink = f"module-null-sink sink_name=deck rate=48000 channels={channels}"
    process = subprocess.Popen(
        [
            *("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1"),
            *("-L", "module-native-protocol-unix", "-L", null_sink),
        ],
        env={name: value for name, value in environment.items() if name != "PULSE_SERVER"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    before = os.environ.get("PULSE_SERVER")
    try:
        for _ in range(100):
            if socket.exists():
                break
            time.sleep(0.05)
        os.environ["PULSE_SERVER"] = environment["PULSE_SERVER"]
        yield SoundServer(process, environment)
    finally:
        if before is None:
            os.environ.pop("PULSE_SERVER", None)
        else:
            os.environ["PULSE_SERVER"] = before
        process.terminate()
        process.wait(5)
        shutil.rmtree(folder, ignore_errors=True)
