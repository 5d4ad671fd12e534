"""A bubble at the end of its vial says 'at least so much', never a slope."""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.fitting import Control, ControlChecked, MovePart, Trial, Verdict
from core.language import Numbers, read_number
from core.records import Deck, fields_of
from core.steps.level import Bubble, BubbleAtEnd, Direction, Inclinometer
from tests.core.steps.level.kit import FOUR, THREE, Truth, judged, on_feet, read

ACROSS = Direction.LEFT_RIGHT
FEW = {"bubble_range_div": 6.0, "bubble_mm_per_m_per_div": 0.3}


def with_vial(per_division: float, reach: float = 6.0, places: object = THREE) -> Deck:
    bench = {"bubble_range_div": reach, "bubble_mm_per_m_per_div": per_division}
    return on_feet(FOUR if places is FOUR else THREE, bench=bench)


def test_a_bubble_at_its_end_both_ways_is_not_level() -> None:
    # 6 divisions of 0.3 mm/m are 1.8 mm/m, inside the tolerance of 2: and really 9 mm/m
    on = on_feet(THREE, bench=FEW)
    trials = read(
        Bubble(divisions=6.0),
        Bubble(direction=ACROSS, divisions=0.0),
        Bubble(divisions=-6.0, turned=True),
    )
    answer = judged(trials, on)
    assert answer.verdict is Verdict.MOVE
    assert answer.figure("tilt") is None
    assert any("at the end of its vial" in note for note in answer.notes)
    assert answer.next_move is not None
    assert answer.next_move.predicted == "nearer to level: read again"
    lifts = sum(part.equivalent_mm or 0.0 for part in answer.next_move.parts)
    assert lifts == pytest.approx(
        2 * 2 * 1.8 * 0.29, rel=0.01
    )  # twice the vial, at both front feet, 290 mm before the rear


def test_at_the_end_is_an_answer_whatever_the_kit_says_of_the_vial() -> None:
    # the kit's vial goes to 100 divisions, this one ended before
    ended = judged(read(BubbleAtEnd(toward="marked"), Bubble(direction=ACROSS, divisions=0.0)))
    assert ended.verdict is Verdict.MOVE
    assert ended.figure("tilt") is None
    then = judged(
        read(
            BubbleAtEnd(toward="marked"),
            Bubble(direction=ACROSS, divisions=0.0),
            Bubble(divisions=1.0),
            Bubble(divisions=-1.0, turned=True),
        )
    )
    assert then.verdict is Verdict.GOOD


def test_a_coarse_move_says_what_is_not_known_yet() -> None:
    # 6 divisions of 0.3 mm/m are 1.8 mm/m: more than the level's own error, 1.0 at two in 20
    ended, across = Bubble(divisions=6.0), Bubble(direction=ACROSS, divisions=0.0)
    turned = Bubble(divisions=-6.0, turned=True)
    on = on_feet(THREE, bench=FEW)
    told = [
        [note for note in judged(read(*taken), on).notes if "coarse" in note]
        for taken in ((ended,), (ended, turned), (ended, across), (ended, turned, across))
    ]
    assert ["one direction" in note and "end for end" in note for note in told[0]] == [True]
    assert ["one direction" in note and "end for end" not in note for note in told[1]] == [True]
    assert ["one direction" not in note and "end for end" in note for note in told[2]] == [True]
    assert told[3] == []


def test_what_the_levels_own_error_may_hold_at_the_end_is_read_turned_before_any_move() -> None:
    # 6 divisions of 0.15 mm/m are 0.9 mm/m, less than the 1.0 that the level itself may be off by
    on = with_vial(0.15)
    ended = Bubble(direction=ACROSS, divisions=6.0)
    answer = judged(read(ended), on)
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.next_move is None
    assert "end for end" in answer.headline
    assert answer.next_reading is not None
    assert answer.next_reading.values == {"direction": ACROSS, "turned": True}
    leans = judged(read(ended, Bubble(direction=ACROSS, divisions=-6.0, turned=True)), on)
    assert leans.verdict is Verdict.MOVE


