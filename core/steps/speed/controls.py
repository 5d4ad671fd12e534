"""The controls of this step."""

from __future__ import annotations

from collections.abc import Iterator

from core.fitting import Control
from core.records import Cartridge, Deck, SpeedTrim
from core.steps.shared import Movable, movable
from core.steps.speed.judge import NAME
from core.steps.speed.move import trim_place
from core.steps.speed.readings import speed_name


def movables(deck: Deck, cartridge: Cartridge) -> Iterator[Movable]:
    """Yield the controls on this deck."""
    del cartridge
    trim = deck.platter.trim
    if trim is SpeedTrim.NONE:
        return
    unit = "turns" if trim is SpeedTrim.SCREW else ""
    for where in dict.fromkeys(trim_place(deck, rpm) for rpm in deck.platter.speeds_rpm):
        place = speed_name(float(where)) if where else None
        yield movable(Control.SPEED, unit, NAME, where=where, place=place)
