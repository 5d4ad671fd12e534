"""Tilt: the cartridge upright seen from the front."""

from core.steps.shared import judged_alone as aftermath
from core.steps.shared import undisturbed as disturbed_by_downforce
from core.steps.tilt.controls import movables
from core.steps.tilt.effects import disturbed_by
from core.steps.tilt.judge import Readings, TiltChoices, applies, assess
from core.steps.tilt.readings import NAME, Gaps, LeakByTone, Lean, LookedAt, Mirror, TestBands
from core.steps.tilt.report import REPORT
from core.steps.tilt.swap import forecast, gain_sources

Chosen = TiltChoices

__all__ = [
    "NAME",
    "REPORT",
    "Chosen",
    "Gaps",
    "LeakByTone",
    "Lean",
    "LookedAt",
    "Mirror",
    "Readings",
    "TestBands",
    "aftermath",
    "applies",
    "assess",
    "bench",
    "disturbed_by",
    "disturbed_by_downforce",
    "forecast",
    "gain_sources",
    "movables",
]
