"""Alignment: what other parts of the program show of it."""

from typing import Final

from core.language import message
from core.steps.shared import FollowedFigure, StepReport

REPORT: Final = StepReport(
    followed=(
        FollowedFigure("overhang", 2, message("history.overhang"), "slide"),
        FollowedFigure("effective_length", 3, message("history.effective_length"), "slide"),
        FollowedFigure("slide", 4, message("history.slide")),
        FollowedFigure("offset", 5, message("history.offset"), "twist"),
        FollowedFigure("twist", 6, message("history.twist")),
        FollowedFigure("worst_distortion", 7, message("history.worst_distortion")),
    ),
    plan_keys=("effective_length", "overhang", "offset"),
    plan_keys_without_pivot=("slide", "twist"),
    is_pictured=True,
)
