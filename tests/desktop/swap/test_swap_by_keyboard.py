"""A whole swap by keyboard through the real window, closed, and found again in the file.

From the shelf of finished fittings to the plan, from there into the first steps with a starting
move recorded and its prediction compared; then the same with decks and cartridges that ask for
less, or for something that can't be.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget

from core.fitting import Fitting, MoveMade, Planned
from core.language import Numbers
from core.store import Library
from core.swap import Need
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from desktop.swap.plan_page import PlanPage
from desktop.swap.swap_page import SwapPage
from desktop.widgets.preferences import Preferences
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import (
    ALT,
    CALM,
    CTRL,
    SHIFT,
    Hands,
    RecordingMessages,
    finished,
    told_in,
    words_of,
)
from tests.desktop.test_whole_fitting import CHECKLIST, LEVEL, PLANS
from tests.worked import BEGAN

Key = Qt.Key
Opener = Callable[[], MainWindow]

DECK = "Example deck, 9-inch arm, three feet"
OLD = "Example cartridge, elliptical, all-round"
TALLER = "Example cartridge, spherical, stiff and robust"
AS_TALL = "Example cartridge, line contact, moving coil"
PLUG_IN = "Example cartridge, spherical, plug-in, sturdy"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "bench.library"


@pytest.fixture
def window(
    place: Path,
    tmp_path: Path,
    shown: Callable[[MainWindow], MainWindow],
    messages: RecordingMessages,
) -> Opener:
    def show() -> MainWindow:
        made = MainWindow(
            numbers=Numbers(), preferences=Preferences(tmp_path / "own.ini"), messages=messages
        )
        made.open_library(place)
        return shown(made)

    return show


def ids(library: Library) -> dict[str, str]:
    return {row.name: row.id for row in (*library.decks(), *library.cartridges())}


def fitted(place: Path, deck: str, cartridge: str, **more: Any) -> str:
    """Put a finished fitting into the library file; return its id."""
    with Library.open(place) as library:
        known = ids(library)
        return finished(library, known[deck], known[cartridge], **more)


def swap_page(window: MainWindow) -> SwapPage:
    page = window.pages.currentWidget()
    assert isinstance(page, SwapPage)
    return page


def plan_page(window: MainWindow) -> PlanPage:
    plan = swap_page(window).plan
    assert plan is not None
    return plan


def open_finished(window: MainWindow, hands: Hands) -> SummaryPage:
    """From the first screen: the shelf of finished fittings, its first row, Enter."""
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    hands.press(Key.Key_N, ALT)
    assert screen.tabs.currentWidget() is screen.finished
    hands.tab_to(screen.finished.filter)
    hands.press(Key.Key_Return)
    page = hands.wizard.page
    assert isinstance(page, SummaryPage)
    return page


def press_button(hands: Hands, button: QWidget) -> None:
    hands.tab_to(button)
    hands.press(Key.Key_Space)


def plan_for(window: MainWindow, hands: Hands, cartridge: str) -> PlanPage:
    """Press 'fit another cartridge' on the last page, type the cartridge's name, Enter."""
    summary = open_finished(window, hands)
    press_button(hands, summary.finished_panel.swap_button)
    hands.write(cartridge)
    hands.press(Key.Key_Return)
    return plan_page(window)


def level_and_mount(hands: Hands) -> None:
    for read in LEVEL:
        hands.read(read[0], **read[1])
    hands.accept()
    assert hands.wizard.place == "mount"
    hands.read(CHECKLIST[0], **CHECKLIST[1])
    hands.accept()
    assert hands.wizard.place == "rough_downforce"


def panel_words(hands: Hands) -> str:
    return words_of(hands.step.start_panel).replace("\u00a0", " ")


def in_file(place: Path, fitting_id: str) -> Fitting:
    with Library.open(place) as library:
        return library.fitting(fitting_id)


def test_a_swap_from_the_shelf_to_the_first_steps_is_found_again_after_a_restart(
    place: Path, window: Opener, messages: RecordingMessages
) -> None:
    old_id = fitted(place, DECK, OLD)
    first = window()
    hands = Hands(first)
    plan = plan_for(first, hands, TALLER)
    planned = plan.swap.plan.planned()
    weight = next(start for start in planned.starts if start.step == "rough_downforce")
    assert weight.part is not None
    assert any("Turn the counterweight by" in text for text in told_in(plan))

    hands.press(Key.Key_Return, CTRL | SHIFT)
    assert hands.wizard.place == "level"
    (entry,) = in_file(place, hands.wizard.controller.fitting.id).entries
    assert entry.body == planned
    assert planned.from_fitting == old_id
    level_and_mount(hands)
    panel = hands.step.start_panel
    assert panel.is_due
    assert panel.order.text().startswith("Turn the counterweight by")
    assert "Expected after the move: Downforce" in panel.expected.text()
    hands.move_made()
    assert hands.step.status.trials[0].moves == (weight.part,)
    assert hands.step.start_panel.mover.isHidden()

    target = hands.wizard.controller.journey.cartridge.downforce_target_gf
    hands.read("scale", downforce_gf=f"{target + 0.05:.2f}")
    assert f"found {target + 0.05:.2f}" in panel_words(hands)
    hands.press(Key.Key_0, CTRL)
    summary = hands.wizard.page
    assert isinstance(summary, SummaryPage)
    assert "Rough downforce: Downforce" in summary.foretold.text()
    table = summary.foretold.text()
    before = hands.wizard.controller.fitting
    assert not messages.told
    first.close()

    again = window()
    hands = Hands(again)
    hands.press(Key.Key_Space)  # the one obvious way: resume what is under way
    assert hands.wizard.place == "rough_downforce"
    assert hands.wizard.controller.fitting == before
    found = hands.wizard.controller.fitting
    assert found.planned == planned
    assert [type(entry.body) for entry in found.entries].count(MoveMade) == 1
    assert f"found {target + 0.05:.2f}" in panel_words(hands)
    hands.press(Key.Key_0, CTRL)
    summary = hands.wizard.page
    assert isinstance(summary, SummaryPage)
    assert summary.foretold.text() == table


