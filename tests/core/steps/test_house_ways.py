"""Every step has a way of reading that needs nothing bought, and the bench kit orders the ways."""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import Reading
from core.records import BenchKit, Deck
from core.steps import STEP_NAMES, STEPS, step_named, ways_of
from core.steps.downforce import FloatedDial
from tests.examples import cartridge, deck

FLAGS = [name for name in BenchKit.model_fields if name.startswith("has_")]


def offered(on: Deck, step: str) -> list[type[Reading]]:
    """Return the ways on offer at a step, in order."""
    kinds = ways_of(step_named(step))
    return [kinds[way] for way in step_named(step).applies(on, cartridge()).ways]


def deck_with(**bench: Any) -> Deck:
    return deck(arm={"gf_per_turn": 2.0}, bench={"has_sound_input": True} | bench)


@pytest.mark.parametrize("step", STEP_NAMES)
@pytest.mark.parametrize("kind", ["pivoted offset", "pivoted straight"])
def test_with_nothing_bought_the_first_way_offered_needs_nothing(step: str, kind: str) -> None:
    empty = deck_with(**dict.fromkeys(FLAGS, False))
    arm = empty.arm.model_copy(update={"kind": kind})
    on = empty.model_copy(update={"arm": arm})
    assert offered(on, step)[0].NEEDS == ""
    # Still within reach: somebody may borrow one.
    assert set(offered(on, step)) == set(offered(deck_with(), step))


@pytest.mark.parametrize("step", STEP_NAMES)
def test_what_a_way_needs_is_a_field_of_the_bench_kit(step: str) -> None:
    for kind in ways_of(step_named(step)).values():
        assert kind.NEEDS in ("", *FLAGS)


@pytest.mark.parametrize("flag", FLAGS)
def test_one_instrument_that_is_missing_puts_its_ways_last(flag: str) -> None:
    moved = 0
    for step in STEPS:
        ways = offered(deck_with(**{flag: False}), step.NAME)
        missing = [flag == kind.NEEDS for kind in ways]
        assert missing == sorted(missing)
        moved += ways != offered(deck_with(), step.NAME)
    # Only these come last in any case.
    last = ("has_speed_meter", "has_test_record", "has_inclinometer", "has_sound_input")
    assert moved or flag in last


def test_the_next_form_has_nothing_ticked() -> None:
    done = FloatedDial(floated=True, zeroed=True, dial_gf=2.0, sinks=True)
    assert done.as_pattern() == FloatedDial(dial_gf=2.0)
