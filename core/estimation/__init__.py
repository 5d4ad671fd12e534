"""A value with its error, the one decision rule, and the one learning solver for every control."""

from core.estimation.control_response import (
    DOUBTED_SHARE,
    Response,
    ResponseRecord,
    response_to,
)
from core.estimation.control_solver import (
    ControlState,
    ControlVerdict,
    ReadingLimits,
    solve_control,
    steepest_likely,
)
from core.estimation.estimate import (
    CERTAIN_FACTOR,
    CONFIDENCE,
    COVERAGE_FACTOR,
    Decision,
    Disagreement,
    Estimate,
    chance_inside,
    combine,
    decide,
    disagreement,
    mean_of,
    readings_needed,
    rounding_uncertainty,
    worst_residual,
    worth_reading,
)
from core.estimation.gain_filter import CHECKED, MOVE_SHARE, ControlModel, ControlMove, ControlTrial
from core.estimation.move_rule import Prospect, hand_spread, readings_until, settle
from core.estimation.parties import Parties, within
from core.estimation.quantiles import normal_cdf, normal_quantile, two_sided_factor

__all__ = [
    "CERTAIN_FACTOR",
    "CHECKED",
    "CONFIDENCE",
    "COVERAGE_FACTOR",
    "DOUBTED_SHARE",
    "MOVE_SHARE",
    "ControlModel",
    "ControlMove",
    "ControlState",
    "ControlTrial",
    "ControlVerdict",
    "Decision",
    "Disagreement",
    "Estimate",
    "Parties",
    "Prospect",
    "ReadingLimits",
    "Response",
    "ResponseRecord",
    "chance_inside",
    "combine",
    "decide",
    "disagreement",
    "hand_spread",
    "mean_of",
    "normal_cdf",
    "normal_quantile",
    "readings_needed",
    "readings_until",
    "response_to",
    "rounding_uncertainty",
    "settle",
    "solve_control",
    "steepest_likely",
    "two_sided_factor",
    "within",
    "worst_residual",
    "worth_reading",
]
