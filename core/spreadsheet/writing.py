"""Writing the tables to files, fitting by fitting."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from core.language import Numbers
from core.spreadsheet.columns import DICTIONARY, FIGURES, FITTINGS, STEPS, dictionary_rows
from core.spreadsheet.rows import Cells, FittingLines, begins, of_row
from core.store import FittingRow, Library, LibraryProblem, WorkStoppedError
from core.store.files import write_whole
from core.store.tables import delimiter_for, harmless
from core.swap import past_of

_MARK: Final = "\ufeff"
"""The mark that spreadsheets look for to know UTF-8."""
_NUMERIC: Final = frozenset(
    {"found", "found_half_width", "left", "left_half_width", "target", "tolerance"}
)
_COLUMNS: Final = {"figures": FIGURES, "steps": STEPS, "fittings": FITTINGS}


@dataclass(frozen=True, slots=True)
class Tables:
    """What was written: the files, how many fittings they hold, and how many can't be read."""

    paths: tuple[Path, ...]
    fittings: int
    unreadable: int


@dataclass
class _Tally:
    """Lines that are written after the figures, and what could not be read."""

    steps: list[str] = field(default_factory=list)
    fittings: list[str] = field(default_factory=list)
    unreadable: int = 0


def names_of(path: Path) -> dict[str, Path]:
    """Return the file of each table beside ``path``: ``NAME-figures.csv`` and so on."""
    stem = path.with_suffix("") if path.suffix.lower() == ".csv" else path
    tables = (*_COLUMNS, "columns")
    return {table: stem.with_name(f"{stem.name}-{table}.csv") for table in tables}


def write_tables(
    library: Library,
    path: Path,
    fitting_ids: Sequence[str] = (),
    numbers: Numbers | None = None,
    *,
    go_on: Callable[[], bool] = lambda: True,
    told: Callable[[int], None] = lambda _written: None,
) -> Tables:
    """Write every figure of fittings, one line a step, one a fitting, and what the columns hold.

    Parameters
    ----------
    library
        Where the fittings are.
    path
        Names the files, see :func:`names_of`; each is replaced whole or not at all.
    fitting_ids
        Which fittings; none: all, what is archived as well. A fitting that can't be read has its
        line, with the problem.
    numbers
        Whose decimal sign and language.
    go_on, told
        Asked before every fitting, and told how many are written.

    Raises
    ------
    LibraryProblem
        If the disk refuses.
    WorkStoppedError
        If ``go_on`` said no; the figures' file is as it was.
    """
    say, files, tally = numbers or Numbers(), names_of(path), _Tally()
    notes = library.address.folder

    def write(table: str, columns: Sequence[str], lines: Iterable[str]) -> None:
        head = _csv(say, dict(zip(columns, columns, strict=True)), columns)
        write_whole(files[table], _all(_MARK + head, lines), None, notes)

    with library.snapshot():
        rows = library.log.rows_of(fitting_ids) if fitting_ids else library.fittings()
        write("figures", FIGURES, _figures(library, rows, say, tally, go_on, told))
    write("steps", STEPS, tally.steps)
    write("fittings", FITTINGS, tally.fittings)
    meanings = (
        _csv(say, dict(zip(DICTIONARY, row, strict=True)), DICTIONARY)
        for row in dictionary_rows(say, _COLUMNS)
    )
    write("columns", DICTIONARY, meanings)
    return Tables(tuple(files.values()), len(rows), tally.unreadable)


def _figures(
    library: Library,
    rows: Sequence[FittingRow],
    say: Numbers,
    tally: _Tally,
    go_on: Callable[[], bool],
    told: Callable[[int], None],
) -> Iterator[str]:
    for number, row in enumerate(rows, 1):
        if not go_on():
            raise WorkStoppedError
        try:
            lines = FittingLines(say, number, row, past_of(library, row.id))
        except LibraryProblem as problem:
            tally.unreadable += 1
            line = {**begins(number, row), **of_row(say, row), "problem": problem.sentence}
            tally.fittings.append(_csv(say, line, FITTINGS))
        else:
            yield from (_csv(say, line, FIGURES) for line in lines.figures())
            tally.steps += [_csv(say, line, STEPS) for line in lines.steps()]
            tally.fittings.append(_csv(say, lines.fitting(), FITTINGS))
        told(number)


def _csv(say: Numbers, line: Cells, columns: Sequence[str]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, delimiter=delimiter_for(say), lineterminator="\r\n")
    cells = ((column, line.get(column, "")) for column in columns)
    writer.writerow([cell if column in _NUMERIC else harmless(cell) for column, cell in cells])
    return text.getvalue()


def _all(first: str, lines: Iterable[str]) -> Iterator[str]:
    yield first
    yield from lines
