"""Arm height: the arm tube parallel to the record."""

from core.steps.arm_height.controls import movables
from core.steps.arm_height.judge import (
    NAME,
    THICKEST_HEAD_SHIM_MM,
    THICKEST_MAT_MM,
    applies,
    assess,
)
from core.steps.arm_height.readings import (
    ArmHeightChoices,
    Readings,
    TaperedTube,
    TubeAngle,
    TubeEdge,
    TubeReading,
    TwoHeights,
)
from core.steps.arm_height.state import (
    HeightEstimator,
    known_gain,
)
from core.steps.arm_height.swap import forecast, gain_sources

Chosen = ArmHeightChoices

__all__ = [
    "NAME",
    "THICKEST_HEAD_SHIM_MM",
    "THICKEST_MAT_MM",
    "ArmHeightChoices",
    "Chosen",
    "HeightEstimator",
    "Readings",
    "TaperedTube",
    "TubeAngle",
    "TubeEdge",
    "TubeReading",
    "TwoHeights",
    "applies",
    "assess",
    "forecast",
    "gain_sources",
    "known_gain",
    "movables",
]
