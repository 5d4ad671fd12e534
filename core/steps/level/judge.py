"""Level: slopes along directions give the plane of the plinth, and each foot its turns.

Judged by the readings since the last move, of the instrument used last; what a level shows of
its own error when it is turned end for end stays known after the feet were moved.
"""

from __future__ import annotations

import math
from functools import partial
from typing import Annotated, Final

from pydantic import Field

from core.drawing.chart import Picture
from core.estimation import (
    Decision,
    Estimate,
    decide,
    readings_needed,
    worth_reading,
)
from core.fitting import (
    Applicability,
    Assessment,
    Choices,
    Context,
    Figure,
    Move,
    Verdict,
)
from core.language import listed
from core.physics.feet import FootPlan, plan_feet
from core.physics.plane import PlaneFit
from core.records import Cartridge, Deck, FeetControl
from core.steps.level.chart import (
    FootMark,
    LevelView,
    compass_words,
    draw_level,
)
from core.steps.level.feet import (
    feet_of,
    move_of,
    shims_of,
    smallest_slope,
)
from core.steps.level.readings import (
    Bubble,
    Direction,
    Inclinometer,
    Ruler,
)
from core.steps.level.state import plane_states_of

__all__ = [
    "NAME",
    "Bubble",
    "Direction",
    "Inclinometer",
    "LevelChoices",
    "Readings",
    "Ruler",
    "applies",
    "assess",
    "picture",
]

NAME: Final = "level"

Readings = Annotated[Bubble | Inclinometer | Ruler, Field(discriminator="way")]

_LONGEST_HEADLINE: Final = 80
_WORTH_SAYING: Final = 0.15
_CARE: Final = ("arm_locked", "lifting")

_MOST_ROUNDS: Final = 8
"""After so many rounds of turning, feet that still don't do as asked want looking at themselves."""


class LevelChoices(Choices):
    """Nothing to choose: the tolerance belongs to the deck."""


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:  # noqa: ARG001  # the protocol's
    """Say that a deck can always be read, and whether its feet can be turned."""
    adjusts = deck.plinth.control is not FeetControl.NONE
    return Applicability(
        reads=True,
        adjusts=adjusts,
        ways=("bubble", "inclinometer", "ruler"),
        reason="" if adjusts else "No foot of this deck can be turned; shims can help.",
    )


def picture(context: Context) -> Picture:
    """Draw the target with what is known so far."""
    return assess(context).picture


def assess(context: Context) -> Assessment:
    """Judge the plane and say what each foot has to do."""
    return _LevelJudge(context).assessment()


