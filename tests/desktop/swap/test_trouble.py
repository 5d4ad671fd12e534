"""A library that can't take the new fitting: one sentence, the plan stays, nothing is half kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator

import pytest

from core.language import Numbers
from core.store import Library, LibraryProblem, ProblemKind
from desktop.swap.plan_page import PlanPage
from desktop.swap.swap_page import SwapPage
from tests.desktop.kit import RecordingMessages, Shop

Shown = Callable[[SwapPage], SwapPage]


@pytest.fixture
def impatient(shop: Shop) -> Iterator[Library]:
    """The shop's library opened once more, by a window that does not wait for others."""
    with Library.open(shop.library.address.path, wait_s=0.05) as library:
        yield library


def at_the_plan(
    library: Library, shop: Shop, shown: Shown, messages: RecordingMessages
) -> tuple[SwapPage, list[str]]:
    page = SwapPage(library, shop.fitting_id, numbers=Numbers(), messages=messages)
    shown(page)
    page.show_plan(shop.new_id)
    begun: list[str] = []
    page.started.connect(begun.append)
    return page, begun


def plan_of(page: SwapPage) -> PlanPage:
    assert page.plan is not None
    return page.plan


def test_another_window_that_holds_the_file_is_told_of_and_a_second_try_begins_one_fitting(
    impatient: Library, shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    page, begun = at_the_plan(impatient, shop, shown, messages)
    plan = plan_of(page)
    other = sqlite3.connect(shop.library.address.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        plan.start_button.click()
    finally:
        other.execute("ROLLBACK")
        other.close()
    assert [told.title for told in messages.told] == [ProblemKind.LOCKED.label]
    assert page.plan is plan
    assert not begun
    assert len(impatient.fittings()) == 1
    plan.start_button.click()
    assert len(begun) == 1
    assert impatient.fitting(begun[0]).planned == plan.swap.plan.planned()
    assert len(impatient.fittings()) == 2


def test_a_full_disk_keeps_neither_fitting_nor_plan_and_the_page_stays(
    shop: Shop, shown: Shown, messages: RecordingMessages, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, begun = at_the_plan(shop.library, shop, shown, messages)

    def full(*_: object) -> None:
        raise LibraryProblem(ProblemKind.FULL, "The disk is full.", "Make room, then try again.")

    with monkeypatch.context() as patch:
        patch.setattr(shop.library.log, "extend", full)  # after the fitting's own row is written
        plan_of(page).start_button.click()
    assert messages.sentences == ["The disk is full."]
    assert not begun
    assert len(shop.library.fittings()) == 1
    plan_of(page).start_button.click()
    assert len(begun) == 1


def test_a_library_open_to_look_only_says_so_and_shows_the_plan_all_the_same(
    shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    with Library.open(shop.library.address.path, read_only=True) as library:
        page, begun = at_the_plan(library, shop, shown, messages)
        plan_of(page).start_button.click()
        assert len(messages.told) == 1
        assert page.plan is not None
    assert not begun


def test_a_cartridge_corrected_in_another_window_is_planned_anew_before_anything_is_begun(
    impatient: Library, shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    page, begun = at_the_plan(impatient, shop, shown, messages)
    before = plan_of(page)
    kept = shop.library.cartridge(shop.new_id)
    heavier = kept.thing.model_copy(update={"mass_g": kept.thing.mass_g + 2.0})
    shop.library.keep_cartridge(heavier, id=shop.new_id)
    before.start_button.click()
    assert not begun
    assert [told.title for told in messages.told] == ["Plan made again"]
    after = plan_of(page)
    assert after is not before
    assert after.swap.plan.new_cartridge == heavier
    after.start_button.click()
    assert len(begun) == 1
    assert impatient.fitting(begun[0]).cartridge_revision == kept.revision + 1


def test_a_cartridge_that_is_gone_from_the_file_leaves_the_list_as_it_is(
    shop: Shop, shown: Shown, messages: RecordingMessages
) -> None:
    page = SwapPage(shop.library, shop.fitting_id, numbers=Numbers(), messages=messages)
    shown(page)
    page.show_plan("0" * 32)
    assert page.plan is None
    assert len(messages.told) == 1
