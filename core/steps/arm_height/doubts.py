"""Heights that determine no pitch: the two places are too close together."""

from __future__ import annotations

from typing import Final

from core.fitting import Context, NextReading
from core.language import Quantity, message
from core.steps.arm_height.readings import NAME, TaperedTube, TwoHeights
from core.steps.shared import Doubt, without

_LEAST_SHARE: Final = 0.25
"""Places closer than this share of the arm's length magnify the ruler's error more than fourfold
at the pillar: our own allowance."""


def doubts_of(context: Context) -> dict[int, Doubt]:
    """Return the questions about heights, by the readings' indexes among the trials."""
    least = _LEAST_SHARE * context.deck.arm.effective_length_mm
    doubts: dict[int, Doubt] = {}
    for place, trial in enumerate(context.log.get(NAME, ())):
        reading = trial.reading
        if isinstance(reading, TwoHeights | TaperedTube) and reading.spacing_mm < least:
            question = message(
                "arm_height.places_too_close",
                apart=Quantity(reading.spacing_mm, "mm", 0),
                least=Quantity(least, "mm", 0),
            )
            doubts[place] = Doubt(question, NextReading(way=reading.way))
    return doubts


def counted(context: Context) -> Context:
    """Return the context with only the readings that tell a pitch."""
    return without(context, NAME, doubts_of(context))
