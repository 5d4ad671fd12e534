"""A sensible person at the bench: reads what the wizard asks for, the way they are used to.

They know nothing of the hidden state. They look at verdict, headline and the ways on offer, as
anybody would, and at what they read last.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from core.fitting import Control, MovePart, Reading, Trial, Verdict
from core.practice.instrument_display import InstrumentDisplay
from core.practice.rehearsal import Rehearsal
from core.records import Deck
from core.steps.speed import speed_label
from core.workflow.replay import Journey, StepStatus

_PATIENCE: Final = 6
"""After so many readings in one place another way is tried."""

_SHORT: Final = {
    "front to back": "front-back",
    "left to right": "left-right",
    "the diagonal to the back right": "diagonal back right",
    "the diagonal to the back left": "diagonal back left",
}
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
            "level": mostly(("bubble", 0.8), ("inclinometer", 0.1), ("ruler", 0.1)),
            "rough_downforce": "scale",
            "final_downforce": "scale",
            "arm_height": mostly(
                ("two heights", 0.6), ("tapered tube", 0.15), ("tube angle", 0.25)
            ),
            "alignment": mostly(("landing and angles", 0.8), ("angles", 0.1), ("landing", 0.1)),
            "tilt": mostly(("gaps", 0.65), ("mirror", 0.15), ("test bands", 0.2)),
            "skating": mostly(("setting", 0.6), ("test bands", 0.4)),
            "speed": mostly(("strobe", 0.65), ("timed turns", 0.2), ("readout", 0.15)),
        }
        return cls(usual=usual, all_speeds=bool(rng.uniform() < 0.5))

    def read(
        self, rehearsal: Rehearsal, journey: Journey, step: str, speed: str = ""
    ) -> InstrumentDisplay:
        """Take the reading the wizard asks for, or one of a speed named."""
        status = journey.status(step)
        way = self._way(status)
        choices = self._choices(journey, status)
        named = [rpm for rpm in journey.deck.platter.speeds_rpm if speed_label(rpm) == speed]
        if named:
            choices["speed_rpm"] = named[0]
        return rehearsal.instrument(step, way, **choices)

    def wants_more(self, journey: Journey, step: str) -> bool:
        """Whether they read something of their own accord before they accept."""
        return bool(self.unread(journey, step))

    def unread(self, journey: Journey, step: str) -> str:
        """Return a speed they want to see read and have not, empty if none."""
        if step != "speed" or not self.all_speeds:
            return ""
        rpm = self._unread_speed(journey.deck, journey.status(step))
        return "" if rpm is None else speed_label(rpm)

    def own_move(self, journey: Journey, step: str) -> tuple[MovePart, ...]:
        """Return a move they make unasked: test bands want another setting to compare."""
        status = journey.status(step)
        if step != "tilt" or "another setting" not in status.assessment.headline:
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

    def _way(self, status: StepStatus) -> str:
        step, headline = status.step, status.assessment.headline
        offered = status.applicability.ways
        usual = self.usual.get(step, offered[0])
        way = usual if usual in offered else offered[0]
        here = _since_move(status.trials)
        named = _named_way(step, headline)
        if named is not None:
            return named
        if step == "alignment":
            both = "landing and angles"
            if len(here) >= _PATIENCE and both in offered and "pivot to spindle" not in headline:
                return both  # one laying of the protractor for what was read in turn so far
            return _alignment_way(headline, way, offered)
        if len(here) >= _PATIENCE and step in ("level", "arm_height", "tilt", "speed"):
            return _next_way(here[-1], offered, len(here))
        return way

    def _choices(self, journey: Journey, status: StepStatus) -> dict[str, Any]:
        step, headline = status.step, status.assessment.headline
        if step == "level":
            return _level_choices(status, headline)
        if step == "alignment":
            return _drawn_for(status)
        if step == "speed":
            return self._speed_choices(journey.deck, status, headline)
        return {}

    def _speed_choices(self, deck: Deck, status: StepStatus, headline: str) -> dict[str, Any]:
        found: dict[str, Any] = {"speed_rpm": deck.platter.speeds_rpm[0]}
        for rpm in deck.platter.speeds_rpm:
            if speed_label(rpm) in headline.replace(":", " ").split():
                found["speed_rpm"] = rpm
        if status.assessment.verdict.passes:
            unread = self._unread_speed(deck, status)
            found["speed_rpm"] = unread or found["speed_rpm"]
        longer = "longer" in headline or len(_since_move(status.trials)) >= _PATIENCE
        return {**found, "seconds": 60.0, "turns": 200} if longer else found

    def _unread_speed(self, deck: Deck, status: StepStatus) -> float | None:
        read = {
            speed_label(getattr(trial.reading, "speed_rpm", None) or 0.0)
            for trial in status.trials
            if trial.reading is not None
        }
        return next((rpm for rpm in deck.platter.speeds_rpm if speed_label(rpm) not in read), None)


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
    place = offered.index(last.way) if last.way in offered else -1
    return offered[(place + 1) % len(offered)]


def _named_way(step: str, headline: str) -> str | None:
    """Return the way a headline asks for by name, None if it names none."""
    asked = {
        "rough_downforce": (("check weight", "check weight"),),
        "final_downforce": (("check weight", "check weight"),),
        "arm_height": (("more finely", "tube angle"),),
        "tilt": (("gaps", "gaps"), ("mirror", "mirror")),
    }
    ways = asked.get(step, ())
    return next((way for words, way in ways if words in headline.lower()), None)


def _alignment_way(headline: str, way: str, offered: tuple[str, ...]) -> str:
    if "pivot to spindle" in headline.lower() and "measure" in headline.lower():
        return "pivot distance" if "pivot distance" in offered else way
    asked = ("read the head's angle", "read both angles")
    if any(words in headline.lower() for words in asked) and "angles" in offered:
        return "angles"
    if "read the landing" in headline and "landing" in offered:
        return "landing"
    if way == "angles" and "landing" in headline.lower():
        return offered[0]
    return way


def _drawn_for(status: StepStatus) -> dict[str, Any]:
    """Return what the protractor is drawn for: the distance the wizard reckons with."""
    figure = status.assessment.figure
    reach, beyond = figure("wanted_length"), figure("wanted_overhang")
    if reach is None or beyond is None:
        return {}
    return {"drawn_pivot_mm": reach.value - beyond.value}


def _level_choices(status: StepStatus, headline: str) -> dict[str, Any]:
    here = _since_move(status.trials)
    if status.assessment.verdict is Verdict.READ_AGAIN:
        named = next((value for words, value in _SHORT.items() if words in headline), None)
        if named is not None:
            if "Turn the level" in headline:
                last = next(
                    (
                        bool(getattr(r, "turned", False))
                        for r in reversed(here)
                        if getattr(r, "direction", "") == named
                    ),
                    False,
                )
                return {"direction": named, "turned": not last}
            turned = ", turned" in headline or (
                "another direction" in headline and bool(getattr(here[-1], "turned", False))
            )
            return {"direction": named, "turned": turned}
    direction, turned = _ROUND[len(here) % len(_ROUND)]
    return {"direction": direction, "turned": turned}
