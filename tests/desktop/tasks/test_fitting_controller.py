"""The desk: what is kept is durable, what is refused changes nothing."""

from __future__ import annotations

import pytest

from core.fitting import NoteWritten, ReadingTaken, StepAccepted, ThingsRevised, Verdict
from core.language import Numbers
from core.steps import reading_from
from core.store import Library, LibraryProblem, ProblemKind
from desktop.tasks.fitting_controller import FittingController
from tests.examples import cartridge, deck

READING = {"way": "bubble", "direction": "front-back", "divisions": 3.5}


@pytest.fixture
def controller(library: Library) -> FittingController:
    one, other = library.keep_deck(deck()), library.keep_cartridge(cartridge())
    fitting = library.start_fitting(one.id, other.id, who="A. Tester")
    return FittingController(library, fitting.id, who="A. Tester", numbers=Numbers(","))


def test_a_kept_entry_is_in_the_library_and_the_journey_is_told_of(
    controller: FittingController, library: Library
) -> None:
    told: list[int] = []
    controller.changed.connect(lambda: told.append(1))
    assert controller.record(ReadingTaken(step="level", reading=READING)) is None
    assert told == [1]
    assert library.fitting(controller.fitting.id) == controller.fitting
    assert controller.journey.status("level").assessment.verdict is Verdict.READ_AGAIN


@pytest.mark.parametrize(
    ("body", "part"),
    [
        (ReadingTaken(step="tilt", reading={}), "first."),
        (ReadingTaken(step="level", reading={"way": "bubble"}), "can't be saved"),
        (StepAccepted(step="level", verdict=Verdict.GOOD), "look again before you accept"),
        (StepAccepted(step="level", verdict=Verdict.NO_READING), "Say why you keep this"),
    ],
)
def test_what_the_journey_refuses_changes_nothing(
    controller: FittingController, library: Library, body: ReadingTaken | StepAccepted, part: str
) -> None:
    sentence = controller.record(body)
    assert sentence is not None
    assert part in sentence
    assert library.fitting(controller.fitting.id).entries == ()
    assert controller.fitting.entries == ()


def test_a_library_that_fails_is_told_with_its_remedy_and_can_be_tried_again(
    controller: FittingController, library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked(*_: object, **__: object) -> None:
        raise LibraryProblem(ProblemKind.LOCKED, "Another window writes.", "Wait a moment.")

    with monkeypatch.context() as patched:
        patched.setattr(type(library), "append", locked)
        sentence = controller.record(NoteWritten(text="dusty"))
    assert sentence == "Not saved: Another window writes. Wait a moment."
    assert controller.fitting.entries == ()
    assert controller.record(NoteWritten(text="dusty")) is None
    assert len(library.fitting(controller.fitting.id).entries) == 1


def test_typing_is_judged_without_keeping_anything(
    controller: FittingController, library: Library
) -> None:
    draft = reading_from("level", READING)
    assert controller.while_typing("level", draft).verdict is Verdict.READ_AGAIN
    assert controller.journey.status("level").assessment.verdict is Verdict.NO_READING
    assert library.fitting(controller.fitting.id).entries == ()


def test_a_revised_deck_counts_from_the_entry_that_says_so(
    controller: FittingController, library: Library
) -> None:
    fitting = controller.fitting
    library.keep_deck(deck(tolerances={"level_mm_per_m": 9.0}), id=fitting.deck_id)
    assert controller.journey.deck.tolerances.level_mm_per_m == 2.0
    assert controller.record(ThingsRevised(deck_revision=2, cartridge_revision=1)) is None
    assert controller.journey.deck.tolerances.level_mm_per_m == 9.0


def test_an_entry_tried_again_after_a_failure_is_kept_once(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    deck, cartridge = library.decks()[0], library.cartridges()[0]
    fitting = library.start_fitting(deck.id, cartridge.id)
    controller = FittingController(library, fitting.id)
    append = library.append

    def kept_but_the_answer_is_lost(*args: object, **named: object) -> object:
        append(*args, **named)
        raise LibraryProblem(ProblemKind.VANISHED, "The disk went away.", "Plug it in again.")

    monkeypatch.setattr(library, "append", kept_but_the_answer_is_lost)
    note = NoteWritten(text="belt replaced")
    assert controller.record(note) is not None
    monkeypatch.setattr(library, "append", append)
    assert controller.record(note) is None
    assert len(library.fitting(fitting.id).entries) == 1
    assert controller.record(note) is None, "said twice on purpose is kept twice"
    assert len(library.fitting(fitting.id).entries) == 2
