"""What every test may ask for."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, settings

from core.records import Cartridge, Deck
from tests.examples import cartridge, deck

settings.register_profile(
    "setdown", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("setdown")


@pytest.fixture
def example_deck() -> Deck:
    """A pivoted 9-inch deck with everything adjustable."""
    return deck()


@pytest.fixture
def example_cartridge() -> Cartridge:
    """A mid-weight elliptical cartridge, 1.8 to 2.2 gf."""
    return cartridge()
