"""Level: slopes along directions give the plane of the plinth, and each foot its turns.

Judged by the readings since the last move, of the instrument used last; a level's own error, found
by turning it end for end, stays known after the feet were moved.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from typing import Annotated, Final

from pydantic import Field

from core.drawing.chart import Picture
from core.estimation import (
    COVERAGE_FACTOR,
    Decision,
    Disagreement,
    Estimate,
    Response,
    decide,
    readings_needed,
    worth_reading,
)
from core.fitting import (
    Act,
    Applicability,
    Assessment,
    Choices,
    Context,
    Control,
    Figure,
    Guard,
    Move,
    NextReading,
    Verdict,
    ways_for,
)
from core.language import Interval, Message, Name, Quantity, Series, message
from core.physics.feet import FootPlan, plan_feet
from core.physics.plane import PlaneFit
from core.records import Cartridge, Deck, FeetControl
from core.steps.level.chart import FootMark, LevelView, draw_level, high_side
from core.steps.level.feet import called_in_words, feet_of, move_of, shims_of, smallest_slope
from core.steps.level.readings import (
    Bubble,
    BubbleAtEnd,
    Direction,
    Inclinometer,
    Ruler,
    SlopeRead,
    WaterGlass,
    direction_name,
)
from core.steps.level.state import plane_states_of
from core.steps.shared import asked_first, asked_of, compared, counts_kept, does_not_answer

NAME: Final = "level"

Readings = Annotated[
    Bubble | Inclinometer | Ruler | WaterGlass | BubbleAtEnd, Field(discriminator="way")
]

_WORTH_SAYING: Final = 0.15
_CARE: Final = (Guard("arm_locked", Act.MOVE), Guard("lifting", Act.MOVE))

_COARSE_MOVES: Final = 1
"""After so many that left the bubble at the end of its vial another instrument is asked for. Who
has none reads the bubble there again."""

_COARSE_REACH: Final = 2.0
"""A bubble at its end is moved by so many times what its vial holds, and never further: then it
stands at the other end at worst. The end tells no more, however often the bubble stays there."""

_EXPLAINED: Final = 0.5
"""Moves that foretell this share of the vial's reach explain a bubble at its end: our allowance."""

_MOST_ROUNDS: Final = 8
"""After so many rounds of turning, feet that still don't do as asked want looking at themselves."""


_ENOUGH_ROUNDS: Final = 3
"""After so many rounds a tilt that is most likely inside its tolerance is read on, not turned: a
coarse way sees another one after each move. Our own allowance."""

_COARSE: Final = 0.5
"""A way with a reading error above this share of the tolerance needs many readings."""

_ENOUGH_OF_A_COARSE_WAY: Final = 12
"""This many readings in one place are asked for only once: our own allowance."""


