"""The tables of the library: columns, actions, and the text of an empty one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any, Final

from desktop.widgets.local_time import moment
from desktop.widgets.record_table.rows import Column
from desktop.widgets.record_table.spec import RowAction, TableSpec


def _when(title: str, at: Callable[[Any], datetime], key: str) -> Column:
    return Column(title, lambda row: moment(at(row)), at, letters=19, shrinks=False, key=key)


def _name(text: str, *, archived: bool) -> str:
    return f"{text} (archived)" if archived else text


_COMMON_ACTIONS: Final = (
    RowAction(
        "archive",
        "Arc&hive",
        "Takes those picked off the list. Nothing is deleted.",
        most=None,
    ),
    RowAction("restore", "Bring bac&k", "Puts archived ones back on the list.", most=None),
    RowAction(
        "export",
        "E&xport…",
        "Writes those picked to a document for another bench, or to a table for a spreadsheet.",
        most=None,
    ),
)

_RECORD_ACTIONS: Final = (
    RowAction("add", "&Add…", "Opens an empty form for a new one.", least=0),
    RowAction("edit", "&Edit…", "Opens the one that is picked. What it was before stays on file."),
    RowAction("copy", "C&opy…", "Opens a form filled from the one that is picked, for a new one."),
    *_COMMON_ACTIONS,
    RowAction("fit", "Start a fitting with &it…", "Begins a fitting, this one picked already."),
)

UNDER_WAY: Final = TableSpec(
    name="fittings under way",
    columns=(
        Column(
            "Deck",
            lambda row: _name(row.deck_name, archived=row.archived),
            letters=36,
            key="deck_name",
        ),
        Column("Owner's ref.", lambda row: row.owner_reference, letters=15, key="owner_reference"),
        Column("Cartridge", lambda row: row.cartridge_name, letters=36, key="cartridge_name"),
        _when("Started", lambda row: row.started_at, "started_at"),
        _when("Last entry", lambda row: row.last_at, "last_at"),
        Column("Who", lambda row: row.who, letters=14, key="who"),
    ),
    actions=(RowAction("open", "&Resume", "Opens the fitting where it stood."), *_COMMON_ACTIONS),
    empty="No fitting is under way. “Start a fitting” above begins one: pick a deck and a "
    "cartridge, and go through the nine steps in your own time.",
    has_archive=True,
    other_table="finished fittings",
)

FINISHED: Final = TableSpec(
    name="finished fittings",
    columns=UNDER_WAY.columns,
    actions=(
        RowAction("open", "&Open", "Opens the record of the fitting."),
        RowAction(
            "swap",
            "Fit another cartrid&ge…",
            "Shows where each control should start with another cartridge on that deck.",
        ),
        *_COMMON_ACTIONS,
    ),
    empty="No fitting is finished yet. Its whole record will be kept here: every reading, every "
    "move, what was good and what was left as found.",
    has_archive=True,
    other_table="fittings under way",
)

_HISTORY: Final = RowAction(
    "history",
    "Histor&y…",
    "What is due on this deck, what was read over the years, and what changed.",
)

DECKS: Final = TableSpec(
    name="decks",
    columns=(
        Column("Deck", lambda row: _name(row.name, archived=row.archived), letters=44, key="name"),
        Column("Owner's ref.", lambda row: row.owner_reference, letters=15, key="owner_reference"),
        Column("Arm", lambda row: row.feature, key="feature"),
        _when("Changed", lambda row: row.at, "at"),
        Column(
            "Revision", lambda row: str(row.revision), lambda row: row.revision, 9, key="revision"
        ),
    ),
    actions=(*_RECORD_ACTIONS, _HISTORY),
    empty="No deck is on file. “Add…” opens a form; every field says what to enter, and most can "
    "stay as they are.",
    has_archive=True,
)

CARTRIDGES: Final = TableSpec(
    name="cartridges",
    columns=(
        Column(
            "Cartridge", lambda row: _name(row.name, archived=row.archived), letters=44, key="name"
        ),
        Column("Stylus", lambda row: row.feature, key="feature"),
        _when("Changed", lambda row: row.at, "at"),
        Column(
            "Revision", lambda row: str(row.revision), lambda row: row.revision, 9, key="revision"
        ),
    ),
    actions=_RECORD_ACTIONS,
    empty="No cartridge is on file. “Add…” opens a form; the leaflet that came with the cartridge "
    "has the figures it asks for.",
    has_archive=True,
)
