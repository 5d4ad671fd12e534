from __future__ import annotations

import math
from dataclasses import replace

from core.drawing import parts
from core.drawing.marks import Area, Box, Words, extent
from core.fitting import (
    Control,
    ControlChecked,
    Finished,
    MoveMade,
    MovePart,
    ReadingTaken,
    Verdict,
)
from core.language import Numbers
from core.paper.bench_content import BenchContent, bench_content, verdict_of
from core.paper.bench_sheet import bench_sheets
from core.paper.sheet import PaperSize, Sheet, printable
from core.paper.step_drawings import set_in
from core.workflow.summary import outcomes_of
from tests.examples import deck
from tests.kit import named
from tests.visits import fitting, past
from tests.worded import worded
from tests.worked import READINGS, Bench, bubble


def said(sheets: tuple[Sheet, ...]) -> str:
    return " ".join(m.text for sheet in sheets for m in sheet.marks if isinstance(m, Words))


def flat(content: BenchContent) -> str:
    parts = [f"{name}: {words}" for name, words in content.facts]
    for step in content.steps:
        parts += [step.title, step.verdict, step.method, *step.remarks]
        parts += [f"{r.label} {r.before} {r.after} {r.target}" for r in step.rows]
    return " ".join((*parts, *content.notes, *content.next_checks))


def test_a_finished_fitting_fills_one_page_or_two_with_every_step() -> None:
    bench = Bench(who="Ada Example")
    bench.note("Plays singles.")
    journey = bench.work_all()
    for size in PaperSize:
        sheets = bench_sheets(journey, size)
        assert 1 <= len(sheets) <= 3
        words = said(sheets)
        for told in (
            "Example deck, 9-inch arm",
            "Example cartridge, elliptical",
            "Ada Example",
            "2025-03-04",
            "1 Level",
            "9 Speed",
            "Plays singles.",
            "Next check",
            "seizures",
            "manual comes first",
        ):
            assert told in words
        for sheet in sheets:
            area = printable(size)
            lines = [mark for mark in sheet.marks if not isinstance(mark, Words)]
            if lines:
                box = extent(lines)
                assert area.left <= box.left < box.right <= area.right
                assert box.bottom >= area.bottom
            assert all(m.y > area.bottom for m in sheet.marks if isinstance(m, Words))
            assert not sheet.is_true_scale


def test_each_figure_stands_before_and_after_with_error_target_and_tolerance() -> None:
    content = bench_content(Bench().work_all())
    height = next(step for step in content.steps if step.title.startswith("4 "))
    row = height.rows[0]
    assert row.before.startswith("3.50\u00a0±\u00a0")
    assert row.after.startswith("0.01\u00a0±\u00a0")
    assert row.target == "0.00\u00a0mm\u00a0±\u00a01"
    how = "two heights of the tube, with what the move should have done"
    assert height.method == f"{how}; 1 move made"
    assert height.verdict.startswith("Good: ")


def test_no_verdict_stands_without_its_method_and_what_it_was_judged_by() -> None:
    for but in ((), ("speed",), tuple(READINGS)[1:]):
        journey = Bench().work_all(but=but)
        for outcome, step in zip(outcomes_of(journey), bench_content(journey).steps, strict=True):
            label = outcome.verdict.label
            if outcome.verdict is Verdict.NO_READING:
                assert step.verdict == "No verdict: nothing was read."
            elif label in step.verdict and outcome.verdict is not Verdict.NOTHING_TO_SET:
                assert step.method
                assert step.rows or "checklist" in step.verdict


def test_a_verdict_whose_method_is_not_on_record_is_withheld() -> None:
    outcome = outcomes_of(Bench().work_all())[0]
    assert worded(verdict_of(outcome))[0].startswith("Good: ")
    (words,) = worded(verdict_of(replace(outcome, method="")))
    assert "Good" not in words
    assert words.startswith("No verdict")


