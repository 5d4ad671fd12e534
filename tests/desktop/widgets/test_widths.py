"""Widths go to the texts that need them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from desktop.widgets.record_table.rows import Column
from desktop.widgets.record_table.spec import TableSpec
from desktop.widgets.record_table.table import RecordTable
from desktop.widgets.record_table.widths import shared_out

COLUMNS = st.lists(
    st.tuples(st.integers(0, 500), st.integers(0, 500), st.integers(10, 120), st.booleans()),
    min_size=1,
    max_size=7,
)


def test_room_goes_to_the_one_that_needs_it_and_not_to_an_empty_one() -> None:
    # A name, an empty column, a date: what is left beside the date's 150 goes to the name.
    needs = [600, 0, 150]
    assert shared_out(700, needs, needs, [60, 80, 90], [True, True, False]) == [470, 80, 150]


def test_names_share_alike_where_there_is_too_little() -> None:
    needs, may = [600, 100, 400], [True, True, True]
    assert shared_out(500, needs, needs, [50, 50, 50], may) == [200, 100, 200]


def test_one_long_reference_does_not_cut_every_name() -> None:
    may = [True, True]
    assert shared_out(500, [300, 120], [300, 500], [50, 50], may) == [300, 200]


@given(room=st.integers(0, 3000), columns=COLUMNS)
def test_nothing_is_cut_while_there_is_room_and_no_room_is_lost(
    room: int, columns: list[tuple[int, int, int, bool]]
) -> None:
    usual, more, least, yields = (list(one) for one in zip(*columns, strict=True))
    longest = [sum(pair) for pair in zip(usual, more, strict=True)]
    widths = shared_out(room, usual, longest, least, yields)
    assert all(width >= low for width, low in zip(widths, least, strict=True))
    for needs in (usual, longest):
        wanted = [max(need, low) for need, low in zip(needs, least, strict=True)]
        if sum(wanted) <= room:
            assert all(width >= want for width, want in zip(widths, wanted, strict=True))
    if sum(max(pair) for pair in zip(longest, least, strict=True)) <= room:
        assert sum(widths) == room
    fixed = [width for width, may in zip(widths, yields, strict=True) if not may]
    most = [
        max(pair)
        for pair, may in zip(zip(usual, least, strict=True), yields, strict=True)
        if not may
    ]
    assert all(width >= want for width, want in zip(fixed, most, strict=True))


@dataclass(frozen=True)
class Line:
    id: str
    name: str
    reference: str = ""


def test_a_long_name_beside_an_empty_column_is_shown_whole(
    shown: Callable[[QWidget], QWidget],
) -> None:
    plan = TableSpec(
        name="decks",
        columns=(Column("Deck", lambda row: row.name), Column("Ref", lambda row: row.reference)),
        actions=(),
        empty="",
    )
    records = RecordTable(plan)
    records.resize(700, 300)
    shown(records)
    records.set_rows([Line("1", "Example deck, 9-inch arm, three feet, heavy platter, no. 2705")])
    wide = records.table.fontMetrics().horizontalAdvance(records.model.row_at(0).name)
    assert wide > 350, "the name must need more than half of the list"
    assert records.table.columnWidth(0) > wide


@dataclass(frozen=True)
class Noted(Line):
    verdict: str = ""


def narrow(shown: Callable[..., QWidget], rows: list[Noted]) -> RecordTable:
    plan = TableSpec(
        name="decks",
        columns=(
            Column("Deck", lambda row: row.name),
            Column("Ref", lambda row: row.reference),
            Column("Verdict of the last fitting", lambda row: row.verdict),
        ),
        actions=(),
        empty="",
    )
    records = RecordTable(plan)
    shown(records, 560, 300)
    records.set_rows(rows)
    return records


def test_an_empty_column_gives_its_room_away_where_names_are_cut(
    shown: Callable[..., QWidget],
) -> None:
    name = "Example deck, 9-inch arm, three feet, heavy platter, 2705"
    records = narrow(shown, [Noted("1", name, "Job 7")])
    assert records.table.isColumnHidden(2)
    assert records.table.columnWidth(0) > records.table.fontMetrics().horizontalAdvance(name)
    told = records.model.headerData(1, Qt.Orientation.Horizontal, Qt.ItemDataRole.ToolTipRole)
    assert "Ctrl+2" in str(told)
    records.set_rows([Noted("1", name, "Job 7", "Passed")])
    assert not records.table.isColumnHidden(2), "it comes back with the first text in it"


def test_an_empty_column_stays_where_there_is_room(shown: Callable[..., QWidget]) -> None:
    records = narrow(shown, [Noted("1", "Deck", "Job 7")])
    assert not records.table.isColumnHidden(2)
