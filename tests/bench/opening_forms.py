"""What it costs the window's thread to open the forms of records.

Run by hand: ``python tests/bench/opening_forms.py``. For each form it prints how many widgets are
made before the page is shown and once it is whole, and the processor time of the window's thread
in milliseconds: until the page is shown, in the longest turn of the loop, and in all. With
``--beside FOLDER`` it measures another checkout in turn with this one, and prints this one's share
of the other's time, the medians of ``--rounds`` runs.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any, Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # before any application object is made
ROOT: Final = Path(__file__).resolve().parents[2]
TIMES: Final = ("opening_ms", "longest_ms", "total_ms")
TURNS: Final = 40
"""Turns of the loop after which every form has been whole for long."""


def measured() -> dict[str, dict[str, float]]:
    """Open each form once for practice and once to measure, in a window of its own."""
    from PySide6.QtWidgets import QApplication, QWidget

    from core.language import Numbers
    from core.records import Headshell, Job
    from core.store import Library
    from desktop.shell.main_window import MainWindow
    from desktop.widgets import theme
    from desktop.widgets.preferences import Preferences
    from tests.examples import cartridge, deck

    app = QApplication([])
    theme.apply(app, "light")
    found: dict[str, dict[str, float]] = {}
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "bench.library"
        with Library.open(place) as library:
            own_feet, cartridge_id = (
                library.keep_deck(deck()).id,
                library.keep_cartridge(cartridge()).id,
            )
            starter = next(row.id for row in library.decks() if row.id != own_feet)
            shell_id = library.keep_headshell(Headshell(name="Example headshell", mass_g=9.0)).id
            job_id = library.keep_job(Job(brought="a deck")).id
        preferences = Preferences(Path(folder) / "remembered.ini")
        preferences.remember_who("Example hand")
        window = MainWindow(numbers=Numbers(), preferences=preferences)
        window.resize(1000, 700)
        window.show()
        window.open_library(place)
        forms = {
            "deck, new": lambda: window.show_editor("deck", ""),
            "deck with a place for each foot": lambda: window.show_editor("deck", own_feet),
            "deck, starter": lambda: window.show_editor("deck", starter),
            "cartridge, new": lambda: window.show_editor("cartridge", ""),
            "cartridge": lambda: window.show_editor("cartridge", cartridge_id),
            "headshell, new": lambda: window.show_editor("headshell", ""),
            "headshell": lambda: window.show_editor("headshell", shell_id),
            "test record, new": lambda: window.show_editor("test record", ""),
            "job, new": lambda: window.show_job(""),
            "job": lambda: window.show_job(job_id),
        }
        for name, show in forms.items():
            for _ in range(2):
                window.show_library()
                for _ in range(4):
                    app.processEvents()
                began = time.thread_time()
                show()
                turns = [time.thread_time() - began]
                at_once = len(window.pages.currentWidget().findChildren(QWidget))
                for _ in range(TURNS):
                    began = time.thread_time()
                    app.processEvents()
                    turns.append(time.thread_time() - began)
            found[name] = {
                "at_once": at_once,
                "whole": len(window.pages.currentWidget().findChildren(QWidget)),
                **dict(
                    zip(TIMES, (1e3 * turns[0], 1e3 * max(turns), 1e3 * sum(turns)), strict=True)
                ),
            }
        window.close()
    return found


def once(folder: Path) -> dict[str, dict[str, float]]:
    """Measure a checkout in a process of its own."""
    asked = [sys.executable, str(Path(__file__).resolve()), "--of", str(folder)]
    told = subprocess.run(asked, check=True, capture_output=True, text=True, cwd=folder)
    return json.loads(told.stdout.splitlines()[-1])  # type: ignore[no-any-return]  # as dumped below


def middle(runs: list[dict[str, dict[str, float]]], form: str, what: str) -> float:
    """Return the median of one figure."""
    return statistics.median(run[form][what] for run in runs)


def main() -> int:
    """Measure, and print a line a form."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--beside", type=Path, help="another checkout, measured in turn")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--of", type=Path, help=argparse.SUPPRESS)
    asked: Any = parser.parse_args()
    if asked.of is not None:
        sys.path.insert(0, str(asked.of))
        print(json.dumps(measured()))
        return 0
    here: list[dict[str, dict[str, float]]] = []
    there: list[dict[str, dict[str, float]]] = []
    for _ in range(asked.rounds):
        here.append(once(ROOT))
        if asked.beside is not None:
            there.append(once(asked.beside.resolve()))
    for form in here[0]:
        counts = f"{here[0][form]['at_once']:.0f} of {here[0][form]['whole']:.0f} widgets at once"
        times = ", ".join(f"{what[:-3]} {middle(here, form, what):.0f} ms" for what in TIMES)
        print(f"{form}: {counts}; {times}")
        if there:
            counts = f"{there[0][form]['at_once']:.0f} of {there[0][form]['whole']:.0f} widgets"
            shares = ", ".join(
                f"{what[:-3]} {middle(here, form, what) / middle(there, form, what):.2f}"
                for what in TIMES
            )
            print(f"    of the other's ({counts}): {shares}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
