"""Choose the storage engine for a library's address: a path names a library file.

An engine on a server would be recognised here by the form of its addresses.
"""

from __future__ import annotations

from pathlib import Path

from core.store.backend import LibraryAddress
from core.store.sqlite.address import FileAddress


def address_of(place: Path | str | LibraryAddress) -> LibraryAddress:
    """Return the address for a path; return an address unchanged."""
    return FileAddress(Path(place)) if isinstance(place, Path | str) else place
