"""Final downforce: exact, after everything that moves mass."""

from core.fitting import Choices
from core.steps.downforce import Readings, applies
from core.steps.final_downforce.judge import NAME, assess, picture

Chosen = Choices

__all__ = [
    "NAME",
    "Chosen",
    "Readings",
    "applies",
    "assess",
    "picture",
]
