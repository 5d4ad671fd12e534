"""Which move to propose: most likely to land, within travel, on a step, and safe."""

import math
from dataclasses import dataclass

from core.estimation.control_belief import (
    Belief,
    ControlModel,
    share_below,
    slack_share,
)
from core.estimation.estimate import CONFIDENCE
from core.estimation.quantiles import normal_cdf

_BOLDEST = 3.0
_DOUBTFUL = 0.4


@dataclass(frozen=True, slots=True)
class ReadingLimits:
    """Readings that no move may be foretold to pass, same unit as the readings."""

    lowest: float = -math.inf
    highest: float = math.inf


def wanted_move(belief: Belief, largest_move: float, target: float, tolerance: float) -> float:
    """Of the moves that the branches would make, the one most likely to land in tolerance.

    Never more than three times what was tried so far, or what the stated gain asks for.
    """
    control = belief.control
    bold = _BOLDEST * largest_move
    if control.stated_gain is not None:
        deviation = abs(belief.value.value - target)
        bold = max(bold, _BOLDEST * deviation / abs(control.stated_gain))
    best, best_chance = 0.0, -1.0
    ranked = sorted(belief.branches, key=lambda branch: -branch.log_weight)
    for branch in ranked:
        gain = branch.gain
        gap = target - branch.reading
        factors = [gain]
        if branch.gg > (_DOUBTFUL * gain) ** 2:
            # Shrunk for the least expected square of what remains.
            factors.append(gain + branch.gg / gain if gain else math.inf)
        for factor in factors:
            if factor == 0.0:
                continue
            move = gap / factor
            share, _ = slack_share(move, belief.last_direction)
            move = max(-bold, min(bold, move + branch.slack * share / factor))
            chance = sum(
                weight
                * (
                    normal_cdf((target + tolerance - mean) / sd)
                    - normal_cdf((target - tolerance - mean) / sd)
                )
                for weight, mean, sd in belief.after(move)
                if sd > 0.0
            )
            if chance > best_chance:
                best, best_chance = move, chance
    return best


def safe(belief: Belief, move: float, limits: ReadingLimits, noise: float) -> float:
    """Longest part of a move that is not foretold to pass a limit.

    Past a limit already, the way back is safe as long as the mean prediction goes back.
    """
    if limits == ReadingLimits():
        return move
    tail = 0.5 * (1.0 - CONFIDENCE)

    def ends_past(amount: float) -> tuple[bool, bool]:
        # The interval passes a limit when more than a tail of the belief lies beyond it.
        parts = belief.after(amount, noise**2)
        above = 1.0 - share_below(parts, limits.highest) if limits.highest < math.inf else 0.0
        below = share_below(parts, limits.lowest) if limits.lowest > -math.inf else 0.0
        return below > tail, above > tail

    low_now, high_now = ends_past(0.0)
    mean_now = belief.value.value
    mean_then = sum(weight * mean for weight, mean, _ in belief.after(move))

    def passes(amount: float) -> bool:
        too_low, too_high = ends_past(amount)
        back_down, back_up = high_now and mean_then < mean_now, low_now and mean_then > mean_now
        return (too_high and not back_down) or (too_low and not back_up)

    if not passes(move):
        return move
    inside, outside = 0.0, 1.0
    for _ in range(20):
        middle = 0.5 * (inside + outside)
        if passes(middle * move):
            outside = middle
        else:
            inside = middle
    return inside * move


def clipped(move: float, remaining: tuple[float, float]) -> float:
    """Keep a move within the travel left down and up."""
    return max(remaining[0], min(remaining[1], move))


def on_step(move: float, control: ControlModel, *, towards_zero: bool = False) -> float:
    """Round a move to the control's steps, or cut it to them."""
    if control.smallest_step <= 0.0:
        return move
    steps = move / control.smallest_step
    whole = math.trunc(steps + math.copysign(1e-9, steps)) if towards_zero else round(steps)
    return whole * control.smallest_step
