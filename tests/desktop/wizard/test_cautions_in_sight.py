"""Whatever the size of the window, a caution of the work in hand is in sight with its field."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QWidget

from core.fitting import ReadingTaken, Verdict
from core.language import Numbers
from core.steps import STEP_NAMES
from core.store import Library
from desktop.forms.recipe import LineState, RecipeLine
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.widgets.caution_line import CautionLine
from desktop.widgets.preferences import Preferences
from desktop.widgets.verdict_badge import Headline
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import (
    FittingBench,
    Opener,
    RecordingMessages,
    finished,
    focus,
    page_of,
    press,
    settle,
    step_page,
)
from tests.examples import cartridge, deck
from tests.worked import READINGS, Read

Show = Callable[..., QWidget]
SIZES = [(683, 512, 1.0), (900, 600, 1.0), (1024, 768, 1.5), (1280, 800, 1.0)]
"""The first is 1024 x 768 where the screen is scaled to 150 %."""
MOVES = [step for step in STEP_NAMES if step not in ("mount", "skating")]
OFF: dict[str, list[Read]] = {
    "alignment": [
        {"way": "landing and angles", "landing_mm": 1.25, "inner_deg": 0.75, "outer_deg": 0.5}
    ],
    "final_downforce": [{"way": "scale", "downforce_gf": 2.15}] * 3,
}
"""Readings that ask for a move, where those of the worked example ask for none."""

pytestmark = pytest.mark.usefixtures("usual_look")


@pytest.fixture
def arrive(
    library: Library, preferences: Preferences, messages: RecordingMessages, shown: Show
) -> Callable[..., Wizard]:
    """Return a function that opens a fitting at a step, and reads there until a move is asked."""

    def open_at(step: str, *, moves: bool) -> Wizard:
        on, fitted = library.keep_deck(deck()).id, library.keep_cartridge(cartridge()).id
        fitting = finished(library, on, fitted, until=step, finish=False)
        window = MainWindow(numbers=Numbers(","), preferences=preferences, messages=messages)
        shown(window)
        window.open_library(library.address.path)
        window.open_fitting(fitting)
        wizard = page_of(window, Wizard)
        for reading in OFF.get(step, READINGS[step]) if moves else ():
            move = wizard.controller.journey.status(step).assessment.next_move
            if move is None or not move.parts:
                wizard.controller.record(ReadingTaken(step=step, reading=reading))
        return wizard

    return open_at


def go_there(wizard: Wizard, step: str, wide: int, high: int) -> StepPage:
    """Arrive at a step in a window of this size, and wait for what is made late."""
    wizard.go("summary")
    wizard.window().resize(wide, high)
    settle()
    wizard.go(step)
    page = step_page(wizard)
    page.deferred.finish()
    for _ in range(4):
        settle()
    return page


def is_seen(widget: QWidget) -> bool:
    return widget.isVisible() and widget.visibleRegion().boundingRect() == widget.rect()


def in_hand_above(page: StepPage, field: QWidget) -> list[CautionLine]:
    """Return the cautions of the work in hand that stand above a field."""
    lines = [one for one in page.findChildren(RecipeLine) if one.state is LineState.IN_HAND]
    at_lines = [one.caution for one in lines if one.caution is not None and one.isVisible()]
    own = [one for one in page.cautions.findChildren(CautionLine) if one.isVisible()]
    below = field.mapToGlobal(QPoint()).y()
    return [one for one in (*at_lines, *own) if one.mapToGlobal(QPoint()).y() < below]


def unseen(page: StepPage) -> list[str]:
    """Return the cautions that neither their line nor the strip shows, and a field out of sight."""
    field = focus()
    (said,) = page.caution_strip.findChildren(QLabel)
    named = said.text().replace("\u00a0", " ") if is_seen(said) else ""
    assert not named or said.height() >= said.heightForWidth(said.width())
    missing = [
        one.title()
        for one in in_hand_above(page, field)
        if not is_seen(one) and one.title() not in named
    ]
    return missing + ([] if is_seen(field) else [field.accessibleName()])


@pytest.mark.parametrize("step", STEP_NAMES)
def test_on_arriving_at_a_reading_each_caution_before_it_is_in_sight(
    arrive: Callable[..., Wizard], qapp: QApplication, step: str
) -> None:
    wizard = arrive(step, moves=False)
    for wide, high, scale in SIZES:
        theme.apply(qapp, "light", text_scale=scale)
        page = go_there(wizard, step, wide, high)
        assert in_hand_above(page, focus()) or step in ("mount", "speed"), step
        assert unseen(page) == [], (wide, high, scale)


@pytest.mark.parametrize("step", MOVES)
def test_on_arriving_at_a_move_each_caution_before_it_is_in_sight(
    arrive: Callable[..., Wizard], qapp: QApplication, step: str
) -> None:
    wizard = arrive(step, moves=True)
    for wide, high, scale in SIZES:
        theme.apply(qapp, "light", text_scale=scale)
        page = go_there(wizard, step, wide, high)
        assert page.move_panel.isAncestorOf(focus())
        assert in_hand_above(page, focus())
        assert unseen(page) == [], (wide, high, scale)


def test_the_strip_goes_once_there_is_room_for_the_lines(arrive: Callable[..., Wizard]) -> None:
    wizard = arrive("rough_downforce", moves=False)
    page = go_there(wizard, "rough_downforce", 900, 600)
    assert any("Keep the stylus off records" in one for one in page.caution_strip.named)
    wizard.window().resize(1280, 1000)
    settle()
    assert not page.caution_strip.isVisible()


def test_going_on_to_the_next_field_drops_the_cautions_of_the_lines_gone_by(
    arrive: Callable[..., Wizard],
) -> None:
    wizard = arrive("rough_downforce", moves=False)
    page = go_there(wizard, "rough_downforce", 900, 600)
    form = page.reading.form
    assert form is not None
    pan, *_, scale = [one for one in form.tab_stops() if isinstance(one, QLineEdit)]
    pan.setFocus()
    settle()
    scale.setFocus()
    settle()
    assert not any("Platter stopped" in one for one in page.caution_strip.named), "line gone by"
    assert unseen(page) == []


def test_with_the_words_folded_away_the_named_cautions_stay_in_sight(
    arrive: Callable[..., Wizard],
) -> None:
    wizard = arrive("rough_downforce", moves=False)
    page = go_there(wizard, "rough_downforce", 683, 380)
    page.fold_words(away=True)
    for _ in range(4):
        settle()
    assert is_seen(focus())
    (said,) = page.caution_strip.findChildren(QLabel)
    assert is_seen(page.reading._named) or "Keep the stylus off records" in said.text().replace(
        "\u00a0", " "
    )


def test_an_alignment_that_is_right_at_once_asks_for_the_screws_in_sight(
    arrive: Callable[..., Wizard],
) -> None:
    wizard = arrive("alignment", moves=False)
    for _ in range(2):
        for reading in READINGS["alignment"]:
            wizard.controller.record(ReadingTaken(step="alignment", reading=reading))
    page = go_there(wizard, "alignment", 1180, 800)
    assert page.status.assessment.verdict is Verdict.GOOD
    own = [one for one in page.cautions.findChildren(CautionLine) if is_seen(one)]
    assert [one.title() for one in own if one.key == "screws_last"] == [
        "⚠ Check that the cartridge screws are tight"
    ]


@pytest.mark.parametrize("step", ["rough_downforce", "final_downforce"])
def test_on_arriving_to_weigh_in_a_small_window_skating_at_zero_is_in_sight(
    arrive: Callable[..., Wizard], step: str
) -> None:
    page = go_there(arrive(step, moves=False), step, 900, 600)
    seen = [one.title() for one in page.findChildren(CautionLine) if is_seen(one)]
    (strip,) = page.caution_strip.findChildren(QLabel)
    named = strip.text().replace("\u00a0", " ") if is_seen(strip) else ""
    assert "Skating at 0" in " ".join([named, *seen])


def test_speed_opens_with_the_time_to_warm_up_in_sight(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.rough()
    for step in STEP_NAMES[STEP_NAMES.index("rough_downforce") + 1 : -1]:
        bench.accept(step, "left so for this test")
    wizard = open_wizard()
    wizard.resize(900, 600)
    wizard.go("level")
    wizard.go("speed")
    page = step_page(wizard)
    page.deferred.finish()
    for _ in range(6):
        settle()
    form = page.reading.form
    assert form is not None
    assert form.recipe is not None
    warm = next(one for one in form.recipe.lines if "until it is warm" in one.line.text)
    assert warm.words.visibleRegion().isEmpty(), "there is no room for it"
    assert any("Ten minutes to warm up" in said for said in page.caution_strip.named)


def test_in_the_largest_type_a_caution_is_told_whole_beside_the_choices_of_look(
    arrive: Callable[..., Wizard], qapp: QApplication
) -> None:
    theme.apply(qapp, "light", text_scale=1.75)
    wizard = arrive("rough_downforce", moves=True)
    page = go_there(wizard, "rough_downforce", 900, 600)
    page.keep_reading()
    page.move_panel.confirm()  # weigh again: nobody knows the downforce now
    for _ in range(4):
        settle()
    (said,) = page.caution_strip.findChildren(QLabel)
    assert "Nobody knows yet whether its downforce is safe." in said.text()
    window = wizard.window()
    assert isinstance(window, MainWindow)
    for shown in (False, True, False):
        if shown:
            window.show_appearance()
        elif window._appearance_panel is not None:
            window._appearance_panel.done_button.click()
        for _ in range(4):
            settle()
        longest = max(said.text().split(" "), key=len)  # the longest part without a break
        assert said.fontMetrics().horizontalAdvance(longest) <= said.width()
        assert said.height() >= said.heightForWidth(said.width()), shown
        # The headline is smaller only where no second caution takes its room.
        assert len(page.caution_strip.named) == 1 or not page.readout.is_squeezed, shown
        (headline,) = page.readout.findChildren(Headline)
        assert not headline._is_cut(), shown
    assert "Nobody knows yet whether its downforce is safe." in said.text(), "named again"


def test_in_the_largest_type_each_foot_of_a_move_is_in_sight_when_it_is_asked_for(
    arrive: Callable[..., Wizard], qapp: QApplication
) -> None:
    theme.apply(qapp, "light", text_scale=1.75)
    wizard = arrive("level", moves=False)
    for direction, divisions in (("left-right", 5.0), ("front-back", 3.0)):
        wizard.controller.record(
            ReadingTaken(
                step="level",
                reading={"way": "bubble", "direction": direction, "divisions": divisions},
            )
        )
    page = go_there(wizard, "level", 900, 600)
    asked = page.status.assessment.next_move
    assert asked is not None
    for part in asked.parts:
        assert part.where in focus().accessibleName()
        assert is_seen(focus()), part.where
        press(Qt.Key.Key_Return)
        for _ in range(4):
            settle()
