"""The skating compensation, at 0 for weighing: kept as data, on both sheets until it is back."""

from __future__ import annotations

from core.drawing.marks import Words
from core.fitting import Control, Finished, Fitting, SkatingAtZero, Withdrawn, Work
from core.language import Numbers
from core.paper.bench_content import bench_content
from core.paper.customer_sheet import customer_sheets
from core.paper.step_drawings import drawing_of
from core.records import Deck
from core.workflow import set_back_of, work_asked, work_of
from core.workflow.descriptions import described
from tests.core.workflow.test_replay import Bench
from tests.examples import deck


def weighed(skating: float | None = None, on: Deck | None = None) -> Bench:
    """Return a short job in which downforce was weighed, the compensation set to this before."""
    bench = Bench(on)
    bench.enter(work_asked(Work.DOWNFORCE))
    bench.weigh(2.0, "final_downforce")
    if skating is not None:
        bench.enter(SkatingAtZero(was=skating))
    return bench


def owners_words(bench: Bench) -> str:
    (sheet, *_) = customer_sheets(bench.journey)
    words = (mark.text for mark in sheet.marks if isinstance(mark, Words))
    return " ".join(words).replace("\u00a0", " ")


def bench_words(bench: Bench) -> str:
    return " ".join(bench_content(bench.journey).work).replace("\u00a0", " ")


def test_both_sheets_name_the_setting_until_it_is_set_back() -> None:
    bench = weighed(1.75)
    assert "back to 1.75 gf" in bench_words(bench)
    assert "back to 1.75 gf" in owners_words(bench)
    bench.enter(SkatingAtZero(is_back=True))
    assert "skating compensation" not in bench_words(bench)
    assert "skating compensation" not in owners_words(bench)


def test_an_owner_reads_what_skating_was_set_back_to_until_it_is_weighed_again() -> None:
    """The sheet of a short job said nothing of the skating that was at 0 and set back."""
    bench = weighed(1.75)
    bench.enter(SkatingAtZero(is_back=True, back_to=1.75))
    assert "skating compensation is back at 1.75 gf" in owners_words(bench)
    bench.weigh(2.0, "final_downforce")
    assert "is back at" not in owners_words(bench)
    assert "back to 1.75 gf" in owners_words(bench)


def test_an_owner_reads_that_skating_was_set_to_match_until_the_downforce_is_moved() -> None:
    bench = moved_in_a_short_job()
    assert "was set again, to match" not in owners_words(bench)
    bench.enter(SkatingAtZero(was=1.75, is_back=True))
    assert "was set again, to match the new downforce" in owners_words(bench)
    bench.move("final_downforce", Control.COUNTERWEIGHT, 0.25, "turns")
    assert "was set again, to match" not in owners_words(bench)


def test_an_owner_does_not_read_the_setting_as_left_while_it_stands_at_0() -> None:
    bench = Bench()
    bench.through("tilt")
    bench.read("skating", way="setting", setting=2.0)
    bench.accept("skating")
    assert "Compensation at 2.00 gf" in owners_words(bench)
    bench.weigh(2.0, "final_downforce")
    assert "Compensation at 2.00 gf" not in owners_words(bench)
    assert "At 0 for weighing" in owners_words(bench)
    bench.enter(SkatingAtZero(is_back=True))
    assert "Compensation at 2.00 gf" in owners_words(bench)


def test_a_later_weighing_needs_it_at_0_once_more_and_knows_the_setting_still() -> None:
    bench = weighed(1.75)
    bench.enter(SkatingAtZero(is_back=True))
    assert set_back_of(bench.journey) is None
    bench.weigh(2.0, "final_downforce")
    still = set_back_of(bench.journey)
    assert still is not None
    assert still.was == 1.75


def test_a_weighing_that_is_left_out_was_made_at_0_all_the_same() -> None:
    bench = weighed(1.75)
    bench.enter(SkatingAtZero(is_back=True))
    wrong = bench.weigh(2.3, "final_downforce")
    bench.enter(Withdrawn(entry=wrong))
    still = set_back_of(bench.journey)
    assert still is not None
    assert still.was == 1.75


