"""A rehearsal on a small screen with large type needs no bar to the side."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtWidgets import QApplication, QScrollArea
from pytestqt.qtbot import QtBot

from core.practice.saved_rehearsals import Wish
from core.store import Library
from desktop.rehearsal.rehearsal_page import RehearsalPage
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.wizard import Wizard
from tests.desktop.kit import page_of, settle, step_page

SCREEN_LESS_FRAME = (1018, 732)
"""What a window has of a screen of 1024 by 768."""


@pytest.fixture(autouse=True)
def large_type(qapp: QApplication) -> Iterator[None]:
    theme.apply(qapp, "light", text_scale=1.5)
    yield
    theme.apply(qapp, "light", text_scale=1.0)


@pytest.mark.parametrize("step", ["level", "mount"])
def test_each_column_has_the_width_it_needs(
    step: str, window: MainWindow, library: Library, qtbot: QtBot
) -> None:
    window.open_library(library.address.path)
    window.resize(*SCREEN_LESS_FRAME)
    window.show_rehearsal()
    page_of(window, RehearsalPage).begin_rehearsal(Wish(number=7))
    wizard = window.findChild(Wizard)
    assert wizard is not None
    wizard.go(step)
    page = step_page(wizard)
    qtbot.waitUntil(lambda: page.deferred.is_done)
    for _ in range(5):
        settle()
    areas = [one for one in page.findChildren(QScrollArea) if one.isVisible()]
    assert areas
    assert [one.horizontalScrollBar().maximum() for one in areas] == [0] * len(areas)
