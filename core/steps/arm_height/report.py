"""Arm height: what other parts of the program show of it."""

from typing import Final

from core.language import message
from core.steps.shared import FollowedFigure, StepReport

REPORT: Final = StepReport(
    followed=(
        FollowedFigure("height", 8, message("history.height")),
        FollowedFigure("pitch", 9, message("history.pitch")),
    ),
    plan_keys=("height",),
)
