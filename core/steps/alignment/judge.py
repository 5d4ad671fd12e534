"""Alignment: effective length and offset angle, read on a protractor, by slide and twist.

The rule for 'good' stands in :mod:`core.steps.alignment.decision`, how readings and moves are
combined in :mod:`core.steps.alignment.state`. After the last slide or twist the screws are
tightened and both radii read once more, before anything is called good.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property, partial
from typing import Final

from core.drawing.chart import Picture
from core.estimation import Decision
from core.fitting import (
    Applicability,
    Assessment,
    Context,
    Figure,
    Verdict,
)
from core.language import EXPECTED
from core.physics.arm_geometry import PivotedArm
from core.records import ArmKind, Cartridge, Deck, HeadKind, Mounting
from core.steps.alignment import chart as draw
from core.steps.alignment.decision import (
    AlignmentDecider,
    AlignmentDecision,
    AlignmentTarget,
    slide_decision,
)
from core.steps.alignment.readings import (
    AlignmentChoices,
    Criterion,
    GridAngles,
    GrooveStandard,
    Landing,
    LandingAndAngles,
    ParallelPath,
    PivotDistance,
    Readings,
)
from core.steps.alignment.state import Where, where_of
from core.steps.alignment.target import (
    Aim,
    aim_of,
    head_slides,
    pivot_for,
)
from core.steps.alignment.words import (
    cautions_for,
    distance_note,
    expected,
    found_figures,
    head_move,
    held_note,
    stray_note,
    tighten_move,
    wanted_figures,
)
from core.steps.shared import history

__all__ = [
    "NAME",
    "AlignmentChoices",
    "Criterion",
    "GridAngles",
    "GrooveStandard",
    "Landing",
    "LandingAndAngles",
    "ParallelPath",
    "PivotDistance",
    "Readings",
    "applies",
    "assess",
    "picture",
]

NAME: Final = "alignment"

_FEW_ENOUGH: Final = 3
"""More readings of the angles than these are worth less than one of the landing."""

_HELD: Final = 0.3
"""A target that the slots hold back by more of the tolerance is called the best within reach."""


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Say what can be read and moved: always something to read, not always something to move."""
    slides = head_slides(deck, cartridge)
    if deck.arm.kind is ArmKind.PARALLEL:
        reason = "" if slides else _fixed_reason(deck, cartridge)
        return Applicability(reads=True, adjusts=slides, ways=("path",), reason=reason)
    adjusts = slides or deck.head.base_slides
    ways = ("landing and angles", "landing", "angles", "pivot distance")
    if deck.arm.kind is ArmKind.PIVOTED_STRAIGHT:
        ways = ("landing", "landing and angles", "angles", "pivot distance")
    return Applicability(
        reads=True,
        adjusts=adjusts,
        ways=ways,
        reason="" if adjusts else _fixed_reason(deck, cartridge),
    )


def _fixed_reason(deck: Deck, cartridge: Cartridge) -> str:
    if deck.head.kind is HeadKind.PLUG_IN or cartridge.mounting is Mounting.PLUG_IN:
        return "A plug-in cartridge sits where its maker put it: it neither slides nor turns."
    return "The head has fixed holes: the cartridge neither slides nor turns."


def picture(context: Context) -> Picture:
    """Draw distortion against radius: now, the target, and earlier readings faint."""
    return assess(context).picture


def assess(context: Context) -> Assessment:
    """Judge the readings and moves so far."""
    chosen = context.chosen.get(NAME)
    if not isinstance(chosen, AlignmentChoices):
        chosen = AlignmentChoices()
    events = history(context)
    aim = aim_of(context, chosen, events)
    if isinstance(aim, str):
        verdict = Verdict.READ_AGAIN if context.trials else Verdict.NO_READING
        return Assessment(verdict, aim, draw.nothing(chosen.groove_radii))
    where = where_of(context, aim, events)
    return _AlignmentJudge(context, chosen, aim, where).assessment()


