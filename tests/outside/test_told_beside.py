"""What only the windows show beside an answer: last figures heard, names of controls, comparisons.

Each is read here as a person reads it, in words.
"""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import Control, Figure, MovePart, Verdict
from core.language import Message, Numbers, Value, message
from core.steps import alignment
from core.steps.bench_drawing import stood_after
from core.steps.shared import asked_name
from core.steps.skating import Setting
from core.steps.skating.readings import RecordedTracking
from core.steps.speed.tone import RecordedTone
from core.steps.tilt.readings import RecordedLeak
from core.swap import Foretold
from core.swap.words import error_value, found_value
from core.workflow import movables, outside_target
from tests.examples import cartridge
from tests.kit import trial
from tests.outside.told import Person, moved, pinned
from tests.outside.told import said as spoken
from tests.worked import bubble, protractor


def said(*messages: Message | None) -> str:
    return spoken(*messages).replace("\u00a0", " ")


def shown(value: Value) -> str:
    return Numbers().value(value).replace("\u00a0", " ")


# -- what was heard last


def band(kind: str, side: str, hz: float, seconds: float, **more: Any) -> dict[str, Any]:
    placed = {"start_s": 0.0, "end_s": seconds, "level_db": -10.0}
    return {"kind": kind, "side": side, "hz": hz, **placed, **more}


def test_of_leaks_heard_the_longest_band_of_each_side_is_told() -> None:
    bands = [
        band("separation", "left", 1000.0, 4.0, leak_db=-20.0, leak_deg=5.0),
        band("separation", "left", 1000.0, 9.0, leak_db=-31.2, leak_deg=-40.0),
        band("separation", "right", 1000.0, 6.0, leak_db=-28.4, leak_deg=120.0),
    ]
    told = RecordedLeak.model_validate({"file": "a.wav", "channels": 2, "bands": bands}).told_last()
    assert len(told) == 2
    words = said(*told)
    for figure in ("−31.2 dB", "−40°", "−28.4 dB", "120°"):
        assert figure in words
    assert "−20.0" not in words


@pytest.mark.parametrize(
    ("hz", "words", "not_words"),
    [
        (3156.3, ("0.20", "fast"), "slow"),
        (3143.7, ("0.20", "slow"), "fast"),
        (3150.0, ("On speed", "3150.0 Hz"), "fast"),
    ],
)
def test_of_a_tone_heard_its_speed_is_told(
    hz: float, words: tuple[str, ...], not_words: str
) -> None:
    speed = {"hz": hz, "nominal_hz": 3150.0, "start_s": 0.0, "seconds": 30.0}
    one = band("speed", "both", hz, 30.0)
    file = {"file": "a.wav", "channels": 2, "bands": [one], "speed": speed}
    told = said(*RecordedTone.model_validate(file).told_last())
    for word in words:
        assert word in told, told
    assert not_words not in told


def test_lost_sound_is_a_fault_that_is_told_once() -> None:
    told = RecordedTracking.model_validate({"file": "a.wav", "channels": 2, "bands": []})
    missing = told.with_sound_missing()
    assert [one.fault.value for one in missing.faults] == ["dropped"]
    assert missing.with_sound_missing() == missing
    assert told.faults == ()


# -- where things stand


def test_a_setting_stands_where_it_was_moved_to_since_it_was_read() -> None:
    def turned(amount: float) -> MovePart:
        return MovePart(control=Control.SKATING, amount=amount, unit="gf")

    read = trial(Setting(setting=2.0))
    assert stood_after([]) == {}
    assert stood_after([trial(turned(0.5))]) == {}
    assert stood_after([read])["setting"] == 2.0
    later = [trial(turned(0.75)), read, trial(turned(0.5)), trial(turned(-0.25))]
    assert stood_after(later)["setting"] == pytest.approx(2.25)


# -- names and comparisons


@pytest.mark.parametrize(
    ("control", "unit", "name"),
    [
        (Control.SLIDE, "mm", "Slide the cartridge"),
        (Control.TWIST, "°", "Turn the cartridge"),
        (Control.PILLAR, "mm", "Arm pillar"),
        (Control.COUNTERWEIGHT, "turns", "Counterweight"),
        (Control.COUNTERWEIGHT, "gf", "Downforce dial"),
        (Control.SKATING, "gf", "Change the compensation by"),
    ],
)
def test_a_field_of_a_move_is_asked_for_by_what_is_moved(
    control: Control, unit: str, name: str
) -> None:
    assert said(asked_name(control, unit)) == name


