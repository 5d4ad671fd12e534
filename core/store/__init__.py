"""The library: decks, cartridges, fittings and their log in one file, and the ways in and out.

- :mod:`core.store.library` is what screens use.
- :mod:`core.store.documents` and :mod:`core.store.exchange` carry records from bench to bench.
- :mod:`core.store.tables` writes lists for a spreadsheet, :mod:`core.store.backups` keeps copies.
- :mod:`core.store.sqlite_file` is the only one that knows SQLite.
"""

from __future__ import annotations

from core.store.library import Library
from core.store.places import default_library_path
from core.store.problems import LibraryProblem, ProblemKind
from core.store.rows import FittingRow, Kept, ThingRow

__all__ = [
    "FittingRow",
    "Kept",
    "Library",
    "LibraryProblem",
    "ProblemKind",
    "ThingRow",
    "default_library_path",
]
