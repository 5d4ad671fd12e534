"""What tests of the screen share: stand-ins, hands at the keyboard, fittings to work on."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, ClassVar, Final, TypeVar

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QFrame,
    QLabel,
    QLineEdit,
    QRadioButton,
    QWidget,
)

from core.fitting import (
    Body,
    Entry,
    Finished,
    Fitting,
    MoveMade,
    MovePart,
    ReadingTaken,
    StepAccepted,
    Verdict,
    new_id,
)
from core.language import Numbers
from core.records import Cartridge, Deck
from core.steps import STEP_NAMES
from core.store import Library, LibraryProblem
from core.store.file_problems import disk_fault, full, locked
from core.store.sqlite.file import SqliteFile
from core.workflow.replay import journey_of
from desktop.forms.form import Form
from desktop.forms.model_fields import ModelFields
from desktop.history.history_page import HistoryPage
from desktop.shell.main_window import MainWindow
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets.caution_line import CautionLine
from desktop.widgets.message_line import MessageLine
from desktop.wizard import Wizard
from desktop.wizard.bench_view import BenchView
from desktop.wizard.step_page import StepPage
from desktop.wizard.summary_page import SummaryPage
from tests.examples import cartridge, deck
from tests.visits import keep
from tests.worked import BEGAN, READINGS, Read

# stand-ins for what a person would otherwise answer by hand


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that was told."""

    title: str
    sentence: str
    remedy: str
    went_well: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing that was asked."""

    title: str
    sentence: str
    choices: tuple[str, ...]
    enter: int = 0


@dataclass(slots=True)
class RecordingMessages:
    """Keeps what is told and asked; answers come from lists laid out beforehand.

    A question nobody laid an answer out for fails the test: a dialog would hang there.
    """

    told: list[Told] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)
    answers: list[int | None] = field(default_factory=list)
    files: list[Path | None] = field(default_factory=list)
    file_questions: list[tuple[str, Path, str]] = field(default_factory=list)

    def tell(self, title: str, sentence: str, remedy: str = "", *, went_well: bool = False) -> None:
        self.told.append(Told(title, sentence, remedy, went_well))

    def put_away(self, title: str, sentence: str) -> None:
        self.told = [one for one in self.told if (one.title, one.sentence) != (title, sentence)]

    def ask(
        self,
        title: str,
        sentence: str,
        choices: Sequence[str],
        *,
        stays: int | None = None,
        enter: int = 0,
    ) -> int | None:
        assert stays is None or stays < len(choices)
        assert enter < len(choices)
        self.asked.append(Asked(title, sentence, tuple(choices), enter))
        assert self.answers, f"nobody laid out an answer to: {sentence}"
        return self.answers.pop(0)

    def file_to_open(self, title: str, start: Path, kinds: str) -> Path | None:
        return self._file(title, start, kinds)

    def file_to_save(self, title: str, start: Path, kinds: str) -> Path | None:
        return self._file(title, start, kinds)

    def folder(self, title: str, start: Path) -> Path | None:
        return self._file(title, start, "")

    def _file(self, title: str, start: Path, kinds: str) -> Path | None:
        self.file_questions.append((title, start, kinds))
        assert self.files, f"nobody laid out a file for: {title}"
        return self.files.pop(0)

    @property
    def sentences(self) -> list[str]:
        return [told.sentence for told in self.told]


T = TypeVar("T")


def focused() -> QWidget:
    """Return the widget that has the focus; there must be one."""
    widget = QApplication.focusWidget()
    assert widget is not None
    return widget


def page_of(window: MainWindow, kind: type[T]) -> T:
    """Return the page on show, which must be of this kind."""
    page = window.pages.currentWidget()
    assert isinstance(page, kind)
    return page


def drop(window: MainWindow, *paths: Path) -> bool:
    """Drop files on the window; return whether it takes them."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    copy, left, none = (
        Qt.DropAction.CopyAction,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    entered = QDragEnterEvent(QPointF(50, 50).toPoint(), copy, data, left, none)
    entered.setAccepted(False)
    QApplication.sendEvent(window, entered)
    if not entered.isAccepted():
        return False
    QApplication.sendEvent(window, QDropEvent(QPointF(50, 50), copy, data, left, none))
    QTest.qWait(1)
    return True


# a person at the keyboard

Key = Qt.Key
NONE = Qt.KeyboardModifier.NoModifier
CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
ALT = Qt.KeyboardModifier.AltModifier
PRESSED_MS = 150
"""A button pressed by its letter is seen to go down first, longer on a busy machine."""


