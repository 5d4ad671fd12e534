"""The arguments of ``setdown paper``; no Qt here."""

from __future__ import annotations

import argparse
from pathlib import Path

from core.paper.fitting_sheets import ProtractorKind
from core.paper.sheet import PaperSize
from core.steps.alignment import Criterion, GrooveStandard


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of ``setdown paper``."""
    kinds = parser.add_subparsers(title="what to print", metavar="WHAT", dest="what", required=True)
    protractor = kinds.add_parser("protractor", help="alignment protractor for a deck")
    strobe = kinds.add_parser("strobe", help="strobe disc for a deck's speeds and lamp")
    sheet = kinds.add_parser("sheet", help="bench sheet of a fitting")
    owner = kinds.add_parser("owner", help="owner's sheet of a fitting, one page in plain words")
    history = kinds.add_parser("history", help="what is due on a deck, its fittings and figures")
    due = kinds.add_parser("due", help="the decks that are due for their check")
    for kind in (protractor, strobe, sheet, owner, history, due):
        _common(kind, of_a_deck=kind is not due)
    for kind in (protractor, strobe):
        _true_scale(kind)
    _protractor(protractor)
    strobe.add_argument(
        "--flashes",
        type=_number,
        nargs="+",
        metavar="PER_SECOND",
        help="flashes per second of each lamp (default: the deck's own lamp)",
    )
    strobe.add_argument(
        "--mains",
        type=_number,
        nargs="+",
        metavar="HZ",
        help="mains frequency of each lamp, which flashes twice a cycle",
    )
    strobe.add_argument(
        "--speeds", type=_number, nargs="+", metavar="RPM", help="speeds (default: the deck's)"
    )
    for kind in (protractor, sheet, owner, history):
        kind.add_argument(
            "--arm",
            metavar="NAME",
            help="which arm of a deck that has several, by name (default: any that was fitted)",
        )
    for kind in (sheet, owner):
        kind.add_argument(
            "--cartridge", metavar="NAME", help="only fittings of this cartridge (default: any)"
        )
        kind.add_argument(
            "--fitting", metavar="NUMBER", help="which fitting (default: the one last worked on)"
        )
        kind.add_argument(
            "--next-check", default="", metavar="WORDS", help="when the next check is due"
        )
        kind.add_argument(
            "--pictures", action="store_true", help="with the pictures of the fitting and its job"
        )


def _common(parser: argparse.ArgumentParser, *, of_a_deck: bool) -> None:
    if of_a_deck:
        parser.add_argument(
            "--deck", required=True, metavar="NAME", help="the deck, by name or number"
        )
    parser.add_argument("--out", required=True, type=Path, metavar="FILE", help="the PDF to write")
    # Suppressed: a default here would undo the same options given before the command.
    parser.add_argument(
        "--library",
        type=Path,
        default=argparse.SUPPRESS,
        metavar="PATH",
        help="the library file (default: the usual one)",
    )
    parser.add_argument(
        "--locale",
        default=argparse.SUPPRESS,
        metavar="NAME",
        help="whose decimal sign to use, such as de_DE",
    )
    parser.add_argument(
        "--paper",
        choices=[size.value for size in PaperSize],
        default=PaperSize.A4.value,
        help="paper size (default: a4)",
    )


def _true_scale(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--printer",
        default="",
        metavar="NAME",
        help="print at the scale this printer was found to need; with --measured, keep it",
    )
    parser.add_argument(
        "--measured",
        type=_number,
        nargs=2,
        metavar=("X_MM", "Y_MM"),
        help="what the check lines across and along measured on the last print from this printer",
    )


def _protractor(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--kind",
        choices=[kind.value for kind in ProtractorKind],
        default=ProtractorKind.BOTH.value,
        help="grids, arc or both (default: both); a parallel-tracking arm gets its radius line",
    )
    parser.add_argument(
        "--large",
        choices=("tiles", "cut"),
        default="tiles",
        help="where the pivot lies beyond the sheet: more sheets, or cut (default: tiles)",
    )
    parser.add_argument(
        "--alignment",
        choices=[criterion.value for criterion in Criterion],
        help="the rule (default: the one chosen in the deck's last fitting)",
    )
    parser.add_argument(
        "--grooves",
        choices=[standard.value for standard in GrooveStandard if standard.value != "own"],
        help="from which groove to which (default: as chosen in the last fitting)",
    )
    parser.add_argument(
        "--groove-radii",
        type=_number,
        nargs=2,
        metavar=("INNER_MM", "OUTER_MM"),
        help="groove radii of your own",
    )
    parser.add_argument(
        "--null-radii",
        type=_number,
        nargs=2,
        metavar=("INNER_MM", "OUTER_MM"),
        help="null radii of your own",
    )
    parser.add_argument(
        "--pivot-to-spindle",
        type=_number,
        metavar="MM",
        help="as measured (default: the deck's own figure)",
    )


def _number(text: str) -> float:
    try:
        return float(text.replace(",", ".").replace("\u2212", "-"))
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no number: write it like 1.5") from None
