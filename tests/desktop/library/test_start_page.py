from __future__ import annotations

from collections.abc import Callable, Iterable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from core.fitting import Work
from core.language import Numbers
from core.store import Library, RecordRow
from desktop.library.start_page import StartPage
from desktop.widgets.preferences import Preferences
from tests.arms import two_arms
from tests.desktop.kit import RecordingMessages, focused, tab_to

Show = Callable[[QWidget], QWidget]


@pytest.fixture
def page(library: Library, preferences: Preferences, shown: Show) -> StartPage:
    page = StartPage(library, preferences, Numbers(), RecordingMessages())
    shown(page)
    page.begin()
    return page


def test_a_fitting_is_started_by_keys_alone(
    page: StartPage, library: Library, preferences: Preferences, qtbot: QtBot
) -> None:
    deck, cartridge = library.decks()[2], library.cartridges()[3]
    qtbot.keyClicks(focused(), deck.name)
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    assert focused() is page.cartridges.filter
    qtbot.keyClicks(focused(), cartridge.name)
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    assert focused() is page.start
    page.who.setCurrentText("Ada")
    with qtbot.waitSignal(page.start_wanted, timeout=1000) as wanted:
        qtbot.keyClick(focused(), Qt.Key.Key_Return)
    assert wanted.args == [deck.id, cartridge.id, "whole"]
    assert preferences.who == "Ada"


def test_nothing_is_picked_beforehand_so_that_no_job_gets_the_deck_of_the_last(
    page: StartPage, library: Library, preferences: Preferences, shown: Show, qtbot: QtBot
) -> None:
    """The deck begun last stood picked for the next customer's job."""
    page.pick(library.decks()[1].id, library.cartridges()[2].id)
    with qtbot.waitSignal(page.start_wanted, timeout=1000):
        page.start.click()
    later = StartPage(library, preferences, Numbers(), RecordingMessages())
    shown(later)
    assert (later.decks.current_id, later.cartridges.current_id) == ("", "")
    assert not later.start.isEnabled()
    later.pick(library.decks()[0].id)
    assert later.decks.current_id == library.decks()[0].id


def test_a_deck_that_is_being_worked_on_offers_to_resume(
    page: StartPage, library: Library, preferences: Preferences, shown: Show, qtbot: QtBot
) -> None:
    deck, cartridge = library.decks()[1], library.cartridges()[0]
    fitting = library.start_fitting(deck.id, cartridge.id)
    later = StartPage(library, preferences, Numbers(), RecordingMessages())
    shown(later)
    later.pick(deck.id, cartridge.id)
    assert later.resume.isVisible()
    assert cartridge.name in later.summary.text()
    with qtbot.waitSignal(later.resume_wanted, timeout=1000) as wanted:
        later.resume.click()
    assert wanted.args == [fitting.id]
    later.pick(library.decks()[0].id)
    assert not later.resume.isVisible()
    assert later.start.isEnabled()


def test_without_a_deck_nothing_can_be_started(page: StartPage) -> None:
    page.decks.filter.setText("no deck is called this")
    assert not page.start.isEnabled()
    assert page.summary.text() == "Pick a deck to start."


def test_archived_ones_are_not_offered(
    library: Library, preferences: Preferences, shown: Show
) -> None:
    gone = library.decks()[0].id
    library.archive("deck", [gone], archived=True)
    page = StartPage(library, preferences, Numbers(), RecordingMessages())
    shown(page)
    assert page.decks.model.position_of(gone) is None


def test_escape_goes_back_with_nothing_begun(
    page: StartPage, library: Library, qtbot: QtBot
) -> None:
    with qtbot.waitSignal(page.closed, timeout=1000):
        qtbot.keyClick(page, Qt.Key.Key_Escape)
    assert not library.fittings()


def test_what_is_not_on_file_is_added_under_the_name_that_was_looked_for(
    page: StartPage, qtbot: QtBot
) -> None:
    page.decks.filter.setText("Deck with the silver arm")
    with qtbot.waitSignal(page.add_wanted, timeout=1000) as wanted:
        page.adders["deck"].click()
    assert wanted.args == ["deck", "Deck with the silver arm"]
    page.cartridges.filter.setText("elliptical")
    with qtbot.waitSignal(page.add_wanted, timeout=1000) as wanted:
        page.adders["cartridge"].click()
    assert wanted.args == ["cartridge", ""], "something was found: those letters are no name"


