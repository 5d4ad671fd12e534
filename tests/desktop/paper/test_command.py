"""``setdown paper`` as scripts call it: a process of its own, no display, no Qt platform set."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from core.fitting import ChoiceMade
from core.store import Library
from desktop import __main__ as entry
from desktop.paper.command import WRONG
from tests.arms import two_arms
from tests.examples import cartridge, deck
from tests.readback import drawing_of, words_of
from tests.worked import Bench

ROOT = Path(__file__).parents[3]
DECK = "Example deck, 9-inch arm, three feet, on paper"


@pytest.fixture
def library(tmp_path: Path) -> Path:
    path = tmp_path / "bench.library"
    with Library.open(path, "Ada") as library:
        kept = library.keep_deck(deck(name=DECK))
        other = library.keep_cartridge(cartridge())
        library.keep_deck(
            deck(
                name="Example parallel arm",
                arm={
                    "kind": "parallel tracking",
                    "pivot_to_spindle_mm": None,
                    "effective_length_mm": 170.0,
                    "offset_deg": 0.0,
                },
            )
        )
        fitting = library.start_fitting(kept.id, other.id)
        worked = Bench().work_all()
        library.append(fitting.id, ChoiceMade(step="alignment", choices={"criterion": "stevenson"}))
        for one in worked.fitting.entries:
            library.append(fitting.id, one.body)
    return path


def run(*words: str, limit_bytes: int | None = None) -> subprocess.CompletedProcess[str]:
    bare = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY")}
    bare.pop("QT_QPA_PLATFORM", None)
    limit = (
        f"import resource as r; r.setrlimit(r.RLIMIT_FSIZE, ({limit_bytes}, {limit_bytes}))"
        if limit_bytes
        else "pass"
    )
    code = f"import sys; {limit}; from desktop.__main__ import main; sys.exit(main())"
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", code, *words],
        cwd=ROOT,
        env=bare,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def paper(*words: str) -> int:
    return entry.main(["paper", *words])


def test_a_script_with_no_display_gets_a_protractor(library: Path, tmp_path: Path) -> None:
    out = tmp_path / "a.pdf"
    done = run("paper", "protractor", "--deck", DECK, "--out", str(out), "--library", str(library))
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert "2 pages" in done.stdout
    assert "100 %" in done.stdout
    # The rule of the deck's last fitting, not the step's default.
    assert "Stevenson" in words_of(out)


def test_a_file_that_can_grow_no_further_leaves_nothing_behind(
    library: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out" / "a.pdf"
    out.parent.mkdir()
    done = run(
        "paper",
        "strobe",
        "--deck",
        DECK,
        "--out",
        str(out),
        "--library",
        str(library),
        limit_bytes=4096,
    )
    assert done.returncode == 2
    assert "no room" in done.stderr
    assert "Traceback" not in done.stderr
    assert list(out.parent.iterdir()) == []


def test_disc_and_sheet_are_written(
    library: Path, tmp_path: Path, qapp: QApplication, capsys: pytest.CaptureFixture[str]
) -> None:
    common = ("--deck", DECK, "--library", str(library))
    disc, sheet = tmp_path / "disc.pdf", tmp_path / "sheet.pdf"
    assert paper("strobe", *common, "--out", str(disc), "--mains", "60", "--paper", "letter") == 0
    assert "120 flashes/s" in words_of(disc)
    assert "seizures" in words_of(disc)
    assert "seizures" in capsys.readouterr().out
    assert paper("sheet", *common, "--out", str(sheet), "--next-check", "March 2026") == 0
    assert "Bench sheet" in words_of(sheet)


def test_a_library_named_before_the_command_is_used_too(
    library: Path, tmp_path: Path, qapp: QApplication
) -> None:
    out = tmp_path / "a.pdf"
    words = ["--library", str(library), "--locale", "de_DE"]
    assert entry.main([*words, "paper", "protractor", "--deck", DECK, "--out", str(out)]) == 0
    assert "60,33 and 117,42 mm" in words_of(out)


def test_options_of_the_protractor(library: Path, tmp_path: Path, qapp: QApplication) -> None:
    out = tmp_path / "a.pdf"
    common = ("protractor", "--deck", DECK, "--library", str(library), "--out", str(out))
    assert paper(*common, "--kind", "grid", "--null-radii", "66", "121") == 0
    assert "66.00 and 121.00 mm" in words_of(out)
    assert paper(*common, "--kind", "arc", "--pivot-to-spindle", "300", "--large", "cut") == 0
    assert "300.00 mm (as measured)" in words_of(out)
    assert paper(*common, "--alignment", "löfgren a", "--grooves", "57.5/146.05") == 0
    assert "63.10 and 119.17 mm" in words_of(out)
    out.unlink()
    parallel = ("protractor", "--deck", "example  PARALLEL arm", "--library", str(library))
    assert paper(*parallel, "--out", str(out)) == 0
    assert "Radius line" in words_of(out)


def test_a_measured_scale_is_kept_and_used_for_that_printer(
    library: Path, tmp_path: Path, qapp: QApplication, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "a.pdf"
    common = ("protractor", "--deck", DECK, "--library", str(library), "--out", str(out))
    assert paper(*common, "--printer", "Desk", "--measured", "145,5", "145.5") == 0
    assert "103.09 %" in capsys.readouterr().out
    longest = max(s.length_mm for s in drawing_of(out).strokes if s.length_mm < 160)
    assert longest * 0.97 == pytest.approx(150.0, abs=0.001)
    assert paper(*common, "--printer", "desk") == 0
    longest = max(s.length_mm for s in drawing_of(out).strokes if s.length_mm < 160)
    assert longest * 0.97 == pytest.approx(150.0, abs=0.001)
    assert paper(*common, "--printer", "desk", "--measured", "150", "150.1") == 0
    assert "True to scale" in capsys.readouterr().out
    assert paper(*common) == 0
    assert max(s.length_mm for s in drawing_of(out).strokes if s.length_mm < 160) == pytest.approx(
        150.0, abs=0.001
    )


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("protractor", "--deck", "Exampel deck, 9-inch"), "Did you mean: Example deck"),
        (("protractor", "--deck", DECK, "--pivot-to-spindle", "100"), "pivot 100 mm"),
        (("protractor", "--deck", DECK, "--null-radii", "121", "66"), "null"),
        (("protractor", "--deck", DECK, "--alignment", "own nulls"), "--null-radii"),
        (("protractor", "--deck", DECK, "--groove-radii", "60", "10"), "radii"),
        (("protractor", "--deck", DECK, "--measured", "149", "149"), "--printer"),
        (("protractor", "--deck", DECK, "--printer", "x", "--measured", "149", "151"), "two diff"),
        (("protractor", "--deck", DECK, "--printer", "x", "--measured", "15", "15"), "too far off"),
        (("strobe", "--deck", DECK, "--flashes", "0"), "can't show anything"),
        (("strobe", "--deck", DECK, "--mains", "0"), "can't show anything"),
        (("strobe", "--deck", DECK, "--flashes", "nan"), "can't show anything"),
        (("strobe", "--deck", DECK, "--flashes", "5000"), "too fine"),
        (("sheet", "--deck", "Example parallel arm"), "no fitting yet"),
        (("sheet", "--deck", DECK, "--fitting", "abc"), "no fitting with the number"),
        (("sheet", "--deck", DECK, "--cartridge", "none such"), "was never fitted"),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_exit_2(
    words: tuple[str, ...],
    told: str,
    library: Path,
    tmp_path: Path,
    qapp: QApplication,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = tmp_path / "out" / "a.pdf"
    out.parent.mkdir()
    assert paper(*words, "--library", str(library), "--out", str(out)) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1
    assert list(out.parent.iterdir()) == []


def test_a_library_that_is_not_there_is_not_begun(
    tmp_path: Path, qapp: QApplication, capsys: pytest.CaptureFixture[str]
) -> None:
    missing = tmp_path / "no.library"
    out = str(tmp_path / "a.pdf")
    assert paper("strobe", "--deck", "x", "--library", str(missing), "--out", out) == 2
    assert "There is no library" in capsys.readouterr().err
    assert not missing.exists()


def test_paths_that_cannot_be_written_are_told(
    library: Path, tmp_path: Path, qapp: QApplication, capsys: pytest.CaptureFixture[str]
) -> None:
    common = ("strobe", "--deck", DECK, "--library", str(library), "--out")
    assert paper(*common, str(tmp_path / "missing" / "a.pdf")) == 2
    assert "no folder" in capsys.readouterr().err
    assert paper(*common, str(tmp_path)) == 2
    assert "is a folder" in capsys.readouterr().err


def test_two_decks_of_one_name_are_told_apart_by_their_numbers(
    library: Path, tmp_path: Path, qapp: QApplication, capsys: pytest.CaptureFixture[str]
) -> None:
    with Library.open(library) as opened:
        second = opened.keep_deck(deck(name=DECK, owner_reference="Shelf 2"))
    out = str(tmp_path / "a.pdf")
    assert paper("strobe", "--deck", DECK, "--library", str(library), "--out", out) == 2
    assert f"{second.id} (Shelf 2)" in capsys.readouterr().err
    assert paper("strobe", "--deck", second.id, "--library", str(library), "--out", out) == 0


def test_whoever_reads_the_words_may_stop_reading(library: Path, tmp_path: Path) -> None:
    out = tmp_path / "sheet.pdf"
    words = ["--library", str(library), "paper", "protractor", "--deck", DECK, "--out", str(out)]
    with subprocess.Popen(
        [sys.executable, "-W", "error", "-m", "desktop", *words],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        said = process.stderr.read()
    assert said == ""
    assert process.returncode == 0
    assert out.exists()


@pytest.mark.parametrize("where", [">&-", "> /dev/full"])
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="only Linux has a full device")
def test_words_that_find_no_place_are_said_beside_the_faults(
    library: Path, tmp_path: Path, where: str
) -> None:
    out = tmp_path / "sheet.pdf"
    words = ["--library", library, "paper", "strobe", "--deck", DECK, "--out", out]
    line = shlex.join(map(str, [sys.executable, "-W", "error", "-m", "desktop", *words]))
    done = subprocess.run(
        ["/bin/sh", "-c", f"{line} {where}"],
        cwd=ROOT,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr.startswith(f"{out}: 1 page.\n")
    assert "Flashing light." in done.stderr
    assert "Traceback" not in done.stderr
    assert out.exists()


def test_a_printer_nobody_measured_is_said(
    library: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = ["--library", str(library), "--deck", DECK, "--out", str(tmp_path / "sheet.pdf")]
    assert paper("protractor", *place, "--printer", "Nobody's") == 0
    assert "No scale is kept for a printer “Nobody's”" in capsys.readouterr().err


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such places")
@pytest.mark.parametrize(
    ("out", "said"), [("/dev/null", "is a device or a pipe"), ("library", "is a library")]
)
def test_a_place_that_takes_no_sheet_is_named_for_what_it_is(
    library: Path, capsys: pytest.CaptureFixture[str], out: str, said: str
) -> None:
    before = library.read_bytes()
    place = str(library) if out == "library" else out
    given = ["--library", str(library), "--deck", DECK, "--out", place]
    assert paper("protractor", *given) == WRONG
    assert said in capsys.readouterr().err
    assert library.read_bytes() == before


def test_an_unknown_deck_in_a_large_library_is_a_short_sentence(
    library: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Library.open(library) as opened, opened.transaction():
        for number in range(300):
            opened.keep_deck(deck(name=f"Shelf {number:03}"))
    given = ["--library", str(library), "--out", str(tmp_path / "sheet.pdf")]
    assert paper("protractor", *given, "--deck", "zzz") == WRONG
    said = capsys.readouterr().err
    assert "more." in said
    assert len(said) < 400


@pytest.mark.parametrize(
    ("what", "told"),
    [
        ("owner", "What was done to your record player"),
        ("history", "Figures over time"),
    ],
)
def test_paper_that_leaves_the_house_comes_from_the_command_too(
    what: str, told: str, library: Path, tmp_path: Path
) -> None:
    out = tmp_path / "sheet.pdf"
    said = run("paper", what, "--library", str(library), "--deck", DECK, "--out", str(out))
    assert (said.returncode, said.stderr) == (0, "")
    assert told in words_of(out)


def test_the_decks_that_are_due_need_no_deck_named(library: Path, tmp_path: Path) -> None:
    out = tmp_path / "due.pdf"
    said = run("paper", "due", "--library", str(library), "--out", str(out))
    assert (said.returncode, said.stderr) == (0, "")
    assert words_of(out).startswith("Due on ")


def test_a_deck_without_a_fitting_has_no_history(library: Path, tmp_path: Path) -> None:
    out = tmp_path / "history.pdf"
    said = run(
        *("paper", "history", "--library", str(library)),
        *("--deck", "Example parallel arm", "--out", str(out)),
    )
    assert said.returncode == WRONG
    assert said.stderr.startswith("“Example parallel arm” has no fitting yet")
    assert not out.exists()


def test_which_arm_is_said_where_a_deck_has_two(
    library: Path, tmp_path: Path, qapp: QApplication, capsys: pytest.CaptureFixture[str]
) -> None:
    with Library.open(library) as open_library:
        open_library.keep_deck(two_arms(name="Two arms"))
    out = tmp_path / "two.pdf"
    common = ("protractor", "--deck", "Two arms", "--library", str(library), "--out", str(out))
    assert paper(*common) == WRONG
    assert "has 2 arms: Front arm; Rear arm" in capsys.readouterr().err
    assert paper(*common, "--arm", "rear ARM") == 0
    rear = words_of(out)
    assert "Rear arm" in rear
    assert paper(*common, "--arm", "Front arm") == 0
    assert "Rear arm" not in words_of(out)
    assert paper(*common, "--arm", "Middle") == WRONG
    assert "no arm called “Middle”" in capsys.readouterr().err
    one = ("protractor", "--deck", DECK, "--library", str(library), "--out", str(out))
    assert paper(*one, "--arm", "Rear arm") == WRONG
    assert "one arm" in capsys.readouterr().err
