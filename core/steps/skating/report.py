"""Skating: what other parts of the program show of it."""

from typing import Final

from core.steps.shared import FollowedFigure, StepReport

REPORT: Final = StepReport(
    followed=(FollowedFigure("setting", 11),),
    plan_keys=("setting", "notch"),
    is_found_at_end=True,
)