@pytest.mark.parametrize(
    ("toward", "turned", "side"),
    [("marked", False, "rear"), ("other", False, "front"), ("marked", True, "front")],
)
def test_the_end_at_which_the_bubble_stands_says_which_side_is_high(
    toward: str, turned: bool, side: str
) -> None:
    on = on_feet(THREE, adjustable=())
    answer = judged(read(BubbleAtEnd(toward=toward, turned=turned)), on)
    assert side in answer.headline
    assert answer.verdict is Verdict.READ_AGAIN


@pytest.mark.parametrize("kit", [True, False])
def test_the_instrument_that_is_asked_for_is_in_the_kit_or_is_a_glass_of_water(kit: bool) -> None:
    on = on_feet(THREE, adjustable=(), bench={**FEW, "has_inclinometer": kit})
    answer = judged(read(BubbleAtEnd(toward="marked")), on)
    assert answer.next_reading is not None
    assert answer.next_reading.way == ("inclinometer" if kit else "water")
    names = "inclinometer", "glass of water"
    wanted, other = names if kit else names[::-1]
    for said in (answer.headline, answer.notes[0]):
        assert wanted in said
        assert other not in said


def test_where_no_foot_turns_another_instrument_is_asked_for_and_then_counts() -> None:
    on = on_feet(THREE, adjustable=(), bench=FEW)
    ended = read(Bubble(divisions=6.0), Bubble(direction=ACROSS, divisions=0.0))
    answer = judged(ended, on)
    assert answer.verdict is Verdict.READ_AGAIN
    assert "use the inclinometer" in answer.headline
    assert answer.next_reading is not None
    assert answer.next_reading.way == "inclinometer"
    deg = math.degrees(0.009)
    both = read(
        Inclinometer(angle_deg=deg),
        Inclinometer(angle_deg=-deg, turned=True),
        Inclinometer(angle_deg=0.0, direction=ACROSS),
    )
    then = judged([*ended, *both], on)
    assert then.verdict is Verdict.LEFT_AS_FOUND
    tilt = then.figure("tilt")
    assert tilt is not None
    assert tilt.value == pytest.approx(9.0, abs=0.01)


def test_a_place_read_again_inside_the_vial_replaces_the_end() -> None:
    on = on_feet(THREE, bench=FEW)
    trials = read(
        Bubble(divisions=6.0),
        Bubble(divisions=1.0),
        Bubble(direction=ACROSS, divisions=0.0),
        Bubble(divisions=-1.0, turned=True),
    )
    assert judged(trials, on).verdict is Verdict.GOOD


def test_after_a_move_that_leaves_the_bubble_at_its_end_another_instrument_is_asked_for() -> None:
    on = on_feet(THREE, bench=FEW)
    trials = read(Bubble(divisions=6.0))
    for _ in range(1):
        move = judged(trials, on).next_move
        assert move is not None
        trials += [Trial(moves=move.parts), *read(Bubble(divisions=6.0))]
    assert judged(trials, on).verdict is Verdict.READ_AGAIN
    # who has none enters it again, and goes on: twice as far each time, up to four times
    trials += read(Bubble(divisions=6.0))
    lifts = []
    for _ in range(8 - 1):
        move = judged(trials, on).next_move
        assert move is not None
        lifts.append(sum(part.equivalent_mm or 0.0 for part in move.parts))
        trials += [Trial(moves=move.parts), *read(Bubble(divisions=6.0), Bubble(divisions=6.0))]
    assert max(lifts) <= 4 * 2 * 1.8 * 0.29 * 1.01
    assert judged(trials, on).next_move is None


def turned_the_wrong_way(way: Direction, on: Deck, lean: float) -> tuple[list[Trial], list[Trial]]:
    """Read a lean within the vial, turn against the order, and read again; all, and the move."""
    reach = on.bench.bubble_range_div
    truth = Truth(on, (0.0, lean) if way is Direction.FRONT_BACK else (lean, 0.0))
    trials = truth.both_ways()
    move = judged(trials, on).next_move
    assert move is not None
    truth.obey(tuple(p.model_copy(update={"amount": -p.amount}) for p in move.parts))
    made = [Trial(entry_id="moved", moves=move.parts)]
    after = []
    for trial in truth.both_ways():
        bubble = trial.reading
        assert isinstance(bubble, Bubble)
        shown = max(-reach, min(reach, bubble.divisions))
        after.append(Trial(reading=bubble.model_copy(update={"divisions": shown})))
    return [*trials, *made, *after], made


