from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QObject, Qt
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from core.language import message
from core.store import LibraryProblem
from core.store.problems import ProblemKind
from desktop.widgets.record_table.rows import Column, InMemoryListing, RowsModel

COLUMNS = (
    Column("Deck", lambda row: row.deck),
    Column("Shelf", lambda row: str(row.records), lambda row: row.records),
)


@dataclass(frozen=True)
class Line:
    id: str
    deck: str
    records: int


def lines(*names: str) -> list[Line]:
    return [Line(f"id{index}", name, 10 - index) for index, name in enumerate(names)]


@pytest.fixture
def model(qt_owner: QObject) -> RowsModel:
    return RowsModel(COLUMNS, qt_owner)


def shown(model: RowsModel) -> list[str]:
    return [str(model.index(row, 0).data()) for row in range(model.rowCount())]


def test_qts_own_checker_finds_nothing_wrong(model: RowsModel, qtmodeltester: ModelTester) -> None:
    model.set_rows(lines("oak", "ash", "elm"))
    qtmodeltester.check(model)
    model.set_filter("a")
    model.sort(0, Qt.SortOrder.DescendingOrder)
    qtmodeltester.check(model)


def test_every_word_must_be_found_in_any_column_whatever_the_case(model: RowsModel) -> None:
    model.set_rows(lines("Oak bench", "oak shelf", "Ash bench"))
    model.set_filter("OAK be")
    assert shown(model) == ["Oak bench"]
    model.set_filter("ben 8")
    assert shown(model) == ["Ash bench"]
    model.set_filter("")
    assert len(shown(model)) == 3


def test_numbers_sort_as_numbers_and_words_regardless_of_case(model: RowsModel) -> None:
    model.set_rows([Line("a", "b", 9), Line("b", "A", 10), Line("c", "C", 1)])
    model.sort(1)
    assert shown(model) == ["C", "b", "A"]
    model.sort(0)
    assert shown(model) == ["A", "b", "C"]
    model.sort(-1)
    assert shown(model) == ["b", "A", "C"]


def test_filter_and_order_survive_new_rows(model: RowsModel) -> None:
    model.set_rows(lines("oak"))
    model.sort(0, Qt.SortOrder.DescendingOrder)
    model.set_filter("a")
    model.set_rows(lines("ash", "elm", "oak"))
    assert shown(model) == ["oak", "ash"]


def test_a_record_is_found_where_it_is_shown(model: RowsModel) -> None:
    model.set_rows(lines("oak", "elm", "ash"))
    model.sort(0)
    assert model.position_of("id0") == 2
    assert model.row_at(2).id == "id0"
    model.set_filter("elm")
    assert model.position_of("id0") is None


def test_a_screen_reader_hears_the_column_with_the_words(model: RowsModel) -> None:
    model.set_rows([Line("a", "", 3)])
    spoken = Qt.ItemDataRole.AccessibleTextRole
    assert model.index(0, 0).data(spoken) == "Deck: empty"
    assert model.index(0, 1).data(spoken) == "Shelf: 3"


@given(
    names=st.lists(st.text("abcß Aİ", max_size=6), max_size=12),
    wanted=st.text("abcß Aİ", max_size=4),
    column=st.integers(-1, 1),
)
@settings(
    max_examples=60,
    deadline=None,
    # The model is given all its rows anew in every example: nothing is carried over.
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_what_is_shown_is_what_a_plain_search_finds(
    model: RowsModel, names: list[str], wanted: str, column: int
) -> None:
    rows = lines(*names)
    model.set_rows(rows)
    model.set_filter(wanted)
    model.sort(column)
    expected = {
        row.id
        for row in rows
        if all(
            word in f"{row.deck}\n{row.records}".casefold() for word in wanted.casefold().split()
        )
    }
    found = [model.row_at(at).id for at in range(model.rowCount())]
    assert set(found) == expected
    assert len(found) == len(expected)


class Troubled(InMemoryListing):
    """A listing that counts what is read of it, and may find trouble."""

    def __init__(self, rows: list[Line]) -> None:
        super().__init__(rows, COLUMNS)
        self.read: list[int] = []
        self.problem: LibraryProblem | None = None

    def rows(self, places: Sequence[int]) -> list[Line]:
        self.read += places
        if self.problem is not None:
            self._tell(self.problem)
        return super().rows(places)


def test_rows_seen_before_are_not_read_again_for_another_filter(model: RowsModel) -> None:
    listing = Troubled(lines("oak", "ash", "oak bench", "elm"))
    model.set_listing(listing)
    assert len(shown(model)) == 4
    for words in ("oak", "elm", ""):
        model.set_filter(words)
        shown(model)
    assert sorted(listing.read) == [0, 1, 2, 3]
    again = Troubled(lines("oak", "ash"))
    model.set_listing(again)
    shown(model)
    assert sorted(again.read) == [0, 1]


def test_rows_that_could_not_be_read_whole_are_read_again(model: RowsModel, qtbot: QtBot) -> None:
    listing = Troubled(lines("oak", "ash"))
    listing.problem = LibraryProblem(ProblemKind.LOCKED, message("storage.cant_be_written"))
    model.set_listing(listing)
    with qtbot.waitSignal(model.failed):
        shown(model)
    listing.problem = None
    listing.read.clear()
    shown(model)
    assert sorted(listing.read) == [0, 1]
