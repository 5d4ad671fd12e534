"""Whether an arm height still holds after later moves, over the length read."""

from __future__ import annotations

from collections.abc import Mapping

from core.fitting import Assessment, Context
from core.steps.arm_height.state import HeightEstimator
from core.steps.shared.disturbance import Aftermath, FigureChange, judged_roughly


def aftermath(
    context: Context, assessment: Assessment, changes: Mapping[str, FigureChange]
) -> Aftermath:
    """Judge the height after later moves."""
    reach_mm = context.deck.arm.effective_length_mm
    spacing_mm = HeightEstimator(context, 0.0).told().spacing_mm or reach_mm
    share = spacing_mm / reach_mm
    over_spacing = {key: FigureChange(share * change.value) for key, change in changes.items()}
    return judged_roughly(context, assessment, over_spacing)
