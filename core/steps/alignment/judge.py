"""Alignment: effective length and offset angle, read on a protractor, by slide and twist.

The rule for 'good' is in :mod:`core.steps.alignment.decision`; readings and moves are combined in
:mod:`core.steps.alignment.state`. After the last slide or twist the screws are tightened and both
radii read once more, before anything is called good.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property, partial
from typing import Final

from core.estimation import COVERAGE_FACTOR, Decision
from core.fitting import (
    Act,
    Applicability,
    Assessment,
    Context,
    Control,
    Figure,
    Guard,
    Move,
    MovePart,
    NextReading,
    Verdict,
    ways_for,
)
from core.language import Interval, Label, Message, Quantity, Series, Value, message
from core.physics.arm_geometry import PivotedArm
from core.physics.tracking_distortion import worst_tracking
from core.records import ArmKind, Cartridge, Deck, HeadKind, Mounting
from core.steps.alignment import chart as draw
from core.steps.alignment.decision import (
    AlignmentDecider,
    AlignmentDecision,
    AlignmentTarget,
    slide_decision,
)
from core.steps.alignment.doubts import doubts_of
from core.steps.alignment.effects import disturbed_by
from core.steps.alignment.figures import HEAD, found_figures, wanted_figures
from core.steps.alignment.readings import NAME, AlignmentChoices, AlignmentReading, Readings
from core.steps.alignment.slots import HeadAnswers
from core.steps.alignment.state import Where, where_of
from core.steps.alignment.target import Aim, Distance, NoTarget, aim_of, head_slides, pivot_for
from core.steps.shared import (
    amount,
    asked_of,
    compared,
    counts_kept,
    does_not_answer,
    history,
    method_of,
    questioned,
    without,
)

_FEW_ENOUGH: Final = 3
"""Beyond this number of angle readings a reading of the landing is worth more."""

_HELD: Final = 0.3
"""Held back by the slots by more of the tolerance, a target is called the best within reach."""


_BOTH: Final = "landing and angles"

_WHY_GOOD: Final = frozenset({"alignment.by_numbers", "alignment.by_effect"})
"""Notes on a good alignment, which don't belong beside a question about a reading."""


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Return what can be read and moved; there is always something to read."""
    ways = ways_for(Readings, deck, cartridge)
    if deck.arm.kind is ArmKind.PIVOTED_STRAIGHT:
        ways = tuple(sorted(ways, key=lambda way: way != "landing"))  # the usual one first
    adjusts = head_slides(deck, cartridge) or (deck.arm.is_pivoted and deck.head.base_slides)
    return Applicability(
        reads=True,
        adjusts=adjusts,
        ways=ways,
        reason=None if adjusts else _neither_slides(deck, cartridge),
    )


def _neither_slides(deck: Deck, cartridge: Cartridge) -> Message:
    plug_in = deck.head.kind is HeadKind.PLUG_IN or cartridge.mounting is Mounting.PLUG_IN
    return message("alignment.neither_slides", kind="plug_in" if plug_in else "holes")


def assess(context: Context) -> Assessment:
    """Judge the readings and moves so far."""
    return counts_kept(context, _by_itself(context), _by_itself)


def _by_itself(context: Context) -> Assessment:
    """Answer regardless of the number of readings announced before."""
    doubts = doubts_of(context)
    said = _judged(without(context, NAME, doubts), len(doubts))
    asked = questioned(context, doubts, said)
    if asked.headline == said.headline:
        return asked
    notes = tuple(note for note in asked.notes if note.key not in _WHY_GOOD)
    return replace(asked, notes=notes)


def _judged(context: Context, aside: int) -> Assessment:
    """Judge the readings that count; those set ``aside`` were an effort too."""
    chosen = context.chosen.get(NAME)
    if not isinstance(chosen, AlignmentChoices):
        chosen = AlignmentChoices()
    events = history(context, disturbed_by)
    aim = aim_of(context, chosen, events)
    if isinstance(aim, NoTarget):
        verdict = Verdict.READ_AGAIN if context.trials else Verdict.NO_READING
        drawing = draw.nothing(chosen.groove_radii)
        reading = NextReading(way=aim.way, count=None, why=aim.why)
        return Assessment(verdict, aim.why, drawing, next_reading=reading)
    where = where_of(context, aim, events)
    where = replace(where, looks=where.looks + aside)
    return _AlignmentJudge(context, chosen, aim, where).assessment()


class _AlignmentJudge:
    """One case: the target, the position of the head, and the words for it."""

    def __init__(self, context: Context, chosen: AlignmentChoices, aim: Aim, where: Where) -> None:
        self.context, self.aim, self.where = context, aim, where
        self.chosen = chosen
        tolerances = context.deck.tolerances
        self.landing_mm, self.twist_deg = tolerances.landing_mm, tolerances.twist_deg
        self.judge: AlignmentDecider | None = None

    def assessment(self) -> Assessment:
        """Return the answer for this case."""
        where = self.where
        if where.readings == 0:
            return self._nothing_read()
        if not where.knows_length:
            return self._untold()
        judge = self.judge = AlignmentDecider(self.aim, where, self.landing_mm, self.twist_deg)
        if where.pending:
            return self._after_move(judge)
        doubted = self._in_doubt(judge)
        if doubted is not None:
            return doubted
        if self.aim.needs_twist and not where.knows_offset:
            return self._length_only(judge)
        return self._judged(judge)

    def _in_doubt(self, judge: AlignmentDecider) -> Assessment | None:
        """Ask again where the readings contradict each other or what was foretold; else None."""
        where = self.where
        if where.unexplained:
            note = Message("alignment.expected", _foretold(self.aim, judge))
            headline = message("alignment.unexplained")
            return self._ask(headline, note, message("alignment.if_moved"), count=1)
        if where.disagree and not where.outvoted:
            what, number = where.disagree.what, where.disagree.reading
            named = compared(self.context, lambda one: isinstance(one, AlignmentReading))
            if where.readings == 1:
                note = message("alignment.odd_alone", what=what)
                headline = message("alignment.contradicts_itself", grids=self.aim.grids)
            else:
                note = message("alignment.odd_one", what=what, reading=number)
                headline = message("alignment.disagree", grids=self.aim.grids)
            return self._ask(headline, *named, note, count=1)
        return None

    def _judged(self, judge: AlignmentDecider) -> Assessment:
        for answers, control in self._axes():
            if answers.record.asks and (answers.record.against or answers.record.beyond):
                return self._asked_first(answers, control)
        judged = judge.judge()
        if not (self.aim.slides or self.aim.base_slides):
            return self._fixed(judge, judged)
        if judged.decision is Decision.MOVE:
            return self._move(judge, judged.wanted)
        if judged.decision is Decision.READ_AGAIN:
            return self._read_again(judged)
        return self._near_enough(judge, judged)

    def _nothing_read(self) -> Assessment:
        way = ""
        if self.aim.distance is None:
            headline, way = message("alignment.path_first"), "path"
        elif self.aim.distance.measured:
            distance = Quantity(self.aim.distance.value_mm, "mm", 1)
            headline, way = message("alignment.distance_first", distance=distance), _BOTH
        elif self.aim.needs_twist:
            headline = message("alignment.landing_and_angles_first")
        else:
            headline = message("alignment.landing_first")
        verdict = Verdict.READ_AGAIN if self.context.trials else Verdict.NO_READING
        return self._ask(headline, way=way, verdict=verdict)

    def _untold(self) -> Assessment:
        problem = self.where.problem
        notes = [message("alignment.no_fit", why=problem)] if problem else []
        if problem and self.aim.distance is None:
            notes = [message("alignment.no_path")]
        if self.where.pending:
            return self._ask(message("alignment.nothing_counts"), *notes)
        way = "path" if self.aim.distance is None else _BOTH
        return self._ask(message("alignment.fits_no_arm"), *notes, way=way)

    def _after_move(self, judge: AlignmentDecider) -> Assessment:
        note = Message("alignment.expected", _foretold(self.aim, judge))
        if self.where.tightened and not self.where.loose:
            return self._ask(
                message("alignment.after_tightening", grids=self.aim.grids), note, count=1
            )
        return self._ask(message("alignment.after_move"), note)

    def _length_only(self, judge: AlignmentDecider) -> Assessment:
        decision = slide_decision(judge)
        if decision is Decision.MOVE:
            return self._move(judge, AlignmentTarget(-float(judge.off[0]), 0.0))
        if decision is Decision.READ_AGAIN:
            half = judge.factor * self.where.length_u_mm
            off = Interval(float(judge.off[0]), half, "mm", 1)
            return self._ask(message("alignment.length_off", off=off), way="landing", count=1)
        return self._ask(message("alignment.length_right"), way="angles")

    def _move(self, judge: AlignmentDecider, wanted: AlignmentTarget) -> Assessment:
        for answers, control in self._axes():
            if answers.record.asks:
                return self._asked_first(answers, control)
        slide, base = self._along(judge, wanted.slide_mm)
        twist = 0.0 if self.where.angle.stuck * wanted.twist_deg > 0.0 else wanted.twist_deg
        wanted = AlignmentTarget(slide, twist)
        if wanted.nothing and not base:
            return self._nothing_goes()
        headline, move = _head_move(wanted, base, self.aim, judge)
        said = self._say(Verdict.MOVE, headline)
        return replace(said, next_move=move, cautions=_cautions(self.context.cartridge))

    def _asked_first(self, answers: HeadAnswers, control: Control) -> Assessment:
        """Ask about a move of the head that the readings contradict."""
        said = self._say(Verdict.READ_AGAIN, message("alignment.after_move"))
        return asked_of(said, self.context, control, answers.record)

    def _along(self, judge: AlignmentDecider, slide: float) -> tuple[float, float]:
        """Return how far to slide, and how far to move the base, for a wanted change of length."""
        target, stuck, base = self.aim.target, self.where.length.stuck, 0.0
        if not isinstance(target, PivotedArm):
            return (0.0 if stuck * slide > 0.0 else slide), base
        off = float(judge.off[0])
        now = target.effective_length_mm + off
        if not self.aim.slides:
            return 0.0, 0.0 if stuck * off < 0.0 else self._base_for(off)
        reachable = self._within_slots(now, slide)
        if stuck * reachable > 0.0:
            reachable = 0.0
        left, slide = slide - reachable, reachable
        base_stuck = stuck * left > 0.0 and self.where.length.control is Control.ARM_BASE
        if self.aim.base_slides and not base_stuck and abs(left) > self.landing_mm / 2:
            base = self._base_for(-left)
        return slide, base

    def _nothing_goes(self) -> Assessment:
        """Leave a head that goes no further: it is stuck, or its slots end."""
        for answers, control in self._axes():
            if answers.stuck and not answers.goes:
                return self._say(Verdict.LEFT_AS_FOUND, *does_not_answer(control))
        note = message("alignment.beyond_slots")
        return self._say(Verdict.LEFT_AS_FOUND, message("alignment.slots_end"), note)

    def _axes(self) -> tuple[tuple[HeadAnswers, Control], ...]:
        where = self.where
        return (where.length, where.length.control), (where.angle, Control.TWIST)

    def _within_slots(self, now_mm: float, slide_mm: float) -> float:
        """Return the part of a slide that the slots allow.

        A head read beyond its slots, as the deck describes them, is not sent further out.
        """
        step = min(max(now_mm + slide_mm, self.aim.shortest_mm), self.aim.longest_mm) - now_mm
        if step * slide_mm <= 0.0:
            return 0.0
        return step if abs(step) < abs(slide_mm) else slide_mm

    def _base_for(self, length_off_mm: float) -> float:
        """Return the base move that compensates a length error; positive away from the spindle."""
        arm = self.aim.arm_off_by(length_off_mm, 0.0)
        if not isinstance(arm, PivotedArm) or self.aim.distance is None:
            return 0.0
        wanted = pivot_for(self.context.deck, self.chosen, self.aim, arm.effective_length_mm)
        return 0.0 if wanted is None else wanted - self.aim.distance.value_mm

    def _read_again(self, judged: AlignmentDecision) -> Assessment:
        more, where = judged.more, self.where
        if self.aim.needs_twist and not where.fresh_angles:
            return self._ask(message("alignment.landing_not_enough"), way="angles")
        if not where.fresh_landing and (more is None or more > _FEW_ENOUGH):
            return self._ask(message("alignment.angles_leave_length_open"), way="landing")
        notes = []
        landing_apart = self.aim.distance is not None  # a path tells both at once
        if landing_apart and where.fresh_angles and where.length_u_mm > self.landing_mm / 2:
            finely = message("alignment.finely_and_landing")
            notes = [finely if more is None else message("alignment.landing_tells_best")]
        elif more is None:
            notes = [message("alignment.read_more_finely")]
        way, count = self._less_known(), "unknown" if more is None else more
        if way == "angles":
            headline = message("alignment.close_angles", count=count)
        elif way == "landing":
            headline = message("alignment.close_landing", count=count)
        else:
            headline = message("alignment.close", count=count)
        return self._ask(headline, *notes, way=way, count=more, longer=more is None)

    def _less_known(self) -> str:
        """Return the more informative of two ways, if they can be read separately; else empty."""
        if self.aim.distance is None or not self.aim.needs_twist:
            return ""
        length = self.where.length_u_mm / self.landing_mm
        offset = self.where.offset_u_deg / self.twist_deg
        if offset > 1.5 * length:
            return "angles"
        return "landing" if length > 1.5 * offset else ""

    def _near_enough(self, judge: AlignmentDecider, judged: AlignmentDecision) -> Assessment:
        where = self.where
        if self.aim.slides and where.loose:
            return replace(
                self._say(Verdict.MOVE, message("alignment.tighten", grids=self.aim.grids)),
                next_move=Move(
                    sentence=message("alignment.screws.order", grids=self.aim.grids),
                    parts=(MovePart(control=Control.SCREWS, amount=1.0, unit=""),),
                    reason=message("alignment.screws.reason"),
                ),
                cautions=_cautions(self.context.cartridge),
            )
        if where.moved and self.aim.needs_twist and not where.fresh_angles:
            return self._ask(message("alignment.landing_holds"), way="angles", count=1)
        said = self._as_it_stands(judge, judged)
        # Mounting leaves the screws only snug, and nothing had to be moved since.
        asks = self.aim.slides and not where.tightened
        guard = (Guard("screws_last", Act.HANDLE_HEAD),) if asks else ()
        return replace(said, cautions=(*said.cautions, *guard))

    def _as_it_stands(self, judge: AlignmentDecider, judged: AlignmentDecision) -> Assessment:
        """Answer for a cartridge that is left where it is."""
        route, worst = self._route(judged), self._worst()
        if judged.decision is Decision.STEP_TOO_COARSE:
            return self._say(Verdict.LEFT_AS_FOUND, Message("alignment.as_near", worst), *route)
        if self._held():
            best = Message("alignment.best_within_reach", worst)
            return self._say(Verdict.LEFT_AS_FOUND, best, *route)
        off = float(judge.off[1])
        if (
            not self.aim.slides
            and abs(off) - judge.factor * self.where.offset_u_deg > self.twist_deg
        ):
            return self._say(Verdict.LEFT_AS_FOUND, Message("alignment.angle_fixed", worst))
        return self._say(Verdict.GOOD, Message("alignment.aligned", worst), *route)

    def _fixed(self, judge: AlignmentDecider, judged: AlignmentDecision) -> Assessment:
        reason = _neither_slides(self.context.deck, self.context.cartridge)
        worst = self._worst()
        if judged.decision is Decision.GOOD:
            return self._say(Verdict.GOOD, Message("alignment.as_asked", worst), reason)
        inside = abs(judge.off[0]) <= self.landing_mm and abs(judge.off[1]) <= self.twist_deg
        if judged.decision is Decision.READ_AGAIN and inside and judged.more is not None:
            return self._read_again(judged)
        return self._say(Verdict.LEFT_AS_FOUND, Message("alignment.nothing_slides", worst), reason)

    def _held(self) -> bool:
        target, wanted = self.aim.target, self.aim.wanted
        if not (isinstance(target, PivotedArm) and isinstance(wanted, PivotedArm)):
            return False
        share = _HELD if self.aim.slides else 1.0
        return (
            abs(target.effective_length_mm - wanted.effective_length_mm) > share * self.landing_mm
            or abs(target.offset_deg - wanted.offset_deg) > share * self.twist_deg
        )

    def _worst(self) -> dict[str, Value]:
        """Return the worst distortion now and of the target, as the values of a headline."""
        if self.judge is not None and self.where.knows_offset:
            figure = next((f for f in self.figures if f.key == "worst_distortion"), None)
            if figure is not None and figure.target is not None:
                now, best = Quantity(figure.value, "%"), Quantity(figure.target, "%")
                return {"worst": "known", "now": now, "best": best}
        return {"worst": "unknown"}

    def _route(self, judged: AlignmentDecision) -> tuple[Message, ...]:
        if judged.by_numbers:
            return (message("alignment.by_numbers"),)
        if judged.decision is not Decision.GOOD:
            return ()
        limit = Quantity(judged.worst_limit_percent, "%")
        read_at = "nulls" if isinstance(self.aim.target, PivotedArm) else "grooves"
        return (message("alignment.by_effect", read_at=read_at, limit=limit),)

    @cached_property
    def figures(self) -> list[Figure]:
        """All figures, those found first."""
        figures = wanted_figures(self.aim)
        if self.judge is None:
            return figures
        return [*found_figures(self.aim, self.judge, self.landing_mm, self.twist_deg), *figures]

    def _notes(self) -> tuple[Message, ...]:
        where, aim = self.where, self.aim
        notes: list[Message] = []
        if where.stray is not None:
            length, angle = (float(v) for v in where.stray)
            ways = _LENGTH if isinstance(aim.target, PivotedArm) else _AHEAD
            notes.append(
                message(
                    "alignment.went_astray",
                    length=amount(length, "mm", 1, ways),
                    angle=amount(angle, "°", 1, _TURN),
                )
            )
        if (
            self._held()
            and isinstance(aim.target, PivotedArm)
            and isinstance(aim.wanted, PivotedArm)
        ):
            notes.append(_held_note(aim, aim.target, aim.wanted))
        if where.outvoted and where.disagree:
            what, number = where.disagree.what, where.disagree.reading
            notes.append(message("alignment.outvoted", what=what, reading=number))
        if where.passed_over:
            notes.append(message("alignment.passed_over"))
        notes += _other_targets(where, pivoted=aim.distance is not None)
        if aim.distance is not None:
            notes += [
                _distance_note(aim.distance),
                message(
                    "alignment.taken_at",
                    criterion=self.chosen.criterion,
                    radii=_radii(aim.radii_mm),
                    source=Label(aim.grooves.source),
                ),
            ]
        return tuple(notes)

    def _ask(
        self,
        headline: Message,
        *notes: Message,
        verdict: Verdict = Verdict.READ_AGAIN,
        way: str = "",
        count: int | None = None,
        longer: bool = False,
    ) -> Assessment:
        """Ask for another reading; an empty `way` means any."""
        reading = NextReading(way=way, count=count, longer=longer, why=headline)
        return replace(self._say(verdict, headline, *notes), next_reading=reading)

    def _say(self, verdict: Verdict, headline: Message, *notes: Message) -> Assessment:
        ways = (message("alignment.method", way=way) for way in self.where.methods)
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(draw.chart, self.aim, self.where, self.judge),
            figures=tuple(self.figures),
            notes=(*notes, *self._notes()),
            method=method_of(*ways),
            foretells=self.where.pending or self.where.unexplained,
        )


def _radii(radii_mm: tuple[float, float]) -> Series:
    """Return the radii of the grids, without unit; a straight arm's single null once."""
    different = dict.fromkeys(round(radius, 1) for radius in radii_mm)
    return Series(tuple(Quantity(radius, "", 1) for radius in different))


