"""Every step, every way of reading and every caution has its words."""

from __future__ import annotations

import pytest

from core.fitting import Control
from core.language import cautions, step_text
from core.records import Cartridge, Deck, fields_of
from core.steps import STEP_NAMES, STEPS, step_named, ways_of

WAYS = [(step.NAME, way) for step in STEPS for way in ways_of(step)]


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
    lines = [*text.moving, *(line for way in text.ways.values() for line in way.lines)]
    for sentence in (text.why, text.why_now, text.skip, *(line.text for line in lines)):
        assert sentence.strip().endswith((".", "!", "?")), sentence
        assert len(sentence) > 15, sentence
    assert len(text.short.partition(" (")[0].split()) <= 6  # the trade's word in brackets aside


@pytest.mark.parametrize("name", STEP_NAMES)
def test_every_way_of_reading_is_described_and_no_other(name: str) -> None:
    assert set(step_text(name).ways) == set(ways_of(step_named(name)))


@pytest.mark.parametrize(("name", "way"), WAYS)
def test_every_field_of_a_way_is_filled_in_at_exactly_one_line(name: str, way: str) -> None:
    model = ways_of(step_named(name))[way]
    at_lines = [field for line in step_text(name).ways[way].lines for field in line.fields]
    assert sorted(at_lines) == sorted(spec.name for spec in fields_of(model))


@pytest.mark.parametrize(("name", "way"), WAYS)
def test_the_guard_is_off_before_the_stylus_comes_down_and_on_after(name: str, way: str) -> None:
    deeds = [line.does for line in step_text(name).ways[way].lines if line.does]
    if ways_of(step_named(name))[way].LOWERS_STYLUS or way == "scale":
        assert "lower stylus" in deeds
    if deeds:
        assert deeds[0] == "guard off"
        assert deeds[-1] == "guard on"
        assert deeds.count("guard off") == deeds.count("guard on") == 1


@pytest.mark.parametrize("name", STEP_NAMES)
def test_before_a_move_that_follows_a_lowered_stylus_the_guard_goes_on(name: str) -> None:
    text = step_text(name)
    lowers = any(line.does == "lower stylus" for way in text.ways.values() for line in way.lines)
    assert ("guard on" in [line.does for line in text.moving]) is lowers


@pytest.mark.parametrize("name", STEP_NAMES)
def test_every_caution_exists_and_stands_at_a_line(name: str) -> None:
    text = step_text(name)
    assert set(text.cautions) <= set(cautions())
    lines = [*text.moving, *(line for way in text.ways.values() for line in way.lines)]
    assert {line.caution for line in lines if line.caution} == set(text.cautions)


@pytest.mark.parametrize(("name", "way"), WAYS)
def test_no_caution_says_the_guard_stays_on_where_it_is_taken_off(name: str, way: str) -> None:
    off = [one for one in step_text(name).ways[way].lines if one.does == "guard off"]
    assert all(line.caution != "guard" for line in off)


def test_cautions_stand_where_they_belong() -> None:
    # each caution in the step whose work it belongs to (common practice, no source)
    assert {"static", "guard", "muted", "no_heat", "arm_locked"} <= set(step_text("mount").cautions)
    assert "magnets" in step_text("rough_downforce").cautions
    for name in ("rough_downforce", "final_downforce"):  # the weight is turned, the stylus weighed
        assert {"counterweight", "bare_stylus"} <= set(step_text(name).cautions)
    for name in ("arm_height", "alignment", "tilt", "skating"):
        assert "bare_stylus" in step_text(name).cautions
    for name in STEP_NAMES:  # wherever a test record is played, and there only
        is_loud = bool({"test bands", "tone", "resonance by record"} & set(step_text(name).ways))
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
    own = [text.title, text.short, text.why, text.why_now, *text.need, text.skip]
    own += [line.text for line in text.moving]
    if name != "skating":  # nothing to set there, and so no page's words
        ways = [text.ways["path"]] if name == "alignment" else text.ways.values()
        own += [line.text for way in ways for line in way.lines]
        assert [line for line in own if "pivot" in line.lower() or "null" in line.lower()] == []


def test_a_pivoted_arm_keeps_its_own_words() -> None:
    assert "pivot" in step_text("alignment").why
    assert step_text("level", parallel=True) == step_text("level")


def test_what_is_set_to_0_to_weigh_is_set_back_at_the_end() -> None:
    for way, text in step_text("final_downforce").ways.items():
        zeroed = [
            line
            for line in text.lines
            if "skating compensation" in line.text and "to 0" in line.text
        ]
        last = text.lines[-1].text
        # A weight and the empty pan are read amid weighings, for which it was set to 0.
        amid = way in ("check weight", "empty pan")
        assert ("set the skating compensation back" in last) is bool(zeroed or amid), way


@pytest.mark.parametrize("name", STEP_NAMES)
def test_lines_before_a_move_belong_to_controls_of_their_step(
    name: str, example_deck: Deck, example_cartridge: Cartridge
) -> None:
    moving = step_text(name).moving
    assert {one for line in moving for one in line.controls} <= {one.value for one in Control}
    for movable in step_named(name).movables(example_deck, example_cartridge):
        assert any(line.belongs_to({movable.control.value}) for line in moving)


def test_tightening_is_told_as_tightening_and_sliding_as_sliding() -> None:
    moving = step_text("alignment").moving
    tighten, slide = (
        " ".join(line.text for line in moving if line.belongs_to({control}))
        for control in (Control.SCREWS.value, Control.SLIDE.value)
    )
    assert "Tighten the screws" in tighten
    assert "Loosen" not in tighten
    assert "move the cartridge" not in tighten
    assert "Loosen the screws" in slide
    assert "Tighten" not in slide


def test_words_that_keep_from_harm_are_marked_so_that_none_is_cut() -> None:
    harm = ("stylus", "guard", "another weight")
    cut = [
        line.text
        for name in STEP_NAMES
        for way in step_text(name).ways.values()
        for line in way.lines
        if not line.keeps_from_harm and any(word in line.text for word in harm)
    ]
    assert cut == ["Type what the scale shows. Subtract the guard if you know its weight."]
