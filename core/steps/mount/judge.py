"""Mount: the cartridge goes in, its leads go on, and what its mass means for the arm.

Good means that the checklist is complete and the counterweight can balance the mass; resonance
and load are advice. The checklist filled in last counts as a whole, whatever mounting it is for:
one for the other mounting takes back what was ticked before it, and is itself never enough.
Weighings count since the last change of mass.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from functools import partial
from typing import Annotated, Final

from pydantic import Field

from core.estimation import Estimate, disagreement, mean_of
from core.fitting import (
    KEEP_STYLUS_UP,
    Act,
    Applicability,
    Assessment,
    Choices,
    Context,
    Control,
    Figure,
    Guard,
    Move,
    MovePart,
    NextReading,
    Trial,
    Verdict,
    ways_for,
)
from core.language import Message, Quantity, Series, message
from core.records import Cartridge, Deck, HeadKind, Mounting
from core.steps.mount.chart import MountView, draw_mount
from core.steps.mount.figures import Advice, compliance_of, moving_mass
from core.steps.mount.heard import resonances_heard
from core.steps.mount.readings import (
    Checklist,
    HalfInchChecklist,
    PlugInChecklist,
    ResonanceByRecord,
    Strap,
    WeighedMasses,
    Wiring,
)
from core.steps.shared import compared_trials

NAME: Final = "mount"

Readings = Annotated[
    HalfInchChecklist | PlugInChecklist | WeighedMasses | ResonanceByRecord,
    Field(discriminator="way"),
]

_ROOM: Final = 5
"""Room in a headline: a lead takes one, any other item two."""

_STEP_G: Final = 0.1

_FAR: Final = 0.5
"""A weight that is off by this share of what is stated is asked about: it may be in another unit,
or with the headshell. Our own."""

_ALIKE: Final = 0.1
"""Weights this near each other, as a share, confirm each other: our own."""
"""Masses to add or take off are rounded to this, away from the limit."""


class MountChoices(Choices):
    """No choices: deck and cartridge determine everything."""


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Return which checklist fits; a cartridge is always mounted."""
    return Applicability(reads=True, adjusts=True, ways=ways_for(Readings, deck, cartridge))


def assess(context: Context) -> Assessment:
    """Judge the checklist and whether the arm can carry the mass."""
    return _MountJudge(context).assessment()


def is_loose(trials: Iterable[Trial]) -> bool:
    """Whether the checklist filled in last says that the cartridge is not held."""
    lists = [trial.reading for trial in trials if isinstance(trial.reading, Checklist)]
    return bool(lists) and lists[-1].is_loose


def _counts(weight_g: float, shown_g: list[float], stated_g: float) -> bool:
    """Whether a weight is near what is stated, or was shown again."""
    if abs(weight_g - stated_g) <= _FAR * stated_g:
        return True
    alike = sum(abs(other - weight_g) <= _ALIKE * weight_g for other in shown_g)
    return alike > 1


