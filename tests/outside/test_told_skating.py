"""Skating, from the setting and the test bands to what is told.

The record drags the stylus along the groove; the arm holds it by a line that misses the groove's,
so that what is left over pulls toward the spindle and presses on the inner wall, which carries the
left channel. The right one, on the outer wall, breaks up first where the compensation is too little
(45/45 geometry; derived).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from core.drawing.chart import Tag
from core.fitting import Assessment, Control, MovePart, ReadingTaken, Verdict
from core.records import Deck
from tests.examples import cartridge
from tests.outside.told import Person, moved, orders, pinned, said, says, told
from tests.worked import Read


def stands_at(setting: float) -> Read:
    return {"way": "setting", "setting": setting}


def bands(setting: float, broke: str) -> Read:
    return {"way": "test bands", "setting": setting, "broke_first": broke}


def dial(step_gf: float = 0.25, highest_gf: float = 3.0) -> Deck:
    return pinned(skating={"control": "dial", "step_gf": step_gf, "highest_gf": highest_gf})


def more_told(answer: Assessment) -> float:
    ((control, _, amount, _),) = moved(answer)
    assert control is Control.SKATING
    assert answer.next_move is not None
    words = said(answer.next_move.sentence, answer.next_move.reason).lower()
    assert ("more" in words, "less" in words) == (amount > 0.0, amount < 0.0), words
    return amount


@pytest.mark.parametrize(("setting", "more"), [(1.0, 1.0), (0.0, 2.0), (2.75, -0.75), (3.0, -1.0)])
def test_a_dial_goes_to_the_mark_of_the_downforce(setting: float, more: float) -> None:
    # Common practice: dials are marked in downforce, and 2.00 gf are wanted.
    answer = told("skating", stands_at(setting), on=dial())
    assert answer.verdict is Verdict.MOVE
    assert moved(answer) == orders((Control.SKATING, "", more, "gf"), within=1e-6)
    assert more_told(answer) == pytest.approx(more)
    says(answer, f"from {setting:.2f}" if setting else "to 2.00")


def test_a_dial_at_the_mark_is_good_as_far_as_the_rule_goes() -> None:
    # Friction is 0.3 as a rule, in practice 0.2 to 0.5: 2 x 0.2 / 0.3 = 1.33, 2 x 0.5 / 0.3 = 3.33.
    answer = told("skating", stands_at(2.0), on=dial(highest_gf=4.0))
    assert answer.verdict is Verdict.GOOD
    notes = said(*answer.notes)
    assert "1.33" in notes
    assert "3.33" in notes


def test_a_dial_that_ends_below_the_downforce_is_no_good_setting() -> None:
    # Common practice: the mark equals the downforce, and 4.00 gf are beyond the last one. Friction
    # of 0.2 to 0.5 for 0.3: 4 x 0.2 / 0.3 = 2.67, 4 x 0.5 / 0.3 = 6.67, whatever the dial has.
    heavy = cartridge(downforce_min_gf=3.5, downforce_max_gf=4.5)
    answer = told("skating", stands_at(3.0), on=dial(), fitted=heavy)
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert "where the dial ends: by rule it would be 4.00" in said(answer.headline)
    figure = next(one for one in answer.figures if one.key == "setting")
    assert figure.target == pytest.approx(4.0)
    notes = said(*answer.notes)
    assert "2.67" in notes
    assert "6.67" in notes


def test_a_dial_that_ends_a_little_below_the_downforce_is_as_good_as_the_rule() -> None:
    # 3.00 for 3.20: within a tenth of the downforce, as exact as the rule is (our own allowance).
    heavy = cartridge(downforce_min_gf=2.8, downforce_max_gf=3.6)
    answer = told("skating", stands_at(3.0), on=dial(), fitted=heavy)
    assert answer.verdict is Verdict.GOOD


@pytest.mark.parametrize(
    ("broke", "sign"),
    [("right", 1.0), ("left", -1.0)],
)
@pytest.mark.parametrize("setting", [1.0, 2.0])
def test_the_side_that_breaks_first_says_which_way(broke: str, sign: float, setting: float) -> None:
    answer = told("skating", bands(setting, broke), on=dial())
    assert answer.verdict is Verdict.MOVE
    assert math.copysign(1.0, more_told(answer)) == sign
    assert 0.0 <= setting + more_told(answer) <= 3.0


@pytest.mark.parametrize(
    ("setting", "broke", "then"),
    [
        (0.0, "right", 2.0),
        (0.0, "together", 2.0),
        (2.0, "left", 1.0),
        (3.0, "left", 1.0),
        (3.0, "together", 1.0),
    ],
)
def test_of_a_few_marks_those_between_the_ends_are_tried_too(
    setting: float, broke: str, then: float
) -> None:
    # Four marks, of which the usual friction makes 1.33 to 3.33 right for 2 gf (practice): neither
    # off nor the far end is the likeliest to tell something, if a mark between is open.
    answer = told("skating", bands(setting, broke), on=dial(1.0, 3.0))
    assert answer.verdict is Verdict.MOVE
    assert setting + more_told(answer) == pytest.approx(then)


def test_between_too_little_and_too_much_the_next_lies_inside() -> None:
    # Right first at 1.50 and left first at 2.50: what is right lies between.
    person = Person("skating", dial(0.1))
    person.reads(bands(1.5, "right"))
    answer = person.reads(bands(2.5, "left"))
    if answer.verdict is Verdict.MOVE:
        assert 1.5 < 2.5 + more_told(answer) < 2.5
    else:
        assert answer.verdict in (Verdict.GOOD, Verdict.READ_AGAIN)


def test_a_dial_that_gives_too_little_at_its_end_is_left_there() -> None:
    person = Person("skating", dial())
    person.reads(bands(2.0, "right"))
    answer = person.reads(bands(3.0, "right"))
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert not moved(answer)


def test_a_mark_the_dial_has_not_got_orders_nothing() -> None:
    answer = told("skating", stands_at(4.0), on=dial())
    assert answer.verdict is Verdict.READ_AGAIN
    assert not moved(answer)


def notches(*levers_mm: float, weight_g: float = 3.0) -> dict[str, Any]:
    return {
        "control": "thread weight",
        "thread_weight_g": weight_g,
        "notch_levers_mm": levers_mm,
    }


def mean_pull_gf(downforce_gf: float, friction: float = 0.3) -> float:
    """Side pull at the stylus, drawn: drag along the groove less its part along the arm."""
    length, pivot = 239.296, np.array([0.0, 222.0])
    pulls = []
    for radius in np.linspace(60.325, 146.05, 60):
        # The stylus lies where a compass set to the arm crosses the groove: turned until it fits.
        angles = np.linspace(0.0, math.pi, 20001)
        ring = radius * np.column_stack((np.sin(angles), np.cos(angles)))
        stylus = ring[np.argmin(np.abs(np.hypot(*(ring - pivot).T) - length))]
        along_groove = np.array([stylus[1], -stylus[0]]) / radius
        arm = (pivot - stylus) / np.linalg.norm(pivot - stylus)
        drag = friction * downforce_gf * along_groove
        pulls.append(float(np.linalg.norm(drag - (drag @ arm) * arm)))
    return float(np.mean(pulls))


@pytest.mark.parametrize(("weight_g", "notch"), [(3.0, 3), (4.0, 3), (5.0, 2), (7.0, 1)])
def test_a_weight_hangs_where_its_moment_is_nearest(weight_g: float, notch: int) -> None:
    # 0.2325 gf at 239.296 mm are 55.65 g mm. 3 g on 8, 11, 14 mm: 24, 33, 42. 4 g: 32, 44, 56.
    # 5 g: 40, 55, 70. 7 g: 56, 77, 98.
    pull = mean_pull_gf(2.0)
    assert pull * 239.296 == pytest.approx(55.65, abs=0.1)
    moments = [weight_g * lever for lever in (8.0, 11.0, 14.0)]
    assert min(range(3), key=lambda i: abs(moments[i] - pull * 239.296)) == notch - 1
    on = pinned(skating=notches(8.0, 11.0, 14.0, weight_g=weight_g))
    answer = told("skating", stands_at(0.0), on=on)
    assert answer.verdict is Verdict.MOVE
    assert moved(answer) == orders((Control.SKATING, "", float(notch), ""), within=1e-9)
    assert f"notch {notch}" in said(answer.headline)
    assert told("skating", stands_at(notch), on=on).verdict is Verdict.GOOD


@pytest.mark.parametrize(
    "on",
    [
        pinned(skating={"control": "none"}),
        pinned(skating={"control": "fluid"}),
        pinned(
            arm={
                "kind": "parallel tracking",
                "pivot_to_spindle_mm": None,
                "effective_length_mm": 170.0,
                "offset_deg": 0.0,
            }
        ),
    ],
)
def test_what_has_nothing_to_set_says_so(on: Deck) -> None:
    answer = told("skating", on=on)
    assert answer.verdict is Verdict.NOTHING_TO_SET
    assert not moved(answer)
    assert said(answer.headline)


def test_an_underhung_arm_begins_without_compensation() -> None:
    # A straight arm 10 mm short of the spindle: its line passes the groove's tangent on one side
    # outside sqrt(222^2 - 212^2) = 65.9 mm and on the other inside; what helps here harms there.
    on = pinned(
        arm={"kind": "pivoted straight", "effective_length_mm": 212.0, "offset_deg": 0.0},
        skating={"control": "dial", "step_gf": 0.25, "highest_gf": 3.0},
    )
    answer = told("skating", stands_at(1.0), on=on)
    assert answer.verdict is Verdict.MOVE
    assert moved(answer) == orders((Control.SKATING, "", -1.0, "gf"), within=1e-9)


def test_a_stylus_that_reaches_the_grooves_is_not_drawn_out_of_reach() -> None:
    picture = told("skating", stands_at(2.0), on=dial()).picture
    assert not [item for item in picture.items if isinstance(item, Tag)]


def test_the_bands_count_for_the_downforce_that_was_left_not_for_those_before() -> None:
    # 2.00 gf, then 100 g slid by 1.436 mm at 239.3 mm, 0.60 gf, more, and as much less again: the
    # bands were heard at 2.00, not at the mean of the three weighings, 2.20.
    person = Person("skating", dial())
    for turns, shown in ((1.436, 2.6), (-1.436, 2.0)):
        part = MovePart(control=Control.COUNTERWEIGHT, amount=turns, unit="turns")
        person.moves(part, step="rough_downforce")
        weighed = {"way": "scale", "downforce_gf": shown}
        person.keep(ReadingTaken(step="rough_downforce", reading=weighed))
    figure = person.reads(bands(2.0, "right")).figure("set_for")
    assert figure is not None
    assert figure.value == pytest.approx(2.0)
    assert "as the bands were heard" in said(figure.note)


def test_no_setting_is_named_that_the_dial_does_not_have() -> None:
    # This dial ends at 3; friction alone would let 3.33 be right for 2 gf.
    notes = said(*told("skating", stands_at(2.9), on=dial()).notes).replace("\u00a0", " ")
    assert "from 1.33 to 3.00 gf" in notes


@pytest.mark.parametrize(
    ("setting", "can_tell"), [(1.0, True), (1.3, True), (1.4, False), (2.9, False), (3.4, True)]
)
def test_the_rule_says_of_which_settings_it_can_not_tell(setting: float, can_tell: bool) -> None:
    # Friction 0.2 to 0.5 (practice) puts the balance of 2 gf anywhere from 2 x 0.2 / 0.3 = 1.33 to
    # 3.33. The mark 2.00 is likelier and is ordered; who found 2.9 by ear is not to lose it.
    answer = told("skating", stands_at(setting), on=dial(0.1, 4.0))
    assert moved(answer) == orders((Control.SKATING, "", 2.0 - setting, "gf"), within=1e-6)
    told_so = f"leave {setting:.2f}" in said(*answer.notes).lower().replace("\u00a0", " ")
    assert told_so is not can_tell


@pytest.mark.parametrize(("notch", "can_tell"), [(0, True), (1, True), (2, False), (4, True)])
def test_a_notch_that_friction_alone_may_explain_is_not_called_wrong(
    notch: int, can_tell: bool
) -> None:
    # 55.65 g mm is the mean pull at friction 0.3 (drawn, above): 37.1 at 0.2, 92.8 at 0.5. 3 g on
    # 8, 14, 18, 40 mm are 24, 42, 54 and 120.
    on = pinned(skating=notches(8.0, 14.0, 18.0, 40.0))
    answer = told("skating", stands_at(notch), on=on)
    assert answer.verdict is Verdict.MOVE
    assert ("is likelier, but the rule" in said(*answer.notes)) is not can_tell


# --- what was heard at another downforce ----------------------------------------------------


def moves_to(person: Person, turns: float, shown_gf: float) -> None:
    """The counterweight is turned at the last weighing's step, and the stylus weighed again."""
    part = MovePart(control=Control.COUNTERWEIGHT, amount=turns, unit="turns")
    person.moves(part, step="rough_downforce")
    weighed = {"way": "scale", "downforce_gf": shown_gf}
    person.keep(ReadingTaken(step="rough_downforce", reading=weighed))