def test_of_several_feet_each_is_named_by_its_place() -> None:
    labels = [
        said(one.label)
        for step in ("level", "arm_height")
        for one in movables(pinned(), cartridge(), step)
    ]
    for foot in ("front left", "front right", "rear"):
        assert any("Foot" in label and foot in label for label in labels)
    assert "Arm pillar" in labels


@pytest.mark.parametrize(
    ("target", "tolerance", "words"),
    [
        (10.0, 2.0, "Resonance: 14.0 Hz, outside 10.0 ± 2.00 Hz."),
        (None, None, "Resonance: 14.0 Hz, outside 0.0 Hz."),
    ],
)
def test_a_figure_outside_says_outside_of_what(
    target: float | None, tolerance: float | None, words: str
) -> None:
    label = message("mount.figure.resonance")
    figure = Figure("resonance", label, 14.0, "Hz", 1, target=target, tolerance=tolerance)
    told = said(outside_target(figure))
    assert told.startswith(f"{said(label)}: 14.0 Hz, outside ")


@pytest.mark.parametrize(
    ("found", "half", "error", "words"),
    [
        (None, None, None, ("not read", "–")),
        (2.05, 0.03, 0.05, ("2.05 ± 0.03 gf", "0.05 gf")),
        (1.9, None, -0.1, ("1.90 gf", "0.10 gf")),
    ],
)
def test_what_was_found_stands_beside_what_was_foretold(
    found: float | None, half: float | None, error: float | None, words: tuple[str, str]
) -> None:
    foretold = Foretold(
        *("final_downforce", "downforce", message("swap.label.downforce"), 2.0, 0.06),
        *(found, half, error, "gf", 2, message("swap.nothing_expected")),
    )
    assert shown(found_value(foretold)) == words[0]
    assert words[1] in shown(error_value(foretold))


# -- what is left of a foot's travel


def test_a_foot_that_was_raised_can_go_back_as_far_as_it_came() -> None:
    """No way down at first, and the other feet are fixed: a turn up by 1.25 mm is taken back."""
    feet = [
        {"name": "front left", "x_mm": -180.0, "y_mm": -140.0, "travel_down_mm": 0.0},
        {"name": "front right", "x_mm": 180.0, "y_mm": -140.0, "adjustable": False},
        {"name": "rear", "x_mm": 0.0, "y_mm": 150.0, "adjustable": False},
    ]
    person = Person("level", pinned(plinth={"feet": feet}))
    person.moves(MovePart(control=Control.FOOT, where="front left", amount=1.0, unit="turns"))
    # Left high by 1.25 mm over 360: 3.47 mm/m. Halfway between the front feet it is half of that
    # above the rear, 290 mm away: the front is high by 2.16 mm/m.
    answer = person.reads(bubble("left-right", -3.47), bubble("front-back", -2.16))
    assert answer.verdict is Verdict.MOVE
    ((_, where, amount, _),) = moved(answer)
    assert (where, amount) == ("front left", pytest.approx(-1.0, abs=0.03))


# -- ways of reading


def test_a_straight_arm_is_read_by_its_landing_first() -> None:
    """It has no offset to read; the others keep their order behind it (common practice)."""
    straight = pinned(
        arm={"kind": "pivoted straight", "effective_length_mm": 212.0, "offset_deg": 0.0}
    )
    bent, first = (alignment.applies(on, cartridge()).ways for on in (pinned(), straight))
    assert bent[0] == "landing and angles"
    assert first[0] == "landing"
    assert [way for way in first if way != "landing"] == [way for way in bent if way != "landing"]


@pytest.mark.parametrize(("off", "entered"), [(2.0, 2.0), (-2.0, -2.0)])
def test_a_slide_entered_the_other_way_is_asked_about_though_it_ended_right(
    off: float, entered: float
) -> None:
    """2 mm too long, a slide by 2 mm further entered, and the protractor shows none off."""
    person = Person("alignment")
    person.reads(protractor(off, 0.0))
    person.moves(MovePart(control=Control.SLIDE, amount=entered, unit="mm"))
    answer = person.reads(protractor(0.0, 0.0))
    assert answer.verdict is Verdict.READ_AGAIN
    assert "Which way did you move it?" in said(answer.questions[0].text)
