"""A monkey at the window: random keys, clicks and typed text on every page.

Run by hand: ``python tests/bench/monkey.py --minutes 60 --seed 1``. It works on a library of its
own, with hostile words in it, offscreen. It fails if anything raises, if Qt warns, or if the
library is not sound at the end. It prints the longest time in which the window's thread answered
nothing, by the clock and by that thread's own processor time (on a busy machine only the second
says something of the program), with where it was, and the memory before each new library.

A log grows as long as the monkey enters things, and what a library holds is memory well used. So
that this hides no leak, and no log grows past what people keep, it begins afresh sixty times
(``--rounds``): a new library, in the same window. Memory, widgets and objects of ours are counted
right after, when the window holds what it held at first.
"""

# ruff: noqa: E402 - the path and the platform are set before anything of Qt or ours is imported

from __future__ import annotations

import argparse
import ctypes
import faulthandler
import gc
import math
import os
import random
import sys
import tempfile
import threading
import time
import traceback
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final, NamedTuple

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # before any application object is made
ROOT: Final = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from PySide6.QtCore import QEvent, QPoint, Qt, QTimer, qInstallMessageHandler
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSlider,
    QApplication,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QTabBar,
    QWidget,
)

from core.language import Numbers
from core.records import Customer, Job
from core.steps import STEP_NAMES
from core.store import Library, LibraryProblem
from core.store.exporting import of_decks, write_document
from desktop.shell.main_window import MainWindow
from desktop.tasks.garbage_collector import GarbageCollector
from desktop.widgets import theme
from desktop.widgets.messages import QtMessages
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from tests.desktop.kit import finished
from tests.desktop.test_foreign_words import HOSTILE, WORDS, hostile_library
from tests.examples import cartridge, deck

STALL_S: Final = 0.5
BEAT_MS: Final = 5
ACTS_ON_A_PAGE: Final = 60
"""Acts before the monkey is set down on another page."""
NO_FAULTS: Final = ("This plugin does not support", "Mouse event occurs outside")
"""What Qt says of the offscreen platform, and of a click on a window behind a dialog."""
KEYS: Final = tuple(
    QKeySequence(keys)[0]
    for keys in (
        *("Tab", "Tab", "Tab", "Shift+Tab", "Return", "Return", "Space", "Esc", "Up", "Down"),
        *("Left", "Right", "PgUp", "PgDown", "Home", "End", "Backspace", "Del", "F1", "F2"),
        *("Ctrl+Z", "Ctrl+F", "Ctrl+S", "Ctrl+A", "Ctrl+C", "Ctrl+V", "Ctrl+Shift+L", "Ctrl++"),
        *("Ctrl+-", "Ctrl+O", "Alt+Left", "Alt+Right", "Ctrl+PgDown", "Ctrl+Return"),
        *(f"Alt+{letter}" for letter in "ABCDEFGHIKLMNOPRSTUVWX"),
    )
)
TEXTS: Final = (
    *("1", "2.5", "-3", "0", "1,75", "7/8", "12", "230", "0.05", "1e9", "abc", "..", "½", "3 in"),
    *("Example deck", "<b>x</b>", "\u202ere", "é" * 30, "9" * 40),
)


