"""Damages one page of a library, as a disk that fails does.

Used by the tests and, at full count, by tests/bench/hard_times.py.
"""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from core.fitting import Entry, Fitting, NoteWritten
from core.store import Library

PAGE: Final = 4096


def large_library(place: Path, fittings: int = 40, entries: int = 200) -> Path:
    """Make a library of some megabytes, in which every page is in use; each time the same pages."""
    chance = random.Random(1)
    began = datetime(2026, 1, 1, tzinfo=UTC)
    with Library.open(place) as library:
        deck, cartridge = library.decks()[0], library.cartridges()[0]
        for number in range(fittings):
            at = began + timedelta(hours=number)
            notes = [NoteWritten(text=f"{number} {i} " + "x" * 300) for i in range(entries)]
            library.log.add(
                Fitting(
                    id=f"{chance.getrandbits(128):032x}",
                    deck_id=deck.id,
                    deck_revision=1,
                    cartridge_id=cartridge.id,
                    cartridge_revision=1,
                    started_at=at,
                    who="Example hand",
                    entries=tuple(
                        Entry(id=f"{chance.getrandbits(128):032x}", at=at, body=note)
                        for note in notes
                    ),
                )
            )
    return place


def damage_page(place: Path, chance: random.Random) -> int:
    """Overwrite a tree's page by another one of the file, as a misdirected write does.

    Returns its number, from 1.
    """
    pages = place.stat().st_size // PAGE
    with place.open("r+b") as stream:
        while True:
            one, other = (chance.randrange(1, pages) for _ in range(2))
            stream.seek(PAGE * other)
            content = stream.read(PAGE)
            stream.seek(PAGE * one)
            before = stream.read(PAGE)
            if before[0] in (2, 5, 10, 13) and content != before:
                stream.seek(PAGE * one)
                stream.write(content)
                return one + 1
