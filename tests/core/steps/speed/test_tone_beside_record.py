"""A tone beside the test record that was chosen: its own tone, its speed, and what disagrees."""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import Assessment, Verdict
from core.language import Numbers
from core.practice.played_record import CutBand, Playing
from core.recordings import RecordingProblem
from core.records import BandUse, CutRecord, RecordBand, RecordPlayed
from core.steps.speed import Tone
from core.steps.speed.tone import RecordedTone
from tests.examples import deck
from tests.kit import assessed, context, figure_of
from tests.sounding import last_of, written

LONG_PLAYING, SINGLE = 100.0 / 3.0, 45.0


def record(hz: float = 3000.0, rpm: float = LONG_PLAYING, cut: float = 0.02) -> RecordPlayed:
    bands = (RecordBand(label="Speed", kind=BandUse.SPEED, hz=hz),)
    return RecordPlayed(
        id="a", record=CutRecord(name="Record A", rpm=rpm, cut_percent=cut, bands=bands)
    )


def tone(hz: float, played: RecordPlayed, **more: Any) -> Tone:
    band = {"kind": "speed", "side": "both", "hz": hz, "start_s": 0, "end_s": 30, "level_db": -10}
    speed = {"hz": hz, "nominal_hz": 3000.0, "start_s": 0.0, "seconds": 30.0}
    told = {"file": "a.wav", "seconds": 30.0, "channels": 2, "bands": [band], "speed": speed}
    return Tone(recorded=RecordedTone.model_validate(told | {"record": played}), **more)


def said_of(*tones: Tone) -> tuple[Assessment, str]:
    said = assessed(
        context("speed", list(tones), on=deck(platter={"speeds_rpm": (LONG_PLAYING, SINGLE)}))
    )
    return said, Numbers().text(said.headline).replace("\u00a0", " ")


@pytest.mark.parametrize("hz", [3000.0, 3150.0, 1000.0])
def test_every_record_is_judged_by_its_own_tone(hz: float) -> None:
    said, _ = said_of(tone(hz * 1.002, record(hz)))  # 0.2 % fast, by the record's own tone
    assert figure_of(said, "speed_error_33").value == pytest.approx(0.2, abs=1e-6)


def test_how_true_the_record_was_cut_goes_into_the_mean() -> None:
    true, _ = said_of(tone(3000.0, record(cut=0.02)))
    rough, _ = said_of(tone(3000.0, record(cut=0.5)))
    narrow, wide = (figure_of(one, "speed_error_33").half_width for one in (true, rough))
    assert narrow is not None
    assert wide is not None
    # evenly likely within the limits: 1.96 * 0.5 / sqrt(3) = 0.566 (derived)
    assert wide == pytest.approx(0.566, abs=0.01)
    assert narrow < 0.03
    assert true.verdict is Verdict.GOOD


def test_a_long_playing_record_tells_the_speed_of_45_too() -> None:
    """Played at 45 it sounds 45 / 33 1/3 = 1.35 times higher (derived)."""
    said, _ = said_of(tone(3000.0, record()), tone(3000.0 * 1.35 * 1.001, record(), speed_rpm=45.0))
    assert figure_of(said, "speed_error_45").value == pytest.approx(0.1, abs=1e-6)


def test_a_tone_as_at_another_speed_asks_which_was_set() -> None:
    said, words = said_of(tone(3000.0 * 1.35, record()))
    assert said.verdict is Verdict.READ_AGAIN
    assert "The tone lies at 4050 Hz, as Record A has it at 45 rpm" in words
    assert said.next_reading is not None
    assert said.next_reading.way == "tone"
    assert not [one for one in said.figures if one.key.startswith("speed_error")]


def test_a_single_read_as_if_at_33_asks_too() -> None:
    _, words = said_of(tone(3000.0, record(rpm=SINGLE)))  # the deck was at 45, the form says 33 1/3
    assert "as Record A has it at 45 rpm; the reading was taken for 33⅓" in words


def test_a_tone_of_another_record_asks_for_it_and_once_more_is_believed() -> None:
    odd = tone(3150.0, record())  # 5 % from 3,000 Hz: the usual other tone
    said, words = said_of(odd)
    assert said.verdict is Verdict.READ_AGAIN
    assert "where Record A has 3000 Hz. Is another test record on the deck" in words
    said, _ = said_of(odd, tone(3150.5, record()))
    assert figure_of(said, "speed_error_33").value == pytest.approx(5.0167, abs=0.001)


def test_within_three_percent_nothing_is_asked() -> None:
    said, _ = said_of(tone(3000.0 * 1.029, record()))
    assert figure_of(said, "speed_error_33").value == pytest.approx(2.9, abs=1e-6)


def test_a_file_of_1_khz_is_read_by_the_record_and_one_of_another_tone_refused(
    tmp_path: Any,
) -> None:
    path = written(tmp_path / "a.wav", (CutBand(1000.0, 8.0),), Playing(0.3))
    told = last_of(RecordedTone.read(path, record(1000.0)))
    assert told.speed is not None
    assert told.speed.nominal_hz == 1000.0
    assert told.speed.hz == pytest.approx(1003.0, abs=0.02)
    with pytest.raises(RecordingProblem, match=r"none near that was found.*lies at 1003"):
        last_of(RecordedTone.read(path, record(3000.0)))


def test_a_long_playing_record_at_45_is_heard_turning_at_45(tmp_path: Any) -> None:
    playing = Playing(hole_mm=0.3, rpm=45.0)
    path = written(tmp_path / "a.wav", (CutBand(3000.0 * 1.35, 12.0),), playing)
    told = last_of(RecordedTone.read(path, record()))
    assert told.speed is not None
    assert told.speed.rpm == pytest.approx(45.0)
    assert told.speed.once_per_turn_percent == pytest.approx(0.3, rel=0.05)
