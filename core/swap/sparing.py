"""Moves that a plan does not order: smaller than their uncertainty, or than a hand can make."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from core.fitting import Control, Start
from core.language import Message, Quantity, message
from core.steps.shared.swap_part import StepForecast

FINEST: Final = {"mm": 0.1, "°": 0.1, "turns": 0.125}
"""The smallest moves ordered before a first reading; readings ask for finer ones later."""

_STILL_TRUE: Final = ("swap.height.shim_out", "swap.tilt.shims_out", "swap.why.learned")
"""Reasons that say more than why the control was to be moved."""


def spared(foreseen: StepForecast) -> StepForecast:
    """Leave a control where it is if its move is too small to be worth ordering.

    A move is too small if it changes the figure by no more than half of the 95 % interval of the
    prediction, or if a hand can't make it. The prediction is then the figure without the move; its
    interval is kept, though it would be slightly narrower. A move that lowers a figure is ordered
    all the same if the figure might lie above its limit.

    Parameters
    ----------
    foreseen
        A start whose part may be too small.
    """
    start, gain = foreseen.start, foreseen.gain
    part = start.part
    if part is None or start.predicted is None or foreseen.set_anyway:
        return foreseen
    half = start.half_width or 0.0
    effect = 0.0 if gain is None else gain * part.amount
    is_fine = abs(part.amount) < FINEST.get(part.unit, 0.0) - 1e-9
    if not is_fine and (gain is None or abs(effect) > half):
        return foreseen
    left = start.predicted - effect
    if foreseen.limit is not None and effect < 0.0 and left + half > foreseen.limit:
        return foreseen
    reasons = " ".join(key for key in _STILL_TRUE if key in start.reason)
    changed = start.model_copy(
        update={"part": None, "spared": part, "predicted": left, "reason": reasons}
    )
    return replace(foreseen, start=changed)


def why_spared(start: Start) -> Message | None:
    """Return that a control stays, and the size of the omitted move; None if it moves."""
    part = start.spared
    if part is None:
        return None
    where = "in the head" if part.control is Control.SLIDE else "on the deck"
    if start.gain is None or abs(part.amount) < FINEST.get(part.unit, 0.0) - 1e-9:
        amount = Quantity(abs(part.amount), part.unit, 2)
        return message("swap.left_as_too_fine", where=where, size=amount)
    size = Quantity(abs(start.gain * part.amount), start.unit, _decimals(start.unit))
    half = Quantity(start.half_width or 0.0, start.unit, _decimals(start.unit))
    return message("swap.left_as_unsure", where=where, size=size, half=half)


def _decimals(unit: str) -> int:
    return 1 if unit in ("mm", "°") else 2
