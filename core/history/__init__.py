"""A deck's fittings over the years."""

from core.history.groups import group_of, groups_of
from core.history.stray_entries import StrayEntriesFile
from core.history.timeline import (
    Change,
    Comparison,
    Meaning,
    Snapshot,
    Timeline,
    TrackedFigure,
    compare_fittings,
    timeline_of,
)

__all__ = [
    "Change",
    "Comparison",
    "Meaning",
    "Snapshot",
    "StrayEntriesFile",
    "Timeline",
    "TrackedFigure",
    "chart",
    "compare_fittings",
    "group_of",
    "groups_of",
    "log_by_day",
    "timeline_of",
]
