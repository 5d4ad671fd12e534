"""Mount: the cartridge goes in, its leads go on, and what its mass means for the arm.

Good means that the checklist is complete and the counterweight can balance the mass; resonance
and load are advice. The checklist filled in last counts as a whole, whatever mounting it is for:
one for the other mounting takes back what was ticked before it, and is itself never enough.
Weighings count since the last change of mass.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial
from typing import Annotated, Final

from pydantic import Field

from core.drawing.chart import Picture
from core.estimation import (
    Estimate,
    disagreement,
    mean_of,
)
from core.fitting import (
    Applicability,
    Assessment,
    Choices,
    Context,
    Control,
    Figure,
    Move,
    MovePart,
    Verdict,
)
from core.language import Numbers, listed
from core.records import Cartridge, Deck, HeadKind, Mounting
from core.steps.mount.chart import MountView, draw_mount
from core.steps.mount.figures import (
    Advice,
    compliance_of,
    moving_mass,
)
from core.steps.mount.readings import (
    Checklist,
    HalfInchChecklist,
    PlugInChecklist,
    Strap,
    WeighedMasses,
    Wiring,
)

__all__ = [
    "NAME",
    "HalfInchChecklist",
    "MountChoices",
    "PlugInChecklist",
    "Readings",
    "Strap",
    "WeighedMasses",
    "Wiring",
    "applies",
    "assess",
    "picture",
]

NAME: Final = "mount"

Readings = Annotated[
    HalfInchChecklist | PlugInChecklist | WeighedMasses, Field(discriminator="way")
]

_LONGEST_HEADLINE: Final = 80
_STEP_G: Final = 0.1
"""Masses to add or take off are rounded to this, away from the limit."""


class MountChoices(Choices):
    """Nothing to choose: deck and cartridge say it all."""


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:  # noqa: ARG001  # the protocol's
    """Say that a cartridge is always mounted, and which checklist fits it."""
    plug_in = cartridge.mounting is Mounting.PLUG_IN
    checklist = "plug-in checklist" if plug_in else "checklist"
    return Applicability(reads=True, adjusts=True, ways=(checklist, "weighed"))


def picture(context: Context) -> Picture:
    """Draw resonance against compliance with what is known so far."""
    return assess(context).picture


def assess(context: Context) -> Assessment:
    """Judge the checklist and whether the arm can carry the mass."""
    return _MountJudge(context).assessment()


class _MountJudge:
    """One judgement."""

    def __init__(self, context: Context) -> None:
        self.deck, self.cartridge = context.deck, context.cartridge
        self.numbers: Numbers = context.numbers
        self.trials = context.trials
        self.plug_in = self.cartridge.mounting is Mounting.PLUG_IN
        self.notes: list[str] = []
        self.before_g: list[float] = []
        self.weighings: list[float] = []
        self.head = self._weighed()
        self.advice = Advice(self.deck, self.cartridge, self.head, self.numbers)

    def _weighed(self) -> Estimate:
        """Mass of cartridge and hardware after all weighings and changes, g."""
        stated = head = Estimate(self.cartridge.moving_g, 0.0)
        for trial in self.trials:
            change = math.fsum(
                max(-100.0, min(100.0, part.amount))
                for part in trial.moves
                if part.control is Control.CARTRIDGE
                and part.unit == "g"
                and math.isfinite(part.amount)
            )
            if change:
                self.before_g.append(head.value)
                self.weighings = []
                head = Estimate(max(head.value + change, 0.1), head.standard_uncertainty)
                stated = head
            elif isinstance(trial.reading, WeighedMasses):
                shell = self.deck.arm.headshell_mass_g if trial.reading.with_headshell else 0.0
                self.weighings.append(max(trial.reading.weighed_g - shell, 0.1))
                if not self.weighings[:-1]:
                    self.before_g.append(head.value)
                head = self._mean()
        self._compare(head, stated)
        return head

    def _mean(self) -> Estimate:
        bench = self.deck.bench
        odd = disagreement(self.weighings, bench.scale_read_gf)
        counted = self.weighings[-1:] if odd else self.weighings
        gain_error = bench.scale_gain_error / 100 * counted[-1]
        return mean_of(counted, bench.scale_read_gf, calibration_standard_uncertainty=gain_error)

    def _compare(self, head: Estimate, stated: Estimate) -> None:
        if not self.weighings:
            return
        if disagreement(self.weighings, self.deck.bench.scale_read_gf):
            self.notes.append("The weighings disagree, so only the last one counts.")
        off = head.value - stated.value
        if abs(off) > max(head.half_width(), 0.3):
            known = self.numbers.unit(stated.value, "g", 1)
            self.notes.append(
                f"Weighed {self.numbers.unit(head.value, 'g', 1)}, expected {known}: see that all "
                "the hardware was on the scale, and correct the cartridge in the library."
            )

    def assessment(self) -> Assessment:
        if not self.trials:
            return self._answer(Verdict.NO_READING, self._first_order())
        if self.trials[-1].moves:
            return self._moved()
        checklist = self._checklist()
        if checklist is not None and self.cartridge.has_guard and not checklist.guard_on:
            return self._answer(
                Verdict.STOP,
                "Put the guard on before your hands come near the stylus.",
                next_move=Move(
                    "Slide the guard on with the arm in its rest, then go on.",
                    (),
                    reason="A sleeve or a thumb bends a cantilever in a moment.",
                ),
                cautions=("guard", "arm_locked"),
            )
        return self._misfit() or self._balance() or self._ticked(checklist)

    def _first_order(self) -> str:
        misfit = self._misfit()
        if misfit is not None:
            return misfit.headline
        if self.plug_in:
            return "Guard on, arm locked: push the cartridge home, then tick the list."
        return "Guard on, arm locked: fit screws and leads, then tick the list."

    def _moved(self) -> Assessment:
        head = self.numbers.unit(self.head.value, "g", 1)
        expected = Figure("predicted_head_mass", "Expected at the head", self.head.value, "g", 1)
        return self._answer(
            Verdict.READ_AGAIN,
            f"Weigh it or tick the list again: {head} is expected at the head.",
            figures=(expected,),
        )

    def _checklist(self) -> Checklist | None:
        """Return the list filled in last; where a record was corrected, of either mounting."""
        lists = (t.reading for t in reversed(self.trials) if isinstance(t.reading, Checklist))
        return next(lists, None)

    def _misfit(self) -> Assessment | None:
        if self.plug_in == (self.deck.head.kind is HeadKind.PLUG_IN):
            return None
        has, wants = ("half-inch", "plug-in") if self.plug_in else ("plug-in", "half-inch")
        return self._answer(
            Verdict.STOP,
            f"This does not fit: the head is {has}, the cartridge {wants}.",
            next_move=Move(
                "Take another cartridge; or, with an adapter on, correct the deck's head.",
                (),
                reason="A cartridge forced into a head it was not made for is lost.",
            ),
            cautions=("maker_first",),
        )

    def _balance(self) -> Assessment | None:
        arm, head = self.deck.arm, self.head.value
        low, high = arm.lightest_cartridge_g, arm.heaviest_cartridge_g
        half = self.head.half_width()
        nearest = min(abs(head - low), abs(head - high))
        if nearest < half:
            self.notes.append(
                "The weight lies so near the end of what the counterweight balances that the scale "
                "can't tell on which side. The downforce step will show it."
            )
            return None
        if head < low:
            add = min(math.ceil((low + half - head) / _STEP_G) * _STEP_G, high - head)
            return self._unbalanced(
                Verdict.MOVE,
                add,
                f"Too light to balance: add {self.numbers.unit(add, 'g', 1)} at the head.",
                "A plate between head and cartridge or heavier screws add mass; so does a lighter "
                "counterweight from the arm's maker instead.",
            )
        if head > high:
            take = min(math.ceil((head - high + half) / _STEP_G) * _STEP_G, head - low)
            return self._unbalanced(
                Verdict.STOP,
                -take,
                f"Too heavy for the counterweight by {self.numbers.unit(head - high, 'g', 1)}.",
                "Lighter screws, a lighter headshell, or a heavier counterweight from the arm's "
                "maker; then correct the deck. The stylus stays up until it balances.",
            )
        return None

    def _unbalanced(
        self, verdict: Verdict, change_g: float, headline: str, reason: str
    ) -> Assessment:
        part = MovePart(control=Control.CARTRIDGE, amount=round(change_g, 3), unit="g")
        amount = self.numbers.unit(abs(change_g), "g", 1)
        order = f"Add {amount} at the head." if change_g > 0 else f"Take {amount} off the head."
        after = self.head.value + change_g
        move = Move(
            order,
            (part,),
            predicted=f"{self.numbers.unit(after, 'g', 1)} at the head.",
            reason=reason,
        )
        return self._answer(
            verdict,
            headline,
            next_move=move,
            cautions=("stylus_up", "arm_locked"),
            predicted_g=after,
        )

    def _ticked(self, checklist: Checklist | None) -> Assessment:
        fits = PlugInChecklist if self.plug_in else HalfInchChecklist
        if not isinstance(checklist, fits):
            if checklist is not None:
                has, wants = ("half-inch", "plug-in") if self.plug_in else ("plug-in", "half-inch")
                self.notes.insert(
                    0, f"The list ticked last is for a {has} mounting, the cartridge is {wants}."
                )
            return self._answer(
                Verdict.READ_AGAIN,
                f"{self.numbers.unit(self.head.value, 'g', 1)} at the head. Now tick the list.",
                cautions=self._care(),
            )
        missing = checklist.missing(has_guard=self.cartridge.has_guard)
        if missing:
            headline = f"Still to do: {listed(missing)}."
            if len(headline) > _LONGEST_HEADLINE:
                headline = f"Still to do: {len(missing)} things. First, {missing[0]}."
                self.notes.insert(0, f"In order: {listed(missing)}.")
            return self._answer(Verdict.READ_AGAIN, headline, cautions=self._care())
        self._remarks(checklist)
        moving = self.numbers.unit(moving_mass(self.deck, self.head.value), "g", 1)
        return self._answer(Verdict.GOOD, f"Mounted. {moving} moves with the stylus.")

    def _remarks(self, checklist: Checklist) -> None:
        if not isinstance(checklist, HalfInchChecklist):
            return
        self.notes.append(
            "Lead colours are common practice; the cartridge's own leaflet goes first."
        )
        if checklist.wiring is Wiring.MONO:
            self.notes.append(
                "A mono cartridge plays both channels alike: bands of one channel say nothing "
                "of its tilt."
            )
        if checklist.strap is Strap.KEPT:
            self.notes.append(
                "If it hums later, the strap may join two earths: ask the maker whether it may "
                "come off."
            )

    def _care(self) -> tuple[str, ...]:
        guard = ("guard",) if self.cartridge.has_guard else ()
        if self.plug_in:
            return (*guard, "arm_locked", "muted")
        return (*guard, "arm_locked", "muted", "no_heat", "screws")

    def _answer(
        self,
        verdict: Verdict,
        headline: str,
        *,
        next_move: Move | None = None,
        figures: Sequence[Figure] = (),
        cautions: tuple[str, ...] = (),
        predicted_g: float | None = None,
    ) -> Assessment:
        notes = [*self.notes, *self.advice.notes]
        if not self.cartridge.has_guard:
            notes.append("This cartridge has no guard: keep hands and sleeves behind the head.")
        view = MountView(
            mass_g=moving_mass(self.deck, self.head.value),
            compliance=compliance_of(self.cartridge),
            before_g=tuple(moving_mass(self.deck, grams) for grams in self.before_g[-3:]),
            predicted_g=None if predicted_g is None else moving_mass(self.deck, predicted_g),
        )
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(draw_mount, view, self.numbers),
            next_move=next_move,
            figures=(*self.advice.figures, *figures),
            notes=tuple(notes),
            cautions=cautions,
            method=self._method(),
        )

    def _method(self) -> str:
        if not self.trials:
            return ""
        return "checklist, weighed" if self.weighings else "checklist, mass as stated"