def _other_targets(where: Where, *, pivoted: bool) -> list[Message]:
    """Say which readings were taken for another chosen alignment, and how they count."""
    said = [
        message(
            "alignment.read_for_other",
            kind="protractor" if pivoted else "path",
            criterion=other.criterion,
            radii=_radii(other.radii_mm),
        )
        for other in where.converted
    ]
    if where.lost:
        said.append(message("alignment.other_lost", count=where.lost))
    return said


_LENGTH: Final = message("alignment.off.further"), message("alignment.off.nearer")
_TURN: Final = message("alignment.off.head_in"), message("alignment.off.head_out")
_LANDS: Final = message("alignment.off.beyond"), message("alignment.off.short")
_AHEAD: Final = message("alignment.off.ahead"), message("alignment.off.behind")
_LONGER: Final = message("alignment.off.longer"), message("alignment.off.shorter")
_OFFSET: Final = message("alignment.off.more_offset"), message("alignment.off.less_offset")


def _error(angle_deg: float) -> Value:
    return amount(angle_deg, "°", 1, HEAD)


def _head_move(
    wanted: AlignmentTarget, base_mm: float, aim: Aim, judge: AlignmentDecider
) -> tuple[Message, Move]:
    """Return headline and move for a slide and a twist, and a base move beside them."""
    moved: list[str] = []
    parts: list[MovePart] = []
    values: dict[str, Value] = {
        "length": Quantity(judge.factor * judge.where.length_u_mm, "mm", 1),
        "angle": Quantity(judge.factor * judge.where.offset_u_deg, "°", 1),
    }
    if wanted.slide_mm:
        ways = ("away", "toward") if isinstance(aim.target, PivotedArm) else ("forward", "back")
        way, size = ways[wanted.slide_mm < 0], Quantity(abs(wanted.slide_mm), "mm", 1)
        moved.append("slide")
        values["slide"] = message("alignment.slide_by", way=way, size=size)
        parts.append(MovePart(control=Control.SLIDE, amount=wanted.slide_mm, unit="mm"))
    if wanted.twist_deg:
        way, size = "in" if wanted.twist_deg > 0 else "out", Quantity(abs(wanted.twist_deg), "°", 1)
        moved.append("twist")
        values["twist"] = message("alignment.twist_by", way=way, size=size)
        parts.append(MovePart(control=Control.TWIST, amount=wanted.twist_deg, unit="°"))
    if base_mm:
        way, size = "away" if base_mm > 0 else "toward", Quantity(abs(base_mm), "mm", 1)
        moved.append("base")
        values["base"] = message("alignment.base_by", way=way, size=size)
        parts.append(MovePart(control=Control.ARM_BASE, amount=base_mm, unit="mm"))
    values["what"] = "_".join(moved)
    return Message("alignment.move", values), Move(
        sentence=Message("alignment.order", values),
        parts=tuple(parts),
        predicted=Message("alignment.predicted", _foretold(aim, judge, wanted, base_mm)),
        rest=None if len(moved) > 2 else Message("alignment.rest", values),
    )


