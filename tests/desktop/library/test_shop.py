"""The library of a shop, by the keyboard: find, pick many, carry them out, put them away, back."""

from __future__ import annotations

import csv
import json
import random
import shutil
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from core.fitting import Finished, Fitting, NoteWritten
from core.language import Numbers
from core.store import FittingRow, Library, LibraryProblem, ProblemKind, RecordRow
from core.store.backend import Conditions
from core.store.file_problems import full
from core.store.listing import Listing
from core.store.sqlite.file import SqliteFile
from desktop.library.screen import LibraryScreen
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_table.table import RecordTable
from tests.desktop import kit
from tests.desktop.kit import NONE, RecordingMessages
from tests.examples import cartridge, deck

FITTINGS = 1_500
Key = Qt.Key
SHIFT, CTRL = Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier
Show = Callable[[QWidget], QWidget]


@pytest.fixture(scope="module")
def stocked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A library with 60 decks, 1,200 finished fittings and 300 under way."""
    chance = random.Random(4)
    path: Path = tmp_path_factory.mktemp("stocked") / "shop.library"
    begun = datetime(2024, 1, 1, tzinfo=UTC)
    with Library.open(path) as library, library.transaction():
        decks = [
            library.keep_deck(
                deck(name=f"Deck in oak, no. {number}", owner_reference=f"Job {number}")
            ).id
            for number in range(60)
        ]
        pick = library.keep_cartridge(cartridge()).id
        for number in range(FITTINGS):
            at = begun + timedelta(hours=number)
            one = library.start_fitting(chance.choice(decks), pick, at=at, who="Ann")
            if number % 5:
                library.append(one.id, Finished(), at=at + timedelta(minutes=1))
    return path


@pytest.fixture
def shop(stocked: Path, tmp_path: Path) -> Iterator[Library]:
    """A library of the test's own, stocked."""
    path = tmp_path / "shop.library"
    shutil.copyfile(stocked, path)
    with Library.open(path) as library:
        yield library


@pytest.fixture
def screen(
    shop: Library, messages: RecordingMessages, preferences: Preferences, shown: Show
) -> LibraryScreen:
    screen = LibraryScreen(shop, Numbers(), messages, preferences)
    shown(screen)
    return screen


def press(key: Qt.Key, held: Qt.KeyboardModifier = NONE, times: int = 1) -> None:
    for _ in range(times):
        kit.press(key, held)


def write(text: str) -> None:
    for letter in text:  # the first ones may take the focus elsewhere
        kit.write(letter)


def go_to(name: str) -> None:
    """Press Tab until the button of that name has the focus."""
    for _ in range(40):
        focused = QApplication.focusWidget()
        if focused is not None and focused.objectName() == name:
            return
        press(Key.Key_Tab)
    raise AssertionError(f"Tab never comes to {name}")


def shown_ids(records: RecordTable) -> list[str]:
    return records.model.ids_at(0, records.model.rowCount() - 1)


def test_find_pick_several_and_export_exactly_those(
    screen: LibraryScreen, shop: Library, messages: RecordingMessages, tmp_path: Path
) -> None:
    screen.tabs.setCurrentWidget(screen.finished)
    press(Key.Key_F, CTRL)
    write("job 7")
    records = screen.finished
    found = shown_ids(records)
    assert records.count.text() == f"{len(found)} of 1,200"
    expected = {row.id for row in shop.fittings(finished=True) if "7" in row.owner_reference}
    assert set(found) == expected
    assert len(found) > 5
    press(Key.Key_Down)
    press(Key.Key_Down)
    press(Key.Key_Down, SHIFT, times=2)
    assert records.picked_ids() == found[1:4]
    assert records.count.text().endswith(", 3 picked")
    messages.files = [tmp_path / "some.csv", tmp_path / "some.json"]
    go_to("deed:export")
    press(Key.Key_Space)
    press(Key.Key_Space)
    assert messages.file_questions[0][0] == "Export 3 fittings"
    with (tmp_path / "some.csv").open(encoding="utf-8-sig", newline="") as table:
        assert [line["Number"] for line in csv.DictReader(table)] == found[1:4]
    document = json.loads((tmp_path / "some.json").read_text(encoding="utf-8"))
    assert {one["id"] for one in document["fittings"]} == set(found[1:4])


