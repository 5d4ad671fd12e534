"""Speed by a recorded tone: what varies is told by it, the mean by something surer."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from core.fitting import Verdict
from core.language import Numbers
from core.practice.played_record import CutBand, Playing, Wave
from core.recordings import RecordingProblem
from core.steps.shared import HeardFault
from core.steps.speed import Strobe, Tone
from core.steps.speed.tone import RecordedTone
from tests.examples import deck
from tests.kit import assessed, context, figure_of, value
from tests.sounding import last_of, written

CUT = (CutBand(3150.0, 16.0),)
FLUTTER = Wave(4.0, 0.1)
HOLE_MM, RADIUS_MM = 0.2, 100.0


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> RecordedTone:
    path = tmp_path_factory.mktemp("tone") / "tone.wav"
    playing = Playing(0.6, (FLUTTER,), hole_mm=HOLE_MM, radius_mm=RADIUS_MM)
    return last_of(RecordedTone.read(written(path, CUT, playing)))


def tone(told: RecordedTone, **more: Any) -> Tone:
    return Tone(recorded=told, **more)


def heard(error_percent: float, **more: Any) -> RecordedTone:
    """Return the figures of a tone so much too fast, as a file of half a minute gives them."""
    hz = 3150.0 * (1.0 + error_percent / 100.0)
    band = {"kind": "speed", "side": "both", "hz": hz, "start_s": 0, "end_s": 30, "level_db": -10}
    speed = {"hz": hz, "nominal_hz": 3150.0, "start_s": 0.0, "seconds": 30.0}
    return RecordedTone.model_validate(
        {"file": "tone.wav", "seconds": 30.0, "channels": 2, "bands": [band], "speed": speed} | more
    )


def with_strobe(seconds: float = 60.0) -> Strobe:
    return Strobe(direction="standing", drifted_bars=0.0, seconds=seconds)


def test_a_file_tells_what_varies_and_how_far_off_centre_the_record_lies(
    played: RecordedTone,
) -> None:
    said = assessed(context("speed", [tone(played, radius_mm=RADIUS_MM)]))
    # 0.9969 of the peak of a 4 Hz sine is exceeded 5 % of the time (derived in trade's own words:
    # p sin(0.95 pi / 2)); its weighting is 0 dB at 4 Hz (AES6-2008, second-hand).
    assert value(said, "fluctuation_steady") == pytest.approx(0.0997, rel=0.03)
    # A hole e off centre swings the groove by e / r (derived): 0.2 mm at 100 mm, 0.2 %.
    assert value(said, "once_per_turn") == pytest.approx(0.2, rel=0.03)
    off = figure_of(said, "off_centre")
    assert (off.value, off.unit) == (pytest.approx(HOLE_MM, rel=0.03), "mm")
    assert value(said, "fluctuation") > value(said, "fluctuation_steady")
    # 0.6 % is further off than any record may be cut (0.5 %, IEC 60098): it is the deck's.
    assert figure_of(said, "speed_error_33").value == pytest.approx(0.6, abs=0.005)


def test_without_a_radius_both_ends_of_the_record_are_said(played: RecordedTone) -> None:
    said = assessed(context("speed", [tone(played)]))
    assert said.figure("off_centre") is None
    notes = " ".join(map(Numbers().text, said.notes))
    assert "0.12\u00a0mm off centre at a radius of 60" in notes
    assert "A strobe is better for the mean" in notes
    assert "clock (0.01\u00a0%)" in notes  # 50 to 100 ppm: practice, no source
    assert "AES6" in notes


def test_the_log_keeps_the_fingerprint_of_the_file(played: RecordedTone, tmp_path: Path) -> None:
    path = written(tmp_path / "a.flac", CUT, Playing(seed=3))
    told = last_of(RecordedTone.read(path))
    assert told.sha256 == hashlib.sha256(path.read_bytes()).hexdigest() != played.sha256
    assert (told.file, told.rate, told.channels) == ("a.flac", 44_100, 2)
    assert RecordedTone.model_validate_json(told.model_dump_json()) == told


def test_a_mean_within_what_a_record_may_be_off_is_read_by_strobe() -> None:
    said = assessed(context("speed", [tone(heard(0.2))]))
    assert said.verdict is Verdict.READ_AGAIN
    assert said.next_reading is not None
    assert said.next_reading.way == "strobe"
    bare = deck(bench={"has_strobe_lamp": False, "has_speed_meter": False})
    said = assessed(context("speed", [tone(heard(0.2))], on=bare))
    assert said.next_reading is not None
    assert said.next_reading.way == "timed turns"


def test_a_strobe_says_the_mean_and_the_tone_what_varies() -> None:
    for order in (1, -1):
        read = [tone(heard(0.45)), with_strobe()][::order]
        said = assessed(context("speed", read))
        assert figure_of(said, "speed_error_33").value == pytest.approx(0.0, abs=1e-4)
        assert said.verdict is Verdict.GOOD


def test_far_off_by_the_tone_alone_is_trimmed_until_a_record_can_tell_no_more() -> None:
    said = assessed(context("speed", [tone(heard(2.5))]))
    assert said.verdict is Verdict.MOVE
    assert said.next_move is not None
    assert said.next_move.parts[0].amount < 0.0


def test_a_record_that_is_cut_better_settles_the_mean() -> None:
    cut = deck(bench={"record_cut_percent": 0.05})
    said = assessed(context("speed", [tone(heard(0.1))], on=cut))
    assert said.verdict is Verdict.GOOD


def test_the_tone_of_the_record_that_was_played_is_taken() -> None:
    own = [{"label": "Speed", "hz": 3140.0, "is_for_speed": True}]
    bench = {"test_record": "own", "record_bands": own, "record_cut_percent": 0.01}
    said = assessed(context("speed", [tone(heard(0.0))], on=deck(bench=bench)))
    # 10 Hz too many; a hundredth of 3140 Hz is 31.4, and 10 of those are 0.3185 of it.
    assert figure_of(said, "speed_error_33").value == pytest.approx(0.3185, abs=5e-5)


@pytest.mark.parametrize("fault", ["dropped", "other_speed", "tone_unknown"])
def test_a_spoilt_recording_is_asked_about_and_counts_for_nothing(fault: str) -> None:
    spoilt = tone(heard(0.0, faults=[{"fault": fault}]))
    said = assessed(context("speed", [with_strobe(), spoilt]))
    assert said.verdict is Verdict.READ_AGAIN
    assert said.headline.values["fault"] == fault
    assert said.next_reading is not None
    assert said.next_reading.way == "tone"
    assert said.figure("fluctuation") is None


def test_a_deck_on_another_of_its_speeds_is_asked_about() -> None:
    said = assessed(context("speed", [tone(heard(35.0))]))  # 45 in place of 33 1/3: 1.35
    assert said.headline.values["fault"] == "other_speed"


def test_what_is_only_to_be_known_stands_beside_the_figures() -> None:
    said = assessed(context("speed", [tone(heard(0.0, faults=[{"fault": "clicks"}]))]))
    assert any("clicks" in Numbers().text(one) for one in said.notes)


@pytest.mark.parametrize(
    "fault", ["mono", "one_channel", "dead_left", "dead_right", "swapped", "opposed", "clipping"]
)
def test_what_does_no_harm_to_speed_counts_and_is_told(fault: str) -> None:
    spared = tone(heard(0.45, faults=[{"fault": fault}]))
    said = assessed(context("speed", [spared, with_strobe()]))
    assert said.verdict is Verdict.GOOD
    notes = [Numbers().text(one) for one in (*said.notes, *spared.recorded.told())]
    told = [one for one in notes if "here" in one]
    assert len(told) == 2, "beside the file and beside the figures"
    assert not any("record again" in one for one in notes), "nobody need do this one again"


def stereo(left: np.ndarray, right: np.ndarray) -> np.ndarray:
    return np.stack([left, right], axis=1)


SECOND = np.arange(4 * 44_100) / 44_100


@pytest.mark.parametrize(
    ("sound", "said"),
    [
        (np.zeros((4 * 44_100, 2)), "silent"),
        (np.random.default_rng(1).normal(0, 0.1, (4 * 44_100, 2)), "No steady tone"),
        (np.tile(0.3 * np.sin(2 * np.pi * 1000 * SECOND)[:, None], 2), "No tone for speed"),
    ],
    ids=["silence", "noise", "another tone"],
)
def test_what_holds_no_tone_for_speed_is_refused(
    tmp_path: Path, sound: np.ndarray, said: str
) -> None:
    path = tmp_path / "odd.wav"
    soundfile.write(path, sound, 44_100)
    with pytest.raises(RecordingProblem, match=said):
        last_of(RecordedTone.read(path))


def test_words_named_as_sound_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "words.wav"
    path.write_text("These are words, and no sound.", encoding="utf-8")
    with pytest.raises(RecordingProblem, match="is not a sound file"):
        last_of(RecordedTone.read(path))


def test_one_channel_is_enough_for_speed(tmp_path: Path) -> None:
    path = written(tmp_path / "mono.wav", CUT, Playing(), shaped=lambda sound: sound[:, :1])
    told = last_of(RecordedTone.read(path))
    assert told.known_faults() == (HeardFault.ONE_CHANNEL,)
    assert told.speed is not None


def test_a_tone_is_listened_to_as_long_as_that_makes_it_surer_and_no_longer() -> None:
    def spread(seconds: float) -> float:
        speed = {"hz": 3150.0, "nominal_hz": 3150.0, "start_s": 0.0, "seconds": seconds}
        read, _ = tone(heard(0.0, speed=speed)).rpm_read(100.0 / 3.0, deck())
        return read.standard_uncertainty

    enough = RecordedTone.LIVE_S
    assert spread(0.5 * enough) == pytest.approx(2.0 * spread(enough))
    assert spread(2.0 * enough) == pytest.approx(spread(enough))
