"""While the page says "Stylus up!" neither its lines nor its drawing have the stylus lowered."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from core.fitting import Control, MovePart, Verdict
from core.steps import STEP_NAMES
from core.store import Library
from desktop.forms.recipe import LineState, RecipeLine
from desktop.widgets.steady_label import SteadyLabel
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import (
    FittingBench,
    Opener,
    bench_view_of,
    cautions_told,
    press,
    settle,
    step_page,
    words_of,
    write,
)
from tests.examples import deck
from tests.kit import named
from tests.worked import CHECKED


def at(bench: FittingBench, open_wizard: Opener, step: str) -> StepPage:
    wizard = open_wizard()
    wizard.go(step)
    page = step_page(wizard)
    page.deferred.finish()
    return page


def reach(bench: FittingBench, step: str) -> None:
    """Bring the fitting to a step after rough downforce."""
    bench.rough()
    for before in STEP_NAMES[STEP_NAMES.index("rough_downforce") + 1 : STEP_NAMES.index(step)]:
        bench.accept(before, "left so for this test")


def lines_of(page: StepPage) -> list[RecipeLine]:
    form = page.reading.form
    assert form is not None
    assert form.recipe is not None
    return form.recipe.lines


def is_told_to_lower(page: StepPage) -> bool:
    """Whether a line that lowers the stylus has its words in the strength of work to do."""
    (line,) = (one for one in lines_of(page) if one.line.does == "lower stylus")
    return line.words.property("kind") != "muted"


def is_raised(page: StepPage) -> bool:
    """Whether the arm is drawn in its rest."""
    drawing = bench_view_of(page).drawing
    assert drawing is not None
    return bool(named(drawing, "rest@"))


def about_to_weigh(bench: FittingBench, open_wizard: Opener, step: str) -> StepPage:
    """Return the page of a step that weighs, with nothing weighed there yet."""
    if step == "rough_downforce":
        bench.mount()
    else:
        reach(bench, step)
    return at(bench, open_wizard, step)


def in_hand(page: StepPage) -> list[str]:
    return [one.line.does for one in lines_of(page) if one.state is LineState.IN_HAND]


@pytest.mark.parametrize("step", ["rough_downforce", "final_downforce"])
def test_a_stop_while_typing_raises_the_stylus_in_lines_and_drawing(
    bench: FittingBench, open_wizard: Opener, step: str
) -> None:
    page = about_to_weigh(bench, open_wizard, step)
    write("2")
    settle()
    assert is_told_to_lower(page)
    assert not is_raised(page)
    write("9")
    settle()
    assert page.readout.headline().startswith("Stylus up!")
    assert not is_told_to_lower(page)
    assert is_raised(page)
    assert in_hand(page)[1:3] == ["", "guard on"], "raise the arm, guard on: that is the work now"
    assert "rest" in bench_view_of(page).accessibleName(), "a screen reader hears it too"
    press(Qt.Key.Key_Backspace)
    settle()
    assert is_told_to_lower(page), "a slip of the finger"
    assert not is_raised(page)


def test_a_saved_stop_has_the_stylus_up_until_the_move_was_made(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=4.0)
    page = at(bench, open_wizard, "rough_downforce")
    assert page.readout.headline().startswith("Stylus up!")
    assert not is_told_to_lower(page)
    assert is_raised(page)
    page.start_moving()
    settle()
    assert is_told_to_lower(page), "weigh again, after the move"
    assert not is_raised(page)


def test_a_figure_that_asks_for_another_unit_keeps_the_stylus_up(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=19.6)
    page = at(bench, open_wizard, "rough_downforce")
    assert page.readout.headline().startswith("Stylus up!")
    assert not is_told_to_lower(page)
    assert is_raised(page)


def test_gaps_of_nothing_have_the_arm_raised(bench: FittingBench, open_wizard: Opener) -> None:
    reach(bench, "tilt")
    bench.read("tilt", way="gaps", left_mm=0.0, right_mm=0.0)
    page = at(bench, open_wizard, "tilt")
    assert page.status.assessment.verdict is Verdict.STOP
    assert not is_told_to_lower(page)
    assert is_raised(page)


@pytest.mark.parametrize("step", ["rough_downforce", "final_downforce"])
def test_a_refused_figure_raises_the_stylus_in_headline_lines_and_drawing(
    bench: FittingBench, open_wizard: Opener, step: str
) -> None:
    """A scale that shows 150 is refused in the field: it may be what presses on the pan."""
    page = about_to_weigh(bench, open_wizard, step)
    write("150")
    settle()
    assert page.readout.headline().startswith("Keep the stylus up")
    assert page.readout.sign is Verdict.STOP
    assert not is_told_to_lower(page)
    assert is_raised(page)
    assert not page.can_override()
    for _ in range(2):
        press(Qt.Key.Key_Backspace)
    settle()
    assert not page.readout.headline().startswith("Keep the stylus up")
    assert is_told_to_lower(page)
    assert not is_raised(page)


def test_a_check_weight_of_150_does_not_speak_of_the_stylus_in_the_headline(
    bench: FittingBench, open_wizard: Opener
) -> None:
    """The arm is in its rest then, and the guard on."""
    bench.mount()
    page = at(bench, open_wizard, "rough_downforce")
    page.reading.choose("check weight")
    page.reading.start()
    press(Qt.Key.Key_Tab)
    write("150")
    settle()
    assert not page.readout.headline().startswith("Keep the stylus up")


def test_a_closed_form_has_the_stylus_up_whatever_the_verdict(
    bench: FittingBench, open_wizard: Opener
) -> None:
    """The tilt was good; then the counterweight was turned, and not weighed again."""
    reach(bench, "tilt")
    bench.read("tilt", way="gaps", left_mm=1.0, right_mm=1.0)
    page = at(bench, open_wizard, "tilt")
    assert page.status.assessment.verdict is not Verdict.READ_AGAIN
    assert is_told_to_lower(page)
    weight = MovePart(control=Control.COUNTERWEIGHT, amount=0.5, unit="turns")
    bench.move("rough_downforce", weight)
    page.refresh()
    settle()
    assert page.reading.shut() is not None
    assert not is_told_to_lower(page)
    assert is_raised(page)


def test_typing_beside_a_saved_stop_does_not_lower_the_stylus(
    bench: FittingBench, open_wizard: Opener
) -> None:
    """What is typed is not saved yet: the stop stands."""
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=4.0)
    page = at(bench, open_wizard, "rough_downforce")
    page.start_reading()
    write("2")
    settle()
    assert not is_told_to_lower(page)
    assert is_raised(page)


@pytest.mark.parametrize("weighed", [(), (2.9,), (1.0,), (4.0,), (19.6,), (2.0, 2.9)])
def test_no_page_says_at_once_that_the_stylus_stays_up_and_where_it_goes_down(
    bench: FittingBench, open_wizard: Opener, weighed: tuple[float, ...]
) -> None:
    bench.mount()
    for shown_gf in weighed:
        bench.read("rough_downforce", way="scale", downforce_gf=shown_gf)
    page = at(bench, open_wizard, "rough_downforce")
    stays_up = "Stylus stays up" in words_of(page)
    assert stays_up is (page.status.assessment.verdict is Verdict.STOP)
    assert stays_up is not is_told_to_lower(page)
    if not stays_up:
        assert "Keep the stylus off records" in words_of(page), "the scale is no record"
    if not page.move_panel.isHidden():
        page.start_moving()
        settle()
        assert "Stylus stays up" not in words_of(page)
        assert is_told_to_lower(page), "it is to be weighed again"


def test_why_a_move_goes_only_part_of_the_way_stands_beside_the_order(
    bench: FittingBench, open_wizard: Opener
) -> None:
    """It stood under “All figures”, folded away."""
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=3.1)
    bench.move(
        "rough_downforce", MovePart(control=Control.COUNTERWEIGHT, amount=1.29, unit="turns")
    )
    bench.read("rough_downforce", way="scale", downforce_gf=3.25)
    bench.read("rough_downforce", way="control checked", control="counterweight")
    page = at(bench, open_wizard, "rough_downforce")
    assert page.status.assessment.next_move is not None
    assert "only part of the way" in page.readout.accessibleName()


def notes_of(page: StepPage) -> str:
    labels = page.side_pane.findChildren(SteadyLabel)
    return "\n".join(one.text() for one in labels if not one.isHidden())


class TestScaleOnAnArmThatCanBeFloated:
    @pytest.fixture
    def bench(self, library: Library) -> FittingBench:
        return FittingBench(library, on=deck(arm={"gf_per_turn": 2.0}))

    @pytest.mark.parametrize("saved", [True, False])
    @pytest.mark.parametrize("typed", ["19.6", "29", "150"])
    def test_beside_its_stop_nobody_is_told_to_float_the_arm(
        self, bench: FittingBench, open_wizard: Opener, typed: str, *, saved: bool
    ) -> None:
        bench.mount()
        page = at(bench, open_wizard, "rough_downforce")
        page.side_pane.figures.toggle()
        settle()
        assert "No scale?" in notes_of(page), "while nothing is weighed"
        write(typed)
        if saved:
            page.keep_reading()
        settle()
        assert "tylus up" in page.readout.headline()
        assert page.status.assessment.verdict is (
            Verdict.STOP if saved and float(typed) < 30.0 else Verdict.NO_READING
        )
        assert "No scale?" not in notes_of(page)


def test_the_page_says_that_the_cartridge_is_loose_while_it_is_weighed_and_after(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.level()
    bench.read("mount", **{**CHECKED, "screws_snug": False})
    bench.accept("mount", "only one screw here")
    page = at(bench, open_wizard, "rough_downforce")
    assert "The cartridge is loose" in cautions_told(page)
    write("2.0")
    settle()
    assert page.reading.draft() is not None
    assert "The cartridge is loose" in cautions_told(page), "a typed weight does not hold it"
    for _ in range(3):
        bench.read("rough_downforce", way="scale", downforce_gf=2.0)
    bench.accept("rough_downforce")
    page = at(bench, open_wizard, "arm_height")
    assert "the cartridge is loose" in words_of(page)
    assert not is_told_to_lower(page)
