"""Headshells in the window, by keyboard: put on file, put on the arm, changed back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from PySide6.QtCore import Qt

from core.fitting import Body, Control, Finished, Work
from core.records import Headshell
from core.store import Library
from core.workflow.work import work_asked
from desktop.library.editor import RecordEditor
from desktop.library.screen import LibraryScreen
from desktop.library.start_page import StartPage
from desktop.shell.main_window import MainWindow
from desktop.wizard import Wizard
from tests.core.swap.swaps import left, moved, weighed
from tests.desktop.kit import focus, page_of, press, settle, write
from tests.examples import cartridge, deck

ALT, CTRL = Qt.KeyboardModifier.AltModifier, Qt.KeyboardModifier.ControlModifier
Key = Qt.Key
DAY = datetime(2025, 3, 3, 12, tzinfo=UTC)


def a_deck(library: Library, headshell_g: float = 8.0) -> str:
    """A deck whose headshell comes off; one turn of its weight makes 1 gf."""
    made = deck()
    arm = made.arm.model_copy(
        update={"headshell_mass_g": headshell_g, "gf_per_turn": 1.0, "heaviest_cartridge_g": 30.0}
    )
    return library.keep_deck(made.model_copy(update={"arm": arm})).id


def fitted(
    library: Library, deck_id: str, inside: str, shell: str, day: int, *bodies: Body
) -> None:
    at = DAY + timedelta(days=day)
    fitting = library.start_fitting(deck_id, inside, headshell=library.used_headshell(shell), at=at)
    for count, body in enumerate((*bodies, Finished()), 1):
        library.append(fitting.id, body, at=at + timedelta(minutes=count))


def test_a_head_that_does_not_come_off_has_no_headshells(
    window: MainWindow, opened: Library
) -> None:
    screen = page_of(window, LibraryScreen)
    assert not screen.tabs.isTabVisible(screen.tabs.indexOf(screen.headshells))
    window.show_start(a_deck(opened, 0.0), opened.cartridges()[0].id)
    page = page_of(window, StartPage)
    assert page.headshell.isHidden()
    assert page.headshell.current_id == ""
    assert page.work.findData(Work.HEADSHELL.value) == -1


def test_a_headshell_is_put_on_file_where_a_fitting_begins(
    window: MainWindow, opened: Library
) -> None:
    window.show_start(a_deck(opened), opened.cartridges()[0].id)
    press(Key.Key_W, ALT)
    settle()
    page_of(window, RecordEditor)
    write("Headshell A")
    press(Key.Key_Tab)
    write("9.5")
    press(Key.Key_S, CTRL)
    settle()
    page = page_of(window, StartPage)
    (row,) = opened.headshells()
    assert page.headshell.current_id == row.id
    assert opened.headshell(row.id).thing.mass_g == 9.5
    assert "alignment and tilt are part of this job" in page.headshell.said.text()
    window.show_library()
    screen = page_of(window, LibraryScreen)
    assert screen.tabs.isTabVisible(screen.tabs.indexOf(screen.headshells))


def test_two_headshells_are_changed_back_and_forth_by_keyboard(
    window: MainWindow, opened: Library
) -> None:
    """The weight went out by 3.75 turns for B: for A it goes in by as much, and on for B again."""
    deck_id = a_deck(opened)
    light = opened.keep_cartridge(cartridge(name="Light", mass_g=5.0)).id
    heavy = opened.keep_cartridge(cartridge(name="Heavy", mass_g=7.0)).id
    a = opened.keep_headshell(Headshell(name="Headshell A", mass_g=8.0)).id
    b = opened.keep_headshell(Headshell(name="Headshell B", mass_g=10.0)).id
    out = moved("rough_downforce", Control.COUNTERWEIGHT, -3.75, "turns")
    fitted(opened, deck_id, light, a, 0, *left())
    fitted(
        opened, deck_id, heavy, b, 1, *left(rough_downforce=(out, weighed(2.0, "rough_downforce")))
    )

    def change(place: int) -> Wizard:
        window.show_start(deck_id, heavy)
        press(Key.Key_D, ALT)
        assert focus() is page_of(window, StartPage).headshell.shells
        for _ in range(place):
            press(Key.Key_Down)
        settle()
        press(Key.Key_S, ALT)
        settle()
        return page_of(window, Wizard)

    for place, shell, inside, turns in ((1, a, light, 3.75), (2, b, heavy, -3.75)):
        wizard = change(place)
        fitting = wizard.controller.fitting
        assert fitting.headshell is not None
        assert (fitting.headshell.headshell, fitting.cartridge_id) == (shell, inside)
        assert fitting.work == work_asked(Work.HEADSHELL)
        assert wizard.place == "mount"
        assert fitting.planned is not None
        (start,) = [one for one in fitting.planned.starts if one.step == "rough_downforce"]
        assert start.part is not None
        assert start.part.amount == pytest.approx(turns)
        assert start.predicted is not None
        assert start.half_width is not None
        assert abs(start.predicted - 2.0) <= start.half_width
        made = moved("rough_downforce", Control.COUNTERWEIGHT, start.part.amount, "turns")
        for body in (made, weighed(2.0, "rough_downforce"), weighed(2.0), Finished()):
            opened.append(fitting.id, body)
        window.show_library()


def test_what_is_known_of_the_headshell_is_said_before_the_start(
    window: MainWindow, opened: Library
) -> None:
    deck_id, inside = a_deck(opened), opened.keep_cartridge(cartridge(name="Light")).id
    shell = opened.keep_headshell(Headshell(name="Headshell A", mass_g=8.0)).id
    fitted(opened, deck_id, inside, shell, 0, *left())
    window.show_start(deck_id, opened.cartridges()[0].id)
    page = page_of(window, StartPage)
    page.headshell.choose(shell)
    assert page.cartridges.current_id == inside
    assert page.work.currentData() == Work.HEADSHELL.value
    assert "were set in this headshell on 2025-03-03" in page.headshell.said.text()
    page.headshell.choose("")
    page.headshell.shells.setCurrentIndex(0)
    assert page.work.findData(Work.HEADSHELL.value) == -1
    assert page.headshell.said.isHidden()


def test_a_headshell_is_corrected_and_one_comes_back(window: MainWindow, opened: Library) -> None:
    deck_id = a_deck(opened)
    shell = opened.keep_headshell(Headshell(name="Headshell A", mass_g=8.0)).id
    window.show_start(deck_id, opened.cartridges()[0].id, headshell_id=shell)
    press(Key.Key_G, ALT)
    settle()
    editor = page_of(window, RecordEditor)
    editor.form.fields.entries["taken_apart"].put("2025-03-04")
    press(Key.Key_S, CTRL)
    settle()
    assert opened.headshell(shell).thing.taken_apart == "2025-03-04"
    assert page_of(window, StartPage).headshell.current_id == shell
