"""Sound files as other programs write them, and as they should not be: figures or a sentence.

The sound is made by scipy alone, and odd files byte by byte after the formats' own layout: WAV by
RIFF and its chunks (Microsoft and IBM, Multimedia Programming Interface 1.0, 1991; memory), the
extensible header by its format tag FFFE and the subformat that names PCM (memory).
"""

from __future__ import annotations

import json
import struct
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from scipy import signal

from desktop import __main__ as entry
from desktop.tones.command import WRONG
from tests.desktop.tones.test_command import KEYS

RATE = 44_100
SECONDS = 7.0
HZ = 3150.0 * 1.004
NOTHING = [None, None, None, None]

Sound = NDArray[np.float64]


def tone(rate: int = RATE, channels: int = 2) -> Sound:
    """Return a steady tone, 0.4 % fast of 3,150 Hz, as scipy sweeps from it to itself."""
    times = np.arange(round(SECONDS * rate)) / rate
    wave = 0.3 * signal.chirp(times, HZ, SECONDS, HZ)
    noise = np.random.default_rng(4).standard_normal((times.size, channels))
    return wave[:, None] + 2e-4 * noise


def told(path: Path, capfd: pytest.CaptureFixture[str]) -> tuple[int, dict[str, object], str]:
    code = entry.main(["tone", str(path), "--json"])
    out, err = capfd.readouterr()
    found = json.loads(out)
    assert found.keys() >= KEYS
    assert "Traceback" not in err
    return code, found, err


def chunk(name: bytes, content: bytes) -> bytes:
    """Return a chunk of a RIFF file; an odd one is filled up."""
    return name + struct.pack("<I", len(content)) + content + b"\0" * (len(content) % 2)


def riff(*chunks: bytes) -> bytes:
    inside = b"WAVE" + b"".join(chunks)
    return b"RIFF" + struct.pack("<I", len(inside)) + inside


FORMAT = struct.pack("<HHIIHH", 1, 2, RATE, 4 * RATE, 4, 16)
PCM = bytes.fromhex("0100000000001000800000aa00389b71")
EXTENSIBLE = struct.pack("<HHIIHHHHI", 0xFFFE, 2, RATE, 4 * RATE, 4, 16, 22, 16, 3) + PCM
DATA = np.round(tone() * 32_767).astype("<i2").tobytes()
PLAIN = riff(chunk(b"fmt ", FORMAT), chunk(b"data", DATA))


def patched(at: int, content: bytes) -> bytes:
    return PLAIN[:at] + content + PLAIN[at + len(content) :]


@pytest.mark.parametrize(
    "content",
    [
        PLAIN,
        riff(
            chunk(b"LIST", b"INFOodd"),
            chunk(b"JUNK", b"x" * 33),
            chunk(b"fmt ", FORMAT),
            chunk(b"fact", b"1234"),
            chunk(b"data", DATA),
            chunk(b"LIST", b"INFOmore"),
        ),
        riff(chunk(b"fmt ", EXTENSIBLE), chunk(b"data", DATA)),
        patched(40, struct.pack("<I", 0xFFFF_FFF0)),  # more sound than there is
        patched(4, struct.pack("<I", 0)),  # a recorder that was cut off writes no size
        PLAIN + b"behind the end",
    ],
    ids=["plain", "odd order", "extensible", "says too much", "says nothing", "more behind"],
)
def test_a_header_that_is_odd_or_lies_hides_no_sound(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], content: bytes
) -> None:
    path = tmp_path / "odd.wav"
    path.write_bytes(content)
    code, found, _ = told(path, capfd)
    assert code == 0
    assert found["speed_error_percent"] == pytest.approx(0.4, abs=0.002)
    assert found["seconds"] == pytest.approx(SECONDS, abs=0.01)


