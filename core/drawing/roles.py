"""What a thing in a picture stands for; apart, for whoever needs its colours and no numbers."""

from __future__ import annotations

from enum import StrEnum


class Role(StrEnum):
    """What a thing in a picture stands for."""

    NOW = "now"
    BEFORE = "before"  # earlier trials, drawn faint
    PREDICTED = "predicted"
    TARGET = "target"
    GOOD = "good"  # the tolerance
    ALLOWED = "allowed"  # the maker's or the standard's range
    DANGER = "danger"
    GUIDE = "guide"  # axes of symmetry, nulls, groove limits
    LEFT = "left"  # left channel or side
    RIGHT = "right"
    OUTLINE = "outline"  # the drawn thing itself: tube, record, foot
