"""A value with its error, the one decision rule, and the one learning solver for every control."""

from core.estimation.control_belief import (
    ControlModel,
    ControlMove,
    ControlTrial,
    PriorGain,
    believe,
    plain_uncertainty,
    slack_share,
)
from core.estimation.control_solver import (
    ControlState,
    ControlVerdict,
    solve_control,
)
from core.estimation.estimate import (
    CONFIDENCE,
    Decision,
    Disagreement,
    Estimate,
    combine,
    decide,
    disagreement,
    mean_of,
    reading_uncertainty,
    readings_needed,
    rounding_uncertainty,
    worst_residual,
)
from core.estimation.further_readings import (
    worth_reading,
)
from core.estimation.gain_filter import (
    Branch,
)
from core.estimation.move_choice import (
    ReadingLimits,
)
from core.estimation.quantiles import (
    normal_cdf,
    normal_quantile,
    two_sided_factor,
)

__all__ = [
    "CONFIDENCE",
    "Branch",
    "ControlModel",
    "ControlMove",
    "ControlState",
    "ControlTrial",
    "ControlVerdict",
    "Decision",
    "Disagreement",
    "Estimate",
    "PriorGain",
    "ReadingLimits",
    "believe",
    "combine",
    "decide",
    "disagreement",
    "mean_of",
    "normal_cdf",
    "normal_quantile",
    "plain_uncertainty",
    "reading_uncertainty",
    "readings_needed",
    "rounding_uncertainty",
    "slack_share",
    "solve_control",
    "two_sided_factor",
    "worst_residual",
    "worth_reading",
]
