"""A rehearsal can be played again, is built like any deck, and tells the truth at the end."""

from __future__ import annotations

import numpy as np
import pytest

from core.fitting import Control, MovePart
from core.practice import Difficulty, new_rehearsal
from core.practice.invented_decks import invent, starter_cartridges, starter_decks
from core.records import Deck, FeetControl
from core.steps import STEP_NAMES
from tests.core.practice.worlds import truths_of
from tests.examples import cartridge, deck

TURN = MovePart(control=Control.COUNTERWEIGHT, amount=0.5, unit="turns")


def played(seed: int, number: int = 0) -> list[object]:
    rehearsal = new_rehearsal(seed, number=number)
    shown: list[object] = [rehearsal.deck, rehearsal.cartridge]
    for _ in range(3):
        shown.append(dict(rehearsal.instrument("rough_downforce", "scale").values))
        rehearsal.obey([TURN])
    return [*shown, *truths_of(rehearsal)]


def test_the_same_seed_plays_the_same_rehearsal() -> None:
    assert played(5) == played(5)
    assert played(5) != played(6)
    assert played(5, number=1) != played(5)


@pytest.mark.parametrize("one", starter_decks(), ids=lambda d: d.name)
def test_every_starter_deck_can_be_rehearsed(one: Deck) -> None:
    rehearsal = new_rehearsal(1, Difficulty.GENTLE, one)
    assert rehearsal.deck == one
    steps = [truth.step for truth in truths_of(rehearsal)]
    assert set(steps) <= set(STEP_NAMES)
    assert {"level", "rough_downforce", "arm_height", "alignment", "tilt", "speed"} <= set(steps)


def test_it_takes_the_deck_and_cartridge_that_are_given() -> None:
    rehearsal = new_rehearsal(1, "bad day", deck(), cartridge())
    assert (rehearsal.deck, rehearsal.cartridge) == (deck(), cartridge())


def test_a_worse_day_hides_larger_faults() -> None:
    def worst(difficulty: Difficulty) -> float:
        ratios = []
        for seed in range(30):
            truths = truths_of(new_rehearsal(seed, difficulty, deck(), cartridge()))
            ratios += [min(truth.ratio, 30.0) for truth in truths]
        return sum(ratios) / len(ratios)

    gentle, ordinary, bad = (worst(one) for one in Difficulty)
    assert gentle < ordinary < bad


def test_invented_decks_lack_everything_now_and_then() -> None:
    decks = [invent(np.random.default_rng(seed))[0] for seed in range(200)]
    for values, wanted in (
        ({d.plinth.control.value for d in decks}, {"none", "some", "all"}),
        ({d.height.control.value for d in decks}, {"none", "pillar", "collar", "shims"}),
        ({d.tilt.control.value for d in decks}, {"none", "head", "collar", "shim"}),
        ({d.platter.trim.value for d in decks}, {"none", "screw", "electronic"}),
        ({d.head.kind.value for d in decks}, {"slots", "fixed", "plug-in"}),
        (
            {d.arm.kind.value for d in decks},
            {"pivoted offset", "pivoted straight", "parallel tracking"},
        ),
        (
            {d.skating.control.value for d in decks},
            {"none", "dial", "thread weight", "spring", "magnet", "fluid"},
        ),
    ):
        assert wanted <= values
    assert any(d.arm.counterweight_g is None for d in decks)
    assert any(d.plinth.pitch_mm_per_turn is None for d in decks)
    assert len(starter_cartridges()) > 4


@pytest.mark.parametrize(
    ("seed", "difficulty", "words"),
    [(-1, "ordinary", "whole number"), (1, "terrible", "no difficulty 'terrible'")],
)
def test_bad_input_is_said_in_a_sentence(seed: int, difficulty: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        new_rehearsal(seed, difficulty)


def test_an_instrument_that_is_not_on_the_bench_is_said() -> None:
    with pytest.raises(ValueError, match="nothing that reads"):
        new_rehearsal(1).instrument("level", "plumb line")


def test_truth_is_told_in_the_terms_of_the_way_it_was_read() -> None:
    rehearsal = new_rehearsal(2, deck=deck(), cartridge=cartridge())
    rehearsal.instrument("tilt", "gaps")
    body = rehearsal.truth_of("tilt")
    rehearsal.instrument("tilt", "test bands")
    leaks = rehearsal.truth_of("tilt")
    assert body is not None
    assert leaks is not None
    assert body.label != leaks.label


def test_feet_without_travel_are_never_called_adjustable() -> None:
    for number in range(60):
        made, _ = invent(np.random.default_rng(number))
        for foot in made.plinth.feet:
            assert foot.can_be_turned == foot.adjustable


def test_a_deck_of_feet_without_travel_has_no_adjustable_foot() -> None:
    known = deck()
    stuck = tuple(
        foot.model_copy(update={"adjustable": True, "travel_up_mm": 0.0, "travel_down_mm": 0.0})
        for foot in known.plinth.feet
    )
    assert known.plinth.model_copy(update={"feet": stuck}).control is FeetControl.NONE
