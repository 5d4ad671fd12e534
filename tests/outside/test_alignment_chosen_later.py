"""Readings taken for one alignment, and another chosen afterwards.

By hand, on the example arm of D = 222 mm. Löfgren A between 60.325 and 146.05 mm asks for
L = 239.296 mm and an offset of 22.986 degrees, nulls at 65.998 and 120.891 mm (found by closed form
and by a brute-force optimiser). Own nulls at 60 and 115 mm ask for

    L = sqrt(222^2 + 60 * 115) = 237.032 mm, offset = asin(175 / (2 * 237.032)) = 21.664 degrees

(law of cosines at both nulls, where the head is tangent). So a head that stands right on the
protractor of the first is 2.264 mm too long and 1.322 degrees too far in for the second, and what
it shows at 60 and 115 mm is found by vectors.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from core.fitting import (
    Assessment,
    Body,
    ChoiceMade,
    Control,
    Fitting,
    Journey,
    MoveMade,
    ReadingTaken,
    StepAccepted,
    StepState,
    Verdict,
    Withdrawn,
)
from core.history import timeline_of
from core.steps.alignment import (
    AlignmentChoices,
    Criterion,
    GridAngles,
    GrooveStandard,
    Landing,
    ParallelPath,
)
from core.steps.alignment.readings import ProtractorReading
from core.swap import Past, plan_swap
from core.workflow import journey_of, outcomes_of
from tests.core.steps.alignment.kit import TIGHTEN, both, head_angle
from tests.examples import cartridge, deck
from tests.kit import fitting_of, status_of, value
from tests.worded import worded

LENGTH, OFFSET = 239.296, 22.986
OTHER_LENGTH = math.sqrt(222.0**2 + 60.0 * 115.0)
OTHER_OFFSET = math.degrees(math.asin(175.0 / (2.0 * OTHER_LENGTH)))

FIRST = AlignmentChoices()
SECOND = AlignmentChoices(
    criterion=Criterion.OWN_NULLS, own_null_inner_mm=60.0, own_null_outer_mm=115.0
)


def read(reading: ProtractorReading) -> ReadingTaken:
    return ReadingTaken(step="alignment", reading=reading.model_dump(mode="json"))


def choose(chosen: AlignmentChoices) -> ChoiceMade:
    return ChoiceMade(step="alignment", choices=chosen.model_dump(mode="json"))


RIGHT = (*[read(both())] * 3, MoveMade(step="alignment", parts=TIGHTEN), *[read(both())] * 3)
"""The stylus on the mark and the head along the grid, before and after tightening."""


def judged(*bodies: Body) -> Assessment:
    said: Assessment = worded(status_of(_journey(fitting_of(*bodies)), "alignment").assessment)
    return said


def _journey(fitting: Fitting) -> Journey:
    return journey_of(deck(), cartridge(), fitting)


def test_a_head_right_for_one_alignment_is_not_said_to_be_right_for_another() -> None:
    assert judged(*RIGHT).verdict is Verdict.GOOD
    now = judged(*RIGHT, choose(SECOND))
    assert now.verdict is Verdict.MOVE
    assert value(now, "effective_length") == pytest.approx(LENGTH, abs=0.02)
    assert value(now, "offset") == pytest.approx(OFFSET, abs=0.02)
    assert value(now, "slide") == pytest.approx(LENGTH - OTHER_LENGTH, abs=0.02)
    assert value(now, "twist") == pytest.approx(OFFSET - OTHER_OFFSET, abs=0.02)
    assert now.next_move is not None
    asked = {part.control: part.amount for part in now.next_move.parts}
    assert asked[Control.SLIDE] == pytest.approx(-2.264, abs=0.05)
    assert asked[Control.TWIST] == pytest.approx(-1.322, abs=0.05)
    for which, radius in (("inner", 60.0), ("outer", 115.0)):
        by_vectors = head_angle(LENGTH, OFFSET, radius)
        assert value(now, f"error_{which}") == pytest.approx(by_vectors, abs=0.02)
    assert any("Löfgren A" in str(note) and "leave them out" in str(note) for note in now.notes)


def test_the_landing_alone_is_converted_with_the_interval_of_all_that_is_uncertain() -> None:
    """The interval beside a draw of 20 000 benches, with circles and points and nothing fitted.

    The mark is L from the pivot as drawn at (D, 0); the true pivot lies elsewhere on the line, so
    the arm is as long as the stylus on its groove is far from there.
    """
    of_deck = deck()
    u_pivot = of_deck.arm.pivot_to_spindle_error_mm
    u_landing = of_deck.bench.protractor_read_mm
    rng = np.random.default_rng(11)
    reach = LENGTH + rng.normal(0.0, u_landing, 20_000)
    pivot = 222.0 + rng.normal(0.0, u_pivot, 20_000)
    x = (65.998**2 - reach**2 + 222.0**2) / (2.0 * 222.0)
    y = np.sqrt(65.998**2 - x**2)
    off = np.hypot(x - pivot, y) - np.sqrt(pivot**2 + 60.0 * 115.0)

    now = judged(read(Landing(landing_mm=0.0)), choose(SECOND))
    figure = now.figure("slide")
    assert figure is not None
    assert figure.value == pytest.approx(float(off.mean()), abs=0.02)
    assert figure.half_width == pytest.approx(1.96 * float(off.std()), rel=0.04)


def test_angles_at_named_radii_tell_the_same_whatever_is_chosen() -> None:
    angles = GridAngles(inner_deg=0.5, outer_deg=-0.5, inner_mm=62.0, outer_mm=118.0)
    before = judged(choose(SECOND), read(angles))
    after = judged(read(angles), choose(SECOND))
    assert value(after, "slide") == value(before, "slide")
    assert value(after, "twist") == value(before, "twist")
    assert not any("leave them out" in str(note) for note in after.notes)


def test_a_reading_of_the_new_protractor_agrees_with_the_converted_ones() -> None:
    """What the same head shows on the new protractor, by vectors: one head, no disagreement."""
    seen = both(
        LENGTH - OTHER_LENGTH,
        head_angle(LENGTH, OFFSET, 60.0),
        head_angle(LENGTH, OFFSET, 115.0),
    )
    now = judged(read(both()), read(both()), choose(SECOND), read(seen))
    assert value(now, "slide") == pytest.approx(2.264, abs=0.02)
    assert value(now, "twist") == pytest.approx(1.322, abs=0.02)
    assert now.verdict is Verdict.MOVE


def test_the_head_set_for_the_second_is_good_by_it_alone() -> None:
    """Nobody is sent back: what was read on the second counts as read on it."""
    now = judged(choose(SECOND), *RIGHT)
    assert now.verdict is Verdict.GOOD
    assert value(now, "effective_length") == pytest.approx(OTHER_LENGTH, abs=0.02)
    assert not any("leave them out" in str(note) for note in now.notes)


def test_choosing_back_or_undoing_the_choice_makes_it_good_again() -> None:
    assert judged(*RIGHT, choose(SECOND), choose(FIRST)).verdict is Verdict.GOOD
    undone = len(RIGHT) + 1
    assert judged(*RIGHT, choose(SECOND), Withdrawn(entry=f"f-{undone}")).verdict is Verdict.GOOD


def test_a_choice_taken_back_after_reading_is_no_way_round() -> None:
    """Read for the second, then the second taken back: the head still stands as it did."""
    now = judged(choose(SECOND), *RIGHT, Withdrawn(entry="f-1"))
    assert now.verdict is Verdict.MOVE
    assert value(now, "slide") == pytest.approx(OTHER_LENGTH - LENGTH, abs=0.02)
    again = judged(choose(SECOND), *RIGHT, Withdrawn(entry="f-1"), Withdrawn(entry="f-9"))
    assert again.verdict is Verdict.GOOD


def test_a_reading_left_out_and_brought_back_keeps_its_alignment() -> None:
    left = Withdrawn(entry="f-6"), choose(SECOND), Withdrawn(entry=f"f-{len(RIGHT) + 1}")
    assert value(judged(*RIGHT, *left), "slide") == pytest.approx(2.264, abs=0.02)


def test_an_acceptance_does_not_carry_over_to_another_alignment() -> None:
    taken = StepAccepted(step="alignment", verdict=Verdict.GOOD)
    good = status_of(_journey(fitting_of(*RIGHT, taken)), "alignment")
    assert good.state is not StepState.IN_HAND
    now = status_of(_journey(fitting_of(*RIGHT, taken, choose(SECOND))), "alignment")
    assert now.state is StepState.IN_HAND


def test_a_reason_given_for_one_alignment_keeps_no_other() -> None:
    off = [read(both(3.0, 2.0, 2.0))] * 3
    kept = StepAccepted(step="alignment", verdict=Verdict.MOVE, reason="As the owner likes it.")
    before = status_of(_journey(fitting_of(*off, kept)), "alignment")
    assert before.state is StepState.KEPT
    now = status_of(_journey(fitting_of(*off, kept, choose(SECOND))), "alignment")
    assert now.state is StepState.IN_HAND


def test_summary_history_and_plan_tell_the_arm_that_was_read() -> None:
    fitting = fitting_of(*RIGHT, choose(SECOND))
    journey = _journey(fitting)
    told = {
        row.either.key: row
        for outcome in outcomes_of(journey)
        if outcome.step == "alignment"
        for row in outcome.figures
    }
    length = told["effective_length"].either
    assert length.value == pytest.approx(LENGTH, abs=0.02)
    assert length.target == pytest.approx(OTHER_LENGTH, abs=0.02)

    past = Past(fitting, 1, 1, journey)
    (followed,) = (
        one for one in timeline_of([past]).quantities if one.key.endswith("effective_length")
    )
    kept = followed.values[0]
    assert kept is not None
    assert kept.value == pytest.approx(LENGTH, abs=0.02)

    # A twin of the old cartridge put where the old one sat is as much too long as that was.
    plan = plan_swap(deck(), past, cartridge(name="Example twin"))
    (start,) = (s for s in plan.starts if s.step == "alignment" and s.key == "effective_length")
    assert start.part is not None
    assert start.part.amount == pytest.approx(-2.3, abs=0.05)


def test_a_path_read_between_other_grooves_is_the_same_path() -> None:
    """A straight path 1 mm beside the spindle: the same line at any two radii, by hand.

    Ahead of the line by 0 mm at 60.325 and 1 mm at 146.05: carried on to the spindle it misses by
    -60.325 / (146.05 - 60.325) = -0.704 mm. Between grooves of 80 and 140 mm it would be -1.333.
    """
    arm = {"kind": "parallel tracking", "pivot_to_spindle_mm": None}
    of_deck = deck(arm={**arm, "effective_length_mm": 60.0, "offset_deg": 0.0})
    path = ParallelPath(inner_landing_mm=0.0, outer_landing_mm=1.0, head_deg=0.0)
    body = ReadingTaken(step="alignment", reading=path.model_dump(mode="json"))
    own = AlignmentChoices(grooves=GrooveStandard.OWN, own_inner_mm=80.0, own_outer_mm=140.0)
    for entries in ((body,), (body, choose(own))):
        status = status_of(journey_of(of_deck, cartridge(), fitting_of(*entries)), "alignment")
        assert value(status.assessment, "slide") == pytest.approx(-0.704, abs=0.01)
