"""The command line. Nothing here imports Qt: a subcommand runs without a screen."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, get_args

from desktop.widgets.scheme import Scheme

_TEXT_SCALE_LOW: Final = 1.0
_TEXT_SCALE_HIGH: Final = 2.0
LIBRARY_ENDING: Final = ".library"
DOCUMENT_ENDING: Final = ".json"
_WITH_VALUE: Final = ("--library", "--scheme", "--locale", "--who", "--text-scale")
_LOCALE: Final = re.compile(r"[a-z]{2,3}([_-][A-Z][a-z]{3})?([_-]([A-Z]{2}|[0-9]{3}))?|C")


@dataclass(frozen=True, slots=True)
class Options:
    """How the window was asked to start."""

    # The library file, or None for the one in the application-data folder
    library: Path | None = None
    scheme: Scheme | None = None  # light, dark or system; None for the one remembered
    locale: str = ""  # A locale name that decides the decimal sign, or empty for the system's
    who: str = ""  # who stands at the bench, or empty for the one remembered
    text_scale: float | None = None  # size of all type, 1.0 to 2.0; None for the one remembered
    # Documents to take in, once the person has said so
    documents: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Subcommand:
    """A command that does its work without the window, ``setdown NAME ...``."""

    name: str  # as typed, and one line for --help
    summary: str
    # Adds the command's own arguments to its parser
    add_arguments: Callable[[argparse.ArgumentParser], None]
    # Does the work and returns the exit code; what it needs it imports itself
    run: Callable[[argparse.Namespace], int]


def _paper_arguments(parser: argparse.ArgumentParser) -> None:
    from desktop.paper.arguments import add_arguments  # reads the core: only where it is wanted

    add_arguments(parser)


def _paper(parsed: argparse.Namespace) -> int:
    from desktop.paper.command import run  # only where it is wanted: the window needs none of it

    return run(parsed)


def _tone_arguments(parser: argparse.ArgumentParser) -> None:
    from desktop.tones.arguments import add_arguments  # only where it is wanted

    add_arguments(parser)


def _tone(parsed: argparse.Namespace) -> int:
    from desktop.tones.command import run  # only where it is wanted: it brings numpy

    return run(parsed)


SUBCOMMANDS: Final[tuple[Subcommand, ...]] = (
    Subcommand(
        "paper",
        "Print a protractor, a strobe disc or a bench sheet into a PDF file.",
        _paper_arguments,
        _paper,
    ),
    Subcommand(
        "tone",
        "Tell what a recording of a test record says of speed, leak and distortion.",
        _tone_arguments,
        _tone,
    ),
)
"""Every subcommand; a new one is a new member here."""


def parser_with(
    subcommands: Sequence[Subcommand], words: Sequence[str] = ()
) -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    parser = argparse.ArgumentParser(
        prog="setdown",
        description="Fit a cartridge to a record player, step by step, with a record that lasts. "
        "setdown FILE opens a library, or asks whether to take a document in.",
    )
    parser.add_argument("--version", action="store_true", help="print the version and leave")
    parser.add_argument(
        "--library",
        type=Path,
        metavar="PATH",
        help="the library file to work in; made if it does not exist",
    )
    parser.add_argument(
        "--scheme",
        choices=get_args(Scheme),
        default=None,
        help="colours for this run (default: as chosen last, else the system's)",
    )
    parser.add_argument(
        "--locale",
        type=_locale,
        metavar="NAME",
        help="whose decimal sign to use, such as de_DE (default: the system's)",
    )
    parser.add_argument("--who", default="", metavar="NAME", help="who stands at the bench")
    parser.add_argument(
        "--text-scale",
        type=_text_scale,
        default=None,
        metavar="FACTOR",
        help="size of all type for this run, 1.0 to 2.0 (default: as chosen last)",
    )
    if subcommands:
        branches = parser.add_subparsers(title="without a window", metavar="COMMAND")
        for command in subcommands:
            branch = branches.add_parser(
                command.name, help=command.summary, description=command.summary
            )
            if command.name in words:
                command.add_arguments(branch)
            branch.set_defaults(run=command.run)
    return parser


def without_files(words: Sequence[str]) -> tuple[list[str], list[Path]]:
    """Return the words of a command line without the files it names, and these.

    A file is what ends as libraries and documents do, or is there. The words of a subcommand are
    its own.
    """
    rest: list[str] = []
    files: list[Path] = []
    is_value = False
    for word in words:
        if is_value or word.startswith("-"):
            is_value = not is_value and word in _WITH_VALUE
            rest.append(word)
        elif word in [one.name for one in SUBCOMMANDS]:
            return list(words), []
        elif Path(word).suffix.lower() in (LIBRARY_ENDING, DOCUMENT_ENDING) or Path(word).exists():
            files.append(Path(word))
        else:
            rest.append(word)
    return rest, files


def why_not_opened(files: Sequence[Path], library: Path | None) -> str:
    """Return why files named on the command line are not opened; empty if they are."""
    for path in files:
        if not path.exists():
            return f"There is no file {path}. Check the path for a slip."
        if not path.is_file():
            return f"{path} is no file."
        if path.suffix.lower() not in (LIBRARY_ENDING, DOCUMENT_ENDING):
            return (
                f"{path} is neither a library ({LIBRARY_ENDING}) nor a document "
                f"({DOCUMENT_ENDING}). A library of another name is opened with --library."
            )
    libraries = [path for path in files if path.suffix.lower() == LIBRARY_ENDING]
    if len(libraries) + (library is not None) > 1:
        return "A window holds one library. Give one."
    return ""


def with_files(options: Options, files: Sequence[Path]) -> Options:
    """Return the window's options with what is to be opened in it."""
    libraries = [path for path in files if path.suffix.lower() == LIBRARY_ENDING]
    return replace(
        options,
        library=libraries[0] if libraries else options.library,
        documents=tuple(path for path in files if path not in libraries),
    )


def options_from(parsed: argparse.Namespace) -> Options:
    """Return the window's options out of a parsed command line."""
    return Options(
        library=parsed.library,
        scheme=parsed.scheme,
        locale=parsed.locale or "",
        who=parsed.who.strip(),
        text_scale=parsed.text_scale,
    )


def _locale(text: str) -> str:
    if not _LOCALE.fullmatch(text):
        raise argparse.ArgumentTypeError(f"{text!r} is no locale name: write it like de_DE or en")
    return text.replace("-", "_")


def _text_scale(text: str) -> float:
    try:
        scale = float(text.replace(",", "."))
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no number: write it like 1.5") from None
    if not _TEXT_SCALE_LOW <= scale <= _TEXT_SCALE_HIGH:
        raise argparse.ArgumentTypeError(f"{text} is outside 1.0 to 2.0")
    return scale
