"""Tilt judged by gaps and mirror, with the learning solver."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Final

from core.estimation import (
    ControlModel,
    ControlState,
    ControlTrial,
    ControlVerdict,
    Estimate,
    solve_control,
    worst_residual,
)
from core.estimation import ControlMove as TrimMove
from core.fitting import (
    Assessment,
    Context,
    Figure,
    Move,
    Verdict,
)
from core.physics.levelling import weighted_mean
from core.steps.shared import stated_or_learned
from core.steps.tilt.chart import FrontView, draw_front
from core.steps.tilt.control import rolled_by
from core.steps.tilt.judge_base import CARE, TiltJudge
from core.steps.tilt.readings import (
    Gaps,
    Looked,
    Mirror,
)

STATED_GAIN_SHARE: Final = 0.1
"""How far a turn of the head may be from what was meant, as a share: our own allowance."""

_ENOUGH_READINGS: Final = 4
"""After so many readings a control that shows nothing is left alone."""


class GapJudge(TiltJudge):
    """By gaps and mirror."""

    def __init__(self, context: Context) -> None:
        super().__init__(context)
        self.before: list[float] = []
        self.since: list[tuple[Looked, Estimate]] = []
        self.history: list[ControlTrial] = []
        for trial in context.trials:
            if trial.moves:
                self._close()
                self.history.append(TrimMove(rolled_by(trial.moves)))
            elif isinstance(trial.reading, Gaps | Mirror):
                tilt = trial.reading.tilt(self.deck.bench, context.cartridge)
                self.since.append((trial.reading, tilt))
        self.odd = self._odd()

    def _close(self) -> None:
        """Put the readings between two moves away: one mean for the trail, all for the solver."""
        self._odd()
        mean = weighted_mean([tilt for _, tilt in self.since])
        if mean is not None:
            self.before.append(mean.value)
        self.history += [tilt for _, tilt in self.since]
        self.since = []

    def _odd(self) -> Looked | None:
        """Set aside readings that disagree and were taken again; return one that was not."""
        while True:
            mean = weighted_mean([tilt for _, tilt in self.since])
            if mean is None:
                return None
            worst = worst_residual(
                [tilt.value - mean.value for _, tilt in self.since],
                [
                    max(tilt.standard_uncertainty**2 - mean.standard_uncertainty**2, 0.0) ** 0.5
                    if len(self.since) > 1
                    else 0.0
                    for _, tilt in self.since
                ],
            )
            if worst is None:
                return None
            reading = self.since[worst.index][0]
            if all(later.way != reading.way for later, _ in self.since[worst.index + 1 :]):
                return reading
            del self.since[worst.index]
            self.notes.append("An earlier reading that disagreed was set aside.")

    def assessment(self) -> Assessment:
        if not self.since and not self.moved_last:
            return self._answer(
                Verdict.NO_READING, "Look at the cartridge from the front and read its tilt."
            )
        if self.moved_last:
            return self._moved()
        mean = weighted_mean([tilt for _, tilt in self.since])
        if mean is None:
            raise AssertionError("a reading that is neither of bands nor of looks")
        if self.odd is not None:
            what = "the gaps" if isinstance(self.odd, Gaps) else "the mirror"
            return self._answer(
                Verdict.READ_AGAIN, f"Read {what} again: the readings disagree.", tilt=mean
            )
        if not self.handle.adjusts:
            return self._answer(*self.without_control(mean), tilt=mean)
        return self._solved(self._trim())

    def _trim(self) -> ControlState:
        step = self.handle.step_deg
        prior = stated_or_learned(
            self.context.gains, self.handle.turns, "", "°/°", 1.0, STATED_GAIN_SHARE
        )
        control = ControlModel(
            "°",
            stated_gain=prior.value,
            gain_relative_uncertainty=prior.share,
            smallest_step=step,
            execution_absolute=0.3 * step,
        )
        trials = [*self.history, *(tilt for _, tilt in self.since)]
        return solve_control(trials, 0.0, self.tolerance, control)

    def _moved(self) -> Assessment:
        self.notes.append("Readings from before the move only teach what the control does.")
        trim = self._trim() if self.handle.adjusts else None
        if trim is None or trim.predicted is None:
            return self._answer(Verdict.READ_AGAIN, "Read the tilt again after the move.")
        foretold = trim.predicted.value
        words = "upright" if abs(foretold) < 0.05 else self.leaning(foretold)
        figure = Figure("predicted_tilt", "Tilt expected", foretold, "°", 1)
        return self._answer(
            Verdict.READ_AGAIN,
            f"Read the tilt again: {words} is expected.",
            predicted=foretold,
            figures=(figure,),
        )

    def _solved(self, trim: ControlState) -> Assessment:
        tilt = trim.now
        if tilt is None:
            raise AssertionError("a trim with a reading knows where it stands")
        if trim.backward:
            self.notes.append("The last moves acted the other way round: see which side goes up.")
        match trim.verdict:
            case ControlVerdict.DONE if abs(tilt.value) + tilt.half_width() <= self.tolerance:
                return self._answer(Verdict.GOOD, self.upright(tilt), tilt=tilt)
            case ControlVerdict.READ_AGAIN:
                return self._undecided(trim, tilt)
            case ControlVerdict.NO_RESPONSE if len(self.since) >= _ENOUGH_READINGS:
                return self._answer(*self.unturnable(tilt), tilt=tilt)
            case ControlVerdict.NO_RESPONSE:
                self.notes.append("See that what you turn is loose, and really turns the head.")
                return self._answer(
                    Verdict.READ_AGAIN,
                    "The moves do not show. Look at the control, then read again.",
                    tilt=tilt,
                )
        change = self.handle.nearest(trim.move or 0.0)
        if trim.verdict in (ControlVerdict.DONE, ControlVerdict.STEP_TOO_COARSE) or change == 0.0:
            self.notes.append("This control can't be set more finely.")
            return self._answer(*self.unturnable(tilt), tilt=tilt)
        gain = trim.gain.value if trim.gain else 1.0
        after = tilt.value + gain * change
        move = self.handle.move(
            change,
            self.numbers,
            predicted=f"Tilt near {self.deg(abs(after))}.",
            reason="Guard on and arm locked while you turn it.",
        )
        return self._answer(
            Verdict.MOVE, move.sentence, tilt=tilt, next_move=move, predicted=after, cautions=CARE
        )

    def _undecided(self, trim: ControlState, tilt: Estimate) -> Assessment:
        value = self.numbers.within(tilt.value, tilt.half_width(), "°", 1)
        more = trim.readings_needed
        if more is None:
            self.notes.append(
                "More readings of this kind will hardly settle it: read the gaps with a finer "
                "gauge, or use test bands."
            )
        else:
            self.notes.append(f"About {max(more, 1)} more should settle it.")
        return self._answer(
            Verdict.READ_AGAIN, f"Read again: {value} decides nothing yet.", tilt=tilt
        )

    def _answer(
        self,
        verdict: Verdict,
        headline: str,
        *,
        tilt: Estimate | None = None,
        next_move: Move | None = None,
        predicted: float | None = None,
        figures: Sequence[Figure] = (),
        cautions: tuple[str, ...] = (),
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
        ways = [type(reading).WAY_TITLE.lower() for reading, _ in self.since]
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(draw_front, view, self.numbers),
            next_move=next_move,
            figures=(*((self.tilt_figure(tilt),) if tilt else ()), *figures),
            notes=tuple(dict.fromkeys(self.notes)),
            cautions=cautions,
            method=" and ".join(dict.fromkeys(ways)),
        )
