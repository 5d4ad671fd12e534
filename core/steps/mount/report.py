"""Mount: what other parts of the program show of it."""

from typing import Final

from core.language import message
from core.steps.shared import FollowedFigure, StepReport

REPORT: Final = StepReport(
    followed=(
        FollowedFigure("resonance", 13, message("history.resonance")),
        FollowedFigure("resonance_*", 15),
    ),
    plan_keys=("head_mass", "resonance"),
    worked_out=("resonance",),
    has_control=False,
    needs_error=True,
    is_found_first=True,
    tells_when_found=True,
)
