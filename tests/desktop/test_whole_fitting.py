"""A whole fitting by keyboard through the real window, closed, and found again in the file.

The readings are invented; what they must lead to is checked elsewhere. Here the point is that a
person gets through all nine steps on decks that can do everything, almost nothing, or are built
another way, and that everything confirmed is there after a restart.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt

from core.fitting import MoveMade, ReadingTaken, StepAccepted, Verdict
from core.language import Numbers
from core.language.catalogue import ENGLISH, KEYS, LONGER
from core.physics.alignment_solutions import lofgren_a_nulls
from core.physics.arm_geometry import PivotedArm, tracking_error_deg
from core.physics.groove_radii import GROOVES_1958
from core.steps import STEP_NAMES
from core.workflow.replay import journey_of
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from desktop.widgets.preferences import Preferences
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import Hands, RecordingMessages

Read = tuple[str, dict[str, Any]]

CHECKLIST: Read = (
    "checklist",
    dict.fromkeys(
        (
            "amplifier_off", "guard_on", "arm_locked", "screws_snug", "white_lead", "blue_lead",
            "red_lead", "green_lead",
        ),
        True,
    ),
)  # fmt: skip # rows of a table
PLUGGED: Read = (
    "plug-in checklist",
    dict.fromkeys(("amplifier_off", "guard_on", "arm_locked", "pushed_home", "lock_closed"), True),
)
STANDING: Read = (
    "strobe",
    {"speed_rpm": "33.333", "direction": "Stood still", "minutes_running": 15},
)


def bubble(direction: str, divisions: float) -> Read:
    return "bubble", {"direction": direction, "divisions": divisions}


def scale(downforce: float) -> Read:
    """A weighing, as a share of what this cartridge should have."""
    return "scale", {"downforce_gf": downforce}


def heights(front_mm: float, rear_mm: float) -> Read:
    return "two heights", {"front_mm": front_mm, "rear_mm": rear_mm, "spacing_mm": 180}


def protractor(slide_mm: float, twist_deg: float) -> Read:
    """What an arm that far off the solution for 222 mm shows on landing line and both grids."""
    nulls = lofgren_a_nulls(GROOVES_1958)
    arm = PivotedArm(222.0, 239.296 + slide_mm, 22.986 + twist_deg)
    inner, outer = tracking_error_deg(arm, [nulls.inner_mm, nulls.outer_mm])
    return (
        "landing and angles",
        {"landing_mm": slide_mm, "inner_deg": f"{inner:.2f}", "outer_deg": f"{outer:.2f}"},
    )


@dataclass
class Plan:
    """What is read at each step, in order; the last reading is repeated as often as asked."""

    deck: str
    cartridge: str
    readings: dict[str, list[Read]]
    moves_in: set[str] = field(default_factory=set)
    left: set[str] = field(default_factory=set)


LEVEL = [bubble("Front to rear", 0), bubble("Left to right", 0)]
UPRIGHT: Read = ("gaps", {"left_mm": "2.0", "right_mm": "2.0"})

PLANS = {
    "everything adjustable": Plan(
        "9-inch arm, three feet",
        "elliptical, all-round",
        {
            "level": [bubble("Front to rear", 8), bubble("Left to right", 0), *LEVEL],
            "mount": [CHECKLIST],
            "rough_downforce": [scale(2.0), scale(1.015)],
            "arm_height": [heights(23.5, 27.0), heights(22.75, 22.75)],
            "alignment": [protractor(1.2, 0.0), protractor(0.0, 0.0)],
            "tilt": [
                ("gaps", {"left_mm": "2.4", "right_mm": "2.0"}),
                ("gaps", {"left_mm": "2.2", "right_mm": "2.2"}),
            ],
            "skating": [("setting", {"setting": "2"})],
            "final_downforce": [scale(1.0)],
            "speed": [
                ("strobe", {"speed_rpm": "33.333", "direction": "Went against the platter",
                            "drifted_bars": 30, "seconds": 30, "minutes_running": 15}),
                STANDING,
            ],
        },
        moves_in={"level", "rough_downforce", "arm_height", "alignment", "tilt"},
    ),
    "almost nothing adjustable": Plan(
        "nothing to adjust",
        "elliptical, plug-in",
        {
            "level": [bubble("Front to rear", 8), bubble("Left to right", 0)],
            "mount": [PLUGGED],
            "rough_downforce": [scale(1.0)],
            "arm_height": [heights(23.5, 27.0)],
            "alignment": [protractor(2.5, 0.0)],
            "tilt": [UPRIGHT],
            "skating": [],
            "final_downforce": [scale(1.0)],
            "speed": [STANDING],
        },
    ),
    "parallel tracking": Plan(
        "parallel tracking arm",
        "line contact, threaded",
        {
            "level": LEVEL,
            "mount": [CHECKLIST],
            "rough_downforce": [scale(1.0)],
            "arm_height": [heights(27.0, 27.0)],
            "alignment": [
                ("path", {"inner_landing_mm": 0, "outer_landing_mm": 0, "head_deg": 0})
            ],
            "tilt": [UPRIGHT],
            "skating": [],
            "final_downforce": [scale(1.0)],
            "speed": [STANDING],
        },
    ),
}  # fmt: skip # rows of a table


def work_through(hands: Hands, step: str, readings: list[Read]) -> None:
    """Read and move as the wizard asks until the step can be accepted; else keep it anyway."""
    assert hands.wizard.place == step
    waiting = list(readings)
    for _ in range(14):
        page = hands.step
        if page.can_accept() and not waiting[:1]:
            break
        assessment = page.status.assessment
        if page.can_accept() and len(waiting) <= 1:
            break
        after_reading = bool(page.status.trials) and not page.status.trials[-1].moves
        if after_reading and assessment.verdict in (Verdict.MOVE, Verdict.STOP):
            assert assessment.next_move is not None
            if assessment.next_move.parts:
                hands.move_made()
                continue
        if not readings:
            break
        way, values = waiting.pop(0) if waiting else readings[-1]
        if way == "scale":
            target = hands.wizard.controller.journey.cartridge.downforce_target_gf
            values = {"downforce_gf": f"{values['downforce_gf'] * target:.2f}"}
        hands.read(way, **values)
    if hands.step.can_accept():
        hands.accept()
    else:
        hands.keep_anyway("left so for this test")


@pytest.mark.parametrize(
    ("plan", "language"),
    [
        *((plan, ENGLISH) for plan in PLANS.values()),
        (PLANS["almost nothing adjustable"], LONGER),
        (PLANS["almost nothing adjustable"], KEYS),
    ],
    ids=[*PLANS, "in a language with longer words", "with keys for sentences"],
)
def test_a_whole_fitting_by_keyboard_is_found_again_after_a_restart(
    plan: Plan,
    language: str,
    tmp_path: Path,
    shown: Callable[[MainWindow], MainWindow],
    messages: RecordingMessages,
) -> None:
    path = tmp_path / "bench.library"

    def window() -> MainWindow:
        made = MainWindow(
            numbers=Numbers(language=language),
            preferences=Preferences(tmp_path / "own.ini"),
            messages=messages,
        )
        made.open_library(path)
        return shown(made)

    first = window()
    hands = Hands(first)
    hands.start_fitting(plan.deck, plan.cartridge)
    for step in STEP_NAMES:
        work_through(hands, step, plan.readings[step])
    assert isinstance(hands.wizard.page, SummaryPage)
    journey = hands.wizard.controller.journey
    assert journey.due is None
    if not hands.wizard.page.set_back.isHidden():
        hands.tab_to(hands.wizard.page.set_back.tick)
        hands.press(Qt.Key.Key_Space)
    hands.tab_to(hands.wizard.page.finish_button)
    hands.press(Qt.Key.Key_Space)
    kept = hands.wizard.controller.fitting
    assert kept.is_finished
    assert not messages.told
    first.close()

    again = window()
    screen = again.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    library = again.library
    assert library is not None
    (row,) = library.fittings()
    assert row.finished
    found = library.fitting(row.id)
    assert found.entries == kept.entries
    deck_revision, cartridge_revision = found.revisions
    deck = library.deck(found.deck_id, deck_revision).thing
    cartridge = library.cartridge(found.cartridge_id, cartridge_revision).thing
    before = {
        s.step: (s.state, s.assessment.verdict, s.assessment.headline) for s in journey.statuses
    }
    after = {
        s.step: (s.state, s.assessment.verdict, s.assessment.headline)
        for s in journey_of(deck, cartridge, found).statuses
    }
    assert after == before
    check_record(found, plan)


def check_record(fitting: Any, plan: Plan) -> None:
    bodies = [entry.body for entry in fitting.entries]
    accepted = [body.step for body in bodies if isinstance(body, StepAccepted)]
    assert list(dict.fromkeys(accepted)) == list(STEP_NAMES)
    moved = {body.step for body in bodies if isinstance(body, MoveMade)}
    assert plan.moves_in <= moved
    read = {body.step for body in bodies if isinstance(body, ReadingTaken)}
    assert {step for step, readings in plan.readings.items() if readings} <= read
    overridden = {body.step for body in bodies if isinstance(body, StepAccepted) and body.overrides}
    assert overridden <= plan.left, f"had to be kept against the verdict: {overridden}"
