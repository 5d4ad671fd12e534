"""How long the window stands still over fittings of thousands of entries, by processor time.

Run by hand: ``python -m tests.bench.long_logs 5000``. For a fitting of so many entries over all
steps, one whose readings contradict each other, and one for each step alone, it says how long the
longest turn of the window's loop was while the fitting is opened, a step's page is shown, a value
is typed, an entry is kept and taken back, and the last page and the history are opened; and what
the log by day, the list of what is due, the plan of a swap and the bench sheet take.
"""

from __future__ import annotations

import argparse
import cProfile
import os
import pstats
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # before any application object is made

from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from core.fitting import Fitting, NoteWritten, ReadingTaken, Withdrawn
from core.history.log_by_day import log_by_day
from core.language import Numbers
from core.paper.bench_content import bench_content
from core.steps import STEP_NAMES
from core.store import Library
from core.swap.past import past_of
from core.workflow.replay import journey_of
from desktop.shell.main_window import MainWindow
from desktop.tasks.garbage_collector import GarbageCollector
from desktop.widgets import theme
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from tests.examples import cartridge, deck
from tests.long_logs import long_fitting
from tests.worked import LEFT

KINDS: Final[dict[str, dict[str, Any]]] = {
    "all steps": {},
    "all steps, contradicting": {"contradicting": True},
    "all steps, any way": {"any_way": True},
    **{f"{step} alone": {"steps": (step,)} for step in STEP_NAMES},
    **{f"{step} alone, any way": {"steps": (step,), "any_way": True} for step in STEP_NAMES},
    **{
        f"{step} alone, contradicting, no move": {
            "steps": (step,), "contradicting": True, "only_readings": True
        }
        for step in STEP_NAMES
    },
}  # fmt: skip # one kind a line


def longest_turn(act: Callable[[], object], *, settle_s: float = 0.6) -> float:
    """Return the longest turn of the loop while an act is done and what follows it, seconds."""
    began = time.thread_time()
    act()
    longest = time.thread_time() - began
    until = time.monotonic() + settle_s
    idle = 0
    app = QApplication.instance()
    assert app is not None
    while time.monotonic() < until or idle < 5:
        began = time.thread_time()
        app.processEvents()
        took = time.thread_time() - began
        idle = idle + 1 if took < 0.002 else 0
        longest = max(longest, took)
        time.sleep(0.003)
    return longest


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("count", type=int, nargs="?", default=5000)
    parser.add_argument("--kind", default="", help="only kinds whose name begins so")
    parser.add_argument("--profile", default="", help="profile this act")
    asked = parser.parse_args()
    app = QApplication([])
    GarbageCollector(app)
    theme.apply(app, "light")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HOME"] = os.environ["XDG_DATA_HOME"] = folder
        for name, how in KINDS.items():
            if name.startswith(asked.kind):
                _measure(Path(folder), name, asked.count, how, asked.profile)


def _measure(folder: Path, name: str, count: int, how: dict[str, Any], profiled: str) -> None:
    place = folder / f"{name}.library"
    with Library.open(place) as library:
        deck_id = library.keep_deck(deck()).id
        cartridge_id = library.keep_cartridge(cartridge()).id
        fitting = long_fitting(count, deck_id=deck_id, cartridge_id=cartridge_id, **how)
        library.log.add(fitting)
    window = MainWindow(numbers=Numbers(), preferences=Preferences(folder / "remembered.ini"))
    window.resize(1280, 800)
    window.show()
    window.open_library(place)
    longest_turn(lambda: None)
    steps = how.get("steps", ("level", "tilt", "speed"))
    print(f"{name}, {count} entries")

    def wizard() -> Wizard:
        page = window.pages.currentWidget()
        assert isinstance(page, Wizard)
        return page

    def say(what: str, act: Callable[[], object]) -> None:
        profile = cProfile.Profile()
        if what == profiled:
            profile.enable()
        took = longest_turn(act)
        if what == profiled:
            profile.disable()
            pstats.Stats(profile).sort_stats("cumulative").print_stats(45)
        print(f"  {1000 * took:7.0f} ms  {what}", flush=True)

    say("open the fitting", lambda: window.open_fitting(fitting.id))
    for step in steps:
        say(f"page of {step}", lambda step=step: wizard().go(step))
    step = steps[0]
    wizard().go(step)
    longest_turn(lambda: None)
    say("a key typed", lambda: QTest.keyClicks(QApplication.focusWidget() or window, "1"))
    read = ReadingTaken(step=step, reading=LEFT[step][0])
    say("keep a reading", lambda: wizard().controller.record(read))
    say("keep a note", lambda: wizard().controller.record(NoteWritten(step=step, text="x")))
    say("leave one out", lambda: wizard().controller.record(Withdrawn(entry=fitting.entries[3].id)))
    say("undo", wizard().entry_undo.undo)
    say("summary", lambda: wizard().go("summary"))
    say("library", window.show_library)
    say("history", lambda: window.show_history(deck_id))
    say("due list", window.show_due)
    say("swap plan", lambda: window.show_swap(fitting.id))

    _measure_core(place, fitting)
    window.messages.ask = lambda *_asked: 1  # type: ignore[method-assign]  # one answer for all
    window.close()
    window.deleteLater()
    longest_turn(lambda: None)


def _measure_core(place: Path, fitting: Fitting) -> None:
    def by_processor(what: str, act: Callable[[], object]) -> None:
        began = time.thread_time()
        act()
        print(f"  {1000 * (time.thread_time() - began):7.0f} ms  {what} (in the core)")

    by_processor("fold", lambda: journey_of(deck(), cartridge(), fitting))
    by_processor("log by day", lambda: log_by_day(fitting))
    with Library.open(place) as library:
        past = past_of(library, fitting.id)
        by_processor("bench sheet", lambda: bench_content(past.journey))


if __name__ == "__main__":
    sys.exit(main())
