from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QLabel,
    QLineEdit,
    QStackedWidget,
    QWidget,
)
from pytestqt.qtbot import QtBot

from core.drawing.marks import Words
from core.fitting import Finished, NoteWritten
from core.language import Numbers
from core.records import Headshell, Job
from core.store import Library, LibraryProblem, ProblemKind
from desktop.charts.instrument_view import InstrumentView
from desktop.library.other_fittings import FittingCard
from desktop.library.screen import LibraryScreen
from desktop.widgets.local_time import moment
from desktop.widgets.preferences import Preferences
from desktop.widgets.record_table.table import RecordTable
from tests.desktop.kit import RecordingMessages

Show = Callable[[QWidget], QWidget]
NOON = datetime(2025, 3, 9, 12, 0, tzinfo=UTC)


@pytest.fixture
def screen(
    library: Library, messages: RecordingMessages, preferences: Preferences, shown: Show
) -> LibraryScreen:
    screen = LibraryScreen(library, Numbers(), messages, preferences)
    shown(screen)
    return screen


def begin(library: Library, deck: int = 0, cartridge: int = 0, hours: float = 0) -> str:
    at = NOON + timedelta(hours=hours)
    decks, cartridges = library.decks(), library.cartridges()
    return library.start_fitting(decks[deck].id, cartridges[cartridge].id, at=at).id


def test_a_new_library_holds_starters_and_offers_to_start(
    screen: LibraryScreen, qtbot: QtBot
) -> None:
    assert screen.decks.model.total >= 5
    assert screen.cartridges.model.total >= 6
    assert not screen.primary.isVisible()
    assert not screen.another.isVisible()
    assert screen.welcome.isVisible()
    screen.begin()
    assert QApplication.focusWidget() is screen.welcome.start
    with qtbot.waitSignal(screen.start_wanted, timeout=1000) as wanted:
        qtbot.keyClick(screen.welcome.start, Qt.Key.Key_Return)
    assert wanted.args == ["", ""]


def test_the_welcome_draws_the_nine_places_and_goes_with_the_first_fitting(
    screen: LibraryScreen, library: Library
) -> None:
    screen.welcome.draw()
    view = screen.welcome.picture
    assert isinstance(view, InstrumentView)
    assert view.drawing is not None
    numbers = [m.text for m in view.drawing.marks if isinstance(m, Words) and m.bold]
    assert numbers == [str(number) for number in range(1, 10)]
    begin(library)
    screen.refresh()
    assert not screen.welcome.isVisible()
    assert screen.primary.isVisible()
    assert screen.under_way.isVisible()


def test_no_hole_is_left_between_the_shelves_after_the_first_fitting(
    screen: LibraryScreen, library: Library, shown: Show
) -> None:
    """Where the welcome had been, a hole as wide as its tab stayed until the next start."""
    pages = QStackedWidget()
    for page in (screen, QWidget()):
        pages.addWidget(page)
    shown(pages)
    pages.setCurrentIndex(1)  # the wizard, while the first fitting is begun
    begin(library)
    screen.refresh()
    pages.setCurrentIndex(0)
    QApplication.processEvents()
    bar = screen.tabs.tabBar()
    places = [bar.tabRect(place) for place in range(bar.count()) if bar.isTabVisible(place)]
    gaps = [after.left() - before.right() - 1 for before, after in pairwise(places)]
    assert gaps == [0] * len(gaps)


