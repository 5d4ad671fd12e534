"""Arm height: the pitch of the arm tube against the record, and what the pillar must do.

Everything is judged for the record that will be played: a thicker one lifts the stylus and with
it the front of the arm. The arm turns about the stylus tip, so the pillar moves by the effective
length times the tangent of the pitch, not by the difference of the two heights. The tolerance is
a difference of height over the distance between the two places read.

What the control really does is learned from the readings by :mod:`core.estimation.control_solver`.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from typing import Final

from core import estimation as trim
from core.drawing.chart import Picture
from core.estimation import (
    CONFIDENCE,
    ControlVerdict,
    Disagreement,
    Estimate,
    chance_inside,
    disagreement,
)
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
from core.language import Eighths, Interval, Message, Quantity, Value, message
from core.physics.pitch import pitch_change_deg, reach_change_mm, tilt_of_pitch_deg
from core.records import Cartridge, Deck, HeightControl
from core.steps.arm_height import chart as draw
from core.steps.arm_height.doubts import counted, doubts_of
from core.steps.arm_height.readings import NAME, ArmHeightChoices, Readings, TubeAngle, TubeReading
from core.steps.arm_height.state import (
    FINEST_MM,
    THICKEST_HEAD_SHIM_MM,
    HeightEstimator,
    control_of,
    takes_head_shim,
)
from core.steps.shared import asked_of, compared, does_not_answer, method_of, questioned

THICKEST_MAT_MM: Final = 4.0
"""Largest difference that another mat can make (common practice, no source)."""

_ENOUGH_TO_OUTVOTE: Final = 4
_MOST_PAIRS: Final = 2
"""Most readings of one height with a ruler: the next record differs by more."""
_LIKELY: Final = 0.8
"""From this probability of being inside on, a first move hardly helps: our own."""
_STEEPEST_DEG: Final = 5.0
"""Beyond this slope a misreading is likelier than an arm that plays so: own allowance."""
_LEVEL_MM: Final = 0.05
"""Smaller values are shown as level: they would round to 0.0 mm."""


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Return whether the height can be changed; there is always something to read."""
    fixed = deck.height.control is HeightControl.NONE
    return Applicability(
        reads=True,
        adjusts=not fixed,
        ways=ways_for(Readings, deck, cartridge),
        reason=message("arm_height.cant_be_changed") if fixed else None,
    )


def assess(context: Context) -> Assessment:
    """Judge the readings and moves so far."""
    said = _ArmHeightJudge(counted(context)).assessment()
    return questioned(context, doubts_of(context), said)


