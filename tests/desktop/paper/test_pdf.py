from __future__ import annotations

import errno
import io
import os
import subprocess
from pathlib import Path

import pypdf
import pytest
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QApplication

from core.drawing.marks import Words
from core.paper.bench_sheet import bench_sheets
from core.paper.fitting_sheets import protractor_sheets
from core.paper.sheet import PaperProblem, PaperSize, Sheet, printable
from core.paper.strobe_disc import disc_sheet
from core.store import files
from desktop.paper.painter import FontMeasure
from desktop.paper.pdf import asking_for_true_scale, pdf_bytes, write_pdf
from desktop.paper.printing import paint_on, print_sheets
from tests.examples import deck
from tests.readback import drawing_of, words_of
from tests.worked import Bench


def sheets(size: PaperSize = PaperSize.A4) -> tuple[Sheet, ...]:
    return (*protractor_sheets(deck(), None, size, measure=FontMeasure()), disc_sheet(deck(), size))


@pytest.mark.parametrize("size", PaperSize)
def test_every_page_has_its_papers_size_and_check_lines_of_150_mm(
    size: PaperSize, qapp: QApplication
) -> None:
    made = sheets(size)
    data = pdf_bytes(made, title="t")
    assert len(pypdf.PdfReader(io.BytesIO(data), strict=True).pages) == len(made)
    for page in range(len(made)):
        drawing = drawing_of(data, page)
        # A PDF's page is given in whole points by Qt: half a point is 0.18 mm.
        assert drawing.width_mm == pytest.approx(size.width_mm, abs=0.2)
        assert drawing.height_mm == pytest.approx(size.height_mm, abs=0.2)
        lengths = [s for s in drawing.strokes if abs(s.length_mm - 150.0) < 0.5]
        assert len(lengths) == 2
        assert {round(s.angle_deg) % 180 for s in lengths} == {0, 90}
        assert all(s.length_mm == pytest.approx(150.0, abs=0.001) for s in lengths)


@pytest.mark.parametrize("factor", [0.985, 1.0309])
def test_a_corrected_print_is_larger_by_the_factor_everywhere(
    factor: float, qapp: QApplication
) -> None:
    plain, corrected = (
        drawing_of(pdf_bytes(sheets()[:1], title="t", factor=f)) for f in (1.0, factor)
    )
    assert len(plain.strokes) == len(corrected.strokes) > 20
    for one, other in zip(plain.strokes, corrected.strokes, strict=True):
        assert other.length_mm == pytest.approx(one.length_mm * factor, abs=0.001)


def test_viewers_are_asked_not_to_scale_and_what_qt_wrote_stays(qapp: QApplication) -> None:
    data = pdf_bytes(sheets(), title="Protractor – täst")
    reader = pypdf.PdfReader(io.BytesIO(data), strict=True)
    root = reader.trailer["/Root"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert root["/Type"] == "/Catalog"
    assert reader.metadata is not None
    assert reader.metadata.title == "Protractor – täst"
    assert data.count(b"%%EOF") == 2
    assert words_of(data).startswith("66.00 mm")


def test_poppler_reads_the_updated_file_without_complaint(
    tmp_path: Path, qapp: QApplication
) -> None:
    path = tmp_path / "a.pdf"
    write_pdf(path, sheets(), title="t")
    done = subprocess.run(["pdfinfo", str(path)], capture_output=True, text=True, check=True)
    assert done.stderr == ""
    assert "Pages:           3" in done.stdout
    assert "PDF version:     1.6" in done.stdout


@pytest.mark.parametrize(
    "document", [b"", b"%PDF-1.6\nnothing", b"trailer\n<< /Size 3 >>\nstartxref\n5\n%%EOF\n"]
)
def test_a_document_of_another_make_is_refused(document: bytes) -> None:
    with pytest.raises(ValueError, match="PDF document"):
        asking_for_true_scale(document)


def test_a_file_that_exists_is_replaced_whole(tmp_path: Path, qapp: QApplication) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(b"old")
    write_pdf(path, sheets(), title="t")
    assert path.read_bytes().startswith(b"%PDF")
    assert [p.name for p in tmp_path.glob("*") if p.name != "home"] == ["a.pdf"]


@pytest.mark.parametrize(
    ("code", "told"),
    [
        (errno.ENOSPC, "no room"),
        (errno.EDQUOT, "no room"),
        (errno.EACCES, "read-only"),
        (errno.EROFS, "read-only"),
        (errno.EIO, "can't be written"),
    ],
)
def test_a_disk_that_refuses_leaves_the_old_file_and_no_half_one(
    code: int, told: str, tmp_path: Path, qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(b"old")

    def refuse(_path: Path) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(files, "sync_file", refuse)
    with pytest.raises(PaperProblem, match=told) as problem:
        write_pdf(path, sheets()[:1], title="t")
    assert problem.value.remedy
    assert "library" not in str(problem.value).lower()
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.glob("*") if p.name != "home"] == ["a.pdf"]


def test_places_that_can_be_no_file_are_told(tmp_path: Path, qapp: QApplication) -> None:
    (tmp_path / "file").write_text("x")
    for path, told in (
        (tmp_path / "missing" / "a.pdf", "no folder"),
        (tmp_path / "file" / "a.pdf", "no folder"),
        (tmp_path, "is a folder"),
        (tmp_path / "a\0b.pdf", "can't be the name"),
        (tmp_path / ("n" * 300), "can't be written"),
    ):
        with pytest.raises(PaperProblem, match=told):
            write_pdf(path, sheets()[:1], title="t")


def test_words_in_the_real_font_stay_on_the_paper(qapp: QApplication) -> None:
    measure = FontMeasure()
    long_arm = deck(arm={"pivot_to_spindle_mm": 310.0, "effective_length_mm": 322.0})
    for size in PaperSize:
        made = (
            *sheets(size),
            *protractor_sheets(long_arm, None, size, measure=measure),
            *bench_sheets(Bench(who="Ada").work_all(), size, measure=measure),
        )
        for sheet in made:
            area = printable(size)
            for mark in sheet.marks:
                if not isinstance(mark, Words) or mark.turn_deg:
                    continue
                width = measure(mark.text, mark.size_mm, bold=mark.bold)
                share = {"left": 0.0, "middle": 0.5, "right": 1.0}[mark.align]
                assert mark.x - share * width >= area.left - 0.01, mark.text
                assert mark.x + (1 - share) * width <= area.right + 0.01, mark.text


def test_a_printer_gets_the_same_lengths(tmp_path: Path, qapp: QApplication) -> None:
    """Qt's printer, told to print into a PDF, stands in for one of metal."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    path = tmp_path / "printed.pdf"
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(path))
    paint_on(printer, sheets()[:2])
    for page in (0, 1):
        drawing = drawing_of(path, page)
        lines = [s for s in drawing.strokes if abs(s.length_mm - 150.0) < 0.5]
        assert len(lines) == 2
        assert all(s.length_mm == pytest.approx(150.0, abs=0.03) for s in lines)


def test_a_printer_that_is_not_there_is_told(qapp: QApplication) -> None:
    with pytest.raises(PaperProblem, match="can't be found"):
        print_sheets("No such printer anywhere", sheets()[:1], title="t")
