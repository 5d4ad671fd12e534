"""One deck and one cartridge for tests, changed field by field where a test needs it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from core.fitting import Entry, Fitting
from core.records import Cartridge, Deck

_DECK: dict[str, Any] = {
    "name": "Example deck, 9-inch arm, three feet",
    "plinth": {
        "feet": [
            {"name": "front left", "x_mm": -180.0, "y_mm": -140.0},
            {"name": "front right", "x_mm": 180.0, "y_mm": -140.0},
            {"name": "rear", "x_mm": 0.0, "y_mm": 150.0},
        ],
    },
    "arm": {
        "kind": "pivoted offset",
        "pivot_to_spindle_mm": 222.0,
        "effective_length_mm": 239.296,
        "offset_deg": 22.986,
        "effective_mass_g": 11.0,
        "counterweight_g": 100.0,
        "counterweight_mm_per_turn": 1.0,
    },
    "head": {"kind": "slots"},
    "height": {"control": "pillar"},
    "tilt": {"control": "head"},
    "skating": {"control": "dial"},
    "platter": {"trim": "screw", "rpm_per_turn": 0.4},
    "bench": {"bubble_range_div": 100.0},
}

_CARTRIDGE: dict[str, Any] = {
    "name": "Example cartridge, elliptical",
    "mounting": "tapped",
    "mass_g": 6.0,
    "downforce_min_gf": 1.8,
    "downforce_max_gf": 2.2,
    "stylus": "elliptical",
    "compliance": 15.0,
}


def _merged(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, value in changes.items():
        inner = merged.get(key)
        both = isinstance(inner, dict) and isinstance(value, dict)
        merged[key] = _merged(inner, value) if both and inner is not None else value
    return merged


def deck(**changes: Any) -> Deck:
    """Return the example deck; ``arm={"offset_deg": 0}`` changes that one field."""
    return Deck.model_validate(_merged(_DECK, changes))


def cartridge(**changes: Any) -> Cartridge:
    """Return the example cartridge with some fields changed."""
    return Cartridge.model_validate(_merged(_CARTRIDGE, changes))


def log_of(*entries: Entry, began: datetime = datetime(2026, 1, 1, tzinfo=UTC)) -> Fitting:
    """Return a fitting on no library, with these entries."""
    return Fitting(
        id="f",
        deck_id="d",
        deck_revision=1,
        cartridge_id="c",
        cartridge_revision=1,
        started_at=began,
        entries=entries,
    )
