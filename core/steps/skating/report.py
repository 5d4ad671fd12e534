"""Skating: what is told of it once the fitting is over."""

from typing import Final

from core.steps.shared import FollowedFigure, StepReport

REPORT: Final = StepReport(
    followed=(FollowedFigure("setting", 11),),
    plan_keys=("setting", "notch"),
    is_found_at_end=True,
)
