"""Puts sheets on a printer, where there is one."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QMarginsF
from PySide6.QtGui import QPageLayout, QPageSize, QPainter
from PySide6.QtPrintSupport import QPrinter, QPrinterInfo

from core.language import Name
from core.paper.check_lines import corrected
from core.paper.sheet import PaperProblem, Sheet
from desktop.paper.painter import paint_sheet
from desktop.paper.pdf import PAGE_SIZES
from desktop.widgets.language import tr


def printer_names() -> list[str]:
    """Return the printers this computer knows, the usual one first."""
    names = [str(name) for name in QPrinterInfo.availablePrinterNames()]
    usual = str(QPrinterInfo.defaultPrinterName())
    return sorted(names, key=lambda name: (name != usual, name.casefold()))


def print_sheets(name: str, sheets: Sequence[Sheet], *, title: str, factor: float = 1.0) -> None:
    """Print sheets, one a page, at their true size times ``factor``.

    Raises PaperProblem if the printer does not take them, or the factor takes a sheet off its
    paper.
    """
    # Qt silently accepts an unknown name and prints on another printer or into a file.
    if name not in printer_names():
        raise PaperProblem(
            tr("paper.printing.the_printer_name_is_not", name=Name(name)),
            tr("paper.printing.switch_it_on_or_save"),
        )
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setPrinterName(name)
    printer.setDocName(title)
    paint_on(printer, sheets, factor)


def paint_on(printer: QPrinter, sheets: Sequence[Sheet], factor: float = 1.0) -> None:
    """Draw sheets on a printer that is set up but for its page.

    Raises PaperProblem as :func:`print_sheets`.
    """
    factors = [corrected(sheet, factor) for sheet in sheets]
    printer.setFullPage(True)
    _turn_to(printer, sheets[0])
    painter = QPainter()
    if not painter.begin(printer):
        raise PaperProblem(
            tr(
                "paper.printing.the_printer_cannot_be_used",
                name=Name(printer.printerName() or "chosen"),
            ),
            tr("paper.printing.look_at_the_printer_or"),
        )
    try:
        for index, sheet in enumerate(sheets):
            if index:
                _turn_to(printer, sheet)
                printer.newPage()
            paint_sheet(painter, sheet, printer.resolution() / 25.4, factors[index])
    finally:
        painter.end()


def _turn_to(printer: QPrinter, sheet: Sheet) -> None:
    printer.setPageLayout(
        QPageLayout(
            QPageSize(PAGE_SIZES[sheet.size]),
            QPageLayout.Orientation.Portrait,
            QMarginsF(0.0, 0.0, 0.0, 0.0),
        )
    )
    printer.setFullPage(True)
