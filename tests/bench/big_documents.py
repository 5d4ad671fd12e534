"""Read and take in a very large document, and see whether the window stands still meanwhile.

Run by hand: ``python -m tests.bench.big_documents [FITTINGS] [--kept FOLDER]``. It makes a library
of so many invented fittings with 26 entries each, exports it (4,000 fittings are 32 MB and 104,000
entries), and then, each in a process of its own:

- does nothing at all, which shows what else the machine is busy with;
- reads it the plain way: the whole text at once, the whole structure at once;
- reads it record by record, as the program does;
- takes it in with the program's own window, from the button to the list painted anew.

Told are the seconds, the memory at its most beside what the window itself takes, and the longest
times between two beats of a timer in the window's thread, which asks for one every 5 ms: by the
clock, by what the processor did for this program, which another program does not lengthen, and by
what it did for the window's thread alone.
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # before any application object is made
ROOT: Final = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from core.records import Cartridge, Deck  # noqa: E402 - found by the line above
from core.store import Library, documents, exporting  # noqa: E402 - the same
from desktop.tasks.background_task import BackgroundTask  # noqa: E402 - the same
from desktop.tasks.blocking_task import run_blocking  # noqa: E402 - the same
from tests.bench import shop_library  # noqa: E402 - the same

ENTRIES_A_FITTING: Final = 26
BEAT_MS: Final = 5
WAYS: Final = ("rest", "whole", "records", "import")


def main(arguments: Sequence[str]) -> int:
    """Make a document, measure every way, and print what was found."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("fittings", nargs="?", type=int, default=4_000)
    parser.add_argument("--kept", type=Path, help="folder in which the document is kept")
    parser.add_argument("--way", choices=WAYS, help="measure one way, in this process")
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        path = made(asked.fittings, asked.kept or Path(folder))
        if asked.way:
            measure(asked.way, path)
            return 0
        size, entries = path.stat().st_size / 1e6, asked.fittings * ENTRIES_A_FITTING
        print(f"{asked.fittings} fittings, {entries} entries, {size:.0f} MB")
        for way in WAYS:
            again = [sys.executable, "-m", "tests.bench.big_documents", str(asked.fittings)]
            subprocess.run([*again, "--kept", str(path.parent), "--way", way], check=True, cwd=ROOT)
    return 0


