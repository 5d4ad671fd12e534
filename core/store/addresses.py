"""Which engine opens what a person named: a path is a library file's.

An engine on a server would be recognised here by the form of its addresses.
"""

from __future__ import annotations

from pathlib import Path

from core.store.backend import LibraryAddress
from core.store.sqlite.address import FileAddress


def address_of(place: Path | str | LibraryAddress) -> LibraryAddress:
    """Return the address a path stands for; an address stands for itself."""
    return FileAddress(Path(place)) if isinstance(place, Path | str) else place