def test_what_was_overridden_says_why() -> None:
    bench = Bench()
    bench.work(
        "level",
        [bubble("front-back", 8.0), bubble("left-right", 0.0)],
        override="The shelf is to be replaced next week.",
    )
    content = bench_content(bench.journey)
    level = content.steps[0]
    assert level.verdict.startswith("Kept by choice – Move: ")
    assert "Reason: The shelf is to be replaced next week." in level.remarks
    assert "not finished" in content.unfinished
    assert "9" not in content.unfinished.split(".")[0]


def test_what_the_deck_cannot_change_is_left_as_found_with_the_reason() -> None:
    fixed = deck()
    feet = [foot.model_dump() | {"adjustable": False} for foot in fixed.plinth.feet]
    bench = Bench(deck(plinth={"feet": feet}))
    bench.work("level", [bubble("front-back", 8.0), bubble("left-right", 0.0)])
    outcome = outcomes_of(bench.journey)[0]
    level = bench_content(bench.journey).steps[0]
    assert outcome.verdict is Verdict.LEFT_AS_FOUND
    assert any(remark.startswith("Left as found: ") for remark in level.remarks)


def test_the_next_check_is_told_or_left_to_write_in() -> None:
    journey = Bench().work_all()
    assert "On: March 2026" in bench_content(journey, next_check=" March 2026 ").next_checks
    assert any("____" in line for line in bench_content(journey).next_checks)
    assert "800 h" in flat(bench_content(journey))


def test_a_finished_fitting_prints_the_day_it_is_due_again() -> None:
    # Twelve months on is the same day of the next year, by the calendar.
    bench = Bench(deck(check_months=12))
    bench.work_all()
    bench.keep(Finished())
    ended = bench.fitting.entries[-1].at
    due = f"On: {ended.year + 1}{ended.astimezone():-%m-%d}"
    assert due in bench_content(bench.journey).next_checks
    assert "On: May" in bench_content(bench.journey, next_check="May").next_checks
    undated = replace(bench.journey, deck=deck(check_months=None))
    assert any("____" in line for line in bench_content(undated).next_checks)


def test_a_speed_that_nobody_read_is_named_beside_the_verdict() -> None:
    bench = Bench(deck(platter={"speeds_rpm": (33.333333, 45.0)}))
    bench.work_all()
    speed = bench_content(bench.journey).steps[-1]
    assert "good" in speed.verdict.casefold()
    assert "Not read, so not judged: 45 rpm." in speed.remarks


def test_pictures_of_alignment_downforce_and_speed_are_drawn() -> None:
    journey = Bench().work_all()
    titles = [worded(picture.title) for picture in bench_content(journey).pictures]
    assert len(titles) == 3
    words = said(bench_sheets(journey))
    assert all(title.split()[0] in words for title in titles)
    assert "Radius, mm" in words
    assert "Downforce, gf" in words


def test_each_step_that_was_worked_on_has_its_drawing_at_a_size_that_can_be_read() -> None:
    journey = Bench().work_all()
    sheets = bench_sheets(journey)
    assert len(sheets) <= len(bench_sheets(Bench().journey)) + 2
    drawn = bench_content(journey).drawings
    assert [title[0] for title, _ in drawn] == list("123456789")
    area = printable(PaperSize.A4)
    with_heading = [
        sheet
        for sheet in sheets
        if any(isinstance(m, Words) and m.text.startswith("What was moved") for m in sheet.marks)
    ]
    (first,) = with_heading
    assert any(isinstance(m, Words) and m.text == drawn[0][0] for m in first.marks)
    for sheet in sheets:
        for mark in sheet.marks:
            if isinstance(mark, Words):
                assert mark.size_mm > 1.8, mark.text
                assert area.left - 0.1 <= mark.x <= area.right + 0.1
                assert isinstance(mark.colour, float)


