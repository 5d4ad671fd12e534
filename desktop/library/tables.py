"""The tables of the library: columns, actions, and the text of an empty one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from typing import Any, Final

from core.language import Name, StepTitle, Text, message
from core.store import UNKNOWN_REACHED, DeckWork, FittingRow, RecordRow
from desktop.widgets.language import tr
from desktop.widgets.local_time import moment
from desktop.widgets.record_table import Chip, Column, RowAction, TableSpec


def _when(title: Text, at: Callable[[Any], datetime], key: str) -> Column:
    return Column(title, lambda row: moment(at(row)), at, shrinks=False, key=key)


def _named(title: Text) -> Column:
    return Column(title, lambda row: _name(row.name, archived=row.archived), key="name")


def _name(text: str, *, archived: bool) -> str:
    return tr("library.tables.text_archived", text=Name(text)) if archived else text


ARCHIVED: Final = Column(
    message("library.tables.archived"),
    lambda row: moment(row.archived_at) if row.archived_at else "",
    shrinks=False,
    key="archived_at",
    of_archived=True,
)


def _verdict(one: FittingRow | DeckWork | None) -> str:
    """Say how the steps of a fitting were confirmed; nothing as long as none was."""
    if one is None:
        return ""
    if one.kept:
        return tr("library.tables.kept", count=one.kept)
    if one.left_found:
        return tr("library.tables.left_found", count=one.left_found)
    if one.reached[:2] in (UNKNOWN_REACHED, "1 "):
        return ""
    return tr("library.tables.passed", work="whole" if one.is_check else "short")


def _reached(one: FittingRow | DeckWork | None) -> str:
    """Say which step of a fitting is the first that nobody has confirmed."""
    return "" if one is None or one.finished else reached_words(one.reached)


def reached_words(reached: str) -> str:
    """Say the step that a fitting has reached; nothing where nobody knows it."""
    if reached == UNKNOWN_REACHED:
        return ""
    number, _, step = reached.partition(" ")
    if not step:
        return tr("library.tables.all_steps")
    return tr("library.tables.step", number=int(number), title=StepTitle(step))


def _due(on: date | None, months: int) -> str:
    if on is None:
        return ""
    return tr("library.tables.due", day=Name(on.isoformat()), count=months)


def _deck_due(row: RecordRow) -> str:
    check = row.work.due if row.work else None
    service = row.service_due
    if service is not None and (check is None or service < check):
        return tr("library.tables.service_due", day=Name(service.isoformat()))
    return _due(check, row.work.months) if row.work else ""


def _last_cartridge(work: DeckWork) -> str:
    """Return what was fitted last; of a deck with several arms what is on each."""
    if not work.arms:
        return work.cartridge_name
    return "; ".join(
        tr("library.tables.on_arm", arm=Name(one.arm_name), cartridge=Name(one.cartridge_name))
        for one in work.arms
    )


def _standing(of: Callable[[Any], FittingRow | DeckWork | None]) -> dict[str, Column]:
    """Return the columns that say how a fitting stands."""
    return {
        "reached": Column(
            message("library.tables.step_reached"), lambda row: _reached(of(row)), key="reached"
        ),
        "verdict": Column(
            message("library.tables.verdict"), lambda row: _verdict(of(row)), key="verdict"
        ),
    }


_CHIPS: Final = {
    key: Chip(key, words, hint)
    for key, words, hint in (
        ("due", message("library.tables.chip_due"), message("library.tables.chip_due_tip")),
        ("mine", message("library.tables.chip_mine"), message("library.tables.chip_mine_tip")),
        (
            "under way",
            message("library.tables.chip_under_way"),
            message("library.tables.chip_under_way_tip"),
        ),
        ("kept", message("library.tables.chip_kept"), message("library.tables.chip_kept_tip")),
    )
}

COMMON_ACTIONS: Final = (
    RowAction(
        "archive",
        message("library.tables.archive"),
        message("library.tables.takes_those_picked_off_the"),
        most=None,
        archived=False,
    ),
    RowAction(
        "restore",
        message("library.tables.bring_back"),
        message("library.tables.puts_archived_ones_back_on"),
        most=None,
        archived=True,
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

PICTURES: Final = RowAction(
    "pictures", message("library.tables.pictures"), message("library.tables.pictures_tip")
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

_OF_JOBS: Final = (
    Column(message("library.tables.job"), lambda row: row.job_number, key="job", is_extra=True),
    Column(
        message("library.tables.promised"),
        lambda row: row.promised,
        shrinks=False,
        key="promised",
        is_extra=True,
    ),
)
_OF_FITTINGS: Final = _standing(lambda row: row)
_OF_DECKS: Final = _standing(lambda row: row.work)
_STARTED: Final = _when(message("library.tables.started"), lambda row: row.started_at, "started_at")

UNDER_WAY: Final = TableSpec(
    name=message("library.tables.fittings_under_way"),
    columns=(
        Column(
            message("library.tables.deck"),
            lambda row: _name(row.deck_and_arm, archived=row.archived),
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
        _OF_FITTINGS["reached"],
        _when(message("library.tables.last_entry"), lambda row: row.last_at, "last_at"),
        Column(message("library.tables.who"), lambda row: row.who, key="who"),
        replace(_STARTED, is_extra=True),
        replace(_OF_FITTINGS["verdict"], is_extra=True),
        *_OF_JOBS,
        ARCHIVED,
    ),
    chips=(_CHIPS["mine"], _CHIPS["kept"]),
    key="under_way",
    actions=(
        RowAction(
            "open",
            message("library.tables.resume"),
            message("library.tables.opens_the_fitting_where_it"),
        ),
        *COMMON_ACTIONS,
        _FIGURES,
        PICTURES,
    ),
    empty=message("library.tables.no_fitting_is_under_way"),
    has_archive=True,
    other_table=message("library.tables.finished_fittings"),
)

FINISHED: Final = TableSpec(
    name=message("library.tables.finished_fittings"),
    columns=(
        *UNDER_WAY.columns[:3],
        _OF_FITTINGS["verdict"],
        *UNDER_WAY.columns[4:7],
        Column(
            message("library.tables.next_due"),
            lambda row: _due(row.due, row.deck_months),
            key="due",
            is_extra=True,
        ),
        *_OF_JOBS,
        ARCHIVED,
    ),
    chips=(_CHIPS["due"], _CHIPS["mine"], _CHIPS["kept"]),
    key="finished",
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
        PICTURES,
    ),
    empty=message("library.tables.no_fitting_is_finished_yet"),
    has_archive=True,
    other_table=message("library.tables.fittings_under_way"),
)


def with_jobs(spec: TableSpec) -> TableSpec:
    """Return a list of fittings that shows the number of the job from the first."""
    shown = (replace(one, is_extra=one.is_extra and one.key != "job") for one in spec.columns)
    return replace(spec, columns=tuple(shown))


_HISTORY: Final = RowAction(
    "history",
    message("library.tables.history"),
    message("library.tables.what_is_due_on_this"),
)

_PAPER: Final = RowAction(
    "paper",
    message("library.tables.paper"),
    message("library.tables.paper_tip"),
)

_CHANGED: Final = _when(message("library.tables.changed"), lambda row: row.at, "at")
_REVISION: Final = Column(
    message("library.tables.revision"),
    lambda row: str(row.revision),
    lambda row: row.revision,
    shrinks=False,
    key="revision",
)

DECKS: Final = TableSpec(
    name="decks",
    columns=(
        _named(message("library.tables.deck")),
        Column(
            message("library.tables.owners_ref"),
            lambda row: row.owner_reference,
            key="owner_reference",
        ),
        Column(
            message("library.tables.last_cartridge"),
            lambda row: _last_cartridge(row.work) if row.work else "",
            key="cartridge_name",
        ),
        Column(
            message("library.tables.next_due"),
            _deck_due,
            shrinks=False,
            key="due",
        ),
        replace(_OF_DECKS["reached"], is_extra=True),
        replace(_OF_DECKS["verdict"], is_extra=True),
        Column(
            message("library.tables.arm"), lambda row: row.feature, key="feature", is_extra=True
        ),
        replace(_CHANGED, is_extra=True),
        replace(_REVISION, is_extra=True),
        ARCHIVED,
    ),
    chips=tuple(_CHIPS.values()),
    key="decks",
    actions=(*_RECORD_ACTIONS, _HISTORY, _PAPER, PICTURES),
    empty=message("library.tables.no_deck_is_on_file"),
    has_archive=True,
)


def _short_list(
    name: str, title: Text, second: Column, actions: tuple[RowAction, ...], empty: Text
) -> TableSpec:
    """Return a list with one column between the name and when it was changed."""
    return TableSpec(
        name=name,
        columns=(_named(title), second, _CHANGED, _REVISION, ARCHIVED),
        key=name.replace(" ", "_"),
        actions=actions,
        empty=empty,
        has_archive=True,
    )


HEADSHELLS: Final = _short_list(
    "headshells",
    message("library.tables.headshell"),
    Column(message("library.tables.fits"), lambda row: row.owner_reference, key="owner_reference"),
    _RECORD_ACTIONS[:-1],
    message("library.tables.no_headshell_is_on_file"),
)

TEST_RECORDS: Final = _short_list(
    "test records",
    message("library.tables.test_record"),
    Column(message("library.tables.bands"), lambda row: row.owner_reference, key="owner_reference"),
    _RECORD_ACTIONS[:-1],
    message("library.tables.no_test_record_is_on_file"),
)

CARTRIDGES: Final = _short_list(
    "cartridges",
    message("library.tables.cartridge"),
    Column(message("library.tables.stylus"), lambda row: row.feature, key="feature"),
    (*_RECORD_ACTIONS, PICTURES),
    message("library.tables.no_cartridge_is_on_file"),
)
