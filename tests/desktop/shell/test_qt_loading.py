"""The installed Qt binding does not do what broken releases of it did."""

from __future__ import annotations

import subprocess
import sys

import pytest
from PySide6.QtWidgets import QApplication, QLabel

from desktop.shell.qt_loading import LOADING_PACKAGES, WINDOW_PACKAGES, import_remedy, window_remedy


def test_void_calls_keep_the_reference_to_none(qapp: QApplication) -> None:
    # One release drops a reference to None on every void call and then aborts the process. From
    # Python 3.12 on None is immortal and its count means nothing, so the check passes trivially.
    label = QLabel()
    before = sys.getrefcount(None)
    for _ in range(200):
        label.setText("x")
    assert sys.getrefcount(None) > before - 50
    label.deleteLater()


def test_a_missing_system_library_is_named_with_its_packages() -> None:
    problem = ImportError("libEGL.so.1: cannot open shared object file: No such file or directory")
    remedy = import_remedy(problem)
    assert remedy is not None
    assert "libEGL.so.1" in remedy
    assert LOADING_PACKAGES in remedy
    assert "\n" not in remedy


def test_a_missing_binding_is_named_with_its_package() -> None:
    remedy = import_remedy(ModuleNotFoundError("No module named 'PySide6'", name="PySide6"))
    assert remedy is not None
    assert "pip install PySide6-Essentials" in remedy


@pytest.mark.parametrize(
    "problem",
    [
        ModuleNotFoundError("No module named 'desktop.nothing'", name="desktop.nothing"),
        ImportError("cannot import name 'Nothing' from 'desktop.shell.app'"),
    ],
)
def test_our_own_broken_imports_are_not_blamed_on_the_system(problem: ImportError) -> None:
    assert import_remedy(problem) is None


def test_offscreen_is_hinted_at_only_without_a_display() -> None:
    assert "QT_QPA_PLATFORM=offscreen" in window_remedy({})
    with_display = window_remedy({"DISPLAY": ":1"})
    assert "offscreen" not in with_display
    assert WINDOW_PACKAGES in with_display


def test_a_platform_that_does_not_exist_is_named() -> None:
    assert "“nosuch”" in window_remedy({"QT_QPA_PLATFORM": "nosuch", "DISPLAY": ":1"})


def test_what_is_said_without_qt_comes_from_the_catalogue_and_loads_none_of_it() -> None:
    code = (
        "import sys; sys.modules['PySide6'] = None; "
        "from desktop.shell.qt_loading import import_remedy, window_remedy; "
        "print(import_remedy(ModuleNotFoundError('no', name='PySide6'))); "
        "print(window_remedy({})); assert 'pydantic' not in sys.modules"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    binding, display = said.stdout.splitlines()
    assert binding.startswith("Setdown can't open its window: PySide6 is not installed.")
    assert display.startswith("Setdown can't open its window: there is no display.")
