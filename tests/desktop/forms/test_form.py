"""Forms over every field of every model: bad input is a clear sentence, and nothing is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from pydantic import BaseModel
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.language.catalogue import longer
from core.records import Cartridge, Deck, FeetLayout, FeetPattern, FieldKind, Job, fields_of
from core.steps import STEPS, ways_of
from core.steps.arm_height import TwoHeights
from core.steps.speed import BarDrift, Strobe
from desktop.forms.choice_editor import ChoiceEditor
from desktop.forms.feet_editor import FeetEditor
from desktop.forms.field_editors import (
    DirectedEditor,
    FieldEditor,
    FlagEditor,
    NumberEditor,
    NumbersEditor,
    TextEditor,
)
from desktop.forms.file_editor import FileEditor
from desktop.forms.form import Form
from desktop.forms.model_fields import GroupEditor, ModelFields, TableEditor
from tests.examples import cartridge, deck

Shown = Callable[..., QWidget]
COMMA = Numbers(",")

READINGS: dict[str, type[BaseModel]] = {
    f"{step.NAME}: {way}": variant for step in STEPS for way, variant in ways_of(step).items()
}
CHOSEN: dict[str, type[BaseModel]] = {f"{step.NAME}: chosen": step.Chosen for step in STEPS}
THINGS: dict[str, tuple[type[BaseModel], BaseModel]] = {
    "deck": (Deck, deck()),
    "cartridge": (Cartridge, cartridge()),
}
MODELS: dict[str, tuple[type[BaseModel], BaseModel | None]] = {
    **{name: (model, None) for name, model in (READINGS | CHOSEN).items()},
    **THINGS,
}

BAD_NUMBERS = (
    "",
    "words",
    "-99999",
    "99999999",
    "nan",
    "inf",
    "1.234,5",
    "1,2,3",
    "12 12",
    "1e9",
    "3 in",
    "0x1F",
    "--3",
    "½½",
    "3 parsecs",
    "\t",
    "１２,３.４",
)


def every_entry(fields: ModelFields) -> Iterator[FieldEditor]:
    for entry in fields.entries.values():
        if isinstance(entry, GroupEditor):
            yield from every_entry(entry.fields)
        elif isinstance(entry, TableEditor):
            for row in entry.rows:
                yield from every_entry(row)
        else:
            yield entry


@pytest.fixture(params=sorted(MODELS))
def form(request: pytest.FixtureRequest, shown: Shown) -> Form:
    model, value = MODELS[request.param]
    made = Form(model, COMMA, value)
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setWidget(made)
    shown(area)
    return made


def test_every_bad_number_in_every_field_is_one_clear_sentence_and_stays_as_typed(
    form: Form,
) -> None:
    for entry in every_entry(form.fields):
        if not isinstance(entry, NumberEditor | DirectedEditor):
            continue
        before = entry.field.text()
        for text in BAD_NUMBERS:
            entry.field.set_text(text)
            entry.reveal()
            answer = entry.answer()
            assert entry.field.text() == text
            if not text.strip() and entry.spec.optional:
                assert answer.problems == ()
                continue
            ((label, sentence),) = answer.problems
            assert label == entry.spec.label
            assert f"“{label}”" in sentence
            assert sentence.rstrip(")").endswith(".")
            assert sentence in entry.field.message()
        entry.field.set_text(before)


def test_inches_in_every_millimetre_field_are_converted_in_words_and_never_taken(
    form: Form,
) -> None:
    for entry in every_entry(form.fields):
        unit = entry.spec.unit
        if (
            isinstance(entry, NumberEditor | DirectedEditor)
            and unit is not None
            and unit.symbol == "mm"
        ):
            before = entry.field.text()
            entry.field.set_text("0.5 in")
            ((_, sentence),) = entry.answer().problems
            assert "0,5\u00a0in is 12,70\u00a0mm" in sentence
            entry.field.set_text(before)


def test_bad_lists_of_numbers_are_one_clear_sentence_and_stay_as_typed(form: Form) -> None:
    for entry in every_entry(form.fields):
        if not isinstance(entry, NumbersEditor):
            continue
        for text in ("words", "1; x", "33,3, 45", "nan; 1", "1.234,5", "99999999; 1"):
            entry.line.setText(text)
            ((label, sentence),) = entry.answer().problems
            assert label == entry.spec.label
            assert sentence.endswith(".")
            assert entry.line.text() == text


def test_a_form_with_one_bad_number_makes_no_model_and_names_the_field(form: Form) -> None:
    for entry in every_entry(form.fields):
        if (
            isinstance(entry, NumberEditor | DirectedEditor)
            and entry in form.fields.shown_entries()
        ):
            before = entry.field.text()
            entry.field.set_text("words")
            assert form.draft() is None
            assert any(entry.spec.label in label for label, _ in form.problems())
            entry.field.set_text(before)


def test_every_stop_has_a_name_for_a_screen_reader(form: Form) -> None:
    for stop in form.tab_stops():
        assert stop.accessibleName() or getattr(stop, "text", str)()


def test_every_field_has_a_label_and_a_help_that_is_a_sentence(form: Form) -> None:
    for entry in every_entry(form.fields):
        assert entry.spec.label != entry.spec.name
        assert entry.spec.help


@pytest.mark.parametrize("name", sorted(THINGS))
def test_a_thing_put_into_its_form_comes_out_as_itself(name: str, shown: Shown) -> None:
    model, value = THINGS[name]
    form = Form(model, COMMA, value)
    shown(form)
    assert form.draft() == value
    assert form.problems() == []


def _fill(form: Form) -> None:
    """Give every required field something inside its limits."""
    for entry in [one for one in form.fields.shown_entries() if one.spec.required]:
        spec = entry.spec
        if isinstance(entry, NumberEditor):
            low, high = (0.0, 1.0)
            if spec.limits is not None:
                low, high = spec.limits.usual or (spec.limits.low, spec.limits.high)
            middle = round((low + high) / 2, 1)
            if spec.kind is FieldKind.WHOLE:
                middle = round(middle)
            entry.field.put(middle)
        elif isinstance(entry, NumbersEditor):
            low = spec.limits.low if spec.limits else 1.0
            entry.line.setText(f"{low:g}; {low:g}".replace(".", ","))
        elif isinstance(entry, ChoiceEditor):
            entry.put(spec.choices[0])
        elif isinstance(entry, FlagEditor | DirectedEditor):
            entry.put(True)
        elif isinstance(entry, TextEditor):
            entry.put("words")
        elif isinstance(entry, FileEditor):
            assert spec.member is not None
            needed = [one for one in fields_of(spec.member) if one.required and one.limits]
            numbers = {one.name: one.limits.low for one in needed if one.limits}
            entry.put(spec.member.model_validate({"file": "tone.wav", **numbers}))


@pytest.mark.parametrize("name", sorted(READINGS))
def test_enter_alone_goes_through_every_field_of_a_reading_and_confirms_on_the_last(
    name: str, shown: Shown, qtbot: QtBot
) -> None:
    form = Form(READINGS[name], COMMA)
    shown(form)
    _fill(form)
    assert form.problems() == []
    confirmed: list[Any] = []
    form.submitted.connect(lambda: confirmed.append(form.draft()))
    visited: list[QWidget] = []
    form.start()
    settled = [  # a direction that is chosen already is passed over
        entry.tab_stops()[1]
        for entry in form.fields.shown_entries()
        if isinstance(entry, DirectedEditor)
    ]
    # Enter goes from field to field; what stands beside one is for Tab: "Listen…", which record
    # played (one is always chosen), whether the sound is kept.
    beside = [one.records.box for one in form.findChildren(FileEditor)]
    beside += [one.keep_box for one in form.findChildren(FileEditor)]
    stops = [
        stop
        for stop in form.tab_stops()
        if stop not in (*settled, *beside) and not isinstance(stop, QPushButton)
    ]
    for _ in stops:
        here = form.focusWidget()
        assert here is not None
        visited.append(here)
        qtbot.keyClick(here, Qt.Key.Key_Return)
    assert visited == stops
    assert len(confirmed) == 1
    assert isinstance(confirmed[0], READINGS[name])


def test_tab_goes_in_the_order_of_the_fields(shown: Shown, qtbot: QtBot) -> None:
    form = Form(Cartridge, COMMA, cartridge())
    shown(form)
    form.start()
    for stop in form.tab_stops():
        assert form.focusWidget() is stop
        qtbot.keyClick(stop, Qt.Key.Key_Tab)


def test_the_last_enter_on_a_wrong_form_says_what_is_wrong_and_goes_there(
    shown: Shown, qtbot: QtBot
) -> None:
    form = Form(Cartridge, COMMA, cartridge())
    shown(form)
    refused: list[str] = []
    form.refused.connect(refused.append)
    entry = form.fields.entries["mass_g"]
    assert isinstance(entry, NumberEditor)
    entry.field.set_text("heavy")
    qtbot.keyClick(form.tab_stops()[-1], Qt.Key.Key_Return)
    assert refused == ["“Mass” needs a number in grams; “heavy” is not one."]
    assert form.focusWidget() is entry.field.line
    assert entry.field.text() == "heavy"


def test_a_rule_between_fields_is_told_as_one_sentence_at_the_foot(shown: Shown) -> None:
    form = Form(Cartridge, COMMA, cartridge())
    shown(form)
    for name, text in (("downforce_min_gf", "2,4"), ("downforce_max_gf", "1,8")):
        entry = form.fields.entries[name]
        assert isinstance(entry, NumberEditor)
        entry.field.set_text(text)
    assert form.draft() is None
    ((_, sentence),) = form.problems()
    assert sentence == "Downforce range is upside down: “from” is more than “to”."
    assert sentence in form.fields._message.text()


def test_a_rule_between_fields_is_told_in_the_language_of_the_screen(
    shown: Shown, in_another_language: None
) -> None:
    form = Form(Cartridge, COMMA, cartridge(downforce_min_gf=1.8, downforce_max_gf=2.4))
    shown(form)
    entry = form.fields.entries["downforce_min_gf"]
    assert isinstance(entry, NumberEditor)
    entry.field.set_text("3")
    ((_, sentence),) = form.problems()
    assert sentence == longer("Downforce range is upside down: “from” is more than “to”.")


def test_a_field_that_does_not_apply_hides_and_what_it_held_comes_back(shown: Shown) -> None:
    form = Form(Cartridge, COMMA, cartridge(mounting="tapped", thread_depth_mm=5.5))
    shown(form)
    depth, mounting = form.fields.entries["thread_depth_mm"], form.fields.entries["mounting"]
    assert isinstance(depth, NumberEditor)
    assert depth.isVisible()
    mounting.put("plug-in")
    assert not depth.isVisible()
    depth.field.set_text("nonsense")
    assert form.draft() is not None
    mounting.put("tapped")
    assert depth.isVisible()
    assert depth.field.text() == "nonsense"
    assert form.draft() is None


def test_tab_leads_through_the_form_and_out_of_it_whatever_is_picked(
    shown: Shown, qtbot: QtBot, qapp: QApplication
) -> None:
    page = QWidget()
    column = QVBoxLayout(page)
    form, after = Form(ways_of(STEPS[-1])["strobe"], COMMA), QPushButton("after")
    column.addWidget(form)
    column.addWidget(after)
    shown(page)
    drift = form.fields.entries["direction"]
    drift.tab_stops()[0].setFocus()
    qtbot.keyClick(drift.tab_stops()[0], Qt.Key.Key_Space)
    for _ in range(2):
        qtbot.keyClick(drift.tab_stops()[0], Qt.Key.Key_Down)
        wanted = [*form.tab_stops()[form.tab_stops().index(drift.tab_stops()[0]) :], after]
        drift.tab_stops()[0].setFocus()
        for stop in wanted[1:]:
            focused = qapp.focusWidget()
            assert focused is not None
            qtbot.keyClick(focused, Qt.Key.Key_Tab)
            assert qapp.focusWidget() is stop
        drift.tab_stops()[0].setFocus()


def test_rows_of_a_table_come_and_go_by_keyboard(shown: Shown, qtbot: QtBot) -> None:
    three = FeetLayout(pattern=FeetPattern.ONE_AT_REAR, width_mm=412.0)
    known = deck(plinth={"feet": [f.model_dump() for f in three.feet]})
    form = Form(Deck, COMMA, known)
    shown(form)
    plinth = form.fields.entries["plinth"]
    assert isinstance(plinth, GroupEditor)
    editor = plinth.fields.entries["feet"]
    assert isinstance(editor, FeetEditor)
    assert not editor.places.isVisible()
    pattern = editor.layout_fields.entries["pattern"]
    pattern.put(FeetPattern.OWN)
    pattern.changed.emit()
    assert editor.has_places
    assert form.draft() == known, "they stay where they stood"
    feet = editor.places
    assert len(feet.rows) == 3
    feet._adder.setFocus()
    qtbot.keyClick(feet._adder, Qt.Key.Key_Space)
    assert len(feet.rows) == 4
    name = feet.rows[3].entries["name"].tab_stops()[0]
    assert form.focusWidget() is name
    assert isinstance(name, QLineEdit)
    qtbot.keyClicks(name, "rear right")
    assert form.draft() is None
    feet.remove_row(3)
    assert form.draft() == known
    feet.remove_row(0)
    assert form.draft() is None
    assert any("at least three feet" in sentence for _, sentence in form.problems())


def test_every_stroke_is_told_once_when_the_page_is_idle(shown: Shown, qtbot: QtBot) -> None:
    form = Form(Cartridge, COMMA, cartridge())
    shown(form)
    told: list[int] = []
    form.draft_changed.connect(lambda: told.append(1))
    form.put(cartridge())
    qtbot.wait(1)
    assert told == []
    line = form.fields.entries["mass_g"].tab_stops()[0]
    with qtbot.waitSignal(form.draft_changed, timeout=1000):
        qtbot.keyClicks(line, "1")
    assert len(told) == 1


def test_long_texts_take_several_lines_and_too_long_ones_are_told(shown: Shown) -> None:
    form = Form(Cartridge, COMMA, cartridge())
    shown(form)
    notes, name = form.fields.entries["notes"], form.fields.entries["name"]
    assert isinstance(notes.tab_stops()[0], QPlainTextEdit)
    name.put("x" * 130)
    ((label, sentence),) = form.problems()
    assert (label, sentence) == ("Name", "“Name” is 10 characters too long (120 fit).")
    name.put("  ")
    assert form.problems() == [("Name", "“Name” needs a few words.")]


# directions


def _directed(form: Form, name: str) -> DirectedEditor:
    entry = form.fields.entries[name]
    assert isinstance(entry, DirectedEditor)
    return entry


def test_no_reading_has_a_sign_that_stands_for_a_direction() -> None:
    known = {"front_mm", "rear_mm", "shown_gf"}  # heights above the record; what a display shows
    for model in READINGS.values():
        for spec in fields_of(model):
            signed = spec.limits is not None and spec.limits.low < 0.0
            if signed and spec.name not in known and not (spec.unit and spec.unit.symbol == "dB"):
                assert spec.directions is not None, (model, spec.name)


def test_a_minus_is_refused_with_the_words_to_choose_and_stays_as_typed(shown: Shown) -> None:
    form = Form(READINGS["alignment: landing"], COMMA)
    shown(form)
    entry = _directed(form, "landing_mm")
    entry.field.set_text("-1,2")
    assert entry.field.message().endswith(
        "“Lands off the mark” takes no minus: type 1,2\u00a0mm and choose “beyond the mark” "
        "or “short of the mark” beside it."
    )
    assert entry.field.text() == "-1,2"
    assert form.draft() is None


def test_a_minus_in_another_unit_is_answered_by_one_amount_and_the_words_to_choose(
    shown: Shown,
) -> None:
    form = Form(READINGS["alignment: landing"], COMMA)
    shown(form)
    entry = _directed(form, "landing_mm")
    entry.field.set_text("-0,05 in")
    # 0.05 in x 25.4 mm = 1.27 mm (the inch of 1959)
    assert (
        "takes no minus: type 1,27\u00a0mm and choose “beyond the mark” or" in entry.field.message()
    )
    assert "−" not in entry.field.message(), "no amount with a sign, that would be refused next"


def test_an_amount_without_a_direction_asks_for_it_and_nothing_is_lost(
    shown: Shown, qtbot: QtBot
) -> None:
    form = Form(READINGS["alignment: landing"], COMMA)
    shown(form)
    refused: list[str] = []
    submitted: list[bool] = []
    form.refused.connect(refused.append)
    form.submitted.connect(lambda: submitted.append(True))
    entry = _directed(form, "landing_mm")
    entry.field.set_text("1,2")
    form.submit()
    assert refused == ["“Lands off the mark”: say which way, beyond the mark or short of the mark."]
    assert form.focusWidget() is entry.field.ways[0]
    entry.field.line.setFocus()
    qtbot.keyClick(entry.field.line, Qt.Key.Key_Return)
    assert form.focusWidget() is entry.field.ways[0], "the amount goes on to the direction"
    qtbot.keyClick(entry.field.ways[0], Qt.Key.Key_Down)
    assert not submitted
    qtbot.keyClick(entry.field.ways[1], Qt.Key.Key_Return)
    assert submitted == [True]
    made = form.draft()
    assert made is not None
    assert made.model_dump()["landing_mm"] == -1.2


def test_enter_alone_chooses_no_direction(shown: Shown, qtbot: QtBot) -> None:
    form = Form(READINGS["alignment: landing"], COMMA)
    shown(form)
    submitted: list[bool] = []
    form.submitted.connect(lambda: submitted.append(True))
    entry = _directed(form, "landing_mm")
    entry.field.line.setFocus()
    qtbot.keyClicks(entry.field.line, "1,2")
    for _ in range(3):
        qtbot.keyClick(form.focusWidget(), Qt.Key.Key_Return)
    assert not submitted
    assert entry.field.chosen() == -1
    assert "say which way" in entry.field.message()
    qtbot.keyClick(form.focusWidget(), Qt.Key.Key_Up)
    qtbot.keyClick(form.focusWidget(), Qt.Key.Key_Return)
    assert submitted == [True]
    assert entry.field.value == 1.2


def test_up_and_down_choose_the_direction_from_the_amount(shown: Shown, qtbot: QtBot) -> None:
    form = Form(READINGS["alignment: landing"], COMMA)
    shown(form)
    entry = _directed(form, "landing_mm")
    entry.field.line.setFocus()
    qtbot.keyClicks(entry.field.line, "1,2")
    for key, value in ((Qt.Key.Key_Down, -1.2), (Qt.Key.Key_Up, 1.2)):
        qtbot.keyClick(entry.field.line, key)
        assert entry.field.value == value
        assert form.focusWidget() is entry.field.line


def test_enter_alone_makes_no_choice_and_arrows_do(shown: Shown, qtbot: QtBot) -> None:
    form = Form(READINGS["speed: strobe"], COMMA)
    shown(form)
    entry = form.fields.entries["direction"]
    entry.put(None)
    for keys, chosen in (
        ([Qt.Key.Key_Return], False),
        ([Qt.Key.Key_Down, Qt.Key.Key_Down], "against"),
        ([Qt.Key.Key_Up], "with"),
    ):
        entry.tab_stops()[0].setFocus()
        for key in keys:
            qtbot.keyClick(form.focusWidget(), key)
        assert entry.raw() == chosen


def test_digits_typed_at_the_direction_go_to_the_amount(shown: Shown, qtbot: QtBot) -> None:
    form = Form(READINGS["alignment: landing"], COMMA)
    shown(form)
    entry = _directed(form, "landing_mm")
    entry.field.ways[0].setFocus()
    qtbot.keyClicks(form.focusWidget(), "1")
    qtbot.keyClicks(form.focusWidget(), ",2")
    assert entry.field.text() == "1,2"
    assert entry.field.chosen() == -1, "which way is not guessed"
    entry.field.ways[0].setFocus()
    qtbot.keyClicks(form.focusWidget(), "5")
    assert entry.field.text() == "1,2", "what stands there is neither wiped nor made another number"
    assert form.focusWidget() is entry.field.line


def test_nothing_off_has_no_direction(shown: Shown) -> None:
    form = Form(READINGS["alignment: landing"], COMMA)
    shown(form)
    entry = _directed(form, "landing_mm")
    entry.field.set_text("0")
    made = form.draft()
    assert made is not None
    assert made.model_dump()["landing_mm"] == 0.0


def test_the_next_reading_begins_without_amount_and_direction(shown: Shown) -> None:
    form = Form(READINGS["level: bubble"], COMMA)
    shown(form)
    entry = _directed(form, "divisions")
    entry.put(-1.5)
    assert (entry.field.text(), entry.field.chosen()) == ("1,5", 1)
    form.settle()
    assert (entry.field.text(), entry.field.chosen()) == ("", -1)


def test_what_is_measured_once_stays_for_the_next_reading(shown: Shown) -> None:
    made = Form(TwoHeights, COMMA)
    shown(made)
    made.put(TwoHeights(front_mm=23.5, rear_mm=29.0, spacing_mm=180.0))
    made.settle()
    typed = {name: entry.answer().value for name, entry in made.fields.entries.items()}
    assert typed == {"front_mm": None, "rear_mm": None, "spacing_mm": 180.0}


def test_what_was_read_of_the_bars_is_asked_anew_and_the_ring_stays(shown: Shown) -> None:
    form = Form(Strobe, Numbers(","))
    shown(form)
    form.put(Strobe(direction=BarDrift.AGAINST, drifted_bars=30.0, seconds=40.0, bars=180))
    form.settle()
    assert form.draft() is None, "the old answer would be saved as a new one"
    left = form.fields.typed()
    assert "direction" not in left
    assert (left["seconds"], left["bars"]) == (40.0, 180)


def test_bars_that_drifted_are_counted_before_anything_is_told(shown: Shown) -> None:
    form = Form(Strobe, Numbers(","))
    shown(form)
    form.fields.entries["direction"].put(BarDrift.AGAINST)
    assert form.draft() is None
    assert form.problems()[0][0] == "Bars drifted"
    form.fields.entries["direction"].put(BarDrift.STANDING)
    standing = form.draft()
    assert isinstance(standing, Strobe)
    assert standing.drifted_bars == 0.0


def test_words_too_long_for_their_field_show_their_beginning(shown: Shown) -> None:
    form = Form(Job, Numbers(), Job(number="2026-001", brought="A deck " * 20))
    shown(form, 300, 500)
    line = form.fields.entries["brought"].tab_stops()[0]
    assert isinstance(line, QLineEdit)
    assert line.cursorPosition() == 0
    line.setFocus()
    QTest.keyClicks(line, "X")
    assert line.text().endswith("X"), "typing goes on at the end"
    form.fields.entries["number"].tab_stops()[0].setFocus()
    assert line.cursorPosition() == 0


@pytest.mark.parametrize(
    ("decimal", "typed", "stands", "day"),
    [
        (",", "4.12.2026", "2026-12-04", "2026-12-04"),
        (",", "2026-12-4", "2026-12-4", "2026-12-04"),
        (".", "25/12/2026", "2026-12-25", "2026-12-25"),
        (".", "4.12.2026", "4.12.2026", None),
    ],
)
def test_a_day_is_read_as_it_is_written_where_the_comma_is_used(
    shown: Shown, decimal: str, typed: str, stands: str, day: str | None
) -> None:
    form = Form(Job, Numbers(decimal))
    page = QWidget()
    QVBoxLayout(page).addWidget(form)
    shown(page)
    line = form.fields.entries["received"].tab_stops()[0]
    assert isinstance(line, QLineEdit)
    line.setFocus()
    QTest.keyClicks(line, typed)
    assert line.text() == typed, "nothing changes while it is typed"
    QTest.keyClick(line, Qt.Key.Key_Tab)
    assert line.text() == stands, "then it stands there as it was understood"
    made = form.draft()
    if day is None:
        assert made is None
        assert "2026-12-04 or 2026-04-12" in str(form.problems())
    else:
        assert isinstance(made, Job)
        assert made.received == day
