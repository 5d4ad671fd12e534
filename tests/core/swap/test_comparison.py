"""What a plan foretold against what was found, and what several swaps teach of the next."""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.fitting import Body, Control, MoveMade, MovePart, Planned, Start, Withdrawn
from core.language import Numbers
from core.steps.shared.swap_part import StepForecast
from core.swap import Foretold, Past, compare, plan_swap
from core.swap.comparison import Errors, corrected, errors_of
from core.swap.words import plan_lines
from core.workflow import described
from tests.core.swap.swaps import heights, left, moved, past, read, started, weighed
from tests.examples import cartridge, deck
from tests.worded import worded

NEW = cartridge(name="Example cartridge, fine line", mass_g=8.0)
BACK = MovePart(control=Control.COUNTERWEIGHT, amount=-4.75, unit="turns")


def downforce_start(predicted: float = 2.0, half_width: float = 0.3, shift: float = 0.0) -> Start:
    return Start(
        step="rough_downforce",
        key="downforce",
        part=BACK,
        predicted=predicted,
        half_width=half_width,
        unit="gf",
        reason="Heavier.",
        learned_shift=shift,
    )


def begun(*bodies: Body, starts: tuple[Start, ...] | None = None, number: int = 1) -> Past:
    plan = Planned(from_fitting="x", starts=(downforce_start(),) if starts is None else starts)
    return past(deck(), NEW, [plan, *bodies], number=number, cartridge_id="b")


def told(one: Past, key: str = "downforce", numbers: Numbers | None = None) -> Foretold:
    return next(f for f in worded(compare(one.journey), numbers) if f.key == key)


def test_without_a_plan_there_is_nothing_to_compare() -> None:
    assert compare(past(deck(), NEW, left()).journey) == ()


def test_what_is_not_read_yet_is_said_so() -> None:
    foretold = told(begun())
    assert (foretold.found, foretold.error) == (None, None)
    assert foretold.label == "Downforce"
    assert foretold.sentence == "Expected 2.00\u00a0±\u00a00.30\u00a0gf, not read yet."


@pytest.mark.parametrize(
    ("step", "key", "unit", "predicted", "said"),
    [
        ("arm_height", "pillar", "mm", -0.22, "Expected 0.22\u00a0±\u00a01.08\u00a0mm down, "),
        ("arm_height", "pillar", "mm", 0.22, "Expected 0.22\u00a0±\u00a01.08\u00a0mm up, "),
        ("tilt", "tilt", "°", -0.4, "Expected 0.40\u00a0±\u00a01.08° right side high, "),
        ("alignment", "twist", "°", -0.4, "Expected 0.40\u00a0±\u00a01.08° turned out too far, "),
    ],
)
def test_what_is_expected_has_its_direction_in_words_before_anything_is_read(
    step: str, key: str, unit: str, predicted: float, said: str
) -> None:
    start = Start(step=step, key=key, predicted=predicted, half_width=1.08, unit=unit)
    foretold = told(begun(starts=(start,)), key)
    assert foretold.sentence == f"{said}not read yet."
    assert foretold.ways is not None


def test_found_is_what_was_read_after_the_planned_move_and_before_the_next() -> None:
    made = MoveMade(step="rough_downforce", parts=(BACK,))
    one = begun(
        weighed(6.2, "rough_downforce"),
        made,
        weighed(2.12, "rough_downforce"),
        moved("rough_downforce", Control.COUNTERWEIGHT, -0.25, "turns"),
        weighed(2.0, "rough_downforce"),
    )
    foretold = told(one, numbers=Numbers(","))
    assert foretold.found == pytest.approx(2.12)
    assert foretold.error == pytest.approx(0.12)
    assert foretold.found_half_width is not None
    assert foretold.sentence == (
        "Expected 2,00\u00a0±\u00a00,30\u00a0gf, found 2,12\u00a0gf: +0,12\u00a0gf, "
        "within what was expected."
    )
    off_the_record = begun(weighed(2.6, "rough_downforce"))
    assert told(off_the_record).error == pytest.approx(0.6)
    assert "further off than expected" in told(off_the_record).sentence


def test_another_move_than_the_planned_one_tests_nothing() -> None:
    other = moved("rough_downforce", Control.COUNTERWEIGHT, -2.0, "turns")
    assert told(begun(other, weighed(2.6, "rough_downforce"))).found is None


def known_start(*, spared: bool = False, predicted: float = 2.0) -> Start:
    where = {"part": None, "spared": BACK} if spared else {}
    return downforce_start(predicted, 0.4).model_copy(
        update={"gain": 0.418, "gain_u": 0.03, **where}
    )


