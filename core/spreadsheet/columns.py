"""The columns of the tables, and what each holds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from core.language import Numbers, message

FITTING: Final = ("fitting", "deck", "arm", "reference", "cartridge", "technician")
"""What every table begins with: which fitting a line belongs to."""

FIGURES: Final = (
    *FITTING,
    "finished",
    "step_number",
    "step",
    "verdict",
    "figure",
    "subject",
    "unit",
    "found",
    "found_half_width",
    "left",
    "left_half_width",
    "target",
    "tolerance",
    "inside",
    "positive_means",
    "negative_means",
    "next_check",
)
STEPS: Final = (
    *FITTING,
    "finished",
    "step_number",
    "step",
    "state",
    "verdict",
    "readings",
    "moves",
    "result",
    "reason",
    "notes",
    "next_check",
)
FITTINGS: Final = (
    *FITTING,
    "started",
    "last_entry",
    "finished",
    "archived",
    "job",
    "work",
    "entries",
    "steps_good",
    "steps_kept",
    "steps_left",
    "steps_open",
    "next_check",
    "problem",
)
DICTIONARY: Final = ("table", "column", "meaning")


def dictionary_rows(say: Numbers, tables: dict[str, tuple[str, ...]]) -> Iterator[tuple[str, ...]]:
    """Yield one line a column of each table: where it stands and what it holds."""
    for table, columns in tables.items():
        for column in columns:
            yield table, column, say.text(message("spreadsheet.meaning", column=column))
