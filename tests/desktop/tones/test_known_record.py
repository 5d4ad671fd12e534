"""``--record``: the record's own words, and the faults that only the record shows."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from core.practice.played_record import CutBand, PlayedOn, Playing
from core.recordings import record_named
from core.records import CutRecord
from core.store import Library
from core.store.exporting import of_library, of_test_records, write_document
from desktop import __main__ as entry
from desktop.tones.command import WRONG
from tests.sounding import pieces_of

RATE = 44_100
RECORD = "Example test record, 12-inch"
SIDES: tuple[PlayedOn, ...] = ("left", "right")
CUT = (
    CutBand(3150.0, 6.0, gap_s=1.0),
    *(CutBand(1000.0, 3.0, side) for side in SIDES),
    *(CutBand(315.0, 3.0, peak=0.1 * 10 ** (step / 10.0)) for step in range(4)),
)


def described(path: Path, *tones_hz: float) -> str:
    """Write a record of one tone for speed and others, and return its path."""
    first, *others = tones_hz
    bands = [
        {"label": "Speed", "kind": "speed", "hz": first},
        *({"label": f"At {hz:g}", "kind": "level", "hz": hz} for hz in others),
    ]
    own = path / "own.json"
    own.write_text(json.dumps({"name": "Made up", "bands": bands}), "utf-8")
    return str(own)


@pytest.mark.parametrize(
    ("tones_hz", "wanted"),
    [((3000.0,), 3000), ((2222.0, 777.0), 2222), ((2222.0, 1000.0), 2222)],
)
def test_a_tone_of_another_record_is_asked_about_and_tells_no_speed(
    tmp_path: Path,
    sound: np.ndarray,
    capsys: pytest.CaptureFixture[str],
    tones_hz: tuple[float, ...],
    wanted: int,
) -> None:
    own = described(tmp_path, *tones_hz)
    told = figures(tmp_path, sound, capsys, own)
    assert (told["speed_error_percent"], told["once_per_turn_percent"]) == (None, None)
    assert "other_record" in names(told)
    asked = (
        f"The tone lies at 3156\u00a0Hz, where Made up has {wanted}\u00a0Hz. Is it another record"
    )
    assert any(asked in one for one in told["warnings"])
    assert entry.main(["tone", str(tmp_path / "a.wav"), "--record", own]) == 0
    said = capsys.readouterr().out
    assert asked in said
    assert "fast" not in said
    assert "off centre" not in said


def test_a_deck_two_percent_off_is_told_as_the_deck_s(
    tmp_path: Path, sound: np.ndarray, capsys: pytest.CaptureFixture[str]
) -> None:
    told = figures(tmp_path, sound, capsys, described(tmp_path, 3090.0, 1000.0, 315.0))
    assert told["speed_error_percent"] == pytest.approx(100.0 * (3156.3 / 3090.0 - 1.0), abs=0.01)
    assert "other_record" not in names(told)


@pytest.fixture(scope="module")
def sound() -> np.ndarray:
    return np.concatenate(list(pieces_of(CUT, Playing(0.2), RATE)))


def figures(
    path: Path, sound: np.ndarray, capsys: pytest.CaptureFixture[str], record: str = RECORD
) -> dict:  # type: ignore[type-arg]  # as it is read from JSON
    soundfile.write(path / "a.wav", sound, RATE, subtype="PCM_24")
    assert entry.main(["tone", str(path / "a.wav"), "--record", record, "--json"]) == 0
    told: dict = json.loads(capsys.readouterr().out)  # type: ignore[type-arg]  # the same
    return told


def names(told: dict) -> list[str]:  # type: ignore[type-arg]  # as it is read from JSON
    return [one["name"] for one in told["faults"]]


def test_bands_have_the_record_s_own_words(
    tmp_path: Path, sound: np.ndarray, capsys: pytest.CaptureFixture[str]
) -> None:
    told = figures(tmp_path, sound, capsys)
    assert [band["label"] for band in told["bands"]] == [
        "Speed",
        "Separation, left",
        "Separation, right",
        *(f"Tracking, +{level} dB" for level in (12, 14, 16, 18)),
    ]
    assert told["nominal_hz"] == 3150.0
    assert names(told) == []


def test_a_recording_of_a_part_is_set_where_it_belongs(
    tmp_path: Path, sound: np.ndarray, capsys: pytest.CaptureFixture[str]
) -> None:
    told = figures(tmp_path, sound[int(7.5 * RATE) : int(14.5 * RATE)], capsys)
    assert [band["label"] for band in told["bands"]] == [
        "Separation, left",
        "Separation, right",
        "Tracking, +12 dB",
    ]


def test_exchanged_channels_are_told(
    tmp_path: Path, sound: np.ndarray, capsys: pytest.CaptureFixture[str]
) -> None:
    told = figures(tmp_path, sound[:, ::-1], capsys)
    assert names(told) == ["swapped"]
    assert "Left and right are exchanged" in told["warnings"][0]


def test_joined_channels_are_told_though_each_has_its_own_noise(
    tmp_path: Path, sound: np.ndarray, capsys: pytest.CaptureFixture[str]
) -> None:
    both = np.repeat(sound.mean(axis=1, keepdims=True), 2, axis=1)
    both += 1e-4 * np.random.default_rng(1).standard_normal(both.shape)
    assert names(figures(tmp_path, both, capsys)) == ["mono"]


def test_a_document_of_ones_own_is_taken(
    tmp_path: Path, sound: np.ndarray, capsys: pytest.CaptureFixture[str]
) -> None:
    own = {"name": "Mine", "bands": [{"label": "One", "hz": 3160, "is_for_speed": True}]}
    path = tmp_path / "mine.json"
    path.write_text(json.dumps(own), "utf-8")
    told = figures(tmp_path, sound, capsys, str(path))
    assert [band["label"] for band in told["bands"]] == ["One", *[None] * 6]
    # 3150 turned 0.2 % fast is 3156.3 Hz: 0.1171 % under 3160
    assert told["speed_error_percent"] == pytest.approx(-0.1171, abs=0.002)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("Example test record", None, "There is no test record Example test record."),
        ("none.json", None, "There is no file"),
        ("a.json", "{}", "a.json does not describe a test record."),
        ("a.json", "[" * 100_000, "a.json does not describe a test record."),
        ("a.json", '{"name": "x", "bands": [{"label": "y", "hz": NaN}]}', "a test record."),
        ("a.json", '"' + "x" * 300_000 + '"', "a.json does not describe a test record."),
    ],
)
def test_what_is_no_record_gets_one_sentence(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    name: str,
    content: str | None,
    said: str,
) -> None:
    asked = str(tmp_path / name) if name.endswith("json") else name
    if content is not None:
        (tmp_path / name).write_text(content, "utf-8")
    assert entry.main(["tone", str(tmp_path), "--record", asked]) == WRONG
    err = capsys.readouterr().err
    assert said in err
    assert err.count("\n") == 1


def test_the_records_that_come_along_are_whole() -> None:
    for name, rpm in ((RECORD, 33.333), ("example TEST record, 7-inch at 45", 45.0)):
        record = record_named(name)
        assert isinstance(record, CutRecord)
        assert record.rpm == pytest.approx(rpm, abs=0.001)
        assert record.nominal_hz in (3150.0, 3000.0)
        assert {band.side.value for band in record.bands} == {"left", "right", "both"}


def test_a_record_of_the_library_and_an_exported_one_are_known(
    tmp_path: Path, sound: np.ndarray, capsys: pytest.CaptureFixture[str]
) -> None:
    own = record_named(RECORD).model_copy(update={"name": "Bench record"})
    place, exported, whole = (tmp_path / one for one in ("a.library", "one.json", "all.json"))
    with Library.open(place) as library:
        kept = library.keep_test_record(own).id
        write_document(library, exported, of_test_records(library, kept))
        write_document(library, whole, of_library(library))
    soundfile.write(tmp_path / "a.wav", sound, RATE, subtype="PCM_24")
    wav = str(tmp_path / "a.wav")
    for asked in (["bench RECORD", "--library", str(place)], [str(exported)]):
        assert entry.main(["tone", wav, "--json", "--record", *asked]) == 0
        told = json.loads(capsys.readouterr().out)
        assert told["bands"][1]["label"] == "Separation, left"
    assert entry.main(["tone", wav, "--record", str(whole)]) == WRONG
    assert "holds several test records" in capsys.readouterr().err
    missing = ["--library", str(tmp_path / "none" / "b.library")]
    assert entry.main(["tone", wav, "--record", "Bench record", *missing]) == WRONG
    assert capsys.readouterr().err.count("\n") == 1
