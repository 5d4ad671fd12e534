"""The command line. Nothing here imports Qt: a subcommand runs without a screen."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final, get_args

from desktop.widgets.scheme import Scheme

if TYPE_CHECKING:
    from desktop.widgets.terminal import Say

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

    name: str  # as typed
    # What it does, in one line for --help
    summary: Callable[[Say], str | None]
    # Adds the command's own arguments to its parser
    add_arguments: Callable[[argparse.ArgumentParser, Say], None]
    # Does the work and returns the exit code; what it needs it imports itself
    run: Callable[[argparse.Namespace], int]


def _paper_summary(tr: Say) -> str | None:
    return tr("command_line.paper.summary")


def _paper_arguments(parser: argparse.ArgumentParser, tr: Say) -> None:
    from desktop.paper.arguments import add_arguments  # reads the core: only where it is wanted

    add_arguments(parser, tr)


def _paper(parsed: argparse.Namespace) -> int:
    from desktop.paper.command import run  # only where it is wanted: the window needs none of it

    return run(parsed)


def _tone_summary(tr: Say) -> str | None:
    return tr("command_line.tone.summary")


def _tone_arguments(parser: argparse.ArgumentParser, tr: Say) -> None:
    from desktop.tones.arguments import add_arguments  # only where it is wanted

    add_arguments(parser, tr)


def _tone(parsed: argparse.Namespace) -> int:
    from desktop.tones.command import run  # only where it is wanted: it brings numpy

    return run(parsed)


SUBCOMMANDS: Final[tuple[Subcommand, ...]] = (
    Subcommand("paper", _paper_summary, _paper_arguments, _paper),
    Subcommand("tone", _tone_summary, _tone_arguments, _tone),
)
"""Every subcommand; a new one is a new member here."""


def parser_with(
    subcommands: Sequence[Subcommand], words: Sequence[str] = ()
) -> argparse.ArgumentParser:
    """Return the parser of the whole command line; its help stands in it if ``words`` ask."""
    tr = _help_words(words)
    parser = argparse.ArgumentParser(
        prog="setdown",
        description=tr("command_line.window.summary"),
    )
    parser.add_argument("--version", action="store_true", help=tr("command_line.window.version"))
    parser.add_argument(
        "--library",
        type=Path,
        metavar="PATH",
        help=tr("command_line.window.library"),
    )
    parser.add_argument(
        "--scheme",
        choices=get_args(Scheme),
        default=None,
        help=tr("command_line.window.scheme"),
    )
    parser.add_argument(
        "--locale",
        type=_locale,
        metavar="NAME",
        help=tr("command_line.window.locale"),
    )
    parser.add_argument("--who", default="", metavar="NAME", help=tr("command_line.window.who"))
    parser.add_argument(
        "--text-scale",
        type=_text_scale,
        default=None,
        metavar="FACTOR",
        help=tr("command_line.window.text_scale"),
    )
    if subcommands:
        branches = parser.add_subparsers(
            title=tr("command_line.window.commands") or "", metavar="COMMAND"
        )
        for command in subcommands:
            summary = command.summary(tr)
            branch = branches.add_parser(command.name, help=summary, description=summary)
            if command.name in words:
                command.add_arguments(branch, tr)
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
            return tr("command_line.no_such_file", path=str(path))
        if not path.is_file():
            return tr("command_line.no_file", path=str(path))
        if path.suffix.lower() not in (LIBRARY_ENDING, DOCUMENT_ENDING):
            return tr(
                "command_line.neither",
                path=str(path),
                library=LIBRARY_ENDING,
                document=DOCUMENT_ENDING,
            )
    libraries = [path for path in files if path.suffix.lower() == LIBRARY_ENDING]
    if len(libraries) + (library is not None) > 1:
        return tr("command_line.one_library")
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


def tr(key: str, /, **typed: str) -> str:
    """Return the sentence of a message in English, with words as they were typed."""
    from desktop.widgets import terminal  # a start says nothing

    return terminal.tr(key, **typed)


def _nothing(_key: str, /) -> None:
    """Say nothing."""


def _help_words(arguments: Sequence[str]) -> Say:
    """Return what words the help of a command line: nothing, if help is not asked for.

    So a start does not wait for words that nobody reads.
    """
    return tr if any(one.startswith(("-h", "--h")) for one in arguments) else _nothing


def _locale(text: str) -> str:
    if not _LOCALE.fullmatch(text):
        raise argparse.ArgumentTypeError(tr("command_line.no_locale", typed=repr(text)))
    return text.replace("-", "_")


def _text_scale(text: str) -> float:
    try:
        scale = float(text.replace(",", "."))
    except ValueError:
        raise argparse.ArgumentTypeError(
            tr("command_line.no_number", typed=repr(text), like="1.5")
        ) from None
    if not _TEXT_SCALE_LOW <= scale <= _TEXT_SCALE_HIGH:
        raise argparse.ArgumentTypeError(
            tr("command_line.outside", typed=text, low="1.0", high="2.0")
        )
    return scale
