"""Final downforce: exact, after everything that moves mass."""

from core.fitting import Choices
from core.steps.downforce import Readings, applies
from core.steps.downforce.controls import movables
from core.steps.downforce.effects import final_disturbed_by as disturbed_by
from core.steps.downforce.swap import final_forecast as forecast
from core.steps.downforce.swap import gain_sources
from core.steps.final_downforce.judge import NAME, assess
from core.steps.final_downforce.report import REPORT
from core.steps.shared import judged_alone as aftermath
from core.steps.shared import undisturbed as disturbed_by_downforce

Chosen = Choices

__all__ = [
    "NAME",
    "REPORT",
    "Chosen",
    "Readings",
    "aftermath",
    "applies",
    "assess",
    "disturbed_by",
    "disturbed_by_downforce",
    "forecast",
    "gain_sources",
    "movables",
]
