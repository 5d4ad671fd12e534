"""Arm height: the pitch of the arm tube against the record, and what the pillar must do.

Everything is judged for the record that will be played: a thicker one lifts the stylus and with
it the front of the arm. The arm turns about the stylus tip, so the pillar moves by the effective
length times the tangent of the pitch, not by the difference of the two heights. The tolerance is
a difference of height over the distance between the two places read.

What the control really does is learned from the readings by :mod:`core.estimation.control_solver`.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Final

from core import estimation as trim
from core.drawing.chart import Picture
from core.estimation import (
    ControlVerdict,
    Disagreement,
    Estimate,
    disagreement,
)
from core.fitting import (
    Applicability,
    Assessment,
    Context,
    Control,
    Figure,
    Move,
    MovePart,
    Verdict,
)
from core.language import EXPECTED
from core.physics.pitch import (
    pitch_change_deg,
    reach_change_mm,
    tilt_of_pitch_deg,
)
from core.records import Cartridge, Deck, HeightControl
from core.steps.arm_height import chart as draw
from core.steps.arm_height.beyond_travel import (
    THICKEST_HEAD_SHIM_MM,
    THICKEST_MAT_MM,
    beyond_the_deck,
    takes_head_shim,
)
from core.steps.arm_height.readings import (
    ArmHeightChoices,
    Readings,
    TaperedTube,
    TubeAngle,
    TubeEdge,
    TwoHeights,
)
from core.steps.arm_height.state import HeightEstimator, known_gain

__all__ = [
    "NAME",
    "THICKEST_HEAD_SHIM_MM",
    "THICKEST_MAT_MM",
    "ArmHeightChoices",
    "Readings",
    "TaperedTube",
    "TubeAngle",
    "TubeEdge",
    "TwoHeights",
    "applies",
    "assess",
    "picture",
]

NAME: Final = "arm_height"

_WAYS: Final = ("two heights", "tapered tube", "tube angle")
_FINEST_MM: Final = 0.1
_ENOUGH_TO_OUTVOTE: Final = 4
_STEEPEST_DEG: Final = 5.0
"""Beyond this slope a slip of the ruler is likelier than an arm that plays so: own allowance."""


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Say whether the height can be changed; there is always something to read."""
    del cartridge  # the same for every cartridge
    if deck.height.control is HeightControl.NONE:
        return Applicability(
            reads=True, adjusts=False, ways=_WAYS, reason="This arm's height can't be changed."
        )
    return Applicability(reads=True, adjusts=True, ways=_WAYS)


def picture(context: Context) -> Picture:
    """Draw the arm from the side: now, parallel, predicted, and earlier readings faint."""
    return assess(context).picture


def assess(context: Context) -> Assessment:
    """Judge the readings and moves so far."""
    return _ArmHeightJudge(context).assessment()