def after_a_change(first: tuple[Read, ...], then: Read, on: Deck) -> Assessment:
    person = Person("skating", on, fitted=cartridge(downforce_max_gf=3.0))
    if first:
        person.reads(*first)
    moves_to(person, 1.436, 2.6)  # 0.4179 gf a turn (statics): 2.00 gf become 2.60
    return person.reads(then)


@pytest.mark.parametrize("broke", ["left", "right"])
def test_one_side_heard_before_the_downforce_was_changed_tells_nothing_after_it(broke: str) -> None:
    # Too little at 2.00 gf may be too much at 2.60: nothing is to be said from one side alone.
    on = dial(0.1)
    alone = after_a_change((), bands(2.0, broke), on)
    after = after_a_change((bands(1.0, "right"),), bands(2.0, broke), on)
    assert after.verdict is alone.verdict is Verdict.MOVE
    assert moved(after) == moved(alone)


@pytest.mark.parametrize("on", [pinned(skating=notches(8.0, 11.0, 14.0))])
def test_the_notch_that_was_heard_at_another_downforce_is_not_reckoned_up(on: Deck) -> None:
    # Notches are counted, not measured: a third more downforce is no third of a notch.
    alone = after_a_change((), bands(1.0, "right"), on)
    after = after_a_change((bands(1.0, "together"),), bands(1.0, "right"), on)
    assert after.verdict is alone.verdict
    assert moved(after) == moved(alone)
    assert said(*after.notes) == said(*alone.notes)


@pytest.mark.parametrize(
    ("first", "nearest"),
    [
        ((bands(1.5, "together"),), 1.95),
        ((bands(1.0, "right"), bands(2.0, "left")), 1.95),
        ((bands(1.4, "together"), bands(1.6, "together")), 1.95),
    ],
)
def test_what_balanced_at_one_downforce_is_looked_for_in_proportion_at_another(
    first: tuple[Read, ...], nearest: float
) -> None:
    # The side force grows with the downforce (statics): 1.50 at 2.00 gf is 1.95 at 2.60, and not
    # 1.15. Right first at 1.4 says more; the next setting lies about there, not at the mark 2.60.
    answer = after_a_change(first, bands(1.4, "right"), dial(0.05))
    assert answer.verdict is Verdict.MOVE
    assert 1.4 + more_told(answer) == pytest.approx(nearest, abs=0.2)
