"""Level: is the plinth level, and how far must each foot turn."""

from core.steps.level.controls import movables
from core.steps.level.effects import disturbed_by
from core.steps.level.foot_gains import learned_gains
from core.steps.level.judge import NAME, LevelChoices, Readings, applies, assess
from core.steps.level.readings import Bubble, BubbleAtEnd, Direction, Inclinometer, Ruler
from core.steps.level.report import REPORT
from core.steps.level.swap import forecast, gain_sources
from core.steps.shared import judged_alone as aftermath
from core.steps.shared import undisturbed as disturbed_by_downforce

Chosen = LevelChoices

__all__ = [
    "NAME",
    "REPORT",
    "Bubble",
    "BubbleAtEnd",
    "Chosen",
    "Direction",
    "Inclinometer",
    "Readings",
    "Ruler",
    "aftermath",
    "applies",
    "assess",
    "bench",
    "disturbed_by",
    "disturbed_by_downforce",
    "forecast",
    "gain_sources",
    "learned_gains",
    "movables",
]
