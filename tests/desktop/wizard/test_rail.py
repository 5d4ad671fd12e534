"""The rail at the side names every step whole, beside its scroll bar too."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QRect
from PySide6.QtWidgets import QApplication

from desktop.widgets import theme
from tests.desktop.kit import FittingBench, Opener, settle

_EDGE_PX = 9
"""The rounded edge of the marked row."""


@pytest.fixture(autouse=True)
def usual_look(qapp: QApplication) -> Iterator[None]:
    yield
    theme.apply(qapp, "light", text_scale=1.0)


@pytest.mark.parametrize("scale", theme.SCALES)
@pytest.mark.parametrize("height", [420, 600])
def test_no_title_is_cut_beside_the_scroll_bar(
    bench: FittingBench, open_wizard: Opener, qapp: QApplication, scale: float, height: int
) -> None:
    bench.mount()
    theme.apply(qapp, "light", text_scale=scale)
    wizard = open_wizard()
    wizard.resize(900, height)
    wizard.go("rough_downforce")
    settle()
    rail = wizard.rail
    if height == 420 and scale > 1.0:
        assert rail.verticalScrollBar().maximum() > 0
    rail.mark("rough_downforce")  # the longest title, in bold
    button = rail.buttons["rough_downforce"]
    width = button.width()
    here = button.grab().toImage()
    button.resize(width + 200, button.height())
    roomy = button.grab().toImage()
    words = QRect(0, 0, width - _EDGE_PX, button.height())
    assert here.copy(words) == roomy.copy(words), "as where nothing can be cut"