def focus() -> QWidget:
    QApplication.processEvents()
    widget = QApplication.focusWidget()
    assert widget is not None, "the keyboard leads nowhere"
    return widget


def press(key: Qt.Key, modifier: Qt.KeyboardModifier = NONE) -> None:
    """Press a key; a button pressed by its letter is waited for until it is up again."""
    window = focus().window()
    QTest.keyClick(focus(), key, modifier)
    QApplication.processEvents()
    if modifier is ALT:
        QTest.qWait(PRESSED_MS)
        for _ in range(100):
            if not any(button.isDown() for button in window.findChildren(QAbstractButton)):
                break
            QTest.qWait(PRESSED_MS)


def write(text: str) -> None:
    QTest.keyClicks(focus(), text)
    QApplication.processEvents()


def tab_to(wanted: QWidget, at_most: int = 60) -> None:
    """Walk with Tab until a widget has the focus."""
    for _ in range(at_most):
        if QApplication.focusWidget() is wanted:
            return
        press(Key.Key_Tab)
    raise AssertionError(f"Tab never reaches {wanted.accessibleName() or wanted}")


def line_named(form: Form, label: str) -> QLineEdit:
    """Return the first line of a form whose name begins so."""
    return next(
        stop
        for stop in form.tab_stops()
        if isinstance(stop, QLineEdit) and stop.accessibleName().startswith(label)
    )


def retype(line: QLineEdit, text: str) -> None:
    """Put the focus into a line and type over what stands there."""
    line.setFocus()
    line.selectAll()
    write(text)


def settle() -> None:
    """Let timers that wait for nothing run."""
    for _ in range(3):
        QApplication.processEvents()
        QTest.qWait(1)


def words_of(widget: QWidget) -> str:
    """Return every word shown below a widget."""
    labels = [one.text() for one in widget.findChildren(QLabel) if one.isVisible()]
    lines = [one.text() for one in widget.findChildren(QLineEdit) if one.isVisible()]
    return "\n".join((*labels, *lines))


def told_in(widget: QWidget) -> list[str]:
    """Return what a screen reader is told of each row below a widget, in their order."""
    rows = [
        one
        for one in widget.findChildren(QWidget)
        if (type(one) in (QFrame, QWidget) or isinstance(one, QLabel)) and one.accessibleName()
    ]
    inside = {one for one in rows for up in rows if up is not one and up.isAncestorOf(one)}
    return [one.accessibleName() for one in rows if one not in inside]


def steps_told(page: SummaryPage) -> list[str]:
    """Return what a screen reader is told of each step on the last page."""
    page.deferred.finish()
    return [one.accessibleName() for one in page.findChildren(QFrame) if _is_row(one)]


def _is_row(frame: QFrame) -> bool:
    return type(frame) is QFrame and bool(frame.accessibleName())


def cautions_told(page: StepPage) -> str:
    """Return what the cautions on show say, one a line, with plain spaces."""
    shown = [one for one in page.findChildren(CautionLine) if one.isVisible()]
    return "\n".join(one.text() for one in shown).replace("\u00a0", " ")


def bench_view_of(page: StepPage) -> BenchView:
    """Return the drawing of what the hand does next."""
    page.deferred.finish()
    (view,) = page.findChildren(BenchView)
    return view


def problems_in(widget: QWidget) -> list[str]:
    """Return what is told to be wrong below a widget: of its fields, or of the whole."""
    return [one.text() for one in widget.findChildren(MessageLine) if one.isVisible()]


def step_page(wizard: Wizard) -> StepPage:
    page = wizard.page
    assert isinstance(page, StepPage)
    return page


WAYS_IN = ("primaryWay", "welcomeStart")
"""The one obvious button of the first screen, in a library that was used and in a new one."""


