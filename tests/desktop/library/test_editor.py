from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.store import Library, LibraryProblem, ProblemKind
from desktop.library.editor import CARTRIDGE, DECK, RecordEditor
from tests.desktop.kit import RecordingMessages, focused, line_named, retype, settle

Show = Callable[[QWidget], QWidget]
Open = Callable[..., RecordEditor]


@pytest.fixture
def editor(library: Library, messages: RecordingMessages, shown: Show) -> Iterator[Open]:
    def open_editor(record_kind: object = DECK, record_id: str = "", **more: bool) -> RecordEditor:
        page = RecordEditor(
            record_kind,
            library,
            record_id,
            numbers=Numbers(decimal=","),
            messages=messages,
            who="Ada",
            **more,
        )
        shown(page)
        page.begin()
        return page

    return open_editor


def test_a_correction_is_a_new_revision_and_the_old_one_stays(
    editor: Open, library: Library, qtbot: QtBot
) -> None:
    deck_id = library.decks()[0].id
    old = library.deck(deck_id)
    page = editor(DECK, deck_id)
    assert not page.has_changes
    retype(line_named(page.form, "Effective mass"), "11,5")
    with qtbot.waitSignal(page.kept, timeout=1000) as kept:
        qtbot.keyClick(page, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    assert kept.args == [deck_id]
    new = library.deck(deck_id)
    assert (new.revision, new.who) == (old.revision + 1, "Ada")
    assert new.thing.arm.effective_mass_g == 11.5
    assert library.deck(deck_id, old.revision).thing == old.thing


def test_every_starter_comes_through_the_form_unchanged(editor: Open, library: Library) -> None:
    for record_kind, rows in ((DECK, library.decks()), (CARTRIDGE, library.cartridges())):
        for row in rows:
            page = editor(record_kind, row.id)
            kept = library.deck(row.id) if record_kind is DECK else library.cartridge(row.id)
            assert page.form.draft() == kept.thing, row.name
            assert page.save()
            again = library.deck(row.id) if record_kind is DECK else library.cartridge(row.id)
            assert again.revision == kept.revision


def test_what_is_wrong_is_said_at_the_field_and_nothing_is_lost(
    editor: Open, library: Library, qtbot: QtBot
) -> None:
    page = editor(CARTRIDGE, library.cartridges()[0].id)
    retype(line_named(page.form, "Mass"), "heavy")
    page.findChildren(QPushButton, "editorSave")[0].click()
    assert line_named(page.form, "Mass").text() == "heavy"
    assert page.problem.text().startswith("Not saved yet: ")
    assert any(
        "heavy" in label.text() for label in page.form.findChildren(QLabel) if label.isVisible()
    )
    assert library.cartridge(library.cartridges()[0].id).revision == 1
    retype(line_named(page.form, "Mass"), "6,5")
    qtbot.waitUntil(lambda: page.problem.text() == "", timeout=10_000)
    assert page.save()


def test_a_new_deck_shows_what_is_still_missing_section_by_section(editor: Open) -> None:
    page = editor(DECK)
    assert not page.save()
    words = [page.sections.item(row).text() for row in range(page.sections.count())]
    assert words[0] == "Name and notes  (1 to do)"
    assert any(word.startswith("Arm  (") for word in words)
    assert "Bench kit" in words
    assert focused() is line_named(page.form, "Name")


def test_a_new_cartridge_is_made_by_keys_alone(
    editor: Open, library: Library, qtbot: QtBot
) -> None:
    page = editor(CARTRIDGE)
    qtbot.keyClicks(focused(), "Example cartridge, made at the keyboard")
    for label, text in (("Mass", "6.2"), ("Downforce from", "1,5"), ("Downforce to", "2")):
        retype(line_named(page.form, label), text)
    for choice in ("Mounting", "Stylus"):
        stop = next(s for s in page.form.fields.entries[choice.lower()].tab_stops())
        stop.setFocus()
        qtbot.keyClick(stop, Qt.Key.Key_Space)
    with qtbot.waitSignal(page.kept, timeout=1000) as kept:
        qtbot.keyClick(page, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    made = library.cartridge(kept.args[0]).thing
    assert made.name == "Example cartridge, made at the keyboard"
    assert (made.mass_g, made.downforce_min_gf, made.downforce_max_gf) == (6.2, 1.5, 2.0)


def test_a_copy_is_a_new_record_and_the_first_stays_as_it_was(
    editor: Open, library: Library
) -> None:
    first = library.decks()[0]
    page = editor(DECK, first.id, copies=True)
    kept: list[str] = []
    page.kept.connect(kept.append)
    assert page.save()
    assert kept[0] != first.id
    assert library.deck(kept[0]).thing.name == f"{first.name} (copy)"
    assert library.deck(first.id).revision == 1


def test_leaving_asks_only_if_something_would_be_lost(
    editor: Open, library: Library, messages: RecordingMessages, qtbot: QtBot
) -> None:
    page = editor(DECK, library.decks()[0].id)
    with qtbot.waitSignal(page.closed, timeout=1000):
        qtbot.keyClick(page, Qt.Key.Key_Escape)
    assert not messages.asked

    retype(line_named(page.form, "Owner"), "Job 7")
    messages.answers = [None]
    with qtbot.assertNotEmitted(page.closed):
        qtbot.keyClick(page, Qt.Key.Key_Escape)
    assert line_named(page.form, "Owner").text() == "Job 7"

    messages.answers = [1]
    with qtbot.waitSignal(page.closed, timeout=1000):
        qtbot.keyClick(page, Qt.Key.Key_Escape)
    assert library.decks()[0].owner_reference != "Job 7"

    messages.answers = [0]
    with (
        qtbot.assertNotEmitted(page.closed),
        qtbot.waitSignal(page.kept, timeout=1000),
    ):
        qtbot.keyClick(page, Qt.Key.Key_Escape)
    assert "Job 7" in [row.owner_reference for row in library.decks()]


def test_a_correction_made_in_another_window_is_not_passed_over(
    editor: Open, library: Library, messages: RecordingMessages, qtbot: QtBot
) -> None:
    deck_id = library.decks()[0].id
    page = editor(DECK, deck_id)
    other = library.deck(deck_id).thing.model_copy(update={"notes": "From the other window."})
    library.keep_deck(other, id=deck_id)
    retype(line_named(page.form, "Owner"), "Job 7")
    assert not page.save()
    assert page.comparison is not None  # both are shown: see test_two_versions.py
    assert line_named(page.form, "Owner").text() == "Job 7"
    assert library.deck(deck_id).thing == other
    assert messages.told == []


def test_a_full_disk_is_told_and_what_was_typed_stays(
    editor: Open,
    library: Library,
    messages: RecordingMessages,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    page = editor(DECK, library.decks()[0].id)
    retype(line_named(page.form, "Owner"), "Job 7")

    def fail(*_given: object, **_named: object) -> object:
        raise LibraryProblem(ProblemKind.FULL, "The disk is full.", "Make room.")

    monkeypatch.setattr(library, "keep_deck", fail)
    assert not page.save()
    assert messages.sentences == ["The disk is full."]
    assert line_named(page.form, "Owner").text() == "Job 7"
    assert page.has_changes


def test_the_list_of_sections_follows_what_is_scrolled_to(editor: Open, library: Library) -> None:
    page = editor(DECK, library.decks()[0].id)
    settle()
    names = [page.sections.item(row).text() for row in range(page.sections.count())]
    page.form.fields.entries["name"].tab_stops()[0].setFocus()
    assert page.sections.currentRow() == 0
    bar = page.area.verticalScrollBar()
    skating = page.form.fields.entries["skating"]
    settle()
    bar.setValue(skating.mapTo(page.form, QPoint(0, 0)).y())
    assert page.sections.currentRow() == names.index("Skating")
    bar.setValue(0)
    assert page.sections.currentRow() == 0


def test_the_list_of_sections_leads_and_follows(editor: Open, library: Library) -> None:
    page = editor(DECK, library.decks()[0].id)
    names = [page.sections.item(row).text() for row in range(page.sections.count())]
    page.sections.setFocus()
    page.sections.setCurrentRow(names.index("Skating"))
    assert page.area.verticalScrollBar().value() > 0
    page.sections.itemActivated.emit(page.sections.currentItem())
    assert page.form.fields.entries["skating"].isAncestorOf(focused())
    line_named(page.form, "Owner").setFocus()
    assert page.sections.currentRow() == 0


def test_every_field_is_explained(editor: Open) -> None:
    for record_kind in (DECK, CARTRIDGE):
        page = editor(record_kind)
        for name, entry in page.form.fields.entries.items():
            assert entry.spec.help, name