def test_no_other_list_is_read_as_the_welcome_goes(
    screen: LibraryScreen, library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After a large import the finished ones took a tenth of a second, and nobody saw them."""
    read: list[RecordTable] = []
    before = RecordTable.read
    monkeypatch.setattr(RecordTable, "read", lambda self: (read.append(self), before(self)))
    begin(library)
    screen.refresh()
    assert screen.tabs.currentWidget() is screen.under_way
    assert read == [screen.under_way]


def test_the_fitting_to_resume_is_drawn_with_the_number_of_its_step(
    screen: LibraryScreen, library: Library
) -> None:
    begin(library)
    screen.refresh()
    screen.say_where_the_latest_stands()
    views = screen.picture.findChildren(InstrumentView)
    assert views
    drawing = views[-1].drawing
    assert drawing is not None
    assert [m.text for m in drawing.marks if isinstance(m, Words)] == ["1"]


def test_the_fitting_worked_on_last_is_the_one_to_resume(
    screen: LibraryScreen, library: Library, qtbot: QtBot
) -> None:
    first = begin(library, deck=0)
    second = begin(library, deck=1, hours=1)
    at = NOON + timedelta(hours=2)
    library.append(first, NoteWritten(text="Belt is new."), who="Ada", at=at)
    screen.refresh()
    deck = library.decks()[0].name
    assert screen.primary.accessibleName().startswith(f"Resume: {deck} with ")
    qtbot.waitUntil(lambda: screen.primary.accessibleName().endswith(", step 1 of 9"))
    assert screen.next.text().endswith(f"Last entry {moment(at)} by Ada.")
    assert screen.another.isVisible()
    with qtbot.waitSignal(screen.fitting_wanted, timeout=1000) as wanted:
        qtbot.keyClick(screen.primary, Qt.Key.Key_Space)
    assert wanted.args == [first]
    assert [screen.under_way.model.row_at(row).id for row in (0, 1)] == [first, second]


def test_a_narrow_button_tells_the_deck_rather_than_two_beginnings(
    screen: LibraryScreen, library: Library, qtbot: QtBot
) -> None:
    begin(library, deck=0)
    screen.refresh()
    qtbot.waitUntil(lambda: screen.primary.accessibleName().endswith(", step 1 of 9"))
    deck = library.decks()[0].name
    button = screen.primary
    for wide in range(button.sizeHint().width(), button.minimumSizeHint().width() - 1, -8):
        button.resize(wide, button.height())
        told = button.text().removeprefix("Resume: ").removesuffix(", step 1 of 9")
        begins = told.partition("…")[0]
        assert deck.startswith(begins) or f"{deck} with" in begins
        assert len(begins) >= 15, told


def numbers_drawn(card: FittingCard) -> list[str]:
    views = card.picture.findChildren(InstrumentView)
    drawings = [view.drawing for view in views]
    return [m.text for one in drawings if one for m in one.marks if isinstance(m, Words)]


def test_other_fittings_in_progress_are_cards_that_a_key_resumes(
    screen: LibraryScreen, library: Library, qtbot: QtBot
) -> None:
    ids = [begin(library, deck=at % 5, hours=at) for at in range(7)]
    job = library.jobs.keep(Job(number="2025-007", brought="A deck"), who="Ada", today=NOON.date())
    library.jobs.give(ids[5], job.id, who="Ada", at=NOON + timedelta(hours=5.5))
    screen.resize(900, 600)
    screen.refresh()
    screen.say_where_the_latest_stands()
    QApplication.processEvents()
    seen = [card for card in screen.others.cards if card.isVisible()]
    assert [card.row.id for card in seen] == [ids[5], ids[4]], "the first is on the large button"
    assert all(card.geometry().right() < screen.others.width() for card in seen)
    name = seen[0].accessibleName()
    assert name.startswith(f"Resume: {library.decks()[0].name} with ")
    assert "1 Level" in name
    assert "since 2025-03-09" in name
    assert name.endswith("Job 2025-007")
    assert "Job" not in seen[1].accessibleName()
    assert [numbers_drawn(card) for card in seen] == [["1"], ["1"]]
    with qtbot.waitSignal(screen.fitting_wanted, timeout=1000) as wanted:
        qtbot.keyClick(screen, Qt.Key.Key_3, Qt.KeyboardModifier.AltModifier)
    assert wanted.args == [ids[4]]
    assert screen.others.more.text() == "and 4 more…"
    screen.tabs.setCurrentWidget(screen.decks)
    screen.others.more.click()
    assert screen.tabs.currentWidget() is screen.under_way
    screen.resize(1900, 900)
    QApplication.processEvents()
    assert [numbers_drawn(card) for card in screen.others.cards] == [["1"]] * 6
    assert not screen.others.more.isVisible()


def test_the_key_on_a_card_is_never_cut(screen: LibraryScreen, library: Library) -> None:
    for at in range(5):
        one = begin(library, deck=at, hours=at)
        job = library.jobs.keep(Job(brought="A deck"), who="Ada", today=NOON.date())
        library.jobs.give(one, job.id, who="Ada", at=NOON + timedelta(hours=at + 0.5))
    screen.refresh()
    screen.say_where_the_latest_stands()
    for wide in range(700, 1500, 40):
        screen.resize(wide, 700)
        QApplication.processEvents()
        seen = [card for card in screen.others.cards if card.isVisible()]
        for number, card in enumerate(seen, start=2):
            shown = [label.text() for label in card.findChildren(QLabel)]
            assert any(words.endswith(f"Alt+{number}") for words in shown), (wide, shown)


def test_a_single_fitting_in_progress_needs_no_card(
    screen: LibraryScreen, library: Library
) -> None:
    begin(library)
    screen.refresh()
    assert screen.others.isHidden()


def test_a_finished_fitting_stands_on_its_own_shelf(
    screen: LibraryScreen, library: Library
) -> None:
    done = begin(library)
    library.append(done, Finished())
    screen.refresh()
    assert screen.under_way.model.total == 0
    assert screen.finished.model.row_at(0).id == done
    assert screen.primary.text() == "Start a fitting"


def test_long_names_are_shortened_where_there_is_no_room_but_never_for_a_screen_reader(
    screen: LibraryScreen, library: Library, qtbot: QtBot
) -> None:
    kept = library.deck(library.decks()[0].id)
    long = "Deck & more " * 9
    library.keep_deck(kept.thing.model_copy(update={"name": long.strip()}), id=kept.id)
    begin(library, deck=[row.id for row in library.decks()].index(kept.id))
    screen.refresh()
    screen.resize(700, 600)
    qtbot.waitUntil(lambda: screen.primary.text().endswith("step 1 of 9"))
    assert "…" in screen.primary.text()
    metrics = screen.primary.fontMetrics()
    words = screen.primary.text().replace("&&", "&")
    assert metrics.horizontalAdvance(words) <= screen.primary.width()
    assert long.strip() in screen.primary.accessibleName()


def test_archiving_takes_off_the_list_and_back_without_deleting(
    screen: LibraryScreen, library: Library
) -> None:
    total = screen.decks.model.total
    one = screen.decks.current_id
    screen.tabs.setCurrentWidget(screen.decks)
    screen.decks.buttons["archive"].click()
    assert screen.decks.model.total == total - 1
    screen.decks.archived.setChecked(True)
    assert screen.decks.model.total == total
    screen.decks.pick(one)
    assert screen.decks.current_words().endswith("(archived)")
    screen.decks.buttons["restore"].click()
    assert not library.deck(one).archived


@pytest.mark.parametrize(("key", "signal"), [("edit", "edit_wanted"), ("copy", "copy_wanted")])
def test_the_buttons_ask_for_the_form_of_the_row_picked(
    screen: LibraryScreen, qtbot: QtBot, key: str, signal: str
) -> None:
    screen.tabs.setCurrentWidget(screen.cartridges)
    with qtbot.waitSignal(getattr(screen, signal), timeout=1000) as wanted:
        screen.cartridges.buttons[key].click()
    assert wanted.args == ["cartridge", screen.cartridges.current_id]


def test_a_deck_can_be_taken_straight_to_a_fitting(screen: LibraryScreen, qtbot: QtBot) -> None:
    screen.tabs.setCurrentWidget(screen.decks)
    with qtbot.waitSignal(screen.start_wanted, timeout=1000) as wanted:
        screen.decks.buttons["fit"].click()
    assert wanted.args == [screen.decks.current_id, ""]


def test_a_library_that_fails_is_told_and_the_screen_keeps_what_it_shows(
    screen: LibraryScreen,
    library: Library,
    messages: RecordingMessages,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    before = screen.decks.model.total

    def fail(*_given: object, **_named: object) -> object:
        raise LibraryProblem(ProblemKind.LOCKED, "Another window is writing.", "Wait a moment.")

    monkeypatch.setattr(library.log, "listing", fail)
    monkeypatch.setattr(library.deck_records, "listing", fail)
    screen.refresh()
    assert messages.sentences == ["Another window is writing."]
    assert screen.decks.model.total == before


def test_find_goes_to_the_filter_of_the_open_shelf(screen: LibraryScreen, qtbot: QtBot) -> None:
    screen.tabs.setCurrentWidget(screen.cartridges)
    qtbot.keyClick(screen, Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
    assert QApplication.focusWidget() is screen.cartridges.filter


def test_a_list_is_made_when_it_is_seen_and_tab_finds_it_in_its_place(
    screen: LibraryScreen, qtbot: QtBot
) -> None:
    assert not screen.cartridges.findChildren(QLineEdit)
    screen.tabs.setCurrentWidget(screen.cartridges)
    assert screen.cartridges.filter.isVisible()
    screen.tabs.tabBar().setFocus()
    qtbot.keyClick(screen.tabs.tabBar(), Qt.Key.Key_Tab)
    assert QApplication.focusWidget() is screen.cartridges.filter


def test_the_name_at_the_bench_is_kept_when_the_box_is_left(
    screen: LibraryScreen, preferences: Preferences, qtbot: QtBot
) -> None:
    screen.who.setFocus()
    qtbot.keyClicks(screen.who, "Ada")
    qtbot.keyClick(screen.who, Qt.Key.Key_Tab)
    assert preferences.who == "Ada"


def test_no_two_keys_in_sight_are_the_same(screen: LibraryScreen, library: Library) -> None:
    begin(library)
    screen.refresh()
    for index in range(screen.tabs.count()):
        screen.tabs.setCurrentIndex(index)
        words = [screen.tabs.tabText(at) for at in range(screen.tabs.count())]
        words += [b.text() for b in screen.findChildren(QAbstractButton) if b.isVisible()]
        words.append("&Technician")
        keys = [
            text.replace("&&", "")[at + 1].lower()
            for text in words
            if (at := text.replace("&&", "").find("&")) >= 0
        ]
        assert len(keys) == len(set(keys)), sorted(words)


def test_an_archived_fitting_is_not_the_one_to_resume(
    screen: LibraryScreen, library: Library
) -> None:
    kept = begin(library, deck=0)
    begin(library, deck=1, hours=1)
    screen.refresh()
    screen.under_way.buttons["archive"].click()
    assert screen.under_way.model.total == 1
    assert screen.under_way.current_id == kept
    assert library.decks()[0].name in screen.primary.accessibleName()


def test_a_screen_that_was_ended_asks_a_closed_library_nothing(
    screen: LibraryScreen, library: Library, qtbot: QtBot
) -> None:
    begin(library)
    screen.refresh()
    before = screen.primary.accessibleName()
    screen.end()
    library.close()
    with qtbot.captureExceptions() as faults:
        qtbot.wait(400)  # longer than it waits before it says step and what is due
    assert not faults
    assert screen.primary.accessibleName() == before


def test_every_list_is_sorted_by_every_column(screen: LibraryScreen, library: Library) -> None:
    """Headshells and test records could not be sorted by the column after the name."""
    library.keep_headshell(Headshell(name="Headshell A", mass_g=9.5))
    screen.refresh()
    for records in screen.tabs.findChildren(RecordTable):
        screen.tabs.setCurrentWidget(records)
        count = records.model.rowCount()
        for column in range(len(records.spec.columns)):
            for way in Qt.SortOrder:
                records.table.sortByColumn(column, way)
                assert records.model.rowCount() == count
