"""The core lives without Qt: every module imports, and its tests run, where there is none."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]

NO_QT = """
import sys

class NoScreen:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("PySide6", "shiboken6", "pyqtgraph", "pytestqt", "desktop"):
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
        return None

sys.meta_path.insert(0, NoScreen())
"""


def _run(code: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", NO_QT + code],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )


def test_the_barrier_stops_qt() -> None:
    result = _run("import PySide6.QtCore")
    assert result.returncode == 1
    assert "No module named 'PySide6" in result.stderr


def test_every_core_module_imports_without_qt_and_without_scipy() -> None:
    result = _run(
        "import importlib, pkgutil, core\n"
        "names = [m.name for m in pkgutil.walk_packages(core.__path__, 'core.')]\n"
        "for name in names:\n"
        "    importlib.import_module(name)\n"
        "assert 'core.steps.level.judge' in names and 'core.store' in names, names\n"
        "heavy = {'scipy', 'PySide6', 'pyqtgraph', 'desktop'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
        "print(len(names))\n"
    )
    assert result.returncode == 0, result.stderr
    assert int(result.stdout) > 30


def test_the_cores_own_tests_pass_without_qt() -> None:
    # A quick part here; the build runs all of them in an environment that has no Qt at all.
    quick = [
        str(path.relative_to(ROOT))
        for path in sorted((ROOT / "tests" / "core").rglob("test_*.py"))
        if path.stem in ("test_field_specs", "test_numbers", "test_quantiles", "test_step_texts")
    ]
    assert len(quick) == 4
    result = _run(
        "import pytest\n"
        "options = ['-n', '0', '-p', 'no:pytest-qt', '-p', 'no:cacheprovider', '-q']\n"
        f"sys.exit(pytest.main([*options, *{quick!r}]))"
    )
    assert result.returncode == 0, result.stdout + result.stderr
    assert " passed" in result.stdout
