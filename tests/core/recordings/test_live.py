"""Sound from an input: a server of its own plays what a practice record sounds like.

What is true is what `core.practice.played_record` cut; a monitor gives back what is played.
"""

from __future__ import annotations

import math
import stat
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from core.language import Numbers
from core.practice.played_record import CutBand, Playing
from core.recordings import Capture, LiveProblem, SoundInput, live, sound_inputs
from core.records import BandUse, CutRecord, RecordBand, RecordPlayed
from core.steps.shared import LiveState, LiveTold, LiveTones, live_tones
from core.steps.skating.readings import RecordedTracking
from core.steps.speed.tone import RecordedTone
from core.steps.tilt.readings import RecordedLeak
from tests.sound_server import SoundServer, sound_server
from tests.sounding import last_of, pieces_of, written

pytestmark = pytest.mark.long

RATE = 48_000


@pytest.fixture(scope="module")
def server() -> Iterator[SoundServer]:
    with sound_server() as running:
        yield running


@pytest.fixture(autouse=True)
def quick_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let figures come as on a computer that has nothing else to do, however busy this one is."""
    monkeypatch.setattr(live_tones, "_FIGURES_SHARE", math.inf)


def monitor() -> SoundInput:
    return next(one for one in sound_inputs() if "Monitor" in one.name)


def fed(reading: LiveTones, sound: NDArray[np.float64], until: LiveState | None = None) -> LiveTold:
    told = None
    for begin in range(0, sound.shape[0], 960):
        told = reading.feed(sound[begin : begin + 960])
        if told.state is until:
            break
    assert told is not None
    return told


def sound_of(*cut: CutBand, **how: Any) -> NDArray[np.float64]:
    return np.concatenate(list(pieces_of(cut, Playing(**how), RATE)))


def test_an_input_says_its_name_its_channels_and_its_rate(server: SoundServer) -> None:
    found = monitor()
    assert (found.channels, found.rate) == (2, 48_000)
    assert bytes.fromhex(found.key) == b"deck.monitor"


def test_what_is_played_comes_back_with_its_frequency(server: SoundServer, tmp_path: Path) -> None:
    tone = written(tmp_path / "tone.wav", (CutBand(3150.0, 6.0),), Playing(speed_percent=0.2), RATE)
    playing = server.play(tone)
    reading = LiveTones(RecordedTone, tmp_path / "live.flac", RATE, 2)
    told = None
    with Capture(monitor()) as capture:
        end = time.monotonic() + 12.0
        while time.monotonic() < end and (told is None or told.seconds < 4.0):
            block = capture.take()
            if block.size:
                told = reading.feed(block)
        assert capture.lost_blocks == 0
    playing.terminate()
    playing.wait(5)
    assert told is not None
    assert told.state is LiveState.RUNNING
    reading.close()
    path = tmp_path / "live.flac"
    figures = last_of(RecordedTone.read(path))
    assert figures.speed is not None
    assert figures.speed.hz == pytest.approx(3150.0 * 1.002, rel=1e-4)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_an_input_that_ends_in_mid_reading_is_told_within_seconds() -> None:
    with sound_server() as own, Capture(monitor()) as capture:
        assert capture.take(2.0).size
        own.end()
        with pytest.raises(LiveProblem, match="gives no more sound"):  # noqa: PT012 - some blocks are still on their way
            for _ in range(50):  # a tenth of a second each at most
                capture.take()


def test_an_input_that_has_gone_since_it_was_listed_is_named(server: SoundServer) -> None:
    gone = replace(monitor(), key=b"other.monitor".hex(), name="Other input")
    with pytest.raises(LiveProblem, match="Other input is no longer there"):
        Capture(gone)


def test_no_input_is_not_taken_for_silence(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("miniaudio", reason="the library that hears is not installed")
    monkeypatch.setenv("PULSE_SERVER", "unix:/nowhere/native")
    monkeypatch.setattr(live, "_backends", lambda library: [library.Backend.PULSEAUDIO])
    with pytest.raises(LiveProblem, match="has no sound input"):
        sound_inputs()


@pytest.mark.parametrize(
    ("code", "said"),
    # Source of the results: miniaudio.h, MA_ACCESS_DENIED -8, MA_BUSY -19, MA_ERROR -1.
    [(-8, "lets no program use"), (-19, "keeps Deck to itself"), (-1, "can't be opened")],
)
def test_why_an_input_does_not_open_is_told(
    code: int, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    miniaudio = pytest.importorskip("miniaudio", reason="the library that hears is not installed")
    wanted = SoundInput("aa", "Deck", 2, RATE)

    def refused(*_given: object, **_named: object) -> None:
        raise miniaudio.MiniaudioError("failed to init device", code)

    monkeypatch.setattr(live, "_listed", lambda _library: [(wanted, None)])
    monkeypatch.setattr(miniaudio, "CaptureDevice", refused)
    with pytest.raises(LiveProblem, match=said):
        Capture(wanted)


def test_a_rate_that_cannot_be_used_is_refused_before_the_input_is_opened() -> None:
    with pytest.raises(LiveProblem, match="sample rate"):
        Capture(SoundInput("aa", "Deck", 2, 4_000))


def test_a_reader_that_sleeps_loses_blocks_that_are_counted(
    server: SoundServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "_KEPT_BYTES", 4_800 * 8)  # a tenth of a second
    with Capture(monitor()) as capture:
        assert capture.take(4.0).size  # it has woken
        time.sleep(0.6)
        assert capture.lost_blocks > 0
        assert capture.take().shape[0] <= 4_800


def test_it_waits_for_the_tone_tells_after_two_seconds_and_ends_by_itself(tmp_path: Path) -> None:
    reading = LiveTones(RecordedTone, tmp_path / "live.flac", RATE, 2)
    noise = 1e-4 * np.random.default_rng(5).standard_normal((3 * RATE, 2))
    assert fed(reading, noise).state is LiveState.WAITING
    tone = sound_of(CutBand(3150.0, 40.0))
    early = fed(reading, tone[: 2 * RATE])
    assert (early.state, early.figures) == (LiveState.RUNNING, None)
    later = fed(reading, tone[2 * RATE : 12 * RATE])
    assert later.figures is not None
    # 30 s: the mean's scatter of 0.002 % is asked for after so long.
    assert later.still_s == pytest.approx(30.0 - 11.5, abs=0.5)
    ended = fed(reading, tone[12 * RATE :], LiveState.ENOUGH)
    assert ended.state is LiveState.ENOUGH
    assert ended.seconds == pytest.approx(30.3, abs=0.5)


def test_a_leak_needs_both_sides_and_follows_at_once(tmp_path: Path) -> None:
    reading = LiveTones(RecordedLeak, tmp_path / "live.flac", RATE, 2)
    left = sound_of(CutBand(1000.0, 8.0, "left"), into_right=(-28.0, 40.0))
    told = fed(reading, left)
    assert (told.state, told.still_s) == (LiveState.RUNNING, None)
    assert told.moment.leak is not None
    assert told.moment.leak.db == pytest.approx(-28.0, abs=0.2)
    assert told.moment.leak.deg == pytest.approx(40.0, abs=2.0)
    right = sound_of(CutBand(1000.0, 8.0, "right"), into_left=(-22.0, -170.0))
    turned = fed(reading, right[: round(0.15 * RATE)])  # well under the 300 ms that are asked for
    assert turned.moment.leak is not None
    assert turned.moment.leak.db == pytest.approx(-22.0, abs=0.3)
    assert fed(reading, right[round(0.15 * RATE) :], LiveState.ENOUGH).state is LiveState.ENOUGH


def test_rising_bands_end_by_themselves_three_seconds_after_the_last(tmp_path: Path) -> None:
    """Nobody knows how many bands there are: only their end tells that there are no more."""
    reading = LiveTones(RecordedTracking, tmp_path / "live.flac", RATE, 2)
    cut = [CutBand(315.0, 2.0, peak=0.1 * 10.0 ** (0.1 * up), gap_s=0.3) for up in range(4)]
    sound = sound_of(*cut)
    told = fed(reading, sound)
    assert (told.state, told.still_s) == (LiveState.RUNNING, None)
    noise = 1e-4 * np.random.default_rng(5).standard_normal((6 * RATE, 2))
    ended = fed(reading, noise, LiveState.ENOUGH)
    reading.close()
    assert ended.state is LiveState.ENOUGH
    # Its 9.2 s end with a gap of 0.3 s, of which the quiet counts; it listens from 0.3 s on.
    assert ended.seconds == pytest.approx(9.2 - 0.3 + 3.0 - 0.3, abs=0.4)
    assert isinstance(ended.figures, RecordedTracking)
    assert len(ended.figures.rising()) == 4


def test_silence_without_any_noise_is_told(tmp_path: Path) -> None:
    reading = LiveTones(RecordedTone, tmp_path / "live.flac", RATE, 2)
    assert fed(reading, np.zeros((3 * RATE, 2))).is_nothing
    assert not fed(reading, 1e-5 * np.ones((960, 2))).is_nothing
    reading.close()


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda sound: sound.mean(axis=1, keepdims=True) * np.ones((1, 2)), "switch mono off"),
        (lambda sound: sound * (1.0, 0.0), "The right channel is dead"),
        (lambda sound: sound * (1.0, -1.0), "work against each other"),
        (lambda sound: np.clip(10.0 * sound, -1.0, 1.0), "clipped"),
    ],
)
def test_what_spoils_the_sound_is_told_while_it_plays(
    spoil: Callable[[NDArray[np.float64]], NDArray[np.float64]], said: str, tmp_path: Path
) -> None:
    reading = LiveTones(RecordedTone, tmp_path / "live.flac", RATE, 2)
    told = fed(reading, spoil(sound_of(CutBand(3150.0, 8.0))))
    assert told.figures is not None
    assert said in " ".join(Numbers().text(one) for one in told.figures.told())


def test_figures_that_take_long_come_more_rarely(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A busy computer must not fall behind the sound: at most 0.3 of the time goes into figures."""
    monkeypatch.setattr(live_tones, "_FIGURES_SHARE", 0.3)
    clock = [0.0]

    def slow() -> float:
        clock[0] += 0.6  # each figure seems to take 0.6 s, so that the next is due after 2 s
        return clock[0]

    monkeypatch.setattr(live_tones.time, "monotonic", slow)
    reading = LiveTones(RecordedTone, tmp_path / "live.flac", RATE, 2)
    seen = []
    tone = sound_of(CutBand(3150.0, 8.5))
    for begin in range(0, tone.shape[0], 960):
        told = reading.feed(tone[begin : begin + 960])
        if told.figures is not None and told.figures not in seen:
            seen.append(told.figures)
    reading.close()
    assert len(seen) == 4  # after 2, 4, 6 and 8 s; every fifth of a second it were thirty


