"""A fitting on one of several arms: which entries count once another arm is named."""

from __future__ import annotations

from core.fitting import (
    ArmUsed,
    Entry,
    Fitting,
    Planned,
    ReadingTaken,
    StepAccepted,
    Verdict,
    Withdrawn,
)
from core.records import first_arm
from tests.arms import REAR, rear_arm, two_arms
from tests.kit import fitting_of

KEEPS = ("level", "speed")
FRONT_USED = ArmUsed.of(first_arm(two_arms()), KEEPS)
REAR_USED = ArmUsed.of(rear_arm(), KEEPS)
LEVEL = ReadingTaken(step="level", reading={"way": "bubble"})
WEIGHED = ReadingTaken(step="rough_downforce", reading={"way": "scale", "downforce_gf": 2.0})
ACCEPTED = StepAccepted(step="rough_downforce", verdict=Verdict.GOOD)


def counting(fitting: Fitting) -> list[str]:
    return [entry.id.removeprefix("f-") for entry in fitting.counting()]


def test_a_fitting_that_names_no_arm_is_about_the_first() -> None:
    fitting = fitting_of(LEVEL, WEIGHED)
    assert (fitting.arm, fitting.arm_key) == (None, "")
    assert counting(fitting) == ["1", "2"]


def test_what_was_done_on_another_arm_counts_no_more_but_the_level_does() -> None:
    plan = Planned(from_fitting="before")
    fitting = fitting_of(FRONT_USED, plan, LEVEL, WEIGHED, ACCEPTED, REAR_USED)
    assert counting(fitting) == ["1", "3", "6"]
    assert fitting.arm_key == REAR
    assert fitting.planned is None


def test_back_on_the_first_arm_its_work_counts_again() -> None:
    fitting = fitting_of(FRONT_USED, WEIGHED, REAR_USED, WEIGHED, FRONT_USED)
    assert counting(fitting) == ["1", "2", "3", "5"]


def test_a_weighing_of_the_other_arm_never_comes_to_count_for_this_one() -> None:
    naming = fitting_of(FRONT_USED, WEIGHED, REAR_USED, WEIGHED)
    back = naming.with_entry(Entry(id="f-5", body=Withdrawn(entry="f-3")))
    assert back.arm_key == ""
    assert counting(back) == ["1", "2"]
    again = back.with_entry(Entry(id="f-6", body=Withdrawn(entry="f-5")))
    assert again.arm_key == REAR
    assert counting(again) == ["1", "3", "4"]


def test_the_entry_reads_back_to_the_same_arm() -> None:
    entry = Entry(body=REAR_USED)
    assert Entry.model_validate_json(entry.model_dump_json()) == entry
    assert isinstance(entry.body, ArmUsed)
    assert entry.body.was.arm.effective_length_mm == 308.8
