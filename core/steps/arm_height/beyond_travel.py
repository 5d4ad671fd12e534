"""What still helps arm height where the arm's own control can't go further."""

from __future__ import annotations

from typing import Final

from core.fitting import (
    Context,
    Control,
    Move,
    MovePart,
)
from core.records import Cartridge, Mounting

THICKEST_HEAD_SHIM_MM: Final = 10.0
"""More than this is not put between head and cartridge (common practice, no source)."""

THICKEST_MAT_MM: Final = 4.0
"""A difference beyond this is not made up by another mat (common practice, no source)."""


def takes_head_shim(cartridge: Cartridge) -> bool:
    """Whether a shim fits between head and cartridge."""
    return cartridge.mounting is not Mounting.PLUG_IN


def beyond_the_deck(context: Context, high_mm: float) -> tuple[Move | None, str]:
    """Return what could still help where the arm's own control can't, and a sentence of it.

    Parameters
    ----------
    context
        The situation.
    high_mm
        How far the rear stands too high at the pivot, in millimetres.
    """
    numbers = context.numbers
    size = numbers.unit(abs(high_mm), "mm", 1)
    mat, body = ("thicker", "taller") if high_mm > 0 else ("thinner", "lower")
    note = f"A cartridge {body} by {size} would level the arm"
    if abs(high_mm) <= THICKEST_MAT_MM:
        note += f", or a mat {mat} by as much"
    shim_mm = round(high_mm, 1)
    if not (takes_head_shim(context.cartridge) and 0 < shim_mm <= THICKEST_HEAD_SHIM_MM):
        return None, f"{note}."
    return (
        Move(
            sentence=f"A {size} shim between head and cartridge would level it.",
            parts=(MovePart(control=Control.HEAD_SHIM, amount=shim_mm, unit="mm"),),
            predicted="Level.",
            reason="It needs longer screws, and adds a little to the moving mass.",
        ),
        f"{note}.",
    )
