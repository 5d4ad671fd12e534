"""A simulated arm and scale for the downforce tests: it obeys moves and is weighed."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from core.fitting import (
    FLOATED_ANEW,
    Assessment,
    Context,
    Control,
    ControlChecked,
    Move,
    MovePart,
    Reading,
    Trial,
)
from core.records import Cartridge, Deck
from core.steps import step_named
from core.steps.downforce import CheckWeight, ScaleReading
from tests.worded import worded


def counterweight(amount: float, unit: str = "turns", mm: float | None = None) -> MovePart:
    return MovePart(control=Control.COUNTERWEIGHT, amount=amount, unit=unit, equivalent_mm=mm)


LOOKED = ControlChecked(control=Control.COUNTERWEIGHT)
"""The questions of the counterweight, answered."""

FLOATED = LOOKED.model_copy(update={"where": FLOATED_ANEW})
"""The arm lifted, its weight set back and floated again."""


def trial(thing: Reading | MovePart) -> Trial:
    if isinstance(thing, ControlChecked):
        return Trial(entry_id="c", checked=thing)
    if isinstance(thing, MovePart):
        return Trial(entry_id="m", moves=(thing,))
    return Trial(entry_id="r", reading=thing)


def weighing(step: str, deck: Deck, cartridge: Cartridge, *things: object) -> Context:
    """Return a context with weighings (plain numbers), check weights and moves, in order."""
    made = [ScaleReading(downforce_gf=t) if isinstance(t, int | float) else t for t in things]
    log = {step: tuple(trial(t) for t in made if isinstance(t, Reading | MovePart))}
    return Context(step=step, deck=deck, cartridge=cartridge, log=log)


@dataclass
class Arm:
    """True state: downforce, what a unit of the control really does, and a scale with errors."""

    downforce_gf: float
    gf_per_unit: float
    rng: np.random.Generator
    scale_gain: float = 1.0
    scale_noise_gf: float = 0.01
    hand_share: float = 0.05
    trials: list[Trial] = field(default_factory=list)
    highest_raised_to_gf: float = 0.0
    floated: int = 0
    """How often it was floated again."""

    def weigh(self) -> None:
        shown = self.scale_gain * max(self.downforce_gf, 0.0)
        shown += self.scale_noise_gf * self.rng.standard_normal()
        reading = ScaleReading(downforce_gf=min(max(round(shown, 2), 0.0), 30.0))
        self.trials.append(Trial(entry_id="r", reading=reading))

    def weigh_check(self, weight_g: float) -> None:
        shown = self.scale_gain * weight_g + self.scale_noise_gf * self.rng.standard_normal()
        reading = CheckWeight(weight_g=weight_g, shown_gf=round(shown, 2))
        self.trials.append(Trial(entry_id="r", reading=reading))

    def obey(self, move: Move) -> None:
        before = self.downforce_gf
        for part in move.parts:
            made = part.amount * (1.0 + self.hand_share * self.rng.standard_normal())
            self.downforce_gf += made * self.gf_per_unit
        self.trials.append(Trial(entry_id="m", moves=move.parts))
        if self.downforce_gf > before:
            self.highest_raised_to_gf = max(self.highest_raised_to_gf, self.downforce_gf)

    def judged(self, step: str, deck: Deck, cartridge: Cartridge) -> Assessment:
        """Return the answer; the questions of the control are answered, as often as they come."""
        context = Context(step=step, deck=deck, cartridge=cartridge, log={step: tuple(self.trials)})
        answer = step_named(step).assess(context)
        if answer.questions:
            where = answer.questions[0].where
            if where == FLOATED_ANEW:
                self.downforce_gf, self.floated = 0.0, self.floated + 1
            checked = LOOKED.model_copy(update={"where": where})
            self.trials.append(Trial(entry_id="c", checked=checked))
            if where == FLOATED_ANEW:
                self.weigh()
            return self.judged(step, deck, cartridge)
        return worded(answer)
