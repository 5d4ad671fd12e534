"""The figures beside a chart: no number is cut where there is little room."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QApplication, QScrollArea, QWidget

from core.language import Numbers
from desktop.widgets import theme
from desktop.widgets.panels import NumberLabel
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


def test_a_long_number_folds_its_words_rather_than_leave_its_target_s_line(
    shown: Callable[..., QWidget], qapp: QApplication
) -> None:
    theme.apply(qapp, "light")
    panel = FiguresPanel(Numbers())
    number, target = "27.13\u00a0±\u00a05.88\u00a0mm too long", "0.00\u00a0mm\u00a0±\u00a00.5"
    panel._tell((("Length error", number, target, ""),), (), "", live=False)
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setWidget(panel)
    shown(area, 300, 400)
    for _ in range(6):
        settle()
    (now,) = (one for one in panel.findChildren(NumberLabel) if one.text() == number)
    (wanted,) = (one for one in panel.findChildren(NumberLabel) if one.text() == target)
    assert now.geometry().right() < wanted.geometry().left(), "in two columns"
    middle = wanted.geometry().center().y()
    assert now.geometry().top() <= middle <= now.geometry().bottom(), "on one line"
    assert wanted.width() >= wanted.width_of(target)
    assert area.horizontalScrollBar().maximum() == 0
