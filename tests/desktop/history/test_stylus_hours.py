"""Stylus hours entered, refused, taken back, by keys alone."""

from __future__ import annotations

from typing import Any

import pytest
from PySide6.QtWidgets import QApplication

from core.fitting import HoursRead, Withdrawn
from core.language import Numbers
from core.store import Library, LibraryProblem, ProblemKind
from desktop.widgets.message_line import MessageLine
from tests.desktop.kit import (
    ALT,
    CTRL,
    HistoryBench,
    Key,
    load,
    press,
    problems_in,
    tab_to,
    told_in,
    write,
)
from tests.examples import deck
from tests.visits import keep


def test_hours_are_entered_and_counted(history: HistoryBench) -> None:
    done = history.keep("2025-05-01")
    page = history.page()
    press(Key.Key_E, ALT)
    write("412,5")
    press(Key.Key_Return)
    write("counted by the week")
    press(Key.Key_Return)
    load(page)
    kept = history.library.fitting(done).entries[-1]
    assert kept.body == HoursRead(hours=412.5, note="counted by the week")
    assert kept.who == "Ann"
    assert any("has played 412.5\u00a0h of" in text for text in told_in(page.dues))
    assert page.hours.isHidden()
    assert history.library.fitting(done).is_finished


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("", "Stylus hours"),
        ("many", "number"),
        ("-5", "negative"),
        ("NaN", "number"),
        ("1e9", "needs a number"),
        ("99999999", "too large"),
        ("1.234,5", "both a point and a comma"),
        ("12 mm", "mm"),
    ],
)
def test_what_is_no_number_of_hours_is_refused_and_stays_as_typed(
    history: HistoryBench, typed: str, words: str
) -> None:
    done = history.keep("2025-05-01")
    before = history.library.fitting(done)
    page = history.page()
    press(Key.Key_E, ALT)
    write(typed)
    press(Key.Key_K, ALT)
    assert page.hours.isVisible()
    assert problems_in(page.hours)[-1] == "✕ Not saved yet. Correct what is marked above."
    ((label, problem),) = page.hours.form.problems()
    assert label == "Stylus hours"
    assert words in problem
    shown = [one.text() for one in page.hours.form.findChildren(MessageLine) if one.isVisible()]
    assert shown == [f"✕ {problem}"]
    (line,) = page.hours.form.fields.entries["hours"].tab_stops()
    assert line.property("text") == typed
    assert history.library.fitting(done) == before


def test_fewer_hours_are_asked_about_and_taken_as_a_new_stylus(history: HistoryBench) -> None:
    history.keep("2024-05-01", hours=640)
    page = history.page(Numbers(","))
    press(Key.Key_E, ALT)
    write("12")
    QApplication.processEvents()
    assert page.hours.question() == (
        "? Fewer than the 640\u00a0h entered last: right only if the stylus was replaced."
    )
    press(Key.Key_K, ALT)
    load(page)
    assert any("taken to be those of a new stylus" in text for text in told_in(page.dues))


def test_a_slip_in_the_hours_is_taken_back(history: HistoryBench) -> None:
    done = history.keep("2024-05-01", hours=6400)
    page = history.page()
    assert any(text.startswith("Stylus: due since") for text in told_in(page.dues))
    press(Key.Key_E, ALT)
    assert page.hours.back_button.text() == "Leave o&ut the 6400\u00a0h of 2024-05-01"
    tab_to(page.hours.back_button)
    press(Key.Key_Space)
    load(page)
    assert any("How long it has played is not known" in text for text in told_in(page.dues))
    last = history.library.fitting(done).entries[-1].body
    assert isinstance(last, Withdrawn)
    assert page.hours.isHidden()
    press(Key.Key_E, ALT)
    assert page.hours.back_button.isHidden()


def test_hours_that_can_not_be_kept_stay_on_the_screen(
    history: HistoryBench, monkeypatch: pytest.MonkeyPatch
) -> None:
    done = history.keep("2025-05-01")
    page = history.page()
    tried: list[str] = []
    honest = Library.append

    def full(self: Library, fitting_id: str, body: Any, **how: Any) -> Any:
        tried.append(how["entry_id"])
        if len(tried) < 2:
            raise LibraryProblem(ProblemKind.FULL, "The disk is full.", "Make room.")
        return honest(self, fitting_id, body, **how)

    monkeypatch.setattr(Library, "append", full)
    press(Key.Key_E, ALT)
    write("300")
    press(Key.Key_K, ALT)
    assert problems_in(page.hours)[-1] == "✕ Not saved yet. The disk is full. Make room."
    press(Key.Key_K, ALT)
    load(page)
    assert tried[0] == tried[1]  # tried again, it is the same entry
    assert [
        e.body for e in history.library.fitting(done).entries if isinstance(e.body, HoursRead)
    ] == [HoursRead(hours=300)]


def test_typed_hours_are_not_lost_by_leaving(history: HistoryBench) -> None:
    history.keep("2025-05-01")
    page = history.page()
    left: list[bool] = []
    page.closed.connect(lambda: left.append(True))
    press(Key.Key_E, ALT)
    write("3x")
    history.messages.answers = [0, 1]
    press(Key.Key_W, CTRL)
    assert not left
    press(Key.Key_W, CTRL)
    assert left
    assert len(history.messages.asked) == 2


def test_escape_gives_up_the_hours_then_leaves(history: HistoryBench) -> None:
    history.keep("2025-05-01")
    page = history.page()
    left: list[bool] = []
    page.closed.connect(lambda: left.append(True))
    press(Key.Key_E, ALT)
    press(Key.Key_Escape)
    assert page.hours.isHidden()
    assert not left
    press(Key.Key_Escape)
    assert left


def test_hours_on_another_deck_count(history: HistoryBench) -> None:
    second = history.library.keep_deck(deck(name="Example deck, second", hours_a_week=10.0)).id
    keep(history.library, "2024-06-01", second, history.one)
    history.keep("2025-05-31")
    page = history.page()
    stylus = next(text for text in told_in(page.dues) if text.startswith("Stylus"))
    assert "520\u00a0h" in stylus  # 364 days at 10 h a week
