"""A deck in a minute: much like another, then only what differs, and it can be fitted at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QApplication, QCheckBox, QLabel, QLineEdit, QRadioButton, QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.records import ArmKind, Cartridge, Deck, FeetPattern, fields_of
from core.store import Library
from core.workflow.fit_check import misfits
from desktop.forms.feet_editor import FeetEditor
from desktop.forms.form import Form
from desktop.forms.model_fields import GroupEditor, ModelFields
from desktop.library import editor
from desktop.library.editor import CARTRIDGE, DECK, RecordEditor
from desktop.library.essentials import details_of, fold_details
from desktop.library.start_page import StartPage
from desktop.shell.main_window import MainWindow
from desktop.swap.swap_page import SwapPage
from desktop.widgets import theme
from desktop.wizard import Wizard
from tests.desktop.kit import (
    ALT,
    CTRL,
    Key,
    RecordingMessages,
    finished,
    focus,
    line_named,
    press,
    write,
)

Show = Callable[..., QWidget]
MOST_STROKES = 60


@pytest.fixture
def new_form(library: Library, messages: RecordingMessages, shown: Show) -> RecordEditor:
    page = RecordEditor(DECK, library, numbers=Numbers(), messages=messages)
    shown(page)
    page.begin()
    return page


@pytest.fixture
def window(window: MainWindow, tmp_path: Path) -> MainWindow:
    window.open_library(tmp_path / "shelf.library")
    return window


def fields(page: RecordEditor, group: str) -> ModelFields:
    entry = page.form.fields.entries[group]
    assert isinstance(entry, GroupEditor)
    return entry.fields


def field(page: RecordEditor, group: str, name: str) -> QLineEdit:
    line = fields(page, group).entries[name].tab_stops()[-1]
    assert isinstance(line, QLineEdit)
    return line


def take(page: RecordEditor, part: str) -> None:
    box = page.much_like
    place = next(one for one in range(box.count()) if part in box.itemText(one))
    box.setCurrentIndex(place)
    box.activated.emit(place)


class Counting:
    """Presses keys and counts them."""

    def __init__(self) -> None:
        self.strokes = 0

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier | None = None) -> None:
        self.strokes += 1
        press(key, *(() if modifier is None else (modifier,)))

    def write(self, text: str) -> None:
        self.strokes += len(text)
        write(text)


def test_a_new_deck_takes_under_sixty_strokes_and_can_be_fitted_at_once(
    window: MainWindow, qtbot: QtBot
) -> None:
    hand = Counting()
    hand.press(Key.Key_D, ALT)  # the list of decks
    hand.press(Key.Key_A, ALT)
    form = window.pages.currentWidget()
    assert isinstance(form, RecordEditor)
    hand.press(Key.Key_M, ALT)
    while "three feet" not in form.much_like.currentText():
        hand.press(Key.Key_Down)
        assert hand.strokes < MOST_STROKES, form.much_like.currentText()
    hand.press(Key.Key_Return)
    hand.write("Deck with silver arm")
    while focus() is not field(form, "arm", "pivot_to_spindle_mm"):
        hand.press(Key.Key_Return)
        assert hand.strokes < MOST_STROKES, focus()
    focused = focus()
    assert isinstance(focused, QLineEdit)
    focused.selectAll()
    hand.strokes += 1
    hand.write("230")
    hand.press(Key.Key_S, CTRL)
    library = window.library
    assert library is not None
    row = next(row for row in library.decks() if row.name == "Deck with silver arm")
    assert hand.strokes < MOST_STROKES, hand.strokes

    deck = library.deck(row.id).thing
    assert deck.arm.pivot_to_spindle_mm == 230.0
    assert deck.notes == ""
    cartridge = next(one for one in library.cartridges() if "all-round" in one.name)
    assert misfits(deck, library.cartridge(cartridge.id).thing) == ()
    window.show_start(row.id, cartridge.id)
    page = window.pages.currentWidget()
    assert isinstance(page, StartPage)
    page.start.click()
    assert isinstance(window.pages.currentWidget(), Wizard)


def test_effective_length_and_offset_follow_the_pivot_until_they_are_typed(
    new_form: RecordEditor, qtbot: QtBot
) -> None:
    take(new_form, "three feet")
    pivot, length = (
        field(new_form, "arm", name) for name in ("pivot_to_spindle_mm", "effective_length_mm")
    )
    pivot.selectAll()
    qtbot.keyClicks(pivot, "295")
    # Handbook value for 295 mm and null radii of 66.0 and 120.9 mm: 308.2 mm.
    assert float(length.text()) == pytest.approx(308.2, abs=0.1)
    length.selectAll()
    qtbot.keyClicks(length, "310")
    pivot.selectAll()
    qtbot.keyClicks(pivot, "294")
    assert length.text() == "310"
    assert float(field(new_form, "arm", "offset_deg").text()) == pytest.approx(17.7, abs=0.1)


def test_nothing_is_red_before_it_was_touched(new_form: RecordEditor, qtbot: QtBot) -> None:
    def red() -> list[str]:
        return [
            label.text()
            for label in new_form.findChildren(QLabel)
            if label.property("kind") == "problem" and label.isVisible() and label.text()
        ]

    assert red() == []
    kind = fields(new_form, "arm").entries["kind"]
    kind.put(ArmKind.PIVOTED_OFFSET)
    kind.changed.emit()
    for name, text in (("effective_length_mm", "239"), ("effective_mass_g", "11")):
        qtbot.keyClicks(field(new_form, "arm", name), text)
    qtbot.wait(200)
    assert red() == [], "pivot to spindle is still to come"
    assert not new_form.save()
    assert red() != []


@pytest.mark.parametrize("size", [(900, 600), (1024, 768), (1280, 800)])
def test_fields_keep_their_full_height_however_many_feet_are_added(
    library: Library,
    messages: RecordingMessages,
    shown: Show,
    qtbot: QtBot,
    size: tuple[int, int],
) -> None:
    page = RecordEditor(DECK, library, numbers=Numbers(), messages=messages)
    shown(page, *size)
    page.everything.setChecked(True)
    feet = fields(page, "plinth").entries["feet"]
    assert isinstance(feet, FeetEditor)
    feet.layout_fields.entries["pattern"].put(FeetPattern.OWN)
    feet.layout_fields.entries["pattern"].changed.emit()

    def squeezed() -> list[QWidget]:
        found: list[QWidget] = []
        for kind in (QRadioButton, QLineEdit, QCheckBox):
            for one in page.form.findChildren(kind):
                low = one.sizeHint().height() - 1
                found += [one] if one.isVisible() and one.height() < low else []
        return found

    for _ in range(4):
        feet.places.add_row()
        QApplication.processEvents()
        qtbot.wait(50)  # Qt lays out over several turns of its loop
        qtbot.waitUntil(lambda: squeezed() == [], timeout=5000)
    qtbot.wait(200)
    assert squeezed() == [], "nor later"


def test_no_minus_sign_is_typed_for_feet_or_the_bearing(new_form: RecordEditor) -> None:
    new_form.everything.setChecked(True)
    take(new_form, "parallel")
    feet = fields(new_form, "plinth").entries["feet"]
    assert isinstance(feet, FeetEditor)
    feet.layout_fields.entries["pattern"].put(FeetPattern.OWN)
    feet.layout_fields.entries["pattern"].changed.emit()
    assert not any(
        line.text().startswith(("-", "\u2212"))
        for line in new_form.form.findChildren(QLineEdit)
        if line.isVisible()
    )


def test_a_copy_leaves_reference_and_notes_behind(
    library: Library, messages: RecordingMessages, shown: Show
) -> None:
    row = library.decks()[0]
    known = library.deck(row.id).thing
    marked = known.model_copy(update={"owner_reference": "Job 12", "notes": "New bearing"})
    library.keep_deck(marked, id=row.id)
    page = RecordEditor(DECK, library, row.id, copies=True, numbers=Numbers(), messages=messages)
    shown(page)
    made = page.form.draft()
    assert isinstance(made, Deck)
    assert (made.owner_reference, made.notes) == ("", "")
    assert made.arm == known.arm


def test_what_was_typed_stays_when_another_is_taken_as_a_pattern(
    new_form: RecordEditor, qtbot: QtBot
) -> None:
    write("Mine")
    take(new_form, "12-inch")
    made = new_form.form.draft()
    assert isinstance(made, Deck)
    assert made.name == "Mine"
    assert made.arm.pivot_to_spindle_mm == 295.0


def test_details_lie_behind_one_fold_with_defaults_that_work(
    library: Library, messages: RecordingMessages, shown: Show
) -> None:
    for kind in (DECK, CARTRIDGE):
        page = RecordEditor(kind, library, numbers=Numbers(), messages=messages)
        shown(page)
        few = len(page.form.tab_stops())
        page.everything.setChecked(True)
        assert len(page.form.tab_stops()) > 1.5 * few
        page.everything.setChecked(False)
        assert len(page.form.tab_stops()) == few
        for inner in page.form.findChildren(ModelFields):
            needed = {spec.name for spec in fields_of(inner.model) if spec.required}
            assert not needed & details_of(inner.model), inner.model


def test_a_group_that_was_wholly_folded_comes_in_its_turn(
    new_form: RecordEditor, qtbot: QtBot
) -> None:
    made = new_form.form.fields.made
    qtbot.waitUntil(lambda: "platter" in made)
    assert "bench" not in made
    new_form.everything.setChecked(True)
    qtbot.waitUntil(lambda: "tolerances" in made and made["tolerances"].isVisible())
    assert list(fields(new_form, "bench").made) == list(fields(new_form, "bench").entries)
    row = [label for label, _ in new_form._sections].index("Bench kit")
    assert not new_form.sections.item(row).isHidden()


def test_a_fault_behind_the_fold_is_brought_to_light(new_form: RecordEditor, qtbot: QtBot) -> None:
    take(new_form, "three feet")
    new_form.everything.setChecked(True)
    qtbot.keyClicks(field(new_form, "arm", "cable_pf"), "lots")
    new_form.form.fields.entries["name"].put("Mine")
    new_form.everything.setChecked(False)
    assert not field(new_form, "arm", "cable_pf").isVisible()
    assert not new_form.save()
    assert field(new_form, "arm", "cable_pf").isVisible()


def test_from_start_a_fitting_a_new_deck_comes_back_picked(
    window: MainWindow, qtbot: QtBot
) -> None:
    window.show_start()
    page = window.pages.currentWidget()
    assert isinstance(page, StartPage)
    cartridge = page.cartridges.current_id
    page.decks.filter.setText("Deck on the top shelf")
    page.adders["deck"].click()
    form = window.pages.currentWidget()
    assert isinstance(form, RecordEditor)
    take(form, "three feet")
    assert form.save()
    again = window.pages.currentWidget()
    assert isinstance(again, StartPage)
    assert again.decks.current_words() == "Deck on the top shelf"
    assert again.cartridges.current_id == cartridge


def test_from_a_swap_a_new_cartridge_comes_back_with_its_plan(
    window: MainWindow, qtbot: QtBot
) -> None:
    library = window.library
    assert library is not None
    deck = next(row for row in library.decks() if "three feet" in row.name)
    cartridge = next(row for row in library.cartridges() if "all-round" in row.name)
    window.show_swap(finished(library, deck.id, cartridge.id))
    page = window.pages.currentWidget()
    assert isinstance(page, SwapPage)
    page.pick.records.filter.setText("Heavier one")
    page.pick.add_button.click()
    form = window.pages.currentWidget()
    assert isinstance(form, RecordEditor)
    take(form, "all-round")
    made = form.form.draft()
    assert isinstance(made, Cartridge)
    assert made.name == "Heavier one"
    assert form.save()
    back = window.pages.currentWidget()
    assert isinstance(back, SwapPage)
    assert back.plan is not None
    assert back.plan.swap.cartridge.thing.name == "Heavier one"
    back.show_list()
    back.leave()
    assert not isinstance(window.pages.currentWidget(), SwapPage)


@pytest.mark.parametrize(("width", "height", "scale"), [(1280, 800, 1.0), (1024, 768, 1.5)])
def test_every_choice_of_a_new_form_has_just_the_room_it_needs(
    window: MainWindow, qtbot: QtBot, qapp: QApplication, width: int, height: int, scale: float
) -> None:
    try:
        theme.apply(qapp, "light", text_scale=scale)
        window.resize(width, height)
        press(Key.Key_D, ALT)
        press(Key.Key_A, ALT)
        form = window.pages.currentWidget()
        assert isinstance(form, RecordEditor)

        def is_settled() -> None:
            choices = [one for one in form.findChildren(QRadioButton) if one.isVisible()]
            assert choices
            for one in choices:
                where = one.accessibleName()
                assert one.sizeHint().height() in range(one.height() - 1, one.height() + 1), where
                whole = one.parentWidget()
                while whole is not form.form:
                    assert whole.rect().contains(whole.childrenRect()), where
                    whole = whole.parentWidget()

        qtbot.waitUntil(is_settled)
    finally:
        theme.apply(qapp, "light", text_scale=1.0)


def test_fields_are_put_aside_out_of_sight_and_the_hands_stay_where_they_are(
    new_form: RecordEditor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In sight, Qt lays out every page around each field that is shown: 0.2 s for a deck."""
    in_sight: list[bool] = []

    def noted(form: Form, *, away: bool) -> None:
        in_sight.append(form.isVisible())
        fold_details(form, away=away)

    monkeypatch.setattr(editor, "fold_details", noted)
    name = line_named(new_form.form, "Name")
    name.setFocus()
    new_form.everything.setChecked(True)
    assert in_sight == [False]
    assert new_form.form.isVisible()
    assert focus() is name


class StyleChanges(QObject):
    """Counts how often Qt styles a widget anew."""

    count = 0

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        self.count += event.type() == QEvent.Type.StyleChange
        return False


@pytest.mark.parametrize("place", [None, 0])
def test_a_form_is_made_inside_the_window_so_that_it_is_styled_once(
    window: MainWindow, qapp: QApplication, place: int | None
) -> None:
    assert window.library is not None
    record_id = "" if place is None else window.library.decks()[place].id
    changes = StyleChanges()
    qapp.installEventFilter(changes)
    window.show_editor("deck", record_id)
    qapp.processEvents()
    qapp.removeEventFilter(changes)
    page = window.pages.currentWidget()
    assert isinstance(page, RecordEditor)
    # A form put together first and moved into the window in parts was styled seven times over.
    assert changes.count < 1.5 * len(page.findChildren(QWidget))


def test_a_deck_that_cannot_be_read_leaves_no_part_of_a_form_behind(
    window: MainWindow, messages: RecordingMessages, qtbot: QtBot
) -> None:
    before = len(window.pages.findChildren(RecordEditor))
    window.show_editor("deck", "no such deck")
    assert messages.told
    qtbot.waitUntil(lambda: len(window.pages.findChildren(RecordEditor)) == before)
