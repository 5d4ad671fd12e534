"""Every line of the owner's sheet, for all nine steps: plain words, and what was really done."""

from __future__ import annotations

import re

import numpy as np
import pytest

from core.drawing.marks import Words
from core.fitting import (
    Control,
    Finished,
    Journey,
    MoveMade,
    MovePart,
    QualifiedPass,
    ReadingTaken,
    Reopened,
    StepAccepted,
    Verdict,
    Withdrawn,
    Work,
)
from core.language import Numbers
from core.paper import customer_sheet
from core.paper.bench_content import bench_content
from core.paper.customer_sheet import Addressed, customer_sheets
from core.paper.owner_words import done_in, figures_of, title_of, verdict_on
from core.practice.proof.closed_loop import Loop
from core.practice.proof.person import Person
from core.practice.rehearsal import new_rehearsal
from core.records import Job
from core.steps import STEP_NAMES
from core.workflow.replay import journey_of
from core.workflow.set_back import set_back_of
from core.workflow.summary import StepOutcome, outcomes_of
from core.workflow.work import work_asked
from tests.examples import deck
from tests.kit import fitting_of
from tests.outside.told import Person as Reader
from tests.outside.told import pinned
from tests.worked import CHECKED, Bench, bubble, protractor
from tests.worked import LEFT as READ_GOOD

SAY = Numbers()

JARGON = (
    "off by", "null", "offset", "overhang", "pitch", "azimuth", "tolerance", "notch that",
    "revision", "verdict", "Move", "Another reading", "Stop", "as found by",
)  # fmt: skip # one list
"""Words that a technician reads and an owner does not."""


def lines_of(outcome: StepOutcome, *, parallel: bool = False) -> list[str]:
    found, left = figures_of(outcome, parallel=parallel)
    verdict = verdict_on(outcome)
    said = [title_of(outcome), *found, done_in(outcome), *left, *([verdict] if verdict else [])]
    return [SAY.text(one).replace("\xa0", " ") for one in said]


def outcomes_by_step(journey: Journey) -> dict[str, StepOutcome]:
    return {one.step: one for one in outcomes_of(journey)}


def played(number: int) -> Journey:
    """Return a whole fitting of a practice deck."""
    invented = new_rehearsal(31, number=number)
    loop = Loop(invented, Person.drawn(np.random.default_rng(number)))
    loop.play()
    return journey_of(invented.deck, invented.cartridge, loop.fitting)


