"""The history of a deck, worked by keys alone."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.store import Library, LibraryProblem, ProblemKind
from desktop.history.history_page import HistoryPage
from desktop.library.start_page import StartPage
from desktop.shell.main_window import MainWindow
from desktop.widgets.language import tr
from desktop.widgets.preferences import Preferences
from desktop.wizard.summary_page import SummaryPage
from tests.arms import FRONT, REAR, two_arms
from tests.desktop.kit import (
    ALT,
    CTRL,
    TODAY,
    Hands,
    HistoryBench,
    Key,
    RecordingMessages,
    Show,
    load,
    press,
    settle,
    tab_to,
    told_in,
    words_of,
)
from tests.examples import cartridge
from tests.visits import bodies, noon
from tests.worded import worded


def test_what_is_due_stands_first_with_what_to_do(history: HistoryBench) -> None:
    history.keep("2023-05-01", hours=790)
    page = history.page()
    check, stylus = told_in(page.dues)
    assert check.startswith("Check of the deck: due since 2024-05-01.")
    assert "Start a fitting with the same cartridge" in check
    assert stylus.startswith("Stylus: due soon")
    assert "microscope" in stylus


def test_a_deck_nobody_fitted_says_so_and_offers_nothing_that_fails(history: HistoryBench) -> None:
    page = history.page()
    said = words_of(page.dues)
    assert "No fitting of this deck is on file" in said
    assert not page.hours_button.isEnabled()
    assert not page.over_time.isVisible()
    assert not page.changes.isVisible()
    assert not page.fittings.isVisible()


def test_until_it_is_loaded_it_says_so_and_nothing_of_what_it_has_not_read(
    history: HistoryBench, shown: Show
) -> None:
    history.keep("2024-05-01")
    history.keep("2025-05-01")
    page = HistoryPage(
        history.library, history.deck_id, Numbers(), RecordingMessages(), today=lambda: TODAY
    )
    page.resize(1400, 900)
    page.loader._timer.blockSignals(True)  # as on a slow machine
    shown(page)
    assert words_of(page.dues) == "The history is being loaded…"
    for part in (page.over_time, page.changes, page.entries):
        assert not part.isVisible()
    page.loader._timer.blockSignals(False)
    page.loader.finish()
    assert len(told_in(page.dues)) > 1
    for part in (page.over_time, page.changes, page.entries):
        assert part.isVisible()


def test_one_fitting_has_a_picture_and_nothing_to_compare(history: HistoryBench) -> None:
    history.keep("2025-05-01")
    page = history.page()
    assert all(small.isVisible() for small in page.over_time.small)
    assert not page.changes.earlier.isVisible()
    assert told_in(page.changes) == []
    assert told_in(page.entries)[-1] == f"{_clock(page)}, The whole fitting: Finished"


def _clock(page: HistoryPage) -> str:
    (past,) = page.loader.pasts
    return past.fitting.entries[-1].at.astimezone().strftime("%H:%M")


def test_every_figure_is_seen_at_a_glance_with_what_was_wanted(history: HistoryBench) -> None:
    history.keep("2024-05-01")
    history.keep("2025-05-01", downforce_gf=1.9)
    small = history.page(Numbers(",")).over_time.small
    names = [one.accessibleName().replace("\u00a0", " ") for one in small]
    assert len(small) > 10
    assert names[0] == "Downforce (gf). last 1,90 ± 0,02 gf. wanted 2,00 gf ± 0,05"
    for one in small:
        assert one.isVisible()
        assert one.picture is not None
        assert one.picture.x.ticks  # dates
        assert "2024-05-01" in one.accessibleDescription()
    beside = [one for one in small if one.geometry().top() == small[0].geometry().top()]
    assert len(beside) > 1


def test_the_figure_with_the_focus_is_shown_large(history: HistoryBench) -> None:
    history.keep("2024-05-01")
    history.keep("2025-05-01", slide_mm=0.4)
    page = history.page()
    large, small = page.over_time.chart, page.over_time.small
    assert not large.isVisible()
    tab_to(small[0])
    assert large.isVisible()
    seen = []
    for _ in small:
        assert large.picture is not None
        seen.append(worded(large.picture.title))
        press(Key.Key_Right)
    assert seen[0] == "Downforce over time"
    assert {"Overhang over time", "Speed error at 33⅓ rpm over time"} < set(seen)
    assert len(set(seen)) == len(small)
    press(Key.Key_Home)
    press(Key.Key_Down)
    assert QApplication.focusWidget() is not small[1]
    press(Key.Key_Up)
    assert QApplication.focusWidget() is small[0]
    press(Key.Key_Tab)  # one stop of the Tab key for all of them
    assert QApplication.focusWidget() not in small


def test_a_fitting_with_the_same_cartridge_is_a_button(
    history: HistoryBench, shown: Show, preferences: Preferences
) -> None:
    history.keep("2024-05-01", history.other)
    history.keep("2025-05-01")
    window = MainWindow(numbers=Numbers(), preferences=preferences, messages=history.messages)
    window.open_library(history.library.address.path)
    shown(window)
    window.show_history(history.deck_id)
    page = window.pages.currentWidget()
    assert isinstance(page, HistoryPage)
    load(page)
    press(Key.Key_S, ALT)
    start = window.pages.currentWidget()
    assert isinstance(start, StartPage)
    assert start.decks.current_id == history.deck_id
    assert start.cartridges.current_id == history.one


def test_a_fitting_in_progress_is_gone_on_with_instead(history: HistoryBench) -> None:
    history.keep("2024-05-01")
    newest = history.keep("2025-05-01", finished=False)
    page = history.page()
    wanted: list[str] = []
    page.fitting_wanted.connect(wanted.append)
    press(Key.Key_S, ALT)
    assert wanted == [newest]


def test_the_last_two_are_compared_until_others_are_picked(history: HistoryBench) -> None:
    for year, force in ((2022, 2.0), (2023, 1.9), (2024, 2.0)):
        history.keep(f"{year}-05-01", downforce_gf=force)
    history.keep("2025-05-01", history.other, downforce_gf=1.75)
    page = history.page()
    assert page.changes.earlier.currentText() == "2024-05-01 · A"
    assert page.changes.later.currentText() == "2025-05-01 · B"
    assert (
        "Downforce: 2.00\u00a0±\u00a00.02\u00a0gf, then 1.75\u00a0±\u00a00.02\u00a0gf: "
        "−0.25\u00a0gf, more than the tolerance"
    ) in told_in(page.changes)
    assert (
        "Cartridge: Example cartridge, elliptical → Example cartridge, light"
        in words_of(page.changes).splitlines()
    )
    tab_to(page.changes.earlier)
    press(Key.Key_Down)
    assert page.changes.earlier.currentText() == "2023-05-01 · A"
    assert any(text.startswith("Downforce: 1.90") for text in told_in(page.changes))
    tab_to(page.changes.later)
    press(Key.Key_Home)
    for _ in range(2):
        press(Key.Key_Down)
    assert page.changes.later.currentText() == "2023-05-01 · A"
    assert told_in(page.changes) == []  # the same one twice


def test_what_was_read_in_one_only_says_in_which(history: HistoryBench) -> None:
    history.keep("2024-05-01")
    history.keep("2025-05-01", found_percent=None)
    page = history.page()
    stood = "Speed error at 33⅓ rpm: 0.00\u00a0±\u00a00.10\u00a0%"
    assert f"{stood}, then –: not read in the later fitting" in told_in(page.changes)


def test_two_fittings_of_one_day_are_told_apart_by_the_clock(history: HistoryBench) -> None:
    first = history.keep("2025-05-01")
    again = history.library.fitting(first)
    twin = again.model_copy(
        update={
            "id": "twin",
            "entries": tuple(
                entry.model_copy(update={"id": f"t{entry.id}", "at": entry.at + timedelta(hours=1)})
                for entry in again.entries
            ),
        }
    )
    history.library.log.add(twin)
    page = history.page()
    words = {page.changes.earlier.itemText(place) for place in range(2)}
    assert len(words) == 2
    assert all(":" in text for text in words)


def test_the_entries_shown_are_those_of_the_fitting_picked(history: HistoryBench) -> None:
    history.keep("2024-05-01", downforce_gf=1.9)
    history.keep("2025-05-01", downforce_gf=2.1)
    page = history.page()
    assert any("2.10" in text for text in told_in(page.entries))
    tab_to(page.fittings.table)
    press(Key.Key_Down)
    QTest.qWait(200)
    assert any("1.90" in text for text in told_in(page.entries))
    assert not any("2.10" in text for text in told_in(page.entries))


def test_a_fitting_is_opened_and_followed_by_another_cartridge(history: HistoryBench) -> None:
    done = history.keep("2024-05-01")
    under_way = history.keep("2025-05-01", finished=False)
    page = history.page()
    opened: list[str] = []
    swapped: list[str] = []
    page.fitting_wanted.connect(opened.append)
    page.swap_wanted.connect(swapped.append)
    tab_to(page.fittings.table)
    press(Key.Key_Return)
    assert not page.fittings.swap_button.isEnabled()
    press(Key.Key_Down)
    press(Key.Key_Return)
    assert opened == [under_way, done]
    tab_to(page.fittings.swap_button)
    press(Key.Key_Space)
    assert swapped == [done]


def test_archived_fittings_are_left_out_and_an_archived_deck_is_shown(
    history: HistoryBench,
) -> None:
    history.keep("2024-05-01")
    away = history.keep("2025-05-01")
    history.library.archive_fitting(away)
    history.library.archive("deck", [history.deck_id], archived=True)
    page = history.page()
    assert len(page.loader.pasts) == 1
    assert told_in(page.dues)[0].startswith("Check of the deck: due since 2025-05-01")


def test_a_hundred_fittings_come_one_by_one_and_the_window_lives(history: HistoryBench) -> None:
    start = date(2010, 1, 1)
    for place in range(100):
        history.keep((start + timedelta(days=50 * place)).isoformat())
    page = HistoryPage(
        history.library, history.deck_id, Numbers(), history.messages, today=lambda: TODAY
    )
    history._shown(page)
    assert not page.loader.is_done
    assert page.fittings.table.rowCount() == 100
    load(page)
    assert len(page.loader.pasts) == 100
    assert page.changes.later.count() == 100
    picture = page.over_time.small[0].picture
    assert picture is not None
    assert "100 fittings" in worded(picture.summary)


def test_a_window_closed_while_it_loads_reads_nothing_more(
    history: HistoryBench, shown: Show, preferences: Preferences
) -> None:
    for month in range(1, 7):
        history.keep(f"2024-{month:02}-01")
    window = MainWindow(numbers=Numbers(), preferences=preferences, messages=history.messages)
    window.open_library(history.library.address.path)
    shown(window)
    window.show_history(history.deck_id)
    page = window.pages.currentWidget()
    assert isinstance(page, HistoryPage)
    assert not page.loader.is_done
    assert window.close()
    for _ in range(20):
        QApplication.processEvents()
    assert not page.loader.is_done
    assert history.messages.told == []


def test_a_fitting_that_can_not_be_read_is_told_and_the_others_are_shown(
    history: HistoryBench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bad = history.keep("2024-05-01")
    history.keep("2025-05-01")
    honest = Library.fitting

    def torn(self: Library, fitting_id: str) -> Any:
        if fitting_id == bad:
            raise LibraryProblem(
                ProblemKind.DAMAGED, "An entry can't be read.", "Restore a backup."
            )
        return honest(self, fitting_id)

    monkeypatch.setattr(Library, "fitting", torn)
    page = history.page()
    assert history.messages.sentences == ["An entry can't be read."]
    assert len(page.loader.pasts) == 1
    assert told_in(page.dues)


@pytest.mark.parametrize("decimal", [".", ","])
def test_numbers_are_written_as_in_the_country(history: HistoryBench, decimal: str) -> None:
    history.keep("2024-05-01")
    history.keep("2025-05-01", downforce_gf=1.9)
    page = history.page(Numbers(decimal))
    said = " ".join([*told_in(page.changes), words_of(page.changes), *told_in(page.entries)])
    assert f"2{decimal}00\u00a0±\u00a00{decimal}02\u00a0gf" in said
    assert f"1{decimal}90\u00a0gf" in said
    wrong = "," if decimal == "." else "."
    assert f"2{wrong}00" not in said


def test_from_the_library_by_keys_and_back(
    history: HistoryBench, shown: Show, preferences: Preferences
) -> None:
    history.keep("2025-05-01")
    window = MainWindow(numbers=Numbers(), preferences=preferences, messages=history.messages)
    window.open_library(history.library.address.path)
    shown(window)
    hands = Hands(window)
    hands.press(Key.Key_D, ALT)
    hands.press(Key.Key_F, CTRL)
    hands.write("shelf 7")
    press(Key.Key_Y, ALT)
    page = window.pages.currentWidget()
    assert isinstance(page, HistoryPage)
    load(page)
    hands.press(Key.Key_Escape)
    assert not isinstance(window.pages.currentWidget(), HistoryPage)
    assert window.pages.currentWidget() is not None


def test_what_another_window_enters_appears_and_what_is_picked_stays(
    history: HistoryBench, shown: Show, preferences: Preferences
) -> None:
    for year in (2022, 2023, 2024):
        history.keep(f"{year}-05-01")
    window = MainWindow(numbers=Numbers(), preferences=preferences, messages=history.messages)
    window.open_library(history.library.address.path)
    shown(window)
    window.show_history(history.deck_id)
    page = window.pages.currentWidget()
    assert isinstance(page, HistoryPage)
    load(page)
    page.changes.earlier.setCurrentIndex(2)
    assert page.changes.earlier.currentText() == "2022-05-01"
    history.keep("2025-05-01", hours=33)
    window._housekeeping.look()
    load(page)
    assert page.changes.later.count() == 4
    assert page.changes.earlier.currentText() == "2022-05-01"
    assert any("33\u00a0h" in text for text in told_in(page.dues))


def test_from_a_finished_fitting_and_back_to_it(
    history: HistoryBench, shown: Show, preferences: Preferences, qtbot: QtBot
) -> None:
    done = history.keep("2025-05-01")
    window = MainWindow(numbers=Numbers(), preferences=preferences, messages=history.messages)
    window.open_library(history.library.address.path)
    shown(window)
    window.open_fitting(done)
    hands = Hands(window)
    assert hands.wizard.place == "summary"
    summary = hands.wizard.page
    assert isinstance(summary, SummaryPage)
    ended = "The whole fitting: Finished"
    qtbot.waitUntil(lambda: any(text.endswith(ended) for text in told_in(summary.entries)[-1:]))
    press(Key.Key_Y, ALT)
    page = window.pages.currentWidget()
    assert isinstance(page, HistoryPage)
    load(page)
    hands.press(Key.Key_W, CTRL)
    assert hands.wizard.controller.fitting.id == done


def test_what_belongs_to_an_arm_is_shown_for_each_or_for_one(
    history: HistoryBench, library: Library
) -> None:
    deck_id = library.keep_deck(two_arms()).id
    one = library.keep_cartridge(cartridge(name="At the rear")).id
    for key, day in ((FRONT, "2025-01-10"), (REAR, "2025-02-10")):
        fitting = library.start_fitting(deck_id, one, arm_key=key, at=noon(day))
        for body in bodies():
            library.append(fitting.id, body, at=noon(day))
    page = HistoryPage(library, deck_id, Numbers(), RecordingMessages(), today=lambda: TODAY)
    page.loader.finish()
    assert not page.group.isHidden()
    assert [page.group.itemText(place) for place in range(page.group.count())] == [
        "All arms and headshells",
        "Rear arm",
        "Front arm",
    ]
    assert page.fittings.table.rowCount() == 2
    assert page.fittings.table.item(0, 1).text() == "Rear arm: At the rear"
    assert [text for text in told_in(page.dues) if text.startswith("Front arm: Check")]
    page.group.setCurrentIndex(2)
    assert page.fittings.table.rowCount() == 1
    assert page.fittings.current_id == library.fittings(arm_key=FRONT, deck_id=deck_id)[0].id
    page.deleteLater()


def test_in_a_small_window_the_cartridge_keeps_its_name_and_the_count_of_entries_gives_way(
    history: HistoryBench,
) -> None:
    history.keep("2025-03-01")
    page = history.page()
    table = page.fittings.table
    entries, who = 3, 4
    page.resize(900, 600)
    settle()
    assert table.isColumnHidden(entries)
    name = table.columnWidth(1)
    assert name >= 8 * table.fontMetrics().height()
    page.resize(1800, 900)
    settle()
    assert not table.isColumnHidden(entries)
    assert not table.isColumnHidden(who)


@pytest.mark.usefixtures("in_another_language")
def test_the_columns_of_a_comparison_are_headed_in_the_language_of_the_screen(
    history: HistoryBench,
) -> None:
    history.keep("2024-05-01")
    history.keep("2025-05-01", downforce_gf=1.9)
    words = words_of(history.page().changes).splitlines()
    assert tr("history.changes.change") in words
    assert "change" not in words
