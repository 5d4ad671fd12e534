"""Lists as CSV for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Final

from core.language import Message, Numbers, message
from core.store.files import write_whole
from core.store.rows import FittingRow, JobRow, RecordRow

_STARTS_A_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n")


_OWNER: Final = message("storage.table.owner")
_BY: Final = message("storage.table.by_whom")
_ARCHIVED: Final = message("storage.table.archived")
_NUMBER: Final = message("storage.table.number")


def record_table(
    rows: Iterable[RecordRow], *, sort: str, delimiter: str = ",", numbers: Numbers | None = None
) -> str:
    """Return decks or cartridges as CSV; ``sort`` is ``deck`` or ``cartridge``."""
    say = numbers or Numbers()
    return _table(
        (
            message("storage.table.name"),
            _OWNER,
            message("storage.table.feature", sort=sort),
            message("storage.table.revision"),
            message("storage.table.changed"),
            _BY,
            _ARCHIVED,
            _NUMBER,
        ),
        (
            (
                row.name,
                row.owner_reference,
                row.feature,
                str(row.revision),
                _day_and_time(row.at),
                row.who,
                _yes(say, is_so=row.archived),
                row.id,
            )
            for row in rows
        ),
        delimiter,
        say,
    )


def fitting_table(
    rows: Iterable[FittingRow], *, delimiter: str = ",", numbers: Numbers | None = None
) -> str:
    """Return fittings as CSV."""
    say = numbers or Numbers()
    return _table(
        (
            _OWNER,
            message("storage.table.deck"),
            message("storage.table.arm"),
            message("storage.table.cartridge"),
            message("storage.table.started"),
            message("storage.table.last_entry"),
            message("storage.table.finished"),
            message("storage.table.entries"),
            _BY,
            _ARCHIVED,
            _NUMBER,
        ),
        (
            (
                row.owner_reference,
                row.deck_name,
                row.arm_name,
                row.cartridge_name,
                _day_and_time(row.started_at),
                _day_and_time(row.last_at),
                _yes(say, is_so=row.finished),
                str(row.entry_count),
                row.who,
                _yes(say, is_so=row.archived),
                row.id,
            )
            for row in rows
        ),
        delimiter,
        say,
    )


def job_table(
    rows: Iterable[JobRow], *, delimiter: str = ",", numbers: Numbers | None = None
) -> str:
    """Return jobs as CSV, without their customers."""
    say = numbers or Numbers()
    return _table(
        (
            message("storage.table.job"),
            message("storage.table.deck"),
            message("storage.table.received"),
            message("storage.table.promised"),
            message("storage.table.handed_over"),
            message("storage.table.state"),
            message("storage.table.fittings"),
            _ARCHIVED,
            _NUMBER,
        ),
        (
            (
                row.number,
                row.what,
                row.received,
                row.promised,
                row.handed_over,
                row.state.label,
                str(row.fittings),
                _yes(say, is_so=row.archived),
                row.id,
            )
            for row in rows
        ),
        delimiter,
        say,
    )


def write_table(path: Path, table: str) -> None:
    """Write a table to a file, whole or not at all; UTF-8 with a byte order mark."""
    write_whole(path, ("\ufeff", table))


def _table(
    head: Sequence[Message], rows: Iterable[Sequence[str]], delimiter: str, say: Numbers
) -> str:
    text = io.StringIO()
    writer = csv.writer(text, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow([say.text(title) for title in head])
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return text.getvalue()


def delimiter_for(numbers: Numbers) -> str:
    """Return the column delimiter spreadsheets expect: a semicolon if the comma is decimal."""
    return ";" if numbers.decimal == "," else ","


def harmless(cell: str) -> str:
    """Keep a spreadsheet from running text as a formula: prefix an apostrophe.

    Common practice; also applied where only spaces precede the sign.
    """
    return f"'{cell}" if cell.startswith(_STARTS_A_FORMULA) or _formula_after_blanks(cell) else cell


def _formula_after_blanks(cell: str) -> bool:
    return cell.lstrip().startswith(_STARTS_A_FORMULA)


def _day_and_time(moment: datetime) -> str:
    return moment.astimezone().strftime("%Y-%m-%d %H:%M")


def _yes(say: Numbers, *, is_so: bool) -> str:
    return say.text(message("storage.table.answer", answer="yes" if is_so else "no"))
