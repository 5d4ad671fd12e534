"""The window in which sheets are looked at, saved, printed and measured."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Annotated, Final

from pydantic import Field
from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from core.language import Name, Numbers, ToldProblem
from core.paper.check_lines import CHECK_MM, Measured, judge_scale
from core.paper.printer_scale import PrinterScale, keep_scale, scale_of
from core.paper.sheet import PaperProblem, PaperSize, Sheet
from core.records import FrozenModel, Limits, Millimetres
from core.store import Library, LibraryProblem
from desktop.forms.form import Form
from desktop.paper.pdf import write_pdf
from desktop.paper.pictures import write_picture
from desktop.paper.preview import SheetView
from desktop.paper.printing import print_sheets, printer_names
from desktop.widgets import theme
from desktop.widgets.documents_folder import documents_folder, remember_document
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.language import caution_words, local_label, said, told, tr
from desktop.widgets.messages import Messages
from desktop.widgets.panels import add_all, add_layout, column_in, text_label
from desktop.widgets.plain_text import PlainLabel, plain_tip

SheetMaker = Callable[[PaperSize], tuple[Sheet, ...]]

_SIDE_EM: Final = 21.0
_ANY_PRINTER: Final = "Printer for saved PDFs"
"""The name a scale is kept under where this computer knows no printer."""


class CheckLinesMeasured(FrozenModel):
    """What a person measured on a print."""

    x_mm: Annotated[Millimetres, Limits(50, 300, usual=(147, 153))] = Field(
        title="Line across",
        description=f"From end mark to end mark; drawn {CHECK_MM:g} mm long.",
    )
    y_mm: Annotated[Millimetres, Limits(50, 300, usual=(147, 153))] = Field(
        title="Line along",
        description=f"From end mark to end mark; drawn {CHECK_MM:g} mm long.",
    )


class _PageWords(PlainLabel):
    """Which sheet is on show: as much of its title as fits, and all of it in the tip."""

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the words that fit."""
        painter = QPainter(self)
        fits = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, self.width())
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, fits)


