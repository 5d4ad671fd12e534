"""A finished fitting opens at its last page to be read, and leads on; one under way goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from PySide6.QtWidgets import QWidget

from core.fitting import Reopened
from core.language import Numbers
from core.steps import STEP_NAMES
from desktop.tasks.fitting_controller import FittingController
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import Key, RecordingMessages, Shop, finished, press, write

Open = Callable[[str], Wizard]


@pytest.fixture
def open_fitting(
    shop: Shop, messages: RecordingMessages, shown: Callable[[QWidget], QWidget]
) -> Iterator[Open]:
    controllers: list[FittingController] = []

    def show(fitting_id: str) -> Wizard:
        controller = FittingController(shop.library, fitting_id, who="A. Tester", numbers=Numbers())
        controllers.append(controller)
        wizard = Wizard(controller, messages)
        shown(wizard)
        wizard.begin()
        return wizard

    yield show
    for controller in controllers:
        controller.deleteLater()


def last_page(wizard: Wizard) -> SummaryPage:
    page = wizard.page
    assert isinstance(page, SummaryPage)
    return page


def enter(text: str) -> None:
    write(text)
    press(Key.Key_Return)


def test_it_opens_at_the_last_page_and_no_step_of_it_takes_anything(
    shop: Shop, open_fitting: Open
) -> None:
    wizard = open_fitting(shop.fitting_id)
    page = last_page(wizard)
    assert page.finished_panel.isVisible()
    assert page.finish_button.isHidden()
    before = wizard.controller.fitting
    for name in STEP_NAMES:
        wizard.go(name)
        step = wizard.page
        assert isinstance(step, StepPage)
        for part in (step.reading, step.choices, step.move_panel, step.prompts.reason):
            assert part.isHidden(), (name, part)
        assert not step.start_panel.is_due
        assert not wizard.accept_button.isEnabled() or step.status.is_settled
        assert not wizard.override_button.isEnabled()
    assert wizard.controller.fitting == before


def test_it_leads_to_another_cartridge_and_to_the_history_of_its_deck(
    shop: Shop, open_fitting: Open
) -> None:
    wizard = open_fitting(shop.fitting_id)
    swaps: list[str] = []
    histories: list[str] = []
    wizard.swap_wanted.connect(swaps.append)
    wizard.history_wanted.connect(histories.append)
    finished_panel = last_page(wizard).finished_panel
    finished_panel.swap_button.click()
    finished_panel.history_button.click()
    assert swaps == [shop.fitting_id]
    assert histories == [shop.deck_id]


def test_it_is_worked_on_again_only_with_a_reason_which_goes_into_the_record(
    shop: Shop, open_fitting: Open
) -> None:
    wizard = open_fitting(shop.fitting_id)
    finished_panel = last_page(wizard).finished_panel
    finished_panel.reopen_button.click()
    enter("")
    assert wizard.controller.fitting.is_finished
    enter("the owner hears hum")
    again = shop.library.fitting(shop.fitting_id)
    assert again.entries[-1].body == Reopened(reason="the owner hears hum")
    assert not again.is_finished
    assert finished_panel.isHidden()
    assert finished_panel.reason.isHidden()


@pytest.mark.parametrize("step", STEP_NAMES)
def test_a_fitting_under_way_opens_at_the_step_that_is_due_next(
    step: str, shop: Shop, open_fitting: Open
) -> None:
    begun = finished(shop.library, shop.deck_id, shop.old_id, finish=False, until=step)
    assert open_fitting(begun).place == step


def test_a_fitting_with_every_step_settled_opens_at_the_last_page_to_be_finished(
    shop: Shop, open_fitting: Open
) -> None:
    begun = finished(shop.library, shop.deck_id, shop.old_id, finish=False)
    page = last_page(open_fitting(begun))
    assert page.finish_button.isEnabled()
    assert page.finished_panel.isHidden()
    assert page.foretold.isHidden()


def test_a_finished_rehearsal_offers_only_to_work_on_it_again(
    shop: Shop, messages: RecordingMessages, shown: Callable[[QWidget], QWidget]
) -> None:
    controller = FittingController(shop.library, shop.fitting_id, numbers=Numbers())
    wizard = Wizard(controller, messages, offers_next=False)
    controller.setParent(wizard)
    shown(wizard)
    finished_panel = last_page(wizard).finished_panel
    assert finished_panel.swap_button.isHidden()
    assert finished_panel.history_button.isHidden()
    assert not finished_panel.reopen_button.isHidden()
