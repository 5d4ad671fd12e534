"""Short jobs: what is asked for, what is left out, and a check-up in which nothing is moved."""

from __future__ import annotations

from datetime import date

import pytest

from core.fitting import (
    Control,
    Finished,
    Journey,
    MoveMade,
    MovePart,
    ReadingTaken,
    StepAccepted,
    StepState,
    Verdict,
    Work,
    WorkAsked,
)
from core.language import Numbers
from core.maintenance.due import check_due
from core.maintenance.model import visit_of
from core.paper.bench_content import bench_content
from core.steps import STEP_NAMES
from core.workflow.refusals import why_refused, why_shut
from core.workflow.set_back import set_back_of
from core.workflow.summary import outcomes_of, work_of
from core.workflow.work import as_asked, work_asked
from tests.core.workflow.test_replay import Bench
from tests.worded import worded

WEIGHT = MovePart(control=Control.COUNTERWEIGHT, amount=0.25, unit="turns")


def asked_for(work: Work) -> Bench:
    bench = Bench()
    bench.enter(work_asked(work))
    return bench


def words(journey: Journey) -> str:
    return " ".join(Numbers().text(line) for line in work_of(journey))


@pytest.mark.parametrize("work", list(Work))
def test_only_what_is_asked_for_is_due_and_nobody_asks_why_the_rest_is_not_done(
    work: Work,
) -> None:
    bench = asked_for(work)
    asked = work_asked(work).steps
    assert bench.journey.due == asked[0]
    states = {one.step: one.state for one in bench.journey.statuses}
    left_out = {step for step, state in states.items() if state is StepState.NOT_ASKED}
    assert left_out == set(STEP_NAMES) - set(asked)
    assert bench.journey.status(asked[0]).is_open


def test_just_speed_ends_with_speed() -> None:
    bench = asked_for(Work.SPEED)
    refusal = worded(why_refused(bench.journey, Finished()))
    assert refusal is not None
    assert "Speed" in refusal
    bench.accept("speed", reason="no strobe here")
    assert bench.journey.due is None
    bench.enter(Finished())
    assert [one.step for one in outcomes_of(bench.journey)] == ["speed"]
    said = words(bench.journey)
    assert said.startswith("Asked for: Just speed. Not in this job: Level, ")
    sheet = bench_content(bench.journey)
    assert [step.title for step in sheet.steps] == ["9 Speed"]
    assert sheet.work[0] == "Asked for: Just speed."


def test_just_downforce_weighs_without_the_steps_before_and_names_the_skating_it_disturbs() -> None:
    bench = asked_for(Work.DOWNFORCE)
    bench.weigh(1.6, "final_downforce")
    assert bench.journey.status("final_downforce").assessment.verdict is Verdict.MOVE
    assert "skating" not in words(bench.journey).split("Not in this job")[0].lower()
    bench.move("final_downforce", Control.COUNTERWEIGHT, 0.25, "turns")
    still = set_back_of(bench.journey)
    assert still is not None
    assert "to match the new downforce" in str(worded(still.said))


def test_the_stylus_stays_up_in_a_short_job_until_it_was_weighed() -> None:
    bench = asked_for(Work.AFTER_TRANSPORT)
    shut = worded(why_shut(bench.journey, "skating", "test bands"))
    assert shut is not None
    assert shut.startswith("Keep the stylus up")


def test_what_is_done_in_a_step_that_was_not_asked_for_counts_as_everywhere() -> None:
    bench = asked_for(Work.SPEED)
    bench.weigh(2.0)
    assert bench.state("rough_downforce") is StepState.IN_HAND
    assert bench.journey.due == "rough_downforce"
    bench.accept("rough_downforce")
    assert bench.journey.due == "speed"
    assert [one.step for one in outcomes_of(bench.journey)] == ["rough_downforce", "speed"]


def test_a_short_job_becomes_a_whole_fitting_and_keeps_what_was_read() -> None:
    bench = asked_for(Work.DOWNFORCE)
    bench.weigh(2.0, "final_downforce")
    bench.enter(work_asked(Work.WHOLE))
    assert bench.journey.due == "level"
    assert len(bench.journey.status("final_downforce").trials) == 1
    assert work_of(bench.journey) == ()
    assert bench.state("speed") is StepState.CLOSED
    # What was begun stays open, though level comes before it now.
    again = ReadingTaken(step="final_downforce", reading={"way": "scale", "downforce_gf": 2.0})
    assert why_refused(bench.journey, again) is None
    assert bench.journey.status("final_downforce").is_open
    assert not bench.journey.status("speed").is_open


