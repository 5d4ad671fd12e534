"""Two windows on one library: what one enters is followed on every page of the other."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from core.fitting import Control, MoveMade, MovePart, ReadingTaken
from core.language import Numbers
from core.store import Library
from desktop.history.due_page import DuePage
from desktop.history.history_page import HistoryPage
from desktop.library.start_page import StartPage
from desktop.shell.main_window import MainWindow
from desktop.swap.swap_page import SwapPage
from desktop.widgets.preferences import Preferences
from tests.desktop.kit import ALT, Key, RecordingMessages, Shop, load, press, settle, tab_to
from tests.desktop.rehearsal.keyboard import RehearsalHands, window_of
from tests.examples import cartridge, deck
from tests.visits import keep

Shown = Callable[[MainWindow], MainWindow]


@pytest.fixture
def window(
    shop: Shop, shown: Shown, preferences: Preferences, messages: RecordingMessages
) -> MainWindow:
    """A window of its own on the shop's library; ``shop.library`` is the other one."""
    made = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
    made.open_library(shop.library.address.path)
    shown(made)
    return made


def look(window: MainWindow) -> None:
    """Let the window notice what the other has written, as it does every few seconds."""
    assert window._housekeeping is not None
    window._housekeeping.look()
    settle()


def at_the_plan(window: MainWindow, shop: Shop) -> SwapPage:
    window.show_swap(shop.fitting_id, shop.new_id, from_library=True)
    page = window.pages.currentWidget()
    assert isinstance(page, SwapPage)
    return page


def test_an_open_plan_follows_a_cartridge_corrected_elsewhere(
    window: MainWindow, shop: Shop
) -> None:
    page = at_the_plan(window, shop)
    assert page.plan is not None
    page.plan.another_button.setFocus()
    before = [card.accessibleName() for card in page.plan.cards.values()]
    kept = shop.library.cartridge(shop.new_id)
    heavier = kept.thing.model_copy(update={"mass_g": 11.0})
    shop.library.keep_cartridge(heavier, id=kept.id)
    look(window)
    assert [card.accessibleName() for card in page.plan.cards.values()] != before
    assert page.plan.swap.plan.new_cartridge.mass_g == 11.0
    assert window.others.text.startswith("Changed in another window: the plan is worked out again")
    assert page.plan.another_button.hasFocus()
    assert page.plan.swap.is_current(shop.library)


def test_an_open_plan_stays_as_it_is_while_others_write_of_other_things(
    window: MainWindow, shop: Shop
) -> None:
    page = at_the_plan(window, shop)
    plan = page.plan
    shop.library.keep_deck(deck(name="Example deck, another"))
    look(window)
    assert page.plan is plan
    assert window.others.text == ""


def test_an_open_plan_follows_a_fitting_finished_elsewhere(window: MainWindow, shop: Shop) -> None:
    page = at_the_plan(window, shop)
    keep(shop.library, "2999-01-01", shop.deck_id, shop.old_id)
    look(window)
    assert page.plan is not None
    assert window.others.text


def test_the_list_to_pick_from_follows_and_keeps_what_is_typed(
    window: MainWindow, shop: Shop
) -> None:
    window.show_swap(shop.fitting_id, from_library=True)
    page = window.pages.currentWidget()
    assert isinstance(page, SwapPage)
    page.pick.records.filter.setText("taller")
    settle()
    picked = page.pick.records.current_id
    shop.library.keep_cartridge(cartridge(name="Example cartridge, taller still"))
    look(window)
    assert page.pick.records.filter.text() == "taller"
    assert page.pick.records.model.rowCount() == 2
    assert page.pick.records.current_id == picked


def test_the_start_of_a_fitting_follows_and_keeps_what_is_typed_and_picked(
    window: MainWindow, shop: Shop
) -> None:
    window.show_start(shop.deck_id, shop.new_id)
    page = window.pages.currentWidget()
    assert isinstance(page, StartPage)
    page.cartridges.filter.setText("taller")
    settle()
    assert page.resume.isHidden()
    shop.library.keep_cartridge(cartridge(name="Example cartridge, taller still"))
    shop.library.start_fitting(shop.deck_id, shop.old_id)
    look(window)
    assert page.cartridges.filter.text() == "taller"
    assert page.cartridges.model.rowCount() == 2
    assert page.decks.current_id == shop.deck_id
    assert page.cartridges.current_id == shop.new_id
    assert page.resume.isVisible()


