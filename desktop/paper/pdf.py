"""Writes sheets into a PDF file atomically, with the preference not to be scaled in print."""

from __future__ import annotations

import errno
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF
from PySide6.QtGui import QPagedPaintDevice, QPageSize, QPainter, QPdfWriter

from core.language import Name
from core.paper.check_lines import corrected
from core.paper.sheet import PaperProblem, PaperSize, Sheet
from core.store import LibraryProblem
from core.store.files import replacing
from desktop.paper.painter import paint_sheet
from desktop.widgets.language import tr

DOTS_PER_INCH: Final = 2540
"""100 units to the millimetre: the origin snaps to units, so that it lies on a hundredth."""

_UNITS_PER_MM: Final = DOTS_PER_INCH / 25.4

PAGE_SIZES: Final = {
    PaperSize.A4: QPageSize.PageSizeId.A4,
    PaperSize.LETTER: QPageSize.PageSizeId.Letter,
}


def write_pdf(path: Path, sheets: Sequence[Sheet], *, title: str, factor: float = 1.0) -> None:
    """Write sheets into a file, one a page.

    Raises PaperProblem if the factor takes a sheet off its paper, or the file can't be written:
    what was there before is there still, and nothing half-made beside it.
    """
    write_content(path, pdf_bytes(sheets, title=title, factor=factor))


def write_content(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; PaperProblem as for :func:`write_pdf`."""
    place = path.expanduser()
    try:
        if place.is_dir():
            raise PaperProblem(
                tr("paper.pdf.is_a_folder", path=Name(str(place))),
                tr("paper.pdf.give_a_file_name"),
            )
        if place.exists() and not place.is_file():
            raise PaperProblem(
                tr("paper.pdf.is_no_file", path=Name(str(place))),
                tr("paper.pdf.give_the_name_of_a_file"),
            )
        with replacing(place) as temporary, temporary.open("wb") as stream:
            stream.write(content)
    except LibraryProblem as problem:
        cause = problem.__cause__
        raise _write_problem(cause if isinstance(cause, OSError) else OSError(), place) from cause
    except OSError as error:  # a name too long even to ask about
        raise _write_problem(error, place) from error
    except ValueError as error:  # a NUL in the name
        raise PaperProblem(
            tr("paper.pdf.is_no_path", path=Name(repr(str(place)))),
            tr("paper.pdf.check_it_for_a_slip"),
        ) from error


def pdf_bytes(sheets: Sequence[Sheet], *, title: str, factor: float = 1.0) -> bytes:
    """Return sheets as a PDF document."""
    if not sheets:
        raise ValueError("a document has a page at least")
    factors = [corrected(sheet, factor) for sheet in sheets]
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setPdfVersion(QPagedPaintDevice.PdfVersion.PdfVersion_1_6)
    writer.setResolution(DOTS_PER_INCH)
    writer.setPageMargins(QMarginsF(0.0, 0.0, 0.0, 0.0))
    writer.setPageSize(QPageSize(PAGE_SIZES[sheets[0].size]))
    writer.setTitle(title)
    writer.setCreator("Setdown")
    painter = QPainter(writer)
    try:
        for index, sheet in enumerate(sheets):
            if index:
                writer.setPageSize(QPageSize(PAGE_SIZES[sheet.size]))
                writer.newPage()
            paint_sheet(painter, sheet, _UNITS_PER_MM, factors[index])
    finally:
        painter.end()
    buffer.close()
    return asking_for_true_scale(bytes(buffer.data().data()))


_START: Final = re.compile(rb"startxref\s+(\d+)\s+%%EOF\s*$")
_ROOT: Final = re.compile(rb"/Root\s+(\d+)\s+(\d+)\s+R")
_SIZE: Final = re.compile(rb"/Size\s+(\d+)")
_KEPT: Final = re.compile(rb"/(?:Info\s+\d+\s+\d+\s+R|ID\s*\[[^\]]*\])")
_WISHES: Final = b"/ViewerPreferences << /PrintScaling /None /PickTrayByPDFSize true >>\n"


def asking_for_true_scale(document: bytes) -> bytes:
    """Return a PDF whose catalogue asks viewers not to scale it in print.

    Qt has no call for this. The catalogue is written once more at the end, as an incremental
    update (ISO 32000-1, 7.5.6; the preference: 12.2, table 150): all that Qt wrote stays.

    Expects a plain cross-reference table and an uncompressed catalogue, as Qt writes them, and
    raises ValueError for any other document.
    """
    start, root = _START.search(document), None
    if start is not None:
        trailer = document[document.rindex(b"trailer") :]
        root, size = _ROOT.search(trailer), _SIZE.search(trailer)
    if start is None or root is None or size is None:
        raise ValueError("not a PDF document as this program writes it")
    number, generation = root.group(1), root.group(2)
    catalogue = re.search(
        rb"(?:^|[\r\n])" + number + rb"\s+" + generation + rb"\s+obj\s*<<(.*?)>>\s*endobj",
        document,
        re.DOTALL,
    )
    if catalogue is None or b"/ViewerPreferences" in catalogue.group(1):
        raise ValueError("this PDF document's catalogue can't be added to")
    body = document if document.endswith(b"\n") else document + b"\n"
    place = len(body)
    name = number + b" " + generation
    rewritten = name + b" obj\n<<" + catalogue.group(1) + _WISHES + b">>\nendobj\n"
    table = place + len(rewritten)
    entry = b"%010d %05d n \n" % (place, int(generation))
    return b"".join(
        (
            body,
            rewritten,
            b"xref\n0 1\n0000000000 65535 f \n",
            number + b" 1\n" + entry,
            b"trailer\n<<\n" + size.group(0) + b"\n/Root " + name + b" R\n",
            b"".join(kept + b"\n" for kept in _KEPT.findall(trailer)),
            b"/Prev " + start.group(1) + b"\n>>\nstartxref\n%d\n%%%%EOF\n" % table,
        )
    )


def _write_problem(error: OSError, path: Path) -> PaperProblem:
    folder = Name(str(path.parent))
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        no_room = tr("paper.pdf.no_room", folder=folder, name=Name(path.name))
        return PaperProblem(no_room, tr("paper.pdf.make_room"))
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        read_only = tr("paper.pdf.read_only", path=Name(str(path)))
        return PaperProblem(read_only, tr("paper.pdf.choose_a_folder"))
    if error.errno in (errno.ENOENT, errno.ENOTDIR):
        no_folder = tr("paper.pdf.no_folder", folder=folder)
        return PaperProblem(no_folder, tr("paper.pdf.make_it_first"))
    why = Name(error.strerror or type(error).__name__)
    refused = tr("paper.pdf.cannot_be_written", path=Name(str(path)), why=why)
    return PaperProblem(refused, tr("paper.pdf.choose_another_place"))
