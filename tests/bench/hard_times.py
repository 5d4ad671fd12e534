"""Hard times for a library: power that goes, documents that were harmed, two benches at once.

Run by hand; it takes a while: ``python tests/bench/hard_times.py [TRIAL ...]`` with the trials
kills, documents, writers, restorations, damage and moves, all of them without a name;
``window --library PATH`` says how long the window stands still while a large library is backed up.
Counts and seeds are arguments, and what was done is printed. Pytest runs smaller counts of the same
(tests/core/store/).

A kill is a SIGKILL: what the system already has of a file survives it. That a commit is on the
disk as well is SQLite's promise with synchronous=FULL, which no kill can show.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # before any application object is made
ROOT: Final = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from core.fitting import NoteWritten  # noqa: E402 - found by the line above
from core.store import Library, LibraryProblem  # noqa: E402 - the same
from tests.core.store.beside import restore_beside_writers  # noqa: E402 - the same
from tests.core.store.damaging import damage_page, large_library  # noqa: E402 - the same
from tests.core.store.killing import kill_at_work, kill_migrations, kill_restorations  # noqa: E402 - the same
from tests.core.store.mutating import (  # noqa: E402 - the same
    MUTATIONS,
    content_of_tables,
    fault_of_sentence,
    library_of_examples,
    mutated,
    outcome_of,
)

TRIALS: Final = ("kills", "documents", "writers", "restorations", "damage", "moves", "window")
SHARES: Final = {"entries": 0.4, "documents": 0.15, "backups": 0.15}
"""The rest of the kills is shared by restorations and migrations."""
MOST_LINES: Final = {"entries": 9, "documents": 70, "backups": 8}
SHOWN: Final = 10


def main() -> int:
    """Run what was asked for and return 1 if anything was not as it must be."""
    asked = _asked()
    trials: dict[str, Callable[[argparse.Namespace], bool]] = {
        "kills": kills,
        "documents": documents,
        "writers": writers,
        "restorations": restorations,
        "damage": damage,
        "moves": moves,
        "window": window,
    }
    fine = True
    for name in asked.trials or [one for one in trials if one != "window"]:
        began = time.monotonic()
        fine = trials[name](asked) and fine
        print(f"  {time.monotonic() - began:.0f} s\n", flush=True)
    return 0 if fine else 1


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("trials", nargs="*", metavar="TRIAL", help=", ".join(TRIALS))
    parser.add_argument("--kills", type=int, default=1000, help="how many programs to kill")
    parser.add_argument("--documents", type=int, default=20_000, help="how many to mutate")
    parser.add_argument("--entries", type=int, default=10_000, help="how many each bench writes")
    parser.add_argument("--restorations", type=int, default=200, help="beside two writers")
    parser.add_argument("--damaged", type=int, default=200, help="libraries to damage a page of")
    parser.add_argument("--moved", type=int, default=100, help="libraries to move while open")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--library", type=Path, help="a large one for the trial window; is copied")
    asked = parser.parse_args()
    unknown = set(asked.trials) - set(TRIALS)
    if unknown:
        parser.error(f"there is no trial {unknown.pop()}; choose {', '.join(TRIALS)}")
    if "window" in asked.trials and asked.library is None:
        parser.error("the trial window needs a --library; shop_library.py beside this makes one")
    return asked


# Kills


def kills(asked: argparse.Namespace) -> bool:
    """Kill the program at work of every sort; after each the program itself opens the library."""
    print(f"Kills at random instants, {asked.kills} in all, seed {asked.seed}")
    counts = {work: round(asked.kills * share) for work, share in SHARES.items()}
    counts["restorations"] = (asked.kills - sum(counts.values())) // 2
    counts["migrations"] = asked.kills - sum(counts.values())
    with _program() as opens, tempfile.TemporaryDirectory() as folder:
        for work, count in counts.items():
            place = Path(folder) / work / "example.library"
            place.parent.mkdir()
            if work == "restorations":
                late, early = kill_restorations(place, count, seed=asked.seed, look=opens)
                said = f"found as it was {late} times, restored {early} times"
            elif work == "migrations":
                looked, old = kill_migrations(place, count, seed=asked.seed)
                said = f"{looked} libraries, {old} of them still old, {looked - old} brought up"
            else:
                lived, entries = kill_at_work(
                    place, work, count, MOST_LINES[work], seed=asked.seed, look=opens
                )
                said = f"{lived} had confirmed something, {entries} confirmed entries, all present"
            print(f"  {work:<13} {count:4} kills: {said}", flush=True)
    print("  after every kill: file sound, everything confirmed in its order, program opens it")
    return True


@contextmanager
def _program() -> Iterator[Callable[[Path], None]]:
    """Yield a function that opens a library in the program's own window and closes it again."""
    from PySide6.QtCore import QEvent
    from PySide6.QtWidgets import QApplication

    from core.language import Numbers
    from desktop.library.screen import LibraryScreen
    from desktop.shell.main_window import MainWindow
    from desktop.widgets.preferences import Preferences
    from tests.desktop.kit import RecordingMessages

    app = QApplication([])
    with tempfile.TemporaryDirectory() as folder:
        preferences = Preferences(Path(folder) / "remembered.ini")

        def opens(place: Path) -> None:
            window = MainWindow(
                numbers=Numbers(), preferences=preferences, messages=RecordingMessages()
            )
            window.open_library(place)
            page = window.pages.currentWidget()
            assert isinstance(page, LibraryScreen), f"the program shows {page} for {place}"
            window.close()
            window.deleteLater()
            app.sendPostedEvents(None, QEvent.Type.DeferredDelete)

        yield opens