def test_a_starting_move_of_another_amount_is_recorded_as_it_was_made(
    place: Path, window: Opener
) -> None:
    fitted(place, DECK, OLD)
    first = window()
    hands = Hands(first)
    plan_for(first, hands, TALLER)
    hands.press(Key.Key_Return, CTRL | SHIFT)
    level_and_mount(hands)
    field = hands.step.start_panel.mover.fields[0]
    assert field is not None
    hands._fill(field.tab_stops(), "-1.25")
    hands.press(Key.Key_Return)
    hands.press(Key.Key_Return)
    (trial,) = hands.step.status.trials
    assert trial.moves[0].amount == -1.25


def test_going_back_to_an_earlier_cartridge_starts_from_the_settings_it_had(
    place: Path, window: Opener
) -> None:
    first_id = fitted(place, DECK, OLD, readings=CALM)
    second_id = fitted(place, DECK, AS_TALL, at=BEGAN + timedelta(days=200), readings=CALM)
    shown_window = window()
    hands = Hands(shown_window)
    summary = open_finished(shown_window, hands)
    assert summary.finished_panel.isVisible()
    press_button(hands, summary.finished_panel.swap_button)
    hands.write("all-round")
    row = swap_page(shown_window).pick.records.model.index(0, 2).data()
    assert row == "was fitted here on 2025-03-04, so its settings are known"
    hands.press(Key.Key_Return)
    plan = plan_page(shown_window)
    assert plan.word.text() == "Back to the settings it had on 2025-03-04"
    press_button(hands, plan.start_button)
    planned = hands.wizard.controller.fitting.planned
    assert isinstance(planned, Planned)
    assert planned.settings_of == first_id
    assert planned.from_fitting == second_id


def test_a_cartridge_that_can_t_be_fitted_is_refused_before_anything_is_begun(
    place: Path, window: Opener
) -> None:
    fitted(place, DECK, OLD)
    first = window()
    hands = Hands(first)
    plan = plan_for(first, hands, PLUG_IN)
    assert plan.word.text() == "Can't be fitted"
    assert "does not fit" in plan.headline.text()
    hands.press(Key.Key_Return, CTRL | SHIFT)
    assert plan_page(first) is plan
    hands.press(Key.Key_Return)  # from the title to the one way on
    hands.press(Key.Key_Return)
    assert swap_page(first).plan is None
    hands.press(Key.Key_Escape)
    assert isinstance(hands.wizard.page, SummaryPage)
    assert first.library is not None
    assert len(first.library.fittings()) == 1


def test_a_deck_with_nothing_to_adjust_is_read_and_not_set(place: Path, window: Opener) -> None:
    plan_of = PLANS["almost nothing adjustable"]
    with Library.open(place) as library:
        known = ids(library)
        deck_id = next(one for name, one in known.items() if "nothing to adjust" in name)
        old = next(one for name, one in known.items() if "elliptical, plug-in" in name)
        finished(library, deck_id, old)
    assert plan_of.deck == "nothing to adjust"
    first = window()
    hands = Hands(first)
    plan = plan_for(first, hands, PLUG_IN)
    due = {one.step: one.need for one in plan.swap.plan.due}
    moved = {start.step for start in plan.swap.plan.starts if start.part is not None}
    assert moved <= {"rough_downforce", "final_downforce"}
    for step in ("arm_height", "alignment", "tilt"):
        assert due[step] is not Need.SET, step
    hands.press(Key.Key_Return, CTRL | SHIFT)
    assert hands.wizard.place == "level"


def test_a_parallel_tracking_deck_has_a_plan_without_skating(place: Path, window: Opener) -> None:
    with Library.open(place) as library:
        known = ids(library)
        deck_id = next(one for name, one in known.items() if "parallel tracking" in name)
        old = next(one for name, one in known.items() if "line contact, threaded" in name)
        finished(library, deck_id, old)
    first = window()
    hands = Hands(first)
    plan = plan_for(first, hands, OLD)
    due = {one.step: one.need for one in plan.swap.plan.due}
    assert due["skating"] is Need.NOTHING
    assert not plan.swap.plan.cannot_fit
    hands.press(Key.Key_Return, CTRL | SHIFT)
    assert hands.wizard.place == "level"
    hands.press(Key.Key_5, CTRL)
    assert hands.step.start_panel.isVisibleTo(hands.wizard)


def test_the_deed_on_the_shelf_goes_the_same_way_and_comes_back_to_the_library(
    place: Path, window: Opener
) -> None:
    fitted(place, DECK, OLD)
    first = window()
    hands = Hands(first)
    screen = first.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    hands.press(Key.Key_N, ALT)
    press_button(hands, screen.finished.buttons["swap"])
    assert swap_page(first).plan is None
    hands.press(Key.Key_Escape)
    assert first.pages.currentWidget() is screen
    assert QApplication.focusWidget() is not None
