"""What several steps use: event history, known gains, disturbances."""

from core.steps.shared.control_check import (
    CHECKED_WAY,
    asked_first,
    does_not_answer,
    is_checked,
    questions_of,
)
from core.steps.shared.disturbance import (
    HOLE_SPACING_MM,
    Effect,
    downforce_effects,
    effects_of,
)
from core.steps.shared.event_history import (
    Elsewhere,
    Event,
    history,
)
from core.steps.shared.known_gains import (
    LEARNED,
    LEAST_SHARE,
    Prior,
    stated_or_learned,
)
from core.steps.shared.movable import Movable, movable
from core.steps.shared.sentences import method_of, sentences, times

__all__ = [
    "CHECKED_WAY",
    "HOLE_SPACING_MM",
    "LEARNED",
    "LEAST_SHARE",
    "Effect",
    "Elsewhere",
    "Event",
    "Movable",
    "Prior",
    "asked_first",
    "does_not_answer",
    "downforce_effects",
    "effects_of",
    "history",
    "is_checked",
    "method_of",
    "movable",
    "questions_of",
    "sentences",
    "stated_or_learned",
    "times",
]
