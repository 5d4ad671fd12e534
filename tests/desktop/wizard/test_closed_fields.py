"""While the stylus must stay up, a step says so first and leads to the weighing."""

from __future__ import annotations

from core.fitting import Control, MovePart
from desktop.wizard import Wizard
from tests.desktop.kit import (
    CALM,
    FittingBench,
    Key,
    Opener,
    focus,
    press,
    step_page,
    words_of,
    write,
)


def shut(bench: FittingBench, open_wizard: Opener) -> Wizard:
    """Turn the counterweight after the weighing, and open the height."""
    bench.rough()
    bench.move("rough_downforce", MovePart(control=Control.COUNTERWEIGHT, amount=0.1, unit="turns"))
    wizard = open_wizard()
    wizard.go("arm_height")
    return wizard


def test_the_headline_forbids_what_the_closed_fields_would_ask_for(
    bench: FittingBench, open_wizard: Opener
) -> None:
    page = step_page(shut(bench, open_wizard))
    assert page.reading.closed_reason()
    assert page.readout.headline().startswith("Keep the stylus up")
    assert "Read the height" not in page.readout.accessibleName()


def test_the_button_that_has_the_focus_leads_to_the_weighing(
    bench: FittingBench, open_wizard: Opener
) -> None:
    wizard = shut(bench, open_wizard)
    page = step_page(wizard)
    assert focus() is page.reading.weigh_button
    press(Key.Key_Space)
    assert wizard.place == "rough_downforce"
    bench.controller.look()
    assert step_page(wizard).reading.weigh_button.isHidden()


def test_digits_typed_at_closed_fields_are_answered(
    bench: FittingBench, open_wizard: Opener
) -> None:
    wizard = shut(bench, open_wizard)
    page = step_page(wizard)
    write("23")
    assert "The number was not taken" in words_of(page.reading)
    for _ in range(3):
        bench.read("rough_downforce", way="scale", downforce_gf=2.0)
    assert page.reading.weigh_button.isHidden()
    assert "The number was not taken" not in words_of(page.reading)
    assert not page.readout.headline().startswith("Keep the stylus up")


def test_the_reason_is_said_once_in_the_headline_or_else_at_the_fields(
    bench: FittingBench, open_wizard: Opener
) -> None:
    """It stood in the headline and a second time above the closed fields."""
    wizard = shut(bench, open_wizard)
    page = step_page(wizard)
    said = page.readout.headline()
    assert said in page.reading.closed_reason()
    assert said not in words_of(page.reading)


def test_where_the_headline_says_something_else_the_fields_say_why_they_are_closed(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.rough()
    for step in ("arm_height", "alignment", "tilt"):
        for reading in CALM[step]:
            bench.read(step, **reading)
        bench.accept(step)
    bench.read("skating", way="setting", setting=3.0)
    bench.move("rough_downforce", MovePart(control=Control.COUNTERWEIGHT, amount=0.1, unit="turns"))
    wizard = open_wizard()
    wizard.go("skating")
    page = step_page(wizard)
    page.reading.choose("test bands")
    shown = [words_of(page.reading), page.readout.accessibleName()]
    assert page.reading.closed_reason()
    assert sum("Keep the stylus up" in one for one in shown) == 1
