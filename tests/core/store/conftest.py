"""A library in a file, the same in memory, and one fitting in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from core.fitting import Fitting
from core.store import Library, LibraryAddress
from core.store.sqlite.address import FileAddress
from tests.core.store.memory import MemoryAddress
from tests.examples import cartridge, deck

ENGINES = ("file", "memory")
ABOUT_FILES = (
    *("test_backups", "test_every_version", "test_full_disk", "test_kills", "test_locks"),
    *("test_migrations", "test_places", "test_problems", "test_restoring_beside_writers"),
    *("test_one_file", "test_damage", "test_private", "test_leftovers"),
)
"""Tests of library files themselves; all others run with each engine."""


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "engine" in metafunc.fixturenames:
        is_about_files = Path(metafunc.module.__file__).stem in ABOUT_FILES
        engines = ENGINES[:1] if is_about_files or "place" in metafunc.fixturenames else ENGINES
        metafunc.parametrize("engine", engines, scope="session")


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Where a library file may be made: nothing is there yet."""
    return tmp_path / "example.library"


@pytest.fixture
def address(engine: str, tmp_path: Path) -> LibraryAddress:
    """An address with each engine at which there is no library yet."""
    return an_address(engine, tmp_path, "example")


@pytest.fixture
def other_address(engine: str, tmp_path: Path) -> LibraryAddress:
    """The address of another bench's library."""
    return an_address(engine, tmp_path, "other")


def an_address(engine: str, folder: Path, name: str) -> LibraryAddress:
    """Return an address of this engine."""
    if engine == "memory":
        return MemoryAddress(name, folder)
    return FileAddress(folder / f"{name}.library")


@pytest.fixture
def library(address: LibraryAddress) -> Iterator[Library]:
    """An open library that holds the starters only."""
    with Library.open(address, "Tester", wait_s=0.2) as opened:
        yield opened


@pytest.fixture
def fitting(library: Library) -> Fitting:
    """A fitting without entries."""
    kept_deck = library.keep_deck(deck(owner_reference="Job 17"))
    kept_cartridge = library.keep_cartridge(cartridge())
    return library.start_fitting(kept_deck.id, kept_cartridge.id)
