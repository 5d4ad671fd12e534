"""What a plan page is handed: the plan, how earlier ones fared, and whether it still holds."""

from __future__ import annotations

from datetime import timedelta

import pytest

from core.fitting import Body, Finished, MoveMade, ReadingTaken, StepAccepted
from core.store import LibraryProblem
from core.workflow.replay import journey_of
from desktop.swap.planned_swap import work_out_swap
from tests.desktop.kit import CALM, Shop, finished
from tests.worked import BEGAN


def swapped(shop: Shop, *, found_gf: float) -> str:
    """Begin a fitting from a plan, make its moves, weigh once; finish it as it is."""
    swap = work_out_swap(shop.library, shop.fitting_id, shop.new_id)
    planned = swap.plan.planned()
    began = BEGAN + timedelta(days=30)
    fitting = shop.library.start_fitting(shop.deck_id, shop.new_id, planned=planned, at=began)
    parts = tuple(
        s.part for s in planned.starts if s.step == "rough_downforce" and s.part is not None
    )
    assert parts
    weighed = {"way": "scale", "downforce_gf": found_gf}
    bodies: tuple[Body, ...] = (
        MoveMade(step="rough_downforce", parts=parts),
        ReadingTaken(step="rough_downforce", reading=weighed),
        Finished(),
    )
    for minute, body in enumerate(bodies):
        shop.library.append(fitting.id, body, at=began + timedelta(minutes=minute))
    return fitting.id


def test_the_error_of_an_earlier_plan_is_found_less_foretold(shop: Shop) -> None:
    fitting_id = swapped(shop, found_gf=1.9)
    swap = work_out_swap(shop.library, fitting_id, shop.old_id)
    ((past, fared),) = swap.earlier
    assert past.fitting.id == fitting_id
    (downforce,) = [one for one in fared if one.step == "rough_downforce"]
    planned = past.fitting.planned
    assert planned is not None
    (start,) = [s for s in planned.starts if s.step == "rough_downforce"]
    assert start.predicted is not None
    assert downforce.error == pytest.approx(1.9 - start.predicted)


def test_going_back_names_the_fitting_whose_settings_are_gone_back_to(shop: Shop) -> None:
    later = finished(
        shop.library, shop.deck_id, shop.new_id, at=BEGAN + timedelta(days=30), readings=CALM
    )
    swap = work_out_swap(shop.library, later, shop.old_id)
    assert swap.plan.planned().settings_of == shop.fitting_id


def test_a_plan_leaves_the_fitting_it_sets_out_from_as_it_was(shop: Shop) -> None:
    def status() -> list[tuple[str, str]]:
        fitting = shop.library.fitting(shop.fitting_id)
        deck = shop.library.deck(fitting.deck_id, fitting.deck_revision).thing
        cartridge = shop.library.cartridge(fitting.cartridge_id, fitting.cartridge_revision).thing
        journey = journey_of(deck, cartridge, fitting)
        return [(s.state.label, s.assessment.headline) for s in journey.statuses]

    before = status()
    swapped(shop, found_gf=1.9)
    assert status() == before


def test_a_plan_is_current_until_deck_or_cartridge_are_corrected(shop: Shop) -> None:
    swap = work_out_swap(shop.library, shop.fitting_id, shop.new_id)
    assert swap.is_current(shop.library)
    deck = shop.library.deck(shop.deck_id)
    shop.library.keep_deck(deck.thing.model_copy(update={"notes": "new belt"}), id=deck.id)
    assert not swap.is_current(shop.library)


def test_the_stylus_gate_is_as_shut_as_ever_in_the_fitting_a_plan_begins(shop: Shop) -> None:
    swap = work_out_swap(shop.library, shop.fitting_id, shop.new_id)
    assert not swap.journey.gate.is_open
    assert swap.journey.due == "level"
    assert not any(isinstance(e.body, StepAccepted) for e in swap.journey.fitting.entries)


def test_a_fitting_that_is_not_there_is_a_problem_in_words(shop: Shop) -> None:
    with pytest.raises(LibraryProblem):
        work_out_swap(shop.library, "0" * 32, shop.new_id)
