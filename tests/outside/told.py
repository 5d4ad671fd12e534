"""What a person is told: readings typed into a fitting's log, and what the journey then answers.

Everything goes the way the window goes: an entry is refused or kept, the log is folded anew, the
step's answer is looked at. Instruments and tolerances are pinned here, so that a case worked by
hand stays the case that was worked.
"""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import Assessment, Control, MoveMade, MovePart, ReadingTaken, StepAccepted
from core.language import JOINER, Message, Numbers
from core.records import Deck
from core.steps import STEP_NAMES
from tests.examples import deck
from tests.worked import Bench, Read

KIT: dict[str, float] = {
    "bubble_mm_per_m_per_div": 1.0,
    "bubble_read_div": 0.125,
    "bubble_range_div": 20.0,
    "level_zero_error_mm_per_m": 0.5,
    "inclinometer_read_deg": 0.05,
    "scale_read_gf": 0.01,
    "scale_gain_error": 0.5,
    "ruler_read_mm": 0.25,
    "protractor_read_mm": 0.2,
    "protractor_read_deg": 0.25,
    "gap_read_mm": 0.05,
    "mirror_read_deg": 0.5,
    "test_level_db": 0.3,
    "stopwatch_s": 0.15,
    "lamp_flashes_per_s": 100.0,
    "strobe_bars_read": 0.5,
}
NEAR_ENOUGH: dict[str, float] = {
    "level_mm_per_m": 2.0,
    "height_mm": 0.5,
    "landing_mm": 0.5,
    "twist_deg": 0.5,
    "tilt_deg": 1.0,
    "downforce_gf": 0.05,
    "speed_percent": 0.3,
}

Moved = tuple[Control, str, float, str]
"""A control, which of several like ones, how far along its positive direction, in which unit."""


def pinned(**changes: Any) -> Deck:
    """Return the example deck with the instruments and tolerances that cases are worked for."""
    kit = {**KIT, **changes.pop("bench", {})}
    tolerances = {**NEAR_ENOUGH, **changes.pop("tolerances", {})}
    return deck(bench=kit, tolerances=tolerances, **changes)


class Person(Bench):
    """Somebody at one step: reads, moves, and is told."""

    def __init__(self, step: str, on: Deck | None = None, **more: Any) -> None:
        super().__init__(on or pinned(), **more)
        self.step = step
        for before in STEP_NAMES[: STEP_NAMES.index(step)]:
            self._settle(before)

    def _settle(self, step: str) -> None:
        """Take a step before this one as done elsewhere; the stylus's gate opens on a weighing."""
        if step == "rough_downforce":
            weighed = {"way": "scale", "downforce_gf": self.cartridge.downforce_target_gf}
            self.keep(ReadingTaken(step=step, reading=weighed))
        verdict = self.journey.status(step).assessment.verdict
        self.keep(StepAccepted(step=step, verdict=verdict, reason="done elsewhere"))

    def reads(self, *readings: Read) -> Assessment:
        for reading in readings:
            self.keep(ReadingTaken(step=self.step, reading=reading))
        return self.told

    def moves(self, *parts: MovePart, step: str = "") -> Assessment:
        self.keep(MoveMade(step=step or self.step, parts=parts))
        return self.told

    def obeys(self) -> Assessment:
        move = self.told.next_move
        assert move is not None, said(self.told.headline)
        return self.moves(*move.parts)

    @property
    def told(self) -> Assessment:
        return self.journey.status(self.step).assessment


def told(step: str, *readings: Read, on: Deck | None = None, **more: Any) -> Assessment:
    """Return what somebody is told at a step after these readings."""
    return Person(step, on, **more).reads(*readings)


def said(*messages: Message | None) -> str:
    """Return messages as the sentences that are read, without what takes no room."""
    told = " ".join(Numbers().text(one) for one in messages if one is not None)
    return told.replace(JOINER, "")


def order(answer: Assessment) -> str:
    """Return the order of an answer in words: its headline and the move's own sentence."""
    move = answer.next_move
    return said(answer.headline, move.sentence if move else None)


def moved(answer: Assessment) -> list[Moved]:
    """Return what an answer orders to be moved."""
    parts = answer.next_move.parts if answer.next_move else ()
    return [(part.control, part.where, part.amount, part.unit) for part in parts]


def orders(*wanted: Moved, within: float) -> list[Any]:
    """Return what :func:`moved` should be, each amount to within so much."""
    return [
        (control, where, pytest.approx(amount, abs=within), unit)
        for control, where, amount, unit in wanted
    ]


def says(answer: Assessment, this: str, *not_these: str) -> None:
    """Check that an order has these words and none of those."""
    sentence = order(answer).lower().replace("\u00a0", " ")
    assert this in sentence, sentence
    for other in not_these:
        assert other not in sentence, sentence