def test_what_does_not_fit_is_begun_only_by_who_means_it(
    library: Library, preferences: Preferences, shown: Show, qtbot: QtBot
) -> None:
    messages = RecordingMessages()
    page = StartPage(library, preferences, Numbers(), messages)
    shown(page)
    wanted: list[str] = []
    page.start_wanted.connect(lambda deck, _cartridge, _work: wanted.append(deck))
    page.pick(named(library.decks(), "three feet"), named(library.cartridges(), "plug-in"))
    messages.answers = [None, 0]
    page.start.click()
    page.start.click()
    assert wanted == []
    messages.answers = [1]
    page.start.click()
    assert len(wanted) == 1


def test_why_it_does_not_fit_is_reached_by_keys_and_another_is_picked_at_once(
    library: Library, preferences: Preferences, shown: Show, qtbot: QtBot
) -> None:
    messages = RecordingMessages()
    page = StartPage(library, preferences, Numbers(), messages)
    shown(page)
    page.begin()
    page.pick(named(library.decks(), "three feet"))
    page.cartridges.focus_filter()
    qtbot.keyClicks(focused(), "plug-in")
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    assert focused() is page.start, "the way on, with the reason read out"
    assert page.misfit.isVisible()
    assert page.start.accessibleDescription() in page.misfit.text()
    assert page.start.accessibleDescription()
    for answer, lands_in in ((None, page.start), (0, page.cartridges.filter)):
        messages.answers = [answer]
        page.start.setFocus()
        qtbot.keyClick(focused(), Qt.Key.Key_Return)
        assert focused() is lands_in
    tab_to(page.misfit)
    qtbot.keyClicks(page.cartridges.filter, "all-round")
    page.pick(cartridge_id=named(library.cartridges(), "all-round"))
    assert page.misfit.isHidden()
    assert not page.start.accessibleDescription()


def test_what_does_not_fit_is_asked_only_where_a_cartridge_is_mounted(
    library: Library, preferences: Preferences, shown: Show
) -> None:
    messages = RecordingMessages()
    page = StartPage(library, preferences, Numbers(), messages)
    shown(page)
    wanted: list[str] = []
    page.start_wanted.connect(lambda _deck, _cartridge, work: wanted.append(work))
    page.pick(named(library.decks(), "three feet"), named(library.cartridges(), "plug-in"))
    for work in (Work.SPEED, Work.DOWNFORCE, Work.CHECK_UP):
        page.work.setCurrentIndex(page.work.findData(work.value))
        assert page.misfit.isHidden(), work
        page.start.click()  # a question without an answer laid out would fail
    assert wanted == [Work.SPEED.value, Work.DOWNFORCE.value, Work.CHECK_UP.value]
    page.work.setCurrentIndex(page.work.findData(Work.AFTER_TRANSPORT.value))
    assert page.misfit.isVisible(), "whatever was taken off may go on again"
    messages.answers = [None]
    page.start.click()
    assert len(wanted) == 3


def test_screws_are_told_only_where_the_cartridge_is_mounted(
    page: StartPage, library: Library
) -> None:
    page.pick(named(library.decks(), "three feet"), named(library.cartridges(), "all-round"))
    assert not page.screws.isHidden()
    for work in (Work.SPEED, Work.DOWNFORCE, Work.AFTER_TRANSPORT, Work.CHECK_UP):
        page.work.setCurrentIndex(page.work.findData(work.value))
        assert page.screws.isHidden(), work


def test_enter_goes_by_the_arm_where_there_are_several(
    library: Library, preferences: Preferences, shown: Show, qtbot: QtBot
) -> None:
    deck_id = library.keep_deck(two_arms()).id
    page = StartPage(library, preferences, Numbers(), RecordingMessages())
    shown(page)
    page.pick(deck_id, library.cartridges()[0].id)
    page.cartridges.focus_filter()
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    assert focused() is page.arm.arms
    qtbot.keyClick(focused(), Qt.Key.Key_Return)
    assert focused() is page.start


def named(rows: Iterable[RecordRow], part: str) -> str:
    return next(row.id for row in rows if part in row.name)


def test_what_does_not_fit_is_said_before_anything_is_touched(
    page: StartPage, library: Library
) -> None:
    page.pick(named(library.decks(), "three feet"), named(library.cartridges(), "plug-in"))
    assert page.misfit.isVisible()
    assert "does not fit" in page.misfit.text()
    assert page.screws.isHidden()
    page.pick("", named(library.cartridges(), "elliptical, all-round"))
    assert page.misfit.isHidden()
    assert "M2.5" in page.screws.text()