def made(fittings: int, folder: Path) -> Path:
    """Return a document of so many fittings, made if it is not there."""
    path = folder / f"fittings_{fittings}.json"
    if not path.exists():
        place = folder / f"fittings_{fittings}.library"
        size = shop_library.Size(
            decks=max(10, fittings // 4),
            cartridges=max(10, fittings // 10),
            fittings=fittings,
            entries=fittings * ENTRIES_A_FITTING,
            **dict.fromkeys(("customers", "services", "pictures"), 0),  # entries are what is told
        )
        shop_library.fill(place, size)
        with Library.open(place) as library:
            exporting.write_document(library, path, exporting.of_library(library))
        place.unlink()
    return path


class Beat:
    """Beats in the window's thread; keeps every long time between two beats."""

    def __init__(self, owner: Any) -> None:
        from PySide6.QtCore import Qt, QTimer

        self.gaps: list[tuple[float, float, float, float]] = []
        self._began = self._last = time.perf_counter()
        self._last_cpu, self._last_own = time.process_time(), time.thread_time()
        timer = QTimer(owner, interval=BEAT_MS, timerType=Qt.TimerType.PreciseTimer)
        timer.timeout.connect(self.beat)
        timer.start()

    def beat(self) -> None:
        """Note how long it was since the last beat, by the clock and of the processor."""
        now, cpu, own = time.perf_counter(), time.process_time(), time.thread_time()
        gap, spent = (now - self._last) * 1000, (cpu - self._last_cpu) * 1000
        self.gaps.append((gap, spent, now - self._began, (own - self._last_own) * 1000))
        self._last, self._last_cpu, self._last_own = now, cpu, own

    def longest(self) -> str:
        """Return the longest gaps in words."""
        clock = sorted((one[0] for one in self.gaps), reverse=True)[:3]
        spent = sorted(((cpu, at) for _, cpu, at, _ in self.gaps), reverse=True)[:3]
        own = sorted((one[3] for one in self.gaps), reverse=True)[:3]
        return (
            f"longest gaps {', '.join(f'{one:.0f}' for one in clock)} ms by the clock, "
            + ", ".join(f"{cpu:.0f} (at {at:.1f} s)" for cpu, at in spent)
            + f" ms of the processor, {', '.join(f'{one:.0f}' for one in own)} ms of it in the "
            "window's thread"
        )


def measure(way: str, path: Path) -> None:
    """Measure one way in this process and print a line."""
    from desktop.shell.app import application

    app = application()
    with window_of(path) as (window, messages):
        at_rest(app, 2.0)  # what the first screen puts off
        gc.freeze()  # as the program does
        before, beat = peak_mb(), Beat(app)
        began, cpu = time.perf_counter(), time.process_time()
        told: object = ""
        if way == "rest":
            at_rest(app, 3.0)
        elif way == "whole":
            told = in_thread(app, lambda _go_on: whole(path))
        elif way == "records":
            told = run_blocking(window, "Reading", lambda go_on, _told: records(path, go_on))
        else:
            window._screen.take_in.click()
            told = f"{messages.told[-1].title}: {messages.told[-1].sentence}"
        seconds, cpu = time.perf_counter() - began, time.process_time() - cpu
        at_rest(app, 4.0)  # what comes after: collections, the list painted anew
    print(
        f"  {way:<8} {seconds:6.2f} s (processor {cpu:5.2f} s), {beat.longest()}, "
        f"{peak_mb() - before:4.0f} MB more at most. {told}",
        flush=True,
    )


def at_rest(app: Any, seconds: float) -> None:
    """Let the application go on for so long."""
    from PySide6.QtCore import QEventLoop, QTimer

    loop = QEventLoop()
    QTimer.singleShot(round(seconds * 1000), loop.quit)
    loop.exec()
    app.processEvents()


def peak_mb() -> float:
    """Return the most memory that this process had so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def whole(path: Path) -> str:
    """Read a document in the plain way: text and structure in one piece each."""
    from pydantic_core import from_json

    content = path.read_bytes()
    from_json(content, allow_inf_nan=False)
    said = json.loads(content.decode(), object_pairs_hook=dict)
    kinds = {
        "decks": documents.DocumentRecord[Deck],
        "cartridges": documents.DocumentRecord[Cartridge],
        "fittings": documents.DocumentFitting,
    }
    for key, model in kinds.items():
        said[key] = [model.model_validate(one) for one in said[key]]
    document = documents.Document.model_validate(said)
    for place, fitting in enumerate(document.fittings):
        documents._check_steps(fitting, place, path.name)
    return counted(document)


def records(path: Path, go_on: Callable[[], bool]) -> str:
    """Read a document as the program does, and let go of it."""
    document = documents.read_document(path, go_on)
    told = counted(document)
    documents.let_go(document)
    return told


def counted(document: documents.Document) -> str:
    """Return what is in a document, in words."""
    return f"{len(document.decks)} decks, {len(document.fittings)} fittings"


def in_thread(app: Any, work: Callable[[Callable[[], bool]], object]) -> object:
    """Do the work in a thread while the application goes on; return what it returned."""
    from PySide6.QtCore import QEventLoop

    loop, results = QEventLoop(), []
    task = BackgroundTask(work, app)
    task.done.connect(results.append)
    task.done.connect(loop.quit)
    task.failed.connect(lambda problem: (results.append(problem), loop.quit()))
    task.start()
    loop.exec()
    return results[0]


@contextmanager
def window_of(path: Path) -> Iterator[tuple[Any, Any]]:
    """Show the program's window with a new library; the document is chosen when asked for."""
    from core.language import Numbers
    from desktop.shell.main_window import MainWindow
    from desktop.widgets.preferences import Preferences
    from tests.desktop.kit import RecordingMessages

    with tempfile.TemporaryDirectory() as folder:
        messages = RecordingMessages(files=[path])
        preferences = Preferences(Path(folder) / "remembered.ini")
        window = MainWindow(numbers=Numbers(), preferences=preferences, messages=messages)
        window.resize(1280, 800)
        window.open_library(Path(folder) / "bench.library")
        window.show()
        yield window, messages
        window.close()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