def test_a_described_record_is_judged_by_its_own_tone_live(tmp_path: Path) -> None:
    """1,000 Hz is no usual tone for speed; the record says that it is one."""
    record = CutRecord(
        name="Record A", bands=(RecordBand(label="Speed", kind=BandUse.SPEED, hz=1000.0),)
    )
    played = RecordPlayed(id="a", record=record)
    reading = LiveTones(RecordedTone, tmp_path / "live.flac", RATE, 2, played)
    at = np.arange(6 * RATE) / RATE
    told = fed(reading, np.tile(0.2 * np.sin(2 * np.pi * 1004.0 * at)[:, None], (1, 2)))
    reading.close()
    assert isinstance(told.figures, RecordedTone)
    assert told.figures.speed is not None
    assert told.figures.speed.nominal_hz == 1000.0
    assert told.figures.speed.hz == pytest.approx(1004.0, abs=0.05)
    assert told.figures.record == played


@pytest.mark.parametrize("channels", [1, 2])
def test_peaks_are_held_for_a_second_and_a_half_on_each_channel(
    channels: int, tmp_path: Path
) -> None:
    reading = LiveTones(RecordedTone, tmp_path / "live.flac", RATE, channels)
    loud, quiet = np.zeros((960, channels)), np.zeros((960, channels))
    loud[7, 0] = -0.5
    loud[3, -1] = 0.25 if channels == 2 else 0.0
    peaks = (0.5, 0.25) if channels == 2 else (0.5, 0.5)  # one channel is both
    assert reading.feed(loud).held == peaks
    for _ in range(73):  # of 0.02 s: 1.46 s later
        held = reading.feed(quiet).held
    assert held == peaks
    for _ in range(3):
        held = reading.feed(quiet).held
    assert held == (0.0, 0.0)
    reading.close()