def test_a_move_is_drawn_with_the_arrow_that_its_entry_has() -> None:
    bench = Bench()
    bench.keep(ReadingTaken(step="level", reading=bubble("front-back", 3.0)))
    for amount, sign in ((0.5, 1.0), (-0.5, -1.0)):
        part = MovePart(control=Control.FOOT, amount=amount, unit="turns", where="front left")
        bench.keep(MoveMade(step="level", parts=(part,)))
        ((_, drawing),) = bench_content(bench.journey).drawings
        (head,) = named(drawing, parts.HAND)
        assert isinstance(head, Area)
        tip, one, other = head.points
        assert math.copysign(1.0, tip[1] - 0.5 * (one[1] + other[1])) == sign
        on_paper = set_in(drawing, Box(0.0, 0.0, 50.0, 50.0))
        (small,) = [m for m in on_paper if isinstance(m, Area) and m.name == head.name]
        assert isinstance(small, Area)
        tip, one, other = small.points
        assert math.copysign(1.0, tip[1] - 0.5 * (one[1] + other[1])) == sign


def test_a_fitting_with_nothing_read_still_makes_a_sheet() -> None:
    sheets = bench_sheets(Bench().journey)
    assert 1 <= len(sheets) <= 2
    assert said(sheets).count("nothing was read") >= 6


def test_ever_so_many_words_stay_on_two_pages_and_the_sheet_says_it_was_shortened() -> None:
    bench = Bench(deck(owner_reference="Shelf " * 18, name="N" * 120), who="W" * 100)
    for _ in range(40):
        bench.note("word " * 700)
        bench.note("a-long-word-without-any-gap-" * 60, "level")
    journey = bench.work_all(but=tuple(READINGS)[2:])
    sheets = bench_sheets(journey)
    assert len(sheets) <= 3, "two pages of words, one of drawings"
    assert "Shortened to fit two pages" in said(sheets)


def test_numbers_are_written_as_the_country_writes_them() -> None:
    comma = Numbers(",")
    journey = Bench().work_all()
    words = said(bench_sheets(journey, PaperSize.A4, comma))
    assert "3,50\u00a0±\u00a0" in words
    assert "3.50" not in words


def test_what_varies_stands_on_the_sheet_after_the_speed_with_no_target() -> None:
    told = {"weighted_percent": 0.12, "unweighted_percent": 0.2, "once_per_turn_percent": 0.15}
    speed = {"hz": 3150.0, "nominal_hz": 3150.0, "start_s": 0.0, "seconds": 30.0, **told}
    band = {"kind": "speed", "side": "both", "hz": 3150.0, "start_s": 0, "end_s": 30}
    recorded = {"file": "tone.wav", "seconds": 30.0, "channels": 2, "speed": speed}
    reading = {"way": "tone", "recorded": recorded | {"bands": [band | {"level_db": -10}]}}
    said = [ReadingTaken(step="speed", reading=reading)]
    rows = bench_content(past(fitting("2025-03-31", said=said)).journey).steps[-1].rows
    assert rows[0].target
    assert [row.target for row in rows[1:]] == ["", "", ""]
    assert ["0.120" in rows[1].before, "0.150" in rows[3].before] == [True, True]


def test_a_move_that_changed_nothing_is_not_drawn_but_how_it_was_read() -> None:
    bench = Bench()
    lean = [bubble("front-back", 8.0), bubble("left-right", 0.0)]
    bench.keep(*(ReadingTaken(step="level", reading=one) for one in lean))

    def move_as_told_and_read_the_same() -> None:
        move = bench.journey.status("level").assessment.next_move
        assert move is not None
        bench.keep(MoveMade(step="level", parts=move.parts))
        bench.keep(*(ReadingTaken(step="level", reading=one) for one in lean))

    def title() -> str:
        ((_, drawing),) = bench_content(bench.journey).drawings
        return drawing.title

    move_as_told_and_read_the_same()
    assert bench.journey.status("level").assessment.questions
    answer = ControlChecked(control=Control.FOOT).model_dump(mode="json")
    bench.keep(ReadingTaken(step="level", reading=answer))
    assert "how to read" in title()
    move_as_told_and_read_the_same()
    assert bench.journey.status("level").assessment.headline.key == "control.does_not_answer"
    assert "how to read" in title()


