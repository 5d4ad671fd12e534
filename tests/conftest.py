"""What every test may ask for, and how hypothesis looks for examples."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.internal.conjecture import providers
from hypothesis.internal.constants_ast import Constants

from core.records import Cartridge, Deck
from tests.examples import cartridge, deck

# A stranger's country changes no test; Qt warns of any encoding but this, and a warning fails.
os.environ["LC_ALL"] = "C.UTF-8"

SEARCH = "search"
"""The profile that searches at random, by hand: ``HYPOTHESIS_PROFILE=search pytest tests/core``."""
FURTHER = 10
"""How many times as many examples it tries."""

settings.register_profile(
    "setdown",
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(SEARCH, settings.get_profile("setdown"), derandomize=False)
PROFILE = os.environ.get("HYPOTHESIS_PROFILE", "setdown")
settings.load_profile(PROFILE)

if PROFILE != SEARCH:
    # Hypothesis also tries constants from the sources that are loaded: a word changed in one
    # module would change the examples of every test, and so would the order of the tests.
    providers.HypothesisProvider._local_constants = Constants()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    # The long ones first: the last of them would keep one processor while the other has none left.
    items.sort(key=lambda item: item.get_closest_marker("long") is None)
    if PROFILE != SEARCH:
        return
    for test in {getattr(item.obj, "__func__", item.obj) for item in items}:
        if own := getattr(test, "_hypothesis_internal_use_settings", None):
            more = settings(own, max_examples=FURTHER * own.max_examples)
            test._hypothesis_internal_use_settings = more


@pytest.fixture
def example_deck() -> Deck:
    """A pivoted 9-inch deck with everything adjustable."""
    return deck()


@pytest.fixture
def example_cartridge() -> Cartridge:
    """A mid-weight elliptical cartridge, 1.8 to 2.2 gf."""
    return cartridge()
