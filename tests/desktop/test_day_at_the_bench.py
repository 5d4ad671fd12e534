"""A day at a shop's bench, through real windows: ten jobs, interrupted, two windows at once.

Names, decks and readings are invented. What the readings lead to is checked elsewhere; here the
point is that at the end of the day everything is where a shop looks for it, and nothing else.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QLineEdit

from core.fitting import StepState, Verdict, Work
from core.language import Numbers
from core.records import JobState
from core.steps import STEP_NAMES
from core.store import Library
from core.workflow.replay import journey_of
from desktop.library.job_page import JobPage
from desktop.library.jobs_page import JobsPage
from desktop.library.start_page import StartPage
from desktop.paper.paper_button import PaperButton
from desktop.shell.main_window import MainWindow
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import (
    ALT,
    CTRL,
    Hands,
    RecordingMessages,
    press,
    retype,
    settle,
    tab_to,
    write,
)
from tests.desktop.test_whole_fitting import LEVEL, STANDING, bubble

Key = Qt.Key
Show = Callable[..., MainWindow]
JOBS = 10
DECK, CARTRIDGE = "9-inch arm, three feet", "elliptical, all-round"
NAMES = [f"Quillon Owner-{number}" for number in range(JOBS)]


def today(after: int = 0) -> str:
    return (date.today() + timedelta(days=after)).isoformat()  # noqa: DTZ011 - of this bench


class BenchWindow:
    """One window on the shop's library, and the hands in front of it."""

    def __init__(self, place: Path, remembered: Path, shown: Show) -> None:
        self.messages = RecordingMessages()
        preferences = Preferences(remembered)
        self.window = MainWindow(
            numbers=Numbers(","), preferences=preferences, messages=self.messages
        )
        shown(self.window)
        self.window.open_library(place)
        self.hands = Hands(self.window)

    @property
    def library(self) -> Library:
        assert self.window.library is not None
        return self.window.library

    def close(self) -> None:
        """Close the window, leaving what is typed and not saved."""
        self.messages.answers = [1, 1]
        self.window.close()
        settle()

    def to_front(self) -> None:
        """Look at this window: what the other one wrote is followed."""
        self.window.activateWindow()
        settle()
        QApplication.sendEvent(self.window, QEvent(QEvent.Type.ActivationChange))
        settle()

    def jobs(self) -> JobsPage:
        press(Key.Key_J, CTRL)
        page = self.window.pages.currentWidget()
        assert isinstance(page, JobsPage)
        return page

    def receive(self, number: int, promised: str) -> None:
        """Write a new job down: what came, when it is to be ready, whose it is."""
        self.jobs()
        press(Key.Key_N, ALT)
        page = self.window.pages.currentWidget()
        assert isinstance(page, JobPage)
        said = {"brought": f"Deck {number}", "received": today(-2), "promised": promised}
        for name, words in said.items():
            line = page.form.fields.entries[name].tab_stops()[0]
            assert isinstance(line, QLineEdit)
            retype(line, words)
        line = page.customer.form.fields.entries["name"].tab_stops()[0]
        assert isinstance(line, QLineEdit)
        retype(line, NAMES[number])
        press(Key.Key_S, CTRL)

    def job_of(self, number: int) -> str:
        jobs = self.library.jobs
        return next(
            row.id
            for row in jobs.rows()
            if jobs.records.get(row.id).thing.brought == f"Deck {number}"
        )

    def begin(self, number: int, work: Work) -> Wizard:
        """Begin a fitting for a job, asked for so much."""
        self.window.show_job(self.job_of(number))
        page = self.window.pages.currentWidget()
        assert isinstance(page, JobPage)
        press(Key.Key_T, ALT)
        start = self.window.pages.currentWidget()
        assert isinstance(start, StartPage)
        write(DECK)
        press(Key.Key_Return)
        write(CARTRIDGE)
        press(Key.Key_Return)
        start.work.setFocus()
        press(Key.Key_Home)
        for _ in range(list(Work).index(work)):
            press(Key.Key_Down)
        press(Key.Key_S, ALT)
        wizard = self.window.pages.currentWidget()
        assert isinstance(wizard, Wizard)
        return wizard

    def keep_the_rest(self) -> None:
        """Leave every step that is still open as it is, with a reason, and finish."""
        wizard = self.hands.wizard
        for _ in STEP_NAMES:
            due = wizard.controller.journey.due
            if due is None:
                break
            wizard.go(due)
            self.hands.keep_anyway("not looked at today")
        wizard.go("summary")
        page = wizard.page
        assert isinstance(page, SummaryPage)
        if not page.set_back.isHidden():
            tab_to(page.set_back.tick)
            press(Key.Key_Space)
        page.finish()
        assert wizard.controller.fitting.is_finished

    def hand_over(self, number: int) -> None:
        self.window.show_job(self.job_of(number))
        press(Key.Key_D, ALT)


