"""An arm that floats shows nothing on the scale: it is still brought down, and gently."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.drawing.chart import MarkRole, Points
from core.estimation import ControlModel, ControlState, ControlVerdict
from core.fitting import Verdict
from core.steps import rough_downforce, step_named
from core.steps.downforce import (
    Checked,
    CheckWeight,
    Place,
    Places,
    Shifted,
    Unsettled,
    Weighing,
    between,
    next_in_vain,
    places_of,
)
from core.steps.downforce.move import _while_floating
from tests.core.steps.downforce.kit import LOOKED, Arm, counterweight, weighing
from tests.examples import cartridge, deck
from tests.worded import worded

STEP = "rough_downforce"


def tried(count: int, step: float = 1.0, room: float = 9.0) -> list[float]:
    """Return the places gone to when the scale never shows anything and all is looked at."""
    vain: list[tuple[float, int]] = []
    while len(vain) < count:
        move = next_in_vain(vain, step, room)
        if move is None:
            vain[-1] = (vain[-1][0], vain[-1][1] + 1)
        else:
            vain.append((move, 0))
    return [float(place) for place in np.cumsum([amount for amount, _ in vain])]


def test_no_try_goes_more_than_one_step_beyond_what_was_tried() -> None:
    been = [0.0]
    for place in tried(9):
        assert min(been) - 1.0 <= place <= max(been) + 1.0
        been.append(place)


def test_the_side_it_should_be_is_tried_first_and_the_other_by_a_third() -> None:
    assert tried(7) == pytest.approx([1.0, 2.0, 3.0, -0.35, -1.35, -2.35, 4.0])
    assert tried(5, -1.0) == pytest.approx([-1.0, -2.0, -3.0, 0.35, 1.35])


def test_the_questions_come_after_the_first_try_and_after_every_two_more() -> None:
    assert next_in_vain([(1.0, 0)], 1.0, 9.0) is None
    assert next_in_vain([(1.0, 1)], 1.0, 9.0) == 1.0
    assert next_in_vain([(1.0, 1), (1.0, 0)], 1.0, 9.0) is not None
    assert next_in_vain([(1.0, 1), (1.0, 0), (1.0, 0)], 1.0, 9.0) is None


@pytest.mark.parametrize("room", [0.25, 1.5, 2.5])
def test_no_try_is_further_than_the_room_from_where_it_floated_first(room: float) -> None:
    assert max(map(abs, tried(4, room=room)[1:])) <= room + 1e-9
    assert next_in_vain([(1.0, 1)], 1.0, 0.25) == pytest.approx(0.25 - 1.0)  # back within it


@given(st.floats(0.1, 6.0), st.floats(0.1, 12.0), st.floats(-8.0, 8.0), st.floats(0.0, 9.0))
def test_between_two_places_it_never_presses_past_the_limit(
    apart: float, bears_gf: float, at: float, depth_gf: float
) -> None:
    place = between(Place(at, None), Place(at + apart, bears_gf), 2.0, 3.3)
    assert at < place < at + apart
    # the line from what it truly is where it floats to what was weighed (derived)
    there = -depth_gf + (bears_gf + depth_gf) * (place - at) / apart
    assert there <= 3.3


@given(st.floats(0.1, 6.0), st.floats(0.1, 12.0), st.floats(1.0, 6.0), st.sampled_from([1.0, -1.0]))
def test_a_way_lost_in_slack_or_at_an_end_is_no_licence_for_the_way_back(
    apart: float, bears_gf: float, steeper: float, way: float
) -> None:
    """At the end of its travel it bears 0, and does more for a unit than it seemed."""
    gain = steeper * bears_gf / apart
    place = between(Place(0.0, None), Place(way * apart, bears_gf), 2.0, 3.3, gain)
    assert 0.0 < way * place < apart
    assert way * place * gain <= 3.3


@pytest.mark.parametrize("share", [1.2, 1.45, 1.7])
@pytest.mark.parametrize("start_gf", [3.6, 4.4, 6.0])
def test_a_dial_that_came_to_its_end_is_not_turned_back_past_the_limit(
    start_gf: float, share: float
) -> None:
    """Below its 0 a dial turns no further, however much was ordered."""
    a_deck = deck(arm={"balance": "dynamic"})
    shown = (start_gf, counterweight(-start_gf + 1.0, "gf"), 0.0)
    said = step_named(STEP).assess(weighing(STEP, a_deck, cartridge(), *shown))
    assert said.next_move is not None
    (back,) = said.next_move.parts
    assert 0.0 < back.amount * share <= 3.3


def turns(amount: float) -> Shifted:
    return Shifted(STEP, amount, "turns", None)


def places(*events: Shifted | Weighing | Unsettled | Checked) -> Places:
    return places_of(
        events, lambda event: event.amount, lambda shown: shown, lambda shown: shown <= 0.02, 0.4
    )


def test_moves_count_as_made_in_vain_until_the_scale_bears_something() -> None:
    floats, bears = Weighing(STEP, 0.0, None), Weighing(STEP, 0.8, None)
    assert places().vain == ()
    assert places(floats, turns(1.0), floats, turns(2.0), floats).vain == ((1.0, 0), (2.0, 0))
    assert places(turns(1.0), bears, turns(2.0), floats).vain == ((2.0, 0),)
    assert places(floats, turns(1.0), floats, Checked(STEP)).vain == ((1.0, 1),)


def test_a_move_from_a_place_that_was_never_weighed_is_not_in_vain() -> None:
    floats = Weighing(STEP, 0.0, None)
    assert places(turns(1.0), floats, turns(2.0), floats).vain == ((2.0, 0),)
    assert places(floats, turns(1.0), Unsettled(STEP), turns(2.0)).vain == ()


def test_places_of_a_weight_that_was_locked_are_forgotten() -> None:
    bears = Weighing(STEP, 0.8, None)
    known = places(bears, turns(3.0), bears, Checked(STEP)).known
    assert known == (Place(3.0, 0.8),)


def test_where_it_floats_and_where_it_bears_tell_the_direction() -> None:
    floats, bears = Weighing(STEP, 0.0, None), Weighing(STEP, 0.8, None)
    assert places(bears, turns(1.0), floats).slope == pytest.approx(-0.8)
    assert places(floats, turns(2.0), bears).slope == pytest.approx(0.4)


@pytest.mark.parametrize("start_gf", [-0.2, -0.8, -1.5])
@pytest.mark.parametrize("lie", [1.0, 0.5, 1.8, -1.0, -0.6])
def test_a_floating_arm_is_brought_down_whichever_way_its_control_goes(
    start_gf: float, lie: float
) -> None:
    a_deck, a_cartridge = deck(), cartridge()
    for seed in range(5):
        bench = Arm(start_gf, 0.4179 * lie, np.random.default_rng(seed))
        for _ in range(25):
            answer = bench.judged(STEP, a_deck, a_cartridge)
            if answer.verdict is Verdict.GOOD:
                break
            if answer.next_move is not None:
                bench.obey(answer.next_move)
            bench.weigh()
        assert answer.verdict is Verdict.GOOD, (start_gf, lie, seed)
        assert bench.highest_raised_to_gf <= 3.3


@pytest.mark.parametrize("step", ["rough_downforce", "final_downforce"])
@pytest.mark.parametrize("empty_gf", [-0.3, 0.3])
def test_an_arm_that_may_float_is_not_taken_for_one_that_was_weighed(
    empty_gf: float, step: str
) -> None:
    pan = CheckWeight(weight_g=0, shown_gf=empty_gf)
    weight = CheckWeight(weight_g=2, shown_gf=2 + empty_gf)
    shown_gf = max(empty_gf, 0.0)
    things = (pan, weight, shown_gf)
    assessment = worded(step_named(step).assess(weighing(step, deck(), cartridge(), *things)))
    assert assessment.next_move is not None
    assert any("floats" in note for note in assessment.notes)
    (foretold,) = [
        item
        for item in assessment.picture.items
        if isinstance(item, Points) and item.role is MarkRole.PREDICTED
    ]
    # 100 g at 239.296 mm (derived) is 0.4179 gf for a turn; from what it may bear at most
    (part,) = assessment.next_move.parts
    bears = max(-empty_gf, 0.0)
    assert float(foretold.y[0]) == pytest.approx(bears + 0.4179 * part.amount, abs=0.02)
    assert float(foretold.y[0]) <= 2.1


def test_an_arm_that_bears_again_after_it_floated_is_no_control_that_does_not_answer() -> None:
    """Its thread turns the other way round, as the person said when asked."""
    arm = {"effective_length_mm": 303.2, "offset_deg": 18.4, "pivot_to_spindle_mm": 289.9}
    arm |= {"counterweight_g": 139.0, "counterweight_mm_per_turn": 1.16}
    things = (0.14, counterweight(2.88), 0.0, LOOKED, counterweight(-1.44), 0.0, LOOKED)
    seen = (*things, counterweight(-2.3144), 0.39, LOOKED)
    known = deck(arm=arm, bench={"scale_read_gf": 0.005})
    said = step_named(STEP).assess(weighing(STEP, known, cartridge(), *seen))
    assert said.verdict is Verdict.MOVE
    assert said.next_move is not None
    assert -3.0 < said.next_move.parts[0].amount < 0.0


def test_an_arm_that_floats_on_is_said_to_and_its_head_is_to_be_watched() -> None:
    """Only from the second move on that brought it nothing; one alone shows no more than that."""

    def notes(*things: object) -> list[str]:
        context = weighing(rough_downforce.NAME, deck(), cartridge(), *things)
        return [note.key for note in rough_downforce.assess(context).notes]

    further = ["downforce.note.still_floats", "downforce.note.watch_the_head"]
    first = (0.0, counterweight(1.5), 0.0, LOOKED)
    assert "downforce.note.floats" in notes(0.0)
    assert not set(further) & {*notes(0.0), *notes(*first)}
    again = notes(*first, counterweight(-3.0), 0.0, LOOKED)  # asked about first
    assert [note for note in again if note in further] == further
    assert not set(further) & set(notes(*first, counterweight(1.0), 1.0))  # it bears now


@pytest.mark.parametrize(
    ("places", "steepest"),
    [
        ([(0.0, 1.0), (2.0, 1.5)], 0.25),
        ([(0.0, 1.5), (2.0, 1.0)], -0.25),
        ([(0.0, None), (2.0, 1.0)], 0.5),  # at least: where it floats it is below 0
        ([(0.0, 2.0), (1.0, 2.05)], 0.0),  # 0.05 gf apart tells nothing of a slope
        ([(0.0, 1.0), (0.05, 2.0)], 0.0),  # set by hand to 0.02, so 0.05 apart may be the reverse
        ([(0.0, 1.0), (2.0, 1.5), (3.0, 2.5)], 1.0),
        ([(0.0, 1.0), (2.0, 1.5), (3.0, 0.5)], -1.0),
        ([(1.0, 1.0)], 0.0),
        ([], 0.0),
    ],
)
def test_the_steepest_gain_is_that_between_two_places_that_surely_differ(
    places: list[tuple[float, float | None]], steepest: float
) -> None:
    known = tuple(Place(at, gf) for at, gf in places)
    assert Places(known, hand=0.02).steepest == pytest.approx(steepest)


@pytest.mark.parametrize(
    ("places", "bearing", "floating"),
    [
        ([(1.0, 1.0), (4.0, 2.0), (3.0, None)], 4.0, None),
        ([(1.0, 1.0), (5.5, 2.0), (3.0, None)], 1.0, None),
        ([(-1.0, None), (-4.0, None), (2.0, 1.5), (-3.0, 1.0)], 2.0, -4.0),
        ([(-1.0, None), (2.0, None), (1.0, 1.0)], None, 2.0),
        ([(1.0, 1.5), (1.0, None)], None, None),  # no other place
    ],
)
def test_of_places_that_bear_or_float_the_nearest_counts(
    places: list[tuple[float, float | None]], bearing: float | None, floating: float | None
) -> None:
    known = Places(tuple(Place(at, gf) for at, gf in places))
    assert (known.bearing and known.bearing.at) == bearing
    assert (known.floating and known.floating.at) == floating


@pytest.mark.parametrize(("bore", "beyond"), [(1.0, 0.625), (1.6, 0.25), (0.4, 1.0)])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_past_a_place_that_bears_too_little_a_quarter_of_what_is_stated_is_tried(
    bore: float, beyond: float, side: float
) -> None:
    """0.4 gf a turn are stated: 1.0 gf lacks 2.5 turns of 2.0, and a fourth of that is 0.625.

    It floats on the near side at two places, so that nothing between is enough.
    """
    places = Places((Place(0.0, bore), Place(-side, None), Place(-2.0 * side, None)))
    here, control = places.here, ControlModel("turns", stated_gain=0.4)
    assert here is not None
    move = _while_floating(ControlState(ControlVerdict.READ), places, here, 2.0, 3.3, control)
    assert move == pytest.approx(side * (2.0 + beyond))


@pytest.mark.parametrize(
    ("places", "wrong"),
    [
        # 0.35 gf a turn, 2.5 gf at 0: the arm bore there too.
        ([(0.0, None), (4.0, 3.9), (2.0, 3.2), (1.0, 2.85)], 0.0),
        ([(6.0, 4.6), (4.0, 3.9), (2.0, 3.2), (1.0, 2.85)], None),
        # One of them a tenth off by the hand is on the line still, and one 0.6 off is not.
        ([(0.0, None), (4.0, 3.9), (2.0, 3.31), (1.0, 2.85)], 0.0),
        ([(0.0, None), (4.0, 3.9), (2.0, 2.6), (1.0, 2.85)], None),
        # Two may lie anyhow.
        ([(0.0, None), (4.0, 3.9), (2.0, 3.2)], None),
        # 0.6 gf a turn leave -0.4 gf at 0: it floats.
        ([(0.0, None), (4.0, 2.0), (3.0, 1.4), (2.0, 0.8)], None),
        # Half of 2.00 gf at 0 is where floating is no longer believed: 0.8 there, and 1.1.
        ([(0.0, None), (4.0, 1.8), (3.0, 1.55), (2.0, 1.3)], None),
        ([(0.0, None), (4.0, 2.1), (3.0, 1.85), (2.0, 1.6)], 0.0),
        # 0.5 gf a turn leave 0.77 gf at 0, where 4.9 were typed, and none at -3.
        ([(0.0, 4.9), (-3.0, None), (-1.0, 0.27), (-0.8, 0.37), (-0.5, 0.52)], 0.0),
        # Too near each other for the hand, or for the scale, to tell a line; with a fourth they do.
        ([(0.0, None), (4.0, 3.9), (3.97, 3.8), (3.95, 3.7)], None),
        ([(0.0, None), (4.0, 3.9), (3.9, 3.87), (3.8, 3.84)], None),
        ([(0.0, None), (4.0, 3.9), (2.0, 3.2), (1.95, 3.18), (1.9, 3.165)], 0.0),
        # Of two that are wrong the later.
        ([(0.0, None), (5.0, None), (4.0, 3.9), (2.0, 3.2), (1.0, 2.85)], 5.0),
        ([(0.0, None), (1.0, None)], None),
    ],
)
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_place_that_three_others_on_one_line_miss_was_weighed_wrongly(
    places: list[tuple[float, float | None]], wrong: float | None, side: float
) -> None:
    """Downforce goes in proportion to the way of the weight (statics); worked on squared paper."""
    known = tuple(Place(side * at, gf, event) for event, (at, gf) in enumerate(places))
    found = Places(known, hand=0.02).contradicted(2.0)
    assert (None if found is None else side * found.at) == wrong
    if found is not None:
        assert known[found.event] is found
