"""Skating: the side force answered."""

from core.fitting import Choices
from core.steps.skating.controls import movables
from core.steps.skating.effects import aftermath, disturbed_by, disturbed_by_downforce
from core.steps.skating.force import DIALS
from core.steps.skating.judge import Readings, applies, assess
from core.steps.skating.readings import NAME, BandsByTone, Broke, RisingBands, Setting
from core.steps.skating.report import REPORT
from core.steps.skating.swap import forecast, gain_sources

Chosen = Choices

__all__ = [
    "DIALS",
    "NAME",
    "REPORT",
    "BandsByTone",
    "Broke",
    "Chosen",
    "Readings",
    "RisingBands",
    "Setting",
    "aftermath",
    "applies",
    "assess",
    "bench",
    "disturbed_by",
    "disturbed_by_downforce",
    "forecast",
    "gain_sources",
    "movables",
]