def _foretold(
    aim: Aim, judge: AlignmentDecider, wanted: AlignmentTarget | None = None, base_mm: float = 0.0
) -> dict[str, Value]:
    """Return the predicted next reading, as values for a sentence."""
    slide, twist = (wanted.slide_mm, wanted.twist_deg) if wanted else (0.0, 0.0)
    length, offset = float(judge.off[0]) + slide, float(judge.off[1]) + twist
    if base_mm:
        length = 0.0
    if not isinstance(aim.target, PivotedArm) or not isinstance(aim.wanted, PivotedArm):
        ahead = amount(length, "mm", 1, _AHEAD)
        return {"reads": "path", "length": ahead, "angle": _error(-offset)}
    landing = aim.target.effective_length_mm + length - aim.wanted.effective_length_mm
    values: dict[str, Value] = {"reads": "landing", "landing": amount(landing, "mm", 1, _LANDS)}
    if not judge.where.knows_offset:
        return values
    error = judge.error[:2] + judge.slopes[:2] @ [length - judge.off[0], offset - judge.off[1]]
    inner, outer = (float(e) for e in error)
    if not (math.isfinite(inner) and math.isfinite(outer)):
        return values
    return {**values, "reads": "both", "inner": _error(inner), "outer": _error(outer)}


def _cautions(cartridge: Cartridge) -> tuple[Guard, ...]:
    keys = ("guard", "arm_locked", "screws") if cartridge.has_guard else ("arm_locked", "screws")
    return tuple(Guard(key, Act.HANDLE_HEAD) for key in keys)


def _held_note(aim: Aim, target: PivotedArm, wanted: PivotedArm) -> Message:
    """Return what keeps the head from the chosen alignment, and what it costs."""
    edges = Series(tuple(message("alignment.edge", edge=edge) for edge in aim.held_by))
    best = Quantity(aim.best.distortion_percent, "%")
    ideal = Quantity(worst_tracking(wanted, aim.grooves).distortion_percent, "%")
    return message(
        "alignment.held",
        edges=edges,
        length=amount(wanted.effective_length_mm - target.effective_length_mm, "mm", 1, _LONGER),
        angle=amount(wanted.offset_deg - target.offset_deg, "°", 1, _OFFSET),
        best=best,
        ideal=ideal,
    )


def _distance_note(distance: Distance) -> Message:
    """Return which pivot-to-spindle distance was used."""
    value = Interval(distance.value_mm, COVERAGE_FACTOR * distance.u_mm, "mm", 1)
    if distance.measured:
        return message("alignment.distance_measured", distance=value)
    return message("alignment.distance_stated", distance=value)