@pytest.mark.parametrize("number", range(8))
def test_no_line_of_a_practice_fitting_repeats_itself_or_needs_the_trade(number: int) -> None:
    journey = played(number)
    pivoted = journey.deck.arm.is_pivoted
    whole = journey.fitting
    for until in (len(whole.entries), len(whole.entries) // 2, 5):
        part = whole.model_copy(update={"entries": whole.entries[:until]})
        for outcome in outcomes_of(journey_of(journey.deck, journey.cartridge, part)):
            for line in lines_of(outcome, parallel=not pivoted):
                assert not re.search(r"\b(\w+) \1\b", line), line
                assert "off" not in line.split(":")[0].lower() or "Compensation off" in line, line
                assert not [word for word in JARGON if word in line], line
                if not pivoted:
                    assert "pivot" not in line.replace("A parallel-tracking arm", ""), line


@pytest.mark.parametrize("number", [1, 2])
def test_no_direction_is_told_that_was_not_measured(number: int) -> None:
    journey = played(number)
    seen = 0
    for outcome in outcomes_of(journey):
        found, left = figures_of(outcome, parallel=not journey.deck.arm.is_pivoted)
        for line in (SAY.text(one) for one in (*found, *left)):
            if "stylus" in line or "resonate" in line:
                continue  # of these an amount is wanted, not none
            size = re.search(r"(\d+\.\d+)\s±\s(\d+\.\d+)", line)
            assert size is None or float(size[1]) >= float(size[2]), line
            seen += " within " in line
    assert seen, "some figure of a good fitting lies within its error"


def test_each_direction_is_a_word_that_agrees_with_the_reading() -> None:
    """Signs as in DEVELOPERS.md: worked by hand from what was typed."""
    bench = Bench()
    for step in STEP_NAMES[:4]:
        bench.work(step, READ_GOOD[step])
    bench.keep(ReadingTaken(step="alignment", reading=protractor(1.2, -0.8)))
    found, left = figures_of(outcomes_by_step(bench.journey)["alignment"], parallel=False)
    words = [SAY.text(one).replace("\xa0", " ") for one in found]
    assert re.fullmatch(r"Stylus 1\.\d\d ± .* mm too far from the pivot", words[0])
    assert re.fullmatch(r"Cartridge turned out by 0\.\d\d ± .*°", words[1])
    assert found == left, "nothing was moved yet"


def test_downforce_put_on_by_the_owner_was_set_not_found() -> None:
    """The arm was floated and its dial turned to 2: nobody knows what was there before."""
    reader = Reader("final_downforce", pinned(arm={"gf_per_turn": 2.0}))
    weighed = next(e for e in reader.journey.fitting.entries if isinstance(e.body, ReadingTaken))
    reader.keep(Withdrawn(entry=weighed.id))  # no scale ever told what was there
    done = {"floated": True, "zeroed": True, "sinks": True}
    reader.reads({"way": "float and dial", "dial_gf": 2.0, **done})
    answer = reader.journey.status("final_downforce").assessment
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert answer.shown_verdict is QualifiedPass.LEFT_AS_SET
    outcome = outcomes_by_step(reader.journey)["final_downforce"]
    assert outcome.was_set
    assert all(pair.before is None for pair in outcome.figures)
    journey = reader.journey
    body = StepAccepted(step="final_downforce", verdict=Verdict.LEFT_AS_FOUND)
    kept = journey.fitting.entries[-1].model_copy(update={"id": "accepted", "body": body})
    accepted = journey_of(journey.deck, journey.cartridge, journey.fitting.with_entry(kept))
    lines = lines_of(outcomes_by_step(accepted)["final_downforce"])
    assert "Set as closely as it could be." in lines
    assert not [line for line in lines if "as found" in line.lower()]


def test_downforce_that_an_earlier_step_set_was_not_found_right() -> None:
    """Found at 4.00 gf, left at 2.00: the owner read that nothing had to be moved."""
    bench = Bench()
    for step in STEP_NAMES[: STEP_NAMES.index("rough_downforce")]:
        bench.work(step, READ_GOOD[step])
    bench.keep(ReadingTaken(step="rough_downforce", reading={"way": "scale", "downforce_gf": 4.0}))
    part = MovePart(control=Control.COUNTERWEIGHT, amount=-4.5, unit="turns")
    bench.keep(MoveMade(step="rough_downforce", parts=(part,)))
    for step in STEP_NAMES[STEP_NAMES.index("rough_downforce") :]:
        bench.work(step, READ_GOOD[step])
    outcome = outcomes_by_step(bench.journey)["final_downforce"]
    assert not outcome.moves
    lines = lines_of(outcome)
    assert "Checked. Nothing had to be moved." not in lines
    assert any("4.00 gf as found, 2.00 gf now" in line for line in lines), lines


def test_what_nobody_turned_is_left_as_found() -> None:
    bench = Bench(pinned(platter={"trim": "none"}))
    reading = {"way": "readout", "speed_rpm": 33.333333, "rpm": 33.45, "minutes_running": 15.0}
    for step in STEP_NAMES[:-1]:
        bench.work(step, READ_GOOD[step])
    bench.keep(ReadingTaken(step="speed", reading=reading))
    answer = bench.journey.status("speed").assessment
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert answer.shown_verdict is not QualifiedPass.LEFT_AS_SET
    bench.keep(StepAccepted(step="speed", verdict=answer.verdict))
    lines = lines_of(outcomes_by_step(bench.journey)["speed"])
    assert any(line.startswith("Left as found. ") for line in lines)


def test_a_move_that_left_it_outside_its_target_is_not_left_as_found() -> None:
    bench = Bench()
    reading = {"way": "bubble", "direction": "front-back", "divisions": 8.0}
    bench.keep(ReadingTaken(step="level", reading=reading))
    part = MovePart(control=Control.FOOT, amount=0.5, unit="turns", where="front left")
    bench.keep(MoveMade(step="level", parts=(part,)))
    outcome = outcomes_by_step(bench.journey)["level"]
    assert outcome.was_set


def test_the_sheet_names_no_revision_of_a_record() -> None:
    bench = Bench(who="Ada Example")
    bench.work_all()
    bench.keep(Finished())
    (sheet,) = customer_sheets(bench.journey)
    words = " ".join(getattr(mark, "text", "") for mark in sheet.marks)
    assert "Example cartridge, elliptical" in words
    assert "revision" not in words


def short_job(bench: Bench, kept_check: str = "") -> str:
    """Return the words of the owner's sheet of a short job."""
    (sheet,) = customer_sheets(bench.journey, addressed=Addressed(kept_check=kept_check))
    return " ".join(mark.text for mark in sheet.marks if isinstance(mark, Words))


def just_downforce() -> Bench:
    bench = Bench()
    bench.fitting = fitting_of(work_asked(Work.DOWNFORCE))
    return bench


def test_a_short_job_tells_the_day_that_the_deck_had_and_leaves_out_what_is_not_said() -> None:
    assert "Next check: 2026-03-04" in short_job(just_downforce(), "2026-03-04")
    words = short_job(just_downforce())
    assert "Next check" not in words
    assert "Done by" not in words, "nobody said who"


def test_an_owner_reads_what_was_set_and_is_not_asked_to_finish_the_work_of_the_bench() -> None:
    bench = just_downforce()
    scale = [{"way": "scale", "downforce_gf": gf} for gf in (1.7, 2.0)]
    bench.work("final_downforce", scale)
    bench.keep(Finished())
    lines = lines_of(outcomes_by_step(bench.journey)["final_downforce"])
    fine = "Then set finely: 1.70 gf as found, 2.00 gf now. Measured again."
    assert fine in lines
    assert "to match" not in short_job(bench)
    bench.keep(Reopened())
    still = set_back_of(bench.journey)
    assert still is not None
    assert "to match" in SAY.text(still.said), "the bench reads it"


def test_the_state_a_deck_came_in_is_told_in_one_line_if_somebody_noted_it() -> None:
    bench = just_downforce()

    def told(job: Job | None) -> str:
        (sheet,) = customer_sheets(bench.journey, addressed=Addressed(job=job))
        return " ".join(mark.text for mark in sheet.marks if isinstance(mark, Words))

    noted = Job(brought="a deck", stylus_seen="a bent\ncantilever", missing="the belt")
    assert "On arrival: stylus: a bent cantilever; missing: the belt." in told(noted)
    assert "On arrival" not in told(Job(brought="a deck", accessories="lid"))
    assert "On arrival" not in told(None)


def test_the_unit_of_force_is_explained_once_to_an_owner_who_reads_it() -> None:
    bench = just_downforce()
    scale = [{"way": "scale", "downforce_gf": gf} for gf in (1.7, 2.0)]
    bench.work("final_downforce", scale)
    assert short_job(bench).count("gf means grams of force") == 1
    speed = Bench()
    speed.fitting = fitting_of(work_asked(Work.SPEED))
    assert "grams of force" not in short_job(speed)


def test_what_was_done_to_the_compensation_is_said_in_plain_words() -> None:
    """Nobody measures where a dial stands: as found it is a note, and there was none."""
    journey = Bench().work_all()
    (sheet,) = customer_sheets(journey)
    told = " ".join(mark.text for mark in sheet.marks if isinstance(mark, Words))
    assert "Set to match the downforce." in lines_of(outcomes_by_step(journey)["skating"])
    assert "not written down" in told


def test_a_speed_that_nobody_measured_is_told_in_the_owners_words() -> None:
    bench = Bench(deck(platter={"speeds_rpm": (33.333333, 45.0)}))
    (sheet,) = customer_sheets(bench.work_all())
    told = " ".join(mark.text for mark in sheet.marks if isinstance(mark, Words))
    told = " ".join(told.replace("\u00a0", " ").split())
    assert "The speed at 45 rpm was not measured." in told
    assert "judged" not in told


def as_found_on_the_sheet(journey: Journey, step: str) -> str:
    """Return what stands in the column "As found" in the row of a step."""
    row = customer_sheet._row(outcomes_by_step(journey)[step], SAY, parallel=False, at_zero=False)
    return row[1].replace("\xa0", " ")


def test_readings_that_gave_no_figure_are_not_said_to_be_missing() -> None:
    bench = Bench()
    level = [bubble("left-right", 0.0), {"way": "bubble at its end", "toward": "marked"}]
    for reading in level:
        bench.keep(ReadingTaken(step="level", reading=reading))
    assert as_found_on_the_sheet(bench.journey, "level") == "measured, but not enough to judge"
    assert as_found_on_the_sheet(bench.journey, "speed") == "not measured"
    bench.keep(StepAccepted(step="level", verdict=Verdict.MOVE, reason="The shelf leans."))
    bench.work("mount", READ_GOOD["mount"])
    weighed = {"way": "scale", "downforce_gf": 20.0}  # in another unit, perhaps
    bench.keep(ReadingTaken(step="rough_downforce", reading=weighed))
    part = MovePart(control=Control.COUNTERWEIGHT, amount=-20.0, unit="turns")
    bench.keep(MoveMade(step="rough_downforce", parts=(part,)))
    weighed = {"way": "scale", "downforce_gf": 4.0}
    bench.keep(ReadingTaken(step="rough_downforce", reading=weighed))
    for step in (
        "rough_downforce",
        "final_downforce",
    ):  # the second takes over what the first found
        assert as_found_on_the_sheet(bench.journey, step) == "measured, but not enough to judge"


def test_a_resonance_worked_out_for_the_new_cartridge_was_not_found() -> None:
    """It was told as found, with the time of the checklist as when it was first read."""
    journey = Bench().work_all()
    outcome = outcomes_by_step(journey)["mount"]
    found, left = figures_of(outcome, parallel=False)
    assert not found
    assert "resonate at" in SAY.text(left[0])
    assert as_found_on_the_sheet(journey, "mount") == "–"


@pytest.mark.parametrize(
    ("number", "then"),
    [(2, "Then set finely: 2.94 gf as found"), (3, "Measured again later: 3.40 gf as found")],
)
def test_the_two_rows_of_downforce_say_what_each_was_for(number: int, then: str) -> None:
    outcomes = outcomes_by_step(played(number))
    (first,) = (one for one in lines_of(outcomes["rough_downforce"]) if "as found" in one)
    (last,) = (one for one in lines_of(outcomes["final_downforce"]) if "as found" in one)
    assert first.startswith("Set first, so that the stylus is safe: ")
    assert last.startswith(then)


@pytest.mark.parametrize("snug", [False, True])
def test_a_cartridge_left_loose_comes_first_in_what_to_mind(*, snug: bool) -> None:
    bench = Bench()
    bench.work("level", READ_GOOD["level"])
    checked = {**CHECKED, "screws_snug": snug}
    bench.keep(ReadingTaken(step="mount", reading=checked))
    verdict = bench.journey.status("mount").assessment.verdict
    bench.keep(StepAccepted(step="mount", verdict=verdict, reason="only one screw here"))
    (sheet,) = customer_sheets(bench.journey)
    words = [mark.text for mark in sheet.marks if isinstance(mark, Words)]
    first = words[words.index("Please mind") + 1].replace("\xa0", " ")
    warned = "The cartridge is loose. Play no record before it is fastened."
    assert (warned in first) is not snug
    at_bench = bench_content(bench.journey)
    assert (warned in at_bench.work[:1]) is not snug
