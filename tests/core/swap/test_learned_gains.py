"""What a deck's controls do, learned from its fittings, and believed in the next one."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from core.fitting import Body, Control, Gain, Planned
from core.records import Cartridge
from core.steps.shared import LEAST_SHARE, stated_or_learned
from core.steps.shared.gain_samples import Sample, fitted, narrowed
from core.steps.speed import speed_key
from core.swap.learned_gains import learned_gains
from tests.core.swap.swaps import heights, left, moved, past, read, weighed
from tests.examples import cartridge, deck
from tests.worded import worded
from tests.worked import bubble

STATED = 0.41789  # 100 g over 239.296 mm, a thread of 1 mm: gf for one turn
CARTRIDGE: Cartridge = cartridge()
THIRTY_THREE = speed_key(33.333333)


def turned(turns: float, *, step: str = "final_downforce") -> Body:
    return moved(step, Control.COUNTERWEIGHT, turns, "turns", equivalent_mm=turns)


def weighings(start_gf: float, gain: float, *turns: float) -> list[Body]:
    """Weigh, turn, weigh: a counterweight that does so much a turn."""
    bodies: list[Body] = [weighed(start_gf)]
    shown = start_gf
    for amount in turns:
        shown += gain * amount
        bodies += [turned(amount), weighed(round(shown, 3))]
    return bodies


def of(gains: Iterable[Gain], control: Control, where: str = "") -> Gain | None:
    return next((g for g in gains if g.control is control and g.where == where), None)


def test_one_move_is_not_enough_and_two_are() -> None:
    once = past(deck(), CARTRIDGE, left(final_downforce=tuple(weighings(1.2, 0.5, 1.6))))
    assert of(learned_gains([once]), Control.COUNTERWEIGHT) is None
    again = past(
        deck(), CARTRIDGE, left(final_downforce=tuple(weighings(2.4, 0.5, -0.8))), number=1
    )
    gain = of(learned_gains([once, again]), Control.COUNTERWEIGHT)
    assert gain is not None
    assert gain.value == pytest.approx(0.5, abs=0.01)
    assert gain.samples == 2
    assert gain.unit == "gf/turn"
    assert gain.stated == pytest.approx(STATED, abs=1e-4)
    assert gain.half_width < 0.1


def test_more_moves_tell_it_better() -> None:
    few = past(deck(), CARTRIDGE, left(final_downforce=tuple(weighings(1.0, 0.5, 1, 1))))
    many = past(
        deck(), CARTRIDGE, left(final_downforce=tuple(weighings(1.0, 0.5, 1, 1, -1, -1, 1, 1)))
    )
    few_gain = of(learned_gains([few]), Control.COUNTERWEIGHT)
    many_gain = of(learned_gains([many]), Control.COUNTERWEIGHT)
    assert few_gain is not None
    assert many_gain is not None
    assert many_gain.half_width < few_gain.half_width


def test_a_weighing_that_was_mistyped_is_left_out() -> None:
    sound = weighings(0.8, 0.5, 1, 1, 1)
    slip: list[Body] = [weighed(1.0), turned(1.0), weighed(3.9)]
    pasts = [
        past(deck(), CARTRIDGE, left(final_downforce=tuple(sound)), number=0),
        past(deck(), CARTRIDGE, left(final_downforce=tuple(slip)), number=1),
    ]
    gain = of(learned_gains(pasts), Control.COUNTERWEIGHT)
    assert gain is not None
    assert gain.value == pytest.approx(0.5, abs=0.02)
    assert gain.samples == 3


def test_a_screw_that_turns_the_other_way_round_is_learned_so() -> None:
    back = past(deck(), CARTRIDGE, left(final_downforce=tuple(weighings(3.0, -0.4, 1, 1, -0.5))))
    gain = of(learned_gains([back]), Control.COUNTERWEIGHT)
    assert gain is not None
    assert gain.value == pytest.approx(-0.4, abs=0.02)


def test_a_control_that_does_nothing_teaches_nothing() -> None:
    stuck = past(deck(), CARTRIDGE, left(final_downforce=tuple(weighings(2.0, 0.0, 1, 1, 1))))
    assert of(learned_gains([stuck]), Control.COUNTERWEIGHT) is None


def test_what_was_learned_under_another_record_is_left_out() -> None:
    one = past(deck(), CARTRIDGE, left(final_downforce=tuple(weighings(0.8, 0.5, 1, 1, 1))))
    assert of(learned_gains([one], deck()), Control.COUNTERWEIGHT) is not None
    other_thread = deck(arm={"counterweight_mm_per_turn": 1.25})
    assert of(learned_gains([one], other_thread), Control.COUNTERWEIGHT) is None
    other_name = deck(name="The same deck under another name", tolerances={"tilt_deg": 0.5})
    assert of(learned_gains([one], other_name), Control.COUNTERWEIGHT) is not None
    since = past(
        other_thread,
        CARTRIDGE,
        left(final_downforce=tuple(weighings(1.0, 0.6, 1, 1))),
        number=1,
        deck_revision=2,
    )
    gain = of(learned_gains([one, since]), Control.COUNTERWEIGHT)
    assert gain is not None
    assert gain.value == pytest.approx(0.6, abs=0.01)  # of the newest revision alone


def test_collar_feet_and_speed_are_learned_each_in_its_unit() -> None:
    on = deck(height={"control": "collar", "mm_per_turn": 1.0})
    raised: list[Body] = [heights(-3.0)]
    for rear in (-1.5, 0.0):  # one turn lifts the pillar by 2 mm: 1.5 over 180 of 239 mm
        raised.append(moved("arm_height", Control.PILLAR, 1.0, "turns", equivalent_mm=1.0))
        raised.append(heights(rear))
    levelled: list[Body] = [level(10.0), level(0.0, "left-right")]
    for slope in (6.0, 2.0):
        # The rear foot, 290 mm behind the other two: 0.8 turns at a true 1.45 mm are 4 mm/m.
        levelled.append(moved("level", Control.FOOT, -0.8, "turns", where="rear", equivalent_mm=-1))
        levelled += [level(slope), level(0.0, "left-right")]
    spun: list[Body] = [speed(32.8)]
    for rpm in (33.0, 33.2):  # 0.5 turns for 0.2 rpm: 1.2 % a turn
        spun += [moved("speed", Control.SPEED, 0.5, "turns", where=THIRTY_THREE), speed(rpm)]
    one = past(
        on, CARTRIDGE, left(arm_height=tuple(raised), level=tuple(levelled), speed=tuple(spun))
    )
    gains = learned_gains([one])
    collar, foot = of(gains, Control.PILLAR), of(gains, Control.FOOT)
    screw = of(gains, Control.SPEED, THIRTY_THREE)
    assert collar is not None
    assert (collar.unit, collar.stated) == ("mm/turn", 1.0)
    assert collar.value == pytest.approx(2.0, abs=0.05)
    assert foot is not None
    assert foot.unit == "mm/turn"
    assert foot.value == pytest.approx(1.45, abs=0.05)
    assert foot.samples == 2
    assert screw is not None
    assert screw.unit == "%/turn"
    assert screw.value == pytest.approx(1.2, abs=0.02)


def level(slope_mm_per_m: float, direction: str = "front-back") -> Body:
    return read("level", **bubble(direction, 2.0 * slope_mm_per_m))  # half a mm/m a division


def speed(rpm: float) -> Body:
    return read("speed", way="readout", speed_rpm=33.333333, rpm=rpm, minutes_running=15.0)


@pytest.mark.parametrize("learned", [True, False])
def test_the_next_fitting_believes_what_was_learned(learned: bool) -> None:
    gain = Gain(
        step="final_downforce",
        control=Control.COUNTERWEIGHT,
        value=0.8,
        half_width=0.05,
        unit="gf/turn",
        samples=5,
        stated=STATED,
    )
    plan = Planned(from_fitting="x", gains=(gain,) if learned else ())
    begun = past(deck(), CARTRIDGE, [plan, weighed(1.2, "rough_downforce")], finished=False)
    move = begun.journey.status("rough_downforce").assessment.next_move
    assert move is not None
    # 0.8 gf are lacking: one turn of 0.8 gf, or nearly two of 0.418 (statics)
    expected = 1.0 if learned else 1.914
    assert move.parts[0].amount == pytest.approx(expected, abs=0.07)
    source = "earlier fittings of this deck" if learned else "the weight's mass and thread"
    assert source in worded(move.reason)


def test_later_fittings_never_change_an_older_record() -> None:
    gain = Gain(
        step="speed",
        control=Control.SPEED,
        where=THIRTY_THREE,
        value=2.4,
        half_width=0.2,
        unit="%/turn",
        samples=4,
    )
    plan = Planned(from_fitting="x", gains=(gain,))
    bodies: list[Body] = [plan, *left(speed=(speed(33.0),))]
    begun = past(deck(), CARTRIDGE, bodies, finished=False)
    move = begun.journey.status("speed").assessment.next_move
    assert move is not None
    assert move.parts[0].amount == pytest.approx(0.417, abs=0.05)  # 1 % slow: 5 twelfths of 2.4 %
    assert "earlier fittings of this deck" in worded(move.reason)
    assert begun.journey.context("speed").gains == (gain,)


def test_a_gain_kept_under_the_printed_speed_still_serves_it() -> None:
    kept = Gain(
        step="speed",
        control=Control.SPEED,
        where="33⅓",
        value=2.4,
        half_width=0.2,
        unit="%/turn",
        samples=4,
    )
    bodies: list[Body] = [Planned(from_fitting="x", gains=(kept,)), *left(speed=(speed(33.0),))]
    begun = past(deck(), CARTRIDGE, bodies, finished=False)
    move = begun.journey.status("speed").assessment.next_move
    assert move is not None
    assert "earlier fittings of this deck" in worded(move.reason)


def test_the_better_of_stated_and_learned_is_taken() -> None:
    sure = Gain(step="x", control=Control.TILT, value=0.7, half_width=0.05, unit="°/°", samples=6)
    vague = sure.model_copy(update={"half_width": 0.6})
    chosen = stated_or_learned((sure,), Control.TILT, "", "°/°", 1.0, 0.1)
    assert (chosen.value, chosen.learned) == (0.7, True)
    assert chosen.share == pytest.approx(0.05 / 1.96 / 0.7, abs=1e-3)
    assert stated_or_learned((vague,), Control.TILT, "", "°/°", 1.0, 0.1).value == 1.0
    assert stated_or_learned((vague,), Control.TILT, "", "°/°", None, 0.1).value == 0.7
    assert stated_or_learned((sure,), Control.TILT, "", "mm", 1.0, 0.1).value == 1.0
    assert stated_or_learned((sure,), Control.TILT, "33", "°/°", 1.0, 0.1).value == 1.0
    exact = sure.model_copy(update={"half_width": 0.0})
    assert stated_or_learned((exact,), Control.TILT, "", "°/°", 1.0, 0.1).share == LEAST_SHARE


def test_few_samples_are_weighed_against_the_statement() -> None:
    agrees = [Sample(2.0, 1.02, 0.02)]
    value, share = narrowed(0.45, 0.25, agrees)
    assert value == pytest.approx(0.507, abs=0.01)
    assert share < 0.08
    differs = [Sample(2.0, -1.0, 0.02)]
    assert narrowed(0.45, 0.25, differs)[0] == pytest.approx(-0.5, abs=0.01)
    assert narrowed(None, 0.25, agrees)[0] == pytest.approx(0.51, abs=0.01)
    assert narrowed(0.45, 0.25, []) == (0.45, 0.25)
    assert narrowed(0.45, 0.25, [Sample(2.0, 0.001, 0.02)]) == (0.45, 0.25)


def test_scatter_beyond_the_errors_widens_the_interval() -> None:
    steady = [Sample(1.0, 0.50, 0.01), Sample(1.0, 0.51, 0.01), Sample(1.0, 0.49, 0.01)]
    wild = [Sample(1.0, 0.40, 0.01), Sample(1.0, 0.62, 0.01), Sample(1.0, 0.49, 0.01)]
    one, other = fitted(steady), fitted(wild)
    assert one is not None
    assert other is not None
    assert other[0].half_width() > 3.0 * one[0].half_width()
    assert fitted([Sample(1.0, 0.5, 0.01)]) is None
    assert fitted([]) is None


def gain_of(control: Control, value: float, unit: str, where: str = "") -> Gain:
    return Gain(
        step="x",
        control=control,
        where=where,
        value=value,
        half_width=0.05 * value,
        unit=unit,
        samples=4,
    )


def both_ways(slope_mm_per_m: float) -> tuple[Body, ...]:
    """Read both directions, and both once more with the level turned end for end."""
    there = (level(slope_mm_per_m), level(0.0, "left-right"))
    turned_round = (
        read("level", **bubble("front-back", -2.0 * slope_mm_per_m), turned=True),
        read("level", **bubble("left-right", 0.0), turned=True),
    )
    return (*there, *turned_round)


TWICE = [
    ("level", gain_of(Control.FOOT, 2.5, "mm/turn"), both_ways(5.0)),
    ("arm_height", gain_of(Control.PILLAR, 2.0, "mm/turn"), (heights(-3.0),)),
    ("tilt", gain_of(Control.TILT, 2.0, "°/°"),
     (read("tilt", way="gaps", left_mm=3.2, right_mm=2.0),)),
    ("speed", gain_of(Control.SPEED, 2.4, "%/turn", THIRTY_THREE), (speed(33.0),)),
]  # fmt: skip # rows of a table
"""Controls that do twice what is stated of them, and readings that ask for a move."""


@pytest.mark.parametrize(("step", "gain", "readings"), TWICE, ids=[one[0] for one in TWICE])
def test_every_control_that_does_twice_as_much_is_moved_half_as_far(
    step: str, gain: Gain, readings: tuple[Body, ...]
) -> None:
    on = deck(height={"control": "collar"})

    def asked(gains: tuple[Gain, ...]) -> float:
        plan = Planned(from_fitting="x", gains=gains)
        begun = past(on, CARTRIDGE, [plan, *left(**{step: readings})], finished=False)
        move = begun.journey.status(step).assessment.next_move
        assert move is not None
        return max(abs(part.amount) for part in move.parts)

    assert asked((gain,)) == pytest.approx(0.5 * asked(()), rel=0.08, abs=0.03)
