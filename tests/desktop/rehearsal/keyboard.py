"""A person who rehearses by keyboard: begins, reads the drawn instrument, types, obeys, ends."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QPushButton, QRadioButton

from core.fitting import StepState, Verdict
from core.language import Numbers
from core.practice.instrument_display import InstrumentDisplay
from core.practice.proof.person import Person
from core.practice.saved_rehearsals import CHOSEN
from core.store.places import rehearsal_library_path
from desktop.rehearsal.bench_page import RehearsalBench
from desktop.rehearsal.instrument_panel import InstrumentPanel
from desktop.rehearsal.rehearsal_page import RehearsalPage
from desktop.rehearsal.start_page import RehearsalStart
from desktop.rehearsal.truth_page import TruthPage
from desktop.shell.main_window import MainWindow
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from tests.desktop.kit import Hands, Key, RecordingMessages, settle

USUAL = {
    "level": "bubble",
    "rough_downforce": "scale",
    "final_downforce": "scale",
    "arm_height": "two heights",
    "alignment": "landing and angles",
    "tilt": "gaps",
    "skating": "setting",
    "speed": "strobe",
}
SET_UP: dict[str, dict[str, Any]] = {
    "check weight": {"weight_g": 2.0},
    "timed turns": {"turns": 100},
}
"""What an instrument can't do without, where the person does not mind."""
MOST_DEEDS = 120


def window_of(folder: Path, messages: RecordingMessages, numbers: Numbers) -> MainWindow:
    made = MainWindow(
        numbers=numbers, preferences=Preferences(folder / "own.ini"), messages=messages
    )
    made.open_library(folder / "bench.library")
    return made


def kept_at(folder: Path) -> Path:
    return rehearsal_library_path(folder / "bench.library")


class RehearsalHands(Hands):
    """Works a rehearsal by its keys alone; looks at the drawing through the panel's state."""

    def __init__(self, window: MainWindow, decimal: str = ".") -> None:
        super().__init__(window)
        self.decimal = decimal
        self.person = Person(usual=dict(USUAL), all_speeds=False)

    @property
    def room(self) -> RehearsalPage:
        page = self.window.pages.currentWidget()
        assert isinstance(page, RehearsalPage)
        return page

    @property
    def start(self) -> RehearsalStart:
        page = self.room.pages.currentWidget()
        assert isinstance(page, RehearsalStart)
        return page

    @property
    def bench(self) -> RehearsalBench:
        page = self.room.pages.currentWidget()
        assert isinstance(page, RehearsalBench)
        return page

    @property
    def truth(self) -> TruthPage:
        page = self.room.pages.currentWidget()
        assert isinstance(page, TruthPage)
        return page

    @property
    def wizard(self) -> Wizard:
        wizard = self.bench.wizard
        assert isinstance(wizard, Wizard)
        return wizard

    @property
    def panel(self) -> InstrumentPanel:
        return self.bench.panels[self.wizard.place]

    def open_room(self) -> None:
        """From the first screen."""
        button = next(
            one
            for one in self.window.findChildren(QPushButton)
            if one.text().replace("&", "").startswith("Rehearse on a simulated deck")
        )
        self.tab_to(button, 80)
        self.press(Key.Key_Space)

    def begin(self, number: int | str, difficulty: str = "Gentle", kind: str = "Any") -> None:
        """Fill the form and press Enter on its last field."""
        entries = self.start.form.fields.entries
        self.start.form.start()
        self._fill(entries["difficulty"].tab_stops(), difficulty)
        self._fill(entries["kind"].tab_stops(), kind)
        self._fill(entries["number"].tab_stops(), number)
        self.press(Key.Key_Return)

    def choose(self, way: str, chosen: dict[str, Any]) -> InstrumentDisplay:
        """Choose a way of reading and what the instrument is set up by; look at it."""
        self.press(Key.Key_R, Qt.KeyboardModifier.ControlModifier)
        if self.step.reading.way != way:
            self._choose_way(way)
        self.type({k: v for k, v in chosen.items() if k in CHOSEN.get((self.step.step, way), ())})
        settle()
        shown = self.panel.shown
        assert shown is not None
        assert shown.way == way
        return shown

    def _choose_way(self, way: str) -> None:
        """Walk the ways with the arrow keys, up first: the person has been further down before."""
        self.open_ways()
        buttons = [
            one
            for one in self.step.reading.findChildren(QRadioButton)
            if one.property("way") is not None and not one.isHidden()
        ]
        self.tab_to(next(one for one in buttons if one.isChecked()))
        for key in (Key.Key_Up, Key.Key_Down):
            for _ in buttons:
                if self.step.reading.way == way:
                    return
                self.press(key)
        assert self.step.reading.way == way, f"the way {way!r} is not offered"

    def read_drawn(self, way: str, **chosen: Any) -> InstrumentDisplay:
        """Read what is drawn and keep it."""
        shown = self.choose(way, chosen)
        known = CHOSEN.get((self.step.step, way), ())
        self.type({k: v for k, v in shown.values.items() if k not in known and k != "way"})
        assert self.panel.shown is shown, "typing what is seen must not change what is seen"
        form = self.step.reading.form
        assert form is not None
        before = len(self.bench.controller.fitting.entries)
        self.press(Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
        settle()
        assert len(self.bench.controller.fitting.entries) == before + 1, form.problems()
        return shown

    def type(self, values: dict[str, Any]) -> None:
        form = self.step.reading.form
        assert form is not None
        for name, value in values.items():
            entry = form.fields.entries[name]
            if not entry.isVisible():
                continue
            if not isinstance(value, bool) and isinstance(value, int | float):
                said = f"{value:.6f}".rstrip("0").rstrip(".")
                self._fill(entry.tab_stops(), said.replace(".", self.decimal))
            elif isinstance(value, str):
                label = next(one.label for one in entry.spec.choices if one.value == value)
                self._fill(entry.tab_stops(), label)
            else:
                self._fill(entry.tab_stops(), value)

    def press_button(self, button: QAbstractButton) -> None:
        self.tab_to(button, 120)
        self.press(Key.Key_Space)
        settle()

    def act(self) -> bool:
        """Do the next thing the wizard asks for; False once all is settled."""
        journey = self.bench.controller.journey
        due = journey.due
        if due is None:
            return False
        if self.wizard.place != due:
            self.wizard.go(due)
            settle()
        status = journey.status(due)
        verdict, move = status.assessment.verdict, status.assessment.next_move
        again = status.state is StepState.CHECK_AGAIN
        if verdict.passes and not again:
            self.accept()
        elif verdict in (Verdict.MOVE, Verdict.STOP) and not again and move and move.parts:
            self.move_made()
        else:
            way, chosen = self._asked_for(due)
            self.read_drawn(way, **chosen)
        settle()
        return True

    def _asked_for(self, due: str) -> tuple[str, dict[str, Any]]:
        asked: list[tuple[str, dict[str, Any]]] = []

        def instrument(_step: str, way: str, **chosen: Any) -> None:
            asked.append((way, chosen))

        self.person.read(SimpleNamespace(instrument=instrument), self.bench.controller.journey, due)
        way, chosen = asked[0]
        offered = self.bench.controller.journey.status(due).applicability.ways
        way = way if way in offered else offered[0]
        return way, {**SET_UP.get(way, {}), **chosen}
