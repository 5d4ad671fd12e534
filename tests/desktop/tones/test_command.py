"""``setdown tone`` as a person or a script calls it."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from core.practice.played_record import CutBand, Playing, Wave
from desktop import __main__ as entry
from desktop.tones.command import WRONG
from tests.sounding import pieces_of

RATE = 48_000
CUT = (
    CutBand(3150.0, 12.0, gap_s=1.0),
    CutBand(1000.0, 5.0, "left"),
    CutBand(1000.0, 5.0, "right", gap_s=1.0),
)
PLAYING = Playing(
    speed_percent=0.25,
    waves=(Wave(4.0, 0.1),),
    hole_mm=0.2,
    into_left=(-28.0, 20.0),
    into_right=(-24.0, -150.0),
    lead_in_s=1.5,
)
KEYS = {
    *("speed_error_percent", "fluctuation_weighted_percent", "fluctuation_unweighted_percent"),
    *("once_per_turn_percent", "bands", "warnings"),
}
BAND_KEYS = {
    *("kind", "side", "start_s", "end_s", "level_db", "leak_db", "leak_deg", "distortion_percent"),
}


def write(path: Path, **kind: str) -> Path:
    with soundfile.SoundFile(path, "w", RATE, 2, **kind) as file:
        for piece in pieces_of(CUT, PLAYING, RATE):
            for part in np.array_split(piece, 40):  # Ogg's writer wants small ones
                file.write(part)
    return path


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(tmp_path_factory.mktemp("sound") / "side one.wav", subtype="PCM_24")


def tell(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert entry.main(["tone", *words]) == 0
    return capsys.readouterr().out


def test_the_object_holds_every_figure(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = json.loads(tell(capsys, str(recording), "--json"))
    assert told.keys() >= KEYS
    assert told["speed_error_percent"] == pytest.approx(0.25, abs=0.002)
    assert told["once_per_turn_percent"] == pytest.approx(0.2, rel=0.03)  # 0.2 mm at 100 mm
    assert told["steady_weighted_percent"] == pytest.approx(0.0997, rel=0.03)
    speed, left, right = told["bands"]
    assert all(band.keys() >= BAND_KEYS for band in told["bands"])
    assert [band["side"] for band in told["bands"]] == ["both", "left", "right"]
    assert [band["kind"] for band in told["bands"]] == ["speed", "separation", "separation"]
    assert speed["leak_db"] is None
    assert (left["leak_db"], left["leak_deg"]) == (
        pytest.approx(-24.0, abs=0.2),
        pytest.approx(-150.0, abs=2.0),
    )
    assert (right["leak_db"], right["leak_deg"]) == (
        pytest.approx(-28.0, abs=0.2),
        pytest.approx(20.0, abs=2.0),
    )
    assert told["warnings"] == []


def test_what_is_not_found_is_null(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "noise.wav"
    soundfile.write(path, 0.1 * np.random.default_rng(1).standard_normal((RATE * 3, 2)), RATE)
    told = json.loads(tell(capsys, str(path), "--json"))
    assert told.keys() >= KEYS
    assert [told[key] for key in sorted(KEYS - {"bands", "warnings"})] == [None] * 4
    assert told["bands"] == []
    assert len(told["warnings"]) == 1
    assert "No steady tone was found" in told["warnings"][0]


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("a.wav", {"subtype": "PCM_16"}),
        ("a.wav", {"subtype": "FLOAT"}),
        ("a.rf64", {"format": "RF64", "subtype": "PCM_24"}),
        ("a.aiff", {"subtype": "PCM_24"}),
        ("a.flac", {"subtype": "PCM_24"}),
        ("a.ogg", {"subtype": "VORBIS"}),
        ("a.mp3", {"subtype": "MPEG_LAYER_III"}),
    ],
)
def test_every_kind_of_file_tells_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, kind: dict[str, str]
) -> None:
    told = json.loads(tell(capsys, str(write(tmp_path / name, **kind)), "--json"))
    assert told["speed_error_percent"] == pytest.approx(0.25, abs=0.002)
    assert told["steady_weighted_percent"] == pytest.approx(0.0997, rel=0.05)
    assert [band["side"] for band in told["bands"]] == ["both", "left", "right"]


def test_a_person_is_told_in_sentences(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = tell(capsys, str(recording), "--locale", "de_DE")
    assert "The record ran 0,25\u00a0% fast" in said
    assert "Trust a strobe for the mean" in said
    assert "as from a hole 0,12\u00a0mm off centre at a radius of 60\u00a0mm" in said
    assert "1002\u00a0Hz on the left" in said


def test_the_tone_and_the_speed_may_be_named(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = (str(recording), "--json", "--nominal", "3160", "--rpm", "45")
    told = json.loads(tell(capsys, *words))
    # 3150 turned 0.25 % fast is 3157.875 Hz: 0.0673 % under 3160
    assert told["speed_error_percent"] == pytest.approx(-0.0673, abs=0.002)
    assert told["rpm"] == 45.0
    assert told["once_per_turn_percent"] < 0.05  # the hole is seen at 33⅓ alone


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "There is no file"),
        (b"", "holds no sound"),
        (b"no sound at all, only words" * 40, "is not a sound file that can be read"),
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", "is not a sound file that can be read"),
    ],
)
def test_what_is_no_recording_gets_one_sentence(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], content: bytes | None, said: str
) -> None:
    path = tmp_path / "odd.wav"
    if content is not None:
        path.write_bytes(content)
    assert entry.main(["tone", str(path), "--json"]) == WRONG
    out, err = capfd.readouterr()
    assert said in err
    assert err.count("\n") == 1
    told = json.loads(out)
    assert told.keys() >= KEYS
    assert [told[key] for key in sorted(KEYS - {"bands", "warnings"})] == [None] * 4
    assert (told["bands"], told["warnings"]) == ([], [err.strip()])


def test_the_keys_are_the_same_whether_a_file_can_be_read_or_not(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = json.loads(tell(capsys, str(recording), "--json"))
    assert entry.main(["tone", str(tmp_path / "none.wav"), "--json"]) == WRONG
    assert json.loads(capsys.readouterr().out).keys() == whole.keys()


def test_a_folder_is_no_recording(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert entry.main(["tone", str(tmp_path)]) == WRONG
    assert "is a folder" in capsys.readouterr().err


@pytest.mark.parametrize("kept", [0.5, 0.05])
def test_a_file_cut_short_tells_what_it_holds(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], kept: float
) -> None:
    whole = recording.read_bytes()
    path = tmp_path / "cut.wav"
    path.write_bytes(whole[: int(kept * len(whole))])
    told = json.loads(tell(capsys, str(path), "--json"))
    assert told["seconds"] == pytest.approx(kept * 25.5, abs=0.1)


@pytest.mark.parametrize(
    ("name", "kind", "says"),
    [
        ("a.wav", {"subtype": "PCM_16"}, "its header says 25.5\u00a0s"),
        ("a.wav", {"subtype": "FLOAT"}, "its header says 25.5\u00a0s"),
        ("a.rf64", {"format": "RF64", "subtype": "PCM_24"}, "its header says 25.5\u00a0s"),
        ("a.w64", {"format": "W64", "subtype": "PCM_24"}, "its header says 25.5\u00a0s"),
        ("a.aiff", {"subtype": "PCM_24"}, "its header says 25.5\u00a0s"),
        ("a.ogg", {"subtype": "VORBIS"}, "without its end mark"),
    ],
)
def test_a_file_cut_short_says_so(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    name: str,
    kind: dict[str, str],
    says: str,
) -> None:
    path = write(tmp_path / name, **kind)
    assert json.loads(tell(capsys, str(path), "--json"))["faults"] == []
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    told = json.loads(tell(capsys, str(path), "--json"))
    assert told["speed_error_percent"] == pytest.approx(0.25, abs=0.005)
    assert told["faults"] == [{"name": "cut_short", "spoils": []}]
    ends = float(told["warnings"][0].removeprefix("The file ends after ").split("\u00a0s")[0])
    assert ends == pytest.approx(told["seconds"], abs=0.06)
    assert says in told["warnings"][0]
    assert says in tell(capsys, str(path))


@pytest.mark.parametrize("size", [0xFFFFFFFF, 0x7FFFFFFF])
def test_a_header_written_before_the_size_was_known_claims_nothing(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], size: int
) -> None:
    content = bytearray(recording.read_bytes())
    at = content.index(b"data") + 4
    content[4:8] = content[at : at + 4] = size.to_bytes(4, "little")
    path = tmp_path / "piped.wav"
    path.write_bytes(content)
    assert json.loads(tell(capsys, str(path), "--json"))["warnings"] == []


def test_a_decoder_s_own_words_are_kept_back(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    path = write(tmp_path / "a.mp3")
    content = bytearray(path.read_bytes())
    content[20_000:20_400] = bytes(400)
    path.write_bytes(content)
    assert entry.main(["tone", str(path)]) == 0
    out, err = capfd.readouterr()
    assert "The record ran" in out
    assert err == ""


@pytest.mark.parametrize("ending", ["wav", "flac", "aiff", "mp3"])
def test_any_damage_ends_in_figures_or_a_sentence(
    recording: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str], ending: str
) -> None:
    sound, _ = soundfile.read(recording, RATE * 4)
    path = tmp_path / f"a.{ending}"
    soundfile.write(path, sound, RATE)
    whole, rng = path.read_bytes(), np.random.default_rng(1)
    for trial in range(12):
        content = np.frombuffer(whole, np.uint8).copy()
        among = 100 if trial % 2 else content.size
        content[rng.integers(among, size=10)] = rng.integers(256, size=10)
        cut = int(rng.integers(content.size)) if trial % 3 == 0 else content.size
        path.write_bytes(content[:cut].tobytes())
        code = entry.main(["tone", str(path), "--json"])
        out, err = capfd.readouterr()
        assert json.loads(out).keys() >= KEYS
        assert (code, err.count("\n")) in ((0, 0), (WRONG, 1)), err


def test_a_rate_that_is_none_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "slow.wav"
    soundfile.write(path, np.zeros((500, 2)), 1000)
    assert entry.main(["tone", str(path)]) == WRONG
    assert "is sampled at 1000\u00a0Hz" in capsys.readouterr().err


@pytest.mark.parametrize("words", [("--nominal", "loud"), ("--rpm", "0"), ("--nominal", "nan")])
def test_a_wrong_number_is_named(
    recording: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, str]
) -> None:
    with pytest.raises(SystemExit):
        entry.main(["tone", str(recording), *words])
    said = capsys.readouterr().err
    assert words[1] in said
    assert {"--nominal": "like 3150", "--rpm": "like 33.33"}[words[0]] in said


@pytest.mark.parametrize(("where", "words"), [(">&-", []), ("> /dev/full", ["--json"])])
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="only Linux has a full device")
def test_figures_that_find_no_place_are_missed_in_one_sentence(
    recording: Path, where: str, words: list[str]
) -> None:
    line = shlex.join([sys.executable, "-W", "error", "-m", "desktop", "tone", *words])
    done = subprocess.run(
        ["/bin/sh", "-c", f'{line} "$0" {where}', str(recording)],
        cwd=Path(__file__).parents[3],
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    assert done.stderr.startswith("What was found could not be printed.")
    assert done.stderr.count("\n") == 1
    assert done.returncode == WRONG


def test_start_up_and_help_wait_for_no_sound(tmp_path: Path) -> None:
    """What reads sound is imported with the first file; nothing else brings it."""
    code = (
        "import sys, os\n"
        "from desktop.__main__ import main\n"
        "import core.tones, core.recordings, desktop.shell.app, desktop.tones.command\n"
        "try:\n    main(['tone', '--help'])\nexcept SystemExit:\n    pass\n"
        "print(sorted({'soundfile', 'miniaudio', 'scipy', 'cffi'} & set(sys.modules)))\n"
    )
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "XDG_DATA_HOME": str(tmp_path)}
    result = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[3],
        env=environment,
        timeout=120,
        check=False,
    )
    assert "--nominal HZ" in result.stdout
    assert result.stdout.endswith("[]\n"), result.stdout + result.stderr
