"""The library: decks, cartridges, fittings and their log, and the ways in and out.

- :mod:`core.store.library` is what screens use; :mod:`core.store.backend` is what it asks of a
  storage engine, and :mod:`core.store.sqlite` the engine of library files.
- :mod:`core.store.exporting` and :mod:`core.store.importing` carry records between benches as
  :mod:`core.store.documents`; :mod:`core.store.tables` writes lists for a spreadsheet.
"""

from core.store.addresses import address_of
from core.store.archiving import Archiving, Undone
from core.store.backend import Backup, BackupContents, Backups, LibraryAddress, WorkStoppedError
from core.store.drafts import Draft
from core.store.last_finished import LastEntry
from core.store.library import Library
from core.store.places import default_library_path
from core.store.problems import LibraryProblem, ProblemKind, unsuitable
from core.store.rows import UNKNOWN_REACHED, DeckWork, FittingRow, JobRow, RecordRow, Stored

__all__ = [
    "UNKNOWN_REACHED",
    "Archiving",
    "Backup",
    "BackupContents",
    "Backups",
    "DeckWork",
    "Draft",
    "FittingRow",
    "JobRow",
    "LastEntry",
    "Library",
    "LibraryAddress",
    "LibraryProblem",
    "ProblemKind",
    "RecordRow",
    "Stored",
    "Undone",
    "WorkStoppedError",
    "address_of",
    "default_library_path",
    "differences",
    "document_text",
    "documents",
    "exporting",
    "files",
    "importing",
    "jpeg",
    "listing",
    "pictures",
    "rescue",
    "service",
    "tables",
    "taking_back",
    "unsuitable",
]
