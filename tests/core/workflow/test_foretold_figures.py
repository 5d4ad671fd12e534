"""A figure that is only foretold is told as such, and is never what was left."""

from __future__ import annotations

from core.fitting import MoveMade
from core.language import Numbers
from core.paper.bench_content import bench_content
from core.workflow import outcome_of
from tests.core.workflow.test_replay import Bench


def moved_and_not_read() -> Bench:
    """Return a bench whose arm was lowered as told, and not read since."""
    bench = Bench()
    bench.through("rough_downforce")
    read_heights(bench, 23.5, 27.0)
    move = bench.journey.status("arm_height").assessment.next_move
    assert move is not None
    bench.enter(MoveMade(step="arm_height", parts=move.parts))
    return bench


def read_heights(bench: Bench, front_mm: float, rear_mm: float) -> None:
    bench.read(
        "arm_height", way="two heights", front_mm=front_mm, rear_mm=rear_mm, spacing_mm=180.0
    )


def as_left(bench: Bench) -> list[str]:
    (step,) = [one for one in bench_content(bench.journey).steps if one.title.startswith("4")]
    return [row.after for row in step.rows]


def test_what_should_be_after_a_move_is_called_expected_and_not_read() -> None:
    bench = moved_and_not_read()
    for pair in outcome_of(bench.journey, "arm_height").figures:
        assert pair.after is None
        assert pair.foretold is not None
    assert all(told.startswith("expected ") for told in as_left(bench))
    assert all(told.endswith(", not read") for told in as_left(bench))
    read_heights(bench, 22.75, 22.75)
    assert not any("expected" in told for told in as_left(bench))


def test_what_was_read_and_what_a_move_should_give_are_named_together() -> None:
    bench = moved_and_not_read()
    read_heights(bench, 22.75, 22.75)
    method = Numbers().text(outcome_of(bench.journey, "arm_height").method)
    assert method == "two heights of the tube, with what the move should have done"


def test_without_a_move_the_readings_stand_alone() -> None:
    bench = Bench()
    bench.through("rough_downforce")
    read_heights(bench, 23.5, 23.5)
    method = Numbers().text(outcome_of(bench.journey, "arm_height").method)
    assert method == "two heights of the tube"
