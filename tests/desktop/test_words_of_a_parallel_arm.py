"""A parallel-tracking arm has no pivot, and its deck's person is told of none, wherever they look.

Whole fittings are played on practice decks, by hands that err, and all that is said at every
entry of the log is looked through: answers, orders, questions, figures, notes, drawings, the log,
the plan for the next cartridge, the history and the bench sheet.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
import pytest
from PySide6.QtWidgets import QAbstractButton, QGroupBox, QLabel, QWidget

from core.drawing.drawing import Drawing
from core.drawing.marks import Words
from core.fitting import Control, Entry, Fitting, Journey, MovePart
from core.history import compare_fittings, timeline_of
from core.history.log_by_day import log_by_day
from core.language import Message, Numbers
from core.paper.bench_content import bench_content
from core.practice import new_rehearsal
from core.practice.instruments import INSTRUMENTS
from core.practice.proof.closed_loop import Loop
from core.practice.proof.person import Person
from core.records import Deck, fields_of
from core.steps import STEPS, ways_of
from core.steps.bench_drawing import BenchScene, draw_move, draw_reading
from core.steps.shared import directions_of
from core.store import Library
from core.swap import Past, compare, plan_swap
from core.swap.words import expected, orders
from core.workflow import described, journey_of, movables
from desktop.history.history_page import HistoryPage
from desktop.swap.plan_page import PlanPage
from desktop.swap.planned_swap import work_out_swap
from desktop.tasks.fitting_controller import FittingController
from desktop.wizard.rail import SUMMARY
from desktop.wizard.step_page import StepPage
from desktop.wizard.wizard import Wizard
from tests.desktop.kit import FittingBench, RecordingMessages, finished, load, step_page, told_in
from tests.examples import cartridge, deck
from tests.worked import READINGS

SAY = Numbers()
OF_A_PIVOT = re.compile(r"\b(pivot|null|overhang|underhang|offset)", re.IGNORECASE)
UNREAD = ("key", "trials", "contexts", "fitting", "step", "subject")
ARMS: dict[str, dict[str, Any]] = {
    "thread": {"counterweight_g": 60.0, "counterweight_mm_per_turn": 0.7},
    "no thread": {"counterweight_g": 60.0, "counterweight_mm_per_turn": None},
    "dial": {"balance": "dynamic"},
}


def parallel_deck(**arm: Any) -> Deck:
    kind = {
        "kind": "parallel tracking",
        "pivot_to_spindle_mm": None,
        "effective_length_mm": 150.0,
        "offset_deg": 0.0,
        "lightest_cartridge_g": 4.0,
        "heaviest_cartridge_g": 14.0,
    }
    return deck(arm=kind | arm, skating={"control": "none"})


def said_in(answer: Any) -> Iterator[str]:
    """Yield the sentence of every message that is found anywhere in an answer."""
    if isinstance(answer, Message):
        yield SAY.text(answer)
    elif isinstance(answer, str):
        yield answer
    elif isinstance(answer, Drawing):
        yield from (answer.title, answer.summary)
        yield from (mark.text for mark in answer.marks if isinstance(mark, Words))
    else:
        for one in parts_of(answer):
            yield from said_in(one)


def parts_of(answer: Any) -> list[Any]:
    """Return what an answer is made of, but for names that nobody reads."""
    if isinstance(answer, Mapping):
        return list(answer.values())
    if isinstance(answer, tuple | list):
        return list(answer)
    if not is_dataclass(answer) or isinstance(answer, type):
        return []
    return [getattr(answer, one.name) for one in fields(answer) if one.name not in UNREAD]


def told_at(journey: Journey) -> Iterator[str]:
    """Yield what all nine steps say, and what is drawn of it."""
    scene = BenchScene(journey.deck, journey.cartridge, SAY)
    for status in journey.statuses:
        yield from said_in((status.reason, status.disturbances, status.applicability.reason))
        yield from said_in(status.assessment)
        yield from said_in(status.assessment.picture)
        move = status.assessment.next_move
        if move is not None and move.parts:
            yield from said_in(draw_move(scene, move.parts))
    yield from said_in((journey.gate, compare(journey)))


def labels_on(on: Deck) -> Iterator[str]:
    """Yield what stands beside the fields of every reading this deck is asked for."""
    scene = BenchScene(on, cartridge(), SAY)
    for step in STEPS:
        able = step.applies(on, cartridge())
        for way in able.ways if able.reads else ():
            kind = ways_of(step)[way]
            yield kind.WAY_TITLE
            yield from said_in(draw_reading(scene, step.NAME, way, {}))
            for spec in fields_of(kind):
                yield from (spec.label, spec.help)
                if spec.directions:
                    yield from (spec.directions.plus, spec.directions.minus)
        for movable in movables(on, cartridge(), step.NAME):
            yield from said_in(movable)
            for amount in (1.0, -1.0):
                yield from said_in(draw_move(scene, (movable.part(amount),)))


def played(on: Deck, number: int) -> tuple[Journey, list[Journey]]:
    """Play a whole fitting on a deck set wrong at random; also return it as it stood before."""
    rehearsal = new_rehearsal(11, deck=on, number=number)
    loop = Loop(rehearsal, Person.drawn(np.random.default_rng((11, number, 3))), number=number)
    loop.play()

    def at(count: int) -> Journey:
        begun = loop.fitting.model_copy(update={"entries": loop.fitting.entries[:count]})
        return journey_of(rehearsal.deck, rehearsal.cartridge, begun)

    everything = len(loop.fitting.entries)
    return at(everything), [at(count) for count in range(everything)]


def logged(fitting: Fitting) -> list[str]:
    return list(said_in(log_by_day(fitting, parallel=True)))


def past(journey: Journey, **changes: Any) -> Past:
    return Past(journey.fitting.model_copy(update=changes), 1, 1, journey)


def none_of_a_pivot(said: list[str]) -> None:
    assert said
    assert sorted({one for one in said if OF_A_PIVOT.search(one)}) == []


@pytest.mark.parametrize("arm", ARMS)
@pytest.mark.parametrize("number", [1, 2])
def test_a_whole_fitting_tells_a_parallel_arm_nothing_of_pivots(arm: str, number: int) -> None:
    on = parallel_deck(**ARMS[arm])
    ended, before = played(on, number)
    said = [one for journey in (*before, ended) for one in told_at(journey)]
    said += logged(ended.fitting)
    sheet = bench_content(ended, SAY)
    said += said_in((sheet.facts, sheet.unfinished, sheet.steps, sheet.pictures, sheet.notes))
    said += sheet.next_checks
    none_of_a_pivot(said)
    assert not [one for one in said if one.startswith(("Length error", "Effective length"))]
    if arm != "dial":
        assert any("the head" in one for one in logged(ended.fitting) if "Counterweight" in one)


@pytest.mark.parametrize("arm", ARMS)
def test_forms_and_drawings_tell_a_parallel_arm_nothing_of_pivots(arm: str) -> None:
    for scale in (True, False):
        none_of_a_pivot(
            list(
                labels_on(
                    parallel_deck(**ARMS[arm]).model_copy(
                        update={"bench": deck(bench={"has_scale": scale}).bench}
                    )
                )
            )
        )


@pytest.mark.parametrize("arm", ARMS)
@pytest.mark.parametrize("heavier", [True, False])
def test_a_swap_and_a_history_tell_a_parallel_arm_nothing_of_pivots(
    arm: str, heavier: bool
) -> None:
    on = parallel_deck(**ARMS[arm])
    (first, _), (second, _) = played(on, 1), played(on, 2)
    heavy = first.cartridge.mass_g + (3.0 if heavier else -1.5)
    reach = first.cartridge.tip_to_holes_mm + (1.5 if heavier else -1.5)
    new = first.cartridge.model_copy(update={"mass_g": heavy, "tip_to_holes_mm": reach})
    plan = plan_swap(on, past(first), new)
    begun = Entry(id="plan", at=first.fitting.started_at, body=plan.planned())
    next_one = first.fitting.model_copy(update={"entries": (begun,)})
    foretold = compare(journey_of(on, new, next_one))
    said = [*said_in(plan), *said_in(foretold), *logged(next_one)]
    for step in STEPS:
        starts = tuple(one for one in plan.starts if one.step == step.NAME)
        said += said_in((orders(starts, parallel=True), expected(foretold, "moves")))
        said += [SAY.text(one.why) for one in starts if one.reason]
    said += said_in(described(plan.planned(), parallel=True))
    line = timeline_of([past(first, id="one"), past(second, id="two")])
    said += said_in(compare_fittings(line, "one", "two"))
    said += [SAY.text(quantity.label) for quantity in line.quantities]
    none_of_a_pivot(said)


@pytest.mark.parametrize("unit", ["mm", "turns"])
def test_toward_the_head_is_the_way_that_presses_more(unit: str) -> None:
    # On any arm the weight hangs behind where the arm rises and the head before it: by the
    # moments about that axis (derived), a weight brought nearer to it balances less of the head.
    more, less = directions_of(Control.COUNTERWEIGHT, unit, parallel=True)
    assert (SAY.text(more), SAY.text(less)) == ("toward the head", "away from the head")
    on = parallel_deck(**ARMS["thread"])
    part = MovePart(control=Control.COUNTERWEIGHT, amount=1.0, unit=unit)
    other = MovePart(control=Control.COUNTERWEIGHT, amount=-1.0, unit=unit)
    for one, way in ((part, "toward the head"), (other, "away from the head")):
        assert way in draw_move(BenchScene(on, cartridge(), SAY), (one,)).title


def test_a_pivoted_arm_keeps_the_words_for_its_pivot() -> None:
    more, less = directions_of(Control.COUNTERWEIGHT, "mm")
    assert (SAY.text(more), SAY.text(less)) == ("toward the pivot", "away from the pivot")


def page_words(page: QWidget) -> list[str]:
    """Return all that stands on a page, shown or hidden, and what is read out of it."""
    said = [page.readout.accessibleName()] if isinstance(page, StepPage) else []
    for one in page.findChildren(QWidget):
        said += [one.accessibleName(), one.toolTip()]
        if isinstance(one, QLabel | QAbstractButton | QGroupBox):
            said.append(one.title() if isinstance(one, QGroupBox) else one.text())
    return [" ".join(one.split()) for one in said if one]


@pytest.mark.parametrize("arm", ARMS)
def test_practice_instruments_tell_a_parallel_arm_nothing_of_pivots(arm: str) -> None:
    on = parallel_deck(**ARMS[arm])
    rehearsal = new_rehearsal(5, deck=on)
    said: list[str] = []
    for step in STEPS:
        able = step.applies(on, rehearsal.cartridge)
        for way in able.ways if able.reads else ():
            if (step.NAME, way) in INSTRUMENTS:
                shown_now = rehearsal.instrument(step.NAME, way)
                said += [*said_in(shown_now), *said_in(shown_now.drawn(SAY))]
    none_of_a_pivot(said)


def test_no_page_of_a_parallel_arm_names_a_pivot(
    library: Library, messages: RecordingMessages, shown: Callable[..., QWidget]
) -> None:
    bench = FittingBench(library, parallel_deck(**ARMS["thread"]))
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=2.4)
    part = MovePart(control=Control.COUNTERWEIGHT, amount=0.25, unit="turns")
    bench.move("rough_downforce", part)
    bench.read("rough_downforce", way="scale", downforce_gf=2.29)
    wizard = Wizard(bench.controller, messages)
    shown(wizard)
    wizard.go("rough_downforce")
    page = step_page(wizard)
    assert [way.text().replace("\n", " ") for way in page.check_panel.ways] == [
        "As entered: toward the head",
        "The other way: away from the head",
    ]
    assert "0,25\u00a0turns toward the head" in " ".join(told_in(page.side_pane.trail))
    for step in STEPS:
        wizard.go(step.NAME)
        now = step_page(wizard)
        none_of_a_pivot([one for one in page_words(now) if "pivoted" not in one])


def test_the_way_of_a_move_is_chosen_by_the_head(
    library: Library, messages: RecordingMessages, shown: Callable[..., QWidget]
) -> None:
    bench = FittingBench(library, parallel_deck(**ARMS["thread"]))
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    wizard = Wizard(bench.controller, messages)
    shown(wizard)
    wizard.go("rough_downforce")
    page = step_page(wizard)
    assert page.move_panel.isVisible()
    words = page_words(page)
    assert any("toward the head" in one for one in page_words(page.move_panel))
    none_of_a_pivot(words)


PATH = {"way": "path", "inner_landing_mm": 0.0, "outer_landing_mm": 0.0, "head_deg": 0.0}
AHEAD = {**PATH, "inner_landing_mm": 2.0, "outer_landing_mm": 2.0}
WORKED = {**READINGS, "alignment": [AHEAD, AHEAD, PATH], "skating": []}


def test_summary_and_history_of_a_parallel_arm_name_no_pivot(
    library: Library, messages: RecordingMessages, shown: Callable[..., QWidget]
) -> None:
    on = library.keep_deck(parallel_deck(**ARMS["thread"])).id
    fitting_id = finished(library, on, library.keep_cartridge(cartridge()).id, readings=WORKED)
    controller = FittingController(library, fitting_id, who="A. Tester", numbers=SAY)
    wizard = Wizard(controller, messages)
    shown(wizard)
    wizard.go(SUMMARY)
    history = HistoryPage(library, on, SAY, messages, who="A. Tester")
    shown(history)
    history.begin()
    load(history)
    for page in (wizard.page, history):
        words = page_words(page)
        none_of_a_pivot([one for one in words if "pivoted" not in one])
        assert any("Counterweight" in one and "from the head" in one for one in words)
        assert any("Cartridge" in one and one.endswith("back") for one in words)


def test_a_plan_and_what_is_begun_from_it_name_no_pivot(
    library: Library, messages: RecordingMessages, shown: Callable[..., QWidget]
) -> None:
    on = library.keep_deck(parallel_deck(**ARMS["thread"])).id
    old = library.keep_cartridge(cartridge()).id
    new = library.keep_cartridge(cartridge(name="Example cartridge, heavier", mass_g=8.5)).id
    fitting_id = finished(library, on, old, readings=WORKED)
    swap = work_out_swap(library, fitting_id, new)
    page = PlanPage(swap, SAY)
    shown(page)
    page.begin()
    bench = FittingBench(library, parallel_deck(**ARMS["thread"]))
    bench.fitting = library.start_fitting(on, new, planned=swap.plan.planned())
    bench.controller = bench.another()
    bench.mount()
    wizard = Wizard(bench.controller, messages)
    shown(wizard)
    wizard.go("rough_downforce")
    for one in (page, step_page(wizard).start_panel):
        words = page_words(one)
        none_of_a_pivot([said for said in words if "pivoted" not in said])
        # A heavier head is balanced by a weight further from it (moments, derived).
        assert any("counterweight" in said and "away from the head" in said for said in words)
