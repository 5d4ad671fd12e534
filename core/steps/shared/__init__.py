"""What several steps use: event history, known gains, disturbances."""

from core.steps.shared.disturbance import (
    HOLE_SPACING_MM,
    Aftermath,
    Change,
    Effect,
    judged_alone,
    together,
    undisturbed,
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
    "HOLE_SPACING_MM",
    "LEARNED",
    "LEAST_SHARE",
    "Aftermath",
    "Change",
    "Effect",
    "Elsewhere",
    "Event",
    "Movable",
    "Prior",
    "history",
    "judged_alone",
    "method_of",
    "movable",
    "sentences",
    "stated_or_learned",
    "times",
    "together",
    "undisturbed",
]
