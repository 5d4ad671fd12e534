"""What disturbs skating: another downforce, another cartridge."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from core.fitting import Assessment, Context, Control, MovePart
from core.language import message
from core.records import Cartridge, Deck
from core.steps.shared.disturbance import (
    Aftermath,
    Effect,
    FigureChange,
    exchanged,
    judged_alone,
)
from core.steps.skating.readings import NAME


def disturbed_by(part: MovePart, deck: Deck, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a move, of any control, does to figures of this step."""
    del deck, cartridge
    if part.control is Control.CARTRIDGE:
        yield exchanged(NAME, "setting")


def disturbed_by_downforce(change_gf: float, cartridge: Cartridge) -> Iterator[Effect]:
    """Yield what a change of downforce, new less old, asks of the setting.

    Skating force is in proportion to downforce, so its setting should change by as much (on a
    scale marked in downforce).
    """
    del cartridge
    yield Effect(NAME, "setting", change_gf, message("disturbance.skating_grows"))


def aftermath(
    context: Context, assessment: Assessment, changes: Mapping[str, FigureChange]
) -> Aftermath:
    """Judge the setting after later moves: it stays, but its target changes."""
    away = {
        key: FigureChange(-change.value, change.standard_uncertainty)
        for key, change in changes.items()
    }
    return replace(judged_alone(context, assessment, away), changes=changes, of_targets=True)
