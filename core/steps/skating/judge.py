"""Skating: a first setting by rule, then by ear with rising test bands until both sides agree."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Annotated, Final

from pydantic import Field

from core.drawing.chart import Picture
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
from core.physics.dial_search import LIKELY_SPREAD, Breaks, DialSearch, search_dial
from core.records import ArmKind, Cartridge, Deck, SkatingControl
from core.steps.skating.chart import force_picture
from core.steps.skating.force import (
    DIALS,
    WORDS,
    Settings,
    SideForce,
    downforce_heard,
    said_of,
    settings_of,
    side_force_of,
)
from core.steps.skating.readings import (
    Broke,
    RisingBands,
    Setting,
    SkatingState,
    skating_state_of,
)

NAME: Final = "skating"

_FORETOLD_SPREAD: Final = 0.1
"""How far off, as a share, a balance is that was found at another downforce: our own allowance."""

_SHARE_OF_DOWNFORCE: Final = 0.1
"""Nearer than a tenth of the downforce no rule of thumb goes: our own allowance."""


Readings = Annotated[Setting | RisingBands, Field(discriminator="way")]


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Whatever has nothing to set is recorded as such, with the reason."""
    del cartridge
    if deck.arm.kind is ArmKind.PARALLEL:
        reason = "A parallel-tracking arm pulls along the groove: there is no skating to balance."
        return Applicability(reads=False, adjusts=False, reason=reason)
    control = deck.skating.control
    if control is SkatingControl.FLUID:
        reason = "This deck's compensation is fixed or works by fluid: there is nothing to set."
        return Applicability(reads=False, adjusts=False, reason=reason)
    if control is SkatingControl.NONE:
        reason = "This deck has no skating compensation: there is nothing to set."
        return Applicability(reads=False, adjusts=False, reason=reason)
    if control is SkatingControl.THREAD_WEIGHT and not deck.skating.notch_levers_mm:
        reason = "No notch of the thread weight is entered for this deck: there is nothing to set."
        return Applicability(reads=False, adjusts=False, reason=reason)
    if control in DIALS and deck.skating.step_gf > deck.skating.highest_gf:
        reason = "The first mark lies beyond the last one entered for this deck: nothing to set."
        return Applicability(reads=False, adjusts=False, reason=reason)
    return Applicability(reads=True, adjusts=True, ways=("setting", "test bands"))


def picture(context: Context) -> Picture:
    """Draw side force over radius with its band of friction, and compensation as set."""
    return assess(context).picture


def assess(context: Context) -> Assessment:
    """Judge the setting: by the test bands where there are any, else by the rule of practice.

    The bands are halved toward the setting at which both channels break up together, or until
    one mark divides too little from too much.
    """
    force = side_force_of(context)
    applicability = applies(context.deck, context.cartridge)
    settings = settings_of(context.deck, force) if force is not None else None
    if not applicability.reads or force is None or settings is None:
        return Assessment(
            verdict=Verdict.NOTHING_TO_SET,
            headline=applicability.reason,
            drawing=partial(force_picture, force, None, (), context.numbers),
            figures=_force_figures(force),
            notes=_uncompensated(context, force),
        )
    return _SkatingJudge(context, force, settings, skating_state_of(context, settings)).judged()


def _uncompensated(context: Context, force: SideForce | None) -> tuple[str, ...]:
    if force is None or context.deck.skating.control is not SkatingControl.NONE:
        return ()
    pull = context.numbers.unit(force.mean.middle_gf, "gf")
    note = (
        f"About {pull} pulls toward the spindle and stays. Many decks play so; downforce near the "
        "upper end of the range helps."
    )
    return (note,)


def _force_figures(force: SideForce | None) -> tuple[Figure, ...]:
    if force is None:
        return ()
    half = abs(force.mean.high_gf - force.mean.low_gf) / 2.0
    note = "the width is what friction leaves open"
    return (
        Figure("side_force", "Side force, mean", force.mean.middle_gf, "gf", 2, half, note=note),
    )