class _ArmHeightJudge:
    """One case, and the words for it."""

    def __init__(self, context: Context) -> None:
        self.context = context
        chosen = context.chosen.get(NAME)
        self.chosen = chosen if isinstance(chosen, ArmHeightChoices) else ArmHeightChoices()
        self.deck = context.deck
        self.reach_mm = self.deck.arm.effective_length_mm
        self.extra_mm = self.chosen.record_played_mm - self.chosen.record_here_mm
        self.told = HeightEstimator(context, self.extra_mm).told()
        self.spacing_mm = self.told.spacing_mm or self.reach_mm
        self.tolerance_mm = self.deck.tolerances.height_mm * self.reach_mm / self.spacing_mm
        self.trim = trim.solve_control(
            self.told.trials, 0.0, self.tolerance_mm, control_of(context)
        )

    def assessment(self) -> Assessment:
        told, found = self.told, self.trim
        if told.readings == 0 or found.now is None:
            verdict = Verdict.READ_AGAIN if self.context.trials else Verdict.NO_READING
            return self._ask(message("arm_height.read"), verdict=verdict)
        if told.pending or found.verdict is ControlVerdict.READ:
            if self._is_shimmed and found.moves_made > 1:  # see _shim: nothing is learned of it
                return self._ask(message("arm_height.after_move"))
            expected = self.trim.predicted or found.now
            note = Message("arm_height.expected", self._side_over(expected.value))
            return self._ask(message("arm_height.after_move"), note)
        doubted = self._in_doubt(found.now)
        if doubted is not None:
            return doubted
        if self.deck.height.control is HeightControl.NONE and not found.beyond:
            return self._fixed(found.now)
        return self._adjustable(found)

    def _in_doubt(self, now: Estimate) -> Assessment | None:
        """Ask again where the readings contradict each other or what was foretold; else None."""
        told = self.told
        if told.unexplained:
            note = Message("arm_height.expected", self._side_over(now.value))
            headline = message("arm_height.unexplained")
            return self._ask(headline, note, message("arm_height.if_moved"), count=1)
        odd = self._odd_one()
        if odd is not None and len(told.fresh) < _ENOUGH_TO_OUTVOTE:
            note = message("arm_height.odd_one", number=odd.index + 1)
            named = compared(self.context, lambda one: isinstance(one, TubeReading))
            return self._ask(message("arm_height.disagree"), *named, note, count=1)
        slope_deg = abs(pitch_change_deg(now.value, self.reach_mm))
        if slope_deg > _STEEPEST_DEG and len(told.fresh) == 1:
            return self._doubted(slope_deg)
        return None

    def _odd_one(self) -> Disagreement | None:
        fresh = self.told.fresh
        sigma = max((e.standard_uncertainty for e in fresh), default=0.0)
        return disagreement([e.value for e in fresh], sigma) if sigma > 0.0 else None

    def _doubted(self, slope_deg: float) -> Assessment:
        """Ask to read an implausible slope again before anything is moved."""
        slope = Quantity(slope_deg, "°", 1)
        if self.told.spacing_mm is None:
            headline = message("arm_height.steep_by_angle", slope=slope)
        else:
            headline = message("arm_height.steep_by_heights", slope=slope)
        return self._ask(headline, message("arm_height.taken_if_the_same"), count=1)

    def _adjustable(self, found: trim.ControlState) -> Assessment:
        verdict = found.verdict
        if verdict is ControlVerdict.DONE:
            return self._say(Verdict.GOOD, Message("arm_height.parallel", self._lie()))
        if verdict is ControlVerdict.READ_AGAIN:
            return self._read_again(found)
        if verdict is ControlVerdict.STEP_TOO_COARSE:
            near = Message("arm_height.as_near", self._lie())
            return self._say(Verdict.LEFT_AS_FOUND, near)
        if verdict in (ControlVerdict.CHECK_CONTROL, ControlVerdict.NO_RESPONSE):
            return self._unmoved(found)
        if found.move is None:
            return self._end_of_travel(found)
        order = self._shim if self._is_shimmed else self._move
        return order(found, found.move)

    @property
    def _is_shimmed(self) -> bool:
        return self.deck.height.control is HeightControl.SHIMS

    def _shim(self, found: trim.ControlState, lift_mm: float) -> Assessment:
        """Order no more shims than the height is off: one lifts by its thickness, and never back.

        Readings that say otherwise are wrong, or an entry is; nothing is learned from them.
        """
        now = found.now or Estimate(0.0, 0.0)
        if found.backward or lift_mm * now.value >= 0.0:
            note = message("arm_height.shims_by_thickness")
            if len(self.told.fresh) < _MOST_PAIRS:
                return self._ask(message("arm_height.shims_disagree"), note, count=1)
            return self._say(Verdict.LEFT_AS_FOUND, message("arm_height.shims_unclear"), note)
        if abs(lift_mm) > abs(now.value):
            lift_mm = math.copysign(max(round(abs(now.value), 1), FINEST_MM), -now.value)
            sure = found.predicted or now
            left = Estimate(now.value + lift_mm, sure.standard_uncertainty)
            found = replace(found, move=lift_mm, predicted=left)
        return self._move(found, lift_mm)

    def _unmoved(self, found: trim.ControlState) -> Assessment:
        if found.verdict is ControlVerdict.NO_RESPONSE:
            return self._say(Verdict.LEFT_AS_FOUND, *does_not_answer(self.told.last_moved))
        said = self._say(Verdict.READ_AGAIN, message("arm_height.read"))
        if found.beyond and found.now is not None:
            note = Message("arm_height.expected", self._side_over(found.now.value))
            said = replace(said, notes=(note, *said.notes), foretells=True)
        return asked_of(said, self.context, self.told.last_moved, found)

    def _move(self, found: trim.ControlState, lift_mm: float) -> Assessment:
        order, part = self._order(lift_mm)
        notes: list[Message] = []
        if found.verdict is ControlVerdict.RUNS_BACKWARD:
            notes.append(message("arm_height.went_the_other_way"))
        if found.limited_by == "travel":
            notes.append(message("arm_height.travel_ends"))
        predicted: Message | None = None
        if found.predicted is not None:
            predicted = Message("arm_height.predicted", self._side_over(found.predicted.value))
        side, size = self._side(found.now.value if found.now else 0.0)
        lies = message("arm_height.lies", side=side, size=size)
        said = self._say(Verdict.MOVE, Message("arm_height.move", {"lies": lies, **order}), *notes)
        return replace(
            said,
            next_move=Move(
                sentence=Message("arm_height.order", order),
                parts=(part,),
                predicted=predicted,
                reason=message(
                    "arm_height.turns_about_the_tip", reach=Quantity(self.reach_mm, "mm", 0)
                ),
                in_headline=True,
            ),
            cautions=_cautions(part),
            drawing=partial(self._picture, found.predicted.value if found.predicted else None),
        )

    def _order(self, lift_mm: float) -> tuple[dict[str, Value], MovePart]:
        """Return the values of an order, and the part of the move."""
        values: dict[str, Value] = {"size": Quantity(abs(lift_mm), "mm", 1)}
        control, up = self.deck.height.control, lift_mm > 0
        if control is HeightControl.COLLAR:
            turns = lift_mm / self.deck.height.mm_per_turn
            values |= {"order": "raise_collar" if up else "lower_collar", "turns": Eighths(turns)}
            return values, MovePart(
                control=Control.PILLAR, amount=turns, unit="turns", equivalent_mm=lift_mm
            )
        if control is HeightControl.PILLAR:
            values["order"] = "raise_pillar" if up else "lower_pillar"
            return values, _in_mm(Control.PILLAR, lift_mm)
        if up:
            return {**values, "order": "shim_base"}, _in_mm(Control.BASE_SHIM, lift_mm)
        under_base = self.told.base_shims_mm + self.deck.height.travel_down_mm
        if -lift_mm <= under_base + 1e-9 or not takes_head_shim(self.context):
            return {**values, "order": "unshim_base"}, _in_mm(Control.BASE_SHIM, lift_mm)
        return {**values, "order": "shim_head"}, _in_mm(Control.HEAD_SHIM, -lift_mm)

    def _read_again(self, found: trim.ControlState) -> Assessment:
        if len(self.told.fresh) >= _MOST_PAIRS:
            return self._read_enough(found)
        if found.readings_needed is None:
            headline = message("arm_height.too_close")
            said = self._say(Verdict.READ_AGAIN, headline, message("arm_height.finer_instruments"))
            way = "tube angle" if TubeAngle.is_at_hand(self.deck.bench) else ""
            finer = NextReading(way=way, count=None, longer=True, why=headline)
            return replace(said, next_reading=finer)
        now = found.now
        if now is not None and abs(now.value) - now.half_width() > self.tolerance_mm:
            return self._ask(message("arm_height.off_by"), count=1)
        return self._ask(message("arm_height.close"), count=1)

    def _read_enough(self, found: trim.ControlState) -> Assessment:
        """Answer if no more readings are worth it, and they have not settled it."""
        now = found.now or Estimate(0.0, 0.0)
        chance = chance_inside(now, 0.0, self.tolerance_mm)
        if chance >= CONFIDENCE:
            return self._say(Verdict.GOOD, Message("arm_height.parallel", self._lie()))
        inside = abs(now.value) <= self.tolerance_mm
        fixed = self.deck.height.control is HeightControl.NONE
        if inside and (chance >= _LIKELY or found.moves_made or fixed):
            headline = Message("arm_height.no_surer", self._lie())
            note = message("arm_height.finer_instruments")
            return self._say(Verdict.LEFT_AS_FOUND, headline, note)
        control = control_of(self.context)
        self.trim = trim.solve_control(
            self.told.trials, 0.0, self.tolerance_mm, control, decided=True
        )
        return self._adjustable(self.trim)

    def _end_of_travel(self, found: trim.ControlState) -> Assessment:
        headline = Message("arm_height.travel_ends_here", self._lie())
        return self._beyond_the_control(headline, found.now.value if found.now else 0.0)

    def _fixed(self, now: Estimate) -> Assessment:
        if self.trim.verdict is ControlVerdict.DONE:
            return self._say(Verdict.GOOD, Message("arm_height.parallel", self._lie()))
        inside = abs(now.value) <= self.tolerance_mm
        if inside and self.trim.verdict is ControlVerdict.READ_AGAIN and self.trim.readings_needed:
            return self._read_again(self.trim)
        return self._beyond_the_control(Message("arm_height.fixed", self._lie()), now.value)

    def _beyond_the_control(self, headline: Message, high_mm: float) -> Assessment:
        """Leave it as found, and say what else would help: a shim, a cartridge, a mat."""
        size, body = Quantity(abs(high_mm), "mm", 1), "taller" if high_mm > 0 else "lower"
        if abs(high_mm) <= THICKEST_MAT_MM:
            note = message("arm_height.beyond.cartridge_or_mat", body=body, size=size)
        else:
            note = message("arm_height.beyond.cartridge", body=body, size=size)
        said = self._say(Verdict.LEFT_AS_FOUND, headline, note)
        shim_mm = round(high_mm, 1)
        if not (takes_head_shim(self.context) and 0 < shim_mm <= THICKEST_HEAD_SHIM_MM):
            return said
        move = Move(
            sentence=message("arm_height.beyond.shim", size=size),
            parts=(_in_mm(Control.HEAD_SHIM, shim_mm),),
            predicted=message("arm_height.beyond.level"),
            reason=message("arm_height.beyond.longer_screws"),
        )
        return replace(said, next_move=move)

    def _over(self) -> Quantity:
        return Quantity(self.spacing_mm, "mm", 0)

    def _side(self, high_mm: float) -> tuple[str, Quantity]:
        """Return the rear's position, from its height at the pivot, and its size over a spacing."""
        value = high_mm * self.spacing_mm / self.reach_mm
        side = "level" if abs(value) < _LEVEL_MM else "high" if value > 0 else "low"
        return side, Quantity(abs(value), "mm", 1)

    def _side_over(self, high_mm: float) -> dict[str, Value]:
        side, size = self._side(high_mm)
        return {"side": side, "size": size, "over": self._over()}

    def _lie(self) -> dict[str, Value]:
        """Return the rear's present position with its 95 % interval, as values of a headline."""
        value, half = self._height()
        return {
            "side": "level" if abs(value) < _LEVEL_MM else "high" if value >= 0 else "low",
            "rear": Interval(abs(value), half, "mm", 1),
            "half": Quantity(half, "mm", 1),
            "over": self._over(),
        }

    def _height(self) -> tuple[float, float]:
        share = self.spacing_mm / self.reach_mm
        now = self.trim.now or Estimate(0.0, 0.0)
        return now.value * share, now.half_width() * share

    def _figures(self) -> tuple[Figure, ...]:
        arm, now = self.deck.arm, self.trim.now
        per_mm = Figure(
            "angle_per_mm",
            message("arm_height.figure.angle_per_mm"),
            pitch_change_deg(1.0, self.reach_mm),
            "°",
            3,
        )
        if now is None:
            return (per_mm,)
        half: float | None
        half_pitch: float | None
        rake = self.context.cartridge.rake_deg
        high, half = self._height()
        pitch = pitch_change_deg(now.value, self.reach_mm)
        half_pitch = pitch_change_deg(now.half_width(), self.reach_mm)
        half_pillar: float | None = now.half_width()
        if self._foretold_only:
            half = half_pitch = half_pillar = None  # predicted, not read
        note = message("arm_height.figure.with_move") if self._is_combined else None
        figures = [
            Figure(
                "height", message("arm_height.figure.height", over=self._over()), high, "mm", 2,
                half, 0.0, self.deck.tolerances.height_mm, note=note,
                ways=(message("arm_height.off.high"), message("arm_height.off.low")),
            ),
            Figure(
                "pitch", message("arm_height.figure.pitch"), pitch, "°", 2, half_pitch, 0.0,
                pitch_change_deg(self.tolerance_mm, self.reach_mm),
                ways=(message("arm_height.off.rear_high"), message("arm_height.off.rear_low")),
            ),
            Figure(
                "pillar", message("arm_height.figure.pillar"), -now.value, "mm", 1, half_pillar,
                ways=(message("arm_height.off.up"), message("arm_height.off.down")),
            ),
            Figure(
                "tracking_angle", message("arm_height.figure.tracking_angle"), rake + pitch,
                "°", 1, half_pitch, rake, note=message("arm_height.figure.stated_and_pitch"),
            ),
            per_mm,
            Figure(
                "reach", message("arm_height.figure.reach"),
                reach_change_mm(self.reach_mm, pitch), "mm", 3,
            ),
        ]  # fmt: skip # rows of a table
        if not arm.lift_axis_square_to_head and arm.offset_deg and arm.is_pivoted:
            tilt_deg = tilt_of_pitch_deg(pitch, arm.offset_deg)
            label = message("arm_height.figure.tilt_added")
            ways = message("arm_height.off.left_high"), message("arm_height.off.right_high")
            figures.append(Figure("tilt_added", label, tilt_deg, "°", 2, ways=ways))
        return tuple(figures)

    def _ways(self) -> tuple[Message, ...]:
        ways = tuple(message("arm_height.method", way=way) for way in self.told.ways)
        return (*ways, message("arm_height.with_move")) if ways and self._is_combined else ways

    @property
    def _is_combined(self) -> bool:
        """Whether the figures also count what the moves before the last readings should give."""
        return bool(self.told.earlier) and not self._foretold_only

    @property
    def _foretold_only(self) -> bool:
        """Whether the figures are what was foretold: nothing was read since, or it is in doubt."""
        return self.told.pending or self.told.unexplained or self.trim.beyond

    def _notes(self) -> tuple[Message, ...]:
        notes: list[Message] = []
        if self.extra_mm:
            kind = "thicker" if self.extra_mm > 0 else "thinner"
            size = Quantity(abs(self.extra_mm), "mm", 1)
            notes.append(message("arm_height.record_played", kind=kind, size=size))
        if self.told.readings and self.told.spacing_mm is None:
            notes.append(message("arm_height.over_effective_length"))
        runs_backward = self.trim.verdict is ControlVerdict.RUNS_BACKWARD
        if self.trim.backward and not runs_backward and not self._is_shimmed:
            notes.append(message("arm_height.acts_backward"))
        return tuple(notes)

    def _picture(self, then_mm: float | None = None) -> Picture:
        now = self.trim.now.value if self.trim.now is not None else None
        return draw.side_view(
            draw.SideView(
                length_mm=self.reach_mm,
                body_mm=self.context.cartridge.body_height_mm,
                tolerance_mm=self.tolerance_mm,
                now_mm=now,
                then_mm=then_mm,
                before_mm=self.told.earlier,
                pending=self._foretold_only,
            )
        )

    def _ask(
        self,
        headline: Message,
        *notes: Message,
        verdict: Verdict = Verdict.READ_AGAIN,
        count: int | None = None,
    ) -> Assessment:
        """Ask for another reading, by any way."""
        said = self._say(verdict, headline, *notes)
        return replace(said, next_reading=NextReading(count=count, why=headline))

    def _say(self, verdict: Verdict, headline: Message, *notes: Message) -> Assessment:
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=self._picture,
            figures=self._figures(),
            notes=(*notes, *self._notes()),
            method=method_of(*self._ways()),
            foretells=self._foretold_only,
        )


def _cautions(part: MovePart) -> tuple[Guard, ...]:
    if part.control is Control.HEAD_SHIM:
        return tuple(Guard(key, Act.HANDLE_HEAD) for key in ("guard", "arm_locked", "screws"))
    return (Guard("arm_locked", Act.MOVE),)


def _in_mm(control: Control, amount_mm: float) -> MovePart:
    return MovePart(control=control, amount=amount_mm, unit="mm")
