"""The service record on the history page, by keys alone."""

from __future__ import annotations

from PySide6.QtWidgets import QApplication, QTableWidget

from core.records import Service, ServicePart
from desktop.history.history_page import HistoryPage
from tests.desktop.kit import (
    ALT,
    HistoryBench,
    Key,
    focus,
    load,
    press,
    problems_in,
    tab_to,
    told_in,
    write,
)
from tests.visits import keep


def words_in_table(table: QTableWidget) -> list[str]:
    """Return what each row of a table shows."""
    rows = range(table.rowCount())
    cells = [[table.item(row, at) for at in range(table.columnCount())] for row in rows]
    return ["  ".join(cell.text() for cell in row if cell is not None) for row in cells]


def add(history: HistoryBench, **fields: object) -> None:
    said = {"deck": history.deck_id, "part": "belt", "day": "2024-01-01", "done": "New belt"}
    history.library.service.add(Service.model_validate(said | fields), who="Ben")


def settle(page: HistoryPage) -> None:
    QApplication.processEvents()
    load(page)


def test_an_entry_is_added_and_told_when_it_is_due(history: HistoryBench) -> None:
    history.keep("2025-05-01")
    page = history.page()
    press(Key.Key_D, ALT)
    press(Key.Key_Down)  # the belt is first
    press(Key.Key_Return)
    press(Key.Key_Return)  # today
    write("New belt")
    press(Key.Key_Return)
    write("24")
    press(Key.Key_Return)
    press(Key.Key_Return)
    settle(page)
    (kept,) = history.library.service.of_deck(history.deck_id)
    assert (kept.thing.part, kept.thing.done, kept.thing.months) == (
        ServicePart.BELT,
        "New belt",
        24,
    )
    assert (kept.who, kept.thing.deck) == ("Ann", history.deck_id)
    assert any(text.startswith("Belt: not due before") for text in told_in(page.dues))
    assert page.service.entry.isHidden()
    assert page.service.table.hasFocus()


def test_what_is_wrong_is_said_and_stays_as_typed(history: HistoryBench) -> None:
    page = history.page()
    press(Key.Key_D, ALT)
    press(Key.Key_Y, ALT)
    assert problems_in(page.service)[-1].startswith("✕ Not saved:")
    assert page.service.has_unsaved() is False
    assert history.library.service.of_deck(history.deck_id) == ()
    write("x")
    press(Key.Key_Escape)
    assert page.service.entry.isHidden()


def test_an_entry_is_withdrawn_and_counts_again(history: HistoryBench) -> None:
    history.keep("2025-05-01")
    add(history, months=12)
    page = history.page()
    assert any(text.startswith("Belt: due since 2025-01-01") for text in told_in(page.dues))
    press(Key.Key_L, ALT)
    settle(page)
    assert not any(text.startswith("Belt") for text in told_in(page.dues))
    assert "left out" in words_in_table(page.service.table)[0]
    press(Key.Key_I, ALT)
    settle(page)
    assert any(text.startswith("Belt: due since 2025-01-01") for text in told_in(page.dues))


def test_a_changed_mat_says_what_to_read_again_and_goes_into_the_deck_s_record(
    history: HistoryBench,
) -> None:
    keep(history.library, "2025-05-01", history.deck_id, history.one)
    add(history, part="mat", done="Felt mat", mat_before_mm=3.0, mat_after_mm=1.0)
    page = history.page()
    assert "too high now" in page.service.asks_for.text()
    press(Key.Key_M, ALT)
    settle(page)
    deck = history.library.deck(history.deck_id)
    assert (deck.thing.platter.mat_mm, deck.revision) == (1.0, 2)
    assert page.service.mat_button.isHidden()


def test_a_clamp_says_to_read_the_level_again(history: HistoryBench) -> None:
    add(history, part="clamp", done="Clamp of 300 g")
    page = history.page()
    assert "read the level again" in page.service.asks_for.text()


def test_leaving_with_an_entry_typed_asks(history: HistoryBench) -> None:
    page = history.page()
    press(Key.Key_D, ALT)
    line = page.service.form.fields.entries["done"].tab_stops()[0]
    tab_to(line)
    write("New belt")
    history.messages.answers = [0]
    assert page.may_leave() is False


def test_the_field_with_the_focus_is_in_view_in_a_small_window(history: HistoryBench) -> None:
    history.keep("2025-05-01")
    for number in range(5):
        add(history, done=f"Belt {number}", months=1)
    page = history.page()
    page.resize(880, 560)
    settle(page)
    press(Key.Key_D, ALT)
    press(Key.Key_Down)
    for _ in range(4):
        QApplication.processEvents()
        line = focus()
        assert page.service.form.isAncestorOf(line)
        assert line.visibleRegion().boundingRect().height() == line.height()
        press(Key.Key_Return)
        write("1")


def test_what_another_window_enters_is_followed_and_what_is_typed_stays(
    history: HistoryBench,
) -> None:
    page = history.page()
    press(Key.Key_D, ALT)
    tab_to(page.service.form.fields.entries["done"].tab_stops()[0])
    write("Old belt ou")
    add(history, months=12)
    page.look_again()
    settle(page)
    assert page.service.table.rowCount() == 1
    assert any(text.startswith("Belt: due since 2025-01-01") for text in told_in(page.dues))
    write("t")
    typed = page.service.form.typed_raw()
    assert typed is not None
    assert typed["done"] == "Old belt out"