def test_a_move_of_another_amount_changes_what_is_foretold() -> None:
    # 3 turns back in place of 4.75: 1.75 turns of 0.418 gf more are left on, 0.7315 gf.
    three = moved("rough_downforce", Control.COUNTERWEIGHT, -3.0, "turns")
    one = told(begun(three, weighed(2.80, "rough_downforce"), starts=(known_start(),)))
    assert one.predicted == pytest.approx(2.7315)
    assert one.found == pytest.approx(2.80)
    assert one.error == pytest.approx(0.0685)
    assert one.sentence.startswith(
        "Moved differently from the plan (Counterweight 3.00\u00a0turns away from the pivot), so "
        "what was expected changes too. Expected 2.73\u00a0±\u00a00."
    )
    # The same in two goes, and nothing read yet.
    halves = [moved("rough_downforce", Control.COUNTERWEIGHT, -1.5, "turns")] * 2
    ahead = told(begun(*halves, starts=(known_start(),)))
    assert ahead.predicted == pytest.approx(2.7315)
    assert ahead.found is None
    # A weight that was left, and moved all the same.
    left_so = told(begun(three, starts=(known_start(spared=True, predicted=3.9),)))
    assert left_so.predicted == pytest.approx(2.646)  # three turns take off 1.254 gf of 3.9


def test_of_two_controls_moved_at_once_only_the_planned_one_counts() -> None:
    """Its 2 mm in place of 3 leave 1 mm; the degree that the head was turned by is another's."""
    back = MovePart(control=Control.SLIDE, amount=-3.0, unit="mm")
    start = Start(
        step="alignment",
        key="slide",
        part=back,
        predicted=0.0,
        half_width=1.0,
        unit="mm",
        gain=1.0,
        gain_u=0.02,
    )
    for other in (
        MovePart(control=Control.TWIST, amount=1.0, unit="°"),
        MovePart(control=Control.ARM_BASE, amount=0.5, unit="mm"),
    ):
        made = MoveMade(step="alignment", parts=(back.model_copy(update={"amount": -2.0}), other))
        one = told(begun(made, starts=(start,)), "slide")
        assert one.predicted == pytest.approx(1.0)
        assert "Moved differently from the plan" in one.sentence
        assert "2.00\u00a0mm" in one.sentence


@pytest.mark.parametrize("turns", [-3.0, -7.0])
def test_the_interval_goes_with_the_move(turns: float) -> None:
    # Outside: a million draws of what was there and of what a turn does, each normal.
    draws = np.random.default_rng(4)
    gain = draws.normal(0.418, 0.03, 1_000_000)
    of_the_move = 1.96 * 4.75 * 0.03
    before = draws.normal(2.0 + 4.75 * 0.418, math.sqrt(0.4**2 - of_the_move**2) / 1.96, 1_000_000)
    low, high = np.percentile(before + gain * turns, [2.5, 97.5])
    made = moved("rough_downforce", Control.COUNTERWEIGHT, turns, "turns")
    one = told(begun(made, starts=(known_start(),)))
    assert one.half_width == pytest.approx(0.5 * (high - low), rel=0.01)


def test_a_move_after_a_reading_is_the_readings_move() -> None:
    first = weighed(2.1, "rough_downforce")
    then = moved("rough_downforce", Control.COUNTERWEIGHT, -0.25, "turns")
    one = told(begun(first, then, weighed(2.0, "rough_downforce"), starts=(known_start(),)))
    assert (one.predicted, one.found) == (2.0, pytest.approx(2.1))


def test_a_move_entered_in_another_unit_is_the_same_move() -> None:
    planned_mm = BACK.model_copy(update={"equivalent_mm": -4.75 * 1.2})
    start = known_start().model_copy(update={"part": planned_mm})
    by_ruler = moved("rough_downforce", Control.COUNTERWEIGHT, -3.6, "mm")
    assert told(begun(by_ruler, starts=(start,))).predicted == pytest.approx(2.7315)


def test_a_withdrawn_reading_is_no_finding() -> None:
    one = begun(weighed(2.6, "rough_downforce"))
    slip = one.fitting.entries[1].id
    again = begun(weighed(2.6, "rough_downforce"), Withdrawn(entry=slip))
    assert told(again).found is None


def test_a_mass_that_was_not_weighed_and_a_dial_that_was_only_set_are_no_findings() -> None:
    mass = Start(step="mount", key="head_mass", predicted=9.0, half_width=0.4, unit="g")
    dial = Start(step="skating", key="setting", predicted=2.0, half_width=1.0, unit="gf")
    bodies = left(
        mount=(*left()[2:3], read("mount", way="weighed", weighed_g=9.3)),
        skating=(
            read("skating", way="setting", setting=2.0),
            moved("skating", Control.SKATING, -0.5, "gf"),
            read("skating", way="setting", setting=1.5),
        ),
    )
    one = begun(*bodies, starts=(mass, dial))
    assert told(one, "head_mass").found == pytest.approx(9.3)
    assert told(one, "setting").found == pytest.approx(1.5)  # where it ended
    stated = begun(*left(), starts=(mass,))
    assert told(stated, "head_mass").found is None


def test_a_shim_put_back_first_does_not_hide_the_reading() -> None:
    shim = MovePart(control=Control.HEAD_SHIM, amount=2.0, unit="mm")
    up = MovePart(control=Control.PILLAR, amount=1.0, unit="mm")
    starts = (
        Start(step="arm_height", key="pillar", part=shim, unit="mm"),
        Start(step="arm_height", key="pillar", part=up, predicted=0.0, half_width=1.0, unit="mm"),
    )
    for parts in ((shim, up), (up, shim)):
        made = [MoveMade(step="arm_height", parts=(part,)) for part in parts]
        foretold = told(begun(*made, heights(0.6), starts=starts), "pillar")
        assert foretold.found == pytest.approx(-0.8, abs=0.02)  # 0.6 over 180 of 239 mm


