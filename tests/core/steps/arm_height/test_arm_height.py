"""Arm height through the whole step: what is read, what it says, and that obeying it ends well."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing.chart import Curve, MarkRole
from core.fitting import (
    Act,
    Assessment,
    Context,
    Control,
    ControlChecked,
    Guard,
    MovePart,
    NextReading,
    Reading,
    Trial,
    Verdict,
)
from core.language import Message, message
from core.records import Cartridge, Deck, HeightControl
from core.steps import arm_height, step_named
from core.steps.arm_height import (
    ArmHeightChoices,
    TaperedTube,
    TubeAngle,
    TubeEdge,
    TwoHeights,
    applies,
)
from tests.examples import cartridge, deck
from tests.kit import trial
from tests.strategies import cartridges, decks, trials
from tests.worded import worded

Step = Reading | tuple[MovePart, ...]


def context(
    events: Sequence[Step],
    *,
    of_deck: Deck | None = None,
    of_cartridge: Cartridge | None = None,
    **chosen: Any,
) -> Context:
    log = tuple(trial(event) for event in events)
    return Context(
        step="arm_height",
        deck=of_deck or deck(),
        cartridge=of_cartridge or cartridge(),
        log={"arm_height": log},
        chosen={"arm_height": ArmHeightChoices(**chosen)},
    )


def assess(seen: Context) -> Assessment:
    said: Assessment = worded(arm_height.assess(seen))
    return said


def heights(front: float, rear: float, spacing: float = 230.0) -> TwoHeights:
    return TwoHeights(front_mm=front, rear_mm=rear, spacing_mm=spacing)


def moved(control: Control, amount: float) -> tuple[MovePart, ...]:
    return (MovePart(control=control, amount=amount, unit="mm"),)


def value(assessment: Assessment, key: str) -> float:
    figure = assessment.figure(key)
    assert figure is not None, key
    return figure.value


LONG = {"effective_length_mm": 230.0, "pivot_to_spindle_mm": 212.0}


def test_rear_high_says_lower_and_by_the_arms_length_not_by_the_difference() -> None:
    # 23.5 in front and 29.0 at the rear say the rear is high: common practice, no source.
    roomy = deck(height={"travel_down_mm": 20.0})
    said = assess(context([heights(23.5, 29.0, 180.0)], of_deck=roomy))
    assert said.verdict is Verdict.MOVE
    assert said.next_move is not None
    (part,) = said.next_move.parts
    assert part.control is Control.PILLAR
    # The arm turns about the tip: what is 5.5 mm in 180 is 7.312 mm in 239.296 (by hand).
    assert part.amount == pytest.approx(-7.312, abs=0.06)
    assert said.headline.startswith("Rear 5.5\u00a0mm high: lower the pillar by 7.3\u00a0mm")
    assert value(said, "height") == pytest.approx(5.5)


def test_four_millimetres_are_about_a_degree() -> None:
    # common practice ('4 mm per degree' for 230 mm), and derived: atan(4 / 230) = 0.996 deg
    said = assess(context([heights(25.0, 29.0)], of_deck=deck(arm=LONG)))
    assert value(said, "pitch") == pytest.approx(0.996, abs=5e-4)
    assert value(said, "angle_per_mm") == pytest.approx(0.249, abs=5e-4)
    # derived: L (1 - cos a) = 230 (1 - cos 0.996 deg)
    assert value(said, "reach") == pytest.approx(0.0348, abs=5e-4)


FINE = {"tolerances": {"height_mm": 0.5}}
"""What a line contact stylus may ask for."""


def test_equal_heights_are_parallel_within_what_records_differ_by() -> None:
    # 27.0 and 27.0 is parallel: common practice, no source.
    level = heights(27.0, 27.0, 180.0)
    once = assess(context([level]))
    assert once.verdict is Verdict.GOOD
    assert once.next_move is None


def test_of_a_finer_tolerance_one_ruler_reading_can_not_promise_it() -> None:
    level = heights(27.0, 27.0, 180.0)
    once = assess(context([level], of_deck=deck(**FINE)))
    assert once.verdict is Verdict.READ_AGAIN
    assert "once more" in once.headline
    assert assess(context([level, level], of_deck=deck(**FINE))).verdict is Verdict.GOOD


@pytest.mark.parametrize("tolerance_mm", [0.5, 1.0])
@pytest.mark.parametrize("rear_mm", [27.0, 27.25, 27.5, 27.75, 28.0, 28.25])
def test_no_more_than_two_pairs_are_asked_for_before_a_move_or_after(
    rear_mm: float, tolerance_mm: float
) -> None:
    on = deck(tolerances={"height_mm": tolerance_mm})
    pair = heights(27.0, rear_mm, 180.0)
    before: list[Step] = [pair, pair]
    first = assess(context(before, of_deck=on))
    assert first.verdict is not Verdict.READ_AGAIN
    after = [*before, moved(Control.PILLAR, -1.0), heights(27.0, 27.25, 180.0)]
    assert assess(context([*after, after[-1]], of_deck=on)).verdict is not Verdict.READ_AGAIN


def test_what_two_pairs_leave_open_is_left_so_with_its_interval() -> None:
    pair = heights(27.0, 27.6, 180.0)
    said = assess(context([pair, pair], of_deck=deck(bench={"ruler_read_mm": 0.3})))
    assert said.verdict is Verdict.LEFT_AS_FOUND
    assert said.next_reading is None
    assert "records differ in thickness" in said.headline


def test_a_tapering_tube_is_judged_by_its_axis() -> None:
    # derived: lower edge level, tube 8 mm thick in front and 14 at the rear: axis 3 mm high
    reading = TaperedTube(
        edge=TubeEdge.BOTTOM,
        front_mm=20.0,
        front_diameter_mm=8.0,
        rear_mm=20.0,
        rear_diameter_mm=14.0,
        spacing_mm=200.0,
    )
    assert value(assess(context([reading])), "height") == pytest.approx(3.0)
    upper = reading.model_copy(update={"edge": TubeEdge.TOP, "front_mm": 28.0, "rear_mm": 34.0})
    assert value(assess(context([upper])), "height") == pytest.approx(3.0)


def test_an_angle_is_judged_over_the_arm() -> None:
    said = assess(context([TubeAngle(pitch_deg=-1.0)]))
    # A printed table (memory) gives 0.017455 as the tangent of 1 degree: 4.177 mm over 239.296 mm.
    assert value(said, "height") == pytest.approx(-4.177, abs=5e-4)
    assert said.next_move is not None
    assert said.next_move.parts[0].amount > 0


def test_a_thicker_record_to_be_played_asks_for_a_higher_rear() -> None:
    level = TubeAngle(pitch_deg=0.0)
    said = assess(context([level] * 3, record_here_mm=1.2, record_played_mm=3.2))
    assert said.verdict is Verdict.MOVE
    assert said.next_move is not None
    assert said.next_move.parts[0].amount == pytest.approx(2.0, abs=0.06)
    assert any("thicker" in note for note in said.notes)


def test_after_a_move_it_asks_to_read_again_and_says_what_to_expect() -> None:
    said = assess(context([TubeAngle(pitch_deg=1.0), moved(Control.PILLAR, -4.2)]))
    assert said.verdict is Verdict.READ_AGAIN
    assert any(note.startswith("Expected after the move: ") for note in said.notes)
    assert value(said, "height") == pytest.approx(0.0, abs=0.3)
    roles = [item.role for item in said.picture.items if isinstance(item, Curve)]
    assert MarkRole.PREDICTED in roles
    assert MarkRole.BEFORE in roles


def test_a_collar_is_told_in_turns() -> None:
    collar = deck(height={"control": "collar", "mm_per_turn": 0.5})
    said = assess(context([TubeAngle(pitch_deg=0.5)], of_deck=collar))
    assert said.next_move is not None
    (part,) = said.next_move.parts
    assert part.unit == "turns"
    assert part.amount == pytest.approx(2 * (part.equivalent_mm or 0.0))
    assert (part.amount * 8) == pytest.approx(round(part.amount * 8))
    assert part.amount < 0


@pytest.mark.parametrize(
    ("pitch", "control", "sign"),
    [(-0.5, Control.BASE_SHIM, 1), (2.4, Control.HEAD_SHIM, 1)],
)
def test_shims_go_under_the_base_or_under_the_head(
    pitch: float, control: Control, sign: int
) -> None:
    shims = deck(height={"control": "shims", "travel_down_mm": 0.0, "travel_up_mm": 6.0})
    said = assess(context([TubeAngle(pitch_deg=pitch)], of_deck=shims))
    assert said.next_move is not None
    (part,) = said.next_move.parts
    assert part.control is control
    assert part.amount * sign > 0
    obeyed = assess(context([TubeAngle(pitch_deg=pitch), said.next_move.parts], of_deck=shims))
    assert value(obeyed, "height") == pytest.approx(0.0, abs=0.4)


def test_a_shim_put_under_the_base_comes_out_again_first() -> None:
    shims = deck(height={"control": "shims", "travel_down_mm": 0.0, "travel_up_mm": 6.0})
    events: list[Step] = [
        TubeAngle(pitch_deg=-1.0),
        moved(Control.BASE_SHIM, 5.0),
        TubeAngle(pitch_deg=0.3),
    ]
    said = assess(context(events, of_deck=shims))
    assert said.next_move is not None
    (part,) = said.next_move.parts
    assert part.control is Control.BASE_SHIM
    assert part.amount < 0


def test_the_end_of_travel_is_said_and_a_way_on_offered() -> None:
    stuck = deck(height={"travel_down_mm": 0.0})
    said = assess(context([TubeAngle(pitch_deg=1.0)] * 2, of_deck=stuck))
    assert said.verdict is Verdict.LEFT_AS_FOUND
    assert said.next_move is not None
    assert said.next_move.parts[0].control is Control.HEAD_SHIM
    plug = assess(
        context(
            [TubeAngle(pitch_deg=1.0)] * 2,
            of_deck=stuck,
            of_cartridge=cartridge(mounting="plug-in"),
        )
    )
    assert plug.verdict is Verdict.LEFT_AS_FOUND
    assert plug.next_move is None
    assert any("would level the arm" in note for note in plug.notes)


def test_travel_is_never_overrun() -> None:
    tight = deck(height={"travel_up_mm": 2.0})
    said = assess(context([TubeAngle(pitch_deg=-1.5)], of_deck=tight))
    assert said.next_move is not None
    assert said.next_move.parts[0].amount == pytest.approx(2.0)
    assert any("travel ends" in note for note in said.notes)


@pytest.mark.parametrize("mounting", ["tapped", "through holes", "plug-in"])
def test_a_fixed_height_is_good_or_left_as_found(mounting: str) -> None:
    fixed = deck(height={"control": "none"})
    body = cartridge(mounting=mounting)
    assert not applies(fixed, body).adjusts
    assert applies(fixed, body).reason
    near = [TubeAngle(pitch_deg=0.0)] * 3
    assert assess(context(near, of_deck=fixed, of_cartridge=body)).verdict is Verdict.GOOD
    far = [TubeAngle(pitch_deg=-1.0)] * 3
    said = assess(context(far, of_deck=fixed, of_cartridge=body))
    assert said.verdict is Verdict.LEFT_AS_FOUND
    assert "4.2" in said.headline


def test_disagreeing_readings_are_named() -> None:
    said = assess(context([heights(27.0, 27.0), heights(27.0, 31.0)]))
    assert said.verdict is Verdict.READ_AGAIN
    assert any("Reading 2" in note for note in said.notes)


def test_a_slope_no_arm_plays_at_is_read_twice_before_anything_is_moved_by_it() -> None:
    absurd = heights(20.0, 50.0, 180.0)  # derived: atan(30 / 180) = 9.46 degrees
    first = assess(context([absurd]))
    assert first.verdict is Verdict.READ_AGAIN
    assert first.next_move is None
    assert first.headline == (
        "A slope of 9.5°? Read both heights again, from the record's surface."
    )
    assert assess(context([TubeAngle(pitch_deg=-9.0)])).headline == (
        "A slope of 9.0°? Read it again, with the stylus on the record."
    )
    assert assess(context([absurd, absurd])).next_move is not None
    assert assess(context([heights(20.0, 35.0, 180.0)])).next_move is not None  # 4.8 degrees


def test_a_cartridge_exchanged_elsewhere_makes_older_readings_void() -> None:
    start = datetime(2024, 1, 1, 12, tzinfo=UTC)
    exchange = MovePart(control=Control.CARTRIDGE, amount=1.0, unit="")
    log = {
        "arm_height": (
            Trial(at=start, reading=TubeAngle(pitch_deg=2.0)),
            Trial(at=start + timedelta(hours=2), reading=TubeAngle(pitch_deg=0.0)),
        ),
        "mount": (Trial(at=start + timedelta(hours=1), moves=(exchange,)),),
    }
    seen = Context("arm_height", deck(), cartridge(), log=log)
    assert value(assess(seen), "height") == pytest.approx(0.0)


def test_a_thicker_record_between_readings_is_allowed_for() -> None:
    # a record 2 mm thicker lifts the stylus, so the rear is 2 mm lower at the pillar (derived)
    events: list[Step] = [TubeAngle(pitch_deg=0.0), moved(Control.RECORD, 2.0)]
    said = assess(context(events))
    assert said.verdict is Verdict.READ_AGAIN
    assert value(said, "height") == pytest.approx(-2.0)


LOOKED = ControlChecked(control=Control.PILLAR)


def test_a_pillar_that_does_nothing_is_asked_about_and_left_after_a_second_move() -> None:
    roomy = deck(height={"travel_down_mm": 20.0})
    events: list[Step] = [TubeAngle(pitch_deg=1.0)]
    orders = []
    for _ in range(12):
        said = assess(context(events, of_deck=roomy))
        if said.verdict.passes:
            break
        if said.questions:
            assert said.questions[0].control is Control.PILLAR
            assert said.next_move is None
            events.append(LOOKED)
            continue
        if said.next_move is not None:
            orders.append(said.next_move.parts[0].amount)
            events.append(said.next_move.parts)
        events.append(TubeAngle(pitch_deg=1.0))
    assert said.verdict is Verdict.LEFT_AS_FOUND
    assert "has no effect" in said.headline
    assert events.count(LOOKED) == 1
    assert len(orders) == 2


@pytest.mark.parametrize("gain", [1.0, 0.6, 1.5, -1.0])
@pytest.mark.parametrize("seed", range(6))
def test_obeying_the_step_ends_parallel(gain: float, seed: int) -> None:
    random = np.random.default_rng([seed, round(abs(gain) * 10)])
    bench = deck(height={"travel_up_mm": 30.0, "travel_down_mm": 30.0})
    high = float(random.uniform(-6, 6))
    events: list[Step] = []
    said = assess(context(events, of_deck=bench))
    for _ in range(40):
        if said.verdict.passes:
            break
        if said.next_move is not None and said.verdict is Verdict.MOVE:
            amount = said.next_move.parts[0].amount
            high += gain * amount + float(random.normal(0, 0.05))
            events.append(said.next_move.parts)
        if said.questions:
            events.append(LOOKED)
        pitch = math.degrees(math.atan(high / 239.296)) + float(random.normal(0, 0.05))
        events.append(TubeAngle(pitch_deg=pitch))
        said = assess(context(events, of_deck=bench))
    assert said.verdict.passes, said.headline
    assert abs(high) <= 1.0 * 1.5  # the tolerance, and a 95 % interval's rare miss
    moves = sum(isinstance(event, tuple) for event in events)
    assert moves <= (3 if gain == 1.0 else 6)


@given(data=st.data())
@settings(max_examples=60)
def test_nothing_raises_and_no_verdict_is_a_dead_end(data: st.DataObject) -> None:
    own = step_named("arm_height")
    chosen = ArmHeightChoices(
        record_here_mm=data.draw(st.floats(0.5, 12)), record_played_mm=data.draw(st.floats(0.5, 12))
    )
    said = assess(
        Context(
            "arm_height",
            data.draw(decks()),
            data.draw(cartridges()),
            log={"arm_height": data.draw(trials(own))},
            chosen={"arm_height": chosen},
        )
    )
    assert said.headline.endswith(".")
    assert len(said.headline) <= 90
    assert said.verdict is not Verdict.MOVE or said.next_move is not None
    assert arm_height.NAME == "arm_height"


@pytest.mark.parametrize("control", list(HeightControl))
def test_every_height_control_answers_both_ways(control: HeightControl) -> None:
    for pitch in (-1.0, 1.0):
        said = assess(
            context([TubeAngle(pitch_deg=pitch)] * 2, of_deck=deck(height={"control": control}))
        )
        expected = Verdict.LEFT_AS_FOUND if control is HeightControl.NONE else Verdict.MOVE
        assert said.verdict is expected


def asked(*events: Step, **changes: Any) -> NextReading | None:
    return arm_height.assess(context(events, **changes)).next_reading


def test_what_to_read_next_is_said_as_data() -> None:
    level = heights(27.0, 27.0, 180.0)
    first, close = asked(), asked(level, of_deck=deck(**FINE))
    assert first is not None
    assert (first.way, first.count) == ("", None)
    assert close == NextReading(count=1, why=message("arm_height.close"))
    assert asked(level) is None
    finer = asked(heights(27.0, 27.2), of_deck=deck(bench={"ruler_read_mm": 2.0}))
    assert finer is not None
    assert (finer.way, finer.longer, finer.count) == ("tube angle", True, None)
    bench = {"ruler_read_mm": 1.0, "has_inclinometer": False}
    blunt = asked(heights(27.0, 27.2), of_deck=deck(bench=bench))
    assert blunt is not None
    assert blunt.way == ""


def test_where_to_move_is_said_as_data() -> None:
    said = arm_height.assess(context([TubeAngle(pitch_deg=1.0)]))
    assert isinstance(said.headline, Message)
    assert said.headline.key == "arm_height.move"
    assert said.headline.values["order"] == "lower_pillar"
    assert said.cautions == (Guard("arm_locked", Act.MOVE),)