class _AlignmentJudge:
    """One situation: what is wanted, where the head stands, and how to say it."""

    def __init__(self, context: Context, chosen: AlignmentChoices, aim: Aim, where: Where) -> None:
        self.context, self.aim, self.where = context, aim, where
        self.chosen = chosen
        self.numbers = context.numbers
        tolerances = context.deck.tolerances
        self.landing_mm, self.twist_deg = tolerances.landing_mm, tolerances.twist_deg
        self.judge: AlignmentDecider | None = None

    def assessment(self) -> Assessment:
        """Return the answer for this situation."""
        where = self.where
        if where.readings == 0:
            return self._nothing_read()
        if not where.knows_length:
            return self._untold()
        judge = self.judge = AlignmentDecider(self.aim, where, self.landing_mm, self.twist_deg)
        if where.pending:
            return self._after_move(judge)
        if where.disagree and not where.outvoted:
            return self._say(
                Verdict.READ_AGAIN,
                "Two readings disagree: read both grids once more.",
                f"It is {where.disagree} that fits the others least. Withdraw it if it was "
                "mistyped.",
            )
        if self.aim.needs_twist and not where.knows_offset:
            return self._length_only(judge)
        return self._judged(judge)

    def _judged(self, judge: AlignmentDecider) -> Assessment:
        judged = judge.judge()
        if not (self.aim.slides or self.aim.base_slides):
            return self._fixed(judge, judged)
        if judged.decision is Decision.MOVE:
            return self._move(judge, judged.wanted)
        if judged.decision is Decision.READ_AGAIN:
            return self._read_again(judged)
        return self._near_enough(judge, judged)

    def _nothing_read(self) -> Assessment:
        if self.aim.distance is None:
            headline = "Read how the stylus runs beside a line from the spindle."
        elif self.aim.distance.measured:
            pivot = self.numbers.unit(self.aim.distance.value_mm, "mm", 1)
            headline = f"Pivot to spindle is {pivot}. Now read landing and angles."
        elif self.aim.needs_twist:
            headline = "Read where the stylus lands and how the head stands."
        else:
            headline = "Read where the stylus lands on the protractor."
        verdict = Verdict.READ_AGAIN if self.context.trials else Verdict.NO_READING
        return self._say(verdict, headline)

    def _untold(self) -> Assessment:
        if self.where.pending:
            headline = "Read again: nothing read before this move counts any more."
        else:
            headline = "These readings fit no arm yet: read landing and both angles."
        problem = self.where.problem
        return self._say(Verdict.READ_AGAIN, headline, problem.value if problem else "")

    def _after_move(self, judge: AlignmentDecider) -> Assessment:
        headline = (
            "Read both radii once more."
            if self.where.tightened and not self.where.loose
            else "Read again after the move."
        )
        foretold = expected(self.aim, judge, self.numbers)
        return self._say(
            Verdict.READ_AGAIN, headline, f"{EXPECTED}: {foretold[0].lower()}{foretold[1:]}"
        )

    def _length_only(self, judge: AlignmentDecider) -> Assessment:
        decision = slide_decision(judge)
        if decision is Decision.MOVE:
            return self._move(judge, AlignmentTarget(-float(judge.off[0]), 0.0))
        off = self.numbers.within(
            float(judge.off[0]), judge.factor * self.where.length_u_mm, "mm", 1
        )
        if decision is Decision.READ_AGAIN:
            return self._say(
                Verdict.READ_AGAIN,
                f"Length off by {off}: read the landing once more.",
            )
        return self._say(
            Verdict.READ_AGAIN, "The length is right. Now read the head's angle at both grids."
        )

    def _move(self, judge: AlignmentDecider, wanted: AlignmentTarget) -> Assessment:
        slide, base = wanted.slide_mm, 0.0
        target = self.aim.target
        if isinstance(target, PivotedArm):
            now = target.effective_length_mm + float(judge.off[0])
            if not self.aim.slides:
                base, slide = self._base_for(float(judge.off[0])), 0.0
            else:
                reachable = self._within_slots(now, slide)
                if self.where.stuck * reachable > 0.0:
                    reachable = 0.0  # it was asked twice and did not slide
                left, slide = slide - reachable, reachable
                if self.aim.base_slides and abs(left) > self.landing_mm / 2:
                    base = self._base_for(-left)
        wanted = AlignmentTarget(slide, wanted.twist_deg)
        if wanted.nothing and not base:
            return self._say(
                Verdict.LEFT_AS_FOUND,
                "The slots end here: this is the best within reach.",
                "The readings ask for a slide beyond the slots as the deck's page describes them. "
                "If there is room left, correct the slots there.",
            )
        headline, move = head_move(wanted, self.aim, judge, self.numbers, base_mm=base)
        cautions = cautions_for(self.context.cartridge, head=True)
        return replace(self._say(Verdict.MOVE, headline), next_move=move, cautions=cautions)

    def _within_slots(self, now_mm: float, slide_mm: float) -> float:
        """Return the part of a slide that the slots allow.

        A head read beyond its slots, as the deck describes them, is not sent further out.
        """
        step = min(max(now_mm + slide_mm, self.aim.shortest_mm), self.aim.longest_mm) - now_mm
        if step * slide_mm <= 0.0:
            return 0.0
        return step if abs(step) < abs(slide_mm) else slide_mm

    def _base_for(self, length_off_mm: float) -> float:
        """Return the base move that makes up for a length, away from the spindle positive."""
        arm = self.aim.arm_off_by(length_off_mm, 0.0)
        if not isinstance(arm, PivotedArm) or self.aim.distance is None:
            return 0.0
        wanted = pivot_for(self.context.deck, self.chosen, self.aim, arm.effective_length_mm)
        return 0.0 if wanted is None else wanted - self.aim.distance.value_mm

    def _read_again(self, judged: AlignmentDecision) -> Assessment:
        more = judged.more
        if self.aim.needs_twist and not self.where.fresh_angles:
            return self._say(
                Verdict.READ_AGAIN, "The landing alone is not enough: now read both angles too."
            )
        if not self.where.fresh_landing and (more is None or more > _FEW_ENOUGH):
            return self._say(
                Verdict.READ_AGAIN, "Angles leave the length open: now read the landing too."
            )
        if more is None:
            count, note = "again", "Readings as rough as these won't settle it: read more finely."
        else:
            count = "once more" if more == 1 else f"{more} more times"
            note = ""
        if self.where.fresh_angles and self.where.length_u_mm > self.landing_mm / 2:
            note = f"{note} The landing tells the length best: read it too.".strip()
        what = self._less_known()
        return self._say(Verdict.READ_AGAIN, f"Close, but not certain: read {what}{count}.", note)

    def _less_known(self) -> str:
        """Say which of two readings is worth more, where they can be taken apart."""
        if self.aim.distance is None or not self.aim.needs_twist:
            return ""
        length = self.where.length_u_mm / self.landing_mm
        offset = self.where.offset_u_deg / self.twist_deg
        if offset > 1.5 * length:
            return "both angles "
        return "the landing " if length > 1.5 * offset else ""

    def _near_enough(self, judge: AlignmentDecider, judged: AlignmentDecision) -> Assessment:
        where = self.where
        if self.aim.slides and where.loose:
            return replace(
                self._say(Verdict.MOVE, "Aligned. Tighten the screws, then read both once more."),
                next_move=tighten_move(),
                cautions=cautions_for(self.context.cartridge, head=True),
            )
        if where.moved and self.aim.needs_twist and not where.fresh_angles:
            return self._say(
                Verdict.READ_AGAIN, "The landing holds. Read both angles once more too."
            )
        worst = self._worst()
        if judged.decision is Decision.STEP_TOO_COARSE:
            return self._say(
                Verdict.LEFT_AS_FOUND, f"As near as hands can set it{worst}.", self._route(judged)
            )
        if self._held():
            return self._say(
                Verdict.LEFT_AS_FOUND, f"The best within reach{worst}.", self._route(judged)
            )
        off = float(judge.off[1])
        if not self.aim.slides and abs(off) - judge.factor * where.offset_u_deg > self.twist_deg:
            return self._say(
                Verdict.LEFT_AS_FOUND,
                f"Length right; the head's angle can't be changed{worst}.",
            )
        return self._say(Verdict.GOOD, f"Aligned{worst}.", self._route(judged), self._snug())

    def _fixed(self, judge: AlignmentDecider, judged: AlignmentDecision) -> Assessment:
        reason = _fixed_reason(self.context.deck, self.context.cartridge)
        worst = self._worst()
        if judged.decision is Decision.GOOD:
            return self._say(Verdict.GOOD, f"As the alignment asks{worst}.", reason)
        inside = abs(judge.off[0]) <= self.landing_mm and abs(judge.off[1]) <= self.twist_deg
        if judged.decision is Decision.READ_AGAIN and inside and judged.more is not None:
            return self._read_again(judged)
        return self._say(Verdict.LEFT_AS_FOUND, f"Nothing slides here{worst}.", reason)

    def _held(self) -> bool:
        target, wanted = self.aim.target, self.aim.wanted
        if not (isinstance(target, PivotedArm) and isinstance(wanted, PivotedArm)):
            return False
        share = _HELD if self.aim.slides else 1.0
        return (
            abs(target.effective_length_mm - wanted.effective_length_mm) > share * self.landing_mm
            or abs(target.offset_deg - wanted.offset_deg) > share * self.twist_deg
        )

    def _held_notes(self) -> tuple[str, ...]:
        if not self._held():
            return ()
        return (held_note(self.aim, self.numbers),)

    def _worst(self) -> str:
        if self.judge is None or not self.where.knows_offset:
            return ""
        figure = next((f for f in self.figures if f.key == "worst_distortion"), None)
        if figure is None or figure.target is None:
            return ""
        now = self.numbers.unit(figure.value, "%")
        best = self.numbers.unit(figure.target, "%")
        return f": worst distortion {now} (best {best})"

    def _route(self, judged: AlignmentDecision) -> str:
        if judged.by_numbers:
            return "Both length and angle are known to be within their tolerances."
        if judged.decision is not Decision.GOOD:
            return ""
        limit = self.numbers.unit(judged.worst_limit_percent, "%")
        return (
            "Error at both nulls is within tolerance, and worst distortion surely below "
            f"{limit}; the length alone is known less well."
        )

    def _snug(self) -> str:
        if not self.aim.slides or self.where.tightened:
            return ""
        return "If the screws are only snug so far: tighten them gently and read both once more."

    @cached_property
    def figures(self) -> list[Figure]:
        """All figures, what was found first."""
        figures = wanted_figures(self.aim)
        if self.judge is None:
            return figures
        return [*found_figures(self.aim, self.judge, self.landing_mm, self.twist_deg), *figures]

    def _notes(self) -> tuple[str, ...]:
        where, aim = self.where, self.aim
        notes = [stray_note(where, self.numbers), *self._held_notes()]
        if where.outvoted:
            notes.append(
                f"Of these readings {where.disagree} stands off: withdraw it if it was mistyped."
            )
        if where.passed_over:
            notes.append("Readings meant for another kind of arm were passed over.")
        if aim.distance is not None:
            notes.append(distance_note(aim.distance, self.numbers))
            radii = " and ".join(
                dict.fromkeys(self.numbers.plain(radius, 1) for radius in aim.radii_mm)
            )
            notes.append(
                f"{self.chosen.criterion.label}; grids without a radius are taken at {radii} mm. "
                f"Grooves: {aim.grooves.source}."
            )
        return tuple(note for note in notes if note)

    def _say(self, verdict: Verdict, headline: str, *notes: str) -> Assessment:
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(draw.chart, self.aim, self.where, self.judge, self.numbers),
            figures=tuple(self.figures),
            notes=(*(note for note in notes if note), *self._notes()),
            method=", ".join(self.where.methods),
        )
