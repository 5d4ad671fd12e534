"""Shared by all ways of judging tilt: tolerance, sentences, and decks without a control."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from core.estimation import Decision, Estimate, decide
from core.fitting import Act, Context, Figure, Guard, NextReading, Verdict
from core.language import Interval, Message, Quantity, message
from core.steps.tilt.control import TiltMechanism, tilt_mechanism_of

CARE: Final = (Guard("guard", Act.HANDLE_HEAD), Guard("arm_locked", Act.HANDLE_HEAD))
"""Cautions that belong to every turn of the head."""


HIGH_SIDES: Final = message("tilt.off.left_high"), message("tilt.off.right_high")
"""Which side is high for a positive tilt, and for a negative one."""


class TiltJudge:
    """The base of both ways of judging."""

    def __init__(self, context: Context) -> None:
        self.context, self.deck = context, context.deck
        self.handle: TiltMechanism = tilt_mechanism_of(context.deck, context.cartridge)
        self.tolerance = context.deck.tolerances.tilt_deg
        self.moved_last = bool(context.trials) and bool(context.trials[-1].moves)
        self.notes: list[Message] = []

    def note(self, said: Message) -> None:
        """Add a note, unless it is there already."""
        if said not in self.notes:
            self.notes.append(said)

    def tilt_figure(self, tilt: Estimate) -> Figure:
        """Return the figure that later moves can disturb."""
        return Figure(
            "tilt",
            message("tilt.figure.tilt"),
            tilt.value,
            "°",
            decimals=1,
            half_width=tilt.half_width(),
            target=0.0,
            tolerance=self.tolerance,
            ways=HIGH_SIDES,
        )

    def unturnable(self, tilt: Estimate) -> tuple[Verdict, Message]:
        """Return verdict and headline if nothing can be turned, or not as finely."""
        size = degrees(abs(tilt.value))
        if abs(tilt.value) <= self.tolerance:
            return Verdict.GOOD, message("tilt.upright_to", size=size)
        headline = message("tilt.left_as_found", side=high_side(tilt.value), size=size)
        return Verdict.LEFT_AS_FOUND, headline

    def without_control(self, tilt: Estimate) -> tuple[Verdict, Message]:
        """Return verdict and headline for a deck without a tilt control."""
        decision = decide(tilt.value, tilt.half_width(), self.tolerance)
        if decision is Decision.GOOD:
            return Verdict.GOOD, self.upright(tilt)
        if decision is Decision.READ_AGAIN:
            value = Interval(tilt.value, tilt.half_width(), "°", 1)
            return Verdict.READ_AGAIN, message("tilt.decides_nothing", tilt=value)
        if self.handle.lack is not None:
            self.note(self.handle.lack)
        if abs(tilt.value) <= self.tolerance:
            value = Interval(abs(tilt.value), tilt.half_width(), "°", 1)
            return Verdict.LEFT_AS_FOUND, message("tilt.upright_near_limit", tilt=value)
        return self.unturnable(tilt)

    def upright(self, tilt: Estimate) -> Message:
        """Return the headline of a cartridge that is certainly upright."""
        return message("tilt.upright_within", size=degrees(abs(tilt.value) + tilt.half_width()))


def degrees(value: float) -> Quantity:
    """Return degrees as shown in this step."""
    return Quantity(value, "°", 1)


def high_side(tilt_deg: float) -> str:
    """Return the sentence variant for the high side."""
    return "left" if tilt_deg > 0 else "right"


def asked_by(verdict: Verdict, headline: Message, asked: NextReading) -> NextReading | None:
    """Return the next reading, for verdicts that ask for one."""
    if verdict in (Verdict.NO_READING, Verdict.READ_AGAIN):
        return replace(asked, why=asked.why or headline)
    return None