class PaperDialog(QDialog):
    """Sheets to look at, with the ways to put them on paper."""

    def __init__(
        self,
        title: str,
        make: SheetMaker,
        library: Library,
        *,
        numbers: Numbers,
        messages: Messages,
        who: str = "",
        caution_keys: Sequence[str] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self._title, self._make, self._library = title, make, library
        self._numbers, self._messages, self._who = numbers, messages, who
        self.sheets: tuple[Sheet, ...] = ()
        self.view = SheetView()
        self.page_words = _PageWords()
        self.paper = ElidedCombo()
        self.printer = ElidedCombo()
        self.form = Form(CheckLinesMeasured, numbers)
        self.answer = text_label()
        self.save_button = QPushButton(tr("paper.dialog.save_as_pdf"))
        self.print_button = QPushButton(tr("paper.dialog.print"))
        self.picture_button = QPushButton(tr("paper.dialog.picture"))
        self.picture_button.setToolTip(tr("paper.dialog.picture_tip"))
        self.check_button = QPushButton(tr("paper.dialog.check_these_lengths"))
        self.close_button = QPushButton(tr("paper.dialog.close"))
        self._measuring = QWidget()
        self._cautions = text_label()
        self._fill(caution_keys)
        self._lay_out()
        self._connect()
        self.remake()

    @property
    def factor(self) -> float:
        """The scale the chosen printer was found to need."""
        try:
            kept = scale_of(self._library, self.printer.currentText())
        except (PaperProblem, LibraryProblem):
            return 1.0
        return kept.factor if kept is not None else 1.0

    def save(self) -> None:
        """Ask where, and write the PDF there."""
        start = documents_folder() / f"{_file_name(self._title)}.pdf"
        chosen = self._messages.file_to_save(
            tr("paper.dialog.save_as_pdf_2"), start, tr("paper.dialog.pdf_documents_pdf")
        )
        if chosen is None or not self.sheets:
            return
        remember_document(chosen)
        path = chosen if chosen.suffix else chosen.with_suffix(".pdf")
        try:
            write_pdf(path, self.sheets, title=self._title, factor=self.factor)
        except PaperProblem as problem:
            self._say(problem)
            return
        self._announce(
            tr("paper.dialog.saved_path_advice", path=Name(str(path)), advice=Name(self._advice()))
        )

    def save_picture(self) -> None:
        """Ask where, and write the sheet on show there as a picture."""
        sheet = self.view.sheet
        start = documents_folder() / f"{_file_name(self._title)}.png"
        chosen = self._messages.file_to_save(
            tr("paper.dialog.picture_title"), start, tr("paper.dialog.pictures")
        )
        if chosen is None or sheet is None:
            return
        remember_document(chosen)
        path = chosen if chosen.suffix else chosen.with_suffix(".png")
        try:
            write_picture(path, sheet)
        except PaperProblem as problem:
            self._say(problem)
            return
        self._announce(tr("paper.dialog.saved_picture", path=Name(str(path))))

    def print_out(self) -> None:
        """Print on the chosen printer."""
        if not self.sheets:
            return
        name = self.printer.currentText()
        try:
            print_sheets(name, self.sheets, title=self._title, factor=self.factor)
        except PaperProblem as problem:
            self._say(problem)
            return
        self._announce(
            tr("paper.dialog.sent_to_name_advice", name=Name(name), advice=Name(self._advice()))
        )

    def check(self) -> None:
        """Judge the lengths typed, keep what they say of the printer, and tell what to do."""
        lines = self.form.draft()
        if not isinstance(lines, CheckLinesMeasured):
            self.form.reveal()
            return
        try:
            answer = judge_scale(Measured(lines.x_mm, lines.y_mm, self.factor), self._numbers)
            if answer.factor is not None:
                keep_scale(
                    self._library,
                    PrinterScale(
                        printer=self.printer.currentText(),
                        factor=answer.factor,
                        accepted=answer.accepted,
                        measured_x_mm=lines.x_mm,
                        measured_y_mm=lines.y_mm,
                        who=self._who,
                    ),
                )
        except (PaperProblem, LibraryProblem) as problem:
            self._say(problem)
            return
        self._announce(answer.sentence)

    def put_options(self, options: QWidget) -> None:
        """Show what else may be chosen for these sheets, above the paper."""
        self._side.insertWidget(1, options)

    def show_cautions(self, *, shown: bool) -> None:
        """Show the cautions, or put them away while another sheet is on show."""
        self._cautions.setVisible(shown and bool(self._cautions.text()))

    def _fill(self, caution_keys: Sequence[str]) -> None:
        for size in PaperSize:
            self.paper.addItem(local_label(size.label), size)
        self.paper.setAccessibleName(tr("paper.dialog.paper"))
        names = printer_names()
        self.printer.addItems(names or [_ANY_PRINTER])
        self.printer.setEditable(not names)
        self.printer.setAccessibleName(tr("paper.dialog.printer"))
        self.print_button.setEnabled(bool(names))
        if not names:
            self.print_button.setToolTip(tr("paper.dialog.this_computer_knows_no_printer"))
        known = caution_words()
        shown = [known[key] for key in caution_keys if key in known]
        self._cautions.setText("\n".join(f"{one.title}. {one.text}" for one in shown))
        self._cautions.setVisible(bool(shown))
        self._cautions.setProperty("kind", "question")

    def _lay_out(self) -> None:
        self.back = QPushButton("◂")
        self.back.setAccessibleName(tr("paper.dialog.sheet_before"))
        self.forward = QPushButton("▸")
        self.forward.setAccessibleName(tr("paper.dialog.next_sheet"))
        turn = QHBoxLayout()
        turn.addWidget(self.back)
        turn.addWidget(self.page_words, 1)
        turn.addWidget(self.forward)
        left = add_all(QVBoxLayout(), (self.view, 1), turn)
        measuring = column_in(self._measuring)
        measuring.addWidget(text_label(tr("paper.dialog.what_did_you_measure_on")))
        measuring.addWidget(self.form)
        measuring.addWidget(self.check_button)
        side = QWidget()
        right = self._side = QVBoxLayout(side)
        right.addWidget(self._cautions)
        right.addWidget(text_label(tr("paper.dialog.paper")))
        right.addWidget(self.paper)
        right.addWidget(text_label(tr("paper.dialog.printer")))
        right.addWidget(self.printer)
        right.addWidget(self._measuring)
        right.addStretch(1)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setWidget(side)
        area.setMinimumWidth(round(_SIDE_EM * theme.em(self)))
        area.setAccessibleName(tr("paper.dialog.ways_to_put_it_on"))
        columns = add_all(QHBoxLayout(), (left, 3), (area, 2))
        outer = QVBoxLayout(self)
        add_layout(outer, columns, 1)
        outer.addWidget(self.answer)
        # Below all, where they stay in sight however much there is to choose.
        ways = (self.save_button, self.print_button, self.picture_button)
        add_layout(outer, add_all(QHBoxLayout(), *ways, 1, self.close_button))
        for one in self.findChildren(QPushButton):
            one.setAutoDefault(False)  # Enter in a field must not save, print or close

    def _connect(self) -> None:
        self.paper.currentIndexChanged.connect(self.remake)
        self.view.turned.connect(self._name_page)
        self.back.clicked.connect(lambda: self.view.turn_to(self.view.index - 1))
        self.forward.clicked.connect(lambda: self.view.turn_to(self.view.index + 1))
        self.save_button.clicked.connect(self.save)
        self.print_button.clicked.connect(self.print_out)
        self.picture_button.clicked.connect(self.save_picture)
        self.check_button.clicked.connect(self.check)
        self.form.submitted.connect(self.check)
        self.close_button.clicked.connect(self.reject)

    def remake(self) -> None:
        """Make the sheets again, for the paper and the options as they are now."""
        try:
            self.sheets = self._make(PaperSize(self.paper.currentData()))
            self.answer.setText("")
        except PaperProblem as problem:
            self.sheets = ()
            self.answer.setText(told(problem))
        self.view.show_sheets(self.sheets)
        self._measuring.setVisible(any(sheet.is_true_scale for sheet in self.sheets))
        self.save_button.setEnabled(bool(self.sheets))
        # A picture has no scale of its own: a protractor in a message would be measured wrongly.
        true_scale = any(sheet.is_true_scale for sheet in self.sheets)
        self.picture_button.setVisible(bool(self.sheets) and not true_scale)
        self._name_page()

    def _name_page(self) -> None:
        count = len(self.sheets)
        sheet = self.view.sheet
        words = (
            ""
            if sheet is None
            else tr(
                "paper.dialog.index_of_count_sheet",
                index=self.view.index + 1,
                count=count,
                sheet=Name(sheet.title),
            )
        )
        self.page_words.setText(words)
        self.page_words.setToolTip(plain_tip(words))
        self.back.setEnabled(self.view.index > 0)
        self.forward.setEnabled(self.view.index + 1 < count)

    def _advice(self) -> str:
        if not any(sheet.is_true_scale for sheet in self.sheets):
            return ""
        return tr("paper.dialog.print_at_100_measure_both")

    def _say(self, problem: ToldProblem) -> None:
        self.answer.setText(told(problem))
        self._messages.tell(self._title, said(problem.what), said(problem.todo))

    def _announce(self, sentence: str) -> None:
        self.answer.setText(sentence.strip())
        self.answer.setAccessibleName(sentence.strip())


def _file_name(title: str) -> str:
    whole = title.replace("'", "").replace("’", "")  # the owner's sheet is no "owner-s-sheet"
    kept = "".join(c if c.isalnum() or c in " -_" else " " for c in whole)
    return "-".join(kept.split()).lower()[:80] or "sheet"
