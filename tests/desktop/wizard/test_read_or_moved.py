"""A reading typed on, without looking up, while a move was ordered: asked about, never lost."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from core.fitting import Control, MoveMade, MovePart, ReadingTaken, Work
from core.steps.speed import NAME as SPEED
from core.workflow.work import work_asked
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import CTRL, FittingBench, Opener, focus, press, settle, step_page, write


@pytest.fixture
def weighing(bench: FittingBench, open_wizard: Opener) -> StepPage:
    """Return the page of a fitting that asks for the downforce alone, after 1.70 and 1.95."""
    bench.keep(work_asked(Work.DOWNFORCE))
    wizard = open_wizard()
    assert wizard.place == "final_downforce"
    page = step_page(wizard)
    assert "three" not in page.readout.headline()
    for shown in ("1,70", "1,95"):
        write(shown)
        press(Qt.Key.Key_Return)
    return page


def taken(bench: FittingBench) -> list[float]:
    """Return the weighings in the record."""
    bodies = [one.body for one in bench.another().fitting.entries]
    return [
        one.reading["downforce_gf"]
        for one in bodies
        if isinstance(one, ReadingTaken) and "downforce_gf" in one.reading
    ]


def moves(bench: FittingBench) -> list[MovePart]:
    bodies = [one.body for one in bench.another().fitting.entries]
    return [part for one in bodies if isinstance(one, MoveMade) for part in one.parts]


def test_a_weighing_typed_over_an_ordered_move_is_asked_about(
    bench: FittingBench, weighing: StepPage
) -> None:
    panel = weighing.move_panel
    assert (
        panel.which.text()
        == "? Is 1,95\u00a0gf what you read, or how far you moved it, 1,95\u00a0turns?"
    )
    assert (taken(bench), moves(bench)) == ([1.70], [])
    assert panel.fields[0] is not None
    assert panel.fields[0].text() == "1,95"


def test_one_key_keeps_it_as_the_reading_that_it_is(
    bench: FittingBench, weighing: StepPage
) -> None:
    press(Qt.Key.Key_Return, CTRL)
    assert (taken(bench), moves(bench)) == ([1.70, 1.95], [])
    assert weighing.move_panel.which.text() == ""
    assert not weighing.has_unsaved()


def test_one_key_keeps_it_as_the_move_that_it_was(bench: FittingBench, weighing: StepPage) -> None:
    press(Qt.Key.Key_M, CTRL)
    (part,) = moves(bench)
    assert (part.control, part.amount, part.unit) == (Control.COUNTERWEIGHT, 1.95, "turns")
    assert taken(bench) == [1.70]


def test_who_types_on_without_looking_up_loses_nothing_and_answers_nothing(
    bench: FittingBench, weighing: StepPage
) -> None:
    press(Qt.Key.Key_Return)
    write("1,97")
    press(Qt.Key.Key_Return)
    assert (taken(bench), moves(bench)) == ([1.70], [])
    panel = weighing.move_panel
    assert panel.fields[0] is not None
    assert panel.fields[0].text() == "1,95"
    assert panel.asks_which
    press(Qt.Key.Key_Escape)
    assert focus() is panel.fields[0].line
    write("0,5")
    assert panel.which.text() == ""
    press(Qt.Key.Key_Return)
    assert [part.amount for part in moves(bench)] == [0.5]


def test_another_reading_that_is_typed_already_is_not_overwritten(
    bench: FittingBench, weighing: StepPage
) -> None:
    form = weighing.reading.form
    assert form is not None
    form.fields.entries["downforce_gf"].put_raw("1,8")
    press(Qt.Key.Key_Return, CTRL)
    assert (taken(bench), moves(bench)) == ([1.70], [])
    assert form.fields.entries["downforce_gf"].raw() == "1,8"
    panel = weighing.move_panel
    assert panel.fields[0] is not None
    assert panel.fields[0].text() == "1,95"
    assert "typed but not saved" in panel._problem.text()


def test_a_reading_of_several_figures_goes_on_at_the_next(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.keep(work_asked(Work.SPEED))
    wizard = open_wizard()
    assert wizard.place == SPEED
    bench.read(SPEED, way="strobe", direction="against", drifted_bars=30.0, seconds=30.0, bars=180)
    page = step_page(wizard)
    page.refresh()
    page.move_panel.start()
    write("28")
    press(Qt.Key.Key_Return)
    assert (
        "Is 28 what you read, or how far you moved it, 28\u00a0turns?"
        in page.move_panel.which.text()
    )
    press(Qt.Key.Key_Return, CTRL)
    assert moves(bench) == []
    form = page.reading.form
    assert form is not None
    assert form.fields.entries["drifted_bars"].raw() == "28"
    assert page.reading.isAncestorOf(focus()), "the way the bars went is still asked for"


def test_question_and_answers_are_seen_whole_in_a_small_window(weighing: StepPage) -> None:
    weighing.window().resize(900, 600)
    settle()
    which = weighing.move_panel.which
    assert focus() is which
    for one in (which, which.read_button, which.moved_button):
        assert one.visibleRegion().boundingRect().contains(one.rect())


def test_of_several_amounts_the_next_is_asked_for_once_one_was_surely_moved(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.read("level", way="bubble", direction="left-right", divisions=0.0)
    bench.read("level", way="bubble", direction="front-back", divisions=8.0)
    page = step_page(open_wizard())
    panel = page.move_panel
    first, second = (one for one in panel.fields if one is not None)
    panel.start()
    write("8")
    press(Qt.Key.Key_Return)
    assert panel.asks_which
    press(Qt.Key.Key_M, CTRL)
    assert moves(bench) == []
    assert focus() is second.line
    assert first.text() == "8"
    write("0,5")
    press(Qt.Key.Key_Return)
    assert [abs(part.amount) for part in moves(bench)] == [8.0, 0.5]
