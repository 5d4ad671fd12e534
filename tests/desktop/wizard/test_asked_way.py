"""A way that is asked for because the one on show can tell no more opens by itself."""

from __future__ import annotations

import pytest

from core.fitting import Withdrawn
from core.store import Library
from tests.core.steps.level.kit import THREE, on_feet
from tests.desktop.kit import FittingBench, Opener, settle, step_page


@pytest.fixture(params=[True, False])
def bench(library: Library, request: pytest.FixtureRequest) -> FittingBench:
    """A deck whose feet don't turn, on a shelf too steep for the vial."""
    few = {"bubble_range_div": 6.0, "bubble_mm_per_m_per_div": 0.3}
    kit = {**few, "has_inclinometer": request.param}
    return FittingBench(library, on_feet(THREE, adjustable=(), bench=kit))


def test_a_bubble_at_its_end_opens_the_form_of_what_is_asked_for(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = step_page(open_wizard())
    page.deferred.finish()
    assert page.reading.way == "bubble"
    bench.read("level", way="bubble at its end", toward="marked")
    settle()
    kit = bench.controller.journey.deck.bench
    wanted = "inclinometer" if kit.has_inclinometer else "water"
    assert page.reading.way == wanted
    page.reading.choose("bubble")
    settle()
    assert page.reading.way == "bubble"  # and whoever wants the level once more keeps it
    page.refresh()
    settle()
    assert page.reading.way == "bubble"


def test_the_form_goes_back_when_what_it_was_opened_for_is_taken_back(
    bench: FittingBench, open_wizard: Opener
) -> None:
    wizard = open_wizard()
    page = step_page(wizard)
    page.deferred.finish()
    bench.read("level", way="bubble at its end", toward="marked")
    settle()
    assert page.reading.way != "bubble"
    entry = bench.controller.fitting.entries[-1].id
    bench.keep(Withdrawn(entry=entry))
    settle()
    assert page.reading.way == "bubble", "or divisions are typed as degrees"
    bench.read("level", way="bubble at its end", toward="marked")
    settle()
    assert page.reading.way != "bubble"
    if page.reading.way == "inclinometer":
        bench.read("level", way="inclinometer", direction="left-right", angle_deg=0.8)
        settle()
        assert page.reading.way == "inclinometer", "it is in use now"
