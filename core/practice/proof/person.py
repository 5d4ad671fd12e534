"""A sensible person at the bench: reads what the wizard asks for, the way they are used to.

They know nothing of the hidden state. They look at verdict, headline and the ways on offer, as
anybody would, and at what they read last.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from core.fitting import Control, Journey, MovePart, NextReading, Reading, StepStatus, Trial
from core.practice.instrument_display import InstrumentDisplay
from core.practice.rehearsal import Rehearsal
from core.records import Deck
from core.steps import (
    ALIGNMENT,
    ARM_HEIGHT,
    FINAL_DOWNFORCE,
    LEVEL,
    ROUGH_DOWNFORCE,
    SKATING,
    SPEED,
    TILT,
    step_named,
    ways_of,
)
from core.steps.speed import speed_key, speed_named

_OWN_WAY: Final = (LEVEL, TILT)
"""Steps at which they keep to the way they are used to, unless another is asked for by name."""

_ASKED_FOR: Final = ("gaps", "mirror", "inclinometer")

_NO_FIGURE: Final = ("bubble at its end", "too fast to count")
"""Ways that say only that there is too much to read."""

_AS_ASKED: Final = (ROUGH_DOWNFORCE, FINAL_DOWNFORCE)
"""Steps at which an instrument is set to what is asked for."""

_PATIENCE: Final = 6
"""After so many readings in one place another way is tried."""

_ROUND: Final = (
    ("front-back", False),
    ("left-right", False),
    ("front-back", True),
    ("left-right", True),
)


@dataclass(slots=True)
class Person:
    """Habits drawn once: the ways of reading they reach for, and whether they read every speed."""

    usual: dict[str, str]
    all_speeds: bool
    _own_moves: int = field(default=0)

    @classmethod
    def drawn(cls, rng: np.random.Generator) -> Person:
        """Draw somebody."""

        def mostly(*ways: tuple[str, float]) -> str:
            names, shares = zip(*ways, strict=True)
            return str(names[int(rng.choice(len(names), p=shares))])

        usual = {
            LEVEL: mostly(("bubble", 0.8), ("inclinometer", 0.1), ("ruler", 0.1)),
            ROUGH_DOWNFORCE: "scale",
            FINAL_DOWNFORCE: "scale",
            ARM_HEIGHT: mostly(("two heights", 0.6), ("tapered tube", 0.15), ("tube angle", 0.25)),
            ALIGNMENT: mostly(("landing and angles", 0.8), ("angles", 0.1), ("landing", 0.1)),
            TILT: mostly(("gaps", 0.65), ("mirror", 0.15), ("test bands", 0.2)),
            SKATING: mostly(("setting", 0.6), ("test bands", 0.4)),
            SPEED: mostly(("strobe", 0.65), ("timed turns", 0.2), ("readout", 0.15)),
        }
        return cls(usual=usual, all_speeds=bool(rng.uniform() < 0.5))

    def read(
        self, rehearsal: Rehearsal, journey: Journey, step: str, speed: str = ""
    ) -> InstrumentDisplay:
        """Take the reading the wizard asks for, or one of a speed named."""
        status = journey.status(step)
        way = self._way(status, journey.deck)
        choices = self._choices(journey, status)
        speeds = journey.deck.platter.speeds_rpm
        named = speed_named(speed, speeds)
        if named is not None:
            choices["speed_rpm"] = speeds[named]
        return rehearsal.instrument(step, way, **choices)

    def wants_more(self, journey: Journey, step: str) -> bool:
        """Whether they read something of their own accord before they accept."""
        return bool(self.unread(journey, step))

    def unread(self, journey: Journey, step: str) -> str:
        """Return a speed they want to see read and have not, empty if none."""
        if step != SPEED or not self.all_speeds:
            return ""
        rpm = self._unread_speed(journey.deck, journey.status(step))
        return "" if rpm is None else speed_key(rpm)

    def own_move(self, journey: Journey, step: str) -> tuple[MovePart, ...]:
        """Return a move they make unasked: test bands want another setting to compare."""
        status = journey.status(step)
        if step != TILT or not _asked(status).at_another_setting:
            return ()
        turned = 0.0
        control, unit, size = Control.TILT, "°", 2.0
        for trial in status.trials:
            for part in trial.moves:
                control, unit = part.control, part.unit
                turned += part.amount
                size = 2.0 if unit == "°" else 0.4
        self._own_moves += 1
        return (MovePart(control=control, amount=-size if turned > 0 else size, unit=unit),)

    def _way(self, status: StepStatus, deck: Deck) -> str:
        step, asked = status.step, _asked(status)
        kinds, offered = ways_of(step_named(step)), status.applicability.ways
        offered = tuple(w for w in offered if kinds[w].is_at_hand(deck.bench)) or offered
        usual = self.usual.get(step, offered[0])
        way = usual if usual in offered else offered[0]
        here = _since_move(status.trials)
        if step == ALIGNMENT:
            return _alignment_way(asked.way, way, offered, len(here))
        if asked.way in offered and (step not in _OWN_WAY or asked.way in _ASKED_FOR):
            return asked.way
        if step == LEVEL and here and here[-1].way == "inclinometer":
            way = "inclinometer"  # what was fetched is used until the next move
        if len(here) >= _PATIENCE and step in (LEVEL, ARM_HEIGHT, TILT, SPEED):
            return _next_way(here[-1], offered, len(here))
        return way

    def _choices(self, journey: Journey, status: StepStatus) -> dict[str, Any]:
        step = status.step
        if step == LEVEL:
            return _level_choices(status)
        if step == ALIGNMENT:
            return _drawn_for(status)
        if step == SPEED:
            return self._speed_choices(journey.deck, status)
        asked = _asked(status)
        if asked.way == "check weight" or status.step in _AS_ASKED:
            return dict(asked.values)
        return {}

    def _speed_choices(self, deck: Deck, status: StepStatus) -> dict[str, Any]:
        asked = status.assessment.next_reading or NextReading()
        found: dict[str, Any] = {"speed_rpm": deck.platter.speeds_rpm[0], **asked.values}
        if status.assessment.verdict.passes:
            unread = self._unread_speed(deck, status)
            found["speed_rpm"] = unread or found["speed_rpm"]
        longer = asked.longer or len(_since_move(status.trials)) >= _PATIENCE
        return {**found, "seconds": 60.0, "turns": 200} if longer else found

    def _unread_speed(self, deck: Deck, status: StepStatus) -> float | None:
        read = {
            speed_key(getattr(trial.reading, "speed_rpm", None) or 0.0)
            for trial in status.trials
            if trial.reading is not None
        }
        return next((rpm for rpm in deck.platter.speeds_rpm if speed_key(rpm) not in read), None)


def _asked(status: StepStatus) -> NextReading:
    return status.assessment.next_reading or NextReading()


def _since_move(trials: tuple[Trial, ...]) -> list[Reading]:
    found: list[Reading] = []
    for trial in reversed(trials):
        if trial.moves:
            break
        if trial.reading is not None:
            found.append(trial.reading)
    return found[::-1]


def _next_way(last: Reading, offered: tuple[str, ...], count: int) -> str:
    if count % 3:
        return str(last.way)
    offered = tuple(way for way in offered if way not in _NO_FIGURE)
    place = offered.index(last.way) if last.way in offered else -1
    return offered[(place + 1) % len(offered)]


def _alignment_way(asked: str, usual: str, offered: tuple[str, ...], count: int) -> str:
    both = "landing and angles"
    if count >= _PATIENCE and both in offered and asked != "pivot distance":
        return both  # one laying of the protractor for what was read in turn so far
    if asked == both:  # landing and angles may be read in turn
        return offered[0] if usual == "angles" else usual
    return asked if asked in offered else usual


def _drawn_for(status: StepStatus) -> dict[str, Any]:
    """Return what the protractor is drawn for: the distance the wizard uses."""
    figure = status.assessment.figure
    reach, beyond = figure("wanted_length"), figure("wanted_overhang")
    if reach is None or beyond is None:
        return {}
    return {"drawn_pivot_mm": reach.value - beyond.value}


def _level_choices(status: StepStatus) -> dict[str, Any]:
    asked = _asked(status)
    if asked.values:
        return dict(asked.values)
    here = _since_move(status.trials)
    direction, turned = _ROUND[len(here) % len(_ROUND)]
    return {"direction": direction, "turned": turned}
