"""How the program bears a shop's library, beside the same with ten decks and with none.

Run by hand on a machine with nothing else to do: ``python tests/bench/bench_shop.py [BIG
[ROUNDS]]``. BIG is a library from ``shop_library.py``; left out, one of full size is made, which
takes minutes. With ``--beside TREE`` at the end, another source tree is measured beside this one,
in turn, each with a copy of BIG of its own, and the ratios of this one to it are printed; BIG must
have been made by the older of the two. What is measured then is less: see BRIEF.
Targets: first screen at most 1.5 times its time with ten decks; 50 ms from a stroke in the filter
to the painted list; 100 ms to open a fitting; memory below twice that of the program with an empty
library. Beside every time stands the processor's own, which other programs disturb less.
"""

from __future__ import annotations

import gc
import io
import json
import os
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final

import bench  # beside this file

ROUNDS: Final = 9
START_RATIO: Final = 1.5
STROKE_MS: Final = 50.0
OPEN_MS: Final = 100.0
MEMORY_RATIO: Final = 2.0
OPENED: Final = 60
SEED: Final = 5

WORDS: Final = (
    "oak heavy arm",
    "job 41",
    "r-12",
    "2023-0001",
    "2025-03",
    "2019",
    "archived",
    "under way",
    "finished",
    "no such word",
    "müller",
    "受付",
    "הזמנה",
    "🔵",
    "line contact",
    "no. 17",
    "ann",
    "e a o",
)


@dataclass(frozen=True, slots=True)
class Amount:
    """How much is typed and opened, and whether lists are sorted too."""

    words: tuple[str, ...] = WORDS
    opened: int = OPENED
    sorts: bool = True


FULL: Final = Amount()
BRIEF: Final = Amount(WORDS[:6], 20, sorts=False)
SAID: Final[dict[str, list[bench.Spent]]] = {}
"""All that was measured in this process, by what it was."""


def main(big: Path | None, rounds: int) -> int:
    """Measure everything, print it, and return 1 if a target is missed."""
    import shop_library  # here: an older tree that is measured lacks some of its records

    with tempfile.TemporaryDirectory() as folder:
        ten = Path(folder) / "ten.library"
        # As many scripts in it as in the big one, and a screenful under way: what fonts cost is
        # no matter of size.
        shop_library.fill(ten, shop_library.Size(10, 10, 800, 4_000, 10, 30, 20))
        empty = Path(folder) / "empty.library"
        if big is None:
            big = Path(folder) / "big.library"
            shop_library.fill(big, shop_library.Size())
        print(f"The shop's library: {big.stat().st_size / 1e6:.0f} MB\n")
        met = [measure_start(ten, big, rounds)]
        met.append(measure_memory(empty, big))
        met.append(measure_screen(ten, big))
    return 0 if all(met) else 1


def say(what: str, spent: list[bench.Spent], target_ms: float | None = None) -> bool:
    """Print median and 99th percentile, by the clock and of the processor."""
    SAID.setdefault(what, []).extend(spent)
    clock, cpu = ([getattr(one, name) for one in spent] for name in ("clock_ms", "cpu_ms"))
    late, late_cpu = percentile(clock), percentile(cpu)
    met = target_ms is None or late <= target_ms
    verdict = "" if target_ms is None else f"   target {target_ms:.0f}: {bench.word(met)}"
    print(
        f"  {what:<44} {statistics.median(clock):7.1f} {late:7.1f}   cpu "
        f"{statistics.median(cpu):7.1f} {late_cpu:7.1f}   n {len(spent):4}{verdict}",
        flush=True,
    )
    return met


def percentile(times: list[float]) -> float:
    """Return the 99th percentile, the largest if there are few."""
    return statistics.quantiles(times, n=100)[98] if len(times) >= 100 else max(times)


# two source trees


