"""Which cartridge: found by a few letters, and what this deck knows of it stands beside it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from core.language import Numbers
from desktop.swap.plan_page import PlanPage
from desktop.swap.swap_page import SwapPage
from tests.desktop.kit import RecordingMessages, Shop, finished
from tests.worked import BEGAN

Shown = Callable[[SwapPage], SwapPage]


def opened(shop: Shop, shown: Shown, messages: RecordingMessages, fitting_id: str = "") -> SwapPage:
    page = SwapPage(
        shop.library, fitting_id or shop.fitting_id, numbers=Numbers(), messages=messages
    )
    shown(page)
    page.begin()
    return page


def here(page: SwapPage) -> dict[str, str]:
    model = page.pick.records.model
    return {
        str(model.index(row, 0).data()): str(model.index(row, 2).data())
        for row in range(model.rowCount())
    }


def test_the_cursor_stands_in_the_filter_and_enter_shows_the_plan(
    shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    page = opened(shop, shown, messages)
    assert QApplication.focusWidget() is page.pick.records.filter
    QTest.keyClicks(page.pick.records.filter, "taller")
    QTest.keyClick(page.pick.records.filter, Qt.Key.Key_Return)
    assert isinstance(page.plan, PlanPage)
    assert page.plan.swap.cartridge.id == shop.new_id


def test_a_cartridge_that_was_on_this_deck_says_when_and_stands_on_top(
    shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    later = finished(shop.library, shop.deck_id, shop.new_id, at=BEGAN + timedelta(days=90))
    page = opened(shop, shown, messages, later)
    rows = here(page)
    assert next(iter(rows)) == "Example cartridge, elliptical"
    assert rows["Example cartridge, elliptical"] == (
        "was fitted here on 2025-03-04, so its settings are known"
    )
    assert rows["Example cartridge, taller and heavier"] == "on the deck since this fitting"
    assert rows["Example cartridge that plugs in"] == ""
    assert page.pick.notice.isHidden()


def test_nothing_is_chosen_where_no_other_cartridge_was_on_the_deck(
    shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    page = opened(shop, shown, messages)
    assert page.pick.records.current_id == ""
    assert not page.pick.plan_button.isEnabled()
    QTest.keyClick(page.pick.records.filter, Qt.Key.Key_Return)
    assert page.plan is None
    QTest.keyClick(page.pick.records.filter, Qt.Key.Key_Down)
    assert page.pick.records.current_id != "", "the first press goes to the first line"
    assert page.pick.plan_button.isEnabled()


def test_the_one_that_was_on_the_deck_last_stands_chosen_if_it_still_fits(
    shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    later = finished(shop.library, shop.deck_id, shop.new_id, at=BEGAN + timedelta(days=90))
    page = opened(shop, shown, messages, later)
    assert page.pick.records.current_words() == "Example cartridge, elliptical"
    earlier = page.pick.records.current_id
    deck = shop.library.deck(shop.deck_id).thing
    light = deck.arm.model_copy(update={"heaviest_cartridge_g": 2.5, "lightest_cartridge_g": 2.0})
    shop.library.keep_deck(deck.model_copy(update={"arm": light}), id=shop.deck_id)
    again = opened(shop, shown, messages, later)
    assert again.pick.records.current_id != earlier


def test_setting_out_from_an_older_fitting_says_so_and_offers_the_latest(
    shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    finished(shop.library, shop.deck_id, shop.new_id, at=BEGAN + timedelta(days=90))
    page = opened(shop, shown, messages)
    assert "Not the latest" in page.pick.notice.text()
    assert "Example cartridge, taller and heavier was fitted after it" in page.pick.notice.text()
    page.pick.latest_button.click()
    assert page.pick.notice.isHidden()
    assert "taller and heavier, finished" in page.pick.lead.text()


def test_a_fitting_under_way_on_the_deck_is_told_of(
    shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    shop.library.start_fitting(shop.deck_id, shop.new_id)
    page = opened(shop, shown, messages)
    assert "has been in progress" in page.pick.notice.text()
    assert page.pick.latest_button.isHidden()


def test_escape_goes_back_one_at_a_time_and_nothing_was_begun(
    shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    page = opened(shop, shown, messages)
    left: list[bool] = []
    page.closed.connect(lambda: left.append(True))
    page.show_plan(shop.new_id)
    focused = QApplication.focusWidget()
    assert focused is not None
    QTest.keyClick(focused, Qt.Key.Key_Escape)
    assert page.plan is None
    assert not left
    QTest.keyClick(page.pick.records.filter, Qt.Key.Key_Escape)
    assert left == [True]
    assert len(shop.library.fittings()) == 1
