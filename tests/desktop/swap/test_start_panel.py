"""In a step: the starting move before the first reading, foretold against found after it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtWidgets import QWidget

from core.fitting import (
    Control,
    Entry,
    Journey,
    MoveMade,
    MovePart,
    Planned,
    ReadingTaken,
    Start,
    Withdrawn,
)
from core.language import Numbers
from desktop.wizard.foretold_panel import ForetoldPanel
from desktop.wizard.start_panel import StartPanel
from tests.desktop.kit import CALM
from tests.worked import BEGAN, Bench

Shown = Callable[[QWidget], QWidget]
TURN = MovePart(control=Control.COUNTERWEIGHT, amount=-1.25, unit="turns", equivalent_mm=-1.25)
WEIGHT = Start(
    step="rough_downforce",
    key="downforce",
    part=TURN,
    predicted=2.0,
    half_width=0.1,
    unit="gf",
    reason="The new cartridge is lighter.",
)
STAYS = Start(step="tilt", key="tilt", predicted=0.0, half_width=0.8, unit="°", reason="It stays.")


@pytest.fixture
def bench() -> Bench:
    bench = Bench()
    planned = Planned(from_fitting="before", starts=(WEIGHT, STAYS))
    bench.fitting = bench.fitting.with_entry(Entry(at=BEGAN, body=planned))
    return bench


def panel_for(step: str, journey: Journey, shown: Shown, *, works: bool = True) -> StartPanel:
    holder = QWidget()
    panel = StartPanel(step, Numbers(","), holder)
    shown(holder)
    panel.show_journey(journey, works=works)
    return panel


def test_a_move_too_small_to_be_sure_of_is_left_in_its_step_too(shown: Shown) -> None:
    left_so = WEIGHT.model_copy(update={"part": None, "spared": TURN, "gain": 0.04, "reason": ""})
    bench = Bench()
    planned = Planned(from_fitting="before", starts=(left_so,))
    bench.fitting = bench.fitting.with_entry(Entry(at=BEGAN, body=planned))
    panel = panel_for("rough_downforce", bench.journey, shown)
    assert "Leave it where it is: it would need 0,05 gf" in said(panel)
    assert not panel.is_due


def said(panel: StartPanel) -> str:
    lines = (panel.order, panel.expected, panel.reason)
    shown = "\n".join(line.text() for line in lines if not line.isHidden())
    return shown.replace("\u00a0", " ")


def weigh(bench: Bench, downforce_gf: float) -> str:
    bench.keep(
        ReadingTaken(step="rough_downforce", reading={"way": "scale", "downforce_gf": downforce_gf})
    )
    return bench.fitting.entries[-1].id


def to_the_weighing(bench: Bench) -> None:
    for step in ("level", "mount"):
        bench.work(step, CALM[step])


def test_the_starting_move_is_offered_with_what_is_expected_then(
    bench: Bench, shown: Shown
) -> None:
    to_the_weighing(bench)
    panel = panel_for("rough_downforce", bench.journey, shown)
    assert panel.is_due
    words = said(panel)
    assert "Turn the counterweight by 1 ¼ turns (1,2 mm), away from the pivot." in words
    assert "Expected after the move: Downforce 2,00 ± 0,10 gf." in words
    assert "The new cartridge is lighter." in words
    made: list[object] = []
    panel.made.connect(lambda parts, _note: made.append(parts))
    panel.confirm()
    assert made == [(TURN,)]


def test_after_the_reading_foretold_stands_beside_found_and_nothing_is_offered(
    bench: Bench, shown: Shown
) -> None:
    to_the_weighing(bench)
    bench.keep(MoveMade(step="rough_downforce", parts=(TURN,)))
    weigh(bench, 2.06)
    panel = panel_for("rough_downforce", bench.journey, shown)
    assert not panel.is_due
    words = said(panel)
    assert "2,06" in words
    assert "+0,06 gf" in words
    assert "Turn the counterweight" not in words


def test_a_reading_that_was_withdrawn_brings_the_offer_back(bench: Bench, shown: Shown) -> None:
    to_the_weighing(bench)
    entry = weigh(bench, 2.06)
    assert not panel_for("rough_downforce", bench.journey, shown).is_due
    bench.keep(Withdrawn(entry=entry))
    assert panel_for("rough_downforce", bench.journey, shown).is_due


def test_a_step_that_is_not_open_yet_shows_its_start_but_takes_no_move(
    bench: Bench, shown: Shown
) -> None:
    panel = panel_for("rough_downforce", bench.journey, shown, works=False)
    assert not panel.isHidden()
    assert not panel.is_due
    assert "Turn the counterweight" in said(panel)


def test_where_nothing_moves_it_says_so_and_what_is_expected(bench: Bench, shown: Shown) -> None:
    panel = panel_for("tilt", bench.journey, shown)
    assert not panel.is_due
    assert said(panel).startswith("Start from where it is.\nExpected: Tilt")


def test_without_a_plan_or_without_a_word_on_the_step_nothing_is_shown(
    bench: Bench, shown: Shown
) -> None:
    assert panel_for("speed", bench.journey, shown).isHidden()
    assert panel_for("level", Bench().journey, shown).isHidden()


def test_the_table_of_the_last_page_is_there_only_for_a_fitting_with_a_plan(
    bench: Bench, shown: Shown
) -> None:
    holder = QWidget()
    panel = ForetoldPanel(Numbers(), holder)
    shown(holder)
    panel.show_journey(Bench().journey)
    assert panel.isHidden()
    to_the_weighing(bench)
    weigh(bench, 2.06)
    panel.show_journey(bench.journey)
    words = panel.text().replace("\u00a0", " ")
    assert "Rough downforce: Downforce" in words
    assert "found 2.06" in words
    assert "error +0.06 gf" in words
    assert "found not read" in words
