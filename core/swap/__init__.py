"""Another cartridge on a known deck: the plan, and its comparison with the findings."""

from core.steps.shared.swap_part import Need, Past, RunsOut
from core.swap.comparison import compare
from core.swap.deck_work import work_elsewhere
from core.swap.headshell import cartridge_in, headshell_change, setting_of
from core.swap.model import DueStep, Foretold, SwapPlan
from core.swap.past import past_of, whole_of
from core.swap.plan import plan_swap

__all__ = [
    "DueStep",
    "Foretold",
    "Need",
    "Past",
    "RunsOut",
    "SwapPlan",
    "cartridge_in",
    "compare",
    "headshell_change",
    "past_of",
    "plan_swap",
    "setting_of",
    "whole_of",
    "words",
    "work_elsewhere",
]
