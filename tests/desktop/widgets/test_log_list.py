"""The entries of one fitting on the screen."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from core.fitting import Entry, Fitting, NoteWritten, Withdrawn
from core.language import Numbers
from desktop.widgets.log_list import LogList
from tests.desktop.kit import told_in
from tests.visits import fitting, noon

Show = Callable[[QWidget], QWidget]


def noted(*who: str) -> Fitting:
    """Return a fitting with a note of each of these people."""
    entries = tuple(
        Entry(id=str(place), at=noon("2025-03-04"), who=one, body=NoteWritten(text=f"note {place}"))
        for place, one in enumerate(who)
    )
    return fitting("2025-03-04", said=()).model_copy(update={"entries": entries})


def shown_words(widget: QWidget) -> list[str]:
    return [label.text() for label in widget.findChildren(QLabel)]


def test_one_person_is_named_once_and_several_with_each_entry(shown: Show) -> None:
    alone = LogList(Numbers(), noted("Ann", "Ann"))
    shown(alone)
    assert "2025-03-04, Ann" in shown_words(alone)
    assert "Note: note 1" in shown_words(alone)
    both = LogList(Numbers(), noted("Ann", "Ben", ""))
    shown(both)
    assert "2025-03-04" in shown_words(both)
    assert {"Note: note 0 (Ann)", "Note: note 1 (Ben)", "Note: note 2"} <= set(shown_words(both))


def test_what_does_not_count_is_struck_out_and_said_so(shown: Show) -> None:
    of = noted("Ann").with_entry(
        Entry(id="gone", at=noon("2025-03-05"), who="Ann", body=Withdrawn(entry="0"))
    )
    widget = LogList(Numbers(), of)
    shown(widget)
    assert any("left out: Note: note 0" in text for text in told_in(widget))
    (struck,) = [label for label in widget.findChildren(QLabel) if label.font().strikeOut()]
    assert struck.text() == "Note: note 0"


def test_a_long_log_is_shown_a_page_at_a_time_the_newest_first(shown: Show) -> None:
    widget = LogList(Numbers(), noted(*["Ann"] * 150))
    shown(widget)
    assert [text.rpartition(" ")[2] for text in told_in(widget)] == [str(n) for n in range(90, 150)]
    assert "Entries 91 to 150 of 150" in shown_words(widget)
    assert not widget.turner.later.isEnabled()
    for first, last in ((30, 90), (0, 30)):
        widget.turner.earlier.setFocus()
        QTest.keyClick(widget.turner.earlier, Qt.Key.Key_Space)
        told = [text.rpartition(" ")[2] for text in told_in(widget)]
        assert told == [str(n) for n in range(first, last)]
    assert not widget.turner.earlier.isEnabled()
    assert QApplication.focusWidget() is widget.turner.later
    widget.show_fitting(noted(*["Ann"] * 151))
    assert told_in(widget)[-1].endswith("note 150"), "what is new is on show"
    widget.show_fitting(noted("Ann"))
    assert not widget.turner.isVisible()