def test_decks_that_fall_due_elsewhere_come_in_while_one_is_looked_for(
    window: MainWindow, shop: Shop
) -> None:
    window.show_due()
    page = window.pages.currentWidget()
    assert isinstance(page, DuePage)
    page.finish()
    page.records.filter.setText("birch")
    settle()
    assert page.records.model.rowCount() == 0
    made = shop.library.keep_deck(deck(name="Example deck, birch")).id
    keep(shop.library, "2020-01-01", made, shop.old_id)
    look(window)
    page.finish()
    settle()
    assert page.records.filter.text() == "birch"
    assert page.records.model.rowCount() == 1


def test_hours_that_are_typed_stay_while_the_history_follows(
    window: MainWindow, shop: Shop, messages: RecordingMessages
) -> None:
    window.show_history(shop.deck_id)
    page = window.pages.currentWidget()
    assert isinstance(page, HistoryPage)
    load(page)
    press(Key.Key_E, ALT)
    page.hours.form.fields.entries["hours"].tab_stops()[0].setText("120")
    kept = shop.library.deck(shop.deck_id)
    renamed = kept.thing.model_copy(update={"name": "Example deck, renamed"})
    shop.library.keep_deck(renamed, id=kept.id)
    keep(shop.library, date(2024, 5, 1).isoformat(), shop.deck_id, shop.old_id)
    look(window)
    load(page)
    assert page.hours.has_unsaved()
    assert page.fittings.table.rowCount() == 2
    assert page._what.text().startswith("Example deck, renamed")
    messages.answers.append(1)  # the hours may go


# rehearsals


@pytest.fixture
def two(
    tmp_path: Path, shown: Shown, messages: RecordingMessages
) -> Iterator[tuple[RehearsalHands, RehearsalHands]]:
    """Two windows on the same library, and so on the same rehearsals."""
    windows = [window_of(tmp_path, messages, Numbers()) for _ in range(2)]
    one, other = (RehearsalHands(shown(window)) for window in windows)
    yield one, other
    messages.answers += [1, 1]  # whatever is typed and not kept may go


def follow(hands: RehearsalHands) -> None:
    watch = hands.room._watch
    assert watch is not None
    watch.look()
    settle()


def test_a_rehearsal_begun_elsewhere_can_be_gone_on_with_and_the_number_typed_stays(
    two: tuple[RehearsalHands, RehearsalHands],
) -> None:
    one, other = two
    one.window.show_rehearsal()
    number = one.start.form.fields.entries["number"].tab_stops()[0]
    number.setText("77")
    assert not one.start.go_on_buttons
    other.window.activateWindow()
    other.window.show_rehearsal()
    other.begin(12)
    follow(one)
    (button,) = one.start.go_on_buttons
    assert button.isVisible()
    assert "number 12" in button.text()
    assert number.text() == "77"
    one.window.activateWindow()
    one.start.begin()
    tab_to(button)


def test_a_move_made_elsewhere_is_made_on_the_simulated_deck_here(
    two: tuple[RehearsalHands, RehearsalHands],
) -> None:
    one, _ = two
    one.window.activateWindow()
    one.window.show_rehearsal()
    one.begin(12)
    fitting = one.bench.controller.fitting
    turned = MovePart(
        control=Control.FOOT,
        amount=1.0,
        unit="turns",
        where=one.bench.rehearsal.deck.plinth.feet[0].name,
    )
    level = one.bench.rehearsal.truth_of("level")
    library = one.room.library
    assert library is not None
    assert level is not None
    with Library.open(library.address) as elsewhere:
        reading = {"way": "bubble", "direction": "front-back", "divisions": 1.0}
        elsewhere.append(fitting.id, ReadingTaken(step="level", reading=reading))
        elsewhere.append(fitting.id, MoveMade(step="level", parts=(turned,)))
    follow(one)
    now = one.bench.rehearsal.truth_of("level")
    assert now is not None
    assert len(one.bench.controller.fitting.entries) == 2
    assert now.value != level.value
    assert one.window.others.text.startswith("Entered in another window")
