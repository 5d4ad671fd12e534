"""Another cartridge: whether it fits, its mass, its resonance."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Figure
from core.language import Interval, Message, Quantity, Value, message
from core.physics.resonance import GOOD_HIGH_HZ, GOOD_LOW_HZ
from core.records import Deck, HeadKind, Mounting
from core.steps.mount.figures import Advice
from core.steps.mount.judge import NAME
from core.steps.shared.gain_samples import GainSource
from core.steps.shared.swap_part import (
    Need,
    PlanPiece,
    StepForecast,
    SwapCase,
    figure_of,
    new_head,
    start,
)


def cannot_fit(case: SwapCase) -> Message | None:
    """Return why the cartridge can't be held by this head, None if it can."""
    plug_in = case.new.mounting is Mounting.PLUG_IN
    if plug_in == (case.deck.head.kind is HeadKind.PLUG_IN):
        return None
    return message("swap.mount.cannot_fit", cartridge="plug-in" if plug_in else "half-inch")


def forecast(case: SwapCase) -> PlanPiece:
    """Predict the mass at the head."""
    head = new_head(case)
    why = "swap.mount.as_stated" if case.back is None else "swap.mount.as_before"
    foreseen = StepForecast(start(NAME, "head_mass", "g", head, why))
    mass = Interval(head.value, head.half_width(), "g", 1)
    return PlanPiece(NAME, Need.SET, message("swap.mount.expect", mass=mass), (foreseen,))


def gain_sources(deck: Deck) -> Iterator[GainSource]:
    """Yield nothing: no control is turned here."""
    del deck
    return iter(())


def resonance(case: SwapCase) -> tuple[Figure | None, Message]:
    """Return the new resonance and a sentence on it."""
    advice = Advice(case.deck, case.new, new_head(case))
    figures = advice.figures
    found = next((one for one in figures if one.key == "resonance"), None)
    if found is None:
        return None, message("swap.mount.no_resonance")
    about: Value = Interval(found.value, found.half_width or 0.0, "Hz", 1)
    old = figure_of(case.old, NAME, "resonance")
    if old is not None:
        about = message("swap.mount.then_and_now", now=about, before=Quantity(old.value, "Hz", 1))
    low, high = Quantity(GOOD_LOW_HZ, form="short"), Quantity(GOOD_HIGH_HZ, "Hz", 0)
    if GOOD_LOW_HZ <= found.value <= GOOD_HIGH_HZ:
        return found, message("swap.mount.resonance_inside", about=about, low=low, high=high)
    if advice.reach is not None:
        limited = message(
            "swap.mount.resonance_limited", about=about, low=low, high=high, reach=advice.reach
        )
        return found, limited
    to_add = next((one.value for one in figures if one.key == "mass_to_add"), 0.0)
    return found, message(
        "swap.mount.resonance_outside",
        about=about,
        low=low,
        high=high,
        amount=Quantity(abs(to_add), "g", 1),
        way="more" if to_add > 0 else "less",
    )
