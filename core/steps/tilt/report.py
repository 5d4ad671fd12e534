"""Tilt: what other parts of the program show of it."""

from typing import Final

from core.language import message
from core.steps.shared import FollowedFigure, StepReport

REPORT: Final = StepReport(
    followed=(FollowedFigure("tilt", 10, message("history.tilt")),),
    plan_keys=("tilt", "best_setting"),
)