def compare(big: Path, rounds: int, before: Path) -> int:
    """Measure both trees in turn; print medians over the rounds, and the ratios."""
    trees = {"before": before.resolve(), "after": bench.ROOT}
    found: dict[str, dict[str, list[float]]] = {name: {} for name in trees}
    with tempfile.TemporaryDirectory(dir=big.parent) as folder:
        places = {name: Path(folder) / f"{name}.library" for name in trees}
        for place in places.values():
            shutil.copyfile(big, place)
        for turn in range(rounds + 1):
            for name in list(trees) if turn % 2 else list(reversed(trees)):
                figures = figures_of(trees[name], places[name])
                for what, value in figures.items() if turn else ():  # the first fills caches
                    found[name].setdefault(what, []).append(value)
            print(f"round {turn} of {rounds} is through", file=sys.stderr, flush=True)
    print(f"{rounds} rounds in turn, medians (least to most): {before} before, {bench.ROOT} after")
    for what, after in found["after"].items():
        earlier = found["before"].get(what, [])
        told = f"{statistics.median(after):9.1f} ({min(after):.1f} to {max(after):.1f})"
        if earlier:
            ratio = statistics.median(after) / max(statistics.median(earlier), 1e-9)
            was = f"{statistics.median(earlier):9.1f} ({min(earlier):.1f} to {max(earlier):.1f})"
            print(f"  {what:<58} {was:<28} {told:<28} {ratio:6.2f}")
        else:
            print(f"  {what:<58} {'':<28} {told}")
    return 0


def figures_of(tree: Path, place: Path) -> dict[str, float]:
    """Return what one tree measures of a library in a process of its own."""
    said = subprocess.run(
        [sys.executable, __file__, "--figures", str(place)],
        stdout=subprocess.PIPE,  # what goes wrong is told where this is run
        text=True,
        check=True,
        cwd=tree,
        env={**os.environ, "PYTHONPATH": str(tree)},
    ).stdout
    figures = json.loads(said.splitlines()[-1])
    if Path(figures.pop("tree")) != tree:
        raise SystemExit(f"another tree than {tree} was measured")
    return {what: float(value) for what, value in figures.items()}


def tell_figures(place: Path) -> None:
    """Measure a library, and write the processor's milliseconds and the memory as JSON."""
    import core
    from core.store import Library

    Library.open(place).close()  # a library of an older version is brought up to date once
    with redirect_stdout(io.StringIO()):
        say("first screen", [bench.start_once("program", place) for _ in range(3)])
        measure_one(place, BRIEF)
    told: dict[str, float | str] = {"tree": str(Path(core.__file__).parents[1])}
    for what, spent in SAID.items():
        times = [one.cpu_ms for one in spent]
        told[f"{what}, median ms"] = statistics.median(times)
        if len(times) > 1:
            told[f"{what}, late ms"] = percentile(times)
    told["memory of its own after that, MB"] = memory_mb()[1]
    print(json.dumps(told))


# the first screen


def measure_start(ten: Path, big: Path, rounds: int) -> bool:
    """Start the program with both libraries and compare the medians."""
    times: dict[str, list[bench.Spent]] = {"bare": [], "ten": [], "big": []}
    for turn in range(rounds + 1):
        for name, found in times.items():
            place = ten if name == "ten" else big
            spent = bench.start_once("bare" if name == "bare" else "program", place)
            if turn:  # the first fills the disk cache
                found.append(spent)
    print("From the command to the painted first screen, in turn (ms: median, worst)")
    say("bare window with an empty plot", times["bare"])
    say("library with ten decks", times["ten"])
    say("library of a shop", times["big"])
    clock, cpu = (
        statistics.median(getattr(one, name) for one in times["big"])
        / statistics.median(getattr(one, name) for one in times["ten"])
        for name in ("clock_ms", "cpu_ms")
    )
    met = bool(clock <= START_RATIO)
    print(f"  ratio {clock:.2f}, cpu {cpu:.2f}   target {START_RATIO}: {bench.word(met)}\n")
    return met


# memory


def measure_memory(empty: Path, big: Path) -> bool:
    """Show both libraries in processes of their own and compare what they hold."""
    print("Memory in MB (resident, of which its own alone)")
    found = {}
    for name, place in (("empty", empty), ("big", big)):
        said = subprocess.run(
            [sys.executable, __file__, "--memory", str(place)],
            capture_output=True,
            text=True,
            check=True,
            cwd=bench.ROOT,
        ).stdout.split()
        found[name] = [float(one) for one in said]
        first, first_own, used, used_own = found[name]
        print(
            f"  {name:<6} first screen {first:6.1f} {first_own:6.1f}   after every shelf was "
            f"filtered, sorted, scrolled, all picked {used:6.1f} {used_own:6.1f}"
        )
    ratios = [
        big_mb / empty_mb for big_mb, empty_mb in zip(found["big"], found["empty"], strict=True)
    ]
    met = max(ratios) < MEMORY_RATIO
    print(
        f"  ratios {', '.join(f'{one:.2f}' for one in ratios)}   target {MEMORY_RATIO}: "
        f"{bench.word(met)}\n"
    )
    return met