def test_a_day_of_ten_jobs_with_two_windows_loses_nothing_and_names_nobody(
    shown: Show, tmp_path: Path
) -> None:
    place = tmp_path / "shop.library"
    first = BenchWindow(place, tmp_path / "first.ini", shown)
    for number in range(JOBS):
        first.receive(number, today(number - 1))
    assert len(first.library.jobs.rows()) == JOBS
    assert first.library.jobs.rows()[0].promised == today(-1), "what is overdue comes first"
    short_jobs(first)
    whole = begin_a_whole_fitting(first)
    second = BenchWindow(place, tmp_path / "second.ini", shown)
    work_at_the_other_bench(second)
    # The first window is closed and opened again: it goes on where it was.
    first.to_front()
    first.close()
    first = BenchWindow(place, tmp_path / "first.ini", shown)
    first.to_front()
    assert first.library.jobs.row(first.job_of(3)).state is JobState.HANDED_OVER
    first.window.open_fitting(whole)
    settle()
    assert first.hands.wizard.controller.journey.status("level").state is StepState.DONE
    first.keep_the_rest()
    after_transport(first, tmp_path / "sheet.png")
    hand_over_and_forget(first)
    look_at_everything(first.library, [first.job_of(number) for number in range(JOBS)])
    first.close()
    second.close()
    content = place.read_bytes()
    assert NAMES[6].encode() not in content, "who was forgotten is gone from the file"
    assert NAMES[7].encode() in content


def short_jobs(bench: BenchWindow) -> None:
    """A speed, as quick as it gets; a check-up that finds the level out, and orders nothing."""
    bench.begin(0, Work.SPEED)
    assert bench.hands.wizard.place == "speed"
    bench.hands.read(STANDING[0], **STANDING[1])
    bench.keep_the_rest()
    bench.begin(1, Work.CHECK_UP)
    for way, values in (bubble("Front to rear", 8), bubble("Left to right", 0)):
        bench.hands.read(way, **values)
    level = bench.hands.wizard.controller.journey.status("level").assessment
    assert level.verdict is Verdict.LEFT_AS_FOUND
    assert level.next_move is None
    bench.hands.accept()
    bench.keep_the_rest()


def begin_a_whole_fitting(bench: BenchWindow) -> str:
    """Level is done when the telephone rings; return the fitting's id."""
    bench.begin(2, Work.WHOLE)
    for way, values in LEVEL:
        bench.hands.read(way, **values)
    bench.hands.accept()
    wizard = bench.hands.wizard
    assert wizard.place == "mount"
    return wizard.controller.fitting.id


def work_at_the_other_bench(bench: BenchWindow) -> None:
    """Meanwhile, in a window of its own: downforce alone, and handed over."""
    bench.to_front()
    bench.begin(3, Work.DOWNFORCE)
    assert bench.hands.wizard.place == "final_downforce"
    for _ in range(3):
        bench.hands.read("scale", downforce_gf="2,00")
    bench.hands.accept()
    bench.keep_the_rest()
    bench.hand_over(3)


def after_transport(bench: BenchWindow, place: Path) -> None:
    """Everything that was taken off is looked at; the owner's sheet goes out as a picture."""
    bench.begin(4, Work.AFTER_TRANSPORT)
    bench.keep_the_rest()
    buttons = bench.window.findChildren(PaperButton)
    button = next(one for one in buttons if one.text() == "Owner's sheet…")
    button.open()
    assert button.dialog is not None
    bench.messages.files = [place]
    button.dialog.save_picture()
    button.dialog.close()
    bench.to_front()
    assert not QImage(str(place)).isNull()


def hand_over_and_forget(bench: BenchWindow) -> None:
    """Three are handed over, one that is not ready asks first, one customer is forgotten."""
    for number in (0, 1, 2):
        bench.hand_over(number)
    bench.begin(5, Work.SPEED)
    bench.messages.answers = [0]
    bench.hand_over(5)
    assert bench.library.jobs.row(bench.job_of(5)).handed_over == ""
    customer = bench.library.jobs.records.get(bench.job_of(6)).thing.customer
    assert customer
    bench.library.forget_customer(customer)


def look_at_everything(library: Library, jobs: list[str]) -> None:
    """Every job is in its state, every entry there, nobody's name where it must not be."""
    assert [library.jobs.row(job).state for job in jobs] == [
        *(JobState.HANDED_OVER,) * 4,
        JobState.READY,
        JobState.IN_PROGRESS,
        *(JobState.RECEIVED,) * 4,
    ]
    fittings = library.fittings()
    assert len(fittings) == 6
    assert sum(row.finished for row in fittings) == 5
    for row in fittings:
        fitting = library.fitting(row.id)
        deck_revision, cartridge_revision = fitting.revisions
        deck = library.deck(fitting.deck_id, deck_revision).thing
        cartridge = library.cartridge(fitting.cartridge_id, cartridge_revision).thing
        assert row.finished is (journey_of(deck, cartridge, fitting).due is None)
        assert "Quillon" not in repr(fitting)
    assert library.faults() == []