class LevelChoices(Choices):
    """No choices: the tolerance belongs to the deck."""


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Return whether the feet can be turned; a deck can always be read."""
    adjusts = deck.plinth.control is not FeetControl.NONE
    return Applicability(
        reads=True,
        adjusts=adjusts,
        ways=ways_for(Readings, deck, cartridge),
        reason=None if adjusts else message("level.note.no_foot_turns"),
    )


def assess(context: Context) -> Assessment:
    """Judge the plane and say what each foot has to do."""
    return counts_kept(context, _by_itself(context), _by_itself)


def _by_itself(context: Context) -> Assessment:
    """Answer regardless of the number of readings announced before."""
    return _LevelJudge(context).assessment()


class _LevelJudge:
    """The judgement of one case."""

    def __init__(self, context: Context) -> None:
        self.context, self.deck = context, context.deck
        self.tolerance = context.deck.tolerances.level_mm_per_m
        self.states = plane_states_of(context)
        self.last = self.states.last
        self.gains = self.states.gains
        self.fit = self.states.settled_fit()
        in_doubt = bool(self.last.ended) or self.last.differs is not None
        self.shown = None if in_doubt else self.fit
        """What is shown: no figure is made of contradictory readings, nor of a vial's end."""

    def assessment(self) -> Assessment:
        fit = self.last.fit
        if self.last.ended and (self.last.differs is None or self.last.insisted):
            return self._at_the_end()
        if self.states.ends_in_move:
            return self._moved()
        if not self.last.readings:
            asked = NextReading(
                values={"direction": Direction.LEFT_RIGHT, "turned": False}, count=None
            )
            along = direction_name(Direction.LEFT_RIGHT)
            headline = message("level.no_reading", direction=along)
            return self._ask(headline, asked, Verdict.NO_READING)
        if self.last.differs is not None:
            odd, apart = self.last.differs
            return self._ask(
                message("level.two_differ", reading=odd.name, size=_slope(apart)),
                NextReading(values=odd.along(turned=odd.turned)),
                notes=[
                    *self._named(odd),
                    message("level.note.which_end", many="yes" if self.last.aside else "no"),
                ],
            )
        if fit is None:
            return self._one_direction()
        return self._judged(self.fit or fit) if fit.worst is None else self._odd(fit.worst)

    def _named(self, odd: SlopeRead) -> tuple[Message, ...]:
        """Name the readings of the same direction, the level laid the same way round."""
        return compared(
            self.context, lambda one: isinstance(one, SlopeRead) and one.name == odd.name
        )

    def _odd(self, worst: Disagreement) -> Assessment:
        """Ask again for the reading that does not fit the others."""
        odd = self.last.readings[worst.index]
        return self._ask(
            message("level.disagrees", reading=odd.name, size=_slope(abs(worst.residual))),
            NextReading(values=odd.along(turned=odd.turned)),
            notes=[message("level.note.not_one_plane")],
        )

    def _at_the_end(self) -> Assessment:
        """Answer for a bubble at the end of its vial: move coarsely, or read in another way."""
        slope = self.states.least_slope(self.last)
        if self._may_be_its_own_error(slope):
            return self._turn_it_round(self.last.ended[-1])
        found, side = slope, high_side(*slope)
        back = self._turned_back(slope)
        if back is not None:
            return back
        times = self._times_the_end(slope)
        slope = (times * slope[0], times * slope[1])
        plan = plan_feet(slope, feet_of(self.deck, self.states.travelled()))
        gained = math.hypot(*slope) - plan.remaining_tilt_mm_per_m
        most = _MOST_ROUNDS if self.last.insisted else _COARSE_MOVES
        if self.states.moves_in_vain < most and gained > 0.1 * math.hypot(*slope):
            answer = self._unanswered() or self._move(plan, knows_rest=False)
            order, does = answer.next_move, "asks"
            if order is not None:
                order = replace(order, predicted=message("level.feet.predicted_at_the_end"))
                does = "moves again" if self.states.on_this_side() else "moves"
            note = self._end_note(does, found)
            return replace(answer, next_move=order, notes=(note, *self._coarsely(), *answer.notes))
        way = "inclinometer" if self.deck.bench.has_inclinometer else "water"
        note = self._end_note(f"reads {way}", found)
        headline = message("level.at_the_end", side=side, way=way)
        asked = NextReading(way=way, count=None, instead=True)
        return self._ask(headline, asked, notes=[note])

    def _end_note(self, does: str, least: tuple[float, float]) -> Message:
        """Say what a bubble at the end of its vial tells; ``does`` is what is done about it."""
        return message(
            "level.note.at_the_end",
            does=does,
            side=high_side(*least),
            size=_slope(math.hypot(*least)),
            end=Quantity(self.deck.bench.bubble_range_div, "div", form="short"),
        )

    def _turned_back(self, least: tuple[float, float]) -> Assessment | None:
        """Answer for a bubble that the last move drove out of its vial, against its entry.

        Nothing tells how far it leans now, and not which way a foot was turned. But before that
        move the bubble stood in the vial, so what was turned is turned back, whichever way it went.
        """
        states = self.states
        lifts = states.turned[-1] if states.turned else None
        if lifts is None or not any(lifts) or lifts != states.lifts[-1]:
            return None
        before = states.all[-2]
        if before.fit is None or before.ended or self._explains(least):
            return None
        asked = self._unanswered() if states.answers.asks else None
        if asked is not None:
            notes = (self._end_note("asks", least), message("level.note.driven_out"))
            return replace(asked, notes=(*notes, *asked.notes))
        plan = FootPlan(tuple(-lift for lift in lifts), before.fit.slope)
        move, headline, at_feet = move_of(plan, self.deck, (1.0,) * len(lifts))
        move = replace(
            move,
            predicted=message("level.feet.predicted_back"),
            reason=message("level.feet.why_back"),
        )
        return self._answer(
            Verdict.MOVE,
            headline,
            next_move=move,
            notes=[message("level.note.turn_back"), *self._rocking()],
            cautions=_CARE,
            predicted=plan.remaining_mm_per_m,
            at_feet=at_feet,
        )

    def _explains(self, least: tuple[float, float]) -> bool:
        """Whether the moves as entered foretell a bubble at this end."""
        return self._foretold_along(least) >= _EXPLAINED

    def _foretold_along(self, least: tuple[float, float]) -> float:
        """Return how many times the least slope the moves foretell, along it; 0 if nothing."""
        foretold = self.states.foretold()
        if foretold is None:
            return 0.0
        return (foretold[0] * least[0] + foretold[1] * least[1]) / math.hypot(*least) ** 2

    def _may_be_its_own_error(self, least: tuple[float, float]) -> bool:
        """Whether the level's own error may hold the bubble there, so that nothing leans for sure.

        It is turned end for end then: an error of its own drives the bubble to the other end.
        """
        ways = {one.turned for one in (*self.last.readings, *self.last.ended)}
        unknown = not self.last.zero_known and len(ways) == 1
        own = COVERAGE_FACTOR * self.deck.bench.level_zero_error_mm_per_m
        return unknown and math.hypot(*least) <= own

    def _turn_it_round(self, last: SlopeRead) -> Assessment:
        """Ask for the same direction with the level turned end for end."""
        back = "yes" if last.turned else "no"
        note = message("level.note.own_error_may_hold_it")
        return self._ask(
            message("level.turn_the_level", back=back, direction=last.line),
            NextReading(values=last.along(turned=not last.turned), why=note),
            notes=[note],
        )

    def _coarsely(self) -> tuple[Message, ...]:
        """Say what is not known of a lean that moves the bubble to the end of its vial."""
        read = (*self.last.readings, *self.last.ended)
        lines = {round(one.marked_end_deg() * 1e6) % 180_000_000 for one in read}
        turned = {one.turned for one in read}
        hidden = not self.last.zero_known and len(turned) == 1
        if len(lines) > 1 and not hidden:
            return ()
        lack = "direction" if not hidden else "both" if len(lines) == 1 else "own error"
        return (message("level.note.coarse_move", lack=lack),)

    def _times_the_end(self, least: tuple[float, float]) -> float:
        """Return how many times the least slope a coarse move corrects.

        Where the moves explain that the bubble stands there, as much as they foretell.
        """
        along = self._foretold_along(least)
        return min(_COARSE_REACH, max(along, 1.0)) if self._explains(least) else _COARSE_REACH

    def _moved(self) -> Assessment:
        predicted = self.states.foretold()
        headline = message("level.read_after_move")
        figures: tuple[Figure, ...] = ()
        if predicted is not None:
            size = math.hypot(*predicted)
            headline = message("level.read_after_move_expected", size=_slope(size))
            label = message("level.figure.expected")
            figures = (Figure("predicted_tilt", label, size, "mm/m", decimals=1),)
        notes = [message("level.note.earlier_readings")]
        if self.states.zero_stays_known:
            notes.append(message("level.note.own_error_known"))
        asked = NextReading(
            values={"direction": Direction.LEFT_RIGHT, "turned": False},
            count=2 if self.states.zero_stays_known else None,
        )
        return self._ask(headline, asked, figures=figures, notes=notes, predicted=predicted)

    def _one_direction(self) -> Assessment:
        first = self.last.readings[-1]
        sideways = abs(math.sin(math.radians(first.marked_end_deg()))) > 0.5
        other = Direction.FRONT_BACK if sideways else Direction.LEFT_RIGHT
        along = self.last.line[1] if self.last.line else 0.0
        label = message("level.figure.slope_along", direction=first.line)
        return self._ask(
            message("level.another_direction", direction=direction_name(other)),
            NextReading(values={"direction": other, "turned": first.turned}),
            figures=(Figure("slope_along", label, along, "mm/m", 1, ways=_ends(first.direction)),),
            notes=[message("level.note.no_plane", slope=_slope(abs(along)))],
        )

    def _judged(self, fit: PlaneFit) -> Assessment:
        tilt = fit.tilt
        size, side = _slope(tilt.value), high_side(*fit.slope)
        decision = decide(
            tilt.value, tilt.half_width(), self.tolerance, smallest_effect=smallest_slope(self.deck)
        )
        if decision is Decision.READ_AGAIN:
            return self._undecided(tilt)
        most = tilt.value + tilt.half_width()
        if most <= self.tolerance:
            headline = message("level.level_within", size=_slope(most))
            return self._good(headline, self._rocking())
        reads_on = self._worth_reading(tilt) or self._was_turned_enough(tilt)
        if decision is Decision.MOVE and reads_on:
            return self._undecided(tilt)
        ordered = self._by_feet(fit, side, size) if decision is Decision.MOVE else None
        if ordered is not None:
            return ordered
        shown = not self.states.turned_unseen  # else nobody knows that they can do no more
        notes = [*([self._lack()] if shown else ()), *self._rocking()]
        if tilt.value <= self.tolerance:
            return self._good(message("level.level_to", size=size), notes)
        shims = shims_of(fit.slope, self.deck)
        if shims is None:
            headline = message("level.leave_it", side=side, size=size)
        else:
            headline = message("level.shims_would_help", side=side, size=size)
        return self._answer(
            Verdict.LEFT_AS_FOUND,
            headline,
            next_move=shims,
            notes=notes,
            cautions=_CARE,
            predicted=(0.0, 0.0) if shims else None,
            at_feet={
                part.where: message("level.feet.shim", thickness=Quantity(part.amount, "mm"))
                for part in (shims.parts if shims else ())
            },
        )

    def _good(self, headline: Message, notes: list[Message]) -> Assessment:
        """Answer that it is level, unless the last move's entry does not explain the reading.

        One of the two is mistaken then, and nothing tells that it is the move.
        """
        answers = self.states.answers
        contradicts = answers.asks and (answers.against or answers.beyond)
        contradicts = contradicts or bool(self.states.foot_in_question)
        asked = self._unanswered() if contradicts else None
        return asked or self._answer(Verdict.GOOD, headline, notes=notes)

    def _unanswered(self) -> Assessment | None:
        """Ask about feet that did not respond to the last move, or give them up."""
        answers = self.states.answers
        if answers.gave_up:
            headline, note = does_not_answer(Control.FOOT)
            return self._answer(Verdict.LEFT_AS_FOUND, headline, notes=[note, *self._rocking()])
        foot = self.states.foot_in_question
        if foot:
            return self._which_way(foot)
        if not answers.asks:
            return None
        headline = message("level.read_after_move")
        said = self._answer(Verdict.READ_AGAIN, headline, notes=self._rocking())
        return asked_of(said, self.context, Control.FOOT, answers, at_end=bool(self.last.ended))

    def _which_way(self, foot: str) -> Assessment:
        """Ask which way one of several feet was turned, for the readings say the other way."""
        headline = message("level.which_way", foot=called_in_words(foot))
        said = self._answer(Verdict.READ_AGAIN, headline, notes=self._rocking())
        asked = asked_first(said, self.context, Control.FOOT, foot, against=True)
        wanted = asked.next_reading and replace(asked.next_reading, why=headline)
        return replace(asked, headline=headline, next_reading=wanted)

    def _by_feet(self, fit: PlaneFit, side: Message, size: Quantity) -> Assessment | None:
        """Answer what the feet can correct or failed to; None if they can do no more."""
        plan = plan_feet(fit.slope, feet_of(self.deck, self.states.travelled()))
        if self._worth(plan, fit.tilt):
            return self._unanswered() or self._turned(plan, side, size)
        return self._unseen(fit.tilt) if self.states.turned_unseen else None

    def _unseen(self, tilt: Estimate) -> Assessment | None:
        """Answer for feet whose turns have not shown, with no further order possible.

        None if it is certainly not level: that holds whatever the feet did.
        """
        asked = self._unanswered()
        if asked is not None:
            return asked
        if self.states.answers.last is Response.NOTHING:
            headline, note = does_not_answer(Control.FOOT)
            return self._answer(Verdict.LEFT_AS_FOUND, headline, notes=[note, *self._rocking()])
        return self._left_by_way(tilt) if tilt.value <= self.tolerance else None

    def _turned(self, plan: FootPlan, side: Message, size: Quantity) -> Assessment:
        return self._in_vain(side, size) if self._rounds >= _MOST_ROUNDS else self._move(plan)

    @property
    def _rounds(self) -> int:
        """How often feet were turned."""
        return sum(lifts is None or any(lifts) for lifts in self.states.lifts)

    def _was_turned_enough(self, tilt: Estimate) -> bool:
        """Whether it is most likely level after several rounds, and more readings may show it."""
        more = self._is_coarse or len(self.last.readings) < _ENOUGH_OF_A_COARSE_WAY
        return self._rounds >= _ENOUGH_ROUNDS and tilt.value <= self.tolerance and more

    @property
    def _is_coarse(self) -> bool:
        """Whether one reading of this way tells little beside the tolerance."""
        return self.last.slopes[-1].standard_uncertainty_mm_per_m > _COARSE * self.tolerance

    def _in_vain(self, side: Message, size: Quantity) -> Assessment:
        """Answer for feet that were turned repeatedly and did something else each time."""
        return self._answer(
            Verdict.LEFT_AS_FOUND,
            message("level.do_not_obey", side=side, size=size),
            notes=[message("level.note.look_at_the_feet"), *self._rocking()],
        )

    def _worth_reading(self, tilt: Estimate) -> bool:
        """Whether a few more readings would show it level as it is, for less than a move.

        As long as the level's own error is unknown, turning it end for end is such a reading.
        """
        if not self.last.zero_known:
            return tilt.value <= self.tolerance
        count = len(self.last.readings)
        sigma = tilt.standard_uncertainty * math.sqrt(count)
        return worth_reading(tilt.value, self.tolerance, sigma, count) is not None

    def _undecided(self, tilt: Estimate) -> Assessment:
        value = _interval(tilt)
        last = self.last.readings[-1]
        if not self.last.zero_known:
            back = "yes" if last.turned else "no"
            note = message("level.note.own_error_hides", tilt=value)
            return self._ask(
                message("level.turn_the_level", back=back, direction=last.line),
                NextReading(values=last.along(turned=not last.turned), why=note),
                notes=[note],
            )
        count = len(self.last.readings)
        if self._is_coarse and count >= _ENOUGH_OF_A_COARSE_WAY:
            return self._left_by_way(tilt)
        needed = readings_needed(
            tilt.value, self.tolerance, tilt.standard_uncertainty * math.sqrt(count), count
        )
        if needed is None:
            note = message("level.note.finer_level")
            asked = NextReading(count=None, longer=True, why=note)
        else:
            note = message("level.note.more_readings", count=max(needed, 1))
            asked = NextReading(count=max(needed, 1), why=note)
        return self._ask(message("level.decides_nothing", tilt=value), asked, notes=[note])

    def _left_by_way(self, tilt: Estimate) -> Assessment:
        way = message("level.way", way=self.last.readings[-1].way)
        headline = message("level.left_by_way", tilt=_interval(tilt), way=way)
        notes = [message("level.note.finer_level"), *self._rocking()]
        return self._answer(Verdict.LEFT_AS_FOUND, headline, notes=notes)

    def _worth(self, plan: FootPlan, tilt: Estimate) -> bool:
        """Whether a plan reaches the tolerance, or improves by more than a reading's error."""
        gain = tilt.value - plan.remaining_tilt_mm_per_m
        if not any(abs(lift) >= 0.005 for lift in plan.lifts_mm):
            return False
        if plan.remaining_tilt_mm_per_m <= self.tolerance < tilt.value:
            return True
        return gain > max(tilt.half_width(), 0.1 * self.tolerance)

    def _move(self, plan: FootPlan, *, knows_rest: bool = True) -> Assessment:
        move, headline, at_feet = move_of(plan, self.deck, self.states.bounded(self.gains))
        notes = self._rocking()
        if any(gain < 0.0 for gain in self.gains):
            names = tuple(
                Name(foot.name)
                for foot, gain in zip(self.deck.plinth.feet, self.gains, strict=True)
                if gain < 0
            )
            back = message("level.note.turns_the_other_way", count=len(names), feet=Series(names))
            notes.insert(0, back)
        elif any(abs(gain - 1.0) > _WORTH_SAYING for gain in self.gains):
            notes.insert(0, message("level.note.feet_turn"))
        if knows_rest and plan.remaining_tilt_mm_per_m > self.tolerance:
            rest = _slope(plan.remaining_tilt_mm_per_m)
            notes.insert(0, message("level.note.rest_stays", rest=rest, lack=self._lack()))
        return self._answer(
            Verdict.MOVE,
            headline,
            next_move=move,
            notes=notes,
            cautions=_CARE,
            predicted=plan.remaining_mm_per_m,
            at_feet=at_feet,
        )

    def _lack(self) -> Message:
        return message("level.note.lack", control=self.deck.plinth.control)

    def _rocking(self) -> list[Message]:
        count = len(self.deck.plinth.feet)
        if count < 4:
            return []
        mend = message("level.note.rocking_mend", control=self.deck.plinth.control)
        return [message("level.note.rocking", count=count, mend=mend)]

    def _ask(
        self,
        headline: Message,
        asked: NextReading,
        verdict: Verdict = Verdict.READ_AGAIN,
        *,
        figures: tuple[Figure, ...] = (),
        notes: list[Message] | None = None,
        predicted: tuple[float, float] | None = None,
    ) -> Assessment:
        answer = self._answer(verdict, headline, figures=figures, notes=notes, predicted=predicted)
        return replace(answer, next_reading=replace(asked, why=asked.why or headline))

    def _answer(
        self,
        verdict: Verdict,
        headline: Message,
        *,
        next_move: Move | None = None,
        figures: tuple[Figure, ...] = (),
        notes: list[Message] | None = None,
        cautions: tuple[Guard, ...] = (),
        predicted: tuple[float, float] | None = None,
        at_feet: dict[str, Message] | None = None,
    ) -> Assessment:
        said = list(notes or ())
        if self.shown is not None:
            figures = (*self._figures(self.shown), *figures)
        if self.fit is not None:
            said += self._provisos()
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(self._picture, predicted, at_feet or {}),
            next_move=next_move,
            figures=figures,
            notes=tuple(said),
            cautions=cautions,
            method=self._method(),
        )

    def _provisos(self) -> list[Message]:
        surprise = self.states.surprise()
        notes = [surprise] if surprise else []
        aside = self.last.aside
        if len(aside) == 1:
            notes.append(message("level.note.set_aside", reading=aside[0].name))
        elif aside:
            notes.append(message("level.note.several_aside", count=len(aside)))
        if not self.last.zero_known:
            notes.append(message("level.note.not_turned"))
        return notes

    def _figures(self, fit: PlaneFit) -> tuple[Figure, ...]:
        tilt, angle, gx, gy = fit.tilt, fit.tilt_deg, fit.gx, fit.gy
        bearing = round(fit.high_bearing_deg, 6) % 360.0
        has_high_side = fit.tells_high_side and bool(round(tilt.value, 1))
        deg, right = message("level.figure.tilt_deg"), message("level.figure.left_to_right")
        back = message("level.figure.front_to_back")
        figures = [
            Figure(
                "tilt",
                message("level.figure.tilt"),
                tilt.value,
                "mm/m",
                decimals=1,
                half_width=tilt.half_width(),
                target=0.0,
                tolerance=self.tolerance,
                note=message("level.figure.tilt_note", side=high_side(*fit.slope))
                if has_high_side
                else None,
            ),
            Figure("tilt_deg", deg, angle.value, "°", 2, angle.half_width()),
            *(
                [Figure("high_bearing", message("level.figure.bearing"), bearing, "°", 0)]
                if has_high_side
                else []
            ),
            _along("slope_right", right, gx, Direction.LEFT_RIGHT),
            _along("slope_back", back, gy, Direction.FRONT_BACK),
        ]
        zero = self.last.zero_error
        if zero is not None:
            label = message("level.figure.own_error")
            ways = message("level.own_error.marked"), message("level.own_error.other")
            own = Figure("zero_error", label, zero.value, "mm/m", 2, zero.half_width(), ways=ways)
            figures.append(own)
        return tuple(figures)

    def _method(self) -> Message | None:
        state = next((state for state in reversed(self.states.all) if state.readings), None)
        if state is None:
            return None
        way = message("level.way", way=state.readings[-1].way)
        known = "known" if state.zero_known else "not known"
        return message("level.method", own_error=known, way=way)

    def _picture(self, predicted: tuple[float, float] | None, at: dict[str, Message]) -> Picture:
        fit, line = self.shown, self.last.line
        view = LevelView(
            feet=tuple(
                FootMark(
                    foot.x_mm,
                    foot.y_mm,
                    message("level.feet.at_foot", foot=Name(foot.name), change=at[foot.name])
                    if foot.name in at
                    else message("common.value", value=Name(foot.name)),
                )
                for foot in self.deck.plinth.feet
            ),
            tolerance=self.tolerance,
            now=fit.slope if fit else None,
            half_width=fit.tilt.half_width() if fit else 0.0,
            before=tuple(state.fit.slope for state in self.states.all[:-1] if state.fit),
            predicted=predicted,
            line=line[0] if line else None,
            along=line[1] if line else 0.0,
        )
        return draw_level(view)


def _along(key: str, label: Message, slope: Estimate, direction: Direction) -> Figure:
    half, ways = slope.half_width(), _ends(direction)
    return Figure(key, label, slope.value, "mm/m", 1, half, ways=ways)


def _ends(direction: Direction) -> tuple[Message, Message]:
    """Return which end is high for a positive slope along a line, and for a negative one."""
    return message("level.high", direction=direction), message("level.low", direction=direction)


def _interval(tilt: Estimate) -> Interval:
    return Interval(tilt.value, tilt.half_width(), "mm/m", 1)


def _slope(mm_per_m: float) -> Quantity:
    return Quantity(mm_per_m, "mm/m", 1)
