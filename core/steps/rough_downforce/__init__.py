"""Rough downforce: safe enough for a stylus to touch a record at all."""

from core.fitting import Choices
from core.steps.downforce import Readings, applies
from core.steps.rough_downforce.judge import NAME, assess, picture

Chosen = Choices

__all__ = [
    "NAME",
    "Chosen",
    "Readings",
    "applies",
    "assess",
    "picture",
]