def tell_memory(place: Path) -> None:
    """Show a library, use every shelf, and write what the process holds."""
    with shown(place) as (app, window):
        # What is loaded once the first screen is seen belongs to both: a small library would be
        # through before it.
        rest(app, 1.5)
        print(*memory_mb())
        for shelf in shelves(window):
            show_shelf(app, window, shelf)
            for text in ("oak", "", "2025", "zzz", ""):
                shelf.filter.setText(text)
                app.processEvents()
            for column in range(len(shelf.spec.columns)):
                shelf.table.sortByColumn(
                    column, shelf.table.horizontalHeader().sortIndicatorOrder()
                )
                app.processEvents()
            bar = shelf.table.verticalScrollBar()
            for part in range(0, 101, 5):
                bar.setValue(bar.maximum() * part // 100)
                app.processEvents()
            shelf.table.selectAll()
            app.processEvents()
        rest(app, 1.5)
        print(*memory_mb())


def memory_mb() -> tuple[float, float]:
    """Return the resident memory and that which is this process's alone (Linux only)."""
    kinds = {"Rss:": 0, "Private_Clean:": 0, "Private_Dirty:": 0}
    for line in Path("/proc/self/smaps_rollup").read_text(encoding="ascii").splitlines():
        name, *rest = line.split()
        if name in kinds:
            kinds[name] = int(rest[0])
    return kinds["Rss:"] / 1024, (kinds["Private_Clean:"] + kinds["Private_Dirty:"]) / 1024


# strokes, orders, fittings


def measure_screen(ten: Path, big: Path) -> bool:
    """Type, sort and open in the real window; print what each takes until it is painted."""
    met = True
    for name, place in (("ten decks", ten), ("a shop", big)):
        print(f"Library of {name}, in a warm program (ms: median, 99th percentile)")
        met = measure_one(place) and met
        print()
    return met


def measure_one(place: Path, amount: Amount = FULL) -> bool:
    """Type, sort and open in the window of one library."""
    met = True
    with shown(place) as (app, window):
        for shelf in shelves(window):
            show_shelf(app, window, shelf, told=True)
            at_once(app, shelf)
            typed = strokes(app, shelf, amount.words)
            met = say(f"a stroke: {called(shelf)}", typed, STROKE_MS) and met
            chips = getattr(shelf, "chips", None)  # older trees have none
            read_ahead(app, shelf)
            for key, chip in chips.buttons.items() if chips else ():
                pressed = [until_painted(app, shelf, chip.click) for _ in range(6)]
                met = say(f"a filter: {called(shelf)}, {key}", pressed, STROKE_MS) and met
        for shelf in shelves(window) if amount.sorts else ():
            show_shelf(app, window, shelf)
            orders(app, shelf)
        met = openings(app, window, amount.opened) and met
        met = due_list(app, window, amount.words) and met
        if hasattr(window, "show_jobs"):  # older trees know neither jobs nor pictures
            met = jobs_list(app, window, amount.words) and met
            pictures(app, window)
    return met


def at_once(app: Any, shelf: Any) -> None:
    """Press the filter that asks for most as soon as its list is seen."""
    chips = getattr(shelf, "chips", None)
    chip = chips.buttons.get("due") if chips else None
    if chip is not None:
        pressed = until_painted(app, shelf, chip.click)
        say(f"a filter at once: {called(shelf)}, due", [pressed])
        chips.clear()
        shelf.read()  # what the filter asked for is not known again
        app.processEvents()


def read_ahead(app: Any, shelf: Any) -> None:
    """Wait as a person does until the list has read what its filters ask for."""
    prepare = getattr(shelf.model.listing, "prepare", None)  # older trees read it when asked
    for _ in range(100):
        if prepare is None or prepare(0):
            return
        rest(app, 0.1)


def rest(app: Any, seconds: float) -> None:
    """Do nothing so long; the program does what it does then."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        app.processEvents()
        time.sleep(0.005)


def due_list(app: Any, window: Any, words: tuple[str, ...]) -> bool:
    """Look for what is due, and type; the first stroke by itself."""
    start = mark()
    window.show_due()
    page = window.pages.currentWidget()
    page.finish()
    app.processEvents()
    say("decks due found and shown", [since(start)])
    first = until_painted(app, page.records, partial(page.records.filter.insert, "o"))
    met = say("the first stroke: decks due", [first], STROKE_MS)
    page.records.filter.clear()
    met = say("a stroke: decks due", strokes(app, page.records, words), STROKE_MS) and met
    window.show_library()
    app.processEvents()
    return met


def jobs_list(app: Any, window: Any, words: tuple[str, ...]) -> bool:
    """Look for the jobs that are here, and type."""
    start = mark()
    window.show_jobs()
    page = window.pages.currentWidget()
    app.processEvents()
    say("jobs shown", [since(start)])
    met = say("a stroke: jobs", strokes(app, page.here, words), STROKE_MS)
    window.show_library()
    app.processEvents()
    return met


def pictures(app: Any, window: Any) -> None:
    """Open the pictures of the decks that have most of them."""
    rows = window.library.decks(archived=False)
    counted = {row.id: window.library.pictures.count_of("deck", row.id) for row in rows}
    most = sorted(counted, key=lambda one: (-counted[one], one))[:12]
    found = []
    for deck_id in most:
        start = mark()
        page = window.show_pictures("deck", deck_id)
        if page is None:  # a newer tree made the library: see above
            return
        app.processEvents()
        found.append(since(start))
        page.closed.emit()
        app.processEvents()
    say(f"pictures of a deck, up to {max(counted.values(), default=0)}", found)


def strokes(app: Any, shelf: Any, words: tuple[str, ...]) -> list[bench.Spent]:
    """Type every word letter by letter and take it away again."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    field = shelf.filter
    field.setFocus()
    found = []
    for word in words:
        acts = [partial(field.insert, letter) for letter in word]
        acts += [partial(QTest.keyClick, field, Qt.Key.Key_Backspace), field.clear]
        found += [until_painted(app, shelf, act) for act in acts]
    return found


def orders(app: Any, shelf: Any) -> None:
    """Sort by every column to and fro, with one row picked and with all."""
    from PySide6.QtCore import Qt

    for index, column in enumerate(shelf.spec.columns):
        for words, picks_all in (("", False), (", all picked", True)):
            if picks_all:
                picked = until_painted(app, shelf, shelf.table.selectAll)
            found = [
                until_painted(app, shelf, partial(shelf.table.sortByColumn, index, way))
                for way in Qt.SortOrder
            ]
            say(f"order {called(shelf)}: {column.title}{words}", found)
        shelf.table.clearSelection()
    say(f"all of them picked: {called(shelf)}", [picked])


def openings(app: Any, window: Any, opened: int) -> bool:
    """Open fittings from all over the library; the wizard page itself is not this bench's."""
    from PySide6.QtCore import QEvent

    from core.workflow.replay import journey_of

    library = window.library
    chance = random.Random(SEED)
    rows = library.fittings()
    chosen = []
    for finished in (False, True):  # as many under way as finished, which most of them are
        ids = [row.id for row in rows if row.finished is finished]
        chosen += chance.sample(ids, min(opened, len(ids)))
    chance.shuffle(chosen)
    read: list[bench.Spent] = []
    folded: list[bench.Spent] = []
    steps: list[bench.Spent] = []
    last_pages: list[bench.Spent] = []
    whole: list[bench.Spent] = []
    back: list[bench.Spent] = []
    for turn, one in enumerate([*chosen[:5], *chosen]):
        start = mark()
        fitting = library.fitting(one)
        deck, cartridge = (
            get(thing, revision).thing
            for get, thing, revision in (
                (library.deck, fitting.deck_id, fitting.revisions[0]),
                (library.cartridge, fitting.cartridge_id, fitting.revisions[1]),
            )
        )
        first = since(start)
        start = mark()
        journey_of(deck, cartridge, fitting)
        second = since(start)
        start = mark()
        window.open_fitting(one)
        wizard = window.pages.currentWidget()
        with bench.watched(wizard.page) as paintings:
            while not paintings:  # layouts and painting; what comes after them is not waited for
                app.sendPostedEvents()
        third = since(start)
        with bench.watched(wizard.page) as paintings:
            while not (paintings and wizard.page.deferred.is_done):
                app.processEvents()
        all_there = since(start)
        start = mark()
        window.show_library()
        app.processEvents()
        fourth = since(start)
        app.sendPostedEvents(None, QEvent.Type.DeferredDelete)  # as the program's own loop does
        painted = last_pages if wizard.place == "summary" else steps
        if turn >= 5:
            for times, spent in zip(
                (read, folded, painted, whole, back),
                (first, second, third, all_there, fourth),
                strict=True,
            ):
                times.append(spent)
    say("a fitting read from the file", read)
    say("its log folded", folded)
    met = True
    for what, painted in (("at a step", steps), ("at its last page", last_pages)):
        if painted:
            met = say(f"opened {what} until painted", painted, OPEN_MS) and met
    say("opened until the last word of it is painted", whole)
    say("back to the library until painted", back)
    return met


def until_painted(app: Any, shelf: Any, act: Callable[[], object]) -> bench.Spent:
    """Do it and return what it took until the list, or what stands in its place, is painted."""
    places = shelf.table.viewport(), shelf.nothing
    with bench.watched(*places) as paintings:
        start = mark()
        act()
        app.processEvents()
        if not paintings:  # the same rows again: it must not look cheaper than it is
            next(place for place in places if place.isVisible()).repaint()
        spent = since(start)
    assert paintings, "the list was not painted"
    return spent


def mark() -> tuple[float, float]:
    return time.perf_counter(), time.process_time()


def since(start: tuple[float, float]) -> bench.Spent:
    now = mark()
    return bench.Spent((now[0] - start[0]) * 1000, (now[1] - start[1]) * 1000)


@contextmanager
def shown(place: Path) -> Iterator[tuple[Any, Any]]:
    """Show the real window with a library."""
    from PySide6.QtWidgets import QApplication

    from core.language import Numbers
    from desktop.shell.app import application
    from desktop.shell.main_window import MainWindow
    from desktop.widgets import theme
    from desktop.widgets.preferences import Preferences

    running = QApplication.instance()
    app = running if isinstance(running, QApplication) else application()
    theme.apply(app, "light")
    with tempfile.TemporaryDirectory() as folder:
        preferences = Preferences(Path(folder) / "remembered.ini")
        window = MainWindow(numbers=Numbers(), preferences=preferences)
        window.resize(1280, 800)
        window.open_library(place)
        window.show()
        for _ in range(5):
            app.processEvents()
        gc.freeze()  # as the program does
        yield app, window
        window.close()
        window.deleteLater()
        app.processEvents()


def shelves(window: Any) -> list[Any]:
    screen = window._screen
    return [screen.under_way, screen.finished, screen.decks, screen.cartridges]


def called(shelf: Any) -> str:
    """Return what a shelf is called on the screen."""
    from desktop.widgets.language import said

    return said(shelf.spec.name)


def show_shelf(app: Any, window: Any, shelf: Any, *, told: bool = False) -> None:
    """Bring a shelf into view, read from the file if it has not been."""
    start = mark()
    window._screen.tabs.setCurrentWidget(shelf)
    app.processEvents()
    shelf.table.viewport().repaint()
    if told:
        say(f"shelf seen first: {called(shelf)}", [since(start)])


if __name__ == "__main__":
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    match sys.argv[1:]:
        case ["--figures", place]:
            tell_figures(Path(place))
        case [place, "--beside", tree]:
            sys.exit(compare(Path(place), ROUNDS, Path(tree)))
        case [place, rounds, "--beside", tree]:
            sys.exit(compare(Path(place), int(rounds), Path(tree)))
        case ["--memory", place]:
            tell_memory(Path(place))
        case []:
            sys.exit(main(None, ROUNDS))
        case [place]:
            sys.exit(main(Path(place), ROUNDS))
        case [place, rounds]:
            sys.exit(main(Path(place), int(rounds)))
        case _:
            sys.exit("Usage: python tests/bench/bench_shop.py [BIG] [ROUNDS] [--beside TREE]")