@dataclass(frozen=True, slots=True)
class _SkatingJudge:
    context: Context
    force: SideForce
    settings: Settings
    history: SkatingState

    def judged(self) -> Assessment:
        history = self.history
        rule = self._said(self.settings.by_rule)
        if history.no_such_mark is not None:
            last = self._said(max(range(len(self.settings.marks)), key=self._mark))
            headline = f"This deck has no such setting: the last is {last}. Enter it again."
            return self._assessment(Verdict.READ_AGAIN, headline)
        if not self.context.trials or not (history.places or history.moved_last):
            return self._assessment(
                Verdict.NO_READING,
                f"Begin with {rule}: set it, then enter it."
                if self.settings.by_rule
                else "Begin with the compensation off, and enter 0.",
                self._first_notes(),
            )
        if history.moved_last:
            headline = "Play the bands again at the new setting, or enter the setting."
            return self._assessment(Verdict.READ_AGAIN, headline)
        here = history.places[-1]
        told = [
            (float(place), _BREAKS[answer]) for place, answer in history.heard if answer in _BREAKS
        ]
        if history.heard and history.heard[-1] == (here, Broke.NEITHER):
            headline = f"Both channels stay clean to the loudest band at {self._said(here)}."
            return self._assessment(Verdict.GOOD, headline, method=_BY_EAR, best=here)
        if told:
            return self._by_ear(here, self._searched(told))
        return self._by_rule(here)

    def _searched(self, told: list[tuple[float, Breaks]]) -> DialSearch:
        settings = self.settings
        near_enough = 0.0
        if settings.control in DIALS:
            near_enough = self._tolerance(settings.by_rule) / self.context.deck.skating.step_gf
        return search_dial(
            told,
            0.0,
            float(settings.last),
            1.0,
            likely=self.history.foretold or float(settings.by_rule) or None,
            likely_spread=_FORETOLD_SPREAD if self.history.foretold else LIKELY_SPREAD,
            near_enough=near_enough,
        )

    def _by_ear(self, here: int, search: DialSearch) -> Assessment:
        if search.contradiction is not None:
            again = round(search.best_setting)
            notes = (_CONTRADICTION,)
            if here == again:
                headline = "Two answers contradict each other: play the bands here again."
                return self._assessment(Verdict.READ_AGAIN, headline, notes, method=_BY_EAR)
            return self._to(here, again, notes)
        if search.next_setting is not None:
            return self._to(here, round(search.next_setting), self._bracket(search))
        best = round(search.best_setting)
        if here != best:
            return self._to(here, best, self._bracket(search))
        said = self._said(here)
        if search.at_end:
            left = here == 0
            headline = (
                f"Left as it is at {said}: the left still breaks first, and it can't go lower."
                if left
                else f"Left as it is at {said}: the right still breaks first, and it ends here."
            )
            notes = (_AT_THE_END,)
            return self._assessment(
                Verdict.LEFT_AS_FOUND, headline, notes, method=_BY_EAR, best=here
            )
        together = (here, Broke.TOGETHER) in self.history.heard
        why = "both channels break up together" if together else "no setting between is nearer"
        return self._assessment(Verdict.GOOD, f"Good at {said}: {why}.", method=_BY_EAR, best=here)

    def _by_rule(self, here: int) -> Assessment:
        rule = self.settings.by_rule
        near = here == rule or (
            self.settings.control in DIALS
            and abs(self._mark(here) - self._mark(rule)) <= self._tolerance(rule)
        )
        if near:
            headline = f"Set to {self._said(here)} by rule; test bands would tell more."
            return self._assessment(Verdict.GOOD, headline, self._first_notes(), best=rule)
        return self._to(here, rule, self._first_notes())

    def _to(self, here: int, there: int, notes: tuple[str, ...]) -> Assessment:
        """Order the way from one place to another."""
        settings = self.settings
        word, said = WORDS[settings.control], self._said(there)
        if settings.control in DIALS:
            sentence = f"Set the {word} from {self._said(here)} to {said}."
            if there == 0:
                sentence = f"Set the {word} from {self._said(here)} to off."
        elif there == 0:
            sentence = f"Take the {word} off."
        else:
            sentence = f"Hang the {word} in {said}."
        amount = self._mark(there) - self._mark(here)
        part = MovePart(control=Control.SKATING, amount=round(amount, 6), unit=settings.unit)
        more = there > here
        reason = "More" if more else "Less"
        again = " Then play the bands again." if self.history.heard else ""
        move = Move(
            sentence=sentence,
            parts=(part,),
            reason=f"{reason} compensation than now.{again}",
        )
        method = _BY_EAR if self.history.heard else _RULE
        return self._assessment(Verdict.MOVE, sentence, notes, move=move, method=method, best=there)

    def _bracket(self, search: DialSearch) -> tuple[str, ...]:
        low, high = round(search.low), round(search.high)
        heard = dict(self.history.heard)
        told = []
        if heard.get(low) is Broke.RIGHT:
            told.append(f"at {self._said(low)} the right breaks first: too little")
        if heard.get(high) is Broke.LEFT:
            told.append(f"at {self._said(high)} the left breaks first: too much")
        if not told:
            return ()
        text = "; ".join(told)
        return (f"{text[0].upper()}{text[1:]}.",)

    def _first_notes(self) -> tuple[str, ...]:
        numbers, force, control = self.context.numbers, self.force, self.settings.control
        change = force.sign_change_mm
        if change is not None:
            underhung = (
                "On this underhung arm the side force changes sign at "
                f"{numbers.unit(change, 'mm', 0)}: what helps outside of it harms inside. "
                "Compensation is commonly left off (practice)."
            )
            return (underhung,)
        low, high = self._span()
        reach = f"friction leaves the right setting anywhere from {low} to {high}"
        if control in DIALS:
            shape = self.context.cartridge.stylus.label.lower()
            dial = (
                f"By rule of practice the mark equals the downforce; {reach}. Where the dial has "
                f"a scale for each stylus shape, take the one for '{shape}'."
            )
            return (dial,)
        return (f"By moments about the pivot, with the usual friction; {reach}.",)

    def _span(self) -> tuple[str, str]:
        """Return the settings for the least and the most friction of practice, as words."""
        numbers, force = self.context.numbers, self.force
        if self.settings.control in DIALS:
            scale = force.downforce_gf / force.mean.middle_gf if force.mean.middle_gf else 0.0
            ends = (force.mean.low_gf * scale, force.mean.high_gf * scale)
            return numbers.plain(ends[0]), numbers.unit(min(ends[1], 99.0), "gf")
        low, high = (
            min(
                range(len(self.settings.force_gf)),
                key=lambda i: abs(self.settings.force_gf[i] - wanted),
            )
            for wanted in (force.mean.low_gf, force.mean.high_gf)
        )
        return self._said(low), self._said(high)

    def _mark(self, place: int) -> float:
        return self.settings.marks[place]

    def _said(self, place: int) -> str:
        return said_of(self.settings, place, self.context.numbers)

    def _tolerance(self, place: int) -> float:
        """Half the way to the next setting, in downforce answered, or a tenth of the downforce."""
        settings, force = self.settings, self.force
        others = [p for p in (place - 1, place + 1) if 0 <= p <= settings.last]
        here = settings.answers_gf(place, force)
        gap = max(abs(settings.answers_gf(p, force) - here) for p in others)
        return max(gap / 2.0, _SHARE_OF_DOWNFORCE * force.downforce_gf)

    def _figures(self, best: int | None) -> tuple[Figure, ...]:
        figures: list[Figure] = []
        if self.history.places:
            here = self.history.places[-1]
            aim = here if best is None else best
            dial = self.settings.control in DIALS
            figures.append(
                Figure(
                    "setting",
                    "Skating setting" if dial else "Downforce that the notch answers",
                    self.settings.answers_gf(here, self.force),
                    "gf",
                    target=self.settings.answers_gf(aim, self.force),
                    tolerance=self._tolerance(aim),
                )
            )
            if not dial:
                figures.append(Figure("notch", "Notch, 0 is off", self._mark(here), "", 0))
            heard = downforce_heard(self.context) if self.history.heard else None
            figures.append(
                Figure(
                    "set_for",
                    "Downforce it is set for",
                    self.force.downforce_gf if heard is None else heard,
                    "gf",
                    note="as the bands were heard" if heard is not None else "the target",
                )
            )
            made = self.settings.force_gf[here]
            note = "if the dial's marks are right" if dial else ""
            figures.append(Figure("compensation", "Compensation", made, "gf", note=note))
        return (*figures, *_force_figures(self.force))

    def _assessment(
        self,
        verdict: Verdict,
        headline: str,
        notes: tuple[str, ...] = (),
        *,
        move: Move | None = None,
        method: str = "",
        best: int | None = None,
    ) -> Assessment:
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(
                force_picture, self.force, self.settings, self.history.places, self.context.numbers
            ),
            next_move=move,
            figures=self._figures(best),
            notes=notes,
            method=method or _RULE,
        )


_BREAKS: Final = {
    Broke.LEFT: Breaks.LEFT,
    Broke.RIGHT: Breaks.RIGHT,
    Broke.TOGETHER: Breaks.TOGETHER,
}
_BY_EAR: Final = "rising test bands by ear"
_RULE: Final = "rule of practice"
_CONTRADICTION: Final = (
    "Two answers can't both be right: more compensation was found too little where less was found "
    "too much."
)
_AT_THE_END: Final = (
    "Look at alignment and tilt, and see that the stylus is clean; one worn side sounds the same."
)
