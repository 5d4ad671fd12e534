"""A library in a folder of its own, and one fitting in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from core.fitting import Fitting
from core.store import Library
from tests.examples import cartridge, deck


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Where a library may be made: nothing is there yet."""
    return tmp_path / "example.library"


@pytest.fixture
def library(place: Path) -> Iterator[Library]:
    """An open library that holds the starters only."""
    with Library.open(place, "Tester", wait_s=0.2) as opened:
        yield opened


@pytest.fixture
def fitting(library: Library) -> Fitting:
    """A fitting without entries."""
    kept_deck = library.keep_deck(deck(owner_reference="Job 17"))
    kept_cartridge = library.keep_cartridge(cartridge())
    return library.start_fitting(kept_deck.id, kept_cartridge.id)
