"""Pictures of a fitting and its job on paper: only where they are asked for, and all of them."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

import pytest
from PySide6.QtCore import QRect

from core.drawing.marks import Bitmap, Words
from core.fitting import Work, WorkAsked
from core.language import Numbers
from core.paper.lettering import rough_width
from core.paper.sheet import PaperSize, Sheet, printable
from core.records import Job, PictureOf
from core.store import Library
from core.store.jpeg import Content
from desktop.paper.arguments import add_arguments
from desktop.paper.command import _sheets
from desktop.paper.dialog import PaperDialog
from desktop.paper.kept_pictures import PicturesBox
from desktop.paper.of_deck import DeckPaperOptions, open_paper_of_deck
from desktop.paper.paper_button import PaperButton
from desktop.shell.main_window import MainWindow
from desktop.widgets.terminal import tr
from desktop.wizard import Wizard
from tests.desktop.kit import RecordingMessages, finished, settle
from tests.desktop.pictures.test_reading import encoded, image
from tests.examples import cartridge, deck
from tests.visits import keep

DAY = date(2025, 3, 1)


def content(width: int, height: int) -> Content:
    return Content.of(encoded(image(width, height)), encoded(image(60, 40)))


@pytest.fixture
def fitting(window: MainWindow, library: Library) -> str:
    """A fitting of a job, with five pictures of it, one of the job and one withdrawn."""
    deck_id = library.keep_deck(deck()).id
    made = finished(library, deck_id, library.keep_cartridge(cartridge()).id)
    job = library.keep_job(Job(brought="a deck")).id
    library.give_job(made, job)
    for number, size in enumerate(((300, 200), (200, 300), (90, 400), (400, 90), (50, 50))):
        library.pictures.add(
            PictureOf.FITTING, made, content(*size), who="", day=DAY, caption=f"Seen {number}"
        )
    library.pictures.add(
        PictureOf.JOB, job, content(120, 80), who="", day=DAY, caption="As it came"
    )
    away = library.pictures.add(PictureOf.JOB, job, content(81, 81), who="", day=DAY).id
    library.pictures.withdraw(away, "2025-03-02", who="")
    window.open_library(library.address.path)
    window.open_fitting(made)
    settle()
    return made


def opened(window: MainWindow, title: str) -> PaperDialog:
    button = next(one for one in window.findChildren(PaperButton) if one.text() == title)
    button.click()
    settle()
    (dialog,) = window.findChildren(PaperDialog)
    return dialog


def bitmaps(sheets: tuple[Sheet, ...]) -> list[Bitmap]:
    return [mark for sheet in sheets for mark in sheet.marks if isinstance(mark, Bitmap)]


@pytest.mark.parametrize("title", ["Owner's sheet…", "Bench sheet…"])
def test_pictures_come_on_further_pages_once_the_box_is_ticked(
    window: MainWindow, fitting: str, title: str
) -> None:
    dialog = opened(window, title)
    (box,) = dialog.findChildren(PicturesBox)
    assert box.isVisible()
    assert not box.isChecked()
    assert box.text() == "The 6 pictures of this fitting and its job, on further pages"
    before = len(dialog.sheets)
    assert bitmaps(dialog.sheets) == []
    box.click()
    shown = bitmaps(dialog.sheets)
    assert len(shown) == 6
    assert bitmaps(dialog.sheets[:before]) == [], "the first page stays as it is"
    marks = [mark for sheet in dialog.sheets[before:] for mark in sheet.marks]
    words = " ".join(mark.text for mark in marks if isinstance(mark, Words))
    for caption in (*(f"Seen {number}" for number in range(5)), "As it came"):
        assert f"{caption} (2025-03-01)" in words
    area = printable(PaperSize.A4)
    for sheet in dialog.sheets[before:]:
        rooms = []
        for one in (mark for mark in sheet.marks if isinstance(mark, Bitmap)):
            assert area.left <= one.x
            assert one.x + one.width_mm <= area.right + 1e-9
            assert area.bottom <= one.y
            assert one.y + one.height_mm <= area.top + 1e-9
            rooms.append(
                QRect(*(round(10 * at) for at in (one.x, one.y, one.width_mm, one.height_mm)))
            )
        assert not any(
            one.intersects(other) for at, one in enumerate(rooms) for other in rooms[at + 1 :]
        )
    wide = next(one for one in shown if one.content == content(400, 90).image)
    assert wide.width_mm / wide.height_mm == pytest.approx(400 / 90)
    box.click()
    assert bitmaps(dialog.sheets) == []
    dialog.close()


def test_without_pictures_nothing_is_offered(window: MainWindow, library: Library) -> None:
    deck_id = library.keep_deck(deck()).id
    made = finished(library, deck_id, library.keep_cartridge(cartridge()).id)
    window.open_library(library.address.path)
    window.open_fitting(made)
    settle()
    dialog = opened(window, "Bench sheet…")
    (box,) = dialog.findChildren(PicturesBox)
    assert not box.isVisible()
    dialog.close()


def test_the_paper_of_a_deck_and_the_command_offer_the_same_pictures(
    window: MainWindow, library: Library, fitting: str, tmp_path: Path
) -> None:
    deck_id = library.fitting(fitting).deck_id
    dialog = open_paper_of_deck(
        library, deck_id, window, numbers=Numbers(), messages=RecordingMessages()
    )
    options = dialog.findChild(DeckPaperOptions)
    assert options is not None
    options.what.setCurrentIndex(options.what.findData("sheet"))
    assert options.pictures.isVisible()
    assert bitmaps(dialog.sheets) == []
    options.pictures.setChecked(True)
    seen = bitmaps(dialog.sheets)
    assert len(seen) == 6
    parser = argparse.ArgumentParser()
    add_arguments(parser, tr)
    for what in ("sheet", "owner"):
        asked = [what, "--deck", deck_id, "--out", str(tmp_path / "x.pdf")]
        for more, count in (([], 0), (["--pictures"], 6)):
            parsed = parser.parse_args([*asked, *more])
            stored = library.deck(deck_id)
            made = _sheets(parsed, library, stored, PaperSize.A4, Numbers(), rough_width)
            assert len(bitmaps(made)) == count, asked


def test_the_bench_sheet_of_a_short_job_says_the_day_that_the_check_is_left_at(
    window: MainWindow, library: Library
) -> None:
    on = library.keep_deck(deck(check_months=12)).id
    fitted = library.keep_cartridge(cartridge()).id
    keep(library, "2025-03-31", on, fitted)
    job = library.start_fitting(on, fitted)
    library.append(
        job.id, WorkAsked(work=Work.DOWNFORCE, steps=("rough_downforce", "final_downforce"))
    )
    window.open_library(library.address.path)
    window.open_fitting(job.id)
    settle()
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    wizard.go("summary")
    settle()
    dialog = opened(window, "Bench sheet…")
    words = [one.text for sheet in dialog.sheets for one in sheet.marks if isinstance(one, Words)]
    assert any("2026-03-31" in one for one in words), words
