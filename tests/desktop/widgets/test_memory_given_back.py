"""What is taken off a page is gone from memory, also where Qt or its binding would keep it."""

from __future__ import annotations

import ctypes
import gc
import random
import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import ClassVar, Final

import pytest
from PySide6.QtCore import QEvent
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)
from pytestqt.qtbot import QtBot

import desktop
from core.language import Numbers
from desktop.charts.chart import Chart
from desktop.history.group_box import GroupBox
from desktop.widgets import theme
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.panels import clear_layout, take_out
from desktop.widgets.preferences import Preferences
from desktop.widgets.technician_box import TechnicianBox

BATCHES: Final = 5
MAY_STAY: Final = 20.0
"""Bytes a time that may stay of a layout's items: 45 and more did."""
FIVE_MAY_LEAVE: Final = 200.0
"""Bytes that may stay of five boxes: 3,300 did, and 40 still do, in tables that grow."""
ALIVE: Final = 40


class _Handed(ctypes.Structure):
    """What glibc's ``mallinfo2`` tells, in bytes but for the counts."""

    _fields_: ClassVar = [
        (name, ctypes.c_size_t)
        for name in (
            *("arena", "ordblks", "smblks", "hblks", "hblkhd", "usmblks", "fsmblks"),
            *("uordblks", "fordblks", "keepcost"),
        )
    ]


@pytest.fixture
def dressed(qapp: QApplication) -> Iterator[QApplication]:
    """The program's style sheet: without one Qt keeps no rules."""
    theme.apply(qapp, "light")
    yield qapp
    theme.apply(qapp)


def _stays(act: Callable[[], None], times: int = 400) -> float:
    """Return how many bytes stay in memory for each time that something is done.

    The least of some batches: a table that grows takes memory in one of them, a leak in each.
    """
    told = getattr(ctypes.CDLL(None), "mallinfo2", None)
    if told is None:
        pytest.skip("this C library does not say how much memory is in use")
    told.restype = _Handed
    gc.collect()
    handed: list[int] = [told().uordblks]
    for _ in range(BATCHES):
        for _ in range(times):
            act()
        gc.collect()
        handed.append(told().uordblks)
    return min(after - before for before, after in pairwise(handed)) / times


def _ended(widget: QWidget) -> None:
    widget.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def test_a_layout_that_is_cleared_keeps_no_items(dressed: QApplication) -> None:
    """Labels, a space and a layout inside: the items of all went with them."""
    host = QWidget()
    column = QVBoxLayout(host)

    def fill_and_clear() -> None:
        row = QHBoxLayout()
        row.addWidget(QLabel("inside"))
        column.addLayout(row)
        column.addWidget(QLabel("below"))
        column.addStretch(1)
        clear_layout(column)
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

    assert _stays(fill_and_clear) < MAY_STAY
    assert column.count() == 0
    _ended(host)


def test_widgets_taken_out_of_a_layout_live_on_and_their_items_do_not(
    dressed: QApplication,
) -> None:
    host = QWidget()
    row = QHBoxLayout(host)
    first, second = QLabel("first", host), QLabel("second", host)

    def arrange_again() -> None:
        assert take_out(row) in ([], [first, second])
        row.addWidget(first)
        row.addStretch(1)
        row.addWidget(second)

    assert _stays(arrange_again) < MAY_STAY
    assert (first.text(), second.text(), row.count()) == ("first", "second", 3)
    _ended(host)


def test_a_list_of_choices_leaves_nothing(dressed: QApplication) -> None:
    assert _stays(_made_and_ended(ElidedCombo), 60) < FIVE_MAY_LEAVE


def test_every_list_of_choices_is_one_that_leaves_nothing() -> None:
    """Pages make no ``QComboBox`` or ``QSpinBox`` of Qt's own."""
    made = [
        f"{path.name}: {line.strip()}"
        for path in sorted(Path(desktop.__file__).parent.rglob("*.py"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if re.search(r"(?<!case )(?<!\| )\bQ(Combo|Spin|DoubleSpin)Box\(", line)
        or ("(QComboBox):" in line and path.stem not in ("elided_combo", "technician_box"))
    ]
    assert made == []
    assert issubclass(GroupBox, ElidedCombo)


def test_a_field_inside_another_field_is_forgotten_with_it(
    dressed: QApplication, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The technician's box that can be typed in, and the menu that a chart never shows."""
    told: list[QWidget] = []
    monkeypatch.setattr(theme, "forget_with", told.append)
    box = TechnicianBox(Preferences(tmp_path / "remembered.ini"))
    chart = Chart(Numbers())
    for widget in (box, chart):
        qtbot.addWidget(widget)
    inside = [
        line
        for widget in QApplication.allWidgets()
        if isinstance(widget, QSpinBox)
        for line in widget.findChildren(QLineEdit)
        if line in told
    ]
    assert len(inside) == 2, "a chart's menu has two"
    assert box.lineEdit() in told
    assert box.view().parentWidget() in told


def test_a_field_of_a_spin_box_leaves_nothing_once_it_is_forgotten(dressed: QApplication) -> None:
    def make(host: QWidget) -> None:
        theme.forget_with(QSpinBox(host).lineEdit())

    assert _stays(_made_and_ended(make), 100) < FIVE_MAY_LEAVE


def _made_and_ended(make: Callable[[QWidget], object]) -> Callable[[], None]:
    """Return what makes five widgets on a host, and ends one of the hosts that are there.

    What is kept goes by the address, and one widget after the other would lie at the same.
    """
    chance, hosts = random.Random(1), list[QWidget]()

    def make_and_end() -> None:
        hosts.append(QWidget())
        for _ in range(5):
            make(hosts[-1])
        hosts[-1].ensurePolished()
        if len(hosts) > ALIVE:
            _ended(hosts.pop(chance.randrange(len(hosts))))

    return make_and_end
