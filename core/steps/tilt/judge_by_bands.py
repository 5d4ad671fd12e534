"""Tilt judged by test bands: the setting at which the least leaks."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from typing import Final

from core.drawing.chart import Picture
from core.estimation import COVERAGE_FACTOR, Decision, Estimate, decide
from core.fitting import Assessment, Context, Figure, Move, NextReading, Question, Verdict
from core.language import Interval, Message, Quantity, Series, Value, message
from core.steps.shared import amount, asked_first, does_not_answer
from core.steps.tilt.bands import BandLeaks
from core.steps.tilt.chart import FrontView, LeakView, draw_front, draw_leaks
from core.steps.tilt.judge_base import CARE, TiltJudge, asked_by, degrees
from core.steps.tilt.still import shows_at, stands_still

_FIRST_TRY_DEG: Final = 1.0
"""The turn for a second pair of leaks: enough to show, too little to harm."""

_MOST_TRIED_DEG: Final = 2.0
"""Largest distance of a second setting: our own."""

_BANDS: Final = NextReading(way="test bands", count=None)


_UP_SIDES: Final = message("tilt.off.left_up"), message("tilt.off.right_up")


_ENOUGH: Final = 7
"""After this many readings that fit no curve the head is left as near as it came."""


class BandJudge(TiltJudge):
    """By test bands."""

    def __init__(self, context: Context, bands: BandLeaks, way: str) -> None:
        super().__init__(context)
        self.bands, self.way = bands, way
        if bands.turned_round:
            self.note(message("tilt.note.turned_round"))
        if bands.widened:
            self.note(message("tilt.note.fits_no_curve"))
        if bands.aside:
            self.note(message("tilt.note.set_aside"))
        if bands.lopsided_db is not None:
            louder = "right" if bands.lopsided_db > 0 else "left"
            by = Quantity(abs(bands.lopsided_db), "dB", 1)
            self.note(message("tilt.note.balance", louder=louder, size=by))

    def assessment(self) -> Assessment:
        """Return the answer."""
        bands, fit = self.bands, self.bands.fit
        if self.moved_last:
            at = _standing(bands.setting_deg)
            headline = message("tilt.read_bands_after_move", setting=at)
            return self._answer(Verdict.READ_AGAIN, headline)
        if bands.crossed:
            self.note(message("tilt.note.leads_or_fields"))
            return self._answer(Verdict.READ_AGAIN, message("tilt.crossed"))
        stuck = self._still and stands_still(bands.readings, bands.leak_uncertainty_db)
        if fit is None or bands.alone or stuck:
            return self._does_not_turn() if stuck else self._one_setting()
        tilt = self._tilt(fit.best_deg)
        if bands.odd is not None:
            odd = bands.readings[bands.odd].setting_deg
            return self._answer(
                Verdict.READ_AGAIN,
                message("tilt.bands_disagree", setting=_standing(odd)),
                tilt=tilt,
                asked=replace(_BANDS, values={"setting_deg": odd}, count=1),
            )
        if not self.handle.adjusts:
            return self._answer(*self.without_control(tilt), tilt=tilt)
        return self._decided(tilt, outside=fit.outside_range)

    def _decided(self, tilt: Estimate, *, outside: bool) -> Assessment:
        decision = decide(
            tilt.value, tilt.half_width(), self.tolerance, smallest_effect=self.handle.step_deg
        )
        if decision is Decision.READ_AGAIN:
            if self.bands.widened and len(self.bands.readings) + self.bands.aside >= _ENOUGH:
                return self._as_near_as_it_came(tilt)
            return self._undecided(tilt)
        if self._still:
            return self._turned_to_tell()
        if abs(tilt.value) + tilt.half_width() <= self.tolerance:
            return self._answer(Verdict.GOOD, self.upright(tilt), tilt=tilt)
        change = self.handle.nearest(-tilt.value)
        if decision is not Decision.MOVE or change == 0.0:
            self.note(message("tilt.note.no_finer"))
            return self._answer(*self.unturnable(tilt), tilt=tilt)
        if outside:
            self.note(message("tilt.note.best_outside"))
        return self._order(change, "least", tilt)

    def _as_near_as_it_came(self, tilt: Estimate) -> Assessment:
        """End if the settings fit no curve: a further one would tell no more."""
        change = self.handle.nearest(-tilt.value)
        if abs(tilt.value) > self.tolerance and change != 0.0:
            return self._order(change, "least", tilt)
        value = Interval(abs(tilt.value), tilt.half_width(), "°", 1)
        headline = message("tilt.upright_near_limit", tilt=value)
        return self._answer(Verdict.LEFT_AS_FOUND, headline, tilt=tilt)

    @property
    def _still(self) -> bool:
        """Whether no turn of the head has changed anything so far."""
        return self.bands.still and self.handle.adjusts

    def _does_not_turn(self) -> Assessment:
        """Ask about a head whose turns change nothing, or leave it after that."""
        turns = self.handle.turns
        if self.bands.checked:
            headline, note = does_not_answer(turns)
            self.note(note)
            return self._answer(Verdict.LEFT_AS_FOUND, headline)
        said = self._answer(Verdict.READ_AGAIN, message("tilt.no_reading"))
        said = asked_first(said, self.context, turns)
        read = Question(turns, message("control.question", what="bands_read"))
        return replace(said, questions=(*said.questions[:-1], read))

    def _turned_to_tell(self) -> Assessment:
        """Turn the head to where the leaks must change, if it follows at all."""
        bands = self.bands
        self.note(message("tilt.note.no_level_changed"))
        tried = [reading.setting_deg for reading in bands.readings]
        middle = 0.5 * (min(tried) + max(tried))
        away = math.copysign(
            shows_at(bands.readings, bands.leak_uncertainty_db), bands.setting_deg - middle
        )
        change = self.handle.nearest(middle + away - bands.setting_deg) or self.handle.step_deg
        return self._order(change, "try", None)

    def _tilt(self, best: Estimate) -> Estimate:
        return best.scaled(-1.0).shifted(self.bands.setting_deg)

    def _one_setting(self) -> Assessment:
        if self.handle.lack is not None:
            return self._one_setting_for_good(self.handle.lack)
        fit = self.bands.fit
        if fit is None:
            change = self.handle.nearest(_FIRST_TRY_DEG) or self.handle.step_deg
            self.note(message("tilt.note.one_setting"))
            return self._order(change, "try", None)
        tilt = self._tilt(fit.best_deg)
        wanted = min(max(abs(tilt.value), _FIRST_TRY_DEG), _MOST_TRIED_DEG)
        change = self.handle.nearest(math.copysign(wanted, -tilt.value)) or self.handle.step_deg
        self.note(message("tilt.note.one_recording"))
        return self._order(change, "try", tilt)

    def _one_setting_for_good(self, lack: Message) -> Assessment:
        """Judge by the only possible setting."""
        most, last = self.bands.most_tilt_deg, self.bands.readings[-1]
        self.note(message("tilt.note.one_setting_only", most=degrees(most)))
        if most <= self.tolerance:
            headline = message("tilt.upright_within", size=degrees(most))
            return self._answer(Verdict.GOOD, headline)
        self.note(message("tilt.note.gaps_say_more", lack=lack))
        left = Quantity(last.left_in_right_db, decimals=1)
        right = Quantity(last.right_in_left_db, "dB", 1)
        headline = message("tilt.leaks_left", left=left, right=right)
        return self._answer(Verdict.LEFT_AS_FOUND, headline)

    def _order(self, change: float, aim: str, tilt: Estimate | None) -> Assessment:
        target = self.bands.setting_deg + change
        move, order = self.handle.move(
            change, predicted=self._predicted(target), why=message("tilt.move.why", aim=aim)
        )
        return self._answer(Verdict.MOVE, order, tilt=tilt, next_move=move, target=target)

    def _predicted(self, setting_deg: float) -> Message | None:
        fit = self.bands.fit
        if fit is None:
            return None
        left, right = (
            Quantity(float(channel.leak_db(setting_deg)), "dB", 1)
            for channel in (fit.left_in_right, fit.right_in_left)
        )
        return message("tilt.move.predicted.leaks", left=left, right=right)

    def _undecided(self, tilt: Estimate) -> Assessment:
        tried = [reading.setting_deg for reading in self.bands.readings]
        best = self._tilt(tilt)
        value = Interval(best.value, best.half_width(), "°", 1)
        note = message("tilt.note.tried", low=_standing(min(tried)), high=_standing(max(tried)))
        if self._still:
            self.note(message("tilt.note.no_level_changed"))
        self.note(note)
        return self._answer(
            Verdict.READ_AGAIN,
            message("tilt.read_another_setting", best=value),
            tilt=tilt,
            asked=replace(_BANDS, at_another_setting=True, why=note),
        )

    def _answer(
        self,
        verdict: Verdict,
        headline: Message,
        *,
        tilt: Estimate | None = None,
        next_move: Move | None = None,
        target: float | None = None,
        asked: NextReading = _BANDS,
    ) -> Assessment:
        figures = [self.tilt_figure(tilt)] if tilt else []
        ways = Series((message("tilt.method.way", way=self.way),))
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(self._picture, target),
            next_move=next_move,
            figures=(*figures, *self._figures()),
            notes=tuple(self.notes),
            cautions=CARE if next_move else (),
            method=message("tilt.method.all_ways", ways=ways),
            next_reading=asked_by(verdict, headline, replace(asked, way=self.way)),
        )

    def _figures(self) -> list[Figure]:
        bands, fit = self.bands, self.bands.fit
        figures: list[Figure] = []
        if fit is not None and not self._still:
            best = fit.best_deg
            label = message("tilt.figure.best_setting")
            half, up = best.half_width(), _UP_SIDES
            figures.append(Figure("best_setting", label, best.value, "°", 1, half, ways=up))
            if fit.equal_deg is not None:
                label = message("tilt.figure.equal_setting")
                figures.append(Figure("equal_setting", label, fit.equal_deg, "°", 1, ways=up))
        if bands.readings:
            last, half = bands.readings[-1], COVERAGE_FACTOR * bands.leak_uncertainty_db
            one, other = last.left_in_right_db, last.right_in_left_db
            figures += [
                Figure(
                    "leak_left_in_right", message("tilt.figure.left_in_right"), one, "dB", 1, half
                ),
                Figure(
                    "leak_right_in_left", message("tilt.figure.right_in_left"), other, "dB", 1, half
                ),
            ]
        if bands.lopsided_db is not None:
            label = message("tilt.figure.balance")
            ways = message("tilt.off.right_louder"), message("tilt.off.left_louder")
            figures.append(Figure("balance", label, bands.lopsided_db, "dB", 1, ways=ways))
        return figures

    def _picture(self, target: float | None) -> Picture:
        bands = self.bands
        if not bands.readings:
            cartridge = self.context.cartridge
            view = FrontView(cartridge.body_width_mm, cartridge.body_height_mm, self.tolerance)
            return draw_front(view)
        return draw_leaks(
            LeakView(
                readings=bands.readings,
                half_height_db=COVERAGE_FACTOR * bands.leak_uncertainty_db,
                now_deg=bands.setting_deg,
                fit=bands.fit,
                predicted_deg=target,
            )
        )


def _standing(setting_deg: float) -> Value:
    return amount(setting_deg, "°", 1, _UP_SIDES)