# Documents


def documents(asked: argparse.Namespace) -> bool:
    """Mutate documents, take them in as the program does, and read the refusals."""
    print(f"Mutated documents, {asked.documents} in all, seed {asked.seed}")
    taken: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    placed, changed, lengths = 0, 0, [0]
    wrong: list[str] = []
    with (
        tempfile.TemporaryDirectory() as folder,
        library_of_examples(Path(folder)) as (library, originals),
    ):
        before = content_of_tables(library)
        for number, (sort, content) in enumerate(mutated(originals, asked.seed, asked.documents)):
            try:
                outcome = outcome_of(library, content)
            except Exception as error:  # noqa: BLE001 - a crash of any kind is what is looked for
                wrong.append(f"number {number}, {sort}: crash: {type(error).__name__}: {error}")
                continue
            if content_of_tables(library) != before:
                changed += 1
                wrong.append(f"number {number}, {sort}: the library has changed")
            if outcome.taken:
                taken[sort] += 1
                continue
            refused[sort] += 1
            placed += outcome.names_a_place
            lengths.append(len(outcome.sentence))
            fault = fault_of_sentence(outcome)
            if fault:
                wrong.append(f"number {number}, {sort}: {fault}: {outcome.sentence[:200]}")
    for sort in MUTATIONS:
        print(f"  {sort:<26} refused {refused[sort]:5}   still sound, taken whole {taken[sort]:5}")
    total = sum(refused.values())
    print(
        f"  {'together':<26} refused {total:5}   still sound, taken whole {sum(taken.values()):5}"
    )
    print(
        f"  {placed} of the refusals name a place; the longest has {max(lengths)} letters; "
        f"changes in the library {changed}; faults {len(wrong)}"
    )
    for line in wrong[:SHOWN]:
        print(f"  {line}")
    return not wrong


# Writers

WRITER: Final = """
import sys
from core.fitting import NoteWritten
from core.store import Library
place, fitting, name, count = sys.argv[1:]
with Library.open(place, name, wait_s=60) as library:
    for number in range(int(count)):
        library.append(fitting, NoteWritten(text=f"{name} {number}"))
"""


def writers(asked: argparse.Namespace) -> bool:
    """Have two programs write at once, into one fitting and into two."""
    print(f"Two programs that write {asked.entries} entries each at once")
    fine = True
    with tempfile.TemporaryDirectory() as folder:
        for words, fittings in (("into one fitting", 1), ("into two fittings", 2)):
            place = Path(folder) / f"{fittings}.library"
            try:
                faults = two_writers(place, fittings, asked.entries)
            except LibraryProblem as problem:
                faults = [str(problem)]
            fine = fine and not faults
            said = "; ".join(faults) or "all present, in order, none doubled, file sound"
            print(f"  {words:<18} {2 * asked.entries} entries: {said}", flush=True)
    return fine


def two_writers(place: Path, fittings: int, count: int) -> list[str]:
    """Return what is missing, doubled or out of order after two programs wrote at once."""
    with Library.open(place) as library:
        deck, cartridge = library.decks()[0], library.cartridges()[0]
        begun = [library.start_fitting(deck.id, cartridge.id).id for _ in range(fittings)]
        names = {"first": begun[0], "second": begun[-1]}
        programs = [
            subprocess.Popen(
                [sys.executable, "-c", WRITER, str(place), fitting, name, str(count)], cwd=ROOT
            )
            for name, fitting in names.items()
        ]
        faults = [f"a program ended with {p.returncode}" for p in programs if p.wait()]
        for name, fitting_id in names.items():
            log = library.fitting(fitting_id).entries
            said = [entry.body.model_dump()["text"] for entry in log if entry.who == name]
            if said != [f"{name} {number}" for number in range(count)]:
                faults.append(f"what {name} wrote is not all there in its order")
            if len({entry.id for entry in log}) != 2 * count // fittings:
                faults.append(f"{len(log)} entries in place of {2 * count // fittings}")
        return faults + library.faults()


# Restorations, damage, moves


def restorations(asked: argparse.Namespace) -> bool:
    """Restore a backup again and again beside two programs that write."""
    print(f"{asked.restorations} restorations beside two writers")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "example.library"
        confirmed, lost = restore_beside_writers(place, asked.restorations, writers=2)
    print(f"  {confirmed} confirmed entries, {lost} neither in the library nor in a backup")
    return not lost


