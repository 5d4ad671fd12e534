"""A deck with a finished fitting, in a library of the test's own."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from core.store import Library
from tests.desktop.swap.bench import finished
from tests.examples import cartridge, deck


@dataclass(frozen=True)
class Shop:
    """A library with one deck, fitted once, and two cartridges more."""

    library: Library
    deck_id: str
    old_id: str
    new_id: str
    plug_in_id: str
    fitting_id: str


@pytest.fixture
def shop(library: Library) -> Shop:
    deck_id = library.keep_deck(deck(owner_reference="Shelf 7")).id
    old_id = library.keep_cartridge(cartridge()).id
    new_id = library.keep_cartridge(
        cartridge(
            name="Example cartridge, taller and heavier",
            mass_g=8.0,
            body_height_mm=19.0,
            tip_to_holes_mm=10.0,
            downforce_min_gf=1.5,
            downforce_max_gf=2.0,
            stylus="line contact",
        )
    ).id
    plug_in_id = library.keep_cartridge(
        cartridge(name="Example cartridge that plugs in", mounting="plug-in", hardware_g=0.0)
    ).id
    fitting_id = finished(library, deck_id, old_id)
    return Shop(library, deck_id, old_id, new_id, plug_in_id, fitting_id)
