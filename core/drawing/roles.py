"""What a mark stands for, or is made of. Imports no numpy: the theme needs the names alone."""

from __future__ import annotations

from enum import StrEnum


class MarkRole(StrEnum):
    """What a mark stands for, in charts and in drawings of instruments."""

    NOW = "now"  # the state now; on an instrument what is read: bubble, pointer, edge
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


class Ink(StrEnum):
    """What else a mark of an instrument is made of."""

    WORD = "word"  # figures, words and graduations
    FAINT = "faint"  # words and lines that only help
    MARK = "mark"  # what is read against: an index, a target
    BODY = "body"  # rulers, cases, arm, cartridge
    GLASS = "glass"  # vial, mirror, display
    WHITE_LEAD = "white lead"
    BLUE_LEAD = "blue lead"
    RED_LEAD = "red lead"
    GREEN_LEAD = "green lead"


Colour = MarkRole | Ink | float
"""A role, an ink, or a grey from 0 (black) to 1 (white)."""
