"""Starter decks and cartridges, as documents. All are invented; none is any maker's.

They are copied into a new library once and never written to. Each file is a document as
:mod:`core.store.documents` reads it.
"""

from __future__ import annotations

from importlib.resources import files


def starter_documents() -> tuple[tuple[bytes, str], ...]:
    """Return every starter document: its content and its file name, by name."""
    found = sorted(
        (file for file in files(__name__).iterdir() if file.name.endswith(".json")),
        key=lambda file: file.name,
    )
    return tuple((file.read_bytes(), file.name) for file in found)
