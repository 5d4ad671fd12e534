"""Tilt judged by test bands: the setting at which the least leaks."""

from __future__ import annotations

from functools import partial
from typing import Final

from core.drawing.chart import Picture
from core.estimation import (
    COVERAGE_FACTOR,
    Decision,
    Estimate,
    decide,
)
from core.fitting import (
    Assessment,
    Context,
    Figure,
    Move,
    Verdict,
)
from core.steps.tilt.bands import BandLeaks
from core.steps.tilt.chart import (
    FrontView,
    LeakView,
    draw_front,
    draw_leaks,
)
from core.steps.tilt.judge_base import CARE, TiltJudge

_FIRST_TRY_DEG: Final = 1.0
"""How far to turn for a second pair of leaks: enough to show, too little to harm."""


class BandJudge(TiltJudge):
    """By test bands."""

    def __init__(self, context: Context, bands: BandLeaks) -> None:
        super().__init__(context)
        self.bands = bands
        if bands.aside:
            self.notes.append("An earlier reading that disagreed was set aside.")
        if bands.lopsided_db is not None:
            louder = "right" if bands.lopsided_db > 0 else "left"
            by = self.numbers.unit(abs(bands.lopsided_db), "dB", 1)
            self.notes.append(
                f"The {louder} channel is louder by {by}. That is balance, not tilt: turning the "
                "head won't mend it. Look at the leads and the amplifier."
            )

    def assessment(self) -> Assessment:
        """Return the answer."""
        bands, fit = self.bands, self.bands.fit
        if self.moved_last:
            return self._moved()
        if bands.crossed:
            self.notes.append(
                "Either two leads are crossed at the head, or the levels stand in the wrong fields."
            )
            return self._answer(
                Verdict.READ_AGAIN, "The silent channel is nearly as loud: see what is crossed."
            )
        if fit is None:
            return self._one_setting()
        tilt = self._tilt(fit.best_deg)
        if bands.odd is not None:
            where = self.numbers.signed_unit(bands.readings[bands.odd].setting_deg, "°", 1)
            return self._answer(
                Verdict.READ_AGAIN, f"Read the bands at {where} again: they disagree.", tilt=tilt
            )
        if not self.handle.adjusts:
            return self._answer(*self.without_control(tilt), tilt=tilt)
        return self._decided(tilt, outside=fit.outside_range)

    def _decided(self, tilt: Estimate, *, outside: bool) -> Assessment:
        decision = decide(
            tilt.value, tilt.half_width(), self.tolerance, smallest_effect=self.handle.step_deg
        )
        if decision is Decision.READ_AGAIN:
            return self._undecided(tilt)
        if abs(tilt.value) + tilt.half_width() <= self.tolerance:
            return self._answer(Verdict.GOOD, self.upright(tilt), tilt=tilt)
        change = self.handle.nearest(-tilt.value)
        if decision is not Decision.MOVE or change == 0.0:
            self.notes.append("This control can't be set more finely.")
            return self._answer(*self.unturnable(tilt), tilt=tilt)
        if outside:
            self.notes.append(
                "The best lies outside what was tried: read there before you trust it."
            )
        return self._order(change, "That is where the least leaks.", tilt)

    def _tilt(self, best: Estimate) -> Estimate:
        return best.scaled(-1.0).shifted(self.bands.setting_deg)

    def _moved(self) -> Assessment:
        at = self.numbers.signed_unit(self.bands.setting_deg, "°", 1)
        return self._answer(
            Verdict.READ_AGAIN, f"Read both bands again: the head should stand at {at} now."
        )

    def _one_setting(self) -> Assessment:
        if not self.handle.adjusts:
            return self._one_setting_for_good()
        change = self.handle.nearest(_FIRST_TRY_DEG) or self.handle.step_deg
        self.notes.append("One setting does not tell which way is better; a second one does.")
        return self._order(change, "A try, to see how the leaks change.", None)

    def _one_setting_for_good(self) -> Assessment:
        """Judge by the one setting there can be."""
        most, last = self.bands.most_tilt_deg, self.bands.readings[-1]
        self.notes.append(
            "From one setting only the most that tilt can be is told, and only if both channels "
            f"leak alike by themselves: {self.deg(most)}."
        )
        if most <= self.tolerance:
            return self._answer(Verdict.GOOD, f"Upright within {self.deg(most)}.")
        self.notes.append(f"{self.handle.lack} Gaps under the body say more here.")
        left = self.numbers.plain(last.left_in_right_db, 1)
        right = self.numbers.unit(last.right_in_left_db, "dB", 1)
        return self._answer(
            Verdict.LEFT_AS_FOUND, f"Leaks {left} and {right}, with nothing to turn: left as found."
        )

    def _order(self, change: float, reason: str, tilt: Estimate | None) -> Assessment:
        target = self.bands.setting_deg + change
        move = self.handle.move(
            change,
            self.numbers,
            predicted=self._foretold(target),
            reason=f"{reason} Guard on and arm locked while you turn it.",
        )
        return self._answer(
            Verdict.MOVE, move.sentence, tilt=tilt, next_move=move, target=target, cautions=CARE
        )

    def _foretold(self, setting_deg: float) -> str:
        fit = self.bands.fit
        if fit is None:
            return ""
        leaks = [
            self.numbers.unit(float(channel.leak_db(setting_deg)), "dB", 1)
            for channel in (fit.left_in_right, fit.right_in_left)
        ]
        return f"Leaks near {leaks[0]} (left into right) and {leaks[1]} (right into left)."

    def _undecided(self, tilt: Estimate) -> Assessment:
        tried = [reading.setting_deg for reading in self.bands.readings]
        low, high = (self.numbers.signed_unit(edge(tried), "°", 1) for edge in (min, max))
        best = self._tilt(tilt)
        value = self.numbers.within(best.value, best.half_width(), "°", 1)
        self.notes.append(
            f"Tried so far: {low} to {high}. A setting further to the other side tells more than "
            "the same one again."
        )
        return self._answer(
            Verdict.READ_AGAIN,
            f"Read another setting: best at {value} decides nothing yet.",
            tilt=tilt,
        )

    def _answer(
        self,
        verdict: Verdict,
        headline: str,
        *,
        tilt: Estimate | None = None,
        next_move: Move | None = None,
        target: float | None = None,
        cautions: tuple[str, ...] = (),
    ) -> Assessment:
        figures = [self.tilt_figure(tilt)] if tilt else []
        return Assessment(
            verdict=verdict,
            headline=headline,
            drawing=partial(self._picture, target),
            next_move=next_move,
            figures=(*figures, *self._figures()),
            notes=tuple(self.notes),
            cautions=cautions,
            method="test bands",
        )

    def _figures(self) -> list[Figure]:
        bands, fit = self.bands, self.bands.fit
        figures: list[Figure] = []
        if fit is not None:
            best = fit.best_deg
            figures.append(
                Figure("best_setting", "Best setting", best.value, "°", 1, best.half_width())
            )
            if fit.equal_deg is not None:
                figures.append(Figure("equal_setting", "Leaks equal at", fit.equal_deg, "°", 1))
        if bands.readings:
            last, half = bands.readings[-1], COVERAGE_FACTOR * bands.leak_uncertainty_db
            one, other = last.left_in_right_db, last.right_in_left_db
            figures += [
                Figure("leak_left_in_right", "Left into right", one, "dB", 1, half),
                Figure("leak_right_in_left", "Right into left", other, "dB", 1, half),
            ]
        if bands.lopsided_db is not None:
            figures.append(Figure("balance", "Right louder by", bands.lopsided_db, "dB", 1))
        return figures

    def _picture(self, target: float | None) -> Picture:
        bands = self.bands
        if not bands.readings:
            cartridge = self.context.cartridge
            view = FrontView(cartridge.body_width_mm, cartridge.body_height_mm, self.tolerance)
            return draw_front(view, self.numbers)
        return draw_leaks(
            LeakView(
                readings=bands.readings,
                half_height_db=COVERAGE_FACTOR * bands.leak_uncertainty_db,
                now_deg=bands.setting_deg,
                fit=bands.fit,
                predicted_deg=target,
            ),
            self.numbers,
        )
