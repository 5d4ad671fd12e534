"""How whole fittings stand after an entry: steps, gate and what sends a step back.

Each was read through by whoever kept it (``journeys.py`` says how).
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.outside.journeys import approved, fittings, shown

NAMES = tuple(fittings())
known = cache(approved)


@pytest.mark.parametrize("name", NAMES)
def test_so_it_stands_and_so_it_is_summed_up(name: str) -> None:
    """``python -m tests.outside.journeys --write``, after reading what has changed."""
    assert shown(name) == known()[name]


def test_each_is_kept() -> None:
    assert set(known()) == set(NAMES)
