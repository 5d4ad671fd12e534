"""``python -m core.practice``: the table, and one clear sentence for bad input."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from core.practice.__main__ import main
from core.practice.proof.many_fittings import fit_decks

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[4]


def test_it_prints_a_table(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--decks", "2", "--seed", "3", "--difficulty", "gentle"]) == 0
    shown = capsys.readouterr().out
    assert "2 practice decks, seed 3, gentle" in shown
    assert "final_downforce" in shown


def test_it_tells_one_deck_entry_by_entry(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--seed", "3", "--deck", "1"]) == 0
    assert "rough_downforce: read" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--decks", "0"], "whole number of decks from 1"),
        (["--decks", "many"], "“many” won't do"),
        (["--decks", "-5"], "“-5” won't do"),
        (["--seed", "-4"], "“-4” won't do"),
        (["--seed", "1.5"], "“1.5” won't do"),
        (["--difficulty", "hard"], "give one of gentle, ordinary, bad-day"),
        (["--workers", "0"], "“0” won't do"),
        (["--tables", "3"], "--tables"),
    ],
)
def test_bad_input_is_one_sentence_and_2(
    arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert words in said
    assert said.count("\n") == 1
    assert said.endswith(".\n")


def test_where_the_harness_is_not_installed_it_says_so_in_one_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("core.practice.__main__.find_spec", lambda _: None)
    assert main([]) == 2
    said = capsys.readouterr().err
    assert "a checkout of the source" in said
    assert said.count("\n") == 1


def test_the_wheel_leaves_the_harness_out() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    left_out = project["tool"]["hatch"]["build"]["targets"]["wheel"]["exclude"]
    assert "core/practice/proof" in left_out
    assert "core/practice/played_record.py" not in left_out  # rehearsals play it
    assert all((ROOT / place).exists() for place in left_out)


def test_side_by_side_gives_the_same_runs_in_the_same_order() -> None:
    assert fit_decks(2, 2, workers=2) == fit_decks(2, 2)


def test_recordings_are_set_beside_eye_and_ear_on_the_same_decks(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["--decks", "3", "--seed", "5", "--recorded"]) == 0
    told = capsys.readouterr().out
    rows = [line for line in told.splitlines() if line.startswith(("tilt", "skating"))]
    assert [row[9:27].strip() for row in rows] == [
        "by recording",
        "by bands and ear",
        "by eye and ear",
    ] * 2
    assert "Unsafe prompts and orders: 0; never ended: 0." in told
    away = re.findall(r"From least leak (by [a-z ]+): +half within ([0-9.]+)", told)
    assert [name for name, _ in away] == ["by recording", "by bands and ear", "by eye and ear"]
    assert all(float(half) < 3.0 for _, half in away), "an eye can't see what leaks, but it sees"
