"""Paper that leaves the house, from the pages that offer it, by a person at the window."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QLabel

from core.drawing.marks import Bitmap, Words
from core.language import Numbers
from core.paper.letterhead import letterhead_of
from core.records import Customer, Job
from core.store import Library
from desktop.history.due_page import DuePage
from desktop.history.history_page import HistoryPage
from desktop.paper.dialog import PaperDialog
from desktop.paper.leaving import LeavingPaper, PaperOptions
from desktop.paper.letterhead_dialog import LetterheadDialog
from desktop.paper.paper_button import PaperButton
from desktop.shell.main_window import MainWindow
from desktop.swap.swap_page import SwapPage
from tests.desktop.kit import RecordingMessages, finished, press, settle
from tests.examples import cartridge, deck

Show = Callable[..., LetterheadDialog]


@pytest.fixture
def shop(window: MainWindow, library: Library) -> tuple[MainWindow, str, str]:
    deck_id = library.keep_deck(deck()).id
    fitting = finished(library, deck_id, library.keep_cartridge(cartridge()).id)
    window.open_library(library.address.path)
    return window, deck_id, fitting


def words(dialog: PaperDialog) -> str:
    marks = [mark for sheet in dialog.sheets for mark in sheet.marks]
    return " ".join(mark.text for mark in marks if isinstance(mark, Words))


def the_dialog(window: MainWindow) -> PaperDialog:
    settle()
    (dialog,) = window.findChildren(PaperDialog)
    return dialog


def test_the_owners_sheet_opens_from_the_summary_and_goes_out_as_a_picture(
    shop: tuple[MainWindow, str, str], messages: RecordingMessages, tmp_path: Path
) -> None:
    window, _, fitting = shop
    window.open_fitting(fitting)
    settle()
    button = next(one for one in window.findChildren(PaperButton) if one.text() == "Owner's sheet…")
    button.setFocus()
    press(Qt.Key.Key_Space)
    dialog = the_dialog(window)
    assert len(dialog.sheets) == 1
    messages.files = [tmp_path / "sheet"]
    dialog.picture_button.click()
    picture = QImage(str(tmp_path / "sheet.png"))
    assert (picture.width(), picture.height()) == (1680, 2376)  # 210 by 297 mm, 8 points a mm
    assert picture.pixelColor(5, 5) == Qt.GlobalColor.white
    dialog.close()


def test_a_protractor_is_never_offered_as_a_picture(
    shop: tuple[MainWindow, str, str],
) -> None:
    window, _, fitting = shop
    window.open_fitting(fitting)
    wizard = window.pages.currentWidget()
    wizard.go("alignment")  # type: ignore[union-attr]  # the wizard, after open_fitting
    settle()
    button = next(one for one in window.findChildren(PaperButton) if "Protractor" in one.text())
    button.click()
    dialog = the_dialog(window)
    assert not dialog.picture_button.isVisible()
    dialog.close()


def test_plan_history_and_due_list_open_on_paper_from_their_pages(
    shop: tuple[MainWindow, str, str], library: Library
) -> None:
    window, deck_id, fitting = shop
    window.show_history(deck_id)
    page = window.pages.currentWidget()
    assert isinstance(page, HistoryPage)
    page.loader.finish()
    assert page.paper_button.isEnabled()
    page.paper_button.click()
    dialog = the_dialog(window)
    assert "Figures over time" in words(dialog)
    dialog.close()
    settle()
    window.show_swap(fitting)
    swap = window.pages.currentWidget()
    assert isinstance(swap, SwapPage)
    swap.show_plan(library.cartridges()[0].id)
    assert swap.plan is not None
    swap.plan.paper_button.click()
    dialog = window.findChildren(PaperDialog)[-1]
    assert "Plan for another cartridge" in words(dialog)
    dialog.close()
    settle()
    window.show_due()
    due = window.pages.currentWidget()
    assert isinstance(due, DuePage)
    due.finish()
    due.paper_button.click()
    dialog = window.findChildren(PaperDialog)[-1]
    assert "1 deck is due." in words(dialog)  # finished in March 2025, with a year between checks
    dialog.close()


def filled(image: QImage) -> QImage:
    """Return the image all in one colour: a new one holds whatever the memory held before."""
    image.fill(QColor("steelblue"))
    return image


class TestLetterhead:
    def test_it_is_typed_with_a_logo_and_stands_on_the_sheet(
        self, library: Library, messages: RecordingMessages, shown: Show, tmp_path: Path
    ) -> None:
        logo = tmp_path / "logo.png"
        filled(QImage(2000, 500, QImage.Format.Format_RGB32)).save(str(logo))
        dialog = shown(LetterheadDialog(library, messages))
        dialog.name.setText("Example workshop")
        dialog.address.setPlainText("1 Example Street")
        messages.files = [logo]
        dialog.choose()
        dialog.save()
        kept = letterhead_of(library)
        assert (kept.name, kept.address) == ("Example workshop", "1 Example Street")
        small = QImage.fromData(kept.logo)
        assert (small.width(), small.height()) == (900, 225)

    @pytest.mark.parametrize("name", ["logo.png", "logo.jpg"])
    def test_a_photograph_is_kept_with_fewer_points(
        self,
        name: str,
        library: Library,
        messages: RecordingMessages,
        shown: Show,
        tmp_path: Path,
    ) -> None:
        grain = random.Random(1).randbytes(1200 * 800 * 4)  # a PNG can't make this any smaller
        QImage(grain, 1200, 800, QImage.Format.Format_RGB32).save(str(tmp_path / name))
        dialog = shown(LetterheadDialog(library, messages))
        messages.files = [tmp_path / name]
        dialog.choose()
        assert dialog.problem.text() == ""
        dialog.save()
        kept = QImage.fromData(letterhead_of(library).logo)
        assert 200 < kept.width() < 900
        assert kept.width() / kept.height() == pytest.approx(1.5, rel=0.02)

    @pytest.mark.parametrize("content", [b"", b"no picture", b"\x89PNG\r\n\x1a\n broken"])
    def test_a_file_that_is_no_picture_gets_one_sentence(
        self,
        content: bytes,
        library: Library,
        messages: RecordingMessages,
        shown: Show,
        tmp_path: Path,
    ) -> None:
        place = tmp_path / "logo.png"
        place.write_bytes(content)
        dialog = shown(LetterheadDialog(library, messages))
        messages.files = [place]
        dialog.choose()
        assert dialog.problem.text().startswith("logo.png is not a picture")
        assert dialog.logo == b""

    def test_a_picture_that_would_fill_the_memory_is_refused(
        self, library: Library, messages: RecordingMessages, shown: Show, tmp_path: Path
    ) -> None:
        place = tmp_path / "bomb.png"
        filled(QImage(12_000, 12_000, QImage.Format.Format_Mono)).save(str(place))
        content = bytearray(place.read_bytes())
        content[24] = 8  # said to be of eight bits and three colours a point: 576 MB
        content[25] = 6
        place.write_bytes(content)
        dialog = shown(LetterheadDialog(library, messages))
        messages.files = [place]
        dialog.choose()
        assert dialog.problem.text() != ""

    def test_an_address_that_is_too_long_is_said_and_stays(
        self, library: Library, messages: RecordingMessages, shown: Show
    ) -> None:
        dialog = shown(LetterheadDialog(library, messages))
        dialog.address.setPlainText("x" * 401)
        dialog.save()
        assert dialog.problem.text() == "Shorten the address: at most 400 letters are kept."
        assert dialog.isVisible()
        assert letterhead_of(library).is_empty


def test_the_customers_name_stands_on_it_only_when_it_is_ticked(
    window: MainWindow, library: Library, messages: RecordingMessages
) -> None:
    customer = library.keep_customer(Customer(name="C. Owner", contact="000 0000"))
    job = library.keep_job(Job(customer=customer.id))
    deck_id = library.keep_deck(deck()).id
    fitting = finished(library, deck_id, library.keep_cartridge(cartridge()).id)
    library.give_job(fitting, job.id)
    from tests.desktop.kit import FittingController

    controller = FittingController(library, fitting, numbers=Numbers())
    paper = LeavingPaper(library, Numbers(), messages)
    dialog = paper.owner(lambda: controller.journey, window)
    assert "C. Owner" not in words(dialog)
    (options,) = dialog.findChildren(PaperOptions)
    options.name_box.click()
    assert "For: C. Owner" in words(dialog)
    assert "000 0000" not in words(dialog)
    assert not any(isinstance(m, Bitmap) for sheet in dialog.sheets for m in sheet.marks)
    assert not any("C. Owner" in label.text() for label in dialog.findChildren(QLabel))
    dialog.close()


@pytest.mark.parametrize("begins", ["Owner's sheet", "Bench sheet"])
def test_the_file_of_a_sheet_begins_with_the_number_of_its_job(
    shop: tuple[MainWindow, str, str], library: Library, messages: RecordingMessages, begins: str
) -> None:
    window, _, fitting = shop
    library.give_job(fitting, library.keep_job(Job(number="2026-014")).id)
    window.open_fitting(fitting)
    settle()
    button = next(one for one in window.findChildren(PaperButton) if one.text().startswith(begins))
    button.click()
    dialog = the_dialog(window)
    messages.files = [None]
    dialog.save()
    ((_, start, _),) = messages.file_questions
    assert "-s-" not in start.name, "the owner's sheet was named owner-s-sheet"
    assert start.name.startswith(f"job-2026-014-{begins.lower().replace(' ', '-')[:5]}")
    dialog.close()
