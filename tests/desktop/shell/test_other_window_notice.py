"""Two windows on one library: each sees what the other enters, and neither loses anything."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime

import pytest
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from core.fitting import (
    Body,
    Entry,
    Finished,
    NoteWritten,
    ReadingTaken,
    StepAccepted,
    StepState,
    Verdict,
)
from core.language import Numbers
from core.steps import step_named
from core.store import Library
from core.store.sqlite.backups import FileBackups
from desktop.library.screen import LibraryScreen
from desktop.shell.main_window import MainWindow
from desktop.shell.other_window_notice import OtherWindowNotice, others_words
from desktop.tasks.change_watch import ChangeWatch
from desktop.tasks.fitting_controller import FittingController
from desktop.wizard import Wizard
from desktop.wizard.choice_panel import ChoicePanel
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import told_in
from tests.examples import cartridge, deck

Show = Callable[[QWidget], QWidget]


class Bench:
    """Another program at the same file: a connection and a desk of its own."""

    def __init__(self, library: Library, fitting_id: str, who: str) -> None:
        self.library = library
        self.controller = FittingController(library, fitting_id, who=who)

    def keep(self, body: Body) -> None:
        assert self.controller.record(body) is None

    def read(
        self, divisions: float, direction: str = "front-back", *, turned: bool = False
    ) -> None:
        reading = {
            "way": "bubble",
            "direction": direction,
            "turned": turned,
            "divisions": divisions,
        }
        self.keep(ReadingTaken(step="level", reading=reading))

    def level(self) -> None:
        for direction in ("front-back", "left-right"):
            for turned in (False, True):
                self.read(0.0, direction, turned=turned)

    def accept(self) -> str | None:
        now = self.controller.journey.status("level").assessment
        body = StepAccepted(step="level", verdict=now.verdict)
        return self.controller.record(body)


@pytest.fixture
def fitting_id(library: Library) -> str:
    one, other = library.keep_deck(deck()), library.keep_cartridge(cartridge())
    return library.start_fitting(one.id, other.id).id


@pytest.fixture
def ada(library: Library, fitting_id: str) -> Bench:
    return Bench(library, fitting_id, "Ada")


@pytest.fixture
def bo(library: Library, fitting_id: str) -> Iterator[Bench]:
    with Library.open(library.address.path) as other:
        yield Bench(other, fitting_id, "Bo")


def entries(bench: Bench) -> tuple[Entry, ...]:
    return bench.library.fitting(bench.controller.fitting.id).entries


# the desk


def test_what_the_other_entered_is_known_before_the_next_entry_is_judged(
    ada: Bench, bo: Bench
) -> None:
    ada.level()
    assert bo.controller.look() is None
    assert bo.controller.journey.status("level").assessment.verdict is Verdict.GOOD
    ada.read(15.0)
    ada.read(-15.0, turned=True)
    now = bo.controller.journey.status("level").assessment
    body = StepAccepted(step="level", verdict=now.verdict)
    sentence = bo.controller.record(body)
    assert sentence is not None
    assert sentence.startswith("Another window has added to this fitting. The verdict is now")
    assert bo.controller.fitting.entries == entries(ada)
    assert not any(isinstance(entry.body, StepAccepted) for entry in entries(ada))


def test_both_accept_a_step_at_once_and_nothing_is_lost_or_contradicts(
    ada: Bench, bo: Bench
) -> None:
    ada.level()
    bo.controller.look()
    assert ada.accept() is None
    assert bo.accept() is None  # his page still showed the step as open
    ada.controller.look()
    for bench in (ada, bo):
        accepted = [e for e in entries(bench) if isinstance(e.body, StepAccepted)]
        assert [e.who for e in accepted] == ["Ada", "Bo"]
        assert bench.controller.fitting.entries == entries(ada)
        assert bench.controller.journey.status("level").state is StepState.DONE


def test_a_fitting_the_other_has_finished_takes_no_more_readings(ada: Bench, bo: Bench) -> None:
    ada.library.append(ada.controller.fitting.id, Finished())
    assert bo.controller.record(NoteWritten(text="belt is new")) is None
    reading = {"way": "bubble", "direction": "front-back", "turned": False, "divisions": 0.0}
    sentence = bo.controller.record(ReadingTaken(step="level", reading=reading))
    assert sentence is not None
    assert "finished" in sentence
    assert bo.controller.fitting.is_finished


def test_entries_of_both_stand_in_the_order_they_were_kept(ada: Bench, bo: Bench) -> None:
    for number in range(20):
        (ada, bo)[number % 2].keep(NoteWritten(text=str(number)))
    said = [entry.body.model_dump()["text"] for entry in entries(ada)]
    assert said == [str(number) for number in range(20)]
    ada.controller.look()
    assert ada.controller.fitting == bo.controller.fitting


def test_the_others_entries_are_named_once_and_own_ones_never(ada: Bench, bo: Bench) -> None:
    named: list[tuple[str, ...]] = []
    bo.controller.others_added.connect(
        lambda added: named.append(tuple(entry.who for entry in added))
    )
    bo.keep(NoteWritten(text="mine"))
    bo.controller.look()
    assert named == []
    ada.keep(NoteWritten(text="hers"))
    ada.keep(NoteWritten(text="hers too"))
    bo.controller.look()
    bo.controller.look()
    assert named == [("Ada", "Ada")]
    ada.keep(NoteWritten(text="and again"))
    bo.keep(NoteWritten(text="mine, meanwhile"))
    assert named == [("Ada", "Ada"), ("Ada",)]


def test_writing_elsewhere_in_the_library_tells_nothing_of_this_fitting(
    ada: Bench, bo: Bench
) -> None:
    told: list[int] = []
    bo.controller.changed.connect(lambda: told.append(1))
    ada.library.keep_deck(deck(name="Another"))
    assert bo.controller.look() is None
    assert told == []


def test_a_fitting_that_is_gone_after_a_restoration_is_told_in_a_sentence(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    path = tmp_path_factory.mktemp("gone") / "x.library"
    with Library.open(path) as library:
        early = library.address.backups.make(datetime(2025, 3, 1, tzinfo=UTC))
        fitting = library.start_fitting(library.decks()[0].id, library.cartridges()[0].id)
        controller = FittingController(library, fitting.id)
        FileBackups(path).restore(early.path)
        assert "no fitting with the number" in (controller.look() or "")
        assert "no fitting with the number" in (controller.record(NoteWritten(text="x")) or "")


# the watch and the line


def test_the_watch_tells_of_others_and_not_of_ourselves(
    library: Library, qt_owner: QObject, qtbot: QtBot
) -> None:
    watch = ChangeWatch(library, every_ms=5, parent=qt_owner)
    told: list[int] = []
    watch.others_wrote.connect(lambda: told.append(1))
    library.keep_deck(deck())
    watch.look()
    assert told == []
    with (
        Library.open(library.address.path) as other,
        qtbot.waitSignal(watch.others_wrote, timeout=5000),
    ):
        other.keep_deck(deck(name="Another"))
    watch.stop()


def test_the_line_says_who_entered_what(ada: Bench, library: Library) -> None:
    ada.read(3.5)
    (entry,) = entries(ada)
    assert others_words([entry], Numbers(",")).startswith(
        "Entered in another window by Ada: Level: Bubble"
    )
    many = others_words([entry, entry], Numbers())
    assert many.startswith("Entered in another window: 2 entries. The last one by Ada: Level:")
    long = Entry(body=NoteWritten(text="so\nmany words " * 200))
    assert len(others_words([long], Numbers())) < 250
    assert "restored" in others_words([], Numbers())


# the window


@pytest.fixture
def window(window: MainWindow, library: Library) -> MainWindow:
    window.open_library(library.address.path)
    return window


def step_of(window: MainWindow) -> StepPage:
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    assert isinstance(wizard.page, StepPage)
    return wizard.page


def test_a_reading_of_the_other_appears_and_what_is_being_typed_stays(
    window: MainWindow, bo: Bench, fitting_id: str
) -> None:
    window.open_fitting(fitting_id)
    page = step_of(window)
    page.start_reading()
    form = page.reading.form
    assert form is not None
    line = form.fields.entries["divisions"].tab_stops()[0]
    line.setFocus()
    QTest.keyClicks(line, "2.5")
    QApplication.processEvents()
    typed = [stop.property("text") for stop in form.tab_stops()]
    page.side_pane.trail.note_line.setText("half a note")
    bo.read(3.0)
    window._housekeeping.look()
    assert len(told_in(page.side_pane.trail)) == 1
    assert "Bo" in told_in(page.side_pane.trail)[0]
    assert window.others.text.startswith("Entered in another window by Bo: Level:")
    assert [stop.property("text") for stop in form.tab_stops()] == typed
    assert page.reading.has_unsaved()
    assert page.side_pane.trail.note_line.text() == "half a note"
    assert QApplication.focusWidget() is line
    seen = window.others.findChild(QPushButton, "othersSeen")
    assert seen is not None
    seen.click()
    assert window.others.text == ""


def test_coming_to_the_front_shows_what_the_other_entered(
    window: MainWindow, bo: Bench, fitting_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.open_fitting(fitting_id)
    bo.read(3.0)
    assert told_in(step_of(window).side_pane.trail) == []
    monkeypatch.setattr(window, "isActiveWindow", lambda: True)
    QApplication.sendEvent(window, QEvent(QEvent.Type.ActivationChange))
    assert len(told_in(step_of(window).side_pane.trail)) == 1


def test_an_amount_typed_for_a_move_goes_when_the_other_takes_away_its_reason(
    window: MainWindow, ada: Bench, bo: Bench, fitting_id: str
) -> None:
    for turned in (False, True):
        ada.read(-8.0 if turned else 8.0, turned=turned)
        ada.read(0.0, "left-right", turned=turned)
    window.open_fitting(fitting_id)
    page = step_of(window)
    panel = page.move_panel
    field = next(field for field in panel.fields if field is not None)
    field.set_text("0.3")
    moved = field.line
    assert moved.text() == "0.3"
    for turned in (False, True):
        bo.read(-6.0 if turned else 6.0, turned=turned)
    window._housekeeping.look()
    assert page.status.assessment.next_move is None
    assert panel.isHidden(), "an amount left standing would be taken for the next reading"
    assert not panel.has_unsaved()


def test_choices_that_are_being_typed_stay_when_the_other_chooses(shown: Show) -> None:
    step = step_named("arm_height")
    panel = ChoicePanel(step, Numbers())
    shown(panel)
    panel.show_choices(step.Chosen.model_validate({"record_here_mm": 1.6}))
    line = panel.form.fields.entries["record_here_mm"].tab_stops()[0]
    line.setFocus()
    QTest.keyClick(line, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    QTest.keyClicks(line, "1.9")
    QApplication.processEvents()
    assert panel.has_unsaved()
    panel.show_choices(step.Chosen.model_validate({"record_here_mm": 1.4}))
    assert line.property("text") == "1.9"
    assert panel.has_unsaved()
    panel.show_choices(step.Chosen.model_validate({"record_here_mm": 1.9}))
    assert not panel.has_unsaved()
    panel.show_choices(step.Chosen.model_validate({"record_here_mm": 1.4}))
    assert line.property("text") == "1.4"


def test_the_library_shows_what_the_other_added(
    window: MainWindow, fitting_id: str, bo: Bench
) -> None:
    window.show_library()
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    total = screen.under_way.model.total
    bo.library.start_fitting(bo.controller.fitting.deck_id, bo.controller.fitting.cartridge_id)
    window._housekeeping.look()
    assert screen.under_way.model.total == total + 1


def test_the_line_goes_with_the_page_it_spoke_of(
    window: MainWindow, bo: Bench, fitting_id: str
) -> None:
    window.open_fitting(fitting_id)
    bo.read(1.0)
    window._housekeeping.look()
    assert window.others.text
    window.show_library()
    assert window.others.text == ""
    assert isinstance(window.others, OtherWindowNotice)
