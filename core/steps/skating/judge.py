"""Skating: a first setting by rule; then by ear or recording, with rising test bands."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import Annotated, Final

import numpy as np
from pydantic import Field

from core.estimation import (
    CHECKED,
    ControlModel,
    ControlMove,
    ControlState,
    ControlTrial,
    ControlVerdict,
    Estimate,
    solve_control,
)
from core.fitting import (
    Applicability,
    Assessment,
    Context,
    Control,
    Figure,
    Move,
    MovePart,
    NextReading,
    Verdict,
    ways_for,
)
from core.language import Message, Quantity, Value, message
from core.physics.ear_search import (
    LIKELY_SPREAD,
    MOST_PLAYED,
    Breaks,
    EarSearch,
    imbalance_db,
    search_by_ear,
)
from core.physics.friction import MU_PRACTICE
from core.records import ArmKind, Cartridge, Deck, SkatingControl
from core.steps.shared import asked_first, asked_of, compared, does_not_answer, questioned
from core.steps.skating.chart import force_picture
from core.steps.skating.doubts import counted, doubts_of
from core.steps.skating.force import (
    DIALS,
    Settings,
    SideForce,
    downforce_heard,
    friction_range,
    said_of,
    settings_of,
    side_force_of,
)
from core.steps.skating.readings import (
    BY_TONE,
    BandsByTone,
    Broke,
    RisingBands,
    Setting,
    SkatingState,
    skating_state_of,
)

_FORETOLD_SPREAD: Final = 0.1
"""Relative error of a balance that was found at another downforce: our own allowance."""

_PLAYED_ANEW: Final = 2
"""Most plays of the bands if they were heard at another downforce before: our own."""

_MOST_RECORDED: Final = 5
"""Most recordings at one setting before another is tried: our own."""

_SHARE_OF_DOWNFORCE: Final = 0.1
"""The accuracy of a rule of thumb, as a share of the downforce: our own allowance."""

_HARDLY: Final = 0.1
"""A dial that makes less than this share of the usual pull is not scaled by the rule (our own)."""
_USUAL_PULL: Final = 0.117
"""Side force of common arms as a share of the downforce: friction 0.3 at 23 degrees (derived)."""

_PULL_COVERS: Final = 0.15
"""The side force varies by this share of its mean over one record, either way, with the radius and
with a friction of 0.25 to 0.3 (published, second-hand). No setting compensates for all of it."""


Readings = Annotated[Setting | RisingBands | BandsByTone, Field(discriminator="way")]


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Return whether there is something to set, and if not, the reason."""
    reason = _nothing_to_set(deck)
    if reason is not None:
        return Applicability(reads=False, adjusts=False, reason=reason)
    return Applicability(reads=True, adjusts=True, ways=ways_for(Readings, deck, cartridge))


def _nothing_to_set(deck: Deck) -> Message | None:
    if deck.arm.kind is ArmKind.PARALLEL:
        return message("skating.nothing.parallel_arm")
    control = deck.skating.control
    if control is SkatingControl.FLUID:
        return message("skating.nothing.fixed")
    if control is SkatingControl.NONE:
        return message("skating.nothing.no_compensation")
    if control is SkatingControl.THREAD_WEIGHT and not deck.skating.notch_levers_mm:
        return message("skating.nothing.no_notch")
    if control in DIALS and deck.skating.step_gf > deck.skating.highest_gf:
        return message("skating.nothing.first_mark_beyond_last")
    return None


def assess(context: Context) -> Assessment:
    """Judge the setting: by the test bands where there are any, else by the rule of practice.

    By ear, both edges of the settings at which the channels break up together are bracketed; the
    middle is good if they are known well enough, and otherwise left with its interval.
    """
    force = side_force_of(context)
    applicability = applies(context.deck, context.cartridge)
    settings = settings_of(context.deck, force) if force is not None else None
    if force is None or settings is None:
        return Assessment(
            verdict=Verdict.NOTHING_TO_SET,
            headline=applicability.reason or message("skating.nothing.parallel_arm"),
            drawing=partial(force_picture, force, None, ()),
            figures=_force_figures(force),
            notes=_uncompensated(context, force),
        )
    told = counted(context)
    said = _SkatingJudge(told, force, settings, skating_state_of(told, settings)).judged()
    return questioned(context, doubts_of(context), said)


