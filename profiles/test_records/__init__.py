"""Invented test records, to begin one's own from."""

from __future__ import annotations

from importlib.resources import files


def known_records() -> tuple[tuple[bytes, str], ...]:
    """Return every record's document and its file name, by name."""
    found = sorted(
        (file for file in files(__name__).iterdir() if file.name.endswith(".json")),
        key=lambda file: file.name,
    )
    return tuple((file.read_bytes(), file.name) for file in found)