class _LevelJudge:
    """One judgement."""

    def __init__(self, context: Context) -> None:
        self.deck, self.numbers = context.deck, context.numbers
        self.tolerance = context.deck.tolerances.level_mm_per_m
        self.stands = plane_states_of(context)
        self.last = self.stands.last
        self.gains = self.stands.gains
        self.fit = self.stands.settled_fit()

    def assessment(self) -> Assessment:
        fit = self.last.fit
        if self.stands.ends_in_move:
            return self._moved()
        if not self.last.readings:
            return self._answer(Verdict.NO_READING, "Lay the level on the plinth and read it.")
        if fit is None:
            return self._one_direction()
        if fit.worst is not None:
            name = self.last.readings[fit.worst.index].words()
            return self._answer(
                Verdict.READ_AGAIN,
                f"Read {name} again: it disagrees by {self._slope(abs(fit.worst.residual))}.",
                notes=[
                    (
                        "One plane can't have all these slopes. See that nothing stands under the "
                        "level, and that its mark points where the form says."
                    )
                ],
            )
        return self._judged(self.fit or fit)

    def _moved(self) -> Assessment:
        predicted = self.stands.foretold()
        headline = "Read the level again now that the feet were moved."
        figures: tuple[Figure, ...] = ()
        if predicted is not None:
            size = math.hypot(*predicted)
            headline = f"Read the level again: about {self._slope(size)} is expected."
            figures = (Figure("predicted_tilt", "Tilt expected", size, "mm/m", decimals=1),)
        notes = ["Readings from before the move no longer count for the slope."]
        if self.stands.zero_stays_known:
            notes.append(
                "The level's own error is known by now: one reading each of two directions will do."
            )
        return self._answer(
            Verdict.READ_AGAIN, headline, figures=figures, notes=notes, predicted=predicted
        )

    def _one_direction(self) -> Assessment:
        first = self.last.readings[-1]
        sideways = abs(math.sin(math.radians(first.marked_end_deg()))) > 0.5
        along = self.last.line[1] if self.last.line else 0.0
        label = f"Slope {first.words().removesuffix(', turned')}"
        return self._answer(
            Verdict.READ_AGAIN,
            f"Now read another direction: {'front to back' if sideways else 'left to right'}.",
            figures=(Figure("slope_along", label, along, "mm/m", decimals=1),),
            notes=[f"One direction alone, {self._slope(abs(along))} so far, fixes no plane."],
        )

    def _judged(self, fit: PlaneFit) -> Assessment:
        tilt = fit.tilt
        size, side = self._slope(tilt.value), compass_words(*fit.slope)
        decision = decide(
            tilt.value, tilt.half_width(), self.tolerance, smallest_effect=smallest_slope(self.deck)
        )
        if decision is Decision.READ_AGAIN:
            return self._undecided(tilt)
        most = tilt.value + tilt.half_width()
        if most <= self.tolerance:
            headline = f"Level within {self._slope(most)}."
            return self._answer(Verdict.GOOD, headline, notes=self._rocking())
        if decision is Decision.MOVE and self._worth_reading(tilt):
            return self._undecided(tilt)
        if decision is Decision.MOVE:
            plan = plan_feet(fit.slope, feet_of(self.deck, self.stands.travelled()))
            if self._worth(plan, tilt):
                turned = sum(lifts is None or any(lifts) for lifts in self.stands.lifts)
                return self._in_vain(side, size) if turned >= _MOST_ROUNDS else self._move(plan)
        notes = [self._lack(), *self._rocking()]
        if tilt.value <= self.tolerance:
            return self._answer(
                Verdict.GOOD, f"Level to {size}, as near as these feet go.", notes=notes
            )
        shims = shims_of(fit.slope, self.deck, self.numbers)
        what = "shims would help, or leave it" if shims else "leave it, or lower the tolerance"
        parts = shims.parts if shims else ()
        return self._answer(
            Verdict.LEFT_AS_FOUND,
            f"High at the {side} by {size}: {what}.",
            next_move=shims,
            notes=notes,
            cautions=_CARE,
            predicted=(0.0, 0.0) if shims else None,
            foot_words={
                part.where: f"shim {self.numbers.unit(part.amount, 'mm')}" for part in parts
            },
        )

    def _in_vain(self, side: str, size: str) -> Assessment:
        """Answer feet that were turned again and again and did something else each time."""
        look = (
            "See which foot hangs free, has come to its end, or gets shorter when it is turned to "
            "get longer; put that right, or note it on the deck's page, and read again."
        )
        return self._answer(
            Verdict.LEFT_AS_FOUND,
            f"High at the {side} by {size}: the feet don't do as asked.",
            notes=[look, *self._rocking()],
        )

    def _worth_reading(self, tilt: Estimate) -> bool:
        """Whether a few more readings would show it level as it is: cheaper than to turn feet.

        Turning the level end for end is such a reading as long as its own error is not known.
        """
        if not self.last.zero_known:
            return tilt.value <= self.tolerance
        count = len(self.last.readings)
        sigma = tilt.standard_uncertainty * math.sqrt(count)
        return worth_reading(tilt.value, self.tolerance, sigma, count) is not None

    def _undecided(self, tilt: Estimate) -> Assessment:
        value = self.numbers.within(tilt.value, tilt.half_width(), "mm/m", 1)
        if not self.last.zero_known:
            name = self.last.readings[-1].words()
            name = name.removesuffix(", turned")
            back = "back" if self.last.readings[-1].turned else "end for end"
            return self._answer(
                Verdict.READ_AGAIN,
                f"Turn the level {back} and read {name} again.",
                notes=[
                    f"The tilt is {value}; the level's own error, which both ways cancel, hides it."
                ],
            )
        count = len(self.last.readings)
        needed = readings_needed(
            tilt.value, self.tolerance, tilt.standard_uncertainty * math.sqrt(count), count
        )
        note = (
            "More readings with this instrument will hardly settle it: use a finer level, or widen "
            "this deck's tolerance."
            if needed is None
            else f"About {max(needed, 1)} more should settle it: read the directions in turn."
        )
        return self._answer(
            Verdict.READ_AGAIN, f"Read again: {value} decides nothing yet.", notes=[note]
        )

    def _worth(self, plan: FootPlan, tilt: Estimate) -> bool:
        """Whether a plan reaches the tolerance, or gains what the next reading can show."""
        gain = tilt.value - plan.remaining_tilt_mm_per_m
        if not any(abs(lift) >= 0.005 for lift in plan.lifts_mm):
            return False
        if plan.remaining_tilt_mm_per_m <= self.tolerance < tilt.value:
            return True
        return gain > max(tilt.half_width(), 0.1 * self.tolerance)

    def _move(self, plan: FootPlan) -> Assessment:
        move, words = move_of(plan, self.deck, self.numbers, self.gains)
        headline = move.sentence
        if len(headline) > _LONGEST_HEADLINE:
            count = len(move.parts)
            which = "the foot" if count == 1 else f"{count} feet"
            headline = f"Turn {which}: how far is written at each."
        notes = list(self._rocking())
        if any(gain < 0.0 for gain in self.gains):
            names = [
                f.name for f, g in zip(self.deck.plinth.feet, self.gains, strict=True) if g < 0
            ]
            notes.insert(0, f"By the readings {listed(names)} turns the other way round.")
        elif any(abs(gain - 1.0) > _WORTH_SAYING for gain in self.gains):
            notes.insert(0, "The turns count with what the feet have really done so far.")
        if plan.remaining_tilt_mm_per_m > self.tolerance:
            left = self._slope(plan.remaining_tilt_mm_per_m)
            notes.insert(0, f"{left} will stay after that. {self._lack()} Shims take up the rest.")
        return self._answer(
            Verdict.MOVE,
            headline,
            next_move=move,
            notes=notes,
            cautions=_CARE,
            predicted=plan.remaining_mm_per_m,
            foot_words=words,
        )

    def _lack(self) -> str:
        control = self.deck.plinth.control
        if control is FeetControl.NONE:
            return "No foot of this deck can be turned."
        if control is FeetControl.SOME:
            return "The feet that can be turned do no more than that."
        return "The feet are at the end of their travel, or can't be turned more finely."

    def _rocking(self) -> list[str]:
        count = len(self.deck.plinth.feet)
        if count < 4:
            return []
        number = {4: "Four", 5: "Five", 6: "Six"}.get(count, str(count))
        if self.deck.plinth.control is FeetControl.NONE:
            mend = "Where it gives, slide a thin shim under, and read once more."
        else:
            mend = "Where it gives, make that foot longer until it bears, and read once more."
        return [f"{number} feet can rock: press on each corner in turn. {mend}"]

    def _answer(
        self,
        verdict: Verdict,
        headline: str,
        *,
        next_move: Move | None = None,
        figures: tuple[Figure, ...] = (),
        notes: list[str] | None = None,
        cautions: tuple[str, ...] = (),
        predicted: tuple[float, float] | None = None,
        foot_words: dict[str, str] | None = None,
    ) -> Assessment:
        said = list(notes or ())
        fit = self.fit
        if fit is not None:
            figures = (*self._figures(fit), *figures)
            said += self._provisos()
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(self._picture, predicted, foot_words or {}),
            next_move=next_move,
            figures=figures,
            notes=tuple(said),
            cautions=cautions,
            method=self._method(),
        )

    def _provisos(self) -> list[str]:
        surprise = self.stands.surprise()
        notes = [surprise] if surprise else []
        notes += [f"An earlier reading, {name}, was set aside." for name in self.last.aside]
        if not self.last.zero_known:
            notes.append("The level was not turned end for end: its own error is taken as zero.")
        return notes

    def _figures(self, fit: PlaneFit) -> tuple[Figure, ...]:
        tilt, angle, gx, gy = fit.tilt, fit.tilt_deg, fit.gx, fit.gy
        bearing = round(fit.high_bearing_deg, 6) % 360.0
        tilt_figure = Figure(
            "tilt",
            "Tilt",
            tilt.value,
            "mm/m",
            decimals=1,
            half_width=tilt.half_width(),
            target=0.0,
            tolerance=self.tolerance,
            note=f"high at the {compass_words(*fit.slope)}",
        )
        figures = [
            tilt_figure,
            Figure("tilt_deg", "Tilt as an angle", angle.value, "°", 2, angle.half_width()),
            Figure("high_bearing", "High side, clockwise from back", bearing, "°", 0),
            Figure("slope_right", "Right side high by", gx.value, "mm/m", 1, gx.half_width()),
            Figure("slope_back", "Back high by", gy.value, "mm/m", 1, gy.half_width()),
        ]
        zero = self.last.zero_error
        if zero is not None:
            label = "The level's own error"
            figures.append(Figure("zero_error", label, zero.value, "mm/m", 2, zero.half_width()))
        return tuple(figures)

    def _method(self) -> str:
        stand = next((stand for stand in reversed(self.stands.all) if stand.readings), None)
        if stand is None:
            return ""
        title = type(stand.readings[-1]).WAY_TITLE.lower()
        return f"{title}, {'own error known' if stand.zero_known else 'own error not known'}"

    def _slope(self, mm_per_m: float) -> str:
        return self.numbers.unit(mm_per_m, "mm/m", 1)

    def _picture(self, predicted: tuple[float, float] | None, words: dict[str, str]) -> Picture:
        fit, line = self.fit, self.last.line
        view = LevelView(
            feet=tuple(
                FootMark(
                    f.x_mm, f.y_mm, f"{f.name}: {words[f.name]}" if f.name in words else f.name
                )
                for f in self.deck.plinth.feet
            ),
            tolerance=self.tolerance,
            now=fit.slope if fit else None,
            half_width=fit.tilt.half_width() if fit else 0.0,
            before=tuple(stand.fit.slope for stand in self.stands.all[:-1] if stand.fit),
            predicted=predicted,
            line=line[0] if line else None,
            along=line[1] if line else 0.0,
        )
        return draw_level(view, self.numbers)
