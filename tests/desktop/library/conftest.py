"""A library of one's own, open in the window."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.store import Library
from desktop.shell.main_window import MainWindow


@pytest.fixture
def opened(window: MainWindow, tmp_path: Path) -> Library:
    window.open_library(tmp_path / "own.library")
    assert window.library is not None
    return window.library
