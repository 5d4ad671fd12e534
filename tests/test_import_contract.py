"""The import contract holds, and it is not asleep: broken on purpose, it complains."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ENTRY = "A package is entered through what it declares"


def _lint(folder: Path) -> subprocess.CompletedProcess[str]:
    # The command itself, so that what is tested is what a person and the build run.
    command = Path(sys.executable).with_name("lint-imports")
    return subprocess.run(
        [str(command), "--no-cache", "--no-logo"],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    for package in ("core", "desktop"):
        shutil.copytree(
            ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__")
        )
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    (tmp_path / "tests").mkdir()
    shutil.copy(ROOT / "tests" / "package_entry.py", tmp_path / "tests")
    return tmp_path


def test_the_tree_keeps_the_contract() -> None:
    result = _lint(ROOT)
    assert result.returncode == 0, result.stdout + result.stderr
    assert "0 broken" in result.stdout


def test_an_untouched_copy_keeps_the_contract(copy: Path) -> None:
    result = _lint(copy)
    assert result.returncode == 0, result.stdout + result.stderr


@pytest.mark.parametrize(
    ("module", "offence", "contract"),
    [
        (
            "core/language/numbers.py",
            "import PySide6.QtCore",
            "The core knows nothing of the screen",
        ),
        (
            "core/workflow/replay.py",
            "import core.swap.plan",
            "The core's floors: nothing looks up",
        ),
        (
            "core/records/deck.py",
            "import core.language",
            "The core's floors: nothing looks up",
        ),
        (
            "core/steps/tilt/judge.py",
            "import core.steps.level",
            "Steps do not import each other; what two share lies below them",
        ),
        (
            "core/steps/shared/event_history.py",
            "import core.steps.downforce",
            "Steps do not import each other; what two share lies below them",
        ),
        (
            "core/workflow/summary.py",
            "import core.steps.level.state",
            ENTRY,
        ),
        (
            "core/swap/plan.py",
            "import core.records.deck",
            ENTRY,
        ),
        ("core/fitting/assessment.py", "import pyqtgraph", "The core knows nothing of the screen"),
        (
            "core/fitting/log.py",
            "import desktop.shell.command_line",
            "The core knows nothing of the screen",
        ),
        (
            "core/physics/plane.py",
            "import core.records.deck",
            "Formulas know nothing of steps, fittings or files",
        ),
        (
            "core/physics/statics.py",
            "import core.workflow.replay",
            "Formulas know nothing of steps, fittings or files",
        ),
        (
            "core/practice/tonearm.py",
            "import core.physics.statics",
            "The practice deck works its mechanics out for itself",
        ),
        (
            "core/practice/played_record.py",
            "import core.tones",
            "The practice deck works its mechanics out for itself",
        ),
        (
            "core/tones/carrier.py",
            "import soundfile",
            "What a tone says is worked out with numpy alone; files are read beside it",
        ),
        (
            "core/recordings/listening.py",
            "import core.tones.carrier",
            ENTRY,
        ),
        (
            "desktop/tones/command.py",
            "import core.recordings.sound_file",
            ENTRY,
        ),
        ("core/workflow/summary.py", "import core.steps.shared.doubts", ENTRY),
        ("core/steps/tilt/judge.py", "import core.steps.shared.doubts", ENTRY),
        ("core/swap/plan.py", "import core.workflow.replay", ENTRY),
        ("core/history/timeline.py", "import core.swap.plan", ENTRY),
        ("core/maintenance/due.py", "import core.store.log", ENTRY),
        ("core/paper/plan_sheet.py", "import core.history.timeline", ENTRY),
        ("core/spreadsheet/rows.py", "import core.maintenance.speed_drift", ENTRY),
        ("core/practice/__main__.py", "import core.practice.proof.person", ENTRY),
        ("desktop/paper/command.py", "import core.paper.pages", ENTRY),
        ("desktop/paper/command.py", "import core.spreadsheet.rows", ENTRY),
        ("desktop/rehearsal/truth_page.py", "import core.practice.world", ENTRY),
        ("desktop/rehearsal/truth_page.py", "import desktop.charts.items", ENTRY),
        ("desktop/wizard/step_page.py", "import desktop.forms.recipe", ENTRY),
        ("desktop/shell/main_window.py", "import desktop.wizard.rail", ENTRY),
        (
            "desktop/wizard/bench_view.py",
            "import core.steps.level.bench",
            "Only the bench drawing asks a step to draw",
        ),
        (
            "core/practice/hands.py",
            "import core.estimation.control_solver",
            "The practice deck works its mechanics out for itself",
        ),
        (
            "core/practice/world.py",
            "import core.workflow.effects",
            "The practice deck works its mechanics out for itself",
        ),
        (
            "core/practice/hands.py",
            "import core.steps.shared",
            "The practice deck works its mechanics out for itself",
        ),
        (
            "core/practice/rehearsal.py",
            "import core.practice.proof.person",
            "Nothing that is installed imports the closed-loop harness",
        ),
        (
            "desktop/rehearsal/panel.py",
            "import core.practice.proof.closed_loop",
            "Nothing that is installed imports the closed-loop harness",
        ),
        (
            "core/store/log.py",
            "import sqlite3",
            "Two files know SQLite; a second engine could stand in their place",
        ),
        (
            "core/store/library.py",
            "import core.store.sqlite.file",
            "Only an address knows the engine behind it",
        ),
        (
            "core/store/pictures.py",
            "import core.store.sqlite.errors",
            "Only an address knows the engine behind it",
        ),
        (
            "core/history/timeline.py",
            "import core.store.sqlite.address",
            "Only an address knows the engine behind it",
        ),
        (
            "core/store/fitting_status.py",
            "import core.store.log",
            "The store is built in one direction",
        ),
        (
            "core/store/library.py",
            "def plan() -> None:\n    import core.store.importing",
            "The store is built in one direction",
        ),
        (
            "desktop/widgets/panels.py",
            "import desktop.forms.form",
            "The desktop's floors: the shell, the screens, their parts, small widgets",
        ),
        (
            "desktop/charts/chart.py",
            "import desktop.tasks.preload",
            "The desktop's floors: the shell, the screens, their parts, small widgets",
        ),
        (
            "desktop/tasks/preload.py",
            "import desktop.wizard",
            "The desktop's floors: the shell, the screens, their parts, small widgets",
        ),
        (
            "desktop/paper/command.py",
            "import desktop.shell.qt_loading",
            "The desktop's floors: the shell, the screens, their parts, small widgets",
        ),
        (
            "desktop/rehearsal/bench_page.py",
            "import desktop.wizard.step_page",
            "Screens do not import each other",
        ),
        (
            "desktop/wizard/step_page.py",
            "import desktop.paper.paper_button",
            "Screens do not import each other",
        ),
        (
            "desktop/tasks/fitting_controller.py",
            "import sqlite3",
            "Two files know SQLite; a second engine could stand in their place",
        ),
    ],
)
def test_a_forbidden_import_breaks_the_contract(
    copy: Path, module: str, offence: str, contract: str
) -> None:
    with (copy / module).open("a", encoding="utf-8") as file:
        file.write(f"\n{offence}\n")
    result = _lint(copy)
    assert result.returncode == 1, result.stdout + result.stderr
    assert f"{contract} BROKEN" in result.stdout


def test_a_new_module_is_internal_until_its_package_declares_it(copy: Path) -> None:
    (copy / "core/physics/new_formula.py").write_text('"""A formula."""\n', encoding="utf-8")
    with (copy / "core/steps/tilt/judge.py").open("a", encoding="utf-8") as file:
        file.write("\nimport core.physics.new_formula\n")
    result = _lint(copy)
    assert f"{ENTRY} BROKEN" in result.stdout
    assert "core.steps.tilt.judge imports core.physics.new_formula" in result.stdout
    package = copy / "core/physics/__init__.py"
    words = package.read_text("utf-8").replace("__all__ = [", '__all__ = ["new_formula", ')
    package.write_text(words, encoding="utf-8")
    result = _lint(copy)
    assert result.returncode == 0, result.stdout + result.stderr


def test_what_nothing_outside_imports_is_not_declared(copy: Path) -> None:
    package = copy / "desktop/forms/__init__.py"
    words = package.read_text("utf-8").replace("__all__ = [", '__all__ = ["recipe", ')
    package.write_text(words, encoding="utf-8")
    result = _lint(copy)
    assert f"{ENTRY} BROKEN" in result.stdout
    assert "desktop.forms names recipe, which nothing outside imports" in result.stdout
