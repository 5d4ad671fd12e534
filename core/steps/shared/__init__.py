"""What several steps use: event history, known gains, disturbances, their reports."""

from core.steps.shared.control_check import (
    asked_first,
    does_not_answer,
    is_checked,
    questions_of,
)
from core.steps.shared.disturbance import HOLE_SPACING_MM, Effect, undisturbed
from core.steps.shared.event_history import Elsewhere, Event, history
from core.steps.shared.known_gains import LEARNED, LEAST_SHARE, Prior, stated_or_learned
from core.steps.shared.movable import Movable, control_name, directions_of, movable
from core.steps.shared.sentences import amount, directed, method_of, sentences, times
from core.steps.shared.step_report import FollowedFigure, StepReport, figures_named

__all__ = [
    "HOLE_SPACING_MM",
    "LEARNED",
    "LEAST_SHARE",
    "Effect",
    "Elsewhere",
    "Event",
    "FollowedFigure",
    "Movable",
    "Prior",
    "StepReport",
    "amount",
    "asked_first",
    "control_name",
    "directed",
    "directions_of",
    "does_not_answer",
    "figures_named",
    "history",
    "is_checked",
    "method_of",
    "movable",
    "questions_of",
    "sentences",
    "stated_or_learned",
    "times",
    "undisturbed",
]