class Hands:
    """Works one window by its keys alone; looks at it as eyes would."""

    def __init__(self, window: MainWindow) -> None:
        self.window = window

    @property
    def wizard(self) -> Wizard:
        page = self.window.pages.currentWidget()
        assert isinstance(page, Wizard)
        return page

    @property
    def step(self) -> StepPage:
        return step_page(self.wizard)

    focus = staticmethod(focus)
    press = staticmethod(press)
    write = staticmethod(write)
    tab_to = staticmethod(tab_to)

    def start_fitting(self, deck: str, cartridge: str) -> None:
        """From the library: the one obvious button, then a few letters of each name."""
        named = [self.window.findChild(QAbstractButton, name) for name in WAYS_IN]
        self.tab_to(next(one for one in named if one is not None and one.isVisible()))
        self.press(Key.Key_Space)
        self.write(deck)
        self.press(Key.Key_Return)
        self.write(cartridge)
        self.press(Key.Key_Return)
        self.press(Key.Key_Return)

    def read(self, way: str, **values: Any) -> None:
        """Choose a way of reading, fill its form, keep it."""
        self.press(Key.Key_R, CTRL)
        if self.step.reading.way != way:
            self._choose_way(way)
        form = self.step.reading.form
        assert form is not None
        self.tab_to(form.tab_stops()[0])
        for name, value in values.items():
            self._fill(form.fields.entries[name].tab_stops(), value)
        self.press(Key.Key_Return, CTRL)
        assert not self.step.reading.has_unsaved(), form.problems()

    def move_made(self) -> None:
        self.press(Key.Key_M, CTRL)

    def accept(self) -> None:
        self.press(Key.Key_Return, CTRL | SHIFT)

    def keep_anyway(self, reason: str) -> None:
        self.press(Key.Key_K, ALT)
        self.write(reason)
        self.press(Key.Key_Return)

    def _choose_way(self, way: str) -> None:
        self.open_ways()
        buttons = [
            button
            for button in self.step.reading.findChildren(QRadioButton)
            if button.property("way") is not None and not button.isHidden()
        ]
        checked = next(button for button in buttons if button.isChecked())
        self.tab_to(checked)
        for _ in buttons:
            if self.step.reading.way == way:
                return
            self.press(Key.Key_Down)
        raise AssertionError(f"the way {way!r} is not offered")

    def open_ways(self) -> None:
        """Show every way of reading, where only the one chosen is named."""
        if not self.step.reading.ways_button.isHidden():
            self.tab_to(self.step.reading.ways_button)
            self.press(Key.Key_Space)

    def _fill(self, tab_stops: list[QWidget], value: Any) -> None:
        first = tab_stops[0]
        if isinstance(first, QLineEdit) and isinstance(tab_stops[-1], QRadioButton):
            self._fill_directed(first, tab_stops[-1], str(value))
        elif isinstance(first, QLineEdit):
            self.tab_to(first)
            self.press(Key.Key_A, CTRL)
            self.write(str(value))
        elif isinstance(first, QComboBox):
            self._pick(first, str(value))
        elif isinstance(value, bool):
            assert isinstance(first, QAbstractButton)
            self.tab_to(first)
            if first.isChecked() is not value:
                self.press(Key.Key_Space)
        else:
            self._pick_button(first, str(value))

    def _fill_directed(self, line: QLineEdit, way: QWidget, value: str) -> None:
        """Type an amount without its sign, and choose a direction by arrow or the space bar."""
        amount = value.lstrip("-−")
        entry = way.parentWidget()
        assert entry is not None
        plus, minus = entry.findChildren(QRadioButton)
        wanted = minus if value != amount else plus
        self.tab_to(line)
        self.press(Key.Key_A, CTRL)
        self.write(amount)
        self.press(Key.Key_Tab)
        assert focus() is way
        if way is not wanted:
            self.press(Key.Key_Up if wanted is plus else Key.Key_Down)
        elif not wanted.isChecked():
            self.press(Key.Key_Space)
        assert wanted.isChecked()

    def _pick(self, combo: QComboBox, label: str) -> None:
        self.tab_to(combo)
        self.press(Key.Key_Home)
        for _ in range(combo.count()):
            if combo.currentText().startswith(label):
                return
            self.press(Key.Key_Down)
        raise AssertionError(f"{label!r} is not in the list")

    def _pick_button(self, first: QWidget, label: str) -> None:
        entry = first.parentWidget()
        assert entry is not None
        buttons = entry.findChildren(QRadioButton)
        wanted = next(button for button in buttons if button.text().startswith(label))
        start = next((button for button in buttons if button.isChecked()), buttons[0])
        self.tab_to(start)
        if not any(button.isChecked() for button in buttons):
            self.press(Key.Key_Space)
        for key in (Key.Key_Up, Key.Key_Down):
            for _ in buttons:
                if wanted.isChecked():
                    return
                self.press(key)
        raise AssertionError(f"{label!r} can't be chosen by keyboard")


Opener = Callable[[], Wizard]
Show = Callable[..., QWidget]


def read_bubble(divisions: str) -> None:
    """Type one bubble reading in the direction that is asked for, with Enter at each end."""
    press(Key.Key_R, CTRL)  # to the amount: what is asked for stands chosen already
    write(divisions)
    press(Key.Key_Return)
    if isinstance(focus(), QRadioButton):
        press(Key.Key_Up)  # toward the marked end
        press(Key.Key_Return)


# fittings to work on

