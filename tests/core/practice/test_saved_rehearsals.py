"""Rehearsals are kept apart, gone on with where they stood, and ended with the truth."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import ValidationError

from core.fitting import Control, MoveMade, MovePart, ReadingTaken, StepAccepted, Verdict, Withdrawn
from core.language import Numbers, ToldProblem, message
from core.practice.debrief import debrief_of, misleading_controls
from core.practice.faults import Difficulty
from core.practice.proof.closed_loop import Loop
from core.practice.proof.person import Person
from core.practice.rehearsal import Rehearsal
from core.practice.saved_rehearsals import (
    DeckKind,
    Wish,
    begin_rehearsal,
    choices_from,
    make_rehearsal,
    rehearsal_at_start,
    resume_rehearsal,
    unfinished_rehearsals,
    wish_of,
)
from core.records import ArmKind
from core.steps import STEP_NAMES
from core.store import Library, LibraryProblem
from core.store.places import rehearsal_library_path
from core.workflow.replay import journey_of
from tests.core.practice.worlds import plain_world, truths_of
from tests.kit import status_of

TURN = MovePart(control=Control.COUNTERWEIGHT, amount=0.5, unit="turns")
UP = MovePart(control=Control.PILLAR, amount=1.5, unit="mm")


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    with Library.open(tmp_path / "own.rehearsals.library") as one:
        yield one


def truths(rehearsal: Rehearsal) -> list[tuple[str, float]]:
    return [(one.step, one.value) for one in truths_of(rehearsal)]


def move(rehearsal: Rehearsal, library: Library, fitting_id: str, *parts: MovePart) -> str:
    rehearsal.obey(parts)
    return library.append(fitting_id, MoveMade(step="arm_height", parts=parts)).id


@pytest.mark.parametrize("kind", list(DeckKind))
@pytest.mark.parametrize("difficulty", list(Difficulty))
def test_the_same_wish_makes_the_same_deck_of_the_kind_that_was_wished(
    kind: DeckKind, difficulty: Difficulty
) -> None:
    for number in (0, 17, 999_999):
        wish = Wish(difficulty=difficulty, kind=kind, number=number)
        one, other = make_rehearsal(wish), make_rehearsal(wish)
        assert one.deck == other.deck
        assert one.cartridge == other.cartridge
        assert truths(one) == truths(other)
        if kind is not DeckKind.ANY:
            assert one.deck.arm.kind is ArmKind(kind.value)


def test_another_number_or_difficulty_makes_another_deck() -> None:
    one = truths(make_rehearsal(Wish(number=4)))
    assert truths(make_rehearsal(Wish(number=5))) != one
    assert truths(make_rehearsal(Wish(number=4, difficulty=Difficulty.BAD_DAY))) != one


@pytest.mark.parametrize("number", [-1, 1_000_000, 2.5, "many", None])
def test_a_number_that_is_none_is_refused(number: object) -> None:
    with pytest.raises(ValidationError):
        Wish.model_validate({"number": number})


def test_a_rehearsal_is_gone_on_with_as_it_stood_withdrawn_moves_included(
    library: Library,
) -> None:
    fitting_id, rehearsal = begin_rehearsal(library, Wish(number=31))
    move(rehearsal, library, fitting_id, TURN)
    taken_back = move(rehearsal, library, fitting_id, UP)
    library.append(fitting_id, Withdrawn(entry=taken_back))
    move(rehearsal, library, fitting_id, TURN, UP)
    again = resume_rehearsal(library, fitting_id)
    assert again.deck == rehearsal.deck
    assert truths(again) == truths(rehearsal)
    assert truths(again) != truths(rehearsal_at_start(library, fitting_id))
    # And what is moved from here on comes out the same too.
    for one in (again, rehearsal):
        one.obey([UP])
    assert truths(again) == truths(rehearsal)


def test_looks_after_a_pause_have_errors_of_their_own(library: Library) -> None:
    fitting_id, rehearsal = begin_rehearsal(
        library, Wish(number=31, difficulty=Difficulty.ORDINARY)
    )
    before = []
    for _ in range(6):
        shown = rehearsal.instrument("level", "ruler", direction="left-right")
        before.append(shown.values["gap_mm"])
        library.append(fitting_id, ReadingTaken(step="level", reading=dict(shown.values)))
    again = resume_rehearsal(library, fitting_id)
    after = [
        again.instrument("level", "ruler", direction="left-right").values["gap_mm"]
        for _ in range(6)
    ]
    assert after != before
    never_left = [
        rehearsal.instrument("level", "ruler", direction="left-right").values["gap_mm"]
        for _ in range(6)
    ]
    assert after == never_left


def test_those_left_half_way_are_listed_and_those_put_away_are_not(library: Library) -> None:
    first, _ = begin_rehearsal(library, Wish(number=1))
    second, _ = begin_rehearsal(library, Wish(number=2, kind=DeckKind.PARALLEL))
    assert {one.row.id for one in unfinished_rehearsals(library)} == {first, second}
    assert wish_of(library, second) == Wish(number=2, kind=DeckKind.PARALLEL)
    library.archive_fitting(first)
    assert [one.wish.number for one in unfinished_rehearsals(library)] == [2]


@pytest.mark.parametrize(
    "fact", ["", "no json", "[]", '{"number": 4}', '{"number": -4, "seed": 1}']
)
def test_a_rehearsal_whose_deck_is_not_known_any_more_says_so(library: Library, fact: str) -> None:
    fitting_id, _ = begin_rehearsal(library, Wish(number=1))
    library.keep_fact(f"rehearsal:{fitting_id}", fact)
    with pytest.raises(LibraryProblem, match="rehearsal"):
        resume_rehearsal(library, fitting_id)


def test_rehearsals_lie_beside_the_library_and_never_in_it(tmp_path: Path) -> None:
    real = tmp_path / "setdown.library"
    assert rehearsal_library_path(real) == tmp_path / "setdown.rehearsals.library"
    assert rehearsal_library_path(tmp_path / "bench") == tmp_path / "bench.rehearsals"


def test_a_motor_started_a_moment_ago_is_cold() -> None:
    rehearsal = make_rehearsal(Wish(number=3))
    warm = rehearsal.deck.platter.warm_up_min
    cold = choices_from(rehearsal, "speed", "strobe", {"minutes_running": warm / 2})
    assert cold == {"cold": True}
    assert choices_from(rehearsal, "speed", "strobe", {"minutes_running": warm + 1}) == {}
    assert choices_from(rehearsal, "speed", "strobe", {"drifted_bars": 3.0}) == {}


def test_a_control_that_lies_is_named_with_what_it_truly_does() -> None:
    world = plain_world()
    pitch = world.deck.plinth.pitch_mm_per_turn
    assert pitch is not None
    for foot in world.feet.values():
        foot.effect = pitch
    assert misleading_controls(world) == ()
    for foot in world.feet.values():
        foot.effect = 1.5 * pitch
    (feet,) = misleading_controls(world)
    assert (Numbers().text(feet.control), feet.times) == ("Every foot", pytest.approx(1.5))
    first = next(iter(world.feet))
    world.feet[first].effect = -pitch
    named = {Numbers().text(one.control): one for one in misleading_controls(world)}
    assert named[f"Foot: {first}"].times == pytest.approx(-1.0)
    assert "the other way round" in Numbers().text(named[f"Foot: {first}"].sentence)
    assert "1,50 times" in Numbers(",").text(feet.sentence)


def test_whoever_is_said_to_mislead_by_the_dice_is_found_in_the_deck() -> None:
    """The hidden list and the knobs, two ways to the same thing, on a hundred bad days."""
    named = {"level", "rough_downforce", "arm_height", "tilt", "speed"}
    missed = found = 0
    for number in range(100):
        rehearsal = make_rehearsal(Wish(number=number, difficulty=Difficulty.BAD_DAY))
        told = {one.step for one in misleading_controls(rehearsal.world)}
        lied = rehearsal.misleading & named
        found += len(lied & told)
        missed += len(lied - told)
    assert found > 50
    # A lie of less than a tenth after the honest spread is on nobody's list; so is a foot or a
    # collar that this deck does not let anybody turn.
    assert missed <= 0.25 * found


def test_the_end_judges_every_word_of_the_wizard_by_the_truth() -> None:
    rehearsal = make_rehearsal(Wish(number=12))
    loop = Loop(rehearsal, _person())
    loop.play()
    journey = journey_of(rehearsal.deck, rehearsal.cartridge, loop.fitting)
    endings = debrief_of(make_rehearsal(Wish(number=12)), rehearsal, journey)
    assert [one.step for one in endings] == list(STEP_NAMES)
    for one in endings:
        status = status_of(journey, one.step)
        truth = rehearsal.truth_of(one.step)
        assert one.after == truth
        if truth is None:
            assert one.was_true is None
        elif status.assessment.verdict is Verdict.GOOD and status.is_settled:
            assert one.was_true is truth.is_inside
    moved = [one for one in endings if one.before and one.before.value != one.after.value]
    assert moved


def test_a_good_that_is_not_so_is_called_that() -> None:
    rehearsal = make_rehearsal(Wish(number=12))
    loop = Loop(rehearsal, _person())
    loop.play()
    accepted = [e.body for e in loop.fitting.entries if isinstance(e.body, StepAccepted)]
    assert accepted
    rehearsal.world.pillar.place += 6.0  # behind the wizard's back
    journey = journey_of(rehearsal.deck, rehearsal.cartridge, loop.fitting)
    endings = debrief_of(make_rehearsal(Wish(number=12)), rehearsal, journey)
    (height,) = [one for one in endings if one.step == "arm_height"]
    assert height.was_true is False
    said = Numbers(",").text(height.judgement)
    assert said.startswith("Not so. In truth it is off by ")
    assert "," in said


def test_steps_that_were_not_brought_to_an_end_say_so() -> None:
    rehearsal = make_rehearsal(Wish(number=12))
    loop = Loop(rehearsal, _person())
    journey = journey_of(rehearsal.deck, rehearsal.cartridge, loop.fitting)
    for one in debrief_of(make_rehearsal(Wish(number=12)), rehearsal, journey):
        assert one.was_true is None
        assert Numbers().text(one.judgement).startswith("Not finished.")
        assert one.before == one.after


def _person() -> Person:
    usual = {
        "level": "bubble", "rough_downforce": "scale", "final_downforce": "scale",
        "arm_height": "two heights", "alignment": "landing and angles", "tilt": "gaps",
        "skating": "setting", "speed": "strobe",
    }  # fmt: skip # rows of a table
    return Person(usual=usual, all_speeds=False)


def test_where_no_deck_of_a_kind_comes_up_that_is_told_in_any_language(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("core.practice.saved_rehearsals._TRIES", 0)
    with pytest.raises(ToldProblem) as told:
        make_rehearsal(Wish(number=4711))
    assert told.value.what == message("practice.no_such_deck", number=4711)
    assert "under number 4711: take another number" in told.value.sentence
