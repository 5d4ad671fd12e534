"""Skating's figures, worked by hand: what is set, what it answers, how near is near enough.

Derived. The mean pull on the example's arm at 2.00 gf and friction 0.3 is 0.2325 gf, drawn in
``test_told_skating``; friction of practice is 0.2 to 0.5. Whatever answers is told as the downforce
whose pull it balances: 0.11625 gf for each.
"""

from __future__ import annotations

import math

import pytest

from core.fitting import Assessment, Verdict
from core.records import Deck
from core.steps.skating.force import settings_of, side_force_of
from core.steps.skating.judge import _SkatingJudge
from core.steps.skating.readings import skating_state_of
from tests.kit import context, figure_of
from tests.outside.test_told_skating import bands, dial, notches, stands_at
from tests.outside.told import Person, moved, pinned, said, told

PULL = 0.2325
PER_GF = PULL / 2.0


def figure(answer: Assessment, key: str) -> tuple[float, float | None, float | None, float | None]:
    one = figure_of(answer, key)
    return one.value, one.half_width, one.target, one.tolerance


@pytest.mark.parametrize("setting", [0.0, 1.5, 2.0, 2.75])
def test_a_dial_s_figures(setting: float) -> None:
    answer = told("skating", stands_at(setting), on=dial())
    # Marks of 0.25: half of one is 0.125, a tenth of 2.00 gf is more.
    assert figure(answer, "setting") == pytest.approx((setting, None, 2.0, 0.2), abs=1e-6)
    assert figure(answer, "set_for")[0] == pytest.approx(2.0)
    assert figure(answer, "compensation")[0] == pytest.approx(setting * PER_GF, abs=2e-4)
    pull = figure(answer, "side_force")
    # 0.2 and 0.5 for 0.3: 0.155 to 0.3875, half of it 0.11625.
    assert pull[:2] == pytest.approx((PULL, 0.11625), abs=2e-4)
    assert answer.figure("notch") is None


@pytest.mark.parametrize(
    ("step", "setting", "near"),
    [
        (0.05, 1.85, True),  # 0.15 off, 0.2 allowed
        (0.05, 2.15, True),
        (0.05, 1.75, False),
        (0.05, 2.25, False),
        (0.5, 1.5, False),  # 0.25 allowed
        (1.0, 1.0, False),  # 0.5 allowed, one mark is 1
    ],
)
def test_a_dial_near_its_mark_is_left(step: float, setting: float, near: bool) -> None:
    answer = told("skating", stands_at(setting), on=dial(step))
    assert (answer.verdict is Verdict.GOOD) is near
    assert figure(answer, "setting")[3] == pytest.approx(max(0.5 * step, 0.2))


def test_a_weight_on_a_thread_is_told_as_the_downforce_it_answers() -> None:
    # 4 g on 8, 11 and 14 mm: 32, 44, 56 g mm over 239.296 mm are 0.1337, 0.1839, 0.2340 gf,
    # which answer 1.150, 1.582, 2.013 gf; none hangs at 0.
    on = pinned(skating=notches(8.0, 11.0, 14.0, weight_g=4.0))
    answers = {0: 0.0, 1: 1.150, 2: 1.582, 3: 2.013}
    for notch, answered in answers.items():
        told_of = told("skating", stands_at(notch), on=on)
        value, _, target, tolerance = figure(told_of, "setting")
        assert value == pytest.approx(answered, abs=2e-3)
        assert target == pytest.approx(2.013, abs=2e-3)
        # Half of the widest way to a neighbour of the third: 0.431 / 2; a tenth is 0.2.
        assert tolerance == pytest.approx(0.2157, abs=2e-3)
        assert figure(told_of, "notch")[0] == notch
        assert figure(told_of, "compensation")[0] == pytest.approx(answered * PER_GF, abs=2e-4)
    words = said(*told("skating", stands_at(3), on=on).notes)
    # Least friction pulls by 0.155: between 0.1337 and 0.1839, nearer the first; most by 0.39.
    assert "notch 1" in words
    assert "notch 3" in words