class Monkey:
    """Does one random act after the other."""

    def __init__(self, folder: Path, chance: random.Random, until: float) -> None:
        self.folder = folder
        self.chance = chance
        self.until = until
        self.acts: Counter[str] = Counter()
        self.pages: Counter[str] = Counter()
        self.doing = "nothing yet"
        self._left_here = 0
        self._begun = 0
        self.rests = False
        # One timer for all acts: each single shot of a plain object's method stays in memory.
        self._next = QTimer(singleShot=True)
        self._next.timeout.connect(self.act)
        self._stock()
        preferences = Preferences(folder / "remembered.ini")
        preferences.remember_who("Example hand")
        self.window = MainWindow(numbers=Numbers(), preferences=preferences)
        self.window.messages = RandomMessages(self)
        self.window._recovery._messages = self.window.messages
        self.window.resize(1000, 700)
        self.window.show()
        self.window.open_library(self.place)

    def _stock(self) -> None:
        """Make a library with something of everything in it."""
        self._begun += 1
        self.place = self.folder / f"bench {self._begun}.library"
        with Library.open(self.place) as library:
            for words in WORDS.values():
                hostile_library(library, words)
            deck_id, cartridge_id = (
                library.keep_deck(deck()).id,
                library.keep_cartridge(cartridge()).id,
            )
            self.fittings = [
                finished(library, deck_id, cartridge_id),
                finished(library, deck_id, cartridge_id, until="level", finish=False),
                finished(library, deck_id, cartridge_id, until="alignment", finish=False),
                finished(library, deck_id, cartridge_id, until="speed", finish=False),
            ]
            self.decks = [row.id for row in library.decks()]
            self.cartridges = [row.id for row in library.cartridges()]
            customer = library.keep_customer(Customer(name=HOSTILE, contact=HOSTILE)).id
            self.jobs = [
                library.keep_job(Job(brought=HOSTILE, promised="2026-05-01", customer=whose)).id
                for whose in ("", customer)
            ]
            for fitting, job in zip(self.fittings, self.jobs, strict=False):
                library.give_job(fitting, job)
            self.document = self.folder / "decks.json"
            write_document(library, self.document, of_decks(library, deck_id))
            library.keep_deck(deck(notes="changed since"), id=deck_id)

    def begin_afresh(self) -> bool:
        """Open a new library in the same window; False while a dialog or a menu is open."""
        if QApplication.activePopupWidget() or QApplication.activeModalWidget():
            return False
        self.doing = "begin afresh"
        self._stock()
        theme.apply(QApplication.instance(), "light")
        self.window.resize(1000, 700)
        self.window.show()
        self.window.open_library(self.place)
        return True

    def act(self) -> None:
        """Do one act; the next one is laid out first, for this one may open a dialog."""
        if time.monotonic() > self.until:
            dialog = QApplication.activeModalWidget()
            if dialog is not None:
                dialog.close()
                self._next.start(50)
            else:
                QApplication.exit(0)  # quit() asks the window, which may stay
            return
        self._next.start(2)
        if self.rests:
            return
        if not self.window.isVisible():
            self.window.show()
            self.window.open_library(self.place)
        top = QApplication.activePopupWidget() or QApplication.activeModalWidget()
        if top is None and self._left_here <= 0:
            self._left_here = ACTS_ON_A_PAGE
            self._set_down()
            return
        self._left_here -= 1
        page = self.window.pages.currentWidget()
        self.pages[type(page).__name__] += 1
        name = self.chance.choice(("key", "key", "key", "click", "click", "type", "enter number"))
        self.doing = f"{name} on {type(page).__name__}"
        self.acts[name] += 1
        getattr(self, f"_{name.replace(' ', '_')}")(top or self.window)

    def _key(self, top: QWidget) -> None:
        keys = self.chance.choice(KEYS)
        self.doing += f" {QKeySequence(keys).toString()}"
        QTest.keyClick(self._focus(top), keys.key(), keys.keyboardModifiers())

    def _type(self, top: QWidget) -> None:
        text = self.chance.choice(TEXTS)
        self.doing += f" {text[:20]!r}"
        _type(self._focus(top), text)

    def _enter_number(self, top: QWidget) -> None:
        fields = [one for one in _parts_of(top) if isinstance(one, QLineEdit) and _is_open(one)]
        if fields:
            field = self.chance.choice(fields)
            field.setFocus()
            field.selectAll()
            amount = self.chance.choice((0.1, 1, 10, 100)) * self.chance.random()
            _type(field, f"{amount:.2f}")
            QTest.keyClick(field, Qt.Key.Key_Return)

    def _click(self, top: QWidget) -> None:
        sorts = (QAbstractButton, QAbstractItemView, QComboBox, QTabBar, QLineEdit, QPlainTextEdit)
        targets = [
            one
            for one in _parts_of(top)
            if isinstance(one, (*sorts, QAbstractSlider)) and _is_open(one)
        ]
        target = self.chance.choice(targets) if targets else top
        if isinstance(target, QAbstractItemView):
            target = target.viewport()
        self.doing += f" {type(target).__name__} {target.objectName() or target.accessibleName()}"
        size = target.rect()
        spot = QPoint(self.chance.randint(0, max(0, size.width() - 1)), size.height() // 2)
        act = QTest.mouseDClick if self.chance.random() < 0.1 else QTest.mouseClick
        act(target, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, spot)

    def _focus(self, top: QWidget) -> QWidget:
        focus = QApplication.focusWidget()
        return focus if focus is not None and (focus is top or top.isAncestorOf(focus)) else top

    def _set_down(self) -> None:
        """Open a page, in the middle of whatever it is."""
        window, chance = self.window, self.chance
        ways: Sequence[Callable[[], object]] = (
            window.show_library,
            lambda: window.show_start(chance.choice(self.decks), chance.choice(self.cartridges)),
            lambda: window.show_editor("deck", chance.choice(("", *self.decks))),
            lambda: window.show_editor("cartridge", chance.choice(("", *self.cartridges))),
            lambda: window.open_fitting(chance.choice(self.fittings)),
            self._step,
            self._step,
            self._step,
            lambda: window.show_swap(self.fittings[0]),
            lambda: window.show_history(chance.choice(self.decks)),
            window.show_due,
            window.show_backups,
            window.show_help,
            window.show_jobs,
            lambda: window.show_job(chance.choice(("", *self.jobs))),
            window.show_rehearsal,
            window.show_appearance,
            lambda: window.resize(chance.randint(640, 1900), chance.randint(480, 1000)),
            lambda: theme.apply(
                QApplication.instance(),
                chance.choice(("light", "dark")),
                text_scale=chance.choice((1.0, 1.0, 1.5)),
            ),
            self._elsewhere,
        )
        place = chance.randrange(len(ways))
        self.doing = f"set down, way {place}"
        ways[place]()

    def _step(self) -> None:
        self.window.open_fitting(self.chance.choice(self.fittings))
        page = self.window.pages.currentWidget()
        if isinstance(page, Wizard):
            page.go(self.chance.choice((*STEP_NAMES, "summary")))

    def _elsewhere(self) -> None:
        """Change a deck as another window does."""
        with Library.open(self.place) as other:
            one = other.deck(self.chance.choice(self.decks))
            notes = f"changed elsewhere {self.chance.random()}"
            other.keep_deck(one.thing.model_copy(update={"notes": notes}), id=one.id, who="Other")
        self.window._show_what_others_wrote()


class RandomMessages(QtMessages):
    """Says things in the window; answers questions at random, and files from one folder."""

    def __init__(self, monkey: Monkey) -> None:
        super().__init__(monkey.window, monkey.window.notices)
        self._monkey = monkey

    def ask(
        self,
        title: str,
        sentence: str,
        choices: Sequence[str],
        *,
        stays: int | None = None,
        enter: int = 0,
    ) -> int | None:
        del title, sentence, stays, enter
        return self._monkey.chance.choice((None, *range(len(choices))))

    def file_to_open(self, _title: str, _start: Path, _kinds: str) -> Path | None:
        monkey = self._monkey
        return monkey.chance.choice((None, monkey.document, monkey.place))

    def file_to_save(self, _title: str, start: Path, _kinds: str) -> Path | None:
        name = f"{self._monkey.chance.randrange(30)}{start.suffix}"
        return self._monkey.chance.choice((None, self._monkey.folder / name))

    def folder(self, _title: str, _start: Path) -> Path | None:
        return self._monkey.chance.choice((None, self._monkey.folder))


class Watch:
    """Notes how long the window's thread answers nothing, and where it is then."""

    def __init__(self, monkey: Monkey) -> None:
        self._monkey = monkey
        self._thread = threading.get_ident()
        self._beat_at, self._cpu_at = time.monotonic(), time.thread_time()
        self.longest: list[tuple[float, float, str]] = []
        self.places: list[str] = []
        self._timer = QTimer(monkey.window)
        self._timer.timeout.connect(self._beat)
        self._timer.start(BEAT_MS)
        self._is_over = False
        threading.Thread(target=self._look, daemon=True).start()

    def _beat(self) -> None:
        now, cpu = time.monotonic(), time.thread_time()
        self.longest.append((cpu - self._cpu_at, now - self._beat_at, self._monkey.doing))
        if len(self.longest) > 2000:
            self.longest = sorted(self.longest, reverse=True)[:20]
        self._beat_at, self._cpu_at = now, cpu

    def forget(self) -> None:
        """Begin anew: what just took time is no stall."""
        self._beat_at, self._cpu_at = time.monotonic(), time.thread_time()

    def _look(self) -> None:
        noted = 0.0
        while not self._is_over:
            time.sleep(0.05)
            if time.monotonic() - self._beat_at > STALL_S and noted != self._beat_at:
                noted = self._beat_at
                frame = sys._current_frames().get(self._thread)
                lines = traceback.format_stack(frame)[-6:]
                if len(self.places) < 40:
                    self.places.append(self._monkey.doing + "\n" + "".join(lines))

    def end(self) -> None:
        self._is_over = True
        self._timer.stop()
        self.longest.sort(reverse=True)


def _type(widget: QWidget, text: str) -> None:
    """Type any letters; QTest knows those of ASCII alone."""
    for letter in text:
        for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
            no_keys = Qt.KeyboardModifier.NoModifier
            QApplication.sendEvent(widget, QKeyEvent(kind, 0, no_keys, letter))


def _parts_of(top: QWidget) -> list[QWidget]:
    """Return all widgets of a window.

    ``findChildren`` of a window keeps what it finds, ended or not, as long as the window is there.
    """
    return [one for one in QApplication.allWidgets() if top.isAncestorOf(one)]


def _is_open(widget: QWidget) -> bool:
    return widget.isVisible() and widget.isEnabled()


def _memory_mb() -> float:
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


class _MallocInfo(ctypes.Structure):
    """What glibc's ``mallinfo2`` tells, in bytes but for the counts."""

    _fields_ = tuple(
        (name, ctypes.c_size_t)
        for name in (
            *("arena", "ordblks", "smblks", "hblks", "hblkhd"),
            *("usmblks", "fsmblks", "uordblks", "fordblks", "keepcost"),
        )
    )


def _malloc_mb() -> float:
    """Return what malloc has handed out and not got back, in MB; nan without glibc 2.33."""
    told = getattr(ctypes.CDLL(None), "mallinfo2", None)
    if told is None:
        return math.nan
    told.restype = _MallocInfo
    info = told()
    return float(info.uordblks + info.hblkhd) / 1e6


class Counted(NamedTuple):
    """What there is of everything at one moment."""

    memory_mb: float
    in_use_mb: float
    """What malloc has handed out; the rest it holds for the next time, or Python's own does."""
    widgets: int
    ours: Counter[str]


def counted() -> Counted:
    """Count widgets and objects of our own classes; memory in MB."""
    memory = _memory_mb()  # collects first
    ours = Counter(
        f"{kind.__module__}.{kind.__qualname__}"
        for one in gc.get_objects()
        if str((kind := type(one)).__module__).startswith(("core.", "desktop."))
    )
    return Counted(memory, _malloc_mb(), len(QApplication.allWidgets()), ours)


def _begin_afresh_now_and_then(
    monkey: Monkey, watch: Watch, memory: list[float], afresh: list[Counted], every_s: float
) -> None:
    """Note the memory, begin a new library, and count what there is once the old one is gone."""

    def note_memory() -> None:
        if time.monotonic() < monkey.until:
            memory.append(_memory_mb())
            begin_afresh()

    def begin_afresh() -> None:
        if monkey.begin_afresh():
            monkey.rests = True  # so that each count is of the same first page
            QTimer.singleShot(2000, count)  # what was let go ends in the next turns
        else:
            QTimer.singleShot(500, begin_afresh)
        watch.forget()  # that and the collecting are the watch's doing, not the program's

    def count() -> None:
        afresh.append(counted())
        monkey.rests = False
        watch.forget()

    every = QTimer(monkey.window)
    every.timeout.connect(note_memory)
    every.start(max(1, round(1000 * every_s)))


def _report_afresh(afresh: list[Counted]) -> None:
    if len(afresh) < 2:
        return
    print("after each new library:")
    print(f"  memory MB {', '.join(f'{one.memory_mb:.0f}' for one in afresh)}")
    print(f"  of it in use MB {', '.join(f'{one.in_use_mb:.0f}' for one in afresh)}")
    print(f"  widgets {', '.join(str(one.widgets) for one in afresh)}")
    print(f"  objects of ours {', '.join(str(one.ours.total()) for one in afresh)}")
    for name, more in (afresh[-1].ours - afresh[0].ours).most_common(20):
        print(f"    {name}: {more} more than at first, {afresh[-1].ours[name]}")


def main() -> int:
    """Let it loose; return 1 if anything went wrong."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rounds", type=int, default=60, help="how often it begins afresh")
    parser.add_argument("--stalls", action="store_true", help="show where the window stood still")
    asked = parser.parse_args()
    faulthandler.enable()
    faults: list[str] = []

    def hook(kind: type[BaseException], error: BaseException, trace: object) -> None:
        faults.append("".join(traceback.format_exception(error)))
        print(f"FAULT during {monkey.doing}\n{faults[-1]}", flush=True)

    def from_qt(_kind: object, _context: object, text: str) -> None:
        if not any(words in text for words in NO_FAULTS):
            faults.append(f"Qt: {text}")
            print(f"FAULT during {monkey.doing}\nQt: {text}", flush=True)

    app = QApplication([])
    GarbageCollector(app)
    theme.apply(app, "light")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HOME"] = os.environ["XDG_DATA_HOME"] = folder
        began = time.monotonic()
        monkey = Monkey(Path(folder), random.Random(asked.seed), began + 60 * asked.minutes)
        sys.excepthook = hook
        qInstallMessageHandler(from_qt)
        watch = Watch(monkey)
        memory, afresh = [_memory_mb()], list[Counted]()
        _begin_afresh_now_and_then(monkey, watch, memory, afresh, 60 * asked.minutes / asked.rounds)
        QTimer.singleShot(0, monkey.act)
        app.exec()
        watch.end()
        memory.append(_memory_mb())
        sound = True
        monkey.window.messages.ask = lambda *_asked, **_more: 1  # type: ignore[method-assign]  # one answer for all
        monkey.window.close()
        try:
            with Library.open(monkey.place) as library:
                sound = library.faults() == []
        except LibraryProblem as problem:
            print(problem)
            sound = False
        _report(monkey, watch, memory, faults, sound=sound, shows_stalls=asked.stalls)
        _report_afresh(afresh)
    qInstallMessageHandler(None)
    return 0 if sound and not faults else 1


def _report(
    monkey: Monkey,
    watch: Watch,
    memory: list[float],
    faults: list[str],
    *,
    sound: bool,
    shows_stalls: bool,
) -> None:
    print(f"acts {sum(monkey.acts.values())}: {dict(monkey.acts)}")
    print(f"pages {dict(monkey.pages.most_common())}")
    print(f"faults {len(faults)}; library {'sound' if sound else 'NOT SOUND'}")
    print(f"memory MB {', '.join(f'{one:.0f}' for one in memory)}")
    print("the window's thread answered nothing, longest by its own processor time:")
    for cpu, wall, doing in watch.longest[:8]:
        print(f"  {cpu * 1000:6.0f} ms (clock {wall * 1000:6.0f} ms) {doing[:100]!r}")
    cpu, wall, doing = max(watch.longest, key=lambda one: one[1])
    print(f"longest by the clock: {wall * 1000:.0f} ms ({cpu * 1000:.0f} ms) {doing[:100]!r}")
    if shows_stalls:
        for place in watch.places:
            print(place)


if __name__ == "__main__":
    sys.exit(main())
