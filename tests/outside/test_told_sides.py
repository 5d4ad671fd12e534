"""Every side, way and sign that a person reads, in words, against where the thing really stands.

An order that goes the right way is no use beside a sentence that names the wrong side. Each case is
read off a sketch by hand (derived); of a sentence only the word that tells the side is held.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from core.drawing.chart import Curve, MarkRole, Points, Shape
from core.fitting import Assessment, ChoiceMade, Control, MovePart, Verdict
from core.records import Deck
from core.steps import STEP_NAMES
from tests.examples import cartridge
from tests.outside.test_alignment_reference import errors_by_vectors
from tests.outside.told import Person, moved, pinned, said, told
from tests.worked import CHECKED, Read, bubble, protractor


def everything(answer: Assessment) -> str:
    """Return all that is said, one after the other."""
    move = answer.next_move
    orders = (move.sentence, move.predicted, move.reason, move.rest) if move else ()
    notes = (*answer.notes, *(figure.note for figure in answer.figures))
    return said(answer.headline, *orders, *notes, answer.picture.summary).lower()


def tells(answer: Assessment, these: tuple[str, ...], not_those: tuple[str, ...] = ()) -> None:
    text = everything(answer).replace("\u00a0", " ")
    for word in these:
        assert word in text, f"{word!r} is missing: {text}"
    for word in not_those:
        assert word not in text, f"{word!r} is said: {text}"


# -- level

FIXED_FEET = [
    {"name": "front left", "x_mm": -180, "y_mm": -140, "adjustable": False},
    {"name": "front right", "x_mm": 180, "y_mm": -140, "adjustable": False},
    {"name": "rear", "x_mm": 0, "y_mm": 150, "adjustable": False},
]


@pytest.mark.parametrize(
    ("back", "right", "side"),
    [
        (3.0, 0.0, "rear"),
        (3.0, 3.0, "rear right"),
        (0.0, 3.0, "right"),
        (-3.0, 3.0, "front right"),
        (-3.0, 0.0, "front"),
        (-3.0, -3.0, "front left"),
        (0.0, -3.0, "left"),
        (3.0, -3.0, "rear left"),
    ],
)
@pytest.mark.parametrize("feet", [None, FIXED_FEET])
def test_the_high_side_of_the_deck(back: float, right: float, side: str, feet: Any) -> None:
    on = pinned() if feet is None else pinned(plinth={"feet": feet})
    readings = [bubble("front-back", back), bubble("left-right", right)]
    answer = told("level", *readings, on=on)
    tells(answer, (f"high at the {side}",))
    assert f"high at the {side} by" in said(answer.picture.summary)
    gx, gy = answer.figure("slope_right"), answer.figure("slope_back")
    assert gx is not None
    assert gy is not None
    assert (gx.value, gy.value) == pytest.approx((right, back))


def test_feet_that_went_the_wrong_way_are_noticed() -> None:
    # 3 mm/m before; as ordered it would be 0, turned the other way it is 6.
    person = Person("level")
    person.reads(bubble("front-back", 3.0), bubble("left-right", 0.0))
    person.obeys()
    answer = person.reads(bubble("front-back", 6.0), bubble("left-right", 0.0))
    tells(answer, ("wrong way",))
    person = Person("level")
    person.reads(bubble("front-back", 3.0), bubble("left-right", 0.0))
    person.obeys()
    answer = person.reads(bubble("front-back", 0.0), bubble("left-right", 0.0))
    tells(answer, (), ("wrong way",))


# -- mount


@pytest.mark.parametrize(
    ("mass", "compliance", "this", "other"),
    [
        # 11 + 10 + 1 = 22 g on 30 um/mN: 6.2 Hz, slow and heavy.
        (10.0, 30.0, "less at the head", "more at the head"),
        # 11 + 2 + 1 = 14 g on 5 um/mN: 19.0 Hz, quick and light.
        (2.0, 5.0, "more at the head", "less at the head"),
    ],
)
def test_mass_that_would_bring_the_resonance_right(
    mass: float, compliance: float, this: str, other: str
) -> None:
    fitted = cartridge(mass_g=mass, compliance=compliance)
    tells(told("mount", CHECKED, fitted=fitted), (this,), (other,))


# -- downforce


def scale(shown: float, **more: float) -> Read:
    return {"way": "scale", "downforce_gf": shown, **more}


@pytest.mark.parametrize(
    ("shown", "this", "other"), [(2.6, "above", "below"), (1.4, "below", "above")]
)
def test_more_or_less_than_wanted(shown: float, this: str, other: str) -> None:
    answer = told("rough_downforce", scale(shown))
    tells(answer, (f"is {this} target",), (f"is {other} target",))


@pytest.mark.parametrize(
    ("pan", "this", "other"), [(8.0, "above", "below"), (-3.0, "below", "above")]
)
def test_a_pan_that_is_not_level_with_the_record(pan: float, this: str, other: str) -> None:
    # An arm that hangs low swings back to its place, down again, when it is lifted: a pan above the
    # record feels more than the record would, one below it less.
    answer = told("rough_downforce", scale(2.0, pan_height_mm=pan))
    shows = {"above": "presses harder", "below": "presses less"}
    tells(answer, (f"{this} record height", shows[this]), (f"{other} record height", shows[other]))


@pytest.mark.parametrize(
    ("shown", "order", "other"),
    [
        (2.3, "away from the pivot", "toward the pivot"),
        (1.7, "toward the pivot", "away from the pivot"),
    ],
)
def test_what_is_off_the_target_goes_the_other_way(shown: float, order: str, other: str) -> None:
    answer = told("final_downforce", *[scale(shown)] * 3)
    tells(answer, (order,), (other,))


@pytest.mark.parametrize(
    ("shown", "words", "signs"),
    [(2.2, "10.0 % high", ("+", " low")), (1.8, "10.0 % low", ("−", " high"))],
)
def test_what_the_scale_is_off_has_its_word(
    shown: float, words: str, signs: tuple[str, ...]
) -> None:
    # 2 g show 2.20: a tenth too much.
    weight = [{"way": "check weight", "weight_g": 2.0, "shown_gf": shown}] * 2
    empty = {"way": "check weight", "weight_g": 0.0, "shown_gf": 0.0}
    tells(told("rough_downforce", empty, *weight, scale(shown)), (words,), signs)


# -- arm height


def tube(front: float, rear: float) -> Read:
    return {"way": "two heights", "front_mm": front, "rear_mm": rear, "spacing_mm": 180.0}


def height(control: str, **more: Any) -> Deck:
    return pinned(height={"control": control, **more})


@pytest.mark.parametrize(
    ("reading", "this", "other"),
    [(tube(25.0, 27.0), "high", "low"), (tube(27.0, 25.0), "low", "high")],
)
@pytest.mark.parametrize("control", ["pillar", "collar", "shims", "none"])
def test_the_rear_of_the_tube(control: str, reading: Read, this: str, other: str) -> None:
    answer = told("arm_height", reading, reading, on=height(control))
    text = everything(answer)
    assert f" {this}" in text, text
    assert f"mm {other}" not in text.replace("\u00a0", " "), text
    assert f"rear {other} " not in text, text


@pytest.mark.parametrize(
    ("reading", "these", "others"),
    [
        # Rear 2 mm high, and nothing lets it down: what lifts the stylus lifts the front.
        (tube(25.0, 27.0), ("taller", "thicker"), ("lower", "thinner")),
        (tube(27.0, 25.0), ("lower", "thinner"), ("taller", "thicker")),
    ],
)
def test_what_would_help_a_fixed_arm(
    reading: Read, these: tuple[str, ...], others: tuple[str, ...]
) -> None:
    answer = told("arm_height", *[reading] * 3, on=height("none"))
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    tells(answer, these, others)


@pytest.mark.parametrize(("lift", "this", "other"), [(-1.0, "high", "low"), (-4.0, "low", "high")])
def test_where_the_rear_is_expected(lift: float, this: str, other: str) -> None:
    # 2 mm over 180 are 2.66 at the pillar: a millimetre down leaves it high, four make it low.
    person = Person("arm_height")
    person.reads(tube(25.0, 27.0))
    answer = person.moves(MovePart(control=Control.PILLAR, amount=lift, unit="mm"))
    text = everything(answer).replace("\u00a0", " ")
    assert f"mm {this}" in text, text
    assert f"mm {other}" not in text, text


@pytest.mark.parametrize(
    ("played", "these", "others"),
    [
        # The thicker record lifts the front: to be right then, the rear stands high on this one.
        (3.5, ("thicker", "too high"), ("thinner", "too low")),
        (0.5, ("thinner", "too low"), ("thicker", "too high")),
    ],
)
def test_another_record_to_be_played(
    played: float, these: tuple[str, ...], others: tuple[str, ...]
) -> None:
    person = Person("arm_height")
    records = {"record_here_mm": 1.5, "record_played_mm": played}
    person.keep(ChoiceMade(step="arm_height", choices=records))
    tells(person.reads(tube(27.0, 27.0)), these, others)


# -- alignment


@pytest.mark.parametrize(("slide", "twist"), [(3.0, 0.0), (-3.0, 0.0), (0.0, 3.0), (0.0, -3.0)])
def test_figures_of_alignment_have_their_sign(slide: float, twist: float) -> None:
    answer = told("alignment", protractor(slide, twist))
    for key, wanted in (("slide", slide), ("twist", twist), ("effective_length", 239.296 + slide)):
        figure = answer.figure(key)
        assert figure is not None
        assert figure.value == pytest.approx(wanted, abs=0.4), key


@pytest.mark.parametrize(
    ("moved_mm", "sign"), [(-1.0, "landing 2.0 mm beyond"), (-5.0, "landing 2.0 mm short")]
)
def test_where_the_stylus_is_expected_to_land(moved_mm: float, sign: str) -> None:
    # 3 mm beyond the mark: a millimetre back leaves 2, five go 2 short of it.
    person = Person("alignment")
    person.reads(protractor(3.0, 0.0))
    answer = person.moves(MovePart(control=Control.SLIDE, amount=moved_mm, unit="mm"))
    tells(answer, (sign,))


@pytest.mark.parametrize(
    ("turned", "sign"), [(-1.0, "angles 2.0° turned in"), (-5.0, "angles 2.0° turned out")]
)
def test_how_the_head_is_expected_to_stand(turned: float, sign: str) -> None:
    # Turned in by 3 degrees, the grids show -3; out by one leaves -2, by five makes +2.
    person = Person("alignment")
    person.reads(protractor(0.0, 3.0))
    answer = person.moves(MovePart(control=Control.TWIST, amount=turned, unit="°"))
    tells(answer, (sign,))
    picture = said(answer.picture.summary)
    assert picture


@pytest.mark.parametrize(
    ("off", "way", "other"), [(2.0, "away", "toward"), (-2.0, "toward", "away")]
)
def test_a_base_that_slides_makes_up_for_a_head_that_does_not(
    off: float, way: str, other: str
) -> None:
    # The stylus lands beyond the mark, the head has fixed holes: the whole arm goes back, to where
    # the head drawn at its own angle has the least worst error over radius (scipy.optimize).
    radius = np.linspace(60.325, 146.05, 2000)
    best = minimize_scalar(
        lambda d: np.max(np.abs(errors_by_vectors(d, 239.296 + off, 22.986, radius)) / radius),
        bounds=(215.0, 232.0),
        method="bounded",
        options={"xatol": 1e-6},
    ).x
    on = pinned(head={"kind": "fixed", "base_slides": True})
    answer = told("alignment", *[protractor(off, 0.0)] * 2, on=on)
    assert answer.verdict is Verdict.MOVE
    ((control, _, amount, unit),) = moved(answer)
    assert (control, unit) == (Control.ARM_BASE, "mm")
    assert amount == pytest.approx(best - 222.0, abs=0.05)
    tells(answer, (f"{way} from the spindle" if way == "away" else "toward the spindle",))
    assert f"{other} the spindle" not in everything(answer)


@pytest.mark.parametrize("off", [0.3, -0.3])
def test_a_landing_too_near_to_tell_says_how_well_it_is_known(off: float) -> None:
    # Read to 0.2 mm: 1.96 x 0.2 = 0.39 either way, and more where the pivot is not measured.
    answer = told("alignment", {"way": "landing", "landing_mm": off})
    assert answer.verdict is Verdict.READ_AGAIN
    tells(answer, ("± 0.4",))


# -- tilt


def gaps(left: float, right: float) -> Read:
    return {"way": "gaps", "left_mm": left, "right_mm": right}


@pytest.mark.parametrize(
    ("reading", "this", "other"),
    [(gaps(2.9, 2.0), "left", "right"), (gaps(2.0, 2.9), "right", "left")],
)
def test_the_high_side_of_the_cartridge(reading: Read, this: str, other: str) -> None:
    answer = told("tilt", reading)
    assert f"{this} side is high" in said(answer.picture.summary)
    fixed = told("tilt", reading, on=pinned(tilt={"control": "none"}))
    tells(fixed, (f"{this} side high",), (f"{other} side high", f"{other} side is high"))


@pytest.mark.parametrize(
    ("turned", "this", "other"), [(-2.0, "left", "right"), (-4.5, "right", "left")]
)
def test_which_side_is_expected_high(turned: float, this: str, other: str) -> None:
    # 3.03 degrees, left high.
    person = Person("tilt")
    person.reads(gaps(2.9, 2.0))
    answer = person.moves(MovePart(control=Control.TILT, amount=turned, unit="°"))
    tells(answer, (f"{this} side high",), (f"{other} side high",))


@pytest.mark.parametrize(("left", "right", "louder"), [(3.0, 0.0, "left"), (0.0, 3.0, "right")])
def test_which_channel_is_louder(left: float, right: float, louder: str) -> None:
    read = {
        "way": "test bands",
        "left_band_left_db": left,
        "left_band_right_db": right - 25.0,
        "right_band_right_db": right,
        "right_band_left_db": left - 25.0,
    }
    tells(told("tilt", read), (f"the {louder} channel is louder",))


# -- skating


def bands(setting: float, broke: str) -> Read:
    return {"way": "test bands", "setting": setting, "broke_first": broke}


DIAL = {"control": "dial", "step_gf": 0.1, "highest_gf": 3.0}


@pytest.mark.parametrize(
    ("broke", "this", "other"),
    [("right", "too little", "too much"), ("left", "too much", "too little")],
)
def test_too_little_or_too_much(broke: str, this: str, other: str) -> None:
    # The pull inward presses on the inner wall, the left channel's; the right one lacks pressure
    # where too little is set against it.
    tells(told("skating", bands(1.5, broke), on=pinned(skating=DIAL)), (this,), (other,))


@pytest.mark.parametrize(
    ("settings", "broke", "other"), [((2.0, 3.0), "right", "left"), ((1.0, 0.0), "left", "right")]
)
def test_a_dial_at_its_end(settings: tuple[float, ...], broke: str, other: str) -> None:
    on = pinned(skating=DIAL)
    answer = told("skating", *(bands(setting, broke) for setting in settings), on=on)
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    tells(answer, (f"the {broke} still breaks up first",), (f"the {other} still breaks up first",))


# -- speed


def shows(rpm: float) -> Read:
    return {"way": "readout", "rpm": rpm, "speed_rpm": 33.333333, "minutes_running": 20.0}


@pytest.mark.parametrize(
    ("rpm", "this", "other"),
    [
        (33.43, "fast", "slow"),  # 0.29 %, near the limit
        (33.24, "slow", "fast"),
        (33.38, "fast", "slow"),  # 0.14 %, good
        (33.29, "slow", "fast"),
        (33.9, "fast", "slow"),
        (32.8, "slow", "fast"),
    ],
)
@pytest.mark.parametrize("trim", ["screw", "electronic", "none"])
def test_fast_or_slow(trim: str, rpm: float, this: str, other: str) -> None:
    gains = {
        "screw": {"rpm_per_turn": 0.4},
        "electronic": {"rpm_per_turn": None, "rpm_per_step": 0.05},
    }
    platter = {"speeds_rpm": (33.333333,), "trim": trim, **gains.get(trim, {"rpm_per_turn": None})}
    answer = told("speed", shows(rpm), on=pinned(platter=platter))
    tells(answer, (f"runs {abs(rpm / 33.333333 - 1.0) * 100.0:.2f} % {this}",), (f"% {other}.",))


def test_a_screw_that_slows_against_what_is_stated_is_asked_about_then_turned_the_other_way() -> (
    None
):
    # 1 % slow; turned clockwise as ordered it is 2 % slow. Which way was it turned? As entered:
    # then clockwise slows, and the other way is right.
    person = Person("speed", pinned(platter={"speeds_rpm": (33.333333,)}))
    answer = person.reads(shows(33.0))
    ((_, _, turns, _),) = moved(answer)
    person.obeys()
    answer = person.reads(shows(round(33.0 - 0.4 * turns, 2)))
    assert not moved(answer)
    assert any("Which way" in said(one.text) for one in answer.questions)
    assert answer.next_reading is not None
    checked = {"way": answer.next_reading.way, **answer.next_reading.values}
    answer = person.reads(checked)
    ((_, _, other_turns, _),) = moved(answer)
    assert turns > 0.0 > other_turns
    tells(answer, ("turns anticlockwise", "clockwise slows this deck down"))


# -- all of them


@pytest.mark.parametrize("step", STEP_NAMES)
def test_nothing_read_is_nothing_told(step: str) -> None:
    answer = told(step)
    assert answer.verdict is Verdict.NO_READING
    assert not moved(answer)
    assert answer.next_reading is not None


DRAWN: list[tuple[str, list[Read]]] = [
    ("level", [bubble("front-back", 3.0), bubble("left-right", -2.0)]),
    ("rough_downforce", [scale(2.6)]),
    ("arm_height", [tube(24.0, 27.0)]),
    ("arm_height", [tube(27.0, 24.0)]),
    ("alignment", [protractor(2.0, 1.0)]),
    ("tilt", [gaps(2.9, 2.0)]),
    ("final_downforce", [scale(2.3)] * 3),
    ("speed", [shows(33.0)]),
]


@pytest.mark.parametrize(("step", "readings"), DRAWN)
def test_what_is_drawn_lies_within_the_picture(step: str, readings: list[Read]) -> None:
    on = pinned(platter={"speeds_rpm": (33.333333,)})
    picture = told(step, *readings, on=on).picture
    shown = [
        item
        for item in picture.items
        if isinstance(item, Points | Shape | Curve)
        and item.role in (MarkRole.NOW, MarkRole.PREDICTED)
    ]
    assert shown
    for item in shown:
        for axis, places in ((picture.x, item.x), (picture.y, item.y)):
            inside = places[np.isfinite(places)]
            assert axis.low <= inside.min(), axis.label
            assert inside.max() <= axis.high, axis.label