class _ArmHeightJudge:
    """One situation, and how to say it."""

    def __init__(self, context: Context) -> None:
        self.context, self.numbers = context, context.numbers
        chosen = context.chosen.get(NAME)
        self.chosen = chosen if isinstance(chosen, ArmHeightChoices) else ArmHeightChoices()
        self.deck = context.deck
        self.reach_mm = self.deck.arm.effective_length_mm
        self.extra_mm = self.chosen.record_played_mm - self.chosen.record_here_mm
        self.told = HeightEstimator(context, self.extra_mm).told()
        self.spacing_mm = self.told.spacing_mm or self.reach_mm
        self.tolerance_mm = self.deck.tolerances.height_mm * self.reach_mm / self.spacing_mm
        self.trim = trim.solve_control(self.told.trials, 0.0, self.tolerance_mm, self._control())

    def _control(self) -> trim.ControlModel:
        """Describe the control in millimetres up at the pillar, whichever it is."""
        height = self.deck.height
        step = {
            HeightControl.COLLAR: height.mm_per_turn / 8,
            HeightControl.NONE: 0.0,
        }.get(height.control, _FINEST_MM)
        down, up = -height.travel_down_mm, height.travel_up_mm
        if height.control is HeightControl.SHIMS and takes_head_shim(self.context.cartridge):
            down -= THICKEST_HEAD_SHIM_MM
        gain, share = known_gain(self.context)
        return trim.ControlModel(
            unit="mm",
            stated_gain=gain,
            gain_relative_uncertainty=share,
            smallest_step=step,
            travel=None if height.control is HeightControl.NONE else (down, up),
            execution_relative=0.05,
            execution_absolute=0.1,
        )

    def assessment(self) -> Assessment:
        told, found = self.told, self.trim
        if told.readings == 0 or found.now is None:
            verdict = Verdict.READ_AGAIN if self.context.trials else Verdict.NO_READING
            return self._say(verdict, "Read how high the arm tube lies, in front and at the rear.")
        if told.pending or found.verdict is ControlVerdict.READ:
            return self._after_move(found.now)
        odd = self._odd_one()
        if odd is not None and len(told.fresh) < _ENOUGH_TO_OUTVOTE:
            which = f"It is reading {odd.index + 1} since the last move that fits least."
            headline = "The readings disagree: read once more."
            return self._say(
                Verdict.READ_AGAIN, headline, f"{which} Withdraw it if it was mistyped."
            )
        slope_deg = abs(pitch_change_deg(found.now.value, self.reach_mm))
        if slope_deg > _STEEPEST_DEG and len(told.fresh) == 1:
            return self._doubted(slope_deg)
        if self.deck.height.control is HeightControl.NONE:
            return self._fixed(found.now)
        return self._adjustable(found)

    def _odd_one(self) -> Disagreement | None:
        fresh = self.told.fresh
        sigma = max((e.standard_uncertainty for e in fresh), default=0.0)
        return disagreement([e.value for e in fresh], sigma) if sigma > 0.0 else None

    def _after_move(self, now: Estimate) -> Assessment:
        expected = self.trim.predicted or now
        return self._say(
            Verdict.READ_AGAIN,
            "Read again after the move.",
            f"{EXPECTED}: {self._side(expected.value)} over {self._over()}.",
        )

    def _doubted(self, slope_deg: float) -> Assessment:
        """Ask for a second look at a slope that no arm plays at, before anything is moved by it."""
        again = "read both heights again from the record's surface"
        if self.told.spacing_mm is None:
            again = "read it again, with the stylus on the record"
        headline = f"That is a slope of {self.numbers.unit(slope_deg, '°', 1)}: {again}."
        note = "If it comes out the same, it is taken as read."
        return self._say(Verdict.READ_AGAIN, headline, note)

    def _adjustable(self, found: trim.ControlState) -> Assessment:
        verdict = found.verdict
        if verdict is ControlVerdict.DONE:
            return self._say(Verdict.GOOD, f"Parallel: {self._lie()}.")
        if verdict is ControlVerdict.READ_AGAIN:
            return self._read_again(found)
        if verdict is ControlVerdict.STEP_TOO_COARSE:
            near = f"As near as this control can be set: {self._lie()}."
            return self._say(Verdict.LEFT_AS_FOUND, near)
        if verdict is ControlVerdict.NO_RESPONSE:
            return self._unmoved()
        if found.move is None:
            return self._end_of_travel(found)
        return self._move(found, found.move)

    def _unmoved(self) -> Assessment:
        if len(self.told.fresh) >= _ENOUGH_TO_OUTVOTE:
            why = "It may stand at the end of its travel, or turn the other way than is said."
            headline = f"The control does nothing: {self._lie()}."
            return self._say(Verdict.LEFT_AS_FOUND, headline, why)
        why = "Is the grub screw loose while you move the pillar, and tight while you read?"
        headline = "The tube does not follow the moves. Check what was turned."
        return self._say(Verdict.READ_AGAIN, headline, why)

    def _move(self, found: trim.ControlState, lift_mm: float) -> Assessment:
        order, part = self._order(lift_mm)
        notes: list[str] = []
        if found.verdict is ControlVerdict.RUNS_BACKWARD:
            notes.append(
                "The readings went the other way than the moves so far: check which way is up "
                "before you turn."
            )
        if found.limited_by == "travel":
            notes.append("Travel ends there; the rest is left over.")
        predicted = ""
        if found.predicted is not None:
            left = self._side(found.predicted.value)
            predicted = f"{left[0].upper()}{left[1:]} over {self._over()}."
        where = self._side(found.now.value if found.now else 0.0)
        said = self._say(Verdict.MOVE, f"{where[0].upper()}{where[1:]}: {order}.", *notes)
        return replace(
            said,
            next_move=Move(
                sentence=f"{order[0].upper()}{order[1:]}, then read again.",
                parts=(part,),
                predicted=predicted,
                reason="The arm turns about the stylus tip, "
                f"{self.numbers.unit(self.reach_mm, 'mm', 0)} from the pillar.",
            ),
            cautions=self._cautions(part),
            drawing=partial(self._picture, found.predicted.value if found.predicted else None),
        )

    def _order(self, lift_mm: float) -> tuple[str, MovePart]:
        size = self.numbers.unit(abs(lift_mm), "mm", 1)
        way = "raise" if lift_mm > 0 else "lower"
        control = self.deck.height.control
        if control is HeightControl.COLLAR:
            turns = lift_mm / self.deck.height.mm_per_turn
            return (
                f"{way} the collar by {self.numbers.turns(turns)} ({size})",
                MovePart(control=Control.PILLAR, amount=turns, unit="turns", equivalent_mm=lift_mm),
            )
        if control is HeightControl.PILLAR:
            return f"{way} the pillar by {size}", _in_mm(Control.PILLAR, lift_mm)
        if lift_mm > 0:
            return f"put a {size} shim under the arm base", _in_mm(Control.BASE_SHIM, lift_mm)
        under_base = self.told.base_shims_mm + self.deck.height.travel_down_mm
        if -lift_mm <= under_base + 1e-9 or not takes_head_shim(self.context.cartridge):
            return f"take {size} of shims from under the base", _in_mm(Control.BASE_SHIM, lift_mm)
        return (
            f"put a {size} shim between head and cartridge",
            _in_mm(Control.HEAD_SHIM, -lift_mm),
        )

    def _cautions(self, part: MovePart) -> tuple[str, ...]:
        if part.control is Control.HEAD_SHIM:
            return ("guard", "arm_locked", "screws")
        return ("arm_locked",)

    def _read_again(self, found: trim.ControlState) -> Assessment:
        needed = found.readings_needed
        if needed is None:
            return self._say(
                Verdict.READ_AGAIN,
                "Too close for this instrument: read more finely.",
                "A ruler read to a quarter of a millimetre can't settle this. An inclinometer, "
                "or heights read against a block of known height, can. Or accept it as it is.",
            )
        times = "once more" if needed <= 1 else f"{needed} more times"
        return self._say(Verdict.READ_AGAIN, f"Close, but not certain: read {times}.")

    def _end_of_travel(self, found: trim.ControlState) -> Assessment:
        now = found.now.value if found.now else 0.0
        move, note = beyond_the_deck(self.context, now)
        said = self._say(Verdict.LEFT_AS_FOUND, f"Travel ends here: {self._lie()}.", note)
        return replace(said, next_move=move)

    def _fixed(self, now: Estimate) -> Assessment:
        if self.trim.verdict is ControlVerdict.DONE:
            return self._say(Verdict.GOOD, f"Parallel: {self._lie()}.")
        inside = abs(now.value) <= self.tolerance_mm
        if inside and self.trim.verdict is ControlVerdict.READ_AGAIN and self.trim.readings_needed:
            return self._read_again(self.trim)
        move, note = beyond_the_deck(self.context, now.value)
        said = self._say(Verdict.LEFT_AS_FOUND, f"Height is fixed: {self._lie()}.", note)
        return replace(said, next_move=move)

    def _over(self) -> str:
        return self.numbers.unit(self.spacing_mm, "mm", 0)

    def _side(self, high_mm: float) -> str:
        """Say how the rear lies, for a height at the pivot: ``rear 1.0 mm high``."""
        value = high_mm * self.spacing_mm / self.reach_mm
        if abs(value) < 0.05:
            return "level"
        return f"rear {self.numbers.unit(abs(value), 'mm', 1)} {'high' if value > 0 else 'low'}"

    def _lie(self) -> str:
        value, half = self._height()
        if abs(value) < 0.05:
            return f"level within {self.numbers.unit(half, 'mm', 1)} over {self._over()}"
        text = self.numbers.within(abs(value), half, "mm", 1)
        return f"rear {'high' if value >= 0 else 'low'} by {text} over {self._over()}"

    def _height(self) -> tuple[float, float]:
        share = self.spacing_mm / self.reach_mm
        now = self.trim.now or Estimate(0.0, 0.0)
        return now.value * share, now.half_width() * share

    def _figures(self) -> tuple[Figure, ...]:
        arm, now = self.deck.arm, self.trim.now
        per_mm = Figure(
            "angle_per_mm",
            "Tracking angle per mm at the pillar",
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
        if self.told.pending:
            half = half_pitch = half_pillar = None  # foretold, not read
        figures = [
            Figure(
                "height", f"Rear high, over {self._over()}", high, "mm", 2, half, 0.0,
                self.deck.tolerances.height_mm,
            ),
            Figure(
                "pitch", "Pitch, rear high", pitch, "°", 2, half_pitch, 0.0,
                pitch_change_deg(self.tolerance_mm, self.reach_mm),
            ),
            Figure(
                "pillar", "Still to raise at the pillar", -now.value, "mm", 1, half_pillar
            ),
            Figure(
                "tracking_angle", "Vertical tracking angle", rake + pitch,
                "°", 1, half_pitch, rake,
                note="as stated for the cartridge, and the pitch",
            ),
            per_mm,
            Figure(
                "reach", "Reach gained when parallel",
                reach_change_mm(self.reach_mm, pitch), "mm", 3,
            ),
        ]  # fmt: skip # rows of a table
        if not arm.lift_axis_square_to_head and arm.offset_deg and arm.is_pivoted:
            figures.append(
                Figure(
                    "tilt_added",
                    "Tilt that the pitch adds",
                    tilt_of_pitch_deg(pitch, arm.offset_deg),
                    "°",
                    2,
                )
            )
        return tuple(figures)

    def _notes(self) -> tuple[str, ...]:
        notes: list[str] = []
        if self.extra_mm:
            size = self.numbers.unit(abs(self.extra_mm), "mm", 1)
            which = "thicker" if self.extra_mm > 0 else "thinner"
            side = "high" if self.extra_mm > 0 else "low"
            notes.append(
                f"The record to be played is {size} {which} than the one used here: on this one "
                f"the rear should stand {side} by as much at the pillar. All figures are for the "
                "record to be played."
            )
        if self.told.readings and self.told.spacing_mm is None:
            notes.append("The tolerance is taken over the arm's effective length.")
        if self.trim.backward and self.trim.verdict is not ControlVerdict.RUNS_BACKWARD:
            notes.append("The control acts the other way than its words say.")
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
                pending=self.told.pending,
            ),
            self.numbers,
        )

    def _say(self, verdict: Verdict, headline: str, *notes: str) -> Assessment:
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=self._picture,
            figures=self._figures(),
            notes=(*(note for note in notes if note), *self._notes()),
            method=", ".join(self.told.ways),
        )


def _in_mm(control: Control, amount_mm: float) -> MovePart:
    return MovePart(control=control, amount=amount_mm, unit="mm")
