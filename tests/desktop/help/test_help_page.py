from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Callable, Iterator
from importlib.metadata import metadata, version
from operator import attrgetter
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers, help_text
from core.steps import STEP_NAMES
from desktop.charts.instrument_view import InstrumentView
from desktop.help.help_page import HelpPage
from tests.desktop.kit import Opener

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
    assert "Where they differ from this program, they are right" in said
    assert "mains voltage" in said
    # One rule with the caution at the speed screw: the maker's manual, the plug, the licensed.
    assert "maker's manual" in said
    assert "mains plug pulled" in said
    assert "/shelf/bench.library" in said


LICENCES = {
    "PySide6-Essentials": ("LGPL-3.0", "GPL-2.0", "GPL-3.0"),
    "pyqtgraph": ("MIT",),
    "numpy": ("BSD-3-Clause",),
    "pydantic": ("MIT",),
    "soundfile": ("BSD 3-Clause",),
    "miniaudio": ("MIT",),
}
"""What each distribution must state of itself for the sentence of Help to be true."""


def test_about_names_every_package_that_the_program_is_built_on(page: HelpPage) -> None:
    """What hears and what reads recordings was left out."""
    built_on = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    named = {re.split(r"[<>=!;]", one)[0] for one in built_on["project"]["dependencies"]}
    page.show_section("about")
    assert named
    for one in named:
        assert f"{one} {version(one)}: " in words_on(page)


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


NAMED_IN_PROSE = re.compile(r"\b(?:(?:Ctrl|Shift|Alt)\+)+(?:F\d+|\w)|\bF\d+\b")
OF_QT = {"Tab", "Alt"}
"""What the window system does with these keys, no code of the program's own."""


def listed_keys() -> set[str]:
    return {
        QKeySequence(keys).toString() for group in help_text().keys.values() for keys in group.does
    }


WHERE_KEYS_STAND = {"bind", "button", "setShortcut"}


def keys_in(call: ast.Call) -> Iterator[str]:
    """Yield the keys that a call binds; for a number put in later, those of 1."""
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    if name not in WHERE_KEYS_STAND:
        return
    for one in (*call.args, *(word.value for word in call.keywords if word.arg == "keys")):
        first, end = (one.values[0], "1") if isinstance(one, ast.JoinedStr) else (one, "")
        if isinstance(first, ast.Constant) and isinstance(first.value, str):
            yield first.value + end


def handled_keys() -> set[str]:
    """Return the keys bound by name, and the last key of each combination that code asks for."""
    found = {QKeySequence(keys).toString() for _, keys in bound_keys()}
    for path in sorted((ROOT / "desktop").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                found |= {QKeySequence(keys).toString() for keys in keys_in(node)}
            if not isinstance(node, ast.Attribute):
                continue
            if node.attr.startswith("Key_"):
                found.add(QKeySequence(getattr(Qt.Key, node.attr)).toString())
            if isinstance(node.value, ast.Attribute) and node.value.attr == "StandardKey":
                standard = QKeySequence.StandardKey[node.attr]
                found |= {one.toString() for one in QKeySequence.keyBindings(standard)}
    return found


def test_every_key_on_the_page_does_something() -> None:
    handled = handled_keys() | {QKeySequence(keys).toString() for keys in OF_QT}
    lacks = {keys for keys in listed_keys() if re.sub(r"\d$", "1", keys) not in handled} - handled
    assert {keys for keys in lacks if keys.split("+")[-1] not in handled} == set()


def test_every_key_that_the_readme_names_stands_on_the_page() -> None:
    named = NAMED_IN_PROSE.findall((ROOT / "README.md").read_text(encoding="utf-8"))
    assert len(named) > 10
    text = " ".join(words for group in help_text().keys.values() for words in group.does.values())
    said = listed_keys() | {QKeySequence(one).toString() for one in NAMED_IN_PROSE.findall(text)}
    assert {QKeySequence(one).toString() for one in named} - said == set()


@pytest.mark.parametrize(
    ("keys", "button"),
    [("Ctrl+M", "move_panel.made_button"), ("Ctrl+D", "reading.all_button")],
)
def test_a_key_is_told_as_its_button_is_named(open_wizard: Opener, keys: str, button: str) -> None:
    wizard = open_wizard()
    wizard.go("mount")
    pressed: QPushButton = attrgetter(button)(wizard.page)
    told = help_text().keys["fitting"].does[keys]
    assert told.startswith(pressed.text().replace("&", "").removesuffix("."))