def test_a_changed_downforce_asks_for_another_setting_and_names_the_one_it_had() -> None:
    bench = weighed(1.75)
    bench.move("final_downforce", Control.COUNTERWEIGHT, 0.25, "turns")
    still = set_back_of(bench.journey)
    assert still is not None
    said = Numbers().text(still.said).replace("\u00a0", " ")
    assert "match the new downforce" in said
    assert "Before that it was set to 1.75 gf" in said


def told_of_work(bench: Bench) -> str:
    said = " ".join(Numbers().text(one) for one in work_of(bench.journey))
    return said.replace("\u00a0", " ")


def moved_in_a_short_job(on: Deck | None = None) -> Bench:
    bench = weighed(1.75, on)
    bench.move("final_downforce", Control.COUNTERWEIGHT, 0.25, "turns")
    bench.weigh(2.0, "final_downforce")
    return bench


def test_skating_that_was_set_anew_is_not_asked_for_again() -> None:
    """The finished summary of a short job went on: set the skating compensation to match."""
    bench = moved_in_a_short_job()
    bench.enter(SkatingAtZero(is_back=True))
    assert "to match" not in told_of_work(bench) + bench_words(bench)
    bench.accept("final_downforce", reason="by the scale alone")
    bench.enter(Finished())
    assert "to match" not in told_of_work(bench) + bench_words(bench)


def test_what_is_to_be_set_after_weighing_is_said_once() -> None:
    said = bench_words(moved_in_a_short_job())
    assert said.count("skating compensation") == 1
    assert "to match the new downforce" in said


def test_an_arm_without_skating_compensation_is_asked_for_none() -> None:
    bench = moved_in_a_short_job(deck(skating={"control": "none"}))
    assert "to match" not in told_of_work(bench) + bench_words(bench)


def test_a_counterweight_turned_after_the_compensation_was_set_asks_for_it_again() -> None:
    bench = moved_in_a_short_job()
    bench.enter(SkatingAtZero(is_back=True))
    bench.move("final_downforce", Control.COUNTERWEIGHT, 0.25, "turns")
    assert "to match" in told_of_work(bench)


def test_one_that_was_at_0_before_has_nothing_to_go_back_to() -> None:
    assert set_back_of(weighed(0.0).journey) is None


def test_a_notch_is_named_by_its_number() -> None:
    still = set_back_of(weighed(2.0, on=deck(skating={"control": "thread weight"})).journey)
    assert still is not None
    assert still.units == {}
    assert "notch 2" in Numbers().text(still.said)


def test_a_fitting_that_ended_before_anybody_was_asked_is_not_asked_about() -> None:
    bench = weighed(1.75)
    for _ in range(2):
        bench.weigh(2.0, "final_downforce")
    bench.accept("final_downforce", reason="by the scale alone")
    older = bench.fitting
    bench.enter(Finished())
    assert set_back_of(bench.journey) is None
    bench.fitting = older
    bench.enter(Finished(skating_at_zero=True))
    assert set_back_of(bench.journey) is not None
    bench.enter(SkatingAtZero(is_back=True))
    assert set_back_of(bench.journey) is None


def test_the_log_says_it_and_a_document_brings_it_back() -> None:
    bench = weighed(1.75)
    again = Fitting.model_validate_json(bench.fitting.model_dump_json())
    assert again == bench.fitting
    said = [
        Numbers().text(described(body, deck=bench.deck)).replace("\u00a0", " ")
        for body in (
            SkatingAtZero(was=1.75),
            SkatingAtZero(is_back=True),
            SkatingAtZero(is_back=True, back_to=1.75),
        )
    ]
    assert said == [
        "Skating compensation at 0 for weighing; it was 1.75 gf",
        "Skating compensation set again after weighing",
        "Skating compensation set back to 1.75 gf after weighing",
    ]


def test_no_weight_is_drawn_for_an_empty_pan() -> None:
    """The bench sheet drew a black weight marked "0 g"."""
    bench = Bench()
    bench.through("skating")
    drawn = []
    for grams in (0.0, 2.0):
        bench.read("final_downforce", way="check weight", weight_g=grams, shown_gf=grams)
        found = drawing_of(bench.journey.status("final_downforce"), bench.journey, Numbers())
        assert found is not None
        drawn.append(
            {mark.text.replace("\u00a0", " ") for mark in found.marks if isinstance(mark, Words)}
        )
    empty, weighed = drawn
    assert "0 g" not in empty
    assert "2 g" in weighed
