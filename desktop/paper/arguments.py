"""The arguments of ``setdown paper``; no Qt here."""

from __future__ import annotations

import argparse
from pathlib import Path

from core.paper.fitting_sheets import ProtractorKind
from core.paper.sheet import PaperSize
from core.steps.alignment import Criterion, GrooveStandard
from desktop.widgets.terminal import Say, tr


def add_arguments(parser: argparse.ArgumentParser, tr: Say) -> None:
    """Add the arguments of ``setdown paper``."""
    kinds = parser.add_subparsers(
        title=tr("command_line.paper.what") or "", metavar="WHAT", dest="what", required=True
    )
    protractor = kinds.add_parser("protractor", help=tr("command_line.paper.protractor"))
    strobe = kinds.add_parser("strobe", help=tr("command_line.paper.strobe"))
    sheet = kinds.add_parser("sheet", help=tr("command_line.paper.sheet"))
    owner = kinds.add_parser("owner", help=tr("command_line.paper.owner"))
    history = kinds.add_parser("history", help=tr("command_line.paper.history"))
    due = kinds.add_parser("due", help=tr("command_line.paper.due"))
    for kind in (protractor, strobe, sheet, owner, history, due):
        _common(kind, tr, of_a_deck=kind is not due)
    for kind in (protractor, strobe):
        _true_scale(kind, tr)
    _protractor(protractor, tr)
    strobe.add_argument(
        "--flashes",
        type=_number,
        nargs="+",
        metavar="PER_SECOND",
        help=tr("command_line.paper.flashes"),
    )
    strobe.add_argument(
        "--mains",
        type=_number,
        nargs="+",
        metavar="HZ",
        help=tr("command_line.paper.mains"),
    )
    strobe.add_argument(
        "--speeds", type=_number, nargs="+", metavar="RPM", help=tr("command_line.paper.speeds")
    )
    for kind in (protractor, sheet, owner, history):
        kind.add_argument(
            "--arm",
            metavar="NAME",
            help=tr("command_line.paper.arm"),
        )
    for kind in (sheet, owner):
        kind.add_argument("--cartridge", metavar="NAME", help=tr("command_line.paper.cartridge"))
        kind.add_argument("--fitting", metavar="NUMBER", help=tr("command_line.paper.fitting"))
        kind.add_argument(
            "--next-check", default="", metavar="WORDS", help=tr("command_line.paper.next_check")
        )
        kind.add_argument("--pictures", action="store_true", help=tr("command_line.paper.pictures"))


def _common(parser: argparse.ArgumentParser, tr: Say, *, of_a_deck: bool) -> None:
    if of_a_deck:
        parser.add_argument(
            "--deck", required=True, metavar="NAME", help=tr("command_line.paper.deck")
        )
    parser.add_argument(
        "--out", required=True, type=Path, metavar="FILE", help=tr("command_line.paper.out")
    )
    # Suppressed: a default here would undo the same options given before the command.
    parser.add_argument(
        "--library",
        type=Path,
        default=argparse.SUPPRESS,
        metavar="PATH",
        help=tr("command_line.paper.library"),
    )
    parser.add_argument(
        "--locale",
        default=argparse.SUPPRESS,
        metavar="NAME",
        help=tr("command_line.paper.locale"),
    )
    parser.add_argument(
        "--paper",
        choices=[size.value for size in PaperSize],
        default=PaperSize.A4.value,
        help=tr("command_line.paper.paper"),
    )


def _true_scale(parser: argparse.ArgumentParser, tr: Say) -> None:
    parser.add_argument(
        "--printer",
        default="",
        metavar="NAME",
        help=tr("command_line.paper.printer"),
    )
    parser.add_argument(
        "--measured",
        type=_number,
        nargs=2,
        metavar=("X_MM", "Y_MM"),
        help=tr("command_line.paper.measured"),
    )


def _protractor(parser: argparse.ArgumentParser, tr: Say) -> None:
    parser.add_argument(
        "--kind",
        choices=[kind.value for kind in ProtractorKind],
        default=ProtractorKind.BOTH.value,
        help=tr("command_line.paper.kind"),
    )
    parser.add_argument(
        "--large",
        choices=("tiles", "cut"),
        default="tiles",
        help=tr("command_line.paper.large"),
    )
    parser.add_argument(
        "--alignment",
        choices=[criterion.value for criterion in Criterion],
        help=tr("command_line.paper.alignment"),
    )
    parser.add_argument(
        "--grooves",
        choices=[standard.value for standard in GrooveStandard if standard.value != "own"],
        help=tr("command_line.paper.grooves"),
    )
    parser.add_argument(
        "--groove-radii",
        type=_number,
        nargs=2,
        metavar=("INNER_MM", "OUTER_MM"),
        help=tr("command_line.paper.groove_radii"),
    )
    parser.add_argument(
        "--null-radii",
        type=_number,
        nargs=2,
        metavar=("INNER_MM", "OUTER_MM"),
        help=tr("command_line.paper.null_radii"),
    )
    parser.add_argument(
        "--pivot-to-spindle",
        type=_number,
        metavar="MM",
        help=tr("command_line.paper.pivot_to_spindle"),
    )


def _number(text: str) -> float:
    try:
        return float(text.replace(",", ".").replace("\u2212", "-"))
    except ValueError:
        raise argparse.ArgumentTypeError(
            tr("command_line.no_number", typed=repr(text), like="1.5")
        ) from None
