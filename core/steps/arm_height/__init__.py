"""Arm height: the arm tube parallel to the record."""

from core.steps.arm_height.aftermath import aftermath
from core.steps.arm_height.controls import movables
from core.steps.arm_height.effects import disturbed_by, disturbed_by_downforce
from core.steps.arm_height.judge import applies, assess
from core.steps.arm_height.readings import (
    NAME,
    ArmHeightChoices,
    Readings,
    TaperedTube,
    TubeAngle,
    TubeEdge,
    TubeReading,
    TwoHeights,
)
from core.steps.arm_height.report import REPORT
from core.steps.arm_height.swap import forecast, gain_sources

Chosen = ArmHeightChoices

__all__ = [
    "NAME",
    "REPORT",
    "ArmHeightChoices",
    "Chosen",
    "Readings",
    "TaperedTube",
    "TubeAngle",
    "TubeEdge",
    "TubeReading",
    "TwoHeights",
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
