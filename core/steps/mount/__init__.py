"""Mount: the cartridge goes in, and what its mass means for the arm."""

from core.steps.mount.figures import Advice
from core.steps.mount.judge import (
    NAME,
    MountChoices,
    Readings,
    applies,
    assess,
    picture,
)
from core.steps.mount.readings import (
    HalfInchChecklist,
    PlugInChecklist,
    Strap,
    WeighedMasses,
    Wiring,
)

Chosen = MountChoices
from core.steps.mount.swap import cannot_fit, forecast, gain_sources, resonance

__all__ = [
    "NAME",
    "Advice",
    "Chosen",
    "HalfInchChecklist",
    "MountChoices",
    "PlugInChecklist",
    "Readings",
    "Strap",
    "WeighedMasses",
    "Wiring",
    "applies",
    "assess",
    "cannot_fit",
    "forecast",
    "gain_sources",
    "picture",
    "resonance",
]