def test_no_earlier_move_is_drawn_where_the_last_one_changed_nothing() -> None:
    """ "20 turns" stood where the weight was last turned by 4.56, both times for nothing."""
    bench = Bench()
    for step in ("level", "mount"):
        bench.work(step, READINGS[step])
    weighed = ReadingTaken(
        step="rough_downforce", reading={"way": "scale", "downforce_gf": 4.0, "pan_height_mm": None}
    )
    bench.keep(weighed)
    for turns in (-20.0, -4.56):
        part = MovePart(control=Control.COUNTERWEIGHT, amount=turns, unit="turns")
        bench.keep(MoveMade(step="rough_downforce", parts=(part,)), weighed, weighed)
    answer = ControlChecked(control=Control.COUNTERWEIGHT).model_dump(mode="json")
    bench.keep(ReadingTaken(step="rough_downforce", reading=answer))

    def drawn() -> str:
        return dict(bench_content(bench.journey).drawings)["3 Rough downforce"].title

    assert "how to read" in drawn()
    assert "turns" not in drawn()
    right = ReadingTaken(step="rough_downforce", reading={"way": "scale", "downforce_gf": 2.0})
    bench.keep(right)  # by another hand: the moves as entered still changed nothing
    assert "how to read" in drawn()


def test_the_stylus_is_drawn_as_last_weighed_not_the_check_of_the_scale() -> None:
    """ "0.00 gf", the empty pan, stood there as if it were the downforce."""
    bench = Bench()
    bench.work_all(but=("final_downforce", "speed"))
    step = "final_downforce"
    for reading in (
        {"way": "scale", "downforce_gf": 2.01},
        {"way": "check weight", "weight_g": 2.0, "shown_gf": 2.04},
        {"way": "check weight", "weight_g": 0.0, "shown_gf": 0.0},
    ):
        bench.keep(ReadingTaken(step=step, reading=reading))
    drawing = dict(bench_content(bench.journey).drawings)["8 Final downforce"]
    words = {mark.text.replace("\u00a0", " ") for mark in drawing.marks if isinstance(mark, Words)}
    assert "2.01 gf" in words
    assert not {"0.00 gf", "2.04 gf"} & words


def test_a_step_without_a_checklist_is_not_said_to_be_judged_by_one() -> None:
    bench = Bench()
    # An end of the vial leans at least so much: an order, but no figure.
    ended = {"way": "bubble at its end", "direction": "front-back", "toward": "marked"}
    bench.work("level", [bubble("left-right", 0.0), ended], override="The shelf leans.")
    bench.work("mount", READINGS["mount"])
    level, mount, *_ = bench_content(bench.journey).steps
    assert level.verdict.startswith("Kept by choice")
    assert not level.rows
    assert "checklist" not in level.verdict
    assert level.verdict.endswith("The readings give no figure.")
    assert "checklist" in mount.method


def test_what_is_worked_out_for_the_new_cartridge_was_not_found() -> None:
    mount = bench_content(Bench().work_all()).steps[1]
    (row,) = (one for one in mount.rows if one.label == "Resonance")
    assert row.before == "–"
    assert row.after.startswith("9.7\u00a0±")
    assert not [remark for remark in mount.remarks if "First read" in remark]


def test_a_step_that_nobody_read_says_so_and_nothing_else() -> None:
    """It told the first downforce, its target and a method beside 'nothing was read'."""
    bench = Bench()
    for step in ("level", "mount", "rough_downforce"):
        bench.work(step, READINGS[step])
    content = bench_content(bench.journey)
    for step in content.steps[3:]:
        assert step.verdict == "No verdict: nothing was read."
        assert (step.rows, step.method, step.remarks) == ((), "", ())
    titles = [Numbers().text(one.title) for one in content.pictures]
    assert titles == ["Downforce before anything is played"]


def test_that_it_was_kept_by_choice_or_has_nothing_to_set_is_said_once() -> None:
    bench = Bench(on=deck(skating={"control": "none"}))
    bench.work("level", [bubble("front-back", 8.0), bubble("left-right", 0.0)], override="It leans")
    content = bench_content(bench.journey)
    level, skating = content.steps[0], content.steps[6]
    assert " ".join((level.verdict, *level.remarks)).count("Kept by choice") == 1
    assert "Reason: It leans" in level.remarks
    assert skating.verdict == "Nothing to set. This deck has no skating compensation."
