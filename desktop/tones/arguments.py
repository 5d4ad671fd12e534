"""The arguments of ``setdown tone``; no Qt here."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of ``setdown tone``."""
    parser.add_argument("file", type=Path, metavar="FILE", help="the recording")
    parser.add_argument(
        "--nominal",
        type=partial(_above_zero, like="3150"),
        metavar="HZ",
        help="frequency of the record's tone for speed (default: 3150 or 3000, whichever is near)",
    )
    parser.add_argument(
        "--rpm",
        type=partial(_above_zero, like="33.33"),
        metavar="RPM",
        help="the speed chosen on the deck (default: 33.33, unless another shows clearly)",
    )
    parser.add_argument(
        "--record",
        metavar="NAME",
        help="the test record: one of your library or that came with the program, or a document "
        "of your own (.json)",
    )
    parser.add_argument(
        "--library",
        type=Path,
        default=argparse.SUPPRESS,  # as with the locale below
        metavar="FILE",
        help="the library file whose test records are known by name (default: the usual one)",
    )
    parser.add_argument("--json", action="store_true", help="print an object for other programs")
    # Suppressed: a default here would undo the same option given before the command.
    parser.add_argument(
        "--locale",
        default=argparse.SUPPRESS,
        metavar="NAME",
        help="whose decimal sign to use, such as de_DE",
    )


def _above_zero(text: str, like: str) -> float:
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no number: write it like {like}") from None
    if not 0.0 < number < 1e6:
        raise argparse.ArgumentTypeError(f"{text} is outside what can be: write it like {like}")
    return number
