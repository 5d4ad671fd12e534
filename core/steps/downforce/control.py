"""The control that changes downforce, and its gain."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from core.fitting import Context, Control
from core.physics.statics import downforce_per_mm_gf
from core.records import Balance, Deck
from core.steps.downforce.weighings import Shifted
from core.steps.shared import LEARNED, stated_or_learned

STATED_GAIN_SHARE: Final = 0.25
"""Error of a stated or computed gain, one standard uncertainty: our own allowance."""


@dataclass(frozen=True, slots=True)
class DownforceControl:
    """The control that changes downforce: a counterweight, or a dial in marks of 1 gf.

    ``unit`` is ``turns``, ``mm`` or, of a dial, ``gf``. ``gf_per_unit`` is as stated by the maker
    or computed from statics, None if neither can be; ``source`` says which. ``mm_per_unit`` is the
    length for one unit, None if unknown or without meaning.
    """

    unit: str
    gf_per_unit: float | None
    mm_per_unit: float | None
    source: str = ""
    parallel: bool = False
    """Whether the arm has no pivot, so that its counterweight moves toward the head or away."""

    @property
    def kind(self) -> str:
        """The variant of a sentence to use: ``dial`` or ``counterweight``."""
        return "dial" if self.unit == "gf" else "counterweight"

    @property
    def gain_unit(self) -> str:
        """Unit of its gain, as gains are stored."""
        return f"gf/{'turn' if self.unit == 'turns' else self.unit}"

    def amount_of(self, event: Shifted) -> float | None:
        """Return a logged move in units of this control, None if that is unknown."""
        if not math.isfinite(event.amount):
            return None
        if event.unit == self.unit:
            return event.amount
        length = event.amount if event.unit == "mm" else event.equivalent_mm
        if length is None or not math.isfinite(length) or not self.mm_per_unit:
            return None
        amount = length / self.mm_per_unit
        return amount if abs(amount) <= 1e4 else None


def downforce_control_of(deck: Deck) -> DownforceControl:
    """Return the control of downforce on this deck, with its gain.

    A dial (dynamic balance) is taken in its own marks of 1 gf. A counterweight by its stated
    downforce for one turn; else by statics, its mass over the effective length for each
    millimetre (:func:`core.physics.statics.downforce_per_mm_gf`); else unknown, to be learned.
    """
    arm = deck.arm
    parallel = not arm.is_pivoted
    if arm.balance is Balance.DYNAMIC:
        return DownforceControl("gf", 1.0, None, "dial", parallel)
    thread = arm.counterweight_mm_per_turn
    per_mm = None
    if arm.counterweight_g is not None:
        per_mm = downforce_per_mm_gf(arm.counterweight_g, arm.effective_length_mm)
    if arm.gf_per_turn is not None:
        return DownforceControl("turns", arm.gf_per_turn, thread, "maker", parallel)
    if thread is not None:
        per_turn = None if per_mm is None else per_mm * thread
        return DownforceControl("turns", per_turn, thread, "mass and thread", parallel)
    return DownforceControl("mm", per_mm, 1.0, "mass", parallel)


def known_downforce_control(context: Context) -> tuple[DownforceControl, float]:
    """Return the control with the best prior gain, and the gain's error.

    The second is one standard uncertainty as a share of the gain.
    """
    handle = downforce_control_of(context.deck)
    prior = stated_or_learned(
        context.gains,
        Control.COUNTERWEIGHT,
        "",
        handle.gain_unit,
        handle.gf_per_unit,
        STATED_GAIN_SHARE,
    )
    if not prior.learned:
        return handle, prior.share
    return replace(handle, gf_per_unit=prior.value, source=LEARNED), prior.share
