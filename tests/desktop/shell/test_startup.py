"""The program as a person starts it: a process of its own, from command line to closed window."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from desktop.widgets.locale_numbers import numbers_of

ROOT = Path(__file__).parents[3]

START = """
import sys
from pathlib import Path
from PySide6.QtCore import QTimer
import desktop.shell.app
from desktop.shell.command_line import Options

def show(window, shown=desktop.shell.app.MainWindow.show):
    shown(window)
    AT_ONCE(window)
    QTimer.singleShot(300, lambda: CLOSE(window))

def AT_ONCE(window):
    pass

def CLOSE(window):
    window.close()

desktop.shell.app.MainWindow.show = show
options = Options(library=Path(sys.argv[1]) if len(sys.argv) > 1 else None)
"""
END = "\nsys.exit(desktop.shell.app.run_window(options))\n"


def default_folder(home: Path) -> Path:
    on_mac = home / "Library" / "Application Support"
    return (on_mac if sys.platform == "darwin" else home) / "setdown"


def start(
    code: str, home: Path, *arguments: str, platform: str = "offscreen", **more: str
) -> subprocess.CompletedProcess[str]:
    environment = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    environment |= {"HOME": str(home), "XDG_DATA_HOME": str(home), "QT_QPA_PLATFORM": platform}
    return subprocess.run(
        [sys.executable, *(["-c", code] if code else ["-m", "desktop"]), *arguments],
        cwd=ROOT,
        env=environment | more,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


@pytest.mark.skipif(sys.platform == "win32", reason="rights are told otherwise there")
@pytest.mark.parametrize("elsewhere", [True, False])
def test_what_a_start_makes_is_its_owner_s_alone(tmp_path: Path, elsewhere: bool) -> None:
    home = tmp_path / "a new home"
    home.mkdir()
    before = os.umask(0o022)
    try:
        named = [str(tmp_path / "other.library")] if elsewhere else []
        typed = "window._preferences.remember_who('A. Tester')"
        result = start(START.replace("    pass\n", f"    {typed}\n") + END, home, *named)
    finally:
        os.umask(before)
    assert (result.returncode, result.stderr) == (0, "")
    own = default_folder(home)
    modes = {one.name: one.stat().st_mode & 0o777 for one in (own, *own.iterdir())}
    assert "A. Tester" in (own / "remembered.ini").read_text("utf-8")
    assert modes.pop("setdown") == 0o700
    assert set(modes.values()) == {0o600}, modes


def test_the_first_start_makes_a_library_in_the_default_place_and_closes_cleanly(
    tmp_path: Path,
) -> None:
    result = start(START + END, tmp_path)
    assert (result.returncode, result.stderr) == (0, "")
    assert (tmp_path / "setdown" / "setdown.library").stat().st_size > 0
    assert (tmp_path / "setdown" / "remembered.ini").exists()
    assert not (tmp_path / "setdown" / "faults.log").exists()


def test_scipy_and_the_charts_wait_until_they_are_wanted(tmp_path: Path) -> None:
    code = START + (
        "def CLOSE(window):\n"
        "    heavy = sorted({'numpy', 'scipy', 'pyqtgraph', 'hypothesis'} & set(sys.modules))\n"
        "    print('up', type(window.pages.currentWidget()).__name__, heavy)\n"
        "    window.close()\n"
    )
    result = start(code + END, tmp_path, str(tmp_path / "a.library"))
    assert result.stdout == "up LibraryScreen []\n"


def test_opening_a_fitting_does_not_bring_scipy_either(tmp_path: Path) -> None:
    code = START + (
        "def CLOSE(window):\n"
        "    library = window.library\n"
        "    one = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)\n"
        "    window.open_fitting(one.id)\n"
        "    print('scipy' in sys.modules, type(window.pages.currentWidget()).__name__)\n"
        "    window.close()\n"
    )
    result = start(code + END, tmp_path, str(tmp_path / "a.library"))
    assert result.stdout == "False Wizard\n"


def test_a_mistake_of_ours_is_kept_and_told_and_the_program_stays_up(tmp_path: Path) -> None:
    code = START + (
        "def AT_ONCE(window):\n"
        "    QTimer.singleShot(20, lambda: {}['the lamp went out'])\n"
        "def CLOSE(window):\n"
        "    print(window.notices.text)\n"
        "    window.close()\n"
    )
    result = start(code + END, tmp_path)
    assert result.returncode == 0
    assert result.stdout.startswith("Something went wrong: Setdown made a mistake (KeyError)")
    kept = (tmp_path / "setdown" / "faults.log").read_text(encoding="utf-8")
    assert "KeyError: 'the lamp went out'" in kept


def test_a_library_in_a_missing_folder_shows_the_ways_on(tmp_path: Path) -> None:
    code = START + (
        "def CLOSE(window):\n"
        "    print(type(window.pages.currentWidget()).__name__)\n"
        "    window.close()\n"
    )
    result = start(code + END, tmp_path, str(tmp_path / "none" / "a.library"))
    assert (result.returncode, result.stdout) == (0, "LibraryProblemPage\n")


@pytest.mark.parametrize(
    ("platform", "display", "said"),
    [
        ("nosuch", "", "QT_QPA_PLATFORM asks for “nosuch”"),
        ("xcb", "", "QT_QPA_PLATFORM=offscreen"),
        ("xcb", ":4711", "apt install libxcb"),
    ],
)
def test_without_a_way_to_open_a_window_one_sentence_says_what_to_do(
    tmp_path: Path, platform: str, display: str, said: str
) -> None:
    more = {"DISPLAY": display} if display else {}
    result = start("", tmp_path, platform=platform, **more)
    assert result.returncode == 2
    assert said in result.stderr
    assert result.stderr.count("\n") == 1
    assert "Traceback" not in result.stderr


MISSING = """
import sys

