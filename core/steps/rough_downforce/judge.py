"""Rough downforce: safe enough for a stylus to touch a record at all.

Nothing before this step lowers the stylus on a record, and nothing after it may while this step's
verdict is not good (:mod:`core.workflow.replay` holds that gate).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from core.estimation import COVERAGE_FACTOR, Estimate, disagreement
from core.fitting import Assessment, Context, Verdict
from core.language import Force, Interval, Message, Quantity, message
from core.steps.downforce import (
    FINAL,
    ROUGH,
    STOP_FACTOR,
    DownforceBand,
    DownforceJudge,
    ScaleReading,
    are_parted,
    counted,
    downforce_state_of,
    events_of,
    floated_by,
    question_first,
    scale_worth,
    stop_message,
)
from core.steps.shared import compared, counts_kept, times

NAME: Final = ROUGH

_MORE_READINGS: Final = 3
"""Most further weighings asked for here: beyond it a move is surer."""


def assess(context: Context) -> Assessment:
    """Judge the weighings that stand since the last move.

    Good inside the maker's range with the whole 95 % interval; outside it a move; above 1.5 times
    the maximum a stop; an interval that straddles a limit is weighed again, unless that would
    take too many weighings: then the move to the target is surer.
    """
    return counts_kept(context, _by_itself(context), _by_itself)


def _by_itself(context: Context) -> Assessment:
    """Answer regardless of the number of readings announced before."""
    return question_first(context, _RoughDownforceJudge.of(counted(context)).answer())


@dataclass(frozen=True, slots=True)
class _RoughDownforceJudge(DownforceJudge):
    """What is safe for now: the maker's range, at least as wide as the tolerance."""

    low: float
    high: float

    @classmethod
    def of(cls, context: Context) -> _RoughDownforceJudge:
        events, cartridge = events_of(context), context.cartridge
        least, most = cartridge.downforce_min_gf, cartridge.downforce_max_gf
        target, tolerance = cartridge.downforce_target_gf, context.deck.tolerances.downforce_gf
        status = downforce_state_of(events, NAME)
        return cls(
            context=context,
            events=events,
            worth=replace(scale_worth(context), floated_by=floated_by(status)),
            status=status,
            tolerance=max((most - least) / 2.0, tolerance),
            wanted=DownforceBand(target, least, most, STOP_FACTOR * most),
            title=message("rough_downforce.chart_title"),
            low=min(least, target - tolerance),
            high=max(most, target + tolerance),
        )

    def _floating_stands(self, now: Estimate) -> Assessment:
        value = Interval(now.value, now.half_width(), "gf")
        return self._assessment(Verdict.GOOD, message("rough_downforce.safe", value=value), now)

    def _without_reading(self) -> Assessment:
        if self.status.moved_since:
            return self._weigh_after_move()
        if self.worth.fault:
            return self._check_again()
        if any(trial.reading for trial in self.context.trials):
            headline = message("rough_downforce.scale_checked")
        else:
            headline = message("rough_downforce.put_on")
        return self._weigh(headline, verdict=Verdict.NO_READING)

    def _judged(self) -> Assessment:
        shown = self._shown
        now, stop_gf = self.worth.mean(shown), self.wanted.stop_gf
        half = now.half_width()
        low, high = now.value - half, now.value + half
        perhaps = now.value > self.high and high > stop_gf
        if perhaps or max(now.value, *shown) > stop_gf:
            return self._moving(Verdict.STOP, now, stop_message(now.value, stop_gf))
        old = self._check_again(now) if self.worth.fault else self.zero_again(now)
        if old is not None:
            return old
        if low > self.high or high < self.low or self.worth.floats(*shown):
            return self._moving(Verdict.MOVE, now)
        before = tuple(event for event in self.events if event.step != FINAL)
        asked = replace(self, events=before).went_against(now)
        if asked is not None:
            return asked
        if self.low <= low and high <= self.high:
            headline = message("rough_downforce.safe", value=Quantity(now.value, "gf"))
            return self._assessment(Verdict.GOOD, headline, now)
        return self._doubtful(shown, now)

    def _doubtful(self, shown: list[float], now: Estimate) -> Assessment:
        """Judge an interval that straddles a limit of the range."""
        odd = disagreement(shown, self.worth.read_gf)
        if odd is not None and len(shown) <= _MORE_READINGS:
            mean = None if are_parted(self.context, shown) else now
            named = compared(self.context, lambda one: isinstance(one, ScaleReading))
            return self._weigh(message("rough_downforce.disagree"), mean, notes=named)
        more = self._weighings_to_settle(shown, now)
        if more is not None:
            value = Quantity(now.value, "gf")
            headline = message("rough_downforce.near_a_limit", value=value, times=times(more))
            return self._weigh(headline, now, count=more)
        if abs(now.value - self.wanted.target_gf) > now.half_width():
            return self._moving(Verdict.MOVE, now)
        headline, note = (
            message("rough_downforce.too_coarse"),
            message("rough_downforce.note.too_coarse"),
        )
        return self._weigh(headline, now, way="check weight", count=None, notes=(note,))

    def _weighings_to_settle(self, shown: list[float], now: Estimate) -> int | None:
        mean = sum(shown) / len(shown)
        lasting = self.worth.calibration_gf(mean)
        free = max(now.half_width() ** 2 - (COVERAGE_FACTOR * lasting) ** 2, 0.0)
        for more in range(1, _MORE_READINGS + 1):
            share = len(shown) / (len(shown) + more)
            half = (free * share + (COVERAGE_FACTOR * lasting) ** 2) ** 0.5
            low, high = now.value - half, now.value + half
            inside = self.low <= low and high <= self.high
            if inside or low > self.high or high < self.low:
                return more
        return None

    def _why(self, verdict: Verdict, now: Estimate) -> tuple[Message, ...]:
        if verdict is not Verdict.MOVE:
            return ()
        off = message(
            "rough_downforce.note.off",
            side="more" if now.value > self.wanted.target_gf else "less",
            value=Force(now.value),
            low=Quantity(self.wanted.low_gf, "", 2),
            high=Quantity(self.wanted.high_gf, "gf"),
        )
        return (off,)

    def _in_danger(self, verdict: Verdict, now: Estimate | None) -> bool:
        del now
        return verdict not in (Verdict.GOOD, Verdict.NO_READING)
