"""Final downforce: three weighings or more, after everything that moves mass."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from core.estimation import Decision, Estimate, decide, disagreement
from core.fitting import Assessment, Context, Figure, Verdict
from core.language import Force, Interval, Message, Quantity, message
from core.steps.downforce import (
    FINAL,
    STOP_FACTOR,
    DownforceBand,
    DownforceJudge,
    Proposal,
    ScaleReading,
    WeighedDownforce,
    allowed_gf,
    are_parted,
    check_weighings,
    counted,
    downforce_state_of,
    events_of,
    float_to_the_mark,
    floated_by,
    hand_gf,
    question_first,
    scale_worth,
    stop_message,
)
from core.steps.final_downforce.zero import zero_first
from core.steps.shared import compared, counts_kept, times

NAME: Final = FINAL

FEWEST: Final = 3
"""Weighings before this step can be good: the trade's practice."""

_ENOUGH_TO_OUTVOTE: Final = 5

_ENOUGH_MOVES: Final = 3
"""After this many moves, no more are ordered if hands are too coarse for the tolerance: ours."""

_FINE_ENOUGH: Final = 0.9
"""A hand that lands inside the tolerance with this probability is fine enough."""

_LIKELY_RIGHT: Final = 0.88
"""With this probability of being inside it is good if a hand can't set it more finely."""

_SURELY_RIGHT: Final = 0.97
"""With this probability of being inside no move or weighing is worth its cost: our own."""

_ENOUGH_WEIGHINGS: Final = 8
_ENOUGH_CHECKS: Final = 8
_MOST_WEIGHINGS: Final = 12
"""So many weighings in one place, or of check weights, are enough where more settle nothing, and
so many in any case: what the scale itself may be off, no number of them removes. Our own."""

_NOTHING_GF: Final = 1e-9
_OUT_OF_LUCK: Final = 1.5
"""Within this many execution errors of the target the next try may end no nearer."""


def assess(context: Context) -> Assessment:
    """Judge the mean of the weighings since the last move.

    A move is ordered as soon as its direction is certain and the deviation is past the tolerance;
    good takes three weighings and an interval that lies inside the tolerance as a whole.
    """
    return counts_kept(context, _by_itself(context), _by_itself)


def _by_itself(context: Context) -> Assessment:
    """Answer regardless of the number of readings announced before."""
    room = _FinalDownforceJudge.of(counted(context))
    said = room.answer()
    if room.status.floated is None:
        said = zero_first(context, said)
    return question_first(context, said)


