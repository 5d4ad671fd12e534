"""Replay of the log: the state of every step, and the summary of a fitting."""

from core.workflow.arm_used import (
    OtherArmWork,
    arm_words,
    changes_of_arm,
    seen_by,
    set_aside_by,
    told_of_arm,
)
from core.workflow.descriptions import (
    change_value,
    described,
    described_entry,
    described_model,
    described_part,
    described_parts,
    figure_value,
    outside_target,
    place_words,
    target_value,
)
from core.workflow.fit_check import misfits, screws_needed
from core.workflow.left_out import back_by_hand
from core.workflow.listening import listening_of
from core.workflow.loose_cartridge import is_left_loose, minding_loose
from core.workflow.mat_change import told_of_mat, told_of_mat_by_arm
from core.workflow.new_deck import much_like, usual_arm
from core.workflow.refusals import sentence_of, why_refused, why_shut
from core.workflow.replay import journey_of
from core.workflow.set_back import SetBack, set_back_of, told_set_back
from core.workflow.summary import (
    BeforeAfter,
    StepOutcome,
    as_found,
    general_notes_of,
    outcome_of,
    outcomes_of,
    work_of,
)
from core.workflow.unplanned_moves import home_of, movables
from core.workflow.work import STEPS_OF_WORK, as_asked, told_as_set, work_asked

__all__ = [
    "STEPS_OF_WORK",
    "BeforeAfter",
    "OtherArmWork",
    "SetBack",
    "StepOutcome",
    "arm_words",
    "as_asked",
    "as_found",
    "back_by_hand",
    "change_value",
    "changes_of_arm",
    "described",
    "described_entry",
    "described_model",
    "described_part",
    "described_parts",
    "figure_value",
    "general_notes_of",
    "home_of",
    "is_left_loose",
    "journey_of",
    "listening_of",
    "minding_loose",
    "misfits",
    "movables",
    "much_like",
    "outcome_of",
    "outcomes_of",
    "outside_target",
    "place_words",
    "screws_needed",
    "seen_by",
    "sentence_of",
    "set_aside_by",
    "set_back_of",
    "target_value",
    "told_as_set",
    "told_of_arm",
    "told_of_mat",
    "told_of_mat_by_arm",
    "told_set_back",
    "usual_arm",
    "why_refused",
    "why_shut",
    "work_asked",
    "work_of",
]
