"""The arguments of ``setdown tone``; no Qt here."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path

from desktop.widgets.terminal import Say, tr


def add_arguments(parser: argparse.ArgumentParser, tr: Say) -> None:
    """Add the arguments of ``setdown tone``."""
    parser.add_argument("file", type=Path, metavar="FILE", help=tr("command_line.tone.file"))
    parser.add_argument(
        "--nominal",
        type=partial(_above_zero, like="3150"),
        metavar="HZ",
        help=tr("command_line.tone.nominal"),
    )
    parser.add_argument(
        "--rpm",
        type=partial(_above_zero, like="33.33"),
        metavar="RPM",
        help=tr("command_line.tone.rpm"),
    )
    parser.add_argument(
        "--record",
        metavar="NAME",
        help=tr("command_line.tone.record"),
    )
    parser.add_argument(
        "--library",
        type=Path,
        default=argparse.SUPPRESS,  # as with the locale below
        metavar="FILE",
        help=tr("command_line.tone.library"),
    )
    parser.add_argument("--json", action="store_true", help=tr("command_line.tone.json"))
    # Suppressed: a default here would undo the same option given before the command.
    parser.add_argument(
        "--locale",
        default=argparse.SUPPRESS,
        metavar="NAME",
        help=tr("command_line.tone.locale"),
    )


def _above_zero(text: str, like: str) -> float:
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        raise argparse.ArgumentTypeError(
            tr("command_line.no_number", typed=repr(text), like=like)
        ) from None
    if not 0.0 < number < 1e6:
        raise argparse.ArgumentTypeError(tr("command_line.out_of_reach", typed=text, like=like))
    return number