def damage(asked: argparse.Namespace) -> bool:
    """Damage one page of each library; say how many were noticed, and when."""
    print(f"{asked.damaged} libraries with one page overwritten by another one, seed {asked.seed}")
    chance = random.Random(asked.seed)
    noticed: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        whole = large_library(Path(folder) / "whole.library")
        for number in range(asked.damaged):
            place = Path(shutil.copy(whole, Path(folder) / f"{number}.library"))
            damage_page(place, chance)
            noticed[_noticed(place)] += 1
            place.unlink()
    print("  " + ", ".join(f"{count} {when}" for when, count in noticed.items()))
    return not noticed["never"]


def _noticed(place: Path) -> str:
    try:
        with Library.open(place) as library:
            try:
                library.check()
            except LibraryProblem:
                return "by the check after opening"
    except LibraryProblem:
        return "on opening"
    return "never"


def moves(asked: argparse.Namespace) -> bool:
    """Move, replace or bring back a library while it is open; nothing is mixed in or lost."""
    print(f"{asked.moved} libraries moved while open, seed {asked.seed}")
    chance, outcomes, fine = random.Random(asked.seed), Counter[str](), True
    with tempfile.TemporaryDirectory() as folder:
        for number in range(asked.moved):
            place = Path(folder) / f"{number}" / "example.library"
            place.parent.mkdir()
            said, sound = _move_one(place, chance)
            outcomes[said] += 1
            fine = fine and sound
    print("  " + ", ".join(f"{count} {said}" for said, count in outcomes.items()))
    return fine


def _move_one(place: Path, chance: random.Random) -> tuple[str, bool]:
    """Return what came of one move, and whether all that was confirmed is there and sound."""
    elsewhere = place.with_name("elsewhere.library")
    with Library.open(place) as library:
        fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
        for line in range(chance.randint(1, 30)):
            library.append(fitting.id, NoteWritten(text=f"before {line}"))
        library.settle()
        confirmed = len(library.fitting(fitting.id).entries)
        place.rename(elsewhere)
        if chance.random() < 0.5:
            shutil.copy(elsewhere, place)
        try:
            library.append(fitting.id, NoteWritten(text="after"))
        except LibraryProblem as problem:
            said = str(problem.kind)
        else:
            return "took an entry nobody would find", False
    with Library.open(elsewhere) as found:
        is_whole = len(found.fitting(fitting.id).entries) == confirmed
        return f"refused the next entry ({said})", is_whole and not found.faults()


# The window

PULSE_MS: Final = 2
QUIET_S: Final = 5.0


def window(asked: argparse.Namespace) -> bool:
    """Back a large library up while somebody enters notes; say how long anything had to wait."""
    from PySide6.QtCore import QElapsedTimer, QTimer
    from PySide6.QtWidgets import QApplication

    from core.fitting import NoteWritten
    from core.store.files import sync_file
    from core.store.sqlite.backups import FileBackups
    from desktop.tasks.backup_keeper import BackupKeeper
    from tests.desktop.kit import RecordingMessages

    app = QApplication.instance() or QApplication([])
    with tempfile.TemporaryDirectory(dir=asked.library.parent) as folder:
        place = Path(shutil.copy(asked.library, Path(folder) / "large.library"))
        sync_file(place)  # else the disk is still busy with this copy
        print(f"A backup of {place.stat().st_size / 1e6:.0f} MB beside a window in which one works")
        with Library.open(place) as library:
            fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
            gaps: list[float] = []
            waits: list[float] = []
            clock = QElapsedTimer()
            clock.start()

            def pulse() -> None:
                gaps.append(clock.nsecsElapsed() / 1e6)
                clock.start()

            def enter() -> None:
                began = time.perf_counter()
                library.append(fitting.id, NoteWritten(text=f"entry {len(waits)}"))
                waits.append((time.perf_counter() - began) * 1000)

            timers = []
            for act, every_ms in ((pulse, PULSE_MS), (enter, 50)):
                timer = QTimer()
                timer.timeout.connect(act)
                timer.start(every_ms)
                timers.append(timer)
            until = time.monotonic() + QUIET_S
            while time.monotonic() < until:
                app.processEvents()
            _say_waits("without a backup", gaps, waits)
            messages = RecordingMessages()
            keeper = BackupKeeper(FileBackups(place), messages, first_ms=3_600_000)
            began = time.monotonic()
            keeper.look()
            while keeper.is_busy:
                app.processEvents()
            seconds = time.monotonic() - began
            _say_waits(f"while it is made, {seconds:.1f} s", gaps, waits)
            for timer in timers:
                timer.stop()
            keeper.stop()
            made = FileBackups(place).all()
            print(f"  backups made {len(made)}, told {messages.sentences}")
            return len(made) == 1 and not library.faults()


def _say_waits(words: str, gaps: list[float], waits: list[float]) -> None:
    gaps.sort()
    waits.sort()
    print(
        f"  {words:<28} window still: 99 of 100 below {gaps[len(gaps) * 99 // 100]:5.1f} ms, "
        f"longest {gaps[-1]:6.1f} ms; {len(waits)} entries, longest {waits[-1]:6.1f} ms"
    )
    gaps.clear()
    waits.clear()


if __name__ == "__main__":
    sys.exit(main())