MOUNTED: dict[str, Any] = {
    "way": "checklist",
    **dict.fromkeys(
        (
            "amplifier_off", "guard_on", "arm_locked", "screws_snug", "white_lead", "blue_lead",
            "red_lead", "green_lead",
        ),
        True,
    ),
}  # fmt: skip # rows of a table


class FittingBench:
    """A controller with short ways to bring a fitting to where a test begins."""

    def __init__(
        self, library: Library, on: Deck | None = None, fitted: Cartridge | None = None
    ) -> None:
        self.library = library
        kept_deck = library.keep_deck(on or deck())
        kept_cartridge = library.keep_cartridge(fitted or cartridge())
        self.fitting = library.start_fitting(kept_deck.id, kept_cartridge.id, who="A. Tester")
        self.controller = self.another()

    def another(self) -> FittingController:
        """Return a fresh controller for the same fitting, as after a restart."""
        return FittingController(
            self.library, self.fitting.id, who="A. Tester", numbers=Numbers(",")
        )

    def keep(self, body: Body) -> None:
        assert self.controller.record(body) is None

    def read(self, step: str, **values: Any) -> None:
        self.keep(ReadingTaken(step=step, reading=values))

    def move(self, step: str, *parts: MovePart) -> None:
        self.keep(MoveMade(step=step, parts=parts))

    def accept(self, step: str, reason: str = "") -> None:
        now = self.controller.journey.status(step).assessment
        self.keep(StepAccepted(step=step, verdict=now.verdict, reason=reason))

    def level(self) -> None:
        for direction in ("front-back", "left-right"):
            for turned in (False, True):
                self.read("level", way="bubble", direction=direction, turned=turned, divisions=0.0)
        self.accept("level")

    def mount(self) -> None:
        self.level()
        self.read("mount", **MOUNTED)
        self.accept("mount")

    def rough(self, downforce_gf: float = 2.0) -> None:
        self.mount()
        for _ in range(3):
            self.read("rough_downforce", way="scale", downforce_gf=downforce_gf)
        self.accept("rough_downforce")


MOST_TURNS = 12
CALM: dict[str, list[Read]] = {
    step: readings[-2:] if step == "level" else readings[-1:] for step, readings in READINGS.items()
}
"""Readings of a deck on which nothing has to be moved."""


def make_every_field(root: QWidget) -> None:
    """Make the editors of all forms inside, in sight or not: a walk over words must see them."""
    seen: set[ModelFields] = set()
    while unseen := {*root.findChildren(ModelFields)} - seen:
        seen |= unseen
        for fields in unseen:
            for name in fields.entries:
                fields.make(name)


def finished(
    library: Library,
    deck_id: str,
    cartridge_id: str,
    *,
    at: datetime = BEGAN,
    readings: dict[str, list[Read]] | None = None,
    finish: bool = True,
    until: str = "",
) -> str:
    """Work a fitting through as a person does who follows every move; return its id.

    What passes is accepted, anything else is kept with a reason. ``until`` is the first step left
    alone.
    """
    deck, cartridge = library.deck(deck_id), library.cartridge(cartridge_id)
    fitting = Fitting(
        id=new_id(),
        deck_id=deck_id,
        deck_revision=deck.revision,
        cartridge_id=cartridge_id,
        cartridge_revision=cartridge.revision,
        started_at=at,
        who="A. Tester",
    )
    hand = _Hand(deck.thing, cartridge.thing, fitting)
    given = READINGS if readings is None else readings
    for step in STEP_NAMES:
        if step == until:
            break
        hand.work_as_before(step, given.get(step, []))
    if finish:
        hand.keep(Finished())
    library.log.add(hand.fitting)
    return fitting.id


def one_of_everything(path: Path, *, finish: bool) -> tuple[str, str]:
    """Make a library with a deck, a cartridge and a fitting; return fitting and deck."""
    with Library.open(path) as library:
        deck_id = library.keep_deck(deck()).id
        cartridge_id = library.keep_cartridge(cartridge()).id
        return finished(library, deck_id, cartridge_id, until="", finish=finish), deck_id


