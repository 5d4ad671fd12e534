"""Skating set to 0 for weighing is remembered on the last page, by the setting that was read."""

from __future__ import annotations

from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import CALM, FittingBench, Opener, words_of

STEPS = ("arm_height", "alignment", "tilt")


def summary(bench: FittingBench, open_wizard: Opener) -> SummaryPage:
    wizard = open_wizard()
    wizard.go("summary")
    page = wizard.page
    assert isinstance(page, SummaryPage)
    return page


def up_to_weighing(bench: FittingBench) -> None:
    bench.rough()
    for step in STEPS:
        for reading in CALM[step]:
            bench.read(step, **reading)
        bench.accept(step, "left for now")
    bench.read("skating", way="setting", setting=2.0)
    bench.accept("skating")
    bench.read("final_downforce", way="scale", downforce_gf=2.0)


def test_the_setting_to_go_back_to_is_named(bench: FittingBench, open_wizard: Opener) -> None:
    up_to_weighing(bench)
    said = words_of(summary(bench, open_wizard)).replace("\u00a0", " ")
    assert "set it back to 2,00 gf" in said


def test_nothing_is_said_once_it_was_read_again(bench: FittingBench, open_wizard: Opener) -> None:
    up_to_weighing(bench)
    bench.read("skating", way="setting", setting=2.0)
    assert "set it back" not in words_of(summary(bench, open_wizard))