class _FinalDownforceJudge(DownforceJudge):
    @classmethod
    def of(cls, context: Context) -> _FinalDownforceJudge:
        events, cartridge = events_of(context), context.cartridge
        least, most = cartridge.downforce_min_gf, cartridge.downforce_max_gf
        target, tolerance = cartridge.downforce_target_gf, context.deck.tolerances.downforce_gf
        half_range = (most - least) / 2.0
        tolerance = min(tolerance, half_range) if half_range > 0.0 else tolerance
        status = downforce_state_of(events, NAME)
        return cls(
            context=context,
            events=events,
            worth=replace(scale_worth(context), floated_by=floated_by(status)),
            status=status,
            tolerance=tolerance,
            wanted=DownforceBand(target, least, most, STOP_FACTOR * most, tolerance),
            title=message("final_downforce.chart_title"),
        )

    def _floating_stands(self, now: Estimate) -> Assessment:
        """Judge it by the tolerance; a dial is seldom as fine, and is then left there."""
        said = float_to_the_mark(self.context, now, self.tolerance)
        if said is not None:
            return self._said(said)
        off = now.value - self.wanted.target_gf
        if decide(off, now.half_width(), self.tolerance) is Decision.GOOD:
            headline = message("final_downforce.good", value=_interval(now))
            return self._assessment(Verdict.GOOD, headline, now)
        headline = message("final_downforce.left_by_dial", value=_interval(now))
        note = message("final_downforce.note.by_dial", tolerance=Quantity(self.tolerance, "gf"))
        return self._assessment(Verdict.LEFT_AS_FOUND, headline, now, notes=(note,))

    def _without_reading(self) -> Assessment:
        if self.status.moved_since and self.status.before:
            return self._weigh_after_move(FEWEST)
        if self.context.trials and self.context.trials[-1].moves:
            return self._weigh(message("final_downforce.moved_not_weighed"), count=FEWEST)
        if self.worth.fault:
            return self._check_again()
        headline = message("final_downforce.weigh_first")
        return self._weigh(headline, verdict=Verdict.NO_READING, count=FEWEST)

    def _judged(self) -> Assessment:
        shown = self._shown
        now = self.worth.mean(shown)
        before = self._beforehand(shown, now) or self.went_against(now)
        return before or self._compared(shown, now)

    def _beforehand(self, shown: list[float], now: Estimate) -> Assessment | None:
        """Return what precedes any comparison with the target, if anything does."""
        half = now.half_width()
        most = self.context.cartridge.downforce_max_gf
        if (
            max(now.value, *shown) > self.wanted.stop_gf
            or most < now.value <= self.wanted.stop_gf < now.value + half
        ):
            return self._moving(Verdict.STOP, now, stop_message(now.value, self.wanted.stop_gf))
        if self.worth.fault:
            return self._check_again(now)
        old = self.zero_again(now)
        if old is not None:
            return old
        if self.worth.floats(*shown):
            return self._moving(Verdict.MOVE, now)
        odd = disagreement(shown, self.worth.read_gf)
        if odd is not None and len(shown) < _ENOUGH_TO_OUTVOTE:
            odd_one = Quantity(shown[odd.index], "gf")
            mean = None if are_parted(self.context, shown) else now
            named = compared(self.context, lambda one: isinstance(one, ScaleReading))
            return self._weigh(
                message("final_downforce.disagrees", value=odd_one), mean, notes=named
            )
        return None

    def _told(self, shown: list[float], now: Estimate) -> WeighedDownforce:
        return WeighedDownforce(shown, now, self.worth, self.wanted.target_gf, self.tolerance)

    def _compared(self, shown: list[float], now: Estimate) -> Assessment:
        deviation = now.value - self.wanted.target_gf
        decision = self._decision(shown, now)
        worth_weighing = self._in_range(now) and self._told(shown, now).few_more() is not None
        if decision is Decision.MOVE and worth_weighing:
            decision = Decision.READ_AGAIN
        if decision is not Decision.GOOD and self._in_range(now):
            near = self._as_near_as_hands_go(shown, now)
            if near is not None:
                return near
            near = self._as_near_as_the_scale_tells(shown, now, decision)
            if near is not None:
                return near
        if decision is Decision.MOVE:
            beyond = abs(deviation) - self.tolerance > _NOTHING_GF  # alike on both sides
            clear = beyond or not self._in_range(now)
            if len(shown) >= FEWEST or clear:
                return self._moving(Verdict.MOVE, now)
        if len(shown) < FEWEST:
            return self._weigh_on(len(shown), now)
        if decision is Decision.READ_AGAIN:
            return self._undecided(shown, now)
        headline = message("final_downforce.good", value=_interval(now))
        return self._assessment(Verdict.GOOD, headline, now)

    def _as_near_as_hands_go(self, shown: list[float], now: Estimate) -> Assessment | None:
        """Answer if the control, set by hand, is coarser than the tolerance.

        Then a move is poor advice if it is less likely to land inside the tolerance than the
        present setting, if several came as near as a hand can, or if it is smaller than the finest
        move.
        """
        proposal = self._propose(now)
        by_hand = hand_gf(self.context, proposal.trim.gain)
        told = self._told(shown, now)
        if told.chance_if(0.0, by_hand) >= _FINE_ENOUGH:
            return None
        then = told.chance_if(0.0, (by_hand**2 + told.sigma_gf**2) ** 0.5)
        near = told.chance >= max(then, _LIKELY_RIGHT)
        lucky = abs(told.deviation_gf) <= _OUT_OF_LUCK * by_hand
        done = (self._moves >= _ENOUGH_MOVES and lucky) or proposal.trim.move == 0.0
        if not (near or done):
            return None
        if len(shown) < FEWEST:
            return self._weigh_on(len(shown), now, stays=True)
        if near and told.few_more() is not None:
            return None
        if near:
            headline = message("final_downforce.good_by_hand", value=_interval(now))
            return self._assessment(Verdict.GOOD, headline, now)
        note = message("final_downforce.note.coarse_hand", by_hand=Quantity(by_hand, "gf"))
        headline = message("final_downforce.left_by_hand", value=_interval(now))
        return self._assessment(Verdict.LEFT_AS_FOUND, headline, now, notes=(note,))

    @property
    def _moves(self) -> int:
        return sum(bool(trial.moves) for trial in self.context.trials)

    def _as_near_as_the_scale_tells(
        self, shown: list[float], now: Estimate, decision: Decision
    ) -> Assessment | None:
        """Answer if the scale has told what it can and the rule still asks for more.

        A move that the rule asks for stands, unless several were made already and the setting is
        probably right.
        """
        told, moving = self._told(shown, now), decision is Decision.MOVE
        checks = len(check_weighings(self.context))
        least, most = allowed_gf(self.context.deck, self.context.cartridge)
        in_vain = moving or told.more() is None
        if in_vain and told.scale_decides and not moving:
            enough = FEWEST if checks >= _ENOUGH_CHECKS else _MOST_WEIGHINGS
        else:
            enough = _ENOUGH_WEIGHINGS if in_vain else _MOST_WEIGHINGS
        if len(shown) < enough or not least <= now.value <= most:
            return None
        unchecked = told.scale_decides and not self.worth.by_weight
        likely = told.chance >= _LIKELY_RIGHT and not unchecked
        if likely and (not moving or self._moves >= _ENOUGH_MOVES):
            headline = message("final_downforce.good_by_scale", value=_interval(now))
            return self._assessment(Verdict.GOOD, headline, now)
        if moving:
            return None
        note = message(
            "final_downforce.note.left_open",
            cure="scale" if told.scale_decides else "shelter",
            tolerance=Quantity(self.tolerance, "gf"),
            count=len(shown),
        )
        headline = message("final_downforce.left_by_scale", value=_interval(now))
        return self._assessment(Verdict.LEFT_AS_FOUND, headline, now, notes=(note,))

    def _weigh_on(self, taken: int, now: Estimate, *, stays: bool = False) -> Assessment:
        """Ask for the rest of three weighings; for one if another like it leads to a move.

        ``stays``: nothing is moved here any more.
        """
        more, value = FEWEST - taken, Quantity(now.value, "gf")
        is_off = abs(now.value - self.wanted.target_gf) - self.tolerance > _NOTHING_GF
        if not stays and (is_off or not self._in_range(now)):
            return self._weigh(message("final_downforce.weigh_again", value=value), now)
        headline = message("final_downforce.weigh_on", value=value, times=times(more))
        return self._weigh(headline, now, count=more)

    def _in_range(self, now: Estimate) -> bool:
        """Return whether the interval touches the maker's range."""
        low, high = now.interval()
        least, most = allowed_gf(self.context.deck, self.context.cartridge)
        return low <= most and high >= least

    def _decision(self, shown: list[float], now: Estimate) -> Decision:
        """Return good, a move, or more weighings; none of the latter if it is probably inside."""
        decision = decide(now.value - self.wanted.target_gf, now.half_width(), self.tolerance)
        if not self._in_range(now):
            return Decision.MOVE if decision is Decision.GOOD else decision
        enough = _SURELY_RIGHT if self._moves < _ENOUGH_MOVES else _LIKELY_RIGHT
        content = len(shown) >= FEWEST and self._told(shown, now).chance >= enough
        return Decision.GOOD if content else decision

    def _undecided(self, shown: list[float], now: Estimate) -> Assessment:
        told = self._told(shown, now)
        more = told.more()
        if more is not None:
            more = max(more, 1)
            headline = message("final_downforce.unsettled", value=_interval(now), times=times(more))
            return self._weigh(headline, now, count=more)
        note = message(
            "final_downforce.note.unsure",
            cause="scale" if told.scale_decides else "scatter",
            tolerance=Quantity(self.tolerance, "gf"),
        )
        if told.scale_decides:
            headline = message("final_downforce.scale_unsure")
            return self._weigh(headline, now, way="check weight", count=None, notes=(note,))
        return self._weigh(message("final_downforce.scatter"), now, count=None, notes=(note,))

    def _no_safe_move(self, now: Estimate, proposal: Proposal) -> Assessment:
        if len(self.status.now) < _ENOUGH_WEIGHINGS:
            return super()._no_safe_move(now, proposal)
        note = message("final_downforce.note.no_direction")
        headline = message("final_downforce.left_without_direction", value=_interval(now))
        return self._assessment(Verdict.LEFT_AS_FOUND, headline, now, notes=(note, *proposal.notes))

    def _why(self, verdict: Verdict, now: Estimate) -> tuple[Message, ...]:
        del verdict
        off = Quantity(abs(now.value - self.wanted.target_gf), "gf")
        side = "more" if now.value > self.wanted.target_gf else "less"
        return (message("final_downforce.note.off", side=side, value=Force(now.value), off=off),)

    def _in_danger(self, verdict: Verdict, now: Estimate | None) -> bool:
        return verdict is Verdict.STOP or (now is not None and now.value > self.wanted.stop_gf)

    def _figures(
        self, now: Estimate | None, predicted: Estimate | None, proposal: Proposal | None
    ) -> tuple[Figure, ...]:
        figures = super()._figures(now, predicted, proposal)
        shown = [self.worth.true_of(one) for one in self._shown]
        if len(shown) < 2:
            return figures
        mean = sum(shown) / len(shown)
        spread = (sum((v - mean) ** 2 for v in shown) / (len(shown) - 1)) ** 0.5
        return (*figures, Figure("spread", message("final_downforce.spread"), spread, "gf", 3))


def _interval(now: Estimate) -> Interval:
    return Interval(now.value, now.half_width(), "gf")
