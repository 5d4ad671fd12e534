"""The README's fitting at the keyboard: how many keys it takes, and that no click is needed."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Final

import pytest
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QApplication

from core.fitting import MoveMade, ReadingTaken
from core.language import Numbers
from core.steps import STEP_NAMES
from desktop.shell.main_window import MainWindow
from desktop.widgets.preferences import Preferences
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import CTRL, Hands, RecordingMessages
from tests.outside.test_fitting_on_paper import PAPER

MOST: Final = 140

# What is pressed at each step, with the figures as the README has them: / is Enter, v and ^ are
# the arrow keys, * ticks a whole checklist, and ! accepts from any field.
KEYS: Final = {
    "level": ("0/", "8^/", "//", "0/", "0/", "/"),
    "mount": ("*", "/"),
    "rough_downforce": ("4.00/", "/", "2.03/", "/"),
    "arm_height": ("23.5/27.0/180/", "/", "22.75/22.75/", "/"),
    "alignment": ("1.2^/1.01^/0.50^/", "/", "0/0/0/", "/", "0/0/0/", "/"),
    "tilt": ("2.4/2.0/", "/", "2.2/2.2/", "/"),
    "skating": ("2/", "/"),
    "final_downforce": ("2.01/", "2.00/", "2.01/", "/"),
    "speed": ("/vv/30/", "/", " /", "/"),
}


class Clicks(QObject):
    """Counts presses of a mouse."""

    count = 0

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002 - Qt's
        self.count += event.type() == QEvent.Type.MouseButtonPress
        return False


def strike(hands: Hands, keys: str) -> int:
    """Press keys one after the other; return how many."""
    named = {"/": Qt.Key.Key_Return, "v": Qt.Key.Key_Down, "^": Qt.Key.Key_Up}
    for key in keys:
        if key == "*":
            hands.press(Qt.Key.Key_D, CTRL)
        elif key == "!":
            hands.accept()
        elif key in named:
            hands.press(named[key])
        else:
            hands.write(key)
    return len(keys)


def _counts_said() -> tuple[int, int]:
    """Return how many keys the README says it takes, and how many more the empty pan does."""
    said = re.search(r"takes (\d+) keys and no click, (\w+) more", README.read_text("utf-8"))
    assert said is not None
    return int(said[1]), {"two": 2, "three": 3}[said[2]]


README: Final = Path(__file__).parents[2] / "README.md"


@pytest.mark.parametrize("pan", [(), ("0/",)])
def test_the_readme_fitting_takes_few_keys_and_no_click(
    pan: tuple[str, ...],
    tmp_path: Path,
    shown: Callable[[MainWindow], MainWindow],
    messages: RecordingMessages,
) -> None:
    window = MainWindow(
        numbers=Numbers(), preferences=Preferences(tmp_path / "own.ini"), messages=messages
    )
    window.open_library(tmp_path / "bench.library")
    hands = Hands(shown(window))
    hands.start_fitting("9-inch arm, three feet", "elliptical, all-round")
    clicks, app = Clicks(), QApplication.instance()
    assert app is not None
    app.installEventFilter(clicks)
    count = 0
    for step in STEP_NAMES:
        assert hands.wizard.place == step
        *keys, last = KEYS[step]
        is_weighed = step == "final_downforce"
        if is_weighed and not pan:  # the empty pan is asked for: Enter alone does not skip it
            count += sum(strike(hands, one) for one in keys)
            strike(hands, last)
            assert hands.wizard.place == step
            keys, last = [], "!"
        for one in (*keys, *(pan if is_weighed else ()), last):
            count += strike(hands, one)
    app.removeEventFilter(clicks)
    assert isinstance(hands.wizard.page, SummaryPage)
    assert hands.wizard.controller.journey.due is None
    assert not messages.told
    assert count <= MOST
    assert clicks.count == 0
    at_all, more = _counts_said()
    assert count == at_all + (more if pan else 0)

    bodies = [entry.body for entry in hands.wizard.controller.fitting.entries]
    for step in STEP_NAMES:
        read = [b.reading for b in bodies if isinstance(b, ReadingTaken) and b.step == step]
        moved = [b for b in bodies if isinstance(b, MoveMade) and b.step == step]
        found, wanted, _, left = PAPER[step]
        assert bool(moved) is bool(wanted), step
        for paper in (*found, *left):
            idle = ("speed_rpm", "minutes_running")  # empty says the same
            idle += ("drifted_bars",) if paper.get("direction") == "standing" else ()
            typed = {name: value for name, value in paper.items() if name not in idle}
            assert any(typed.items() <= kept.items() for kept in read), (step, paper)
