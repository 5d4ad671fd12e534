"""Whole fittings with what a house has: water, the arm's dial, a ruler, paper and a watch."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from core.fitting import Entry, ReadingTaken, Verdict
from core.practice.faults import Difficulty
from core.practice.invented_decks import invent
from core.practice.proof.closed_loop import DeckRun, Loop
from core.practice.proof.person import Person
from core.practice.rehearsal import Rehearsal
from core.records import Balance, BenchKit
from core.steps import STEPS, reading_from, step_named, ways_of
from core.workflow.summary import outcomes_of
from tests.kit import status_of

pytestmark = pytest.mark.long

DECKS = 40
SEED = 11
NOT_THERE = {name: False for name in BenchKit.model_fields if name.startswith("has_")}


def rehearsal(number: int, *, dial: bool) -> Rehearsal:
    """Return a practice deck with no instrument that was bought, and perhaps a dial on its arm."""
    deck, cartridge = invent(np.random.default_rng(np.random.SeedSequence((SEED, number, 1))))
    arm = deck.arm
    if dial and arm.balance is Balance.STATIC and arm.gf_per_turn is None:
        arm = arm.model_copy(update={"gf_per_turn": 2.0})
    bench = deck.bench.model_copy(update=NOT_THERE)
    at_home = deck.model_copy(update={"bench": bench, "arm": arm})
    return Rehearsal((SEED, number, 2), Difficulty.ORDINARY, at_home, cartridge)


def played(number: int, *, dial: bool) -> tuple[Loop, DeckRun]:
    rng = np.random.default_rng(np.random.SeedSequence((SEED, number, 3)))
    loop = Loop(rehearsal(number, dial=dial), Person.drawn(rng), number=number)
    return loop, loop.play()


@cache
def with_a_dial() -> list[tuple[Loop, DeckRun]]:
    return [played(number, dial=True) for number in range(DECKS)]


@cache
def as_they_are() -> list[tuple[Loop, DeckRun]]:
    return [played(number, dial=False) for number in range(DECKS)]


def test_every_fitting_ends_and_no_stylus_is_in_danger() -> None:
    for _, run in (*with_a_dial(), *as_they_are()):
        assert not any(step.never_ended for step in run.steps.values()), run.number
        assert run.ended, run.number
        assert run.unsafe_prompts == 0
    assert not any(run.gated for _, run in with_a_dial())


def test_nothing_is_read_with_what_is_not_there() -> None:
    for loop, _ in (*with_a_dial(), *as_they_are()):
        for entry in loop.fitting.entries:
            assert _is_at_hand(entry, loop.rehearsal.deck.bench), entry.body


def _is_at_hand(entry: Entry, bench: BenchKit) -> bool:
    body = entry.body
    if not isinstance(body, ReadingTaken):
        return True
    kind = ways_of(step_named(body.step)).get(str(reading_from(body.step, body.reading).way))
    return kind is None or kind.is_at_hand(bench)


def test_what_is_called_good_is_good() -> None:
    for runs in (with_a_dial(), as_they_are()):
        good = [
            step.accepted_ratio <= 1.0
            for _, run in runs
            for step in run.steps.values()
            if step.verdict is Verdict.GOOD and step.accepted_ratio is not None
        ]
        assert len(good) > 100
        assert good.count(False) <= 0.03 * len(good)


def test_what_presses_in_the_end_lies_in_what_is_told_of_it() -> None:
    inside = []
    for loop, _ in with_a_dial():
        told = status_of(loop._journey(), "final_downforce").assessment.figure("downforce")
        assert told is not None
        assert told.half_width is not None
        inside.append(abs(loop.rehearsal.downforce_gf - told.value) <= told.half_width)
    # 95 of 100; two of 40 are left out by chance, six hardly ever (binomial, one in fifty)
    assert inside.count(False) <= 5


def test_where_the_ruler_is_too_coarse_the_stylus_stays_up_and_that_is_said() -> None:
    gated = [(loop, run) for loop, run in as_they_are() if run.gated]
    assert 0 < len(gated) < DECKS
    for loop, _ in gated:
        journey = loop._journey()
        assert not journey.gate.is_open
        assert status_of(journey, "rough_downforce").assessment.verdict is Verdict.LEFT_AS_FOUND


def test_the_summary_says_how_sure_each_figure_is() -> None:
    for loop, _ in with_a_dial():
        outcomes = outcomes_of(loop._journey())
        assert len(outcomes) == len(STEPS)
        for outcome in outcomes:
            coarse = [pair for pair in outcome.figures if pair.after and pair.after.is_coarse]
            assert len(outcome.doubts) == len(coarse) + len(outcome.unread)
        assert outcomes[-2].doubts  # by the dial
