"""A bench for every test of a deck's history."""

from __future__ import annotations

import pytest

from core.store import Library
from tests.desktop.fakes import RecordingMessages
from tests.desktop.history.kit import Bench, Show


@pytest.fixture
def bench(library: Library, shown: Show, messages: RecordingMessages) -> Bench:
    return Bench(library, shown, messages)