@pytest.mark.parametrize("way", [Direction.FRONT_BACK, ACROSS])
@pytest.mark.parametrize("lean", [2.4, -2.4])
def test_a_bubble_driven_to_its_end_by_a_move_the_wrong_way_asks_which_way(
    way: Direction, lean: float
) -> None:
    # The vial holds 6 divisions of 0.6 mm/m, 3.6 mm/m. A lean of 2.4 is doubled to 4.8 (derived).
    trials, made = turned_the_wrong_way(way, with_vial(0.6), lean)
    answer = judged(trials, with_vial(0.6))
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.next_move is None
    assert answer.questions[0].entry == "moved"
    assert answer.questions[0].moved == made[0].moves
    assert any("at the end of its vial" in note for note in answer.notes)


def lifts_by_foot(parts: tuple[MovePart, ...]) -> dict[str, float]:
    return {part.where: part.equivalent_mm or 0.0 for part in parts}


def test_turned_as_entered_goes_the_other_way_by_what_it_leans_now() -> None:
    on = with_vial(0.6)
    trials, made = turned_the_wrong_way(Direction.FRONT_BACK, on, 2.4)
    trials.append(Trial(checked=ControlChecked(control=Control.FOOT)))
    move = judged(trials, on).next_move
    assert move is not None
    first, again = lifts_by_foot(made[0].moves), lifts_by_foot(move.parts)
    assert all(first[foot] * lift < 0.0 for foot, lift in again.items())
    # 4.8 mm/m over the 290 mm between front and rear feet, by the thread as stated (derived).
    assert max(map(abs, again.values())) == pytest.approx(4.8 * 0.29, rel=0.02)


def test_turned_the_other_way_orders_again_by_what_it_leans_now() -> None:
    on = with_vial(0.6)
    trials, made = turned_the_wrong_way(Direction.FRONT_BACK, on, 2.4)
    turned = tuple(part.turned_round() for part in made[0].moves)
    put_right = [Trial(moves=turned) if trial.moves else trial for trial in trials]
    answer = judged(put_right, on)
    assert not answer.questions
    assert answer.next_move is not None
    first, again = lifts_by_foot(made[0].moves), lifts_by_foot(answer.next_move.parts)
    assert all(first[foot] * lift > 0.0 for foot, lift in again.items())
    assert max(map(abs, again.values())) == pytest.approx(4.8 * 0.29, rel=0.02)


def test_a_bubble_left_at_its_end_by_a_coarse_move_says_nothing_of_the_direction() -> None:
    on = with_vial(0.6)
    ended = read(Bubble(divisions=6.0), Bubble(direction=ACROSS, divisions=0.0))
    move = judged(ended, on).next_move
    assert move is not None
    answer = judged([*ended, Trial(moves=move.parts), *ended], on)
    assert not answer.questions


def test_a_bubble_that_overshoots_to_the_other_end_went_as_ordered() -> None:
    on = with_vial(0.6)
    truth = Truth(on, (0.0, 2.4))
    trials = truth.both_ways()
    move = judged(trials, on).next_move
    assert move is not None
    trials += [Trial(moves=move.parts), *read(Bubble(divisions=-6.0))]
    assert not judged(trials, on).questions