class _MountJudge:
    """The judgement of one case."""

    def __init__(self, context: Context) -> None:
        self.deck, self.cartridge = context.deck, context.cartridge
        self.trials = context.trials
        self.plug_in = self.cartridge.mounting is Mounting.PLUG_IN
        self.list = NextReading(way=ways_for(Readings, self.deck, self.cartridge)[0])
        self.notes: list[Message] = []
        self.before_g: list[float] = []
        self.weighings: list[float] = []
        self.in_question: float | None = None
        """The last weight, if it is too far from what is stated to count as yet."""
        self.head = self._weighed()
        self.advice = Advice(self.deck, self.cartridge, self.head)

    def _weighed(self) -> Estimate:
        """Mass of cartridge and hardware after all weighings and changes, g."""
        stated = head = Estimate(self.cartridge.moving_g, 0.0)
        shown: list[float] = []
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
                self.weighings, shown = [], []
                head = Estimate(max(head.value + change, 0.1), head.standard_uncertainty)
                stated = head
            elif isinstance(trial.reading, WeighedMasses):
                before = bool(self.weighings)
                shown.append(trial.reading.measure(self.deck))
                self.weighings = [one for one in shown if _counts(one, shown, stated.value)]
                last_counts = shown[-1] in self.weighings
                self.in_question = None if last_counts else shown[-1]
                if not self.weighings:
                    continue
                if not before:
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
            scale = [t for t in self.trials if isinstance(t.reading, WeighedMasses)]
            self.notes += compared_trials(scale, self.deck)
            self.notes.append(message("mount.note.weighings_disagree"))
        off = head.value - stated.value
        if abs(off) > max(head.half_width(), 0.3):
            weighed, known = _grams(head.value), _grams(stated.value)
            self.notes.append(
                message("mount.note.unexpected_mass", weighed=weighed, expected=known)
            )

    def assessment(self) -> Assessment:
        if not self.trials:
            return self._not_begun()
        if self.trials[-1].moves:
            return self._moved()
        checklist = self._checklist()
        if checklist is not None and self._is_guard_off(checklist):
            return self._answer(
                Verdict.STOP,
                message("mount.guard_first"),
                next_move=Move(
                    message("mount.move.guard"), (), reason=message("mount.move.guard_why")
                ),
                cautions=_at_the_head("guard", "arm_locked"),
            )
        return self._misfit() or self._far_off() or self._balance() or self._ticked(checklist)

    def _not_begun(self) -> Assessment:
        misfit = self._misfit()
        if misfit is not None:
            return self._ask(misfit.headline, self.list, Verdict.NO_READING)
        headline = message("mount.fit_plug_in") if self.plug_in else message("mount.fit_screws")
        return self._ask(headline, self.list, Verdict.NO_READING)

    def _moved(self) -> Assessment:
        label = message("mount.figure.expected_mass")
        expected = Figure("predicted_head_mass", label, self.head.value, "g", 1)
        headline = message("mount.read_after_move", mass=_grams(self.head.value))
        answer = self._ask(headline, NextReading())
        return replace(answer, figures=(*answer.figures, expected))

    def _is_guard_off(self, checklist: Checklist) -> bool:
        """Whether a checklist says so; one being typed, with none saved, doesn't count yet."""
        if not self.cartridge.has_guard or checklist.guard_on:
            return False
        return any(t.entry_id for t in self.trials if isinstance(t.reading, Checklist))

    def _checklist(self) -> Checklist | None:
        """Return the last checklist filled in; if a record was corrected, of either mounting."""
        lists = (t.reading for t in reversed(self.trials) if isinstance(t.reading, Checklist))
        return next(lists, None)

    def _far_off(self) -> Assessment | None:
        """Ask about a weight that can hardly be this cartridge's, before anything is ordered."""
        if self.in_question is None:
            return None
        self.notes.insert(0, message("mount.note.weigh_again"))
        headline = message(
            "mount.far_off", weighed=_grams(self.in_question), expected=_grams(self.head.value)
        )
        return self._ask(headline, NextReading(way="weighed"))

    def _misfit(self) -> Assessment | None:
        if self.plug_in == (self.deck.head.kind is HeadKind.PLUG_IN):
            return None
        return self._answer(
            Verdict.STOP,
            message("mount.does_not_fit", cartridge=self._mounting),
            next_move=Move(
                message("mount.move.another_cartridge"),
                (),
                reason=message("mount.move.another_cartridge_why"),
            ),
            cautions=_at_the_head("maker_first"),
        )

    @property
    def _mounting(self) -> str:
        return "plug-in" if self.plug_in else "half-inch"

    def _balance(self) -> Assessment | None:
        arm, head = self.deck.arm, self.head.value
        low, high = arm.lightest_cartridge_g, arm.heaviest_cartridge_g
        half = self.head.half_width()
        nearest = min(abs(head - low), abs(head - high))
        if nearest < half:
            self.notes.append(message("mount.note.near_the_end"))
            return None
        if head < low:
            add = min(math.ceil((low + half - head) / _STEP_G) * _STEP_G, high - head)
            return self._unbalanced(
                Verdict.MOVE,
                add,
                message("mount.too_light", mass=_grams(add)),
                message("mount.move.heavier_why"),
            )
        if head > high:
            take = min(math.ceil((head - high + half) / _STEP_G) * _STEP_G, head - low)
            return self._unbalanced(
                Verdict.STOP,
                -take,
                message("mount.too_heavy", mass=_grams(head - high)),
                message("mount.move.lighter_why"),
            )
        return None

    def _unbalanced(
        self, verdict: Verdict, change_g: float, headline: Message, reason: Message
    ) -> Assessment:
        part = MovePart(control=Control.CARTRIDGE, amount=round(change_g, 3), unit="g")
        way = "add" if change_g > 0 else "take"
        after = self.head.value + change_g
        move = Move(
            message("mount.move.change", way=way, mass=_grams(abs(change_g))),
            (part,),
            predicted=message("mount.move.predicted", mass=_grams(after)),
            reason=reason,
            in_headline=change_g > 0,
        )
        return self._answer(
            verdict,
            headline,
            next_move=move,
            cautions=(KEEP_STYLUS_UP, *_at_the_head("arm_locked")),
            predicted_g=after,
        )

    def _ticked(self, checklist: Checklist | None) -> Assessment:
        fits = PlugInChecklist if self.plug_in else HalfInchChecklist
        if not isinstance(checklist, fits):
            if checklist is not None:
                self.notes.insert(0, message("mount.note.other_list", cartridge=self._mounting))
            headline = message("mount.tick_the_list", mass=_grams(self.head.value))
            return self._ask(headline, self.list, cautions=self._care())
        missing = checklist.missing(has_guard=self.cartridge.has_guard)
        if missing:
            return self._still_to_do(missing)
        self._remarks(checklist)
        moving = _grams(moving_mass(self.deck, self.head.value))
        answer = self._answer(Verdict.GOOD, message("mount.mounted", mass=moving))
        resonance = answer.figure("resonance")
        if resonance is None or not resonance.is_outside:
            return answer
        about = Quantity(resonance.value, "Hz", 1)
        return replace(answer, headline=message("mount.mounted_outside", resonance=about))

    def _still_to_do(self, missing: list[str]) -> Assessment:
        orders = tuple(message("mount.order", tick=tick) for tick in missing)
        headline = message("mount.still_to_do", orders=Series(orders))
        if sum(1 if tick.endswith("_lead") else 2 for tick in missing) > _ROOM:
            headline = message("mount.still_to_do_first", count=len(missing), order=orders[0])
            self.notes.insert(0, message("mount.note.in_order", orders=Series(orders)))
        asked = replace(self.list, values=dict.fromkeys(missing, True))
        return self._ask(headline, asked, cautions=self._care())

    def _remarks(self, checklist: Checklist) -> None:
        if not isinstance(checklist, HalfInchChecklist):
            return
        self.notes.append(message("mount.note.lead_colours"))
        if checklist.wiring is Wiring.MONO:
            self.notes.append(message("mount.note.mono"))
        if checklist.strap is Strap.KEPT:
            self.notes.append(message("mount.note.strap_kept"))

    def _care(self) -> tuple[Guard, ...]:
        guard = ("guard",) if self.cartridge.has_guard else ()
        screwed = () if self.plug_in else ("no_heat", "screws")
        return _at_the_head(*guard, "arm_locked", "muted", *screwed)

    def _ask(
        self,
        headline: Message,
        asked: NextReading,
        verdict: Verdict = Verdict.READ_AGAIN,
        cautions: tuple[Guard, ...] = (),
    ) -> Assessment:
        answer = self._answer(verdict, headline, cautions=cautions)
        return replace(answer, next_reading=replace(asked, why=headline))

    def _answer(
        self,
        verdict: Verdict,
        headline: Message,
        *,
        next_move: Move | None = None,
        cautions: tuple[Guard, ...] = (),
        predicted_g: float | None = None,
    ) -> Assessment:
        heard = resonances_heard(self.trials, self.advice.figures)
        notes = [*heard.notes, *self.notes, *self.advice.notes]
        if not self.cartridge.has_guard:
            notes.append(message("mount.note.no_guard"))
        view = MountView(
            mass_g=moving_mass(self.deck, self.head.value),
            compliance=compliance_of(self.cartridge),
            before_g=tuple(moving_mass(self.deck, grams) for grams in self.before_g[-3:]),
            predicted_g=None if predicted_g is None else moving_mass(self.deck, predicted_g),
        )
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(draw_mount, view),
            next_move=next_move,
            figures=(*heard.figures, *self.advice.figures),
            notes=tuple(notes),
            cautions=cautions,
            method=self._method(),
        )

    def _method(self) -> Message | None:
        if not self.trials:
            return None
        return message("mount.method", mass="weighed" if self.weighings else "stated")


def _grams(mass_g: float) -> Quantity:
    return Quantity(mass_g, "g", 1)


def _at_the_head(*cautions: str) -> tuple[Guard, ...]:
    return tuple(Guard(caution, Act.HANDLE_HEAD) for caution in cautions)