class TestCheckUp:
    def test_what_lies_outside_is_told_and_no_order_is_given(self) -> None:
        bench = asked_for(Work.CHECK_UP)
        for direction, divisions in (("left-right", 8.0), ("front-back", 0.0)):
            bench.read("level", way="bubble", direction=direction, divisions=divisions)
        told = bench.journey.status("level").assessment
        assert told.verdict is Verdict.LEFT_AS_FOUND
        assert told.next_move is None
        # 8 divisions of 0.5 mm/m are 4 mm/m (derived: the example deck's bubble).
        headline = worded(told.headline)
        assert "4.0" in headline
        assert headline.endswith("Nothing is moved in a check-up.")
        bench.accept("level")  # no reason is asked for
        assert bench.state("level") is StepState.DONE
        assert worded(outcomes_of(bench.journey)[0].reason) == "Nothing is moved in a check-up."

    def test_a_move_is_refused_with_the_way_on(self) -> None:
        bench = asked_for(Work.CHECK_UP)
        foot = MovePart(control=Control.FOOT, amount=0.5, unit="turns", where="rear")
        refusal = worded(why_refused(bench.journey, MoveMade(step="level", parts=(foot,))))
        assert refusal is not None
        assert "choose the whole fitting on the summary page" in refusal
        bench.enter(work_asked(Work.WHOLE))
        assert why_refused(bench.journey, MoveMade(step="level", parts=(foot,))) is None

    def test_what_was_left_in_a_check_up_is_open_again_in_a_whole_fitting(self) -> None:
        bench = asked_for(Work.CHECK_UP)
        for direction, divisions in (("left-right", 8.0), ("front-back", 0.0)):
            bench.read("level", way="bubble", direction=direction, divisions=divisions)
        bench.accept("level")
        bench.enter(work_asked(Work.WHOLE))
        assert bench.journey.status("level").assessment.verdict is Verdict.MOVE
        assert bench.journey.due == "level"

    def test_what_may_harm_the_stylus_stays_a_stop(self) -> None:
        bench = asked_for(Work.CHECK_UP)
        bench.through("mount")
        bench.weigh(4.0)  # the example cartridge allows far less
        told = bench.journey.status("rough_downforce").assessment
        assert told.verdict is Verdict.STOP
        body = StepAccepted(step="rough_downforce", verdict=Verdict.STOP, reason="as found")
        assert worded(why_refused(bench.journey, body)).startswith("A stop can't be overruled")

    def test_what_is_typed_and_not_saved_is_told_the_same_way(self) -> None:
        bench = asked_for(Work.CHECK_UP)
        assessment = Bench().journey.status("level").assessment
        assert as_asked(assessment, bench.fitting.work) is assessment


@pytest.mark.parametrize(
    ("work", "counts"),
    [(Work.WHOLE, True), (Work.CHECK_UP, True), (Work.SPEED, False), (Work.AFTER_TRANSPORT, False)],
)
def test_only_work_that_reads_every_step_moves_the_day_of_the_next_check(
    work: Work, counts: bool
) -> None:
    bench = asked_for(work)
    for step in work_asked(work).steps:
        bench.accept(step, reason="as it is")
    bench.enter(Finished())
    due = check_due(bench.deck, (visit_of(bench.fitting),), date(2026, 1, 3))
    assert due is not None
    assert (due.on is not None) is counts


def test_steps_that_nobody_knows_are_refused() -> None:
    strange = WorkAsked(work=Work.SPEED, steps=("speed", "polish"))
    refusal = worded(why_refused(Bench().journey, strange))
    assert refusal == "This version does not know all the steps that are asked for."


def test_a_reading_outside_the_job_needs_no_step_before_it() -> None:
    bench = asked_for(Work.SPEED)
    body = ReadingTaken(step="tilt", reading={"way": "gaps", "left_mm": 1.0, "right_mm": 1.0})
    refusal = why_refused(bench.journey, body)
    assert refusal is None or "first." not in worded(refusal)
