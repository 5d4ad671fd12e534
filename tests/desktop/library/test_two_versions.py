"""Two windows that disagree about a record: both are looked at, and nothing typed is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QRadioButton, QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.store import Library
from core.store.differences import Side
from desktop.library.editor import CARTRIDGE, DECK, RecordEditor
from desktop.library.two_versions import TwoVersions
from tests.desktop.kit import Key, RecordingMessages, line_named, press, retype, settle, words_of
from tests.examples import cartridge


@pytest.fixture
def other(library: Library) -> Iterator[Library]:
    """The same library in another window."""
    with Library.open(library.address) as second:
        yield second


@pytest.fixture
def page(
    library: Library, messages: RecordingMessages, shown: Callable[[QWidget], QWidget]
) -> RecordEditor:
    page = RecordEditor(
        DECK,
        library,
        library.decks()[0].id,
        numbers=Numbers(decimal=","),
        messages=messages,
        who="Ada",
    )
    shown(page)
    page.begin()
    return page


def change(other: Library, deck_id: str, who: str = "Ben", **changed: object) -> None:
    thing = other.deck(deck_id).thing
    arm = {name: changed.pop(name) for name in list(changed) if name.endswith(("_g", "_deg"))}
    arm_now = thing.arm.model_copy(update=arm)
    other.keep_deck(thing.model_copy(update={**changed, "arm": arm_now}), id=deck_id, who=who)


def versions(page: RecordEditor) -> TwoVersions:
    assert page.comparison is not None
    return page.comparison.versions


def test_the_newer_state_is_shown_beside_what_is_typed_with_who_and_when(
    page: RecordEditor, library: Library, other: Library, qtbot: QtBot
) -> None:
    deck_id = library.decks()[0].id
    change(other, deck_id, owner_reference="Shelf 9", effective_mass_g=12.5)
    retype(line_named(page.form, "Effective mass"), "11,5")
    assert not page.save()
    both = versions(page)
    assert [(one.label, one.here, one.incoming) for one in both.differences] == [
        ("Owner's reference", "empty", "Shelf 9"),
        ("Arm: Effective mass", "11,5 g", "12,5 g"),
    ]
    assert both.sides() == [Side.INCOMING, None]  # the shelf was changed there alone
    words = words_of(page)
    assert "Revision 2, " in words
    assert ", by Ben" in words
    assert "One field still to choose." in words
    assert library.deck(deck_id).thing.arm.effective_mass_g == 12.5


def test_chosen_by_keyboard_alone_and_kept_as_a_new_revision(
    page: RecordEditor, library: Library, other: Library, qtbot: QtBot
) -> None:
    deck_id = library.decks()[0].id
    change(other, deck_id, owner_reference="Shelf 9", effective_mass_g=12.5)
    retype(line_named(page.form, "Effective mass"), "11,5")
    press(Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    focused = QApplication.focusWidget()
    assert isinstance(focused, QRadioButton)
    assert focused.accessibleName() == "Arm: Effective mass: Yours: 11,5 g"
    press(Key.Key_Return)  # it is the last one: on to the button
    save = QApplication.focusWidget()
    assert isinstance(save, QPushButton)
    assert save.objectName() == "versionsSave"
    with qtbot.waitSignal(page.kept, timeout=1000):
        press(Key.Key_Return)
    newest = library.deck(deck_id)
    assert (newest.revision, newest.who) == (3, "Ada")
    assert (newest.thing.owner_reference, newest.thing.arm.effective_mass_g) == ("Shelf 9", 11.5)
    history = library.deck_records.history(deck_id)
    assert [one.thing.arm.effective_mass_g for one in history][1:] == [12.5, 11.5]
    assert not page.has_changes


def test_going_back_keeps_every_letter_typed(
    page: RecordEditor, library: Library, other: Library, qtbot: QtBot
) -> None:
    change(other, library.decks()[0].id, owner_reference="Shelf 9")
    retype(line_named(page.form, "Effective mass"), "11,5")
    retype(line_named(page.form, "Owner's reference"), "Shelf 3")
    assert not page.save()
    press(Key.Key_Escape)
    settle()
    assert page.comparison is None
    assert line_named(page.form, "Effective mass").text() == "11,5"
    assert line_named(page.form, "Owner's reference").text() == "Shelf 3"
    assert page.has_changes
    assert not page.save()  # and it is asked again, not passed over
    assert page.comparison is not None


def test_a_third_change_meanwhile_is_shown_in_turn(
    page: RecordEditor, library: Library, other: Library, qtbot: QtBot
) -> None:
    deck_id = library.decks()[0].id
    change(other, deck_id, owner_reference="Shelf 9")
    retype(line_named(page.form, "Owner's reference"), "Shelf 3")
    assert not page.save()
    versions(page).choose_all(Side.HERE)
    change(other, deck_id, "Cleo", owner_reference="Shelf 12")
    page.findChildren(QPushButton, "versionsSave")[0].click()
    settle()
    (one,) = versions(page).differences
    assert (one.here, one.incoming) == ("Shelf 3", "Shelf 12")
    assert ", by Cleo" in words_of(page)
    versions(page).choose_all(Side.HERE)
    assert page.comparison is not None
    page.comparison.save.click()
    assert library.deck(deck_id).thing.owner_reference == "Shelf 3"


def test_what_does_not_go_together_is_said_and_nothing_is_kept(
    library: Library,
    other: Library,
    messages: RecordingMessages,
    shown: Callable[[QWidget], QWidget],
    qtbot: QtBot,
) -> None:
    thing = cartridge(downforce_recommended_gf=None)
    kept = library.keep_cartridge(thing)
    page = RecordEditor(CARTRIDGE, library, kept.id, numbers=Numbers(), messages=messages)
    shown(page)
    low = thing.model_copy(update={"downforce_min_gf": 0.5, "downforce_max_gf": 0.8})
    other.keep_cartridge(low, id=kept.id, who="Ben")
    retype(line_named(page.form, "Downforce to"), "2.5")
    retype(line_named(page.form, "Downforce from"), "2")
    assert not page.save(), page.problem.text()
    both = versions(page)
    places = [one.place[-1] for one in both.differences]
    both.choose_all(Side.HERE)
    both.choose(places.index("downforce_max_gf"), Side.INCOMING)
    assert page.comparison is not None
    assert page.comparison.status.text().startswith("These don't go together: ")
    assert not page.comparison.save.isEnabled()
    assert library.cartridge(kept.id).thing == low


def test_a_newer_state_is_told_at_once_and_shown_where_nothing_is_typed(
    page: RecordEditor, library: Library, other: Library, qtbot: QtBot
) -> None:
    deck_id = library.decks()[0].id
    change(other, deck_id, owner_reference="Shelf 9")
    page.look_again()
    assert line_named(page.form, "Owner's reference").text() == "Shelf 9"
    assert "This is the newer state: Revision 2, " in words_of(page)
    assert not page.has_changes
    assert page.accessibleName().endswith("(revision 2)")
    retype(line_named(page.form, "Owner's reference"), "Shelf 3")
    change(other, deck_id, owner_reference="Shelf 12")
    page.look_again()
    assert line_named(page.form, "Owner's reference").text() == "Shelf 3"
    assert "What you typed is still here." in words_of(page)
    page.compare.click()
    (one,) = versions(page).differences
    assert (one.here, one.incoming) == ("Shelf 3", "Shelf 12")


def test_no_value_however_long_pushes_the_columns_out_of_the_window(
    page: RecordEditor, library: Library, other: Library
) -> None:
    page.resize(640, 480)
    change(other, library.decks()[0].id, notes="x" * 3000, owner_reference="<b>bold</b>")
    page.form.put(
        library.deck(library.decks()[0].id, 1).thing.model_copy(update={"notes": "y" * 900})
    )
    assert not page.save()
    settle()
    both = versions(page)
    assert both.width() <= page.width()
    for row in both.rows:
        for button in row.values():
            assert button.mapTo(page, button.rect().topRight()).x() < page.width()
    labels = [one for one in both.findChildren(QLabel) if "bold" in one.text()]
    assert labels
    assert all(one.textFormat() is Qt.TextFormat.PlainText for one in labels)
