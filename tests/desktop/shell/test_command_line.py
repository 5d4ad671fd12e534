from __future__ import annotations

import argparse
import sys
from pathlib import Path

import pytest

from desktop import __main__ as entry
from desktop.shell.command_line import Options, Subcommand, options_from, parser_with


def test_without_arguments_the_systems_own_ways_hold() -> None:
    assert options_from(parser_with(()).parse_args([])) == Options()


def test_every_option_is_taken() -> None:
    words = [
        "--library",
        "a.library",
        "--scheme",
        "dark",
        "--locale",
        "de_DE",
        "--who",
        "Ada",
        "--text-scale",
        "1,5",
    ]
    assert options_from(parser_with(()).parse_args(words)) == Options(
        Path("a.library"), "dark", "de_DE", "Ada", 1.5
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--text-scale", "big"], "'big' is no number"),
        (["--text-scale", "nan"], "outside 1.0 to 2.0"),
        (["--text-scale", "2.5"], "outside 1.0 to 2.0"),
        (["--locale", "German!"], "no locale name"),
        (["--scheme", "pink"], "invalid choice"),
        (["--library"], "expected one argument"),
        (["unasked"], "invalid choice: 'unasked'"),
    ],
)
def test_a_wrong_option_is_named_and_nothing_starts(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as left:
        entry.main(words)
    assert left.value.code == 2
    assert said in capsys.readouterr().err


def test_the_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert entry.main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("setdown ")


def test_a_subcommand_runs_without_the_window(monkeypatch: pytest.MonkeyPatch) -> None:
    def arguments(parser: argparse.ArgumentParser) -> None:
        parser.add_argument("--times", type=int, default=1)

    command = Subcommand("count", "Counts.", arguments, lambda parsed: int(parsed.times))
    monkeypatch.setattr(entry, "SUBCOMMANDS", (command,))
    monkeypatch.setitem(sys.modules, "desktop.shell.app", None)  # importing the window would fail
    assert entry.main(["count", "--times", "7"]) == 7
