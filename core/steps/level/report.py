"""Level: what other parts of the program show of it."""

from typing import Final

from core.language import message
from core.steps.shared import FollowedFigure, StepReport

REPORT: Final = StepReport(
    followed=(FollowedFigure("tilt", 12, message("history.level")),),
    plan_keys=("tilt",),
    is_of_deck=True,
)