class Broken:
    def find_spec(self, name, path=None, target=None):
        if name.startswith("PySide6"):
            raise FAILURE
        return None

sys.meta_path.insert(0, Broken())
from desktop.__main__ import main
sys.exit(main(sys.argv[1:]))
"""
PAPER = ("paper", "protractor", "--deck", "any", "--out", "any.pdf")


@pytest.mark.parametrize("arguments", [(), PAPER])
@pytest.mark.parametrize(
    ("failure", "said"),
    [
        (
            "ImportError('libEGL.so.1: cannot open shared object file: No such file')",
            "libEGL.so.1 can't be loaded. On Debian or Ubuntu, install it with: apt install",
        ),
        (
            "ModuleNotFoundError(f'No module named {name!r}', name=name)",
            "is not installed. Install it with: pip install PySide6-Essentials",
        ),
    ],
)
def test_without_qt_one_sentence_says_what_to_install(
    tmp_path: Path, failure: str, said: str, arguments: tuple[str, ...]
) -> None:
    result = start(MISSING.replace("FAILURE", failure), tmp_path, *arguments)
    assert result.returncode == 2
    assert said in result.stderr
    assert result.stderr.count("\n") == 1


def test_help_does_not_wait_for_qt(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom desktop.__main__ import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "print(sorted({'PySide6', 'numpy', 'pydantic'} & set(sys.modules)))\n"
    )
    result = start(code, tmp_path)
    assert "--library PATH" in result.stdout
    assert result.stdout.endswith("[]\n")


@pytest.mark.parametrize(
    ("locale", "sign"), [("de_DE", ","), ("en_GB", "."), ("de_CH", "."), ("ar_EG", ".")]
)
def test_the_locale_decides_the_decimal_sign(locale: str, sign: str) -> None:
    assert numbers_of(locale).decimal == sign


NOT_BEFORE = (
    *("core.history", "core.maintenance", "core.paper", "core.physics", "core.steps"),
    *("core.swap", "core.tones", "core.workflow", "core.estimation"),
    *("core.language.help_texts", "core.language.number_parsing", "core.language.step_texts"),
    *("core.store.documents", "core.store.exporting", "core.store.importing"),
    *("core.store.differences", "core.store.job_listing", "core.store.jpeg"),
    *("core.store.pictures", "core.store.rescue", "core.store.sqlite.salvage"),
    *("desktop.charts", "desktop.forms", "desktop.help", "desktop.history", "desktop.paper"),
    *("desktop.pictures", "desktop.rehearsal", "desktop.swap", "desktop.tones"),
    *("desktop.wizard", "desktop.library.editor", "desktop.library.import_export"),
    *("desktop.library.start_page", "desktop.shell.given_files", "desktop.shell.given_pictures"),
    *("desktop.shell.library_recovery", "desktop.tasks.blocking_task"),
)
"""What the first screen of a library that was opened before does without."""
MOST_MODULES = 114
"""Of our own, for that screen: 111 are needed; whoever brings more asks whether it needs them."""


def test_the_first_screen_loads_what_it_shows_and_nothing_else(tmp_path: Path) -> None:
    code = START + (
        "desktop.shell.app.PRELOADED = ()\n"
        "def AT_ONCE(window):\n"
        "    window.grab()\n"
        "    ours = [one for one in sys.modules if one.split('.')[0] in ('core', 'desktop')]\n"
        f"    early = sorted(one for one in ours if one.startswith({NOT_BEFORE!r}))\n"
        "    print(early, len(ours))\n"
    )
    place = str(tmp_path / "a.library")
    start(START + END, tmp_path, place)  # a new library takes the starters in
    early, _, count = start(code + END, tmp_path, place).stdout.strip().rpartition(" ")
    assert early == "[]"
    assert int(count) <= MOST_MODULES
