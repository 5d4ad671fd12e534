"""How long other colours, and another size of type, keep the window's thread inside a fitting.

Run by hand: ``python tests/bench/appearance.py``, and with ``--beside FOLDER`` to run the same
in another working copy right after. For each step it prints the median and the longest of some
changes, in ms of the processor time of that thread, with what was posted and painted meanwhile, and
how long it was kept at one time: the window answers in between.
"""

# ruff: noqa: E402 - the path and the platform are set before anything of Qt or ours is imported

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Final, NamedTuple

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # before any application object is made
ROOT: Final = Path(os.environ.get("MEASURED_COPY", Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(ROOT))

from PySide6.QtWidgets import QApplication

from core.language import Numbers
from core.steps import STEP_NAMES
from core.store import Library
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from tests.desktop.kit import finished
from tests.examples import cartridge, deck

CHANGES: Final = 8
REST_S: Final = 0.25
TURNS: Final = 3
"""Turns of the loop in which a change is through: laid out, then painted."""


def _let_run(seconds: float) -> None:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        QApplication.processEvents()
        time.sleep(0.003)


class Took(NamedTuple):
    """What a change took, in ms: all of it, and its longest turn of the loop."""

    whole: float
    turn: float


def _took(change: Callable[[], None]) -> Took:
    turns = list[float]()
    for act in (change, *(QApplication.processEvents,) * TURNS):
        began = time.thread_time()
        act()
        turns.append(1000 * (time.thread_time() - began))
    _let_run(REST_S)
    return Took(sum(turns), max(turns))


def _measure(app: QApplication, wizard: Wizard) -> None:
    types, colours = list[Took](), list[Took]()
    for name in (*STEP_NAMES, "summary"):
        wizard.go(name)
        _let_run(0.6)
        of_type = [
            _took(partial(theme.apply, app, "light", text_scale=scale))
            for scale in (1.25, 1.0) * (CHANGES // 2)
        ]
        of_colours = [
            _took(partial(theme.apply, app, "dark" if at % 2 == 0 else "light"))
            for at in range(CHANGES)
        ]
        print(f"{name:16} type {_told(of_type)}   colours {_told(of_colours)}", flush=True)
        types += of_type
        colours += of_colours
    print(f"{'all':16} type {_told(types)}   colours {_told(colours)}")


def _told(took: list[Took]) -> str:
    wholes, turns = [one.whole for one in took], [one.turn for one in took]
    return (
        f"{statistics.median(wholes):4.0f} ms, longest {max(wholes):4.0f}, "
        f"at one time {statistics.median(turns):4.0f}, longest {max(turns):4.0f}"
    )


def main() -> None:
    """Measure this working copy, and another one if asked."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--beside", type=Path, help="another working copy of the project")
    asked = parser.parse_args()
    app = QApplication([])
    theme.apply(app, "light")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HOME"] = os.environ["XDG_DATA_HOME"] = folder
        place = Path(folder) / "bench.library"
        with Library.open(place) as library:
            deck_id, cartridge_id = (
                library.keep_deck(deck()).id,
                library.keep_cartridge(cartridge()).id,
            )
            fitting = finished(library, deck_id, cartridge_id, finish=False)
        preferences = Preferences(Path(folder) / "remembered.ini")
        preferences.remember_who("Example hand")
        window = MainWindow(numbers=Numbers(), preferences=preferences)
        window.resize(1280, 800)
        window.show()
        window.open_library(place)
        _let_run(0.5)
        window.open_fitting(fitting)
        _let_run(0.7)
        wizard = window.pages.currentWidget()
        assert isinstance(wizard, Wizard)
        _measure(app, wizard)
        window.close()
    if asked.beside:
        print(f"in {asked.beside}:", flush=True)
        environment = {**os.environ, "MEASURED_COPY": str(asked.beside.resolve())}
        subprocess.run([sys.executable, __file__], check=True, env=environment)


if __name__ == "__main__":
    main()
