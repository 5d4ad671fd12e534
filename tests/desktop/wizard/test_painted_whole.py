"""Nothing on a step's page is painted with less height than its words ask for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit

from core.fitting import ControlChecked, MoveMade, ReadingTaken
from core.steps import STEP_NAMES
from tests.desktop.kit import FittingBench, Opener, settle, step_page

HEIGHTS = [(1280, 800), (1280, 700), (900, 600)]
UNSTEADY: dict[str, list[dict[str, Any]]] = {
    "arm_height": [
        {"way": "two heights", "front_mm": 23.5, "rear_mm": rear, "spacing_mm": 180.0}
        for rear in (27.0, 25.5, 29.0, 23.5, 23.5, 24.0, 30.0)
    ],
    "level": [
        {"way": "bubble", "direction": direction, "divisions": divisions}
        for divisions in (8.0, 3.0, 9.0)
        for direction in ("front-back", "left-right")
    ],
    "rough_downforce": [{"way": "scale", "downforce_gf": read} for read in (4.0, 2.6, 2.9, 2.0)],
    "tilt": [{"way": "gaps", "left_mm": left, "right_mm": 2.0} for left in (2.9, 2.4, 3.0)],
}
"""Readings of a step that lead through its longest notes, moves and questions."""


class Squeezed(QObject):
    """Keeps what is painted with too little height."""

    def __init__(self) -> None:
        super().__init__()
        self.found: set[str] = set()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint and isinstance(watched, QLabel | QLineEdit):
            least = watched.minimumSizeHint().height()
            if watched.hasHeightForWidth():
                least = watched.heightForWidth(watched.width())
            if watched.height() < least and (watched.text() or isinstance(watched, QLineEdit)):
                said = watched.text() or watched.accessibleName()
                self.found.add(f"{said}: {watched.height()} of {least}")
        return False


@pytest.fixture
def squeezed(qapp: QApplication) -> Iterator[set[str]]:
    eye = Squeezed()
    qapp.installEventFilter(eye)
    yield eye.found
    qapp.removeEventFilter(eye)


@pytest.mark.parametrize("size", HEIGHTS)
@pytest.mark.parametrize("step", sorted(UNSTEADY))
def test_nothing_is_painted_squeezed_as_readings_and_moves_are_saved(
    bench: FittingBench,
    open_wizard: Opener,
    squeezed: set[str],
    step: str,
    size: tuple[int, int],
) -> None:
    for before in STEP_NAMES[: STEP_NAMES.index(step)]:
        bench.accept(before, "left so for this test")
    if step not in ("level", "rough_downforce"):
        bench.read("rough_downforce", way="scale", downforce_gf=2.0)
    wizard = open_wizard()
    wizard.resize(*size)
    wizard.go(step)
    page = step_page(wizard)
    page.deferred.finish()
    for _ in range(3):
        settle()
    squeezed.clear()
    for place, reading in enumerate(UNSTEADY[step]):
        bench.keep(ReadingTaken(step=step, reading=reading))
        settle()
        said = page.status.assessment
        if place % 2:
            wizard.go("mount")
            settle()
            wizard.go(step)
            settle()
        if said.questions:
            asked = ControlChecked(control=said.questions[0].control)
            bench.keep(ReadingTaken(step=step, reading=asked.model_dump(mode="json")))
        elif said.next_move is not None and said.next_move.parts:
            bench.keep(MoveMade(step=step, parts=said.next_move.parts))
        settle()
    assert squeezed == set()
