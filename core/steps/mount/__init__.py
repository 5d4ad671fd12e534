"""Mount: the cartridge goes in, and what its mass means for the arm."""

from core.steps.mount.controls import movables
from core.steps.mount.effects import disturbed_by
from core.steps.mount.judge import NAME, MountChoices, Readings, applies, assess, is_loose
from core.steps.mount.readings import (
    HalfInchChecklist,
    PlugInChecklist,
    ResonanceByRecord,
    Strap,
    WeighedMasses,
    Wiring,
)
from core.steps.mount.report import REPORT
from core.steps.mount.swap import cannot_fit, forecast, gain_sources, resonance
from core.steps.shared import judged_alone as aftermath
from core.steps.shared import undisturbed as disturbed_by_downforce

Chosen = MountChoices

__all__ = [
    "NAME",
    "REPORT",
    "Chosen",
    "HalfInchChecklist",
    "PlugInChecklist",
    "Readings",
    "ResonanceByRecord",
    "Strap",
    "WeighedMasses",
    "Wiring",
    "aftermath",
    "applies",
    "assess",
    "bench",
    "cannot_fit",
    "disturbed_by",
    "disturbed_by_downforce",
    "forecast",
    "gain_sources",
    "is_loose",
    "movables",
    "resonance",
]