def test_all_that_match_are_exported_also_those_never_looked_at(
    screen: LibraryScreen,
    shop: Library,
    messages: RecordingMessages,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    screen.tabs.setCurrentWidget(screen.finished)
    press(Key.Key_F, CTRL)
    write("oak")
    press(Key.Key_Down)
    listing, made = screen.finished.model.listing, []
    row = listing.row
    monkeypatch.setattr(listing, "row", lambda place: made.append(place) or row(place))
    press(Key.Key_A, CTRL)
    assert screen.finished.count.text() == "1,200, 1,200 picked"
    messages.files = [tmp_path / "all.csv"]
    go_to("deed:export")
    press(Key.Key_Space)
    with (tmp_path / "all.csv").open(encoding="utf-8-sig", newline="") as table:
        numbers = [line["Number"] for line in csv.DictReader(table)]
    assert numbers == [one.id for one in shop.fittings(finished=True)]
    assert len(set(made)) < 100, "rows out of sight were made"


def test_several_are_put_away_shown_and_brought_back_by_keys_alone(
    screen: LibraryScreen, shop: Library
) -> None:
    records = screen.decks
    screen.tabs.setCurrentWidget(records)
    press(Key.Key_F, CTRL)
    write("oak no.")
    press(Key.Key_Down)
    press(Key.Key_Down, times=10)
    press(Key.Key_Down, SHIFT, times=4)
    away, following = records.picked_ids(), shown_ids(records)[15]
    assert len(away) == 5
    go_to("deed:archive")
    press(Key.Key_Space)
    assert [shop.deck(one).archived for one in away] == [True] * 5
    assert records.count.text() == f"55 of {55 + len(shop.decks()) - 60}"
    assert not set(away) & set(shown_ids(records))
    assert records.current_id == following, "the next row is current, not the first"
    press(Key.Key_F, CTRL)
    press(Key.Key_Tab, times=len(records.chips.buttons) + 1)
    press(Key.Key_Space)
    assert records.archived.isChecked()
    press(Key.Key_F, CTRL)
    write("archived")
    assert shown_ids(records) == away
    assert records.model.row_at(0).archived
    press(Key.Key_Down)
    press(Key.Key_A, CTRL)
    go_to("deed:restore")
    press(Key.Key_Space)
    assert not any(shop.deck(one).archived for one in away)
    assert "None of the" in records.empty.text()
    assert len(shop.decks()) == len(shop.decks(archived=False)), "nothing is ever deleted"


def test_one_that_fails_leaves_all_of_them_where_they_were(
    screen: LibraryScreen,
    shop: Library,
    messages: RecordingMessages,
    monkeypatch: pytest.MonkeyPatch,
    qtbot: QtBot,
) -> None:
    screen.under_way.table.selectAll()
    picked = screen.under_way.picked_ids()
    assert len(picked) == 300
    update, changed = SqliteFile.update, []

    def fill_up(file: SqliteFile, table: str, values: Mapping[str, Any], where: Conditions) -> None:
        if table == "fittings":
            changed.append(where)
        if len(changed) == 3:
            raise full(file.path)
        update(file, table, values, where)

    monkeypatch.setattr(SqliteFile, "update", fill_up)
    monkeypatch.setattr("core.store.archiving._AT_ONCE", 100)
    screen.under_way.buttons["archive"].click()
    qtbot.waitUntil(lambda: not screen.acts.is_busy, timeout=20_000)
    assert len(changed) == 3
    assert len(messages.told) == 1
    assert len(shop.fittings(finished=False, archived=False)) == 300
    assert screen.under_way.picked_ids() == picked


def test_an_action_whose_rows_went_away_is_not_done(screen: LibraryScreen) -> None:
    records = screen.under_way
    chosen: list[tuple[str, list[str]]] = []
    records.action_chosen.connect(lambda key, ids: chosen.append((key, ids)))
    records.table.clearSelection()
    records.buttons["open"].setEnabled(True)  # as if the rows went a moment ago
    records.buttons["open"].click()
    assert chosen == []
    assert not records.buttons["open"].isEnabled()


def test_the_keyboard_sorts_to_and_fro_and_picks_follow_their_rows(screen: LibraryScreen) -> None:
    records = screen.under_way
    press(Key.Key_F, CTRL)
    press(Key.Key_Down)
    press(Key.Key_Down, SHIFT, times=2)
    picked = records.picked_ids()
    first = shown_ids(records)

    def references() -> list[int]:
        rows = [records.model.row_at(at) for at in range(records.model.rowCount())]
        return [int(row.owner_reference.split()[1]) for row in rows]

    press(Key.Key_2, CTRL)
    assert references() == sorted(references())
    assert set(records.picked_ids()) == set(picked)
    assert records.current_id == picked[-1]
    press(Key.Key_2, CTRL)
    assert references() == sorted(references(), reverse=True)
    press(Key.Key_2, CTRL)
    assert shown_ids(records) == first
    assert records.picked_ids() == picked


def test_picks_survive_a_new_look_at_the_library(screen: LibraryScreen, shop: Library) -> None:
    records = screen.under_way
    records.table.setFocus()
    press(Key.Key_Down, times=40)
    press(Key.Key_Down, SHIFT, times=3)
    picked, current = records.picked_ids(), records.current_id
    assert len(picked) == 4
    at = datetime(2026, 1, 1, tzinfo=UTC)
    newest = shop.start_fitting(shop.decks()[0].id, shop.cartridges()[0].id, at=at)
    shop.archive_fitting(picked[1])
    screen.refresh()
    assert shown_ids(records)[0] == newest.id
    assert records.picked_ids() == [picked[0], *picked[2:]]
    assert records.current_id == current


def test_letters_typed_in_the_list_go_to_the_filter(screen: LibraryScreen) -> None:
    records = screen.under_way
    records.table.setFocus()
    write("Job 12")
    assert QApplication.focusWidget() is records.filter
    assert records.filter.text() == "Job 12"
    assert {records.model.row_at(at).owner_reference for at in range(records.model.rowCount())} == {
        "Job 12"
    }


def test_no_match_says_so_and_leads_on(screen: LibraryScreen, shop: Library) -> None:
    done = next(row for row in shop.fittings(finished=True) if row.owner_reference == "Job 21")
    for row in shop.fittings(finished=False):
        if row.owner_reference == "Job 21":
            shop.archive_fitting(row.id)
    screen.refresh()
    records = screen.under_way
    press(Key.Key_F, CTRL)
    write("job 21")
    assert records.nothing.isVisible()
    assert "None of the" in records.empty.text()
    archived = shop.fittings(finished=False, archived=True)
    away = sum("Job 21" in row.owner_reference for row in archived)
    assert records.nothing.archived.text() == f"Show {away} archived"
    records.nothing.archived.click()
    assert records.model.rowCount() == away
    assert records.archived.isChecked()
    records.archived.setChecked(False)
    records.nothing.other_table.click()
    assert screen.tabs.currentWidget() is screen.finished
    assert screen.finished.filter.text() == "job 21"
    assert done.id in shown_ids(screen.finished)
    screen.finished.filter.setText("zzz")
    assert screen.finished.nothing.isVisible()
    assert not screen.finished.nothing.archived.isVisible()
    screen.finished.nothing.clear.click()
    assert QApplication.focusWidget() is screen.finished.filter
    assert screen.finished.model.rowCount() == 1_200


def test_a_shelf_is_read_when_it_is_seen_or_asked_about_and_not_before(
    shop: Library,
    messages: RecordingMessages,
    preferences: Preferences,
    shown: Show,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[str] = []

    def watch(
        name: str, read: Callable[[], Listing[RecordRow]]
    ) -> Callable[[], Listing[RecordRow]]:
        return lambda: asked.append(name) or read()

    def watch_log(*, finished: bool) -> Listing[FittingRow]:
        asked.append("finished" if finished else "under way")
        return read_log(finished=finished)

    read_log = shop.log.listing
    monkeypatch.setattr(shop.log, "listing", watch_log)
    for name, things in (("decks", shop.deck_records), ("cartridges", shop.cartridge_records)):
        monkeypatch.setattr(things, "listing", watch(name, things.listing))
    screen = LibraryScreen(shop, Numbers(), messages, preferences)
    shown(screen)
    assert asked == ["under way"]
    screen.tabs.setCurrentWidget(screen.finished)
    assert asked == ["under way", "finished"]
    screen.tabs.setCurrentWidget(screen.under_way)
    assert asked == ["under way", "finished"]
    assert screen.cartridges.model.total == len(shop.cartridges())
    screen.refresh()
    assert asked == ["under way", "finished", "cartridges", "under way"]
    screen.tabs.setCurrentWidget(screen.finished)
    assert asked[-1] == "finished"


def test_a_shelf_that_can_not_be_read_says_so_once_and_can_be_tried_again(
    screen: LibraryScreen,
    shop: Library,
    messages: RecordingMessages,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fail() -> object:
        raise LibraryProblem(ProblemKind.LOCKED, "Another window is writing.", "Wait a moment.")

    with monkeypatch.context() as patched:
        patched.setattr(screen.decks, "_load", fail)
        screen.tabs.setCurrentWidget(screen.decks)
        assert screen.decks.current_id == ""
        assert messages.sentences == ["Another window is writing."]
    screen.refresh()
    assert screen.decks.model.total == len(shop.decks())


def test_counts_are_grouped_as_the_country_does(
    shop: Library, messages: RecordingMessages, preferences: Preferences, shown: Show
) -> None:
    screen = LibraryScreen(shop, Numbers(decimal=","), messages, preferences)
    shown(screen)
    screen.tabs.setCurrentWidget(screen.finished)
    assert screen.finished.count.text() == "1\u202f200"


def test_nothing_on_the_screen_deletes(screen: LibraryScreen) -> None:
    for records in (screen.under_way, screen.finished, screen.decks, screen.cartridges):
        keys = {action.key for action in records.spec.actions}
        assert {"archive", "restore", "export"} <= keys
        for action in records.spec.actions:
            words = Numbers().text(action.words).lower().replace("&", "")
            assert "delete" not in words
            assert "remove" not in words


def test_where_the_latest_stands_can_be_asked_for_at_once(screen: LibraryScreen) -> None:
    screen._latest_words = None  # else it is said already if opening took long
    screen.refresh()
    assert not screen.primary.accessibleName().endswith("of 9")
    screen.say_where_the_latest_stands()
    assert screen.primary.accessibleName().endswith(", step 1 of 9")


def test_where_the_latest_stands_is_worked_out_anew_only_when_it_changed(
    screen: LibraryScreen, shop: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    screen.say_where_the_latest_stands()
    said = screen.primary.accessibleName(), screen.next.text()
    read: list[str] = []
    get = shop.fitting

    def watch(one: str) -> Fitting:
        read.append(one)
        return get(one)

    monkeypatch.setattr(shop, "fitting", watch)
    screen.refresh()
    assert (screen.primary.accessibleName(), screen.next.text()) == said
    screen.say_where_the_latest_stands()
    assert len(read) == 1
    latest = read[0]
    at = shop.log.listing().row(0).last_at + timedelta(days=1)
    shop.append(latest, NoteWritten(text="dusty"), at=at)
    screen.refresh()
    assert screen.next.text() != said[1]
    screen.say_where_the_latest_stands()
    assert read == [latest, latest]
    assert screen.next.text() != said[1]
