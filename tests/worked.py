"""A whole fitting of the example cartridge to the example deck, worked through without a screen."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import Any

from core.fitting import Body, Entry, Journey, MoveMade, NoteWritten, ReadingTaken, StepAccepted
from core.physics.alignment_solutions import lofgren_a_nulls
from core.physics.arm_geometry import PivotedArm, tracking_error_deg
from core.physics.groove_radii import GROOVES_1958
from core.records import Cartridge, Deck
from core.workflow.refusals import why_refused
from core.workflow.replay import journey_of
from tests.examples import cartridge, deck
from tests.kit import BEGAN, fitting_of, status_of

Read = dict[str, Any]


def protractor(slide_mm: float, twist_deg: float) -> Read:
    """What an arm that far off Löfgren A for 222 mm shows."""
    nulls = lofgren_a_nulls(GROOVES_1958)
    arm = PivotedArm(222.0, 239.296 + slide_mm, 22.986 + twist_deg)
    inner, outer = tracking_error_deg(arm, [nulls.inner_mm, nulls.outer_mm])
    return {
        "way": "landing and angles",
        "landing_mm": slide_mm,
        "inner_deg": round(float(inner), 2),
        "outer_deg": round(float(outer), 2),
    }


def bubble(direction: str, divisions: float) -> Read:
    return {"way": "bubble", "direction": direction, "divisions": divisions}


CHECKED: Read = {
    "way": "checklist",
    **dict.fromkeys(
        ("amplifier_off", "guard_on", "arm_locked", "screws_snug", "white_lead", "blue_lead",
         "red_lead", "green_lead"),
        True,
    ),
}  # fmt: skip # rows of a table


def strobe(drifted_bars: float) -> Read:
    return {
        "way": "strobe",
        "speed_rpm": 33.333333,
        "direction": "against" if drifted_bars else "standing",
        "drifted_bars": drifted_bars,
        "seconds": 60.0,
        "minutes_running": 15.0,
    }


LEFT: dict[str, list[Read]] = {
    "level": [bubble("front-back", 0.0), bubble("left-right", 0.0)],
    "mount": [CHECKED],
    "rough_downforce": [{"way": "scale", "downforce_gf": 2.0}],
    "arm_height": [{"way": "two heights", "front_mm": 27.0, "rear_mm": 27.0, "spacing_mm": 180.0}],
    "alignment": [protractor(0.05, 0.05)],
    "tilt": [{"way": "gaps", "left_mm": 2.0, "right_mm": 2.0}],
    "skating": [{"way": "setting", "setting": 2.0}],
    "final_downforce": [{"way": "scale", "downforce_gf": 2.0}],
    "speed": [strobe(0.0)],
}
"""A deck on which everything is right: what each step reads then."""

FOUND: dict[str, list[Read]] = {
    "level": [bubble("front-back", 8.0), bubble("left-right", 0.0)],
    "rough_downforce": [{"way": "scale", "downforce_gf": 2.6}],
    "arm_height": [
        {"way": "two heights", "front_mm": 27.75, "rear_mm": 31.25, "spacing_mm": 180.0}
    ],
    "alignment": [protractor(1.2, 0.8)],
    "tilt": [{"way": "gaps", "left_mm": 2.0, "right_mm": 2.5}],
    "speed": [strobe(60.0)],
}
"""What was wrong with it at first."""

READINGS = {step: [*FOUND.get(step, ()), *left] for step, left in LEFT.items()}


class Bench:
    """Works through steps by what the journey itself answers."""

    def __init__(
        self,
        on: Deck | None = None,
        fitted: Cartridge | None = None,
        *,
        who: str = "",
    ) -> None:
        self.deck, self.cartridge = on or deck(), fitted or cartridge()
        self.who = who
        self.fitting = fitting_of(who=who)

    @property
    def journey(self) -> Journey:
        return journey_of(self.deck, self.cartridge, self.fitting)

    def keep(self, *bodies: Body) -> None:
        for body in bodies:
            refusal = why_refused(self.journey, body)
            assert refusal is None, refusal
            at = BEGAN + timedelta(minutes=3 * (1 + len(self.fitting.entries)))
            self.fitting = self.fitting.with_entry(Entry(at=at, who=self.who, body=body))

    def work(self, step: str, readings: Iterable[Read], *, override: str = "") -> None:
        """Read, move as told, read the last again as often as asked, then accept."""
        queue = list(readings)
        for _ in range(12):
            status = status_of(self.journey, step)
            verdict = status.assessment.verdict
            pending = not status.trials or status.trials[-1].reading is None
            if verdict.passes and (not queue or len(queue) == 1) and not pending:
                break
            if verdict.value == "nothing to set":
                break
            move = status.assessment.next_move
            if verdict.value in ("move", "stop") and move is not None and not pending:
                if override:
                    break
                self.keep(MoveMade(step=step, parts=move.parts))
            reading = queue.pop(0) if len(queue) > 1 else queue[0]
            self.keep(ReadingTaken(step=step, reading=reading))
        status = status_of(self.journey, step)
        self.keep(
            StepAccepted(
                step=step,
                verdict=status.assessment.verdict,
                reason=override,
            )
        )

    def note(self, text: str, step: str = "") -> None:
        self.keep(NoteWritten(step=step, text=text))

    def work_all(self, *, but: tuple[str, ...] = ()) -> Journey:
        for step, readings in READINGS.items():
            if step not in but:
                self.work(step, readings)
        return self.journey
