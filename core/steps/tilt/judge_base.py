"""What every way of judging tilt shares: tolerance, words, and decks with nothing to turn."""

from __future__ import annotations

from typing import Final

from core.estimation import (
    Decision,
    Estimate,
    decide,
)
from core.fitting import Context, Figure, Verdict
from core.steps.tilt.control import TiltMechanism, tilt_mechanism_of

CARE: Final = ("guard", "arm_locked")
"""Cautions that belong to every turn of the head."""


class TiltJudge:
    """What both ways of judging share."""

    def __init__(self, context: Context) -> None:
        self.context, self.deck, self.numbers = context, context.deck, context.numbers
        self.handle: TiltMechanism = tilt_mechanism_of(context.deck, context.cartridge)
        self.tolerance = context.deck.tolerances.tilt_deg
        self.moved_last = bool(context.trials) and bool(context.trials[-1].moves)
        self.notes: list[str] = []

    def deg(self, value: float) -> str:
        return self.numbers.unit(value, "°", 1)

    def leaning(self, tilt_deg: float) -> str:
        side = "left" if tilt_deg > 0 else "right"
        return f"{side} side high by {self.deg(abs(tilt_deg))}"

    def tilt_figure(self, tilt: Estimate) -> Figure:
        return Figure(
            "tilt",
            "Tilt, left side high",
            tilt.value,
            "°",
            decimals=1,
            half_width=tilt.half_width(),
            target=0.0,
            tolerance=self.tolerance,
        )

    def unturnable(self, tilt: Estimate) -> tuple[Verdict, str]:
        """Verdict and headline where nothing can be turned, or not as finely."""
        if abs(tilt.value) <= self.tolerance:
            return Verdict.GOOD, f"Upright to {self.deg(abs(tilt.value))}, as near as it goes."
        return Verdict.LEFT_AS_FOUND, f"{self.leaning(tilt.value).capitalize()}: left as found."

    def without_control(self, tilt: Estimate) -> tuple[Verdict, str]:
        """Verdict and headline on a deck that has nothing to turn."""
        decision = decide(tilt.value, tilt.half_width(), self.tolerance)
        if decision is Decision.GOOD:
            return Verdict.GOOD, self.upright(tilt)
        if decision is Decision.READ_AGAIN:
            value = self.numbers.within(tilt.value, tilt.half_width(), "°", 1)
            return Verdict.READ_AGAIN, f"Read again: {value} decides nothing yet."
        self.notes.append(self.handle.lack)
        if abs(tilt.value) <= self.tolerance:
            value = self.numbers.within(abs(tilt.value), tilt.half_width(), "°", 1)
            return Verdict.LEFT_AS_FOUND, f"Upright to {value}, near the limit: left as found."
        return self.unturnable(tilt)

    def upright(self, tilt: Estimate) -> str:
        return f"Upright within {self.deg(abs(tilt.value) + tilt.half_width())}."
