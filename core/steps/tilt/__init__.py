"""Tilt: the cartridge upright seen from the front."""

from core.steps.shared import judged_alone as aftermath
from core.steps.shared import undisturbed as disturbed_by_downforce
from core.steps.tilt.control import rolled_by
from core.steps.tilt.controls import movables
from core.steps.tilt.effects import disturbed_by
from core.steps.tilt.judge import Readings, TiltChoices, applies, assess
from core.steps.tilt.judge_by_gaps import GapJudge
from core.steps.tilt.readings import NAME, Gaps, LeakByTone, Lean, LookedAt, Mirror, TestBands
from core.steps.tilt.report import REPORT
from core.steps.tilt.swap import forecast, gain_sources

Chosen = TiltChoices

__all__ = [
    "NAME",
    "REPORT",
    "Chosen",
    "GapJudge",
    "Gaps",
    "LeakByTone",
    "Lean",
    "LookedAt",
    "Mirror",
    "Readings",
    "TestBands",
    "TiltChoices",
    "aftermath",
    "applies",
    "assess",
    "disturbed_by",
    "disturbed_by_downforce",
    "forecast",
    "gain_sources",
    "movables",
    "rolled_by",
]
