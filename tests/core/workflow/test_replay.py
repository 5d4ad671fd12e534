"""The way through the steps: order, gate, disturbances, overrides, all worked out from the log."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from core.fitting import (
    FLOATED_ANEW,
    Body,
    Control,
    Entry,
    Finished,
    Fitting,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    Reopened,
    StepAccepted,
    Verdict,
    Withdrawn,
)
from core.records import Cartridge, Deck
from core.steps import STEP_NAMES
from core.workflow.refusals import why_refused, why_shut
from core.workflow.replay import Journey, StepState, journey_of
from core.workflow.summary import outcomes_of
from tests.examples import cartridge, deck
from tests.worded import worded


class Bench:
    """A person at a deck, entering things one after the other."""

    def __init__(self, of_deck: Deck | None = None, of_cartridge: Cartridge | None = None) -> None:
        self.deck, self.cartridge = of_deck or deck(), of_cartridge or cartridge()
        self.fitting = Fitting(
            id="f",
            deck_id="d",
            deck_revision=1,
            cartridge_id="c",
            cartridge_revision=1,
            started_at=datetime(2026, 1, 2, 10, tzinfo=UTC),
        )

    @property
    def journey(self) -> Journey:
        return journey_of(self.deck, self.cartridge, self.fitting)

    def enter(self, body: Body) -> str:
        refusal = worded(why_refused(self.journey, body))
        assert refusal is None, refusal
        entry = Entry(body=body)
        self.fitting = self.fitting.with_entry(entry)
        return entry.id

    def read(self, step: str, **values: Any) -> str:
        return self.enter(ReadingTaken(step=step, reading=values))

    def move(self, step: str, control: Control, amount: float, unit: str = "mm") -> str:
        part = MovePart(control=control, amount=amount, unit=unit)
        return self.enter(MoveMade(step=step, parts=(part,)))

    def accept(self, step: str, reason: str = "") -> str:
        verdict = self.journey.status(step).assessment.verdict
        return self.enter(StepAccepted(step=step, verdict=verdict, reason=reason))

    def state(self, step: str) -> StepState:
        return self.journey.status(step).state

    def weigh(self, downforce_gf: float, step: str = "rough_downforce") -> str:
        return self.read(step, way="scale", downforce_gf=downforce_gf)

    def through(self, last: str) -> None:
        """Keep every step up to and including one as it is, with a reason, but weigh in between."""
        for step in STEP_NAMES[: STEP_NAMES.index(last) + 1]:
            if step == "rough_downforce":
                self.weigh(2.0)
                self.accept(step)
            else:
                self.accept(step, reason="checked by eye")


def test_only_the_first_step_is_open_at_first() -> None:
    journey = Bench().journey
    assert journey.due == "level"
    assert [s.step for s in journey.statuses if s.is_open] == ["level"]
    assert journey.status("mount").state is StepState.CLOSED
    assert "Level" in worded(journey.status("mount").reason)


def test_a_closed_step_refuses_entries_and_says_which_comes_first() -> None:
    bench = Bench()
    body = ReadingTaken(step="speed", reading={"way": "readout", "speed_rpm": 33.3, "rpm": 33.3})
    refusal = worded(why_refused(bench.journey, body))
    assert refusal is not None
    assert "Level" in refusal


def test_accepting_opens_the_next_step_and_nothing_else_does() -> None:
    bench = Bench()
    assert bench.journey.due == "level"
    bench.accept("level", reason="checked on the bench yesterday")
    assert bench.state("level") is StepState.KEPT
    assert bench.journey.due == "mount"


def test_an_override_without_a_reason_is_refused() -> None:
    body = StepAccepted(step="level", verdict=Verdict.NO_READING)
    refusal = worded(why_refused(Bench().journey, body))
    assert refusal is not None
    assert "reason" in refusal


def test_accepting_a_verdict_that_has_changed_meanwhile_is_refused() -> None:
    refusal = worded(why_refused(Bench().journey, StepAccepted(step="level", verdict=Verdict.GOOD)))
    assert refusal is not None
    assert "look again" in refusal


def test_the_stylus_stays_up_until_the_scale_says_it_is_safe() -> None:
    bench = Bench()
    bench.through("mount")
    assert not bench.journey.gate.is_open
    bench.weigh(4.0)
    gate = bench.journey.gate
    assert not gate.is_open
    assert "stylus" in worded(gate.reason)
    assert bench.journey.status("rough_downforce").assessment.verdict is Verdict.STOP


def test_a_stop_can_not_be_overridden() -> None:
    bench = Bench()
    bench.through("mount")
    bench.weigh(4.0)
    body = StepAccepted(step="rough_downforce", verdict=Verdict.STOP, reason="I am in a hurry")
    refusal = worded(why_refused(bench.journey, body))
    assert refusal is not None
    assert "can't be overruled" in refusal


def test_an_overridden_rough_downforce_does_not_open_the_gate() -> None:
    bench = Bench()
    bench.through("mount")
    bench.weigh(2.6)
    assert bench.journey.status("rough_downforce").assessment.verdict is Verdict.MOVE
    bench.accept("rough_downforce", reason="the maker's sheet says more is fine")
    body = ReadingTaken(
        step="arm_height",
        reading={"way": "edge", "front_mm": 27.0, "rear_mm": 27.0, "spacing_mm": 180.0},
    )
    assert bench.journey.status("arm_height").is_open
    assert not bench.journey.gate.is_open
    ways = bench.journey.status("arm_height").applicability.ways
    assert why_shut(bench.journey, "arm_height", ways[0]) == bench.journey.gate.reason
    assert why_refused(bench.journey, body) is not None


def test_a_counterweight_moved_after_the_last_weighing_closes_the_gate() -> None:
    bench = Bench()
    bench.through("rough_downforce")
    assert bench.journey.gate.is_open
    bench.move("rough_downforce", Control.COUNTERWEIGHT, 0.5, "turns")
    assert not bench.journey.gate.is_open
    assert "Measure downforce first" in worded(bench.journey.gate.reason)
    bench.weigh(2.05)
    assert bench.journey.gate.is_open


def test_a_check_weight_on_the_scale_neither_opens_nor_shuts_the_gate() -> None:
    bench = Bench()
    bench.through("mount")
    bench.read("rough_downforce", way="check weight", weight_g=2.0, shown_gf=2.0)
    assert not bench.journey.gate.is_open
    bench.weigh(2.0)
    bench.accept("rough_downforce")
    for step in ("arm_height", "alignment", "tilt", "skating"):
        bench.accept(step, reason="checked by eye")
    bench.read("final_downforce", way="check weight", weight_g=2.0, shown_gf=2.0)
    assert bench.journey.gate.is_open


def test_a_long_slide_sends_the_downforce_back_with_figure_and_reason() -> None:
    # Moments (derived): 12 mm along a head turned in by 23 degrees are 11.05 mm along the arm;
    # 7 g less 2 gf by 11.05 mm at 250.35 mm is 0.22 gf, more than the half range of 0.2 gf.
    bench = Bench()
    bench.through("arm_height")
    bench.move("alignment", Control.SLIDE, 12.0)
    status = bench.journey.status("rough_downforce")
    assert status.state is StepState.CHECK_AGAIN
    assert "0.22" in worded(status.reason)
    assert "sliding the cartridge" in worded(status.reason)
    assert not bench.journey.gate.is_open
    bench.weigh(2.0)
    assert bench.state("rough_downforce") is StepState.DONE


def test_a_short_slide_leaves_the_downforce_good_and_keeps_the_figure() -> None:
    # 7 g less 2 gf by 1.5 mm x cos 23 degrees at 240.7 mm is 0.029 gf.
    bench = Bench()
    bench.through("arm_height")
    bench.move("alignment", Control.SLIDE, 1.5)
    status = bench.journey.status("rough_downforce")
    assert status.state is StepState.DONE
    (disturbance,) = status.disturbances
    assert disturbance.change == pytest.approx(0.0287, abs=0.0005)
    assert not disturbance.sends_back


def test_a_step_sent_back_can_be_kept_with_a_reason_only() -> None:
    bench = Bench()
    bench.through("arm_height")
    bench.move("alignment", Control.SLIDE, 12.0)
    verdict = bench.journey.status("rough_downforce").assessment.verdict
    bare = StepAccepted(step="rough_downforce", verdict=verdict)
    assert why_refused(bench.journey, bare) is not None
    bench.accept("rough_downforce", reason="will be weighed at the end")
    assert bench.state("rough_downforce") is not StepState.CHECK_AGAIN


def test_a_withdrawn_reading_takes_its_verdict_with_it() -> None:
    bench = Bench()
    bench.through("mount")
    reading = bench.weigh(2.0)
    assert bench.journey.gate.is_open
    bench.enter(Withdrawn(entry=reading))
    assert bench.journey.status("rough_downforce").assessment.verdict is Verdict.NO_READING
    assert not bench.journey.gate.is_open
    assert why_refused(bench.journey, Withdrawn(entry="unknown")) is not None


def test_a_worse_reading_after_acceptance_reopens_the_step() -> None:
    bench = Bench()
    bench.through("rough_downforce")
    bench.weigh(2.6)
    assert bench.state("rough_downforce") is StepState.IN_HAND


def test_a_fitting_is_finished_only_when_every_step_is_settled() -> None:
    bench = Bench()
    refusal = worded(why_refused(bench.journey, Finished()))
    assert refusal is not None
    assert "Level" in refusal
    bench.through("speed")
    assert bench.journey.due is None
    bench.enter(Finished())
    assert why_refused(bench.journey, NoteWritten(text="stylus cleaned")) is None
    refusal = worded(why_refused(bench.journey, ReadingTaken(step="level", reading={})))
    assert refusal is not None
    assert "finished" in refusal
    bench.enter(Reopened())
    assert not bench.fitting.is_finished


def test_finishing_names_every_open_step_and_asks_for_what_can_be_done_there() -> None:
    bench = Bench()
    bench.through("skating")
    bench.weigh(2.0, "final_downforce")
    said = worded(why_refused(bench.journey, Finished()))
    assert said is not None
    assert said.startswith("Still open: Final downforce and Speed. ")
    assert "ccept" not in said, "speed was never read"


def test_finishing_asks_to_accept_where_nothing_else_is_left_and_never_at_a_stop() -> None:
    bench = Bench()
    bench.through("mount")
    bench.weigh(2.0)
    for step in STEP_NAMES[3:]:
        bench.fitting = bench.fitting.with_entry(
            Entry(body=StepAccepted(step=step, verdict=Verdict.NO_READING, reason="by eye"))
        )
    assert bench.journey.due == "rough_downforce"
    said = worded(why_refused(bench.journey, Finished()))
    assert said == ("Still open: Rough downforce. Accept what is there, then finish.")
    bench.weigh(9.0)
    bench.weigh(9.0)
    assert bench.journey.status("rough_downforce").assessment.verdict is Verdict.STOP
    said = worded(why_refused(bench.journey, Finished()))
    assert said is not None
    assert "“Rough downforce” says Stop: make that safe first." in said
    assert "reason, then" not in said


def test_an_unreadable_entry_of_a_later_version_is_passed_over() -> None:
    bench = Bench()
    bench.fitting = bench.fitting.with_entry(
        Entry(body=ReadingTaken(step="level", reading={"way": "by satellite"}))
    )
    assert bench.journey.status("level").assessment.verdict is Verdict.NO_READING


@pytest.mark.parametrize(
    "reading", [{}, {"way": "scale"}, {"way": "scale", "downforce_gf": "much"}, {"way": "guess"}]
)
def test_a_reading_that_is_none_is_refused_in_words(reading: dict[str, Any]) -> None:
    bench = Bench()
    bench.through("mount")
    refusal = worded(
        why_refused(bench.journey, ReadingTaken(step="rough_downforce", reading=reading))
    )
    assert refusal is not None
    assert refusal.startswith("This reading can't be saved")


# a move entered the wrong way


def entered_the_wrong_way() -> tuple[Bench, str]:
    """Over the maximum, turned away from the pivot as ordered, and entered as toward it."""
    bench = Bench()
    bench.through("mount")
    bench.weigh(2.4)
    entry = bench.move("rough_downforce", Control.COUNTERWEIGHT, 0.25, "turns")
    bench.weigh(2.29)
    return bench, entry


def answer(bench: Bench, reversed_entry: str = "") -> str:
    return bench.read(
        "rough_downforce",
        way="control checked",
        control="counterweight",
        reversed_entry=reversed_entry,
    )


def test_a_reading_against_the_entry_asks_which_way_and_orders_nothing() -> None:
    bench, entry = entered_the_wrong_way()
    said = bench.journey.status("rough_downforce").assessment
    assert said.next_move is None
    assert said.verdict in (Verdict.READ_AGAIN, Verdict.STOP)
    first = said.questions[0]
    assert first.entry == entry
    assert [part.amount for part in first.moved] == [0.25]


def test_the_other_way_puts_the_entry_right_and_nothing_is_learned_reversed() -> None:
    bench, entry = entered_the_wrong_way()
    answer(bench, entry)
    status = bench.journey.status("rough_downforce")
    assert not status.assessment.questions
    assert [p.amount for t in status.trials for p in t.moves] == [-0.25]
    move = status.assessment.next_move
    assert move is not None
    assert move.parts[0].amount < 0.0, "away from the pivot, as before"
    assert all(trial.checked is None for trial in status.trials)


def test_the_answer_taken_back_leaves_the_entry_as_it_was() -> None:
    bench, entry = entered_the_wrong_way()
    told = answer(bench, entry)
    bench.enter(Withdrawn(entry=told))
    status = bench.journey.status("rough_downforce")
    assert [p.amount for t in status.trials for p in t.moves] == [0.25]
    assert status.assessment.questions[0].entry == entry


def test_as_entered_above_the_maximum_floats_the_arm_again_and_turns_nothing() -> None:
    bench, _ = entered_the_wrong_way()
    answer(bench)
    said = bench.journey.status("rough_downforce").assessment
    assert said.next_move is None
    assert {question.where for question in said.questions} == {FLOATED_ANEW}
    bench.read(
        "rough_downforce", way="control checked", control="counterweight", where=FLOATED_ANEW
    )
    bench.weigh(0.0)
    status = bench.journey.status("rough_downforce")
    assert not bench.journey.gate.is_open
    assert status.assessment.next_move is not None
    assert status.assessment.next_move.parts[0].amount < 0.0, "as learned, from where it floats"


def test_what_was_not_answered_in_the_rough_step_is_asked_in_the_final_one_too() -> None:
    bench = Bench()
    bench.through("mount")
    bench.weigh(1.0)
    wrong = bench.move("rough_downforce", Control.COUNTERWEIGHT, -0.5, "turns")
    bench.weigh(1.9)
    rough = bench.journey.status("rough_downforce").assessment
    assert rough.verdict is Verdict.READ_AGAIN
    assert rough.questions[0].entry == wrong
    bench.accept("rough_downforce", reason="weighed inside the range")
    for step in ("arm_height", "alignment", "tilt", "skating"):
        bench.accept(step, reason="checked by eye")
    for _ in range(3):
        bench.weigh(1.9, step="final_downforce")
    said = bench.journey.status("final_downforce").assessment
    assert said.next_move is None
    assert said.questions
    assert said.questions[0].entry == wrong


def test_what_an_older_program_accepted_as_good_stays_done_though_it_is_asked_about_now() -> None:
    bench = Bench()
    bench.through("mount")
    bench.weigh(1.0)
    bench.move("rough_downforce", Control.COUNTERWEIGHT, -0.5, "turns")
    bench.weigh(1.9)
    good = StepAccepted(step="rough_downforce", verdict=Verdict.GOOD)
    bench.fitting = bench.fitting.with_entry(Entry(body=good))
    assert bench.journey.status("rough_downforce").assessment.questions
    assert bench.state("rough_downforce") is StepState.DONE
    bench.weigh(1.9)
    assert bench.state("rough_downforce") is StepState.IN_HAND


def test_of_several_moves_the_last_that_goes_where_they_lead_is_asked_about() -> None:
    bench = Bench()
    bench.through("mount")
    bench.weigh(2.4)
    wrong = bench.move("rough_downforce", Control.COUNTERWEIGHT, 0.5, "turns")
    bench.move("rough_downforce", Control.COUNTERWEIGHT, -0.125, "turns")
    bench.weigh(2.15)
    bench.weigh(2.15)
    said = bench.journey.status("rough_downforce").assessment
    if said.questions:  # within the range nothing is asked
        assert said.questions[0].entry == wrong


def test_a_move_put_right_counts_with_its_length_too() -> None:
    part = MovePart(
        control=Control.FOOT, amount=0.5, unit="turns", where="rear", equivalent_mm=0.65
    )
    both = MoveMade(step="level", parts=(part, part.model_copy(update={"where": "front left"})))
    turned = both.turned_round("foot", "rear")
    assert [(p.amount, p.equivalent_mm) for p in turned.parts] == [(-0.5, -0.65), (0.5, 0.65)]
    assert both.turned_round("pillar", "") == both


def kept_unweighed() -> Bench:
    bench = Bench()
    bench.through("mount")
    bench.accept("rough_downforce", reason="no scale at home")
    assert bench.state("rough_downforce") is StepState.KEPT
    return bench


def told_of(bench: Bench, step: str) -> str:
    """Return the reason that the header of a step and the summary tell."""
    (outcome,) = (one for one in outcomes_of(bench.journey) if one.step == step)
    told = bench.journey.status(step).reason, outcome.reason or ""
    return " / ".join(worded(one) or "" for one in told)


def test_what_was_kept_waits_to_be_accepted_once_it_was_read_good() -> None:
    """It turned "Done" by itself, because there was "no scale at home", and read by a scale."""
    bench = kept_unweighed()
    bench.weigh(2.0)
    status = bench.journey.status("rough_downforce")
    assert status.assessment.verdict is Verdict.GOOD
    assert status.state is StepState.IN_HAND
    assert status.is_acceptable
    assert bench.journey.due == "rough_downforce"
    assert "You kept this" in told_of(bench, "rough_downforce")
    assert "no scale" not in told_of(bench, "rough_downforce")
    bench.accept("rough_downforce")
    assert bench.state("rough_downforce") is StepState.DONE
    assert "no scale" not in told_of(bench, "rough_downforce")


def test_what_was_kept_is_not_said_to_have_been_accepted() -> None:
    bench = kept_unweighed()
    bench.weigh(1.2)
    assert bench.state("rough_downforce") is StepState.IN_HAND
    assert "You kept this" in told_of(bench, "rough_downforce")
    assert "accepted" not in told_of(bench, "rough_downforce")


def test_a_reason_is_not_told_of_a_good_reading_made_after_it() -> None:
    bench = Bench()
    bench.through("arm_height")
    bench.move("alignment", Control.SLIDE, 12.0)
    bench.accept("rough_downforce", reason="will be weighed at the end")
    assert "weighed at the end" in told_of(bench, "rough_downforce")
    bench.weigh(2.0)
    assert bench.state("rough_downforce") is StepState.DONE
    assert "weighed at the end" not in told_of(bench, "rough_downforce")