def told_level(on: Deck, rng: np.random.Generator) -> float | None:
    """Work a deck till the step is content; return the true tilt then, None if it never is."""
    slope = (float(rng.uniform(-9, 9)), float(rng.uniform(-9, 9)))
    truth = Truth(on, slope, zero=float(rng.normal(0, 0.5)))
    reach, per_division = 6.0, on.bench.bubble_mm_per_m_per_div
    turns = [(Direction.FRONT_BACK, False), (ACROSS, False), (Direction.FRONT_BACK, True),
             (ACROSS, True)]  # fmt: skip # rows of a table
    trials: list[Trial] = []
    since, fetched = 0, False  # what was fetched is used until the next move
    for _ in range(60):
        answer = judged(trials, on)
        if answer.verdict.passes:
            return truth.tilt if answer.verdict is Verdict.GOOD else None
        if answer.next_move is not None and answer.verdict is Verdict.MOVE:
            made = [
                MovePart(control=Control.FOOT, amount=p.amount * float(rng.normal(1, 0.05)),
                         unit=p.unit, where=p.where)
                for p in answer.next_move.parts
            ]  # fmt: skip # rows of a table
            truth.obey(tuple(made))
            trials.append(Trial(moves=answer.next_move.parts))
            since, fetched = 0, False
            continue
        asked = answer.next_reading.values if answer.next_reading else {}
        way, turned = turns[since % 4]
        way = Direction(asked.get("direction", way))
        turned = bool(asked.get("turned", turned))
        noise = float(rng.normal(0, 0.25)) * per_division
        angle = math.radians((90.0 if way is ACROSS else 0.0) + (180.0 if turned else 0.0))
        rise = truth.slope[0] * math.sin(angle) + truth.slope[1] * math.cos(angle)
        fetched = fetched or bool(answer.next_reading and answer.next_reading.way == "inclinometer")
        if fetched:
            shown = math.degrees(math.atan((rise + truth.zero + noise) / 1000))
            trials += read(Inclinometer(direction=way, turned=turned, angle_deg=round(shown, 2)))
            since += 1
            continue
        off = round(4 * (rise + truth.zero + noise) / per_division) / 4
        trials += read(Bubble(direction=way, turned=turned, divisions=max(-reach, min(reach, off))))
        since += 1
    return None


def falsely_level(reach: float, decks: int) -> tuple[int, int]:
    rng = np.random.default_rng(20)
    false = never = 0
    for count in range(decks):
        places = FOUR if count % 2 else THREE
        on = with_vial(float(rng.uniform(0.3, 1.0)), reach, places)
        left = told_level(on, rng)
        never += left is None
        false += left is not None and left > on.tolerances.level_mm_per_m
    return false, never


def test_a_vial_that_ends_hardly_ever_passes_for_level() -> None:
    decks = 150
    false, never = falsely_level(6.0, decks)
    assert false < 0.03 * decks
    assert never < 0.03 * decks


def driven_out(on: Deck, *, toward: str = "marked") -> list[Trial]:
    """Read 2.2 mm/m, raise the front by as much, and find the bubble at the end after all.

    The vial holds 6 divisions of 0.5 mm/m, 3.0 mm/m: nothing tells for certain that the feet went
    the other way, since the end itself is known to a division only.
    """
    truth = Truth(on, (0.0, 2.2 if toward == "marked" else -2.2))
    trials = truth.both_ways()
    move = judged(trials, on).next_move
    assert move is not None
    trials.append(Trial(entry_id="moved", moves=move.parts))
    return [
        *trials,
        *read(Bubble(direction=ACROSS, divisions=0.0), BubbleAtEnd(toward=toward)),
        *read(BubbleAtEnd(toward="other" if toward == "marked" else "marked", turned=True)),
    ]


@pytest.mark.parametrize("toward", ["marked", "other"])
def test_a_bubble_that_the_last_move_drove_out_is_asked_about_without_saying_it_did_nothing(
    toward: str,
) -> None:
    answer = judged(driven_out(with_vial(0.5), toward=toward), with_vial(0.5))
    assert answer.next_move is None
    assert "changed nothing" not in answer.headline
    assert "at the end of its vial" in answer.headline
    asked = [question.text for question in answer.questions]
    assert "the way you entered" in asked[0]
    assert not any("clear of the ends" in one for one in asked)  # nobody could tick that


