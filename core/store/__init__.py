"""The library: decks, cartridges, fittings and their log, and the ways in and out.

- :mod:`core.store.library` is what screens use; :mod:`core.store.backend` is what it asks of a
  storage engine, and :mod:`core.store.sqlite` the engine of library files.
- :mod:`core.store.exporting` and :mod:`core.store.importing` carry records between benches as
  :mod:`core.store.documents`; :mod:`core.store.tables` writes lists for a spreadsheet.
"""

from __future__ import annotations

from core.store.addresses import address_of
from core.store.backend import LibraryAddress, WorkStoppedError
from core.store.library import Library
from core.store.places import default_library_path
from core.store.problems import LibraryProblem, ProblemKind
from core.store.rows import FittingRow, RecordRow, Stored

__all__ = [
    "FittingRow",
    "Library",
    "LibraryAddress",
    "LibraryProblem",
    "ProblemKind",
    "RecordRow",
    "Stored",
    "WorkStoppedError",
    "address_of",
    "default_library_path",
]
