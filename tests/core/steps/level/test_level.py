"""Level: verdicts, moves that mend the fault, and decks whose feet can't do it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.fitting import Control, ControlChecked, MovePart, NextReading, Trial, Verdict
from core.language import Numbers
from core.language.number_parsing import read_number
from core.records import Deck, fields_of
from core.steps.level import Bubble, Direction, Inclinometer, Ruler
from tests.core.steps.level.kit import (
    FOUR,
    THREE,
    Truth,
    adjustments,
    judged,
    on_feet,
    read,
    slopes,
)

# --- what is asked for next -----------------------------------------------------------------


def test_without_a_reading_nothing_is_claimed() -> None:
    answer = judged([])
    assert answer.verdict is Verdict.NO_READING
    assert answer.picture.fixed_aspect
    assert "left to right" in answer.headline
    assert answer.next_reading is not None
    assert dict(answer.next_reading.values) == {"direction": Direction.LEFT_RIGHT, "turned": False}


def test_one_direction_is_not_enough_and_the_other_is_asked_for() -> None:
    answer = judged(read(Bubble(divisions=0.0)))
    assert answer.verdict is Verdict.READ_AGAIN
    assert "left to right" in answer.headline
    across = judged(read(Bubble(direction=Direction.LEFT_RIGHT, divisions=0.0)))
    assert "front to rear" in across.headline


ACROSS = Bubble(direction=Direction.LEFT_RIGHT, divisions=0.0)


@pytest.mark.parametrize("others", [(), (ACROSS,), (ACROSS, Bubble(divisions=-1.0, turned=True))])
def test_two_readings_of_one_place_that_differ_are_questioned_and_not_averaged(
    others: tuple[Bubble, ...],
) -> None:
    kit = on_feet(THREE, bench={"level_zero_error_mm_per_m": 3.0})
    said = judged(read(*others, Bubble(divisions=2.0), Bubble(divisions=-2.0)), kit)
    assert said.verdict is Verdict.READ_AGAIN
    assert said.next_move is None
    assert "front to rear" in said.headline
    assert said.next_reading is not None
    assert dict(said.next_reading.values) == {"direction": Direction.FRONT_BACK, "turned": False}


def test_a_third_reading_outvotes_the_one_that_differs() -> None:
    things = (ACROSS, Bubble(divisions=4.0), Bubble(divisions=-4.0), Bubble(divisions=4.0))
    said = judged(read(*things))
    tilt = said.figure("slope_back")
    assert tilt is not None
    alone = judged(read(ACROSS, Bubble(divisions=4.0))).figure("slope_back")
    assert alone is not None
    assert tilt.value == pytest.approx(alone.value)
    assert any("left out" in note for note in said.notes)


def test_readings_as_far_apart_as_they_are_read_are_not_questioned() -> None:
    said = judged(read(ACROSS, Bubble(divisions=1.0), Bubble(divisions=1.25)))
    assert "differ" not in said.headline


def test_a_line_read_both_ways_is_still_one_direction() -> None:
    answer = judged(read(Bubble(divisions=1.0), Bubble(divisions=1.0, turned=True)))
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.figure("tilt") is None
    along = answer.figure("slope_along")
    assert along is not None
    assert along.value == pytest.approx(0.0, abs=1e-12)


def test_a_level_of_unknown_error_is_turned_end_for_end_before_anything_is_good() -> None:
    kit = {"level_zero_error_mm_per_m": 1.0}
    on = on_feet(THREE, bench=kit)
    straight = read(Bubble(divisions=0.0), Bubble(direction=Direction.LEFT_RIGHT, divisions=0.0))
    answer = judged(straight, on)
    assert answer.verdict is Verdict.READ_AGAIN
    assert "end for end" in answer.headline
    turned = read(Bubble(direction=Direction.LEFT_RIGHT, divisions=0.0, turned=True))
    assert judged(straight + turned, on).verdict is Verdict.GOOD


def test_an_instrument_too_coarse_for_the_tolerance_says_so_and_claims_nothing() -> None:
    on = on_feet(THREE, bench={"bubble_read_div": 2.0}, tolerances={"level_mm_per_m": 0.1})
    answer = judged(Truth(on, (0.05, 0.0)).both_ways(), on)
    assert answer.verdict is Verdict.READ_AGAIN
    assert any("finer level" in note for note in answer.notes)


def test_the_direction_that_disagrees_is_named_and_gives_way_once_read_again() -> None:
    truth = Truth(on_feet(THREE), (0.4, 0.2))
    wrong = read(Bubble(direction=Direction.TO_BACK_RIGHT, divisions=9.0))
    readings = [*truth.both_ways(), truth.bubble(Direction.FRONT_BACK, turned=True), *wrong]
    answer = judged(readings)
    assert answer.verdict is Verdict.READ_AGAIN
    assert "diagonal to the rear right" in answer.headline
    mended = judged([*readings, truth.bubble(Direction.TO_BACK_RIGHT)])
    if mended.verdict is Verdict.READ_AGAIN:  # two against each other: a third settles it
        mended = judged([*readings, *[truth.bubble(Direction.TO_BACK_RIGHT)] * 2])
    assert mended.verdict is Verdict.GOOD
    assert any("left out" in note for note in mended.notes)


# --- the plane ------------------------------------------------------------------------------


@given(slope=slopes, zero=st.floats(-3, 3))
@settings(max_examples=40)
def test_any_slope_comes_back_whatever_the_levels_own_error(
    slope: tuple[float, float], zero: float
) -> None:
    answer = judged(Truth(on_feet(THREE), slope, zero).both_ways())
    found = {figure.key: figure.value for figure in answer.figures}
    assert found["slope_right"] == pytest.approx(slope[0], abs=1e-8)
    assert found["slope_back"] == pytest.approx(slope[1], abs=1e-8)
    assert found["zero_error"] == pytest.approx(zero, abs=1e-8)


def test_the_same_tilt_by_every_instrument() -> None:
    # derived: 1 mm/m is 0.0573 degrees, and 0.4 mm over 400 mm
    kit = {"level_zero_error_mm_per_m": 0.0}
    on = on_feet(THREE, bench=kit)
    across = Direction.LEFT_RIGHT
    ways: list[list[Trial]] = [
        read(Bubble(divisions=2.0), Bubble(divisions=0.0, direction=across)),
        read(Inclinometer(angle_deg=0.0573), Inclinometer(angle_deg=0.0, direction=across)),
        read(Ruler(gap_mm=0.4, length_mm=400), Ruler(gap_mm=0.0, length_mm=400, direction=across)),
    ]
    for trials in ways:
        tilt = judged(trials, on).figure("tilt")
        assert tilt is not None
        assert tilt.value == pytest.approx(1.0, abs=1e-3)
        assert tilt.half_width is not None
        sure = tilt.value > tilt.half_width
        assert tilt.note == ("high at the rear" if sure else None)


def test_only_the_instrument_used_last_counts() -> None:
    bubble = Truth(on_feet(THREE), (6.0, 0.0)).both_ways()
    answer = judged([*bubble, *read(Inclinometer(angle_deg=0.0))])
    assert answer.figure("tilt") is None


# --- the move -------------------------------------------------------------------------------


def test_the_low_feet_rise_and_the_highest_stays() -> None:
    answer = judged(Truth(on_feet(THREE), (0.0, 5.0)).both_ways())
    assert answer.verdict is Verdict.MOVE
    assert answer.next_move is not None
    parts = {part.where: part for part in answer.next_move.parts}
    assert set(parts) == {"front left", "front right"}
    # derived: 5 mm/m over 290 mm is 1.45 mm, at 1.25 mm a turn 1.16 turns
    for part in parts.values():
        assert part.control is Control.FOOT
        assert part.unit == "turns"
        assert part.amount == pytest.approx(1.16, abs=1e-3)
        assert part.equivalent_mm == pytest.approx(1.45, abs=1e-3)
    both = (
        "Raise front left foot 1\u00a0⅛\u00a0turns (",
        ") and front right foot 1\u00a0⅛\u00a0turns (",
    )
    assert all(words in answer.next_move.sentence for words in both)


def _named(deck: Deck, *names: str) -> Deck:
    feet = [
        foot.model_copy(update={"name": name})
        for foot, name in zip(deck.plinth.feet, names, strict=True)
    ]
    return deck.model_copy(update={"plinth": deck.plinth.model_copy(update={"feet": tuple(feet)})})


@pytest.mark.parametrize(
    ("slope", "headline"),
    [
        # derived: mm/m over 290 mm at 1.25 mm a turn, in eighths
        (4.0, "Raise front left foot ⅞ turn (1.09 mm) and front right foot ⅞ turn (1.09 mm)."),
        (6.0, "Raise front left foot 1 ⅜ turns and front right foot 1 ⅜ turns."),
    ],
)
def test_the_order_calls_a_foot_a_foot_and_fits_a_headline(slope: float, headline: str) -> None:
    answer = judged(Truth(on_feet(THREE), (0.0, slope)).both_ways())
    said = str(answer.headline).replace("\u00a0", " ")
    assert said == headline
    assert len(said) <= 80
    assert answer.next_move is not None
    assert "mm)" in answer.next_move.sentence, "the order itself keeps the lengths"


def test_a_name_that_says_foot_is_left_as_it_is() -> None:
    names = [foot.name for foot in on_feet(THREE).plinth.feet]
    on = _named(on_feet(THREE), *("Foot by the motor" if "left" in one else one for one in names))
    answer = judged(Truth(on, (0.0, 4.0)).both_ways(), on)
    assert answer.next_move is not None
    assert "Foot by the motor ⅞" in str(answer.next_move.sentence).replace("\u00a0", " ")


def test_another_way_is_said_with_its_own_verb() -> None:
    on = _of_travel(on_feet(FOUR), 1.0, 20.0)
    answer = judged(Truth(on, (5.0, 0.0)).both_ways(), on)
    assert answer.next_move is not None
    said = str(answer.next_move.sentence)
    assert said.startswith("Raise front left foot ")
    for verb, foot in (("lower", "front right"), ("raise", "rear left"), ("lower", "rear right")):
        assert f" {verb} {foot} foot " in said


def _of_travel(deck: Deck, up: float, down: float) -> Deck:
    feet = [
        foot.model_copy(update={"travel_up_mm": up, "travel_down_mm": down})
        for foot in deck.plinth.feet
    ]
    return deck.model_copy(update={"plinth": deck.plinth.model_copy(update={"feet": tuple(feet)})})


@pytest.mark.parametrize(
    ("up", "down", "has", "has_not"),
    [
        (20.0, 20.0, ("Raise",), ("Lower", "come down", "shorten")),
        (0.0, 20.0, ("Lower",), ("Raise", "come up", "lengthen")),
        (1.0, 20.0, ("Raise", "lower", "lengthen", "shorten"), ()),
    ],
)
def test_why_these_feet_agrees_with_the_way_the_order_turns_them(
    up: float, down: float, has: tuple[str, ...], has_not: tuple[str, ...]
) -> None:
    # High at the right by 5 mm/m: over 360 mm that is 1.8 mm, which 1 mm of travel splits.
    on = _of_travel(on_feet(FOUR), up, down)
    move = judged(Truth(on, (5.0, 0.0)).both_ways(), on).next_move
    assert move is not None
    assert move.reason is not None
    said = f"{move.sentence} {move.reason}"
    assert all(words in said for words in has), said
    assert not any(words in said for words in has_not), said


@adjustments
@given(slope=slopes, zero=st.floats(-2, 2))
@settings(max_examples=25)
def test_the_move_proposed_levels_the_deck(
    on: Deck, slope: tuple[float, float], zero: float
) -> None:
    truth = Truth(on, slope, zero)
    trials = truth.both_ways()
    answer = judged(trials, on)
    if math.hypot(*slope) > 2.5:
        assert answer.verdict is Verdict.MOVE
    if answer.next_move is None:
        assert truth.tilt <= 2.0 + 1e-9
        return
    truth.obey(answer.next_move.parts)
    trials.append(Trial(moves=answer.next_move.parts))
    assert judged(trials, on).verdict is Verdict.READ_AGAIN
    # the level's own error is known by now, so that one reading each of two directions will do
    trials += [truth.bubble(Direction.FRONT_BACK), truth.bubble(Direction.LEFT_RIGHT)]
    after = judged(trials, on)
    assert after.verdict is Verdict.GOOD, after.headline
    assert truth.tilt < 0.2


def test_good_is_hardly_ever_said_of_a_deck_beyond_its_tolerance() -> None:
    # noise as the bench kit states it; a 95 % interval errs outward in 2.5 % at most
    said, wrong = 0, 0
    on = on_feet(THREE)
    sigma = on.bench.bubble_read_div * on.bench.bubble_mm_per_m_per_div
    for seed in range(400):
        rng = np.random.default_rng([7, seed])
        angle = rng.uniform(0, 2 * math.pi)
        truth = Truth(on, (2.02 * math.cos(angle), 2.02 * math.sin(angle)), rng.normal(0, 0.5))
        noisy = [
            truth.bubble(way, turned=turned, noise=rng.normal(0, sigma))
            for way in (Direction.FRONT_BACK, Direction.LEFT_RIGHT)
            for turned in (False, True)
        ]
        said += 1
        wrong += judged(noisy, on).verdict is Verdict.GOOD
    assert wrong / said <= 0.05


def test_after_a_move_readings_are_asked_for_and_the_trail_stays() -> None:
    truth = Truth(on_feet(THREE), (0.0, 5.0))
    trials = truth.both_ways()
    move = judged(trials).next_move
    assert move is not None
    trials.append(Trial(moves=move.parts))
    answer = judged(trials)
    assert answer.verdict is Verdict.READ_AGAIN
    assert "0.0" in answer.headline
    assert answer.figure("predicted_tilt") is not None
    assert answer.figure("tilt") is None
    assert any(getattr(item, "role", None) == "before" for item in answer.picture.items)


def test_a_foot_turned_the_wrong_way_is_noticed() -> None:
    truth = Truth(on_feet(THREE), (0.0, 5.0))
    trials = truth.both_ways()
    move = judged(trials).next_move
    assert move is not None
    truth.obey(tuple(p.model_copy(update={"amount": -p.amount}) for p in move.parts))
    trials += [Trial(moves=move.parts), *truth.both_ways()]
    answer = judged(trials)
    assert answer.next_move is None
    assert any("moved it the way" in one.text for one in answer.questions)
    assert any("wrong way" in note for note in answer.notes)
    trials.append(Trial(checked=ControlChecked(control=Control.FOOT)))
    again = judged(trials).next_move
    assert again is not None
    # It leans twice as much now: twice the way, the other way round, and no further.
    first = {part.where: part.amount for part in move.parts}
    for part in again.parts:
        assert part.amount == pytest.approx(-2.0 * first[part.where], rel=0.1)


def entered_turned_round(on: Deck, slope: tuple[float, float]) -> tuple[list[Trial], list[Trial]]:
    """Do as ordered, enter it turned round, and read again; all, and the same entered rightly."""
    truth = Truth(on, slope)
    first = truth.both_ways()
    move = judged(first, on).next_move
    assert move is not None
    truth.obey(move.parts)
    turned = tuple(part.turned_round() for part in move.parts)
    after = truth.both_ways()
    entered = [Trial(entry_id="moved", moves=parts) for parts in (turned, move.parts)]
    return [*first, entered[0], *after], [*first, entered[1], *after]


@pytest.mark.parametrize("slope", [(3.3, 0.0), (0.0, -3.3), (2.0, 2.5)])
@pytest.mark.parametrize("places", [THREE, FOUR])
def test_a_good_reading_that_the_move_does_not_explain_is_asked_about_once(
    slope: tuple[float, float], places: list[tuple[str, float, float]]
) -> None:
    on = on_feet(places)
    trials, rightly = entered_turned_round(on, slope)
    asked = judged(trials, on)
    assert asked.verdict is Verdict.READ_AGAIN
    assert "Which way did you move it?" in asked.headline
    assert asked.questions[0].entry == "moved"
    trials.append(Trial(checked=ControlChecked(control=Control.FOOT)))
    assert judged(trials, on).verdict is Verdict.GOOD
    # Answered "the other way", the entry is put right, and nothing is left to ask.
    assert judged(rightly, on).verdict is Verdict.GOOD


def test_feet_that_carry_nothing_are_left_after_a_second_move() -> None:
    truth = Truth(on_feet(THREE), (0.0, 5.0))
    trials = truth.both_ways()
    moves = []
    for _ in range(8):
        answer = judged(trials)
        if answer.verdict.passes:
            break
        if answer.questions:
            trials.append(Trial(checked=ControlChecked(control=Control.FOOT)))
            continue
        if answer.next_move is not None:
            moves.append(answer.next_move)
            trials.append(Trial(moves=answer.next_move.parts))
        trials += truth.both_ways()
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert "have no effect" in answer.headline
    assert len(moves) == 2
    amounts = [sum(abs(part.amount) for part in move.parts) for move in moves]
    assert amounts[1] <= 1.1 * amounts[0]


def test_feet_that_carry_nothing_are_noticed() -> None:
    truth = Truth(on_feet(THREE), (0.0, 5.0))
    trials = truth.both_ways()
    move = judged(trials).next_move
    assert move is not None
    answer = judged([*trials, Trial(moves=move.parts), *truth.both_ways()])
    assert any("hardly changed" in note for note in answer.notes)


# --- what is asked for, as data ---------------------------------------------------------------


def test_what_is_to_be_read_next_is_data() -> None:
    def asked(trials: list[Trial], on: Deck | None = None) -> NextReading:
        found = judged(trials, on).next_reading
        assert found is not None
        assert found.why
        return found

    truth = Truth(on_feet(THREE), (0.0, 5.0))
    assert asked([]).values == {"direction": Direction.LEFT_RIGHT, "turned": False}
    other = asked(read(Bubble(divisions=1.0, turned=True)))
    assert other.values == {"direction": Direction.LEFT_RIGHT, "turned": True}

    unsure = on_feet(THREE, bench={"level_zero_error_mm_per_m": 1.0})
    one_way = read(Bubble(divisions=0.0), Bubble(direction=Direction.LEFT_RIGHT, divisions=0.0))
    back = asked(one_way, unsure)
    assert back.values == {"direction": Direction.LEFT_RIGHT, "turned": True}
    assert "own error" in str(back.why)

    near = Truth(on_feet(THREE), (0.4, 0.2))
    wrong = read(Bubble(direction=Direction.TO_BACK_RIGHT, divisions=9.0))
    odd = asked([*near.both_ways(), near.bubble(Direction.FRONT_BACK, turned=True), *wrong])
    assert odd.values == {"direction": Direction.TO_BACK_RIGHT, "turned": False}

    turned = truth.both_ways()
    move = judged(turned).next_move
    assert move is not None
    assert asked([*turned, Trial(moves=move.parts)]).count == 2
    assert judged(turned).next_reading is None


def test_a_headline_that_grows_too_long_says_how_many_feet_are_turned() -> None:
    places = [(f"foot at the far {name} of it", x, y) for name, x, y in THREE]
    on = on_feet(places)
    answer = judged(Truth(on, (0.0, 5.0)).both_ways(), on)
    assert answer.headline == "Turn 2 feet as written beside each."
    assert answer.next_move is not None
    assert answer.next_move.sentence.startswith("Raise foot at the far front left of it 1")


@pytest.mark.parametrize(("divisions", "is_told"), [(0.0, False), (0.2, False), (4.0, True)])
def test_no_side_is_called_high_while_the_tilt_is_within_its_uncertainty(
    divisions: float, is_told: bool
) -> None:
    on = on_feet(THREE, bench={"bubble_mm_per_m_per_div": 0.5, "bubble_read_div": 0.25})
    along, across = Bubble(divisions=divisions), Bubble(direction=Direction.LEFT_RIGHT, divisions=0)
    answer = judged(read(along, across), on)
    tilt = answer.figure("tilt")
    assert tilt is not None
    assert tilt.half_width is not None
    assert (tilt.value > tilt.half_width) is is_told
    assert (answer.figure("high_bearing") is not None) is is_told
    assert (tilt.note == "high at the rear") is is_told
    assert answer.picture is not None
    assert ("high at the rear" in str(answer.picture.summary)) is is_told


def test_the_reading_of_the_readme_is_not_called_unusual() -> None:
    (spec,) = (one for one in fields_of(Bubble) if one.name == "divisions")
    assert not read_number("8", spec, Numbers(".")).question
    assert "unusual" in read_number("12", spec, Numbers(".")).question


def turned_feet(**turns: float) -> Trial:
    parts = tuple(
        MovePart(
            control=Control.FOOT,
            where=foot.replace("_", " "),
            amount=amount,
            unit="turns",
            equivalent_mm=amount,
        )
        for foot, amount in turns.items()
    )
    return Trial(entry_id=f"moved {turns}", moves=parts)


def gaps(across: float, along: float, *turned: float) -> list[Trial]:
    """Read a straightedge of 300 mm left to right and front to back, and turned end for end."""
    across_too: dict[str, Any] = {"direction": Direction.LEFT_RIGHT}
    ways: list[dict[str, Any]] = [across_too, {}, {"turned": True}, {**across_too, "turned": True}]
    values = (across, along, *turned)
    return read(*(Ruler(**way, gap_mm=gap) for way, gap in zip(ways, values, strict=False)))


CHASED = [
    *read(
        Bubble(divisions=0.2),
        Bubble(divisions=0.2, turned=True),
    ),
    turned_feet(front_right=0.63, rear=0.315),
    *gaps(1.2, -0.4),
    turned_feet(front_left=1.2833, rear=1.1083),
    *gaps(0.2, 0.4, -0.6, 0.0),
    turned_feet(front_left=0.5057, front_right=0.3816),
    *gaps(-0.2, 0.4, -0.2, 0.2),
]
"""What a simulated person read and turned on a deck that stood within its tolerance at the last:
seven rounds of turning were asked for, as each straightedge saw another small tilt."""


def on_its_feet() -> Deck:
    places = [("front left", -175.0, -140.0), ("front right", 175.0, -140.0), ("rear", 0.0, 140.0)]
    return on_feet(places, plinth={"pitch_mm_per_turn": 1.0})


def test_a_coarse_way_does_not_chase_its_own_error_from_move_to_move() -> None:
    answer = judged(CHASED, on_its_feet())
    tilt = answer.figure("tilt")
    assert tilt is not None
    assert tilt.value < 2.0 < tilt.value + (tilt.half_width or 0.0), "it may be level or not"
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.next_move is None
    more = [one for _ in range(2) for one in gaps(0.0, 0.2, 0.0, 0.0)]
    assert judged([*CHASED, *more], on_its_feet()).verdict is Verdict.GOOD


def test_a_coarse_way_still_turns_after_three_rounds_what_is_not_level() -> None:
    steep = [*CHASED[:-4], *gaps(1.2, 0.0, 0.0, -1.2)]  # 4 mm/m
    answer = judged(steep, on_its_feet())
    while answer.questions:
        where = answer.questions[0].where
        steep.append(Trial(checked=ControlChecked(control=Control.FOOT, where=where)))
        answer = judged(steep, on_its_feet())
    assert answer.verdict is Verdict.MOVE


def test_twelve_readings_of_a_coarse_way_that_leave_it_open_lead_to_another_turn() -> None:
    # 1.7 mm/m each time: 12 readings leave 0.7 of doubt, and the tolerance is 2
    again = [one for _ in range(3) for one in gaps(0.6, 0.0, 0.0, -0.4)]
    assert judged([*CHASED[:-4], *again[:8]], on_its_feet()).next_move is None
    assert judged([*CHASED[:-4], *again], on_its_feet()).next_move is not None


def one_foot_the_wrong_way(
    on: Deck, slope: tuple[float, float], wrong: int
) -> tuple[Truth, list[Trial], MovePart]:
    """Turn all feet as ordered but one, enter all as ordered, and read again."""
    truth = Truth(on, slope)
    trials = truth.both_ways()
    move = judged(trials, on).next_move
    assert move is not None
    assert len(move.parts) > 1
    parts = list(move.parts)
    parts[wrong] = parts[wrong].turned_round()
    truth.obey(tuple(parts))
    trials += [Trial(entry_id="moved", moves=move.parts), *truth.both_ways()]
    return truth, trials, move.parts[wrong]


@pytest.mark.parametrize("slope", [(3.0, 0.0), (0.0, 3.0), (2.0, 2.0), (-2.0, -3.0)])
@pytest.mark.parametrize("wrong", [0, 1])
def test_one_of_two_feet_that_went_the_other_way_is_asked_about_by_its_name(
    slope: tuple[float, float], wrong: int
) -> None:
    """A single reading taught that the foot runs backward, and the next order turned it so."""
    on = on_feet(THREE)
    truth, trials, part = one_foot_the_wrong_way(on, slope, wrong)
    asked = judged(trials, on)
    assert asked.next_move is None
    assert f"Which way did you turn the {part.where} foot?" in asked.headline
    assert asked.questions[0].entry == "moved"
    assert asked.questions[0].moved == (part,)
    assert not any("hardly changed anything" in note for note in asked.notes), "one foot turned"
    assert asked.next_reading is not None
    assert asked.next_reading.values["where"] == part.where
    # "The other way": the entry counts so, and the order is the one for feet that do as told.
    (at,) = (place for place, one in enumerate(trials) if one.moves)
    right = [one.turned_round() if one == part else one for one in trials[at].moves]
    put_right = [*trials[:at], Trial(moves=tuple(right), put_right=True), *trials[at + 1 :]]
    said = judged(put_right, on)
    assert not said.questions
    if said.next_move is not None:
        truth.obey(said.next_move.parts)
        assert truth.tilt < 0.5


@pytest.mark.parametrize("wrong", [0, 1])
def test_a_foot_that_was_turned_as_entered_is_taken_at_the_persons_word(wrong: int) -> None:
    on = on_feet(THREE)
    truth, trials, part = one_foot_the_wrong_way(on, (3.0, 0.0), wrong)
    trials.append(Trial(checked=ControlChecked(control=Control.FOOT, where=part.where)))
    said = judged(trials, on)
    while said.questions:  # the feet together are asked about too
        trials.append(Trial(checked=ControlChecked(control=Control.FOOT)))
        said = judged(trials, on)
    assert said.next_move is not None
    truth.obey(
        tuple(
            one.turned_round() if one.where == part.where else one for one in said.next_move.parts
        )
    )
    assert truth.tilt < 0.5