@pytest.mark.parametrize("toward", ["marked", "other"])
def test_what_drove_the_bubble_out_is_turned_back_and_no_further(toward: str) -> None:
    on = with_vial(0.5)
    trials = driven_out(on, toward=toward)
    trials.append(Trial(checked=ControlChecked(control=Control.FOOT)))
    made = next(trial.moves for trial in trials if trial.moves)
    answer = judged(trials, on)
    assert answer.verdict is Verdict.MOVE
    assert answer.next_move is not None
    # It stood in the vial before: undoing the move is the one step known to bring it back there.
    first, back = lifts_by_foot(made), lifts_by_foot(answer.next_move.parts)
    assert back == pytest.approx({foot: -lift for foot, lift in first.items()}, abs=1e-3)
    assert any("undo that move" in note for note in answer.notes)
    assert "in its vial again" in str(answer.next_move.predicted)


def test_whichever_way_the_foot_went_turning_back_brings_the_bubble_into_its_vial() -> None:
    # The hand takes longer for shorter, in every move: the deck then goes the other way each time.
    on = with_vial(0.5)
    truth = Truth(on, (0.0, 2.2))
    trials = truth.both_ways()
    for _ in range(2):
        answer = judged(trials, on)
        if answer.questions:
            trials.append(Trial(checked=ControlChecked(control=Control.FOOT)))
            answer = judged(trials, on)
        assert answer.next_move is not None
        parts = answer.next_move.parts
        truth.obey(tuple(p.model_copy(update={"amount": -p.amount}) for p in parts))
        trials.append(Trial(entry_id=f"move {len(trials)}", moves=parts))
        if truth.tilt > 3.0:
            trials += read(Bubble(direction=ACROSS, divisions=0.0), BubbleAtEnd(toward="marked"))
    assert truth.tilt == pytest.approx(2.2, abs=0.01)


def test_no_order_from_the_end_of_the_vial_can_drive_the_bubble_to_its_other_end() -> None:
    # The end says 'at least 1.8 mm/m': twice that leads to the other end at worst (derived).
    on = on_feet(THREE, bench=FEW)
    trials = read(Bubble(divisions=6.0), Bubble(divisions=6.0))
    for _ in range(4):
        move = judged(trials, on).next_move
        assert move is not None
        raised = sum(part.equivalent_mm or 0.0 for part in move.parts)
        assert abs(raised) <= 2 * 2 * 1.8 * 0.29 * 1.001  # both front feet, 290 mm from the rear
        trials += [Trial(moves=move.parts), *read(Bubble(divisions=6.0), Bubble(divisions=6.0))]
    assert any("the way you entered" in note for note in judged(trials, on).notes)


def noted(trials: list[Trial], on: Deck) -> str:
    answer = judged(trials, on)
    assert answer.next_move is not None
    return next(note for note in answer.notes if "at the" in note and "end of its vial" in note)


def test_the_same_end_as_before_is_told_of_the_same_direction_only() -> None:
    """With a move left out, what was read before the last one was along another direction."""
    on = on_feet(THREE, bench=FEW)
    raised = MovePart(control=Control.FOOT, amount=0.875, unit="turns", where="rear")
    moved = [Trial(moves=(raised,))]
    along, across = Bubble(divisions=6.0), Bubble(direction=ACROSS, divisions=6.0)
    again = read(along, along)  # read again: a move is worked out without another instrument
    assert "same end" in noted([*read(along), *moved, *again], on)
    assert "same end" in noted([*read(across, along), *moved, *again], on)
    others = [
        [*read(across), *moved, *again],
        [*read(Bubble(divisions=-6.0)), *moved, *again],
        [*read(along), *moved, *again, *read(across)],
    ]
    for trials in others:
        note = noted(trials, on)
        assert "as before the last move" not in note
        assert note.startswith("The bubble is at the end of its vial, so the ")


def test_more_divisions_than_a_vial_has_points_to_the_answer_for_its_end() -> None:
    spec = next(one for one in fields_of(Bubble) if one.name == "divisions")
    typed = read_number("40", spec, Numbers())
    assert typed.value is None
    assert "at the end of its vial, choose that under “Other ways…”" in typed.problem
