"""What rough and final downforce share: weighings, the control and the next move."""

from core.steps.downforce.chart import DownforceBand, weighings_picture
from core.steps.downforce.control import (
    DownforceControl,
    downforce_control_of,
    known_downforce_control,
)
from core.steps.downforce.doubts import counted, question_first
from core.steps.downforce.evidence import WeighedDownforce
from core.steps.downforce.floating import Place, Places, between, next_in_vain, places_of
from core.steps.downforce.move import Proposal, hand_gf, propose
from core.steps.downforce.weighings import (
    FINAL,
    ROUGH,
    STOP_FACTOR,
    Checked,
    CheckWeight,
    DownforceState,
    Event,
    Readings,
    ScaleReading,
    ScaleWorth,
    Shifted,
    Unsettled,
    Weighing,
    applies,
    check_weighings,
    downforce_state_of,
    events_of,
    scale_worth,
)
from core.steps.downforce.words import (
    KEEP_STYLUS_UP,
    MIND_THE_MAGNETS,
    common_notes,
    downforce_figures,
    foretold_note,
    stop_message,
)

__all__ = [
    "FINAL",
    "KEEP_STYLUS_UP",
    "MIND_THE_MAGNETS",
    "ROUGH",
    "STOP_FACTOR",
    "CheckWeight",
    "Checked",
    "DownforceBand",
    "DownforceControl",
    "DownforceState",
    "Event",
    "Place",
    "Places",
    "Proposal",
    "Readings",
    "ScaleReading",
    "ScaleWorth",
    "Shifted",
    "Unsettled",
    "WeighedDownforce",
    "Weighing",
    "applies",
    "between",
    "check_weighings",
    "common_notes",
    "counted",
    "downforce_control_of",
    "downforce_figures",
    "downforce_state_of",
    "events_of",
    "foretold_note",
    "hand_gf",
    "known_downforce_control",
    "next_in_vain",
    "places_of",
    "propose",
    "question_first",
    "scale_worth",
    "stop_message",
    "weighings_picture",
]
