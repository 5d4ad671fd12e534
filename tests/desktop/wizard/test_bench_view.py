"""The page draws how a reading is taken, then the move, and again the reading while typing."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import Words
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import (
    CTRL,
    FittingBench,
    Opener,
    RecordingMessages,
    bench_view_of,
    press,
    settle,
    step_page,
    write,
)
from tests.kit import named
from tests.worked import LEFT


def drawn(page: StepPage) -> Drawing:
    """Return what is drawn on a page."""
    drawing = bench_view_of(page).drawing
    assert drawing is not None
    return drawing


def words_on(drawing: Drawing) -> str:
    """Return all words of a drawing, and what a screen reader says of it."""
    said = [drawing.title, *(m.text for m in drawing.marks if isinstance(m, Words))]
    return " ".join(said).replace(",", ".")


def test_what_is_read_from_beside_the_form_stays_above_the_drawing(open_wizard: Opener) -> None:
    wizard = open_wizard()
    wizard.resize(1280, 800)
    page = StepPage(wizard.controller, "level", RecordingMessages(), parent=wizard)
    page.resize(1080, 700)
    instrument = QWidget(page)
    page.put_beside(instrument)
    assert page._columns.count == 2
    assert page._view.indexOf(instrument) < page._view.indexOf(bench_view_of(page))


def test_the_drawing_follows_what_the_hand_does_next(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    assert "Scale under the stylus" in drawn(page).title
    assert not named(drawn(page), parts.HAND)
    assert bench_view_of(page).accessibleName() == drawn(page).title
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    page.refresh()
    assert named(drawn(page), parts.HAND)
    assert "toward the pivot" in drawn(page).title
    height = bench_view_of(page).heightForWidth(400)
    page.reading.start_typing()
    write("1.9")
    settle()
    assert not named(drawn(page), parts.HAND)
    assert bench_view_of(page).heightForWidth(400) == height


def test_a_scale_stands_empty_and_the_guard_is_on_once_nothing_is_to_be_weighed(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    assert not named(drawn(page), "guard@")
    write("2,0")
    press(Qt.Key.Key_Return)
    settle()
    assert page.can_accept()
    assert named(drawn(page), "guard@")
    assert not page.reading.line_in_hand()
    press(Qt.Key.Key_R, CTRL)  # once more
    settle()
    assert page.reading.line_in_hand()
    assert not named(drawn(page), "guard@")


def test_a_number_half_typed_leaves_the_drawing_as_it_was_and_a_refused_one_is_not_drawn(
    open_wizard: Opener,
) -> None:
    page = step_page(open_wizard())
    page.deferred.finish()
    write("3")
    press(Qt.Key.Key_Return)
    press(Qt.Key.Key_Up)  # toward the marked end
    settle()
    before = drawn(page)
    line = (
        page.reading.form.fields.entries["divisions"].tab_stops()[0] if page.reading.form else None
    )
    assert line is not None
    for text, same in ((".", True), ("1", False)):
        line.setProperty("text", text)
        settle()
        assert (drawn(page).marks == before.marks) is same, text
    line.setProperty("text", "300")
    settle()
    assert "divisions" not in page.reading.typed(), "a refused number is drawn as nothing typed"
    line.setProperty("text", "")
    settle()
    assert "divisions" not in page.reading.typed(), "an empty field is drawn as nothing typed"


def test_no_doubt_is_raised_about_an_act_whose_turn_has_not_come(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    page.reading.choose("float and slide")
    page.start_reading()
    press(Qt.Key.Key_Space)
    press(Qt.Key.Key_Return)
    write("4")
    settle()
    assert page.reading.draft() is not None, "what is typed is shown"
    assert "really moved" not in page.readout.headline()
    press(Qt.Key.Key_Return)  # at the tick: the head does not sink
    press(Qt.Key.Key_Return)
    settle()
    assert "really moved" in page.readout.headline()


def test_a_scale_shows_no_figure_that_was_refused(bench: FittingBench, open_wizard: Opener) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    write("9")
    settle()
    assert "9.00" in words_on(drawn(page))
    write("99")  # more than any arm presses
    settle()
    assert "9.00" not in words_on(drawn(page))
    press(Qt.Key.Key_Return)
    settle()
    assert "9.00" not in words_on(drawn(page))


def test_nothing_is_said_to_be_on_the_mark_until_its_direction_is_chosen(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.rough()
    for reading in LEFT["arm_height"]:
        bench.read("arm_height", **reading)
    bench.accept("arm_height")
    wizard = open_wizard()
    wizard.go("alignment")
    page = step_page(wizard)
    page.deferred.finish()
    page.reading.choose("landing")
    page.start_reading()
    settle()
    assert page.reading.form is not None
    line, *_ = page.reading.form.fields.entries["landing_mm"].tab_stops()
    for text in ("0", "0.4"):
        line.setProperty("text", text)
        settle()
        assert ("on the mark" in words_on(drawn(page))) is (text == "0"), text
    assert "which way?" in words_on(drawn(page))
    assert page.reading.typed()["landing_mm"] is None
    line.setFocus()
    press(Qt.Key.Key_Up)  # beyond the mark
    settle()
    assert "beyond" in words_on(drawn(page))
    assert "which way?" not in words_on(drawn(page))
