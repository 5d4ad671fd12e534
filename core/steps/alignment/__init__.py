"""Alignment: effective length and offset angle, by slide and twist."""

from core.steps.alignment.aftermath import aftermath
from core.steps.alignment.controls import movables
from core.steps.alignment.decision import AlignmentDecider
from core.steps.alignment.effects import disturbed_by
from core.steps.alignment.judge import applies, assess
from core.steps.alignment.probability import cloud_of
from core.steps.alignment.readings import (
    NAME,
    AlignmentChoices,
    Criterion,
    GridAngles,
    GrooveStandard,
    Landing,
    LandingAndAngles,
    ParallelPath,
    PivotDistance,
    Readings,
)
from core.steps.alignment.report import REPORT
from core.steps.alignment.slots import HeadAnswers
from core.steps.alignment.state import where_of
from core.steps.alignment.swap import forecast, gain_sources
from core.steps.alignment.target import NoTarget, aim_of
from core.steps.shared import undisturbed as disturbed_by_downforce

Chosen = AlignmentChoices

__all__ = [
    "NAME",
    "REPORT",
    "AlignmentChoices",
    "AlignmentDecider",
    "Chosen",
    "Criterion",
    "GridAngles",
    "GrooveStandard",
    "HeadAnswers",
    "Landing",
    "LandingAndAngles",
    "NoTarget",
    "ParallelPath",
    "PivotDistance",
    "Readings",
    "aftermath",
    "aim_of",
    "applies",
    "assess",
    "bench",
    "cloud_of",
    "disturbed_by",
    "disturbed_by_downforce",
    "forecast",
    "gain_sources",
    "movables",
    "where_of",
]
