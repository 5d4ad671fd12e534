"""Code several steps use: event history, known gains, disturbances, reports."""

from core.steps.shared.compared import (
    compared,
    compared_trials,
    decimals_as_read,
    field_words,
    number_as_read,
)
from core.steps.shared.control_check import (
    asked_first,
    asked_of,
    does_not_answer,
    floated_anew,
    is_checked,
    is_right_as_read,
    moved_in_all,
    once_more,
)
from core.steps.shared.disturbance import (
    HOLE_SPACING_MM,
    Aftermath,
    Effect,
    FigureChange,
    beside_strip,
    judged_alone,
    judged_roughly,
    strip_after,
    together,
    undisturbed,
)
from core.steps.shared.doubts import Doubt, questioned, stretches, without
from core.steps.shared.event_history import Elsewhere, Event, history
from core.steps.shared.exchanged import Exchangeable, asked_of_exchange, exchanges
from core.steps.shared.far_from_order import is_far_from_order, ordered_for
from core.steps.shared.heard_sound import Follower, HeardSound, fingerprint_of
from core.steps.shared.heard_tones import (
    DISAGREES,
    BandKind,
    HeardBand,
    HeardFault,
    HeardSpeed,
    HeardTones,
    spoilt,
)
from core.steps.shared.kept_counts import counts_kept
from core.steps.shared.known_gains import LEARNED, LEAST_SHARE, Prior, stated_or_learned
from core.steps.shared.live_tones import LiveState, LiveTold, LiveTones
from core.steps.shared.movable import Movable, asked_name, control_name, directions_of, movable
from core.steps.shared.names import ALIGNMENT
from core.steps.shared.read_or_moved import MayBeRead, may_be_read, read_instead
from core.steps.shared.screws import screw_choice
from core.steps.shared.sentences import amount, directed, method_of, sentences, times
from core.steps.shared.step_report import FollowedFigure, StepReport, figures_named

__all__ = [
    "ALIGNMENT",
    "DISAGREES",
    "HOLE_SPACING_MM",
    "LEARNED",
    "LEAST_SHARE",
    "Aftermath",
    "BandKind",
    "Doubt",
    "Effect",
    "Elsewhere",
    "Event",
    "Exchangeable",
    "FigureChange",
    "FollowedFigure",
    "Follower",
    "HeardBand",
    "HeardFault",
    "HeardSound",
    "HeardSpeed",
    "HeardTones",
    "LiveState",
    "LiveTold",
    "LiveTones",
    "MayBeRead",
    "Movable",
    "Prior",
    "StepReport",
    "amount",
    "arm_moves",
    "asked_first",
    "asked_name",
    "asked_of",
    "asked_of_exchange",
    "bench_views",
    "beside_strip",
    "compared",
    "compared_trials",
    "control_name",
    "counts_kept",
    "decimals_as_read",
    "directed",
    "directions_of",
    "disturbance",
    "does_not_answer",
    "exchanges",
    "field_words",
    "figures_named",
    "fingerprint_of",
    "floated_anew",
    "gain_samples",
    "history",
    "is_checked",
    "is_far_from_order",
    "is_right_as_read",
    "judged_alone",
    "judged_roughly",
    "may_be_read",
    "method_of",
    "movable",
    "moved_in_all",
    "number_as_read",
    "once_more",
    "ordered_for",
    "questioned",
    "read_instead",
    "screw_choice",
    "sentences",
    "spoilt",
    "stated_or_learned",
    "stretches",
    "strip_after",
    "swap_part",
    "times",
    "together",
    "undisturbed",
    "without",
]
