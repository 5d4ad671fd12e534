"""Paper straight from a deck's row has every choice that the command has."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget

from core.language import Numbers
from core.paper.sheet import PaperSize
from core.store import Library
from desktop.library.screen import LibraryScreen
from desktop.paper.arguments import add_arguments
from desktop.paper.dialog import PaperDialog
from desktop.paper.of_deck import DeckPaperOptions, ProtractorWish, StrobeWish, open_paper_of_deck
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.widgets.terminal import tr
from tests.arms import REAR, two_arms
from tests.desktop.kit import RecordingMessages, settle
from tests.examples import cartridge, deck
from tests.visits import keep


@pytest.fixture
def deck_id(library: Library) -> str:
    return library.keep_deck(deck(name="Own deck")).id


@pytest.fixture
def dialog(library: Library, deck_id: str, shown: Callable[[QWidget], QWidget]) -> PaperDialog:
    parent = QWidget()
    shown(parent)
    return open_paper_of_deck(
        library, deck_id, parent, numbers=Numbers(decimal=","), messages=RecordingMessages()
    )


def options_of(dialog: PaperDialog) -> DeckPaperOptions:
    found = dialog.findChild(DeckPaperOptions)
    assert found is not None
    return found


def turn(dialog: PaperDialog, what: str) -> DeckPaperOptions:
    options = options_of(dialog)
    options.what.setCurrentIndex(options.what.findData(what))
    return options


def squeezed(options: DeckPaperOptions) -> list[str]:
    """Return the words that have less height than they need at their width."""
    words = [one for one in options.findChildren(QLabel) if one.isVisible() and one.wordWrap()]
    boxes = [one for one in options.findChildren(QAbstractButton) if one.isVisible()]
    return [
        *(one.text() for one in words if one.height() < one.heightForWidth(one.width())),
        *(one.text() for one in boxes if one.height() < one.minimumSizeHint().height()),
    ]


def test_no_words_of_a_choice_are_squeezed(dialog: PaperDialog, qapp: QApplication) -> None:
    theme.apply(qapp, "light")
    for what in ("protractor", "strobe"):
        options = turn(dialog, what)
        for across in (700, 860):
            dialog.resize(across, 540)
            settle()
            assert squeezed(options) == [], (what, across)


def test_every_option_of_the_command_has_its_place_in_the_dialog(dialog: PaperDialog) -> None:
    parser = argparse.ArgumentParser()
    add_arguments(parser, tr)
    kinds = parser._subparsers
    assert kinds is not None
    branches = kinds._group_actions[0].choices
    assert branches is not None

    def of(what: str) -> set[str]:
        return {act.dest for act in branches[what]._actions} - {"help"}  # type: ignore[index, call-overload] # of argparse

    # Where each stands: the dialog's own fields, or those of the form of the sheet.
    everywhere = {"deck", "arm", "out", "library", "locale", "paper", "printer", "measured"}
    in_form = {
        "kind": "kind",
        "large": "tiled",
        "alignment": "criterion",
        "grooves": "grooves",
        "groove_radii": "own_inner_mm",
        "null_radii": "own_null_inner_mm",
        "pivot_to_spindle": "pivot_to_spindle_mm",
    }
    assert of("protractor") - everywhere == set(in_form)
    assert set(in_form.values()) <= set(ProtractorWish.model_fields)
    assert of("strobe") - everywhere == {"flashes", "mains", "speeds"}
    assert {"flashes_hz", "speeds_rpm"} <= set(StrobeWish.model_fields)
    assert of("sheet") - everywhere == {"cartridge", "fitting", "next_check", "pictures"}
    assert {"fitting", "next_check", "pictures"} <= set(vars(options_of(dialog)))


def test_a_protractor_follows_what_is_chosen(dialog: PaperDialog) -> None:
    both = len(dialog.sheets)
    assert both > 1
    options = turn(dialog, "protractor")
    wish = options.protractor.draft()
    assert isinstance(wish, ProtractorWish)
    assert wish.pivot_to_spindle_mm == deck().arm.pivot_to_spindle_mm
    options.protractor.put(wish.model_copy(update={"kind": "grid"}))
    dialog.remake()
    assert len(dialog.sheets) == 1
    options.protractor.put(ProtractorWish.model_validate(wish.model_dump() | {"tiled": False}))
    dialog.remake()
    assert len(dialog.sheets) <= both


def test_a_strobe_disc_has_a_ring_for_every_speed_and_lamp_and_its_caution(
    dialog: PaperDialog,
) -> None:
    options = turn(dialog, "strobe")
    (before,) = dialog.sheets
    assert not dialog._cautions.isHidden()
    options.strobe.put(StrobeWish(flashes_hz=(100.0, 120.0), speeds_rpm=(33.333333, 45.0)))
    dialog.remake()
    (after,) = dialog.sheets
    assert len(after.marks) > len(before.marks)
    turn(dialog, "protractor")
    assert dialog._cautions.isHidden()


def test_a_bench_sheet_is_that_of_the_fitting_chosen(library: Library, deck_id: str) -> None:
    pick = library.keep_cartridge(cartridge(name="Own pick")).id
    keep(library, "2024-03-01", deck_id, pick)
    options = DeckPaperOptions(library, library.deck(deck_id), Numbers())
    options.what.setCurrentIndex(options.what.findData("sheet"))
    assert options.fitting.itemText(0) == "2024-03-01  Own pick"
    (sheet, *_) = options.sheets(PaperSize.A4)
    assert "Own deck" in sheet.title


def test_a_deck_without_a_fitting_says_so_and_a_wrong_number_too(dialog: PaperDialog) -> None:
    turn(dialog, "sheet")
    assert dialog.answer.text() == "Own deck has no fitting yet, so there is nothing to report."
    assert not dialog.save_button.isEnabled()
    options = turn(dialog, "protractor")
    line = options.protractor.fields.entries["pivot_to_spindle_mm"].tab_stops()[-1]
    line.setText("long")  # type: ignore[attr-defined] # a line for a number
    dialog.remake()
    assert dialog.answer.text()
    assert not dialog.save_button.isEnabled()


def test_it_opens_from_the_row_of_a_deck(window: MainWindow, tmp_path: Path) -> None:
    window.open_library(tmp_path / "own.library")
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    screen.tabs.setCurrentWidget(screen.decks)
    screen.decks.buttons["paper"].click()
    dialogs = window.findChildren(PaperDialog)
    assert len(dialogs) == 1
    assert dialogs[0].sheets
    dialogs[0].reject()


def test_a_protractor_of_a_deck_with_two_arms_is_asked_which(
    library: Library, shown: Callable[[QWidget], QWidget]
) -> None:
    deck_id = library.keep_deck(two_arms()).id
    one = library.keep_cartridge(cartridge(name="At the rear")).id
    library.start_fitting(deck_id, one, arm_key=REAR)
    parent = QWidget()
    shown(parent)
    dialog = open_paper_of_deck(
        library, deck_id, parent, numbers=Numbers(), messages=RecordingMessages()
    )
    options = options_of(dialog)
    assert not options._of_arm.isHidden()
    assert options.arm.accessibleName()
    assert [options.arm.itemText(place) for place in range(2)] == ["Front arm", "Rear arm"]

    def pivot() -> float:
        wish = options.protractor.draft()
        assert isinstance(wish, ProtractorWish)
        return wish.pivot_to_spindle_mm

    assert pivot() == 222.0
    assert options.fitting.count() == 0
    options.arm.setCurrentIndex(1)
    dialog.remake()
    assert pivot() == 295.6
    assert options.fitting.count() == 1
    assert any("Rear arm" in sheet.title or "Rear arm" in sheet.summary for sheet in dialog.sheets)
    turn(dialog, "strobe")
    assert options._of_arm.isHidden()


def test_a_deck_with_one_arm_is_asked_for_none(dialog: PaperDialog) -> None:
    assert options_of(dialog)._of_arm.isHidden()


def test_saving_and_printing_stay_in_sight_however_much_there_is_to_choose(
    dialog: PaperDialog,
) -> None:
    turn(dialog, "protractor")
    dialog.resize(900, 600)
    settle()
    for one in (dialog.save_button, dialog.print_button, dialog.close_button):
        assert one.visibleRegion().boundingRect() == one.rect(), one.text()
