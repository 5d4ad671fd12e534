"""On a small screen with large type a person sees verdict, move and reading without scrolling."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QScrollArea,
    QStyle,
    QStyleOptionComboBox,
    QWidget,
)

from core.fitting import MoveMade, ReadingTaken, StepAccepted, Verdict
from core.language import Numbers, cautions, step_text
from core.steps import STEP_NAMES
from core.store import Library
from core.workflow import figure_value, target_value
from desktop.shell.main_window import MainWindow
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets import theme
from desktop.widgets.panels import NumberLabel
from desktop.widgets.preferences import Preferences
from desktop.widgets.verdict_badge import Headline
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import MOUNTED, Opener, RecordingMessages, cautions_told, settle, step_page
from tests.worded import worded

Show = Callable[..., QWidget]
Small = Callable[..., StepPage]
SMALL = (1024, 768)
LARGE_TYPE = 1.5
DECK, CARTRIDGE = (
    "Example deck, 9-inch arm, three feet",
    "Example cartridge, elliptical, all-round",
)

# Readings that lead to a move with the longest words there are, and those that settle the step.
OFF: dict[str, tuple[dict[str, Any], ...]] = {
    "level": (
        {"way": "bubble", "direction": "front-back", "divisions": 8.0},
        {"way": "bubble", "direction": "left-right", "divisions": -5.0},
    ),
    "mount": ({**MOUNTED, "white_lead": False, "blue_lead": False, "screws_snug": False},),
    "rough_downforce": ({"way": "scale", "downforce_gf": 4.0},),
    "arm_height": (
        {"way": "two heights", "front_mm": 23.5, "rear_mm": 27.0, "spacing_mm": 180.0},
    ),
    "alignment": (
        {"way": "landing and angles", "landing_mm": 1.25, "inner_deg": 0.75, "outer_deg": 0.5},
    ),
    "tilt": ({"way": "gaps", "left_mm": 2.9, "right_mm": 2.05},),
    "skating": ({"way": "setting", "setting": 1.25},),
    "final_downforce": ({"way": "scale", "downforce_gf": 2.25},),
    "speed": (
        {
            "way": "strobe", "speed_rpm": 33.333333, "direction": "against", "drifted_bars": 30.0,
            "seconds": 30.0, "minutes_running": 15.0,
        },
    ),
}  # fmt: skip # rows of a table
HAVE_A_MOVE = tuple(name for name in STEP_NAMES if name != "mount")


@pytest.fixture(autouse=True)
def usual_look(qapp: QApplication) -> Iterator[None]:
    yield
    theme.apply(qapp, "light", text_scale=1.0)


def fitting_at(library: Library, step: str, on: str = DECK) -> str:
    """Keep a fitting that came to a step and has something to move there; return its id."""
    (deck,) = (row for row in library.decks() if row.name == on)
    (cartridge,) = (row for row in library.cartridges() if row.name == CARTRIDGE)
    fitting = library.start_fitting(deck.id, cartridge.id)
    controller = FittingController(library, fitting.id, numbers=Numbers(","))

    def read(name: str, reading: dict[str, Any]) -> None:
        assert controller.record(ReadingTaken(step=name, reading=reading)) is None

    for name in STEP_NAMES:
        if name == step:
            break
        if name == "mount":
            read(name, MOUNTED)
        if name == "rough_downforce":
            for _ in range(3):
                read(name, {"way": "scale", "downforce_gf": 2.0})
        now = controller.journey.status(name).assessment
        body = StepAccepted(step=name, verdict=now.verdict, reason="left so here")
        assert controller.record(body) is None
    for reading in OFF[step] if on == DECK else ():
        read(step, reading)
    controller.deleteLater()
    return fitting.id


@pytest.fixture
def small_window(
    library: Library, preferences: Preferences, messages: RecordingMessages, shown: Show
) -> Small:
    """Return a function that shows a step in a small window, up to its first reading or beyond."""

    def show(step: str, on: str = DECK) -> StepPage:
        fitting = fitting_at(library, step, on)
        window = MainWindow(numbers=Numbers(","), preferences=preferences, messages=messages)
        window.open_library(library.address.path)
        shown(window, *SMALL)
        window.open_fitting(fitting)
        wizard = window.pages.currentWidget()
        assert isinstance(wizard, Wizard)
        wizard.go(step)
        for _ in range(6):  # wrapped words and columns settle one after the other
            QApplication.processEvents()
        assert (window.width(), window.height()) == SMALL
        page = wizard.page
        assert isinstance(page, StepPage)
        return page

    return show


def is_seen_whole(widget: QWidget) -> bool:
    return widget.isVisible() and widget.visibleRegion().boundingRect().contains(widget.rect())


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("step", STEP_NAMES)
def test_verdict_move_and_reading_are_in_view_at_once(
    small_window: Small,
    qapp: QApplication,
    step: str,
    scheme: theme.Scheme,
) -> None:
    theme.apply(qapp, scheme, text_scale=LARGE_TYPE)
    page = small_window(step)
    assert is_seen_whole(page.readout), "verdict, headline and what is expected"
    focused = QApplication.focusWidget()
    assert focused is not None
    assert is_seen_whole(focused), focused.accessibleName()
    if step in HAVE_A_MOVE and not page.move_panel.isHidden():
        assert page.move_panel.isAncestorOf(focused), "the move comes first"
        assert is_seen_whole(page.move_panel.made_button)
        for field in page.move_panel.fields:
            assert field is None or is_seen_whole(field)


@pytest.mark.parametrize("step", STEP_NAMES)
def test_cautions_stand_at_their_lines_and_a_key_brings_all_words(
    small_window: Small,
    qapp: QApplication,
    step: str,
) -> None:
    theme.apply(qapp, "light", text_scale=LARGE_TYPE)
    page = small_window(step)
    text = step_text(step)
    lines = [*text.ways[page.reading.way].lines]
    move = page.status.assessment.next_move
    controls = {part.control.value for part in move.parts} if move else set()
    shown = text.moving if not page.move_panel.isHidden() else ()
    lines += [line for line in shown if line.belongs_to(controls)]
    at_lines = {line.caution for line in lines if line.caution}
    keys = at_lines | set(page.status.assessment.caution_keys)
    named = cautions_told(page)
    known = {key: cautions()[key] for key in keys}
    for key, one in known.items():
        assert (one.beside if key in at_lines and one.beside else one.title) in named
    assert sum(one.text in named for one in known.values()) == 0
    QTest.keyClick(page.title, Qt.Key.Key_T, Qt.KeyboardModifier.ControlModifier)
    said = cautions_told(page)
    for key, one in known.items():
        if key not in at_lines:
            assert f"{one.title}. {one.text}" in said
            continue
        assert (one.text if one.further is None else one.further) in said
        assert (one.beside or f"{one.title}. ") in said
    QTest.keyClick(page.title, Qt.Key.Key_T, Qt.KeyboardModifier.ControlModifier)
    assert cautions_told(page) == named


def test_what_can_hurt_at_once_keeps_its_sentence_where_the_others_are_named(
    small_window: Small,
    qapp: QApplication,
) -> None:
    theme.apply(qapp, "light", text_scale=LARGE_TYPE)
    page = small_window("rough_downforce")
    assert "Lower it on nothing until this page tells you to." in cautions_told(page)


def is_drawn_whole(headline: Headline) -> bool:
    room = QRectF(0, 0, headline.width(), 1e6)
    metrics = QFontMetricsF(headline.font_drawn())
    box = metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), headline.text())
    return box.height() <= headline.height() and box.width() <= headline.width()


@pytest.mark.parametrize("scale", theme.SCALES)
def test_a_stop_is_never_cut_by_larger_type_and_then_a_smaller_window(
    small_window: Small, qapp: QApplication, scale: float
) -> None:
    page = small_window("rough_downforce")
    assert page.status.assessment.verdict is Verdict.STOP
    theme.apply(qapp, "light", text_scale=scale)
    headline = page.readout.findChild(Headline)
    assert isinstance(headline, Headline)
    for size in ((1280, 800), SMALL, (1024, 700), (900, 600)):
        page.window().resize(*size)
        for _ in range(6):
            QApplication.processEvents()
        assert is_seen_whole(headline), size
        assert is_drawn_whole(headline), size
        assert headline.font_drawn() == headline.font_at(headline.width()), "in its usual type"


def test_a_stop_shrinks_in_the_smallest_window_rather_than_being_cut(
    small_window: Small, qapp: QApplication
) -> None:
    page = small_window("rough_downforce")
    theme.apply(qapp, "light", text_scale=1.75)
    headline = page.readout.findChild(Headline)
    assert isinstance(headline, Headline)
    page.window().resize(page.window().minimumSize())
    for _ in range(6):
        QApplication.processEvents()
    assert is_seen_whole(headline)
    assert is_drawn_whole(headline)


@pytest.mark.parametrize("step", ["arm_height", "alignment", "tilt", "speed"])
def test_what_is_now_and_what_is_wanted_stand_on_one_line_whatever_was_tried_before(
    small_window: Small, qapp: QApplication, step: str
) -> None:
    theme.apply(qapp, "light")
    page = small_window(step)
    page.window().resize(900, 600)
    page.deferred.finish()

    def lines() -> list[tuple[int, int]]:
        """Return where each number and its target stand."""
        for _ in range(12):
            settle()
        numbers = [
            one for one in page.side_pane.figures.findChildren(NumberLabel)
            if one.isVisible() and one.text()
        ]  # fmt: skip # one condition
        at = {one.text(): one.mapTo(page, one.rect().topLeft()).y() for one in numbers}
        now = page.status.assessment.figures
        shown = [(Numbers(",").value(figure_value(one)), target_value(one)) for one in now]
        return [(at[value], at[Numbers(",").value(target)]) for value, target in shown
                if target is not None and value in at]  # fmt: skip # one condition

    assert lines()
    assert all(value == target for value, target in lines())
    for scale in (1.5, 1.0):
        theme.apply(qapp, "light", text_scale=scale)
        settle()
    assert lines()
    assert all(value == target for value, target in lines()), "there and back"


@pytest.mark.parametrize("step", ["level", "speed", "summary"])
def test_a_page_is_the_same_again_once_larger_type_was_tried(
    small_window: Small, qapp: QApplication, step: str
) -> None:
    theme.apply(qapp, "light")
    page: QWidget = small_window("speed" if step == "summary" else step)
    wizard = page.window().findChild(Wizard)
    assert wizard is not None
    wizard.go(step)
    page = wizard.page
    page.window().resize(1280, 800)
    if isinstance(page, StepPage):
        page.deferred.finish()
        page.side_pane.show_chart()

    def look() -> dict[QWidget, tuple[float, int, int]]:
        for _ in range(12):
            settle()
        return {
            one: (round(one.font().pointSizeF(), 3), one.width(), one.height())
            for one in page.findChildren(QWidget)
            if one.isVisible()
        }

    before = look()
    for scale in (1.25, 1.5, 1.25, 1.0):  # at the larger sizes the columns are laid out anew
        theme.apply(qapp, "light", text_scale=scale)
        look()
    after = look()
    assert {type(one).__name__ for one in before if after.get(one) != before[one]} == set()


@pytest.mark.parametrize("step", ["mount", "arm_height", "alignment", "tilt", "speed"])
def test_every_pixel_is_the_same_again_once_larger_type_was_tried(
    small_window: Small, qapp: QApplication, step: str
) -> None:
    qapp.setCursorFlashTime(0)
    theme.apply(qapp, "light")
    page = small_window(step)
    page.window().resize(900, 600)
    page.deferred.finish()

    def look() -> QImage:
        for _ in range(12):
            settle()
        return page.grab().toImage()

    before = look()
    theme.apply(qapp, "light", text_scale=1.5)
    assert look() != before
    theme.apply(qapp, "light")
    assert look() == before


def test_a_headline_keeps_its_type_where_only_larger_type_left_it_too_little_room(
    small_window: Small, qapp: QApplication
) -> None:
    theme.apply(qapp, "light")
    page = small_window("mount")
    page.window().resize(1280, 800)
    headline = page.readout.findChild(Headline)
    assert isinstance(headline, Headline)
    found = []
    for scale in (1.0, 1.25, 1.75, 1.0):
        theme.apply(qapp, "light", text_scale=scale)
        for _ in range(12):
            settle()
        found.append((headline.height(), headline.font_drawn().pointSizeF()))
    assert found[-1] == found[0]


def test_the_text_beside_the_title_comes_back_with_the_type(
    small_window: Small, qapp: QApplication
) -> None:
    theme.apply(qapp, "light")
    page = small_window("arm_height")
    page.window().resize(900, 600)
    for scale, shown in ((1.0, True), (1.75, False), (1.0, True)):
        theme.apply(qapp, "light", text_scale=scale)
        for _ in range(6):
            settle()
        beside = [one for one in page.findChildren(QLabel) if "Arm tube parallel" in one.text()]
        assert any(one.isVisible() for one in beside) is shown


def test_other_ways_of_reading_are_a_key_away(
    small_window: Small,
    qapp: QApplication,
) -> None:
    theme.apply(qapp, "light", text_scale=LARGE_TYPE)
    page = small_window("level")
    page.reading.ways_button.setFocus()
    QTest.keyClick(page.reading.ways_button, Qt.Key.Key_Space)
    focused = QApplication.focusWidget()
    assert focused is not None
    assert focused.accessibleName() == "Way of reading: Bubble level"
    QTest.keyClick(focused, Qt.Key.Key_Down)
    assert page.reading.way == "inclinometer"
    assert is_seen_whole(focused)
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    form = page.reading.form
    assert form is not None
    assert form.isAncestorOf(QApplication.focusWidget())
    assert not page.reading.ways_button.isHidden(), "folded again"


def test_a_move_kept_in_a_small_window_leads_on_to_the_reading(
    library: Library,
    small_window: Small,
    qapp: QApplication,
) -> None:
    theme.apply(qapp, "light", text_scale=LARGE_TYPE)
    page = small_window("arm_height")
    QTest.keyClick(page.title, Qt.Key.Key_M, Qt.KeyboardModifier.ControlModifier)
    assert isinstance(page.status.trials[-1].moves, tuple)
    assert any(
        isinstance(entry.body, MoveMade)
        for entry in library.fitting(library.fittings()[0].id).entries
    )
    focused = QApplication.focusWidget()
    assert focused is not None
    assert page.reading.isAncestorOf(focused)


def test_a_reason_that_is_the_headline_is_said_once(
    small_window: Small,
    qapp: QApplication,
) -> None:
    theme.apply(qapp, "light", text_scale=LARGE_TYPE)
    deck = "Example deck, parallel tracking arm"
    page = small_window("skating", deck)
    said = page.readout.headline()
    assert said == worded(page.status.applicability.reason)
    labels = [one.text() for one in page.findChildren(QLabel) if one.isVisible()]
    assert sum(said in text for text in labels) == 1


def words_above(page: StepPage) -> QWidget:
    """Return the words of the line that has the focus."""
    focused = QApplication.focusWidget()
    form = page.reading.form
    assert form is not None
    assert form.recipe is not None
    (line,) = (one for one in form.recipe.lines if one.isAncestorOf(focused))
    return line.words


@pytest.mark.parametrize("step", ["level", "alignment", "tilt", "final_downforce", "speed"])
def test_each_field_in_hand_is_in_sight_with_its_words_whatever_was_typed_above(
    small_window: Small, qapp: QApplication, step: str
) -> None:
    theme.apply(qapp, "light")
    page = small_window(step)
    page.window().resize(900, 600)
    page.start_reading()
    assert page.reading.form is not None
    seen = {}
    for line in page.reading.form.tab_stops():
        if not isinstance(line, QLineEdit):
            continue
        line.setFocus()
        line.clear()
        QTest.keyClicks(line, "abc")
        for _ in range(6):
            QApplication.processEvents()
        seen[line.accessibleName()] = is_seen_whole(line) and is_seen_whole(words_above(page))
    page.reading.clear_typed(())
    assert seen
    assert all(seen.values()), seen


@pytest.mark.parametrize("step", HAVE_A_MOVE)
def test_no_column_of_a_page_is_wider_than_a_small_window_shows(
    small_window: Small, qapp: QApplication, step: str
) -> None:
    theme.apply(qapp, "light")
    page = small_window(step)
    page.window().resize(900, 600)
    for _ in range(6):
        QApplication.processEvents()
    areas = [one for one in page.findChildren(QScrollArea) if one.isVisible()]
    assert [one.horizontalScrollBar().maximum() for one in areas] == [0] * len(areas)


def test_the_instrument_of_a_rehearsal_stays_beside_the_field(
    small_window: Small, qapp: QApplication
) -> None:
    theme.apply(qapp, "light", text_scale=LARGE_TYPE)
    page = small_window("level")
    assert page._columns.count == 1
    page.put_beside(QWidget(page))
    assert page._columns.count == 2


def test_no_figure_of_the_summary_is_cut(
    library: Library, small_window: Small, qapp: QApplication
) -> None:
    theme.apply(qapp, "light", text_scale=LARGE_TYPE)
    page = small_window("speed")
    wizard = page.window().findChild(Wizard)
    assert wizard is not None
    wizard.go("summary")
    for _ in range(6):
        QApplication.processEvents()
    areas = [one for one in wizard.page.findChildren(QScrollArea) if one.isVisible()]
    assert areas
    assert [one.horizontalScrollBar().maximum() for one in areas] == [0] * len(areas)


@pytest.mark.parametrize(("size", "scale"), [((900, 600), 1.0), (SMALL, LARGE_TYPE)])
def test_no_entry_of_a_list_is_cut_in_a_small_window(
    open_wizard: Opener,
    qapp: QApplication,
    size: tuple[int, int],
    scale: float,
) -> None:
    theme.apply(qapp, "light", text_scale=scale)
    wizard = open_wizard()
    wizard.resize(*size)
    wizard.go("level")
    page = step_page(wizard)
    page.deferred.finish()
    settle()
    boxes = [one for one in page.reading.findChildren(QComboBox) if one.isVisible()]
    assert boxes
    for box in boxes:
        option = QStyleOptionComboBox()
        box.initStyleOption(option)
        part = QStyle.SubControl.SC_ComboBoxEditField
        room = box.style().subControlRect(QStyle.ComplexControl.CC_ComboBox, option, part, box)
        for at in range(box.count()):
            words = box.itemText(at)
            assert box.fontMetrics().horizontalAdvance(words) <= room.width(), words
