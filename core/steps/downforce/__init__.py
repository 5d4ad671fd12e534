"""Code shared by rough and final downforce: weighings, the control and the next move."""

from core.steps.downforce.chart import DownforceBand
from core.steps.downforce.doubts import are_parted, counted, question_first
from core.steps.downforce.evidence import WeighedDownforce
from core.steps.downforce.floated import float_to_the_mark, floated_by
from core.steps.downforce.floating import Place, Places, between, next_in_vain, places_of
from core.steps.downforce.judge import DownforceJudge
from core.steps.downforce.move import Proposal, hand_gf, propose
from core.steps.downforce.weighings import (
    FINAL,
    ROUGH,
    STOP_FACTOR,
    Checked,
    CheckWeight,
    FloatedDial,
    Readings,
    ScaleReading,
    Shifted,
    Unsettled,
    Weighing,
    allowed_gf,
    applies,
    check_weighings,
    downforce_state_of,
    events_of,
    scale_worth,
)
from core.steps.downforce.words import stop_message

__all__ = [
    "FINAL",
    "ROUGH",
    "STOP_FACTOR",
    "CheckWeight",
    "Checked",
    "DownforceBand",
    "DownforceJudge",
    "FloatedDial",
    "Place",
    "Places",
    "Proposal",
    "Readings",
    "ScaleReading",
    "Shifted",
    "Unsettled",
    "WeighedDownforce",
    "Weighing",
    "allowed_gf",
    "applies",
    "are_parted",
    "bench",
    "between",
    "check_weighings",
    "controls",
    "counted",
    "downforce_state_of",
    "effects",
    "events_of",
    "float_to_the_mark",
    "floated_by",
    "hand_gf",
    "next_in_vain",
    "places_of",
    "propose",
    "question_first",
    "scale_worth",
    "stop_message",
    "swap",
]