@pytest.mark.parametrize(
    ("readings", "key"),
    [
        ([("right", 1.5)], "skating.note.too_little"),
        ([("left", 2.5)], "skating.note.too_much"),
        ([("right", 1.0), ("left", 2.75)], "skating.note.between"),
    ],
)
def test_what_was_heard_stands_beside_the_order(
    readings: list[tuple[str, float]], key: str
) -> None:
    person = Person("skating", dial())
    for broke, setting in readings:
        answer = person.reads(bands(setting, broke))
    (note,) = [one for one in answer.notes if one.key.startswith("skating.note.")]
    assert note.key == key
    said_of = [getattr(value, "value", None) for value in note.values.values()]
    assert said_of == [setting for _, setting in readings]


def test_a_dial_that_gives_too_much_at_nothing_is_left_off() -> None:
    person = Person("skating", dial())
    person.reads(bands(1.0, "left"))
    answer = person.reads(bands(0.0, "left"))
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert answer.headline.values["side"] == "left"
    person = Person("skating", dial())
    person.reads(bands(2.0, "right"))
    assert person.reads(bands(3.0, "right")).headline.values["side"] == "right"


def test_what_the_ear_left_open_is_told_twice_alike() -> None:
    """Between which marks in words, and half of that beside the figure, in the same downforce."""
    person = Person("skating", dial(0.1))
    for setting, broke in ((1.4, "right"), (2.6, "left"), (2.0, "together")):
        answer = person.reads(bands(setting, broke))
    (note,) = [one for one in answer.notes if one.key == "skating.note.by_ear_between"]
    low, high = (note.values[end].value for end in ("low", "high"))  # type: ignore[union-attr] # a dial's
    assert 1.4 < low < 2.0 < high < 2.6
    half = figure(answer, "setting")[1]
    assert half == pytest.approx(0.5 * (high - low), rel=0.03)


def judge_on(on: Deck) -> _SkatingJudge:
    seen = context("skating", on=on)
    force = side_force_of(seen)
    assert force is not None
    settings = settings_of(on, force)
    assert settings is not None
    return _SkatingJudge(seen, force, settings, skating_state_of(seen, settings))


def test_a_dial_on_an_arm_that_hardly_pulls_does_what_dials_usually_do() -> None:
    """The usual arm: friction 0.3 at 23 degrees of offset, 0.3 x sin 23° = 0.117 of a downforce.

    A straight arm as long as its pivot's distance pulls by r / 2 L alone, 0.3 x 0.23 of it.
    """
    usual = [0.3 * math.sin(math.radians(23.0)) * 0.25 * mark for mark in range(13)]
    straight = {"kind": "pivoted straight", "offset_deg": 0.0}
    kit = {"control": "dial", "step_gf": 0.25, "highest_gf": 3.0}
    # 7 mm short of the spindle: its pull changes sign, and next to nothing is left of the mean.
    hardly = judge_on(pinned(arm={**straight, "effective_length_mm": 197.0}, skating=kit))
    assert abs(hardly.force.mean.middle_gf) < 0.02
    assert hardly._forces() == pytest.approx(usual, abs=1e-3)
    pulls = judge_on(pinned(arm={**straight, "effective_length_mm": 222.0}, skating=kit))
    mean = 0.3 * 2.0 * (60.325 + 146.05) / 2.0 / (2.0 * 222.0)  # of r / 2 L over the grooves
    assert pulls.force.mean.middle_gf == pytest.approx(mean, abs=1e-4)
    assert pulls._forces() == pytest.approx([mean / 2.0 * 0.25 * mark for mark in range(13)])
    weights = judge_on(
        pinned(arm={**straight, "effective_length_mm": 197.0}, skating=notches(8.0, 11.0))
    )
    assert weights._forces() == pytest.approx([0.0, 3.0 * 8.0 / 197.0, 3.0 * 11.0 / 197.0])


