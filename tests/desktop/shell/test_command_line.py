from __future__ import annotations

import argparse
import sys
from pathlib import Path

import pytest

from desktop import __main__ as entry
from desktop.shell.command_line import (
    SUBCOMMANDS,
    Options,
    Subcommand,
    options_from,
    parser_with,
    why_not_opened,
    with_files,
    without_files,
)
from desktop.widgets.terminal import Say


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
    def arguments(parser: argparse.ArgumentParser, tr: Say) -> None:
        parser.add_argument("--times", type=int, default=1)

    command = Subcommand("count", lambda _: "Counts.", arguments, lambda parsed: int(parsed.times))
    monkeypatch.setattr(entry, "SUBCOMMANDS", (command,))
    monkeypatch.setitem(sys.modules, "desktop.shell.app", None)  # importing the window would fail
    assert entry.main(["count", "--times", "7"]) == 7


def test_a_document_and_a_library_are_named_without_an_option(tmp_path: Path) -> None:
    document, library = tmp_path / "deck.json", tmp_path / "shop.LIBRARY"
    for path in (document, library):
        path.write_bytes(b"")
    words, files = without_files(
        ["--who", "paper", str(document), "--scheme", "dark", str(library)]
    )
    assert words == ["--who", "paper", "--scheme", "dark"]
    assert files == [document, library]
    assert why_not_opened(files, None) == ""
    options = with_files(options_from(parser_with(()).parse_args(words)), files)
    assert (options.library, options.documents, options.who) == (library, (document,), "paper")


def test_the_words_of_a_subcommand_are_its_own() -> None:
    words = ["--library", "a.library", "tone", "noise.json"]
    assert without_files(words) == (words, [])


def test_a_file_that_can_not_be_opened_is_named_and_nothing_starts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = tmp_path / "list.txt"
    odd.write_text("words", encoding="utf-8")
    first, second = tmp_path / "a.library", tmp_path / "b.library"
    for path in (first, second):
        path.write_bytes(b"")
    for words, said in (
        ([str(tmp_path / "gone.json")], "There is no file"),
        ([str(tmp_path)], "is no file"),
        ([str(odd)], "neither a library (.library) nor a document (.json)"),
        ([str(first), str(second)], "one library"),
        (["--library", str(first), str(second)], "one library"),
    ):
        assert entry.main(words) == 2
        told = capsys.readouterr().err
        assert said in told
        assert told.count("\n") == 1


@pytest.mark.parametrize("words", [["--help"], ["paper", "-h"], ["tone", "--help"]])
def test_every_option_says_what_it_does(words: list[str]) -> None:
    assert without_help(parser_with(SUBCOMMANDS, words)) == []


def test_words_that_nobody_asked_for_are_not_read() -> None:
    assert "--library" in without_help(parser_with(SUBCOMMANDS, ["paper", "due"]))


def without_help(parser: argparse.ArgumentParser) -> list[str]:
    """Return the options of a command and of its branches that say nothing."""
    found: list[str] = []
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for branch in action.choices.values():
                found += without_help(branch)
        elif not action.help:
            found += action.option_strings or [action.dest]
    return found
