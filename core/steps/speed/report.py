"""Speed: what other parts of the program show of it."""

from typing import Final

from core.steps.shared import FollowedFigure, StepReport

REPORT: Final = StepReport(
    followed=(FollowedFigure("speed_error_*", 1), FollowedFigure("fluctuation", 14)),
    plan_keys=("speed_error_*",),
    told_beside=("fluctuation", "fluctuation_unweighted", "once_per_turn"),
    is_pictured=True,
    is_of_deck=True,
)
