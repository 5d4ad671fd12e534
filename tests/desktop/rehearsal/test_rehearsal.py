"""A rehearsal through the real window, by keyboard, from the first screen to the truth."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton

from core.fitting import MoveMade, ReadingTaken
from core.language import Numbers
from core.practice.saved_rehearsals import unfinished_rehearsals
from core.store import Library
from desktop.library.screen import LibraryScreen
from desktop.rehearsal.bench_page import RehearsalBench
from desktop.rehearsal.truth_page import TruthPage
from desktop.shell.main_window import MainWindow
from desktop.widgets.library_problem_page import LibraryProblemPage
from tests.core.practice.worlds import truths_of
from tests.desktop.kit import Key, RecordingMessages, settle, told_in, words_of
from tests.desktop.rehearsal.keyboard import MOST_DEEDS, RehearsalHands, kept_at, window_of

Shown = Callable[[MainWindow], MainWindow]
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def hands(tmp_path: Path, shown: Shown, messages: RecordingMessages) -> Iterator[RehearsalHands]:
    yield RehearsalHands(shown(window_of(tmp_path, messages, Numbers())))
    messages.answers.append(1)  # whatever is typed and not kept may go


def in_the_real_library(hands: RehearsalHands) -> tuple[int, int, int]:
    library = hands.window.library
    assert library is not None
    return len(library.fittings()), len(library.decks()), len(library.cartridges())


def truths(hands: RehearsalHands) -> list[tuple[str, float]]:
    return [(one.step, one.value) for one in truths_of(hands.bench.rehearsal)]


def test_a_rehearsal_is_begun_from_the_first_screen_and_stays_apart_from_real_decks(
    hands: RehearsalHands, tmp_path: Path
) -> None:
    before = in_the_real_library(hands)
    hands.open_room()
    assert hands.focus() is hands.start.form.tab_stops()[0]
    hands.begin(12)
    assert "Rehearsal: nothing here touches your decks." in words_of(hands.bench)
    assert hands.wizard.place == "level"
    hands.read_drawn("bubble", direction="front-back")
    assert in_the_real_library(hands) == before
    assert (tmp_path / "bench.rehearsals.library").exists()
    with Library.open(tmp_path / "bench.library") as real:
        assert not real.fittings()
        assert not [row for row in real.decks() if "Practice" in row.name]
    with Library.open(kept_at(tmp_path)) as kept:
        ((row,), wish) = kept.fittings(), unfinished_rehearsals(kept)[0].wish
        assert row.entry_count == 1
        assert wish.number == 12


def test_nothing_is_filled_in_and_what_is_typed_is_kept_as_it_was_read(
    hands: RehearsalHands,
) -> None:
    hands.open_room()
    hands.begin(12)
    shown = hands.choose("bubble", {"direction": "left-right", "turned": True})
    assert shown.values["direction"] == "left-right"
    assert shown.values["turned"] is True
    form = hands.step.reading.form
    assert form is not None
    assert form.draft() is None, "the value is for the person to read"
    drawn = hands.panel.view.drawing
    assert drawn is not None
    assert drawn.title == "Bubble level"
    assert f"{shown.values['divisions']}" not in words_of(hands.panel)
    hands.type({"divisions": shown.values["divisions"]})
    hands.press(Key.Key_Return, CTRL)
    settle()
    (entry,) = hands.bench.controller.fitting.entries
    assert isinstance(entry.body, ReadingTaken)
    assert entry.body.reading["divisions"] == shown.values["divisions"]
    assert entry.body.reading["turned"] is True
    after = hands.panel.shown
    assert after is not None
    assert after is not shown
    asked = hands.step.status.assessment.next_reading
    assert asked is not None
    assert asked.values["direction"] == "front-back"
    for name in ("direction", "turned"):
        assert after.values[name] == asked.values[name], "the form is set as asked, the level too"


def test_look_again_is_another_look_with_an_error_of_its_own(hands: RehearsalHands) -> None:
    hands.open_room()
    hands.begin(12)
    hands.choose("bubble", {"direction": "front-back"})
    seen = set()
    for _ in range(12):
        assert hands.panel.shown is not None
        seen.add(hands.panel.shown.values["divisions"])
        hands.press(Key.Key_L, CTRL)
    assert len(seen) > 1


def test_moves_are_obeyed_and_a_rehearsal_is_gone_on_with_after_a_restart(
    hands: RehearsalHands, tmp_path: Path, shown: Shown, messages: RecordingMessages
) -> None:
    hands.open_room()
    hands.begin(12)
    fresh = truths(hands)
    while not any(isinstance(e.body, MoveMade) for e in hands.bench.controller.fitting.entries):
        assert hands.act()
    stood = truths(hands)
    assert stood != fresh, "the simulated deck did as it was told"
    entries = hands.bench.controller.fitting.entries
    hands.press(Key.Key_W, CTRL)
    settle()
    assert isinstance(hands.window.pages.currentWidget(), LibraryScreen)
    hands.window.close()

    again = RehearsalHands(shown(window_of(tmp_path, messages, Numbers())))
    again.open_room()
    (button,) = again.start.go_on_buttons
    assert "number 12" in button.text()
    again.press_button(button)
    assert again.bench.controller.fitting.entries == entries
    assert truths(again) == stood
    assert again.wizard.place == again.bench.controller.journey.due
    again.act()
    assert len(again.bench.controller.fitting.entries) == len(entries) + 1
    assert not messages.told


def test_the_same_number_is_the_same_deck_and_the_truth_can_be_shown_at_any_time(
    hands: RehearsalHands,
) -> None:
    hands.open_room()
    hands.begin(77, "Ordinary", "Parallel")
    deck, first = hands.bench.rehearsal.deck, truths(hands)
    hands.read_drawn("bubble", direction="front-back")
    hands.press_button(hands.bench.end_button)
    assert "of 8 steps are really near enough" in hands.truth.verdict.text()
    assert len(hands.truth.rows()) == 9
    hands.press_button(hands.truth.same_button)
    assert hands.bench.rehearsal.deck == deck
    assert truths(hands) == first
    assert not hands.bench.controller.fitting.entries
    hands.press_button(hands.bench.end_button)
    hands.press_button(hands.truth.another_button)
    form = hands.start.form.draft()
    assert form is not None
    assert form.model_dump()["kind"] == "parallel tracking"
    assert not hands.start.go_on_buttons, "what was ended is off the list"


def test_what_was_read_stands_beside_what_was_true(hands: RehearsalHands) -> None:
    hands.open_room()
    hands.begin(12)
    shown = hands.choose("bubble", {"direction": "front-back"})
    slipped = shown.values["divisions"] + 8.0
    true = hands.bench.rehearsal.world.slope()[1]
    kit = hands.bench.rehearsal.deck.bench
    hands.type({"divisions": slipped})
    hands.press(Key.Key_Return, CTRL)
    settle()
    hands.press_button(hands.bench.end_button)
    (said,) = [text for text in told_in(hands.truth) if ": read " in text]
    division = hands.truth._own[0][0]
    assert division.read == pytest.approx(slipped)
    size = division.truth * kit.bubble_mm_per_m_per_div
    assert size == pytest.approx(true, abs=0.01)
    assert said.startswith("Bubble level, Bubble off centre: read ")
    assert "more than the" in said
    off = [row for row in hands.truth.rows() if row[3].startswith("✕")]
    assert off
    assert 0 < len(hands.truth.costs) <= len(off)
    assert said in [one.accessibleName() for one in hands.truth.findChildren(QLabel)]


def test_the_truth_seen_one_may_go_on_all_the_same(hands: RehearsalHands) -> None:
    hands.open_room()
    hands.begin(12)
    hands.read_drawn("bubble", direction="front-back")
    hands.press_button(hands.bench.end_button)
    hands.press_button(hands.truth.go_on_button)
    assert len(hands.bench.controller.fitting.entries) == 1
    hands.press_button(hands.bench.end_button)
    hands.press_button(hands.truth.back_button)
    assert isinstance(hands.window.pages.currentWidget(), LibraryScreen)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "“Number” needs"),
        ("-3", "“Number”"),
        ("1000000", "“Number”"),
        ("2.5", "“Number”"),
        ("lucky", "“lucky” is not one"),
    ],
)
def test_a_bad_number_is_one_clear_sentence_and_stays_as_typed(
    hands: RehearsalHands, typed: str, said: str
) -> None:
    hands.open_room()
    entry = hands.start.form.fields.entries["number"]
    hands.tab_to(entry.tab_stops()[0])
    hands.press(Key.Key_A, CTRL)
    hands.press(Key.Key_Delete)
    hands.write(typed)
    hands.press(Key.Key_Return)
    assert words_of(hands.start).count(said) == 1, "said once, at its field"
    assert "marked above" in hands.start.problem.text()
    assert hands.start.problem.isVisible()
    assert entry.tab_stops()[0].text() == typed
    hands.press_button(hands.start.another_button)
    hands.press(Key.Key_Return)
    assert isinstance(hands.bench, RehearsalBench)


def test_two_fresh_starts_have_two_fresh_numbers(hands: RehearsalHands) -> None:
    numbers = set()
    for _ in range(4):
        hands.open_room()
        wish = hands.start.form.draft()
        assert wish is not None
        numbers.add(wish.model_dump()["number"])
        hands.press(Key.Key_Escape)
        assert isinstance(hands.window.pages.currentWidget(), LibraryScreen)
    assert len(numbers) > 1


def test_a_foreign_lock_does_not_hold_a_rehearsal_up_for_seconds(hands: RehearsalHands) -> None:
    hands.open_room()
    library = hands.room.library
    assert library is not None
    ((waits_ms,),) = library._backend.rows("PRAGMA busy_timeout")
    assert waits_ms <= 500


@pytest.mark.parametrize("way", ["anew", "unkept"])
def test_rehearsals_that_do_not_open_are_no_dead_end(
    hands: RehearsalHands, tmp_path: Path, way: str
) -> None:
    before = in_the_real_library(hands)
    kept_at(tmp_path).write_bytes(b"nothing of the kind" * 100)
    hands.open_room()
    page = hands.room.pages.currentWidget()
    assert isinstance(page, LibraryProblemPage)
    hands.press_button(page.buttons[way])
    hands.begin(12)
    hands.read_drawn("bubble", direction="front-back")
    hands.press(Key.Key_W, CTRL)
    settle()
    assert isinstance(hands.window.pages.currentWidget(), LibraryScreen)
    assert in_the_real_library(hands) == before
    spoilt = kept_at(tmp_path).read_bytes().startswith(b"nothing of the kind")
    assert spoilt is (way == "unkept"), "only a person who asks for it begins the file anew"


def test_back_from_rehearsals_that_do_not_open_leads_to_the_library(
    hands: RehearsalHands, tmp_path: Path
) -> None:
    kept_at(tmp_path).write_bytes(b"nothing of the kind" * 100)
    hands.open_room()
    page = hands.room.pages.currentWidget()
    assert isinstance(page, LibraryProblemPage)
    hands.press_button(page.buttons["again"])
    page = hands.room.pages.currentWidget()
    assert isinstance(page, LibraryProblemPage)
    hands.press_button(page.buttons["back"])
    assert isinstance(hands.window.pages.currentWidget(), LibraryScreen)


def test_what_is_typed_and_not_kept_is_asked_about_before_the_truth_is_shown(
    hands: RehearsalHands, messages: RecordingMessages
) -> None:
    hands.open_room()
    hands.begin(12)
    hands.choose("bubble", {})
    hands.type({"divisions": 1.5})
    messages.answers.append(0)
    hands.press_button(hands.bench.end_button)
    assert len(messages.asked) == 1
    assert isinstance(hands.room.pages.currentWidget(), RehearsalBench)
    messages.answers.append(1)
    hands.press_button(hands.bench.end_button)
    assert isinstance(hands.room.pages.currentWidget(), TruthPage)


def test_nothing_leads_from_a_rehearsal_to_real_decks_and_looks_can_be_changed(
    hands: RehearsalHands,
) -> None:
    hands.open_room()
    hands.begin(12)
    asked: list[None] = []
    hands.room.appearance_wanted.connect(lambda: asked.append(None))
    hands.press_button(hands.wizard.appearance_button)
    assert asked
    hands.wizard.go("summary")
    settle()
    told = [one.text() for one in hands.bench.findChildren(QPushButton) if one.isVisible()]
    assert not [words for words in told if "another cartridge" in words or "istory" in words]


def test_a_whole_gentle_rehearsal_by_keyboard_ends_with_the_truth(
    hands: RehearsalHands, messages: RecordingMessages
) -> None:
    before = in_the_real_library(hands)
    hands.open_room()
    hands.begin(12)
    for _ in range(MOST_DEEDS):
        if not hands.act():
            break
    assert hands.bench.controller.journey.due is None
    hands.press(Key.Key_0, CTRL)
    if not hands.wizard.page.set_back.isHidden():
        hands.press_button(hands.wizard.page.set_back.tick)
    hands.press_button(hands.wizard.page.finish_button)
    rows = {row[0]: row for row in hands.truth.rows()}
    assert len(rows) == 9
    assert all(row[-1] != "Not finished." for row in rows.values())
    right = [row for row in rows.values() if row[-1] == "That is true."]
    assert len(right) >= 6
    assert rows["Final downforce"][3].startswith("✓")
    assert rows["Final downforce"][2] != rows["Final downforce"][3]
    assert in_the_real_library(hands) == before
    assert not messages.told