@pytest.mark.parametrize(("step", "share"), [(0.05, 0.15 * PULL), (1.0, PER_GF)])
def test_near_enough_by_ear_is_a_mark_or_what_the_pull_itself_covers(
    step: float, share: float
) -> None:
    # In decibels between the walls: 20 lg((2 + s) / (2 - s)).
    expected = 20.0 * math.log10((2.0 + share) / (2.0 - share))
    assert judge_on(dial(step))._near_enough_db() == pytest.approx(expected, rel=2e-3)


def test_moves_of_a_thread_weight_are_told_by_the_notch() -> None:
    on = pinned(skating=notches(8.0, 11.0, 14.0, weight_g=3.0))
    answer = told("skating", stands_at(1), on=on)
    ((_, _, amount, unit),) = moved(answer)
    assert (amount, unit) == (2.0, "")
    lighter = pinned(skating=notches(8.0, 11.0, 14.0, weight_g=20.0))
    answer = told("skating", stands_at(2), on=lighter)  # even the first pulls three times as much
    assert answer.headline.key == "skating.take_off"
    assert moved(answer)[0][2] == -2.0


@pytest.mark.parametrize(
    ("highest", "wanted"),
    [(3.0, 2.0), (2.25, 2.0), (2.0, 2.0), (1.75, 1.75), (1.0, 1.0)],
)
def test_a_dial_that_ends_at_the_downforce_or_before_goes_to_its_end(
    highest: float, wanted: float
) -> None:
    on = pinned(skating={"control": "dial", "step_gf": 0.25, "highest_gf": highest})
    answer = told("skating", stands_at(0.5), on=on)
    ((_, _, amount, _),) = moved(answer)
    assert 0.5 + amount == pytest.approx(wanted)
    assert figure(answer, "setting")[2] == pytest.approx(wanted)
    # A tenth of 2.00 gf is as exact as the rule is (our own allowance): 1.75 is beyond that.
    verdict = Verdict.GOOD if wanted == 2.0 else Verdict.LEFT_AS_FOUND
    assert told("skating", stands_at(wanted), on=on).verdict is verdict


@pytest.mark.parametrize(
    ("on", "label", "sure"),
    [
        (dial(), "Skating setting", "if the dial's marks are right"),
        (pinned(skating=notches(8.0, 11.0, 14.0)), "Downforce that the notch answers", ""),
    ],
)
def test_what_a_dial_makes_is_as_sure_as_its_marks(on: Deck, label: str, sure: str) -> None:
    """A weight on a thread has moments; what a mark makes is the maker's word."""
    answer = told("skating", stands_at(1), on=on)
    assert said(figure_of(answer, "compensation").note) == sure
    assert said(figure_of(answer, "setting").label) == label


def test_a_notch_at_which_the_left_breaks_up_first_is_not_the_middle() -> None:
    """4 g on 8 to 17 mm: four notches 0.43 dB apart, the first 1.16 dB from off.

    Right first in notch 1 and left first in notch 4: what is right hangs in notch 2 or 3.
    """
    person = Person("skating", pinned(skating=notches(8.0, 11.0, 14.0, 17.0, weight_g=4.0)))
    person.reads(bands(1.0, "right"))
    answer = person.reads(bands(4.0, "left"))
    assert answer.verdict is Verdict.MOVE
    ((_, _, amount, _),) = moved(answer)
    assert 4.0 + amount in (2.0, 3.0)
    for _ in range(2):
        answer = person.reads(bands(2.0, "together"), bands(3.0, "together"))
    assert answer.verdict is Verdict.GOOD
    (note,) = [one for one in answer.notes if one.key == "skating.note.by_ear_between"]
    assert "notch 2 and notch 3" in said(note)
