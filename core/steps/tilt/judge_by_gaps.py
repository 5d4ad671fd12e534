"""Tilt judged by gaps and mirror, with the learning solver."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Final

import numpy as np

from core.estimation import (
    CHECKED,
    ControlModel,
    ControlState,
    ControlTrial,
    ControlVerdict,
    Estimate,
    solve_control,
    worst_residual,
)
from core.estimation import ControlMove as TrimMove
from core.fitting import Assessment, Context, Control, Figure, Move, NextReading, Verdict
from core.language import Interval, Message, Series, message
from core.physics.levelling import weighted_mean
from core.steps.shared import (
    Elsewhere,
    asked_of,
    compared,
    does_not_answer,
    history,
    is_checked,
    is_right_as_read,
    stated_or_learned,
)
from core.steps.tilt.chart import FrontView, draw_front
from core.steps.tilt.control import rolled_by, tilt_mechanism_of
from core.steps.tilt.effects import disturbed_by
from core.steps.tilt.judge_base import CARE, HIGH_SIDES, TiltJudge, asked_by, degrees, high_side
from core.steps.tilt.readings import LookedAt

STATED_GAIN_SHARE: Final = 0.1
"""Relative error of a turn of the head: our own allowance."""

_READING: Final = NextReading(count=None)


def control_of(context: Context) -> ControlModel:
    """Return what is known beforehand of the control that rolls the cartridge."""
    handle = tilt_mechanism_of(context.deck, context.cartridge)
    prior = stated_or_learned(context.gains, handle.turns, "", "°/°", 1.0, STATED_GAIN_SHARE)
    return ControlModel(
        "°",
        stated_gain=prior.value,
        gain_relative_uncertainty=prior.share,
        smallest_step=handle.step_deg,
        execution_absolute=0.3 * handle.step_deg,
    )


class GapJudge(TiltJudge):
    """By gaps and mirror."""

    def __init__(self, context: Context) -> None:
        super().__init__(context)
        self.before: list[float] = []
        self.since: list[tuple[LookedAt, Estimate]] = []
        self.history: list[ControlTrial] = []
        self.checked_after: int | None = None
        """Number of readings since the last move when the questions were answered."""
        for event in history(context, disturbed_by):
            if isinstance(event, Elsewhere):
                self._disturbed(event)
            elif event.moves:
                self._close()
                self.history.append(TrimMove(rolled_by(event.moves)))
            elif is_checked(event, Control.TILT, Control.TILT_SHIM) or is_right_as_read(event):
                self.checked_after = len(self.since)
            elif isinstance(event.reading, LookedAt):
                tilt = event.reading.measure(self.deck.bench, context.cartridge)
                self.since.append((event.reading, tilt))
        self.odd = self._odd()

    def _disturbed(self, event: Elsewhere) -> None:
        """Shift earlier readings by the effect of a move in another step."""
        change = event.change("tilt")
        if event.exchanged or change is None:
            self.before, self.since, self.history = [], [], []
            self.checked_after = None
            return

        def carried(tilt: Estimate) -> Estimate:
            return tilt.shifted(change.value).widened(change.standard_uncertainty)

        self.since = [(reading, carried(tilt)) for reading, tilt in self.since]
        self.history = [
            carried(trial) if isinstance(trial, Estimate) else trial for trial in self.history
        ]

    def _close(self) -> None:
        """Add the readings between two moves: one mean to the trail, all to the solver."""
        self._odd()
        mean = weighted_mean([tilt for _, tilt in self.since])
        if mean is not None:
            self.before.append(mean.value)
        self.history += self._since_as_trials()
        self.since, self.checked_after = [], None

    def _since_as_trials(self) -> list[ControlTrial]:
        trials: list[ControlTrial] = [tilt for _, tilt in self.since]
        if self.checked_after is not None:
            trials.insert(self.checked_after, CHECKED)
        return trials

    def _odd(self) -> LookedAt | None:
        """Drop readings that disagree and were repeated; return one that was not repeated."""
        values = np.array([tilt.value for _, tilt in self.since])
        variances = np.array([tilt.standard_uncertainty for _, tilt in self.since]) ** 2
        last_of = {reading.way: place for place, (reading, _) in enumerate(self.since)}
        stays, odd = np.ones(len(values), dtype=bool), None
        while np.count_nonzero(stays) > 1:
            weights = np.where(stays, 1.0 / variances, 0.0)
            total = weights.sum()
            mean = float(weights @ values) / total
            own = np.where(stays, np.sqrt(np.maximum(variances - 1.0 / total, 0.0)), 0.0)
            worst = worst_residual(values - mean, own)
            if worst is None:
                break
            reading = self.since[worst.index][0]
            if last_of[reading.way] == worst.index:
                odd = reading
                break
            stays[worst.index] = False
            self.note(message("tilt.note.set_aside"))
        self.since = [one for one, stay in zip(self.since, stays, strict=True) if stay]
        return odd

    def assessment(self) -> Assessment:
        """Return the answer."""
        if not self.since and not self.moved_last:
            return self._answer(Verdict.NO_READING, message("tilt.no_reading"))
        if self.moved_last:
            return self._moved()
        mean = weighted_mean([tilt for _, tilt in self.since])
        if mean is None:
            raise AssertionError("a reading that is neither of bands nor of looks")
        if self.odd is not None:
            way = self.odd.way
            named = compared(self.context, lambda one: isinstance(one, LookedAt))
            self.notes = [*named, *self.notes]
            return self._answer(
                Verdict.READ_AGAIN,
                message("tilt.disagree", way=way),
                tilt=mean,
                asked=NextReading(way=way),
            )
        if not self.handle.adjusts:
            return self._answer(*self.without_control(mean), tilt=mean)
        return self._solved(self._trim())

    def _trim(self) -> ControlState:
        trials = [*self.history, *self._since_as_trials()]
        return solve_control(trials, 0.0, self.tolerance, control_of(self.context))

    def _moved(self) -> Assessment:
        self.note(message("tilt.note.earlier_readings"))
        trim = self._trim() if self.handle.adjusts else None
        if trim is None or trim.predicted is None:
            return self._answer(Verdict.READ_AGAIN, message("tilt.read_after_move"))
        predicted = trim.predicted.value
        side = "upright" if abs(predicted) < 0.05 else high_side(predicted)
        size = degrees(abs(predicted))
        headline = message("tilt.read_after_move_expected", side=side, size=size)
        return self._expecting(predicted, headline)

    def _expecting(self, predicted: float, headline: Message) -> Assessment:
        """Ask for a reading, and show what is expected in place of a tilt that was read."""
        answer = self._answer(Verdict.READ_AGAIN, headline, predicted=predicted)
        figure = Figure(
            "predicted_tilt", message("tilt.figure.expected"), predicted, "°", 1, ways=HIGH_SIDES
        )
        return replace(answer, figures=(figure,))

    def _solved(self, trim: ControlState) -> Assessment:
        tilt = trim.now
        if tilt is None:
            raise AssertionError("a control with a reading knows where it stands")
        if trim.backward:
            self.note(message("tilt.note.acted_backward"))
        match trim.verdict:
            case ControlVerdict.DONE if abs(tilt.value) + tilt.half_width() <= self.tolerance:
                return self._answer(Verdict.GOOD, self.upright(tilt), tilt=tilt)
            case ControlVerdict.READ_AGAIN:
                return self._undecided(trim, tilt)
            case ControlVerdict.CHECK_CONTROL:
                said = self._answer(Verdict.READ_AGAIN, message("tilt.no_reading"), tilt=tilt)
                if trim.beyond:
                    said = self._expecting(tilt.value, message("tilt.no_reading"))
                return asked_of(said, self.context, self.handle.turns, trim)
            case ControlVerdict.NO_RESPONSE:
                headline, note = does_not_answer(self.handle.turns)
                self.note(note)
                return self._answer(Verdict.LEFT_AS_FOUND, headline, tilt=tilt)
        change = self.handle.nearest(trim.move or 0.0)
        if trim.verdict in (ControlVerdict.DONE, ControlVerdict.STEP_TOO_COARSE) or change == 0.0:
            self.note(message("tilt.note.no_finer"))
            return self._answer(*self.unturnable(tilt), tilt=tilt)
        gain = trim.gain.value if trim.gain else 1.0
        after = tilt.value + gain * change
        move, order = self.handle.move(
            change,
            predicted=message("tilt.move.predicted.tilt", size=degrees(abs(after))),
            why=message("tilt.move.why", aim="upright"),
        )
        return self._answer(Verdict.MOVE, order, tilt=tilt, next_move=move, predicted=after)

    def _undecided(self, trim: ControlState, tilt: Estimate) -> Assessment:
        value = Interval(tilt.value, tilt.half_width(), "°", 1)
        more = trim.readings_needed
        if more is None:
            note = message("tilt.note.finer_gauge")
            asked = replace(_READING, longer=True, why=note)
        else:
            note = message("tilt.note.more_readings", count=max(more, 1))
            asked = replace(_READING, count=max(more, 1), why=note)
        self.note(note)
        headline = message("tilt.decides_nothing", tilt=value)
        return self._answer(Verdict.READ_AGAIN, headline, tilt=tilt, asked=asked)

    def _answer(
        self,
        verdict: Verdict,
        headline: Message,
        *,
        tilt: Estimate | None = None,
        next_move: Move | None = None,
        predicted: float | None = None,
        asked: NextReading = _READING,
    ) -> Assessment:
        view = FrontView(
            width_mm=self.context.cartridge.body_width_mm,
            height_mm=self.context.cartridge.body_height_mm,
            tolerance_deg=self.tolerance,
            now_deg=tilt.value if tilt else None,
            half_width_deg=tilt.half_width() if tilt else 0.0,
            before_deg=tuple(self.before[-4:]),
            predicted_deg=predicted,
        )
        ways = dict.fromkeys(reading.way for reading, _ in self.since)
        read = Series(tuple(message("tilt.method.way", way=way) for way in ways))
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(draw_front, view),
            next_move=next_move,
            figures=(self.tilt_figure(tilt),) if tilt else (),
            notes=tuple(self.notes),
            cautions=CARE if next_move else (),
            method=message("tilt.method.all_ways", ways=read) if ways else None,
            next_reading=asked_by(verdict, headline, asked),
        )