class _Hand:
    _done: ClassVar[dict[tuple[str, ...], tuple[Any, ...]]] = {}
    """What a step was worked with, by deck, cartridge, and the readings up to there.

    The same fitting is worked hundreds of times in a run: only the first asks the judges.
    """

    def __init__(self, deck: Deck, cartridge: Cartridge, fitting: Fitting) -> None:
        self.deck, self.cartridge, self.fitting = deck, cartridge, fitting
        self._key: tuple[str, ...] = (deck.model_dump_json(), cartridge.model_dump_json())

    def work_as_before(self, step: str, readings: list[Read]) -> None:
        """Work a step; the same one on the same log again by what was kept the first time."""
        self._key += (step, repr(readings))
        if self._key not in self._done:
            before = len(self.fitting.entries)
            self.work(step, readings)
            self._done[self._key] = tuple(e.body for e in self.fitting.entries[before:])
            return
        for body in self._done[self._key]:
            self.keep(body)

    def keep(self, body: Any) -> None:
        at = self.fitting.started_at + timedelta(minutes=3 * (1 + len(self.fitting.entries)))
        self.fitting = self.fitting.with_entry(Entry(at=at, who="A. Tester", body=body))

    def work(self, step: str, readings: list[Read]) -> None:
        queue = [self._scaled(one) for one in readings]
        for _ in range(MOST_TURNS):
            status = journey_of(self.deck, self.cartridge, self.fitting).status(step)
            said = status.assessment
            has_read = bool(status.trials) and not status.trials[-1].moves
            if said.verdict.passes and len(queue) <= 1 and (has_read or not queue):
                break
            move = said.next_move
            if has_read and said.verdict in (Verdict.MOVE, Verdict.STOP) and move and move.parts:
                self.keep(MoveMade(step=step, parts=move.parts))
            elif queue:
                self.keep(
                    ReadingTaken(step=step, reading=queue.pop(0) if len(queue) > 1 else queue[0])
                )
            else:
                break
        said = journey_of(self.deck, self.cartridge, self.fitting).status(step).assessment
        self.keep(
            StepAccepted(
                step=step,
                verdict=said.verdict,
                reason="" if said.verdict.passes else "left so for this test",
            )
        )

    def _scaled(self, read: Read) -> Read:
        """Return a reading fit for this cartridge: weighings are given for a target of 2 gf."""
        if read["way"] != "scale":
            return read
        return {
            **read,
            "downforce_gf": round(
                read["downforce_gf"] * self.cartridge.downforce_target_gf / 2.0, 2
            ),
        }


@dataclass(frozen=True)
class Shop:
    """A library with one deck, fitted once, and two cartridges more."""

    library: Library
    deck_id: str
    old_id: str
    new_id: str
    plug_in_id: str
    fitting_id: str


TODAY = date(2025, 6, 1)


class HistoryBench:
    """A library with one deck, and its history on the screen."""

    def __init__(
        self, library: Library, shown: Callable[..., QWidget], messages: RecordingMessages
    ) -> None:
        self.library, self._shown, self.messages = library, shown, messages
        self.deck_id = library.keep_deck(deck(owner_reference="Shelf 7")).id
        self.one = library.keep_cartridge(cartridge()).id
        self.other = library.keep_cartridge(
            cartridge(name="Example cartridge, light", downforce_min_gf=1.5, downforce_max_gf=2.0)
        ).id

    def keep(self, day: str, cartridge_id: str = "", **how: Any) -> str:
        return keep(self.library, day, self.deck_id, cartridge_id or self.one, **how).id

    def page(self, numbers: Numbers | None = None) -> HistoryPage:
        page = HistoryPage(
            self.library,
            self.deck_id,
            numbers or Numbers(),
            self.messages,
            who="Ann",
            today=lambda: TODAY,
        )
        self._shown(page)
        page.begin()
        load(page)
        return page


def load(page: HistoryPage) -> None:
    """Load the whole history of a page at once."""
    page.loader.finish()
    for _ in range(3):
        QApplication.processEvents()


# what can happen to a disk while somebody types

Trouble = Callable[[Library], AbstractContextManager[None]]


def _refusing(problem: Callable[[Path], LibraryProblem]) -> Trouble:
    @contextmanager
    def trouble(library: Library) -> Iterator[None]:
        def refuse(file: SqliteFile, *_given: object) -> None:
            raise problem(file.path)

        with pytest.MonkeyPatch.context() as patch:
            for write in ("insert", "update"):
                patch.setattr(SqliteFile, write, refuse)
            yield

    return trouble


@contextmanager
def _taken_out(library: Library) -> Iterator[None]:
    """Take the file away, as a disk that is pulled out does, and bring it back."""
    away = library.address.path.with_name("elsewhere")
    library.address.path.rename(away)
    yield
    away.rename(library.address.path)


TROUBLES: Final[dict[str, tuple[Trouble, str]]] = {
    "full": (_refusing(full), "is full"),
    "taken out": (_taken_out, "no longer where it was"),
    "faulty": (_refusing(lambda path: disk_fault(path, "I/O error")), "can't be read or written"),
    "locked": (_refusing(locked), "has not finished"),
}
"""By name: how to bring it about, and what the person must be told."""
