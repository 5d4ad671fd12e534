from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel

from core.fitting import ChoiceMade
from core.language import Numbers
from core.paper.fitting_sheets import protractor_sheets
from core.paper.printer_scale import scale_of
from core.paper.sheet import PaperProblem, PaperSize, Sheet
from core.paper.strobe_disc import CAUTIONS
from core.store import Library
from desktop.paper import dialog as dialog_module
from desktop.paper.dialog import CheckLinesMeasured, PaperDialog
from desktop.paper.paper_button import PaperButton, paper_button
from desktop.paper.preview import SheetView
from desktop.tasks.fitting_controller import FittingController
from desktop.wizard import Wizard
from tests.desktop.kit import RecordingMessages
from tests.examples import cartridge, deck
from tests.readback import drawing_of, words_of

Shown = Callable[..., PaperDialog]


def make(size: PaperSize) -> tuple[Sheet, ...]:
    return protractor_sheets(deck(), None, size)


@pytest.fixture
def paper_dialog(
    shown: Shown, library: Library, messages: RecordingMessages, monkeypatch: pytest.MonkeyPatch
) -> PaperDialog:
    monkeypatch.setattr(dialog_module, "printer_names", list)
    made = PaperDialog(
        "Protractor: t", make, library, numbers=Numbers(), messages=messages, who="Ada"
    )
    return shown(made, 900, 640)


def test_every_sheet_can_be_looked_at_from_the_keyboard(paper_dialog: PaperDialog) -> None:
    view = paper_dialog.view
    assert view.accessibleName() == "Sheet 1 of 2: Protractor: two-radius grid"
    QTest.keyClick(view, Qt.Key.Key_PageDown)
    assert view.index == 1
    assert "arc" in view.accessibleDescription()
    assert paper_dialog.page_words.text().startswith("2 of 2")
    QTest.keyClick(view, Qt.Key.Key_PageDown)
    assert view.index == 1
    assert not paper_dialog.forward.isEnabled()
    QTest.keyClick(view, Qt.Key.Key_PageUp)
    assert view.index == 0


def test_the_preview_shows_ink_on_white_paper(paper_dialog: PaperDialog) -> None:
    picture = paper_dialog.view.grab().toImage()
    middle, height = picture.width() // 2, picture.height()
    seen = {picture.pixelColor(middle, y).lightness() for y in range(height)}
    assert max(seen) > 250
    assert min(seen) < 160


def test_saving_writes_the_pdf_and_says_how_to_print_it(
    paper_dialog: PaperDialog, messages: RecordingMessages, tmp_path: Path
) -> None:
    messages.files.append(tmp_path / "mine")
    QTest.mouseClick(paper_dialog.save_button, Qt.MouseButton.LeftButton)
    assert "66.00" in words_of(tmp_path / "mine.pdf")
    assert "100 %" in paper_dialog.answer.text()
    assert messages.file_questions[0][1].name == "protractor-t.pdf"


def test_backing_out_of_saving_writes_nothing(
    paper_dialog: PaperDialog, messages: RecordingMessages
) -> None:
    messages.files.append(None)
    paper_dialog.save()
    assert paper_dialog.answer.text() == ""


def test_a_place_that_cannot_be_written_is_told_in_the_window_too(
    paper_dialog: PaperDialog, messages: RecordingMessages, tmp_path: Path
) -> None:
    messages.files.append(tmp_path / "missing" / "a.pdf")
    paper_dialog.save()
    assert "no folder" in paper_dialog.answer.text()
    assert "no folder" in messages.sentences[0]


def measured(paper_dialog: PaperDialog, x_mm: float, y_mm: float) -> None:
    paper_dialog.form.put(CheckLinesMeasured(x_mm=x_mm, y_mm=y_mm))
    QTest.mouseClick(paper_dialog.check_button, Qt.MouseButton.LeftButton)


def test_what_was_measured_is_kept_and_the_next_print_makes_up_for_it(
    paper_dialog: PaperDialog, messages: RecordingMessages, library: Library, tmp_path: Path
) -> None:
    measured(paper_dialog, 147.0, 147.0)
    assert "off by −2.00" in paper_dialog.answer.text()
    kept = scale_of(library, paper_dialog.printer.currentText())
    assert kept is not None
    assert kept.who == "Ada"
    messages.files.append(tmp_path / "a.pdf")
    paper_dialog.save()
    longest = max(s.length_mm for s in drawing_of(tmp_path / "a.pdf").strokes if s.length_mm < 160)
    assert longest * 0.98 == pytest.approx(150.0, abs=0.001)
    measured(paper_dialog, 150.1, 149.9)
    assert "Use this sheet" in paper_dialog.answer.text()
    assert paper_dialog.factor == pytest.approx(1.0 / 0.98)