@pytest.mark.parametrize(
    "content",
    [
        riff(chunk(b"data", DATA), chunk(b"fmt ", FORMAT)),
        patched(40, struct.pack("<I", 0)),
        patched(24, struct.pack("<I", 0)),
        patched(24, struct.pack("<I", 4_000_000_000)),
        patched(22, struct.pack("<H", 0)),
        patched(22, struct.pack("<H", 65_535)),
        patched(34, struct.pack("<H", 33)),
        PLAIN[:44],
        PLAIN[:30],
        b"ID3" + bytes(200),
        "Keine Töne".encode() * 50,
    ],
    ids=[
        *("sound before its format", "no sound", "no rate", "mad rate", "no channels"),
        *("65,535 channels", "33 bits", "header alone", "half a header", "tag alone", "words"),
    ],
)
def test_what_holds_no_sound_gets_a_sentence_and_the_same_keys(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], content: bytes
) -> None:
    path = tmp_path / "odd.wav"
    path.write_bytes(content)
    code, found, err = told(path, capfd)
    assert code == WRONG
    assert [found[key] for key in sorted(KEYS - {"bands", "warnings"})] == NOTHING
    assert found["warnings"] == [err.strip()]
    assert err.strip().endswith(".")


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("a.wav", {"subtype": "PCM_24"}),
        ("a.wav", {"subtype": "DOUBLE"}),
        ("a.wav", {"format": "WAVEX", "subtype": "PCM_24"}),
        ("a.w64", {"format": "W64", "subtype": "PCM_24"}),
        ("a.aiff", {"subtype": "FLOAT"}),
        ("a.flac", {"subtype": "PCM_16"}),
        ("misnamed.mp3", {"format": "WAV", "subtype": "PCM_16"}),
    ],
)
def test_what_other_programs_write_is_read(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], name: str, kind: dict[str, str]
) -> None:
    path = tmp_path / name
    soundfile.write(path, tone(), RATE, **kind)
    code, found, _ = told(path, capfd)
    assert code == 0
    assert found["speed_error_percent"] == pytest.approx(0.4, abs=0.002)


@pytest.mark.parametrize(
    ("rate", "channels", "warned"), [(8_000, 2, 0), (192_000, 2, 0), (RATE, 1, 1), (RATE, 6, 0)]
)
def test_other_rates_and_channels_are_read(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], rate: int, channels: int, warned: int
) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, tone(rate, channels), rate, subtype="PCM_24")
    code, found, _ = told(path, capfd)
    assert code == 0
    assert found["speed_error_percent"] == pytest.approx(0.4, abs=0.002)
    assert found["channels"] == channels
    warnings = found["warnings"]
    assert isinstance(warnings, list)
    assert len(warnings) == warned, warnings


def some_no_numbers(sound: Sound) -> Sound:
    sound[1000:1010] = np.nan
    sound[5000], sound[6000, 1] = np.inf, -np.inf
    return sound


@pytest.mark.parametrize(
    ("spoil", "error_percent"),
    [
        (some_no_numbers, 0.4),
        (lambda sound: 1e-3 * sound, 0.4),
        (lambda sound: 100.0 * sound, 0.4),  # a float file may go beyond full scale
        (lambda sound: np.full_like(sound, np.nan), None),
        (lambda sound: 1e-30 * sound, None),
        (lambda sound: sound[:1], None),
    ],
)
def test_samples_that_are_no_sound_end_in_figures_or_a_warning(
    tmp_path: Path,
    capfd: pytest.CaptureFixture[str],
    spoil: Callable[[Sound], Sound],
    error_percent: float | None,
) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, spoil(tone()), RATE, subtype="FLOAT")
    code, found, err = told(path, capfd)
    assert (code, err) == (0, "")
    if error_percent is None:
        assert found["speed_error_percent"] is None
        assert found["warnings"]
    else:
        assert found["speed_error_percent"] == pytest.approx(error_percent, abs=0.002)


@pytest.mark.parametrize("ending", ["flac", "aiff", "wav", "mp3"])
def test_a_file_that_ends_too_soon_tells_what_it_holds_or_says_so(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], ending: str
) -> None:
    path = tmp_path / f"a.{ending}"
    soundfile.write(path, tone(), RATE)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    code, found, err = told(path, capfd)
    if code == 0:
        assert found["speed_error_percent"] == pytest.approx(0.4, abs=0.005)
    else:
        assert ending == "flac"
        assert "can't be read to its end. Copy or record it again." in err
