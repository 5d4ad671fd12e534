from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from importlib.metadata import metadata
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers, help_text
from core.steps import STEP_NAMES
from desktop.charts.instrument_view import InstrumentView
from desktop.help.help_page import HelpPage

ROOT = Path(__file__).parents[3]
Show = Callable[[QWidget], QWidget]


@pytest.fixture
def page(shown: Show) -> HelpPage:
    made = HelpPage(Numbers(), "/shelf/bench.library")
    shown(made)
    made.show_section("words")
    return made


def words_on(page: HelpPage) -> str:
    now = page.pages.currentWidget()
    assert now is not None
    return "\n".join(label.text() for label in now.findChildren(QLabel))


def test_every_word_of_the_trade_stands_there_with_its_drawing(page: HelpPage) -> None:
    said = words_on(page)
    for trade_word in (
        *("Tracking force", "Overhang", "Null points", "Vertical tracking angle (VTA)"),
        *("Azimuth", "Anti-skating", "Cantilever"),
    ):
        assert trade_word in said
    now = page.pages.currentWidget()
    assert now is not None
    pictures = now.findChildren(InstrumentView)
    assert len(pictures) == len(help_text().words)
    assert all(one.drawing is not None and one.accessibleName() for one in pictures)


def test_sections_are_reached_by_keys_and_escape_leaves(page: HelpPage, qtbot: QtBot) -> None:
    assert QApplication.focusWidget() is page.sections
    qtbot.keyClick(page.sections, Qt.Key.Key_Down)
    assert page.section == "keys"
    qtbot.keyClick(page.sections, Qt.Key.Key_Down)
    assert page.section == "without"
    with qtbot.waitSignal(page.closed):
        qtbot.keyClick(page.sections, Qt.Key.Key_Escape)


def test_each_step_says_how_to_do_without_an_instrument(page: HelpPage) -> None:
    text = help_text().without.steps
    assert list(text) == list(STEP_NAMES)
    page.show_section("without")
    assert all(line in words_on(page) for line in text.values())


def test_about_says_what_goes_before_the_program_and_where_the_library_lies(
    page: HelpPage,
) -> None:
    page.show_section("about")
    said = words_on(page)
    assert "go before this program" in said
    assert "mains voltage" in said
    assert "/shelf/bench.library" in said


LICENCES = {
    "PySide6-Essentials": ("LGPL-3.0", "GPL-2.0", "GPL-3.0"),
    "pyqtgraph": ("MIT",),
    "numpy": ("BSD-3-Clause",),
    "pydantic": ("MIT",),
}
"""What each distribution must state of itself for the sentence of Help to be true."""


def test_the_licences_are_those_that_the_installed_libraries_state() -> None:
    assert set(help_text().about.licences) == set(LICENCES)
    for name, wanted in LICENCES.items():
        data = metadata(name)
        stated = str(data.get("License-Expression") or data.get("License"))
        assert all(licence in stated for licence in wanted), name


def bound_keys() -> Iterator[tuple[str, str]]:
    """Yield the file and the keys of every shortcut that the code binds by its name."""
    for path in sorted((ROOT / "desktop").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                one = node.value
                if (one.startswith("Ctrl+") and len(one) > 5) or one == "F1":
                    yield str(path.relative_to(ROOT)), one


def test_all_keys_of_the_program_stand_on_the_page() -> None:
    listed = {
        QKeySequence(keys).toString() for group in help_text().keys.values() for keys in group.does
    }
    bound = {QKeySequence(keys).toString() for _, keys in bound_keys()}
    assert len(bound) > 12
    assert bound <= listed
