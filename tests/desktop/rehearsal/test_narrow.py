"""A rehearsal on a small screen with large type needs no bar to the side."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtWidgets import QApplication, QScrollArea
from pytestqt.qtbot import QtBot

from core.fitting import ReadingTaken, StepAccepted, Verdict
from core.practice.saved_rehearsals import Wish
from core.steps import STEP_NAMES
from core.store import Library
from desktop.rehearsal.rehearsal_page import RehearsalPage
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import page_of, settle, step_page

SCREEN_LESS_FRAME = (1018, 732)
"""What a window has of a screen of 1024 by 768."""


@pytest.fixture(autouse=True)
def large_type(qapp: QApplication) -> Iterator[None]:
    theme.apply(qapp, "light", text_scale=1.5)
    yield
    theme.apply(qapp, "light", text_scale=1.0)


BUBBLES = (("front-back", 8.0), ("left-right", -5.0))


@pytest.mark.parametrize("step", ["level", "mount", "tilt", "skating", "speed"])
def test_each_column_has_the_width_it_needs(
    step: str, window: MainWindow, library: Library, qtbot: QtBot
) -> None:
    window.open_library(library.address.path)
    window.resize(*SCREEN_LESS_FRAME)
    window.show_rehearsal()
    page_of(window, RehearsalPage).begin_rehearsal(Wish(number=7))
    wizard = window.findChild(Wizard)
    assert wizard is not None
    for before in STEP_NAMES[: STEP_NAMES.index(step)]:
        left = StepAccepted(step=before, verdict=Verdict.NO_READING, reason="left so")
        assert wizard.controller.record(left) is None
    wizard.go(step)
    page = step_page(wizard)
    qtbot.waitUntil(lambda: page.deferred.is_done)
    for direction, divisions in BUBBLES if step == "level" else ():
        read = {"way": "bubble", "direction": direction, "divisions": divisions}
        assert wizard.controller.record(ReadingTaken(step=step, reading=read)) is None
    for way in page.reading._ways:
        page.reading.choose(way)
        for _ in range(5):
            settle()
        assert sideways(page) == set(), way


def sideways(page: StepPage) -> set[int]:
    """Return how far the columns of a page can be scrolled to the side, but for not at all."""
    areas = [one for one in page.findChildren(QScrollArea) if one.isVisible()]
    assert areas
    return {one.horizontalScrollBar().maximum() for one in areas} - {0}
