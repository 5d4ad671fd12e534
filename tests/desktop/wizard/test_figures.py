"""The figures beside a chart: no number is cut where there is little room."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QApplication, QScrollArea, QWidget

from core.language import Numbers
from desktop.widgets import theme
from desktop.wizard.figures import FiguresPanel
from tests.desktop.kit import settle


def test_a_long_number_without_a_target_takes_the_room_of_one(
    shown: Callable[..., QWidget], qapp: QApplication
) -> None:
    theme.apply(qapp, "light")
    panel = FiguresPanel(Numbers())
    rows = (
        ("Downforce", "4.80 ± 0.05 gf", "2.00 gf ± 0.2", ""),
        ("Downforce for one turn, gf", "0.415 ± 0.048 more toward the pivot", "", ""),
    )
    panel._tell(rows, (), "", live=False)
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setWidget(panel)
    shown(area, 330, 400)
    settle()
    assert area.horizontalScrollBar().maximum() == 0