def _uncompensated(context: Context, force: SideForce | None) -> tuple[Message, ...]:
    if force is None or context.deck.skating.control is not SkatingControl.NONE:
        return ()
    pull = Quantity(force.mean.middle_gf, "gf")
    return (message("skating.note.uncompensated", pull=pull),)


def _force_figures(force: SideForce | None) -> tuple[Figure, ...]:
    if force is None:
        return ()
    half = abs(force.mean.high_gf - force.mean.low_gf) / 2.0
    label = message("skating.figure.side_force")
    note = message("skating.figure.friction_decides", **friction_range(MU_PRACTICE, 1))
    ways = message("skating.pull.inward"), message("skating.pull.outward")
    mean = force.mean.middle_gf
    return (Figure("side_force", label, mean, "gf", 2, half, note=note, ways=ways),)


@dataclass(frozen=True, slots=True)
class _SkatingJudge:
    context: Context
    force: SideForce
    settings: Settings
    history: SkatingState

    def judged(self) -> Assessment:
        history = self.history
        if history.no_such_mark:
            last = self._said(max(range(len(self.settings.marks)), key=self._mark))
            return self._read(message("skating.no_such_setting", last=last))
        if not self.context.trials or not (history.places or history.moved_last):
            rule = self.settings.by_rule
            headline = message("skating.begin_off")
            if rule:
                headline = (
                    message("skating.begin", setting=self._said(rule))
                    if self.settings.control in DIALS
                    else message("skating.begin_notch", setting=self._said(rule))
                )
            return self._read(
                headline, self._first_notes(), verdict=Verdict.NO_READING, at=self._mark(rule)
            )
        if history.moved_last:
            return self._read(message("skating.moved_since"))
        here = history.places[-1]
        told = [(place, _BREAKS[answer]) for place, answer in history.heard if answer in _BREAKS]
        if history.heard and history.heard[-1] == (here, Broke.NEITHER):
            headline = message("skating.clean", setting=self._said(here))
            return self._assessment(Verdict.GOOD, headline, best=here, by_ear=True)
        if told:
            by_tone = history.by_tone_last
            return self._by_tone(here) if by_tone else self._by_ear(here, self._searched(told))
        return self._by_rule(here)

    def _searched(self, told: list[tuple[int, Breaks]]) -> EarSearch:
        """Search in decibels between the channels, as the ear hears them."""
        forces, foretold = self._forces(), self.history.foretold
        marks = self.settings.by_rule if foretold is None else foretold
        likely = self._db(float(np.interp(marks, range(len(forces)), forces)))
        return search_by_ear(
            told,
            [self._db(force) for force in forces],
            self._near_enough_db(),
            likely_db=likely or None,
            likely_spread=LIKELY_SPREAD if foretold is None else _FORETOLD_SPREAD,
            most=MOST_PLAYED if foretold is None else _PLAYED_ANEW,
        )

    def _forces(self) -> tuple[float, ...]:
        """Return the force of each setting; if the rule asks for almost none, as dials are marked.

        Dials are marked for arms with side force. For an arm with hardly any, the rule would
        stretch the whole dial over an inaudible range.
        """
        settings = self.settings
        usual = tuple(_USUAL_PULL * mark for mark in settings.marks)
        if settings.control in DIALS and settings.force_gf[-1] < _HARDLY * usual[-1]:
            return usual
        return settings.force_gf

    def _db(self, force_gf: float) -> float:
        return imbalance_db(force_gf, self._downforce_gf())

    def _downforce_gf(self) -> float:
        heard = downforce_heard(self.context) if self.history.heard else None
        return heard if heard and heard > 0.0 else self.force.downforce_gf

    def _near_enough_db(self) -> float:
        """Return the widest of one setting, a tenth of the downforce, and the variation.

        The first notch of a thread weight lies far from off: that step counts only if it is the
        only one.
        """
        forces, pull = self._forces(), abs(self.force.mean.middle_gf)
        step = max(then - now for now, then in pairwise(forces[1:] if len(forces) > 2 else forces))
        return self._db(max(step, _SHARE_OF_DOWNFORCE * pull, _PULL_COVERS * pull))

    def _near_enough_here_db(self, here: int) -> float:
        """Return the same for a place, as recordings judge it.

        The setting beside it, not the widest step of all: the first notch of a thread weight lies
        far from off, the others close together.
        """
        forces, pull = self._forces(), abs(self.force.mean.middle_gf)
        beside = [place for place in (here - 1, here + 1) if 0 <= place < len(forces)]
        step = max(abs(forces[place] - forces[here]) for place in beside)
        return self._db(max(step, _SHARE_OF_DOWNFORCE * pull, self.force.covers_gf()))

    def _by_ear(self, here: int, search: EarSearch) -> Assessment:
        if search.contradiction is not None:
            again = search.best_place
            named = compared(self.context, lambda one: isinstance(one, RisingBands))
            notes: tuple[Message, ...] = (*named, message("skating.note.contradiction"))
            if here == again:
                headline = message("skating.contradiction")
                return self._read(headline, notes, way="test bands", at=self._mark(here))
            return self._to(here, again, notes)
        notes = self._edges()
        wanted = search.best_place if search.next_place is None else search.next_place
        if here != wanted:
            return self._to(here, wanted, notes)
        if search.next_place is not None:
            headline = message("skating.hear_again", setting=self._said(here))
            return self._read(headline, notes, way="test bands", at=self._mark(here))
        said = self._said(here)
        if search.at_end:
            side = "left" if here == 0 else "right"
            headline = message("skating.at_the_end", side=side, setting=said)
            notes = (message("skating.note.at_the_end"),)
            return self._assessment(Verdict.LEFT_AS_FOUND, headline, notes, best=here, by_ear=True)
        low, high = (self._answering(edge) for edge in (search.low_db, search.high_db))
        kept = message("skating.note.by_ear_between", low=low, high=high)
        if search.is_sure:
            headline = message("skating.middle", setting=said)
            verdict = Verdict.GOOD
        else:
            headline = message("skating.no_nearer_by_ear", setting=said, low=low, high=high)
            verdict = Verdict.LEFT_AS_FOUND
        return self._assessment(
            verdict, headline, (*notes, kept), best=here, by_ear=True, search=search
        )

    def _toned(self) -> ControlState:
        """Return the results of recordings, in decibels between the channels.

        The control is scaled so that one decibel of it removes one decibel.
        """
        forces = self._forces()
        trials: list[ControlTrial] = []
        before: float | None = None
        for one in self.history.toned:
            downforce = one.downforce_gf or 0.0
            if downforce <= 0.0:
                downforce = self._downforce_gf()
            answered = imbalance_db(forces[one.place], downforce)
            if before is not None and answered != before:
                trials.append(ControlMove(answered - before))
            trials.append(CHECKED if one.difference is None else one.difference)
            before = answered
        model = ControlModel(
            "dB",
            stated_gain=-1.0,
            gain_relative_uncertainty=LIKELY_SPREAD,
            execution_relative=0.0,
        )
        near = self._near_enough_here_db(self.history.toned[-1].place)
        return solve_control(trials, 0.0, near, model)

    def _by_tone(self, here: int) -> Assessment:
        """Judge by recordings: how much later one channel breaks up than the other."""
        state = self._toned()
        now = state.now
        if now is None or self.history.toned[-1].place != here:
            headline = message("skating.record_again", setting=self._said(here))
            return self._read(headline, way=BY_TONE, at=self._mark(here))
        if state.verdict is ControlVerdict.DONE:
            return self._balanced(here, now, surely=True)
        if state.verdict in (ControlVerdict.NO_RESPONSE, ControlVerdict.CHECK_CONTROL):
            ends = None if state.beyond else self._ends_here(here, now)
            return ends or self._unanswered(state)
        again = state.verdict is ControlVerdict.READ_AGAIN and state.readings_needed is not None
        if again or self._settled_by_reading(here, now):
            headline = message("skating.record_again", setting=self._said(here))
            return self._read(headline, way=BY_TONE, at=self._mark(here))
        return self._toward(here, now, state.move)

    def _settled_by_reading(self, here: int, now: Estimate) -> bool:
        """Whether one or two more recordings here would probably settle it, without a move."""
        played = 0
        for one in reversed(self.history.toned):
            if one.place != here:
                break
            played += one.difference is not None
        if played >= _MOST_RECORDED:
            return False
        half = now.half_width() * math.sqrt(played / (played + 2.0))
        return abs(now.value) + half <= self._near_enough_here_db(here)

    def _unanswered(self, state: ControlState) -> Assessment:
        """Ask about a control that was moved without effect, or give it up."""
        if state.verdict is ControlVerdict.NO_RESPONSE:
            headline, note = does_not_answer(Control.SKATING)
            return self._assessment(Verdict.LEFT_AS_FOUND, headline, (note,))
        said = self._read(message("skating.moved_since"), way=BY_TONE)
        return asked_of(said, self.context, Control.SKATING, state)

    def _toward(self, here: int, now: Estimate, move_db: float | None) -> Assessment:
        """Order the setting nearest to the wanted one, or say that it is this one."""
        answers = [self._db(force) for force in self._forces()]
        wanted = answers[here] + (now.value if move_db is None else move_db)
        there = min(range(len(answers)), key=lambda place: abs(answers[place] - wanted))
        if there != here:
            return self._to(here, there)
        return self._ends_here(here, now) or self._balanced(here, now, surely=False)

    def _ends_here(self, here: int, now: Estimate) -> Assessment | None:
        """Report that the control is at its end, if more is wanted.

        Recordings tell a small step from none only after many: a control with a small response is
        not one without effect. It is if nothing shows where half of the stated effect would.
        """
        wanted = {0: -1.0, self.settings.last: 1.0}.get(here, 0.0)
        if wanted * now.value <= self._near_enough_here_db(here) or self._did_nothing():
            return None
        side = "left" if here == 0 else "right"
        headline = message("skating.at_the_end", side=side, setting=self._said(here))
        notes = (message("skating.note.at_the_end"),)
        return self._assessment(Verdict.LEFT_AS_FOUND, headline, notes, best=here)

    def _did_nothing(self) -> bool:
        """Whether recordings at the first setting and here differ by certainly less than half."""
        toned = [(t.place, t.difference) for t in self.history.toned if t.difference is not None]
        first, last = toned[0][0], toned[-1][0]
        if first == last:
            return False
        spreads, means = [], []
        for place in (first, last):
            told = [one for at, one in toned if at == place]
            means.append(math.fsum(one.value for one in told) / len(told))
            spreads.append(math.hypot(*(one.half_width() for one in told)) / len(told))
        stated = self._db(self._forces()[last]) - self._db(self._forces()[first])
        changed = means[0] - means[1]
        return math.copysign(1.0, stated) * changed + math.hypot(*spreads) < 0.5 * abs(stated)

    def _balanced(self, here: int, now: Estimate, *, surely: bool) -> Assessment:
        """Report how close the break-up of both channels is here."""
        apart = Quantity(abs(now.value) + now.half_width(), "dB", 1)
        if surely:
            headline = message("skating.balanced", setting=self._said(here), apart=apart)
            return self._assessment(Verdict.GOOD, headline, best=here)
        headline = message("skating.no_nearer", setting=self._said(here), apart=apart)
        verdict = Verdict.LEFT_AS_FOUND
        return self._assessment(verdict, headline, best=here)

    def _answering(self, balance_db: float) -> Message | Quantity:
        """Return the setting for this compensation, between the marks of a dial."""
        answered = [self._db(force) for force in self._forces()]
        if self.settings.control in DIALS:
            return Quantity(float(np.interp(balance_db, answered, self.settings.marks)), "gf")
        nearest = min(range(len(answered)), key=lambda i: abs(answered[i] - balance_db))
        return self._said(nearest)

    def _by_rule(self, here: int) -> Assessment:
        rule = self.settings.by_rule
        near = here == rule or (
            self.settings.control in DIALS
            and abs(self._mark(here) - self._mark(rule)) <= self._tolerance(rule)
        )
        if near and self._ends_short(here):
            wanted = Quantity(self.force.downforce_gf, "gf")
            headline = message("skating.ends_short", setting=self._said(here), wanted=wanted)
            return self._assessment(Verdict.LEFT_AS_FOUND, headline, self._first_notes(), best=rule)
        if near:
            headline = message("skating.set_by_rule", setting=self._said(here))
            return self._assessment(Verdict.GOOD, headline, self._first_notes(), best=rule)
        notes = self._first_notes()
        pull, made = self.force.mean, self.settings.force_gf[here]
        if self.force.sign_change_mm is None and pull.low_gf <= made <= pull.high_gf:
            # The middle is likelier, so it is ordered; what was found by ear is not to be lost.
            said = {"here": self._said(here), "there": self._said(rule)}
            notes = (message("skating.note.rule_cannot_tell", **said), *notes)
        return self._to(here, rule, notes)

    def _to(
        self,
        here: int,
        there: int,
        notes: tuple[Message, ...] = (),
    ) -> Assessment:
        """Order the way from one setting to another, unless the control did not respond."""
        answers = self.history.answers
        if answers.gave_up:
            headline, note = does_not_answer(Control.SKATING)
            return self._assessment(Verdict.LEFT_AS_FOUND, headline, (note, *notes))
        if answers.asks:
            said = self._read(message("skating.moved_since"), notes)
            return asked_first(said, self.context, Control.SKATING, did=answers.did)
        settings = self.settings
        control, now, then = settings.control, self._said(here), self._said(there)
        way = "more" if there > here else "less"
        amount = self._mark(there) - self._mark(here)
        by = Quantity(abs(amount), "gf")
        if control in DIALS and there == 0:
            sentence = message("skating.set_off", control=control, now=now, amount=by)
        elif control in DIALS:
            told = message("skating.by", way=way, amount=by)
            sentence = message("skating.set", control=control, now=now, then=then, by=told)
        elif there == 0:
            sentence = message("skating.take_off")
        else:
            sentence = message("skating.hang", notch=then)
        part = MovePart(control=Control.SKATING, amount=round(amount, 6), unit=settings.unit)
        reason = None if control in DIALS else message("skating.reason", way=way)
        if self.history.heard:
            reason = message("skating.reason_by_ear", way=way)
        move = Move(sentence=sentence, parts=(part,), reason=reason)
        by_ear = bool(self.history.heard)
        return self._assessment(Verdict.MOVE, sentence, notes, move=move, best=there, by_ear=by_ear)

    def _edges(self) -> tuple[Message, ...]:
        """Report what was heard at the nearest settings on both sides of the balanced range."""
        heard = dict(self.history.heard)
        little = max((p for p, broke in heard.items() if broke is Broke.RIGHT), default=None)
        much = min((p for p, broke in heard.items() if broke is Broke.LEFT), default=None)
        if little is not None and much is not None:
            said = {"low": self._said(little), "high": self._said(much)}
            return (message("skating.note.between", **said),)
        if little is not None:
            return (message("skating.note.too_little", setting=self._said(little)),)
        if much is not None:
            return (message("skating.note.too_much", setting=self._said(much)),)
        return ()

    def _first_notes(self) -> tuple[Message, ...]:
        change = self.force.sign_change_mm
        if change is not None:
            return (message("skating.note.underhung", radius=Quantity(change, "mm", 0)),)
        low, high = self._span()
        if self.settings.control in DIALS:
            shape = message("skating.stylus", shape=self.context.cartridge.stylus)
            return (message("skating.note.rule_of_dials", low=low, high=high, shape=shape),)
        return (message("skating.note.rule_of_notches", low=low, high=high),)

    def _span(self) -> tuple[Value, Value]:
        """Return the settings for the least and the most friction of practice."""
        force = self.force
        if self.settings.control in DIALS:
            scale = force.downforce_gf / force.mean.middle_gf if force.mean.middle_gf else 0.0
            ends = (force.mean.low_gf * scale, force.mean.high_gf * scale)
            last = math.inf if self._ends_short(self.settings.last) else self.settings.marks[-1]
            least, most = (min(end, last) for end in ends)
            return Quantity(least, "", 2), Quantity(most, "gf")
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

    def _said(self, place: int) -> Message | Quantity:
        return said_of(self.settings, place)

    def _tolerance(self, place: int) -> float:
        """Return half the way to the next setting, in downforce, or a tenth of the downforce."""
        settings, force = self.settings, self.force
        others = [p for p in (place - 1, place + 1) if 0 <= p <= settings.last]
        here = settings.answers_gf(place, force)
        gap = max(abs(settings.answers_gf(p, force) - here) for p in others)
        return max(gap / 2.0, _SHARE_OF_DOWNFORCE * force.downforce_gf)

    def _ends_short(self, place: int) -> bool:
        """Whether a dial ends here, before what the rule asks for."""
        settings = self.settings
        is_end = place == settings.last == settings.by_rule and settings.control in DIALS
        lacks = self.force.downforce_gf - settings.marks[settings.last]
        return is_end and lacks > self._tolerance(place)

    def _half_width(self, search: EarSearch) -> float:
        """Return half of the interval of the balance, in downforce answered."""
        return 0.5 * (search.high_db - search.low_db) * self._gf_per_db()

    def _gf_per_db(self) -> float:
        """Return the change in downforce compensated per decibel."""
        pull = self._db(self.force.mean.middle_gf)
        if pull <= 0.0:
            pull = self._db(_USUAL_PULL * self.force.downforce_gf)
        return self.force.downforce_gf / pull

    def _figures(self, best: int | None, search: EarSearch | None) -> tuple[Figure, ...]:
        figures: list[Figure] = []
        if self.history.places:
            here = self.history.places[-1]
            aim = here if best is None else best
            dial = self.settings.control in DIALS
            kind = "dial" if dial else "notch"
            half = None if search is None else self._half_width(search)
            target, tolerance = self.settings.answers_gf(aim, self.force), self._tolerance(aim)
            if aim == here and not self.history.heard and self._ends_short(aim):
                target = self.force.downforce_gf
            told = self._told_here()
            if told is not None and aim == here:
                # A later change of downforce is judged with the remaining error and its interval.
                gf_per_db = self._gf_per_db()
                half = told.half_width() * gf_per_db
                target += told.value * gf_per_db
                tolerance = self._near_enough_here_db(here) * gf_per_db
            figures.append(
                Figure(
                    "setting",
                    message("skating.figure.setting", kind=kind),
                    self.settings.answers_gf(here, self.force),
                    "gf",
                    half_width=half,
                    target=target,
                    tolerance=tolerance,
                )
            )
            if not dial:
                notch = message("skating.figure.notch")
                figures.append(Figure("notch", notch, self._mark(here), "", 0))
            heard = downforce_heard(self.context) if self.history.heard else None
            figures.append(
                Figure(
                    "set_for",
                    message("skating.figure.set_for"),
                    self.force.downforce_gf if heard is None else heard,
                    "gf",
                    note=message("skating.figure.target")
                    if heard is None
                    else message("skating.figure.as_heard"),
                )
            )
            made = self.settings.force_gf[here]
            label = message("skating.figure.compensation")
            note = message("skating.figure.if_marks_are_right") if dial else None
            figures.append(Figure("compensation", label, made, "gf", note=note))
        return (*figures, *_force_figures(self.force))

    def _told_here(self) -> Estimate | None:
        """Return the result of recordings at the present setting, in decibels."""
        history = self.history
        is_here = bool(history.toned) and history.toned[-1].place == history.places[-1]
        return self._toned().now if is_here and not history.moved_last else None

    def _difference(self) -> tuple[Figure, ...]:
        """Return the break-up difference of the channels, if it was recorded."""
        history, now = self.history, self._told_here()
        if now is None:
            return ()
        label = message("skating.figure.break_up")
        half, near = now.half_width(), self._near_enough_here_db(history.places[-1])
        ways = message("skating.off.right_first"), message("skating.off.left_first")
        return (Figure("break_up", label, now.value, "dB", 1, half, 0.0, near, ways=ways),)

    def _read(
        self,
        headline: Message,
        notes: tuple[Message, ...] = (),
        *,
        verdict: Verdict = Verdict.READ_AGAIN,
        way: str = "",
        at: float | None = None,
    ) -> Assessment:
        """Ask for a reading, at a mark if it matters."""
        values = {} if at is None else {"setting": at}
        wanted = NextReading(way=way, values=values, why=headline)
        return self._assessment(
            verdict,
            headline,
            notes,
            by_ear=way == "test bands",
            next_reading=wanted,
        )

    def _assessment(
        self,
        verdict: Verdict,
        headline: Message,
        notes: tuple[Message, ...] = (),
        *,
        move: Move | None = None,
        best: int | None = None,
        by_ear: bool = False,
        next_reading: NextReading | None = None,
        search: EarSearch | None = None,
    ) -> Assessment:
        figures = (*self._difference(), *self._figures(best, search))
        method = message("skating.by_ear") if by_ear else message("skating.by_rule")
        if self.history.by_tone_last:
            method = message("skating.by_tone")
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(force_picture, self.force, self.settings, self.history.places),
            next_move=move,
            figures=figures,
            notes=notes,
            method=method,
            next_reading=next_reading,
        )


_BREAKS: Final = {
    Broke.LEFT: Breaks.LEFT,
    Broke.RIGHT: Breaks.RIGHT,
    Broke.TOGETHER: Breaks.TOGETHER,
}