def test_different_errors_are_refused_and_nothing_is_kept(
    paper_dialog: PaperDialog, library: Library
) -> None:
    measured(paper_dialog, 149.0, 151.0)
    assert "Do not use this sheet" in paper_dialog.answer.text()
    assert scale_of(library, paper_dialog.printer.currentText()) is None


def test_nothing_typed_is_asked_for_not_judged(paper_dialog: PaperDialog) -> None:
    QTest.mouseClick(paper_dialog.check_button, Qt.MouseButton.LeftButton)
    assert paper_dialog.answer.text() == ""


def test_the_paper_can_be_changed(paper_dialog: PaperDialog) -> None:
    paper_dialog.paper.setCurrentIndex(1)
    sheet = paper_dialog.view.sheet
    assert sheet is not None
    assert sheet.size is PaperSize.LETTER


def test_where_nothing_can_be_drawn_the_reason_stands_there(
    shown: Shown, library: Library, messages: RecordingMessages
) -> None:
    def refuse(_size: PaperSize) -> tuple[Sheet, ...]:
        raise PaperProblem("There is no pivot.", "Measure it.")

    made = shown(PaperDialog("t", refuse, library, numbers=Numbers(), messages=messages))
    assert made.answer.text() == "There is no pivot. Measure it."
    assert not made.save_button.isEnabled()
    assert made.view.sheet is None


def test_an_empty_preview_draws_nothing_and_turns_nowhere(shown: Callable[..., SheetView]) -> None:
    view = shown(SheetView())
    view.turn_to(3)
    assert view.index == 0
    assert view.accessibleName() == "No sheet"


def test_the_printer_gets_sheets_title_and_scale(
    paper_dialog: PaperDialog, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent: list[tuple[str, int, str, float]] = []
    monkeypatch.setattr(
        dialog_module,
        "print_sheets",
        lambda name, sheets, *, title, factor: sent.append((name, len(sheets), title, factor)),
    )
    measured(paper_dialog, 147.0, 147.0)
    paper_dialog.print_out()
    assert sent == [("Printer for saved PDFs", 2, "Protractor: t", pytest.approx(1.0 / 0.98))]
    assert "Sent to" in paper_dialog.answer.text()


@pytest.fixture
def controller(library: Library, qt_owner: object) -> FittingController:
    kept, other = library.keep_deck(deck()), library.keep_cartridge(cartridge())
    fitting = library.start_fitting(kept.id, other.id, who="Ada")
    library.append(fitting.id, ChoiceMade(step="alignment", choices={"criterion": "stevenson"}))
    return FittingController(library, fitting.id, who="Ada")


@pytest.mark.parametrize(
    ("place", "title"),
    [
        ("alignment", "Protractor: two-radius grid"),
        ("speed", "Strobe disc"),
        ("summary", "Bench sheet: "),
    ],
)
def test_pages_with_sheets_open_them_as_the_fitting_stands(
    place: str,
    title: str,
    controller: FittingController,
    shown: Callable[..., Wizard],
    messages: RecordingMessages,
    qapp: QApplication,
) -> None:
    wizard = shown(Wizard(controller, messages, paper_button=paper_button))
    wizard.go(place)
    button = next(
        one for one in wizard.page.findChildren(PaperButton) if one.text() != "Owner's sheet…"
    )
    assert button.isVisible()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    opened = button.dialog
    assert opened is not None
    assert opened.sheets[0].title.startswith(title)
    if place == "alignment":
        assert "60.3 and 117.4" in opened.sheets[0].summary
    told = " ".join(label.text() for label in opened.findChildren(QLabel))
    assert ("seizures" in told) is (place == "speed")
    opened.close()


def test_other_pages_offer_none(
    controller: FittingController, shown: Callable[..., Wizard], messages: RecordingMessages
) -> None:
    wizard = shown(Wizard(controller, messages, paper_button=paper_button))
    wizard.go("level")
    assert wizard.page.findChildren(PaperButton) == []
    assert CAUTIONS[0] == "flashing"
