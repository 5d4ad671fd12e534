"""Every step, every way of reading and every caution has its words."""

from __future__ import annotations

import pytest

from core.language import cautions, step_text
from core.records import Cartridge, Deck
from core.steps import STEP_NAMES, STEPS, step_named, ways_of


def test_the_nine_steps_stand_in_their_order() -> None:
    assert STEP_NAMES == (
        "level",
        "mount",
        "rough_downforce",
        "arm_height",
        "alignment",
        "tilt",
        "skating",
        "final_downforce",
        "speed",
    )


@pytest.mark.parametrize("name", STEP_NAMES)
def test_a_step_says_why_what_and_how(name: str) -> None:
    text = step_text(name)
    for sentence in (text.why, text.why_now, text.skip, *text.how):
        assert sentence.strip().endswith((".", "!", "?")), sentence
        assert len(sentence) > 15, sentence
    assert len(text.short.partition(" (")[0].split()) <= 6  # the trade's word in brackets aside


@pytest.mark.parametrize("name", STEP_NAMES)
def test_every_way_of_reading_is_described_and_no_other(name: str) -> None:
    assert set(step_text(name).ways) == set(ways_of(step_named(name)))


@pytest.mark.parametrize("name", STEP_NAMES)
def test_every_caution_named_exists(name: str) -> None:
    assert set(step_text(name).cautions) <= set(cautions())


def test_cautions_stand_where_they_belong() -> None:
    # each caution in the step whose work it belongs to (common practice, no source)
    assert {"static", "guard", "muted", "no_heat", "arm_locked"} <= set(step_text("mount").cautions)
    assert "magnets" in step_text("rough_downforce").cautions
    for name in ("rough_downforce", "final_downforce"):  # the weight is turned, the stylus weighed
        assert {"counterweight", "bare_stylus"} <= set(step_text(name).cautions)
    for name in ("arm_height", "alignment", "tilt", "skating"):
        assert "bare_stylus" in step_text(name).cautions
    for name in STEP_NAMES:  # wherever a test record is played, and there only
        is_loud = "test bands" in step_text(name).ways
        assert ("loud" in step_text(name).cautions) is is_loud, name
    assert {"flashing", "unplug"} <= set(step_text("speed").cautions)
    for name in STEP_NAMES:
        assert step_text(name).title


def test_the_ways_a_step_offers_are_its_own(
    example_deck: Deck, example_cartridge: Cartridge
) -> None:
    for step in STEPS:
        offered = step.applies(example_deck, example_cartridge).ways
        assert set(offered) <= set(ways_of(step)), step.NAME


@pytest.mark.parametrize("name", STEP_NAMES)
def test_a_parallel_tracking_arm_is_told_nothing_of_pivots(name: str) -> None:
    text = step_text(name, parallel=True)
    own = [text.title, text.short, text.why, text.why_now, *text.need, *text.how, text.skip]
    if name != "skating":  # nothing to set there, and so no page's words
        ways = [text.ways["path"]] if name == "alignment" else text.ways.values()
        own += [line for way in ways for line in way.how]
        assert [line for line in own if "pivot" in line.lower() or "null" in line.lower()] == []


def test_a_pivoted_arm_keeps_its_own_words() -> None:
    assert "pivot" in step_text("alignment").why
    assert step_text("level", parallel=True) == step_text("level")
