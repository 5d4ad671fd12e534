"""The tables of the library: columns, actions, and the text of an empty one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any, Final

from core.language import Name, Text, message
from desktop.widgets.language import tr
from desktop.widgets.local_time import moment
from desktop.widgets.record_table.rows import Column
from desktop.widgets.record_table.spec import RowAction, TableSpec


def _when(title: Text, at: Callable[[Any], datetime], key: str) -> Column:
    return Column(title, lambda row: moment(at(row)), at, shrinks=False, key=key)


def _name(text: str, *, archived: bool) -> str:
    return tr("library.tables.text_archived", text=Name(text)) if archived else text


ARCHIVED: Final = Column(
    message("library.tables.archived"),
    lambda row: moment(row.archived_at) if row.archived_at else "",
    shrinks=False,
    key="archived_at",
    of_archived=True,
)

COMMON_ACTIONS: Final = (
    RowAction(
        "archive",
        message("library.tables.archive"),
        message("library.tables.takes_those_picked_off_the"),
        most=None,
    ),
    RowAction(
        "restore",
        message("library.tables.bring_back"),
        message("library.tables.puts_archived_ones_back_on"),
        most=None,
    ),
    RowAction(
        "export",
        message("library.tables.export"),
        message("library.tables.writes_those_picked_to_a"),
        most=None,
    ),
)

_FIGURES: Final = RowAction(
    "figures",
    message("library.tables.figures"),
    message("library.tables.writes_every_figure_of_those"),
    least=0,
    most=None,
)

_RECORD_ACTIONS: Final = (
    RowAction(
        "add",
        message("library.tables.add"),
        message("library.tables.opens_an_empty_form_for"),
        least=0,
    ),
    RowAction(
        "edit", message("library.tables.edit"), message("library.tables.opens_the_one_that_is")
    ),
    RowAction(
        "copy", message("library.tables.copy"), message("library.tables.opens_a_form_filled_from")
    ),
    *COMMON_ACTIONS,
    RowAction(
        "fit",
        message("library.tables.start_a_fitting_with_it"),
        message("library.tables.begins_a_fitting_this_one"),
    ),
)

UNDER_WAY: Final = TableSpec(
    name=message("library.tables.fittings_under_way"),
    columns=(
        Column(
            message("library.tables.deck"),
            lambda row: _name(row.deck_name, archived=row.archived),
            key="deck_name",
        ),
        Column(
            message("library.tables.owners_ref"),
            lambda row: row.owner_reference,
            key="owner_reference",
        ),
        Column(
            message("library.tables.cartridge"),
            lambda row: row.cartridge_name,
            key="cartridge_name",
        ),
        _when(message("library.tables.started"), lambda row: row.started_at, "started_at"),
        _when(message("library.tables.last_entry"), lambda row: row.last_at, "last_at"),
        Column(message("library.tables.who"), lambda row: row.who, key="who"),
        ARCHIVED,
    ),
    actions=(
        RowAction(
            "open",
            message("library.tables.resume"),
            message("library.tables.opens_the_fitting_where_it"),
        ),
        *COMMON_ACTIONS,
        _FIGURES,
    ),
    empty=message("library.tables.no_fitting_is_under_way"),
    has_archive=True,
    other_table=message("library.tables.finished_fittings"),
)

FINISHED: Final = TableSpec(
    name=message("library.tables.finished_fittings"),
    columns=UNDER_WAY.columns,
    actions=(
        RowAction(
            "open",
            message("library.tables.open"),
            message("library.tables.opens_the_record_of_the"),
        ),
        RowAction(
            "swap",
            message("library.tables.fit_another_cartridge"),
            message("library.tables.shows_where_each_control_should"),
        ),
        *COMMON_ACTIONS,
        _FIGURES,
    ),
    empty=message("library.tables.no_fitting_is_finished_yet"),
    has_archive=True,
    other_table=message("library.tables.fittings_under_way"),
)

_HISTORY: Final = RowAction(
    "history",
    message("library.tables.history"),
    message("library.tables.what_is_due_on_this"),
)

DECKS: Final = TableSpec(
    name="decks",
    columns=(
        Column(
            message("library.tables.deck"),
            lambda row: _name(row.name, archived=row.archived),
            key="name",
        ),
        Column(
            message("library.tables.owners_ref"),
            lambda row: row.owner_reference,
            key="owner_reference",
        ),
        Column(message("library.tables.arm"), lambda row: row.feature, key="feature"),
        _when(message("library.tables.changed"), lambda row: row.at, "at"),
        Column(
            message("library.tables.revision"),
            lambda row: str(row.revision),
            lambda row: row.revision,
            shrinks=False,
            key="revision",
        ),
        ARCHIVED,
    ),
    actions=(*_RECORD_ACTIONS, _HISTORY),
    empty=message("library.tables.no_deck_is_on_file"),
    has_archive=True,
)

CARTRIDGES: Final = TableSpec(
    name="cartridges",
    columns=(
        Column(
            message("library.tables.cartridge"),
            lambda row: _name(row.name, archived=row.archived),
            key="name",
        ),
        Column(message("library.tables.stylus"), lambda row: row.feature, key="feature"),
        _when(message("library.tables.changed"), lambda row: row.at, "at"),
        Column(
            message("library.tables.revision"),
            lambda row: str(row.revision),
            lambda row: row.revision,
            shrinks=False,
            key="revision",
        ),
        ARCHIVED,
    ),
    actions=_RECORD_ACTIONS,
    empty=message("library.tables.no_cartridge_is_on_file"),
    has_archive=True,
)
