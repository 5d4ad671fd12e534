"""Final downforce: what other parts of the program show of it."""

from typing import Final

from core.language import message
from core.steps.downforce import ROUGH
from core.steps.shared import FollowedFigure, StepReport

REPORT: Final = StepReport(
    followed=(FollowedFigure("downforce", 0, message("history.downforce")),),
    plan_keys=("downforce",),
    has_control=False,
    is_pictured=True,
    stands_in=ROUGH,
    tells_when_found=True,
)