def swapped(number: int, shown_gf: float, shift: float = 0.0) -> Past:
    return begun(
        weighed(shown_gf, "rough_downforce"), starts=(downforce_start(shift=shift),), number=number
    )


def test_three_swaps_teach_an_error_and_two_do_not() -> None:
    pasts = [swapped(n, shown) for n, shown in enumerate((2.31, 2.36, 2.33), start=1)]
    assert errors_of(pasts[:2]) == {}
    errors = errors_of(pasts)["rough_downforce", "downforce"]
    assert errors.count == 3
    assert errors.mean == pytest.approx(0.333, abs=1e-3)
    assert errors.is_told_apart
    assert not errors_of([swapped(n, s) for n, s in enumerate((1.7, 2.4, 2.1), start=1)])[
        "rough_downforce", "downforce"
    ].is_told_apart


def test_an_error_that_was_reckoned_in_is_not_forgotten_for_it() -> None:
    plain = [swapped(n, 2.3 + n / 100) for n in (1, 2, 3)]
    mended = [swapped(n, 2.0 + n / 100, shift=0.3) for n in (1, 2, 3)]
    key = ("rough_downforce", "downforce")
    assert errors_of(mended)[key].mean == pytest.approx(errors_of(plain)[key].mean)


def test_what_was_learned_moves_a_moved_control_and_shifts_what_stays() -> None:
    errors = {
        ("rough_downforce", "downforce"): Errors(0.3, 0.02, 4),
        ("tilt", "tilt"): Errors(-1.0, 0.1, 3),
    }
    in_both = BACK.model_copy(update={"equivalent_mm": -4.75 * 1.2})
    start = downforce_start().model_copy(update={"part": in_both})
    moving, seen = corrected(StepForecast(start, gain=0.4), errors)
    assert seen is not None
    assert moving.start.part is not None
    # 0.3 gf were left on: by 0.4 gf a turn three quarters of a turn more, of 1.2 mm a turn
    assert moving.start.part.amount == pytest.approx(-5.5)
    assert moving.start.part.equivalent_mm == pytest.approx(-6.6)
    assert moving.start.predicted == 2.0
    assert moving.start.learned_shift == 0.3
    tilt = Start(step="tilt", key="tilt", predicted=0.2, half_width=2.8, unit="°")
    staying, _ = corrected(StepForecast(tilt), errors)
    assert staying.start.predicted == pytest.approx(-0.8)
    assert staying.start.half_width == 2.8  # few swaps never narrow it
    untaught, none = corrected(StepForecast(tilt.model_copy(update={"key": "other"})), errors)
    assert none is None
    assert untaught.start.learned_shift == 0.0
    wide = {("tilt", "tilt"): Errors(0.1, 2.0, 4)}
    wider, _ = corrected(StepForecast(tilt), wide)
    assert wider.start.learned_shift == 0.0
    assert wider.start.half_width == pytest.approx(wide["tilt", "tilt"].half_width)


def test_the_next_plan_reckons_with_it_and_says_so() -> None:
    history = [swapped(n, shown) for n, shown in enumerate((2.31, 2.36, 2.33), start=1)]
    old = past(deck(), cartridge(), left(), number=5)
    alone = plan_swap(deck(), old, NEW)
    taught = plan_swap(deck(), old, NEW, history)
    plain_turns, _, _ = started(alone, "rough_downforce", "downforce")
    taught_turns, _, _ = started(taught, "rough_downforce", "downforce")
    assert plain_turns is not None
    assert taught_turns is not None
    assert taught_turns - plain_turns == pytest.approx(-0.80, abs=0.1)  # 0.8 of 0.418 gf
    assert any("3 earlier predictions" in said for said in worded(taught.taught))
    assert alone.taught == ()
    start = next(s for s in taught.planned().starts if s.step == "rough_downforce")
    assert start.learned_shift == pytest.approx(0.333, abs=1e-3)


def test_a_plan_is_told_in_words_among_the_entries() -> None:
    comma = Numbers(",")
    plan = Planned(from_fitting="x", starts=(downforce_start(),))
    assert comma.text(described(plan)) == (
        "Started from the fitting before it: Counterweight 4,75\u00a0turns away from the pivot"
    )
    back = Planned(from_fitting="x", settings_of="y")
    assert comma.text(described(back)) == "Started from the settings this cartridge had before"


def test_a_line_of_the_plan_says_what_is_to_be_expected_and_only_then() -> None:
    old = past(deck(), cartridge(), left())
    plan = plan_swap(deck(), old, NEW)
    told = compare(begun(starts=plan.starts).journey)
    assert told
    for line in plan_lines(plan, told):
        said = " ".join(Numbers().text(fact) for fact in line.facts)
        foretold = any(one.step == line.due.step for one in told)
        assert ("Expected" in said) is foretold, (line.due.step, said)
