"""A fitting on one of several arms: what it sees of the deck, and what the other arms do to it."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from core.fitting import (
    ArmUsed,
    Body,
    Control,
    Fitting,
    MoveMade,
    MovePart,
    OnArm,
    ReadingTaken,
    StepAccepted,
    StepState,
    ThingsRevised,
    Verdict,
    Work,
)
from core.records import first_arm
from core.steps import STEPS_OF_DECK
from core.store import Library, LibraryProblem, ProblemKind
from core.swap.deck_work import work_elsewhere
from core.workflow.arm_used import (
    OtherArmWork,
    changes_of_arm,
    set_aside_by,
    told_of_arm,
    used_arm,
)
from core.workflow.mat_change import told_of_mat_by_arm
from core.workflow.replay import journey_of
from core.workflow.work import work_asked
from tests.arms import REAR, rear_arm, two_arms
from tests.examples import cartridge, deck
from tests.kit import BEGAN, fitting_of
from tests.worded import worded
from tests.worked import LEFT

FRONT_USED, REAR_USED = ArmUsed.of(first_arm(two_arms())), ArmUsed.of(rear_arm())
LEVELLED: tuple[Body, ...] = (
    *(ReadingTaken(step="level", reading=one) for one in LEFT["level"]),
    StepAccepted(step="level", verdict=Verdict.GOOD),
)
TURNED = MoveMade(
    step="level",
    parts=(MovePart(control=Control.FOOT, where="rear", amount=0.5, unit="turns"),),
)
WEIGHED = ReadingTaken(step="rough_downforce", reading={"way": "scale", "downforce_gf": 2.0})


def test_a_fitting_sees_the_deck_with_its_arm_alone() -> None:
    journey = journey_of(two_arms(), cartridge(), fitting_of(REAR_USED))
    assert journey.deck.arm.effective_length_mm == 308.8
    assert journey.deck.further_arms == ()
    assert journey.arm == OnArm(REAR, "Rear arm")
    first = journey_of(two_arms(), cartridge(), fitting_of(FRONT_USED))
    assert first.deck.arm.effective_length_mm == 239.296
    assert first.arm == OnArm("", "Front arm")


def test_a_deck_with_one_arm_says_nothing_of_arms() -> None:
    journey = journey_of(deck(), cartridge(), fitting_of(*LEVELLED))
    assert journey.arm is None
    assert journey.deck == deck()


def test_an_arm_that_the_record_has_no_more_is_said_to_be_gone() -> None:
    journey = journey_of(deck(), cartridge(), fitting_of(REAR_USED))
    assert journey.arm == OnArm(REAR, "Rear arm", is_gone=True)
    assert journey.deck.arm == rear_arm().arm


def test_a_name_that_was_corrected_since_is_told_anew() -> None:
    named = two_arms(further_arms=(rear_arm("Long arm"),))
    assert journey_of(named, cartridge(), fitting_of(REAR_USED)).arm == OnArm(REAR, "Long arm")


def test_another_arm_keeps_the_level_and_shuts_the_gate_again() -> None:
    fitting = fitting_of(FRONT_USED, *LEVELLED, WEIGHED)
    before = journey_of(two_arms(), cartridge(), fitting)
    assert before.gate.is_open
    assert set_aside_by(fitting, rear_arm()) == 1
    changed = fitting_of(FRONT_USED, *LEVELLED, WEIGHED, used_arm(rear_arm()))
    after = journey_of(two_arms(), cartridge(), changed)
    assert after.status("level").state is StepState.DONE
    assert after.status("rough_downforce").trials == ()
    assert not after.gate.is_open


def other(at: datetime, *, moved: bool) -> OtherArmWork:
    return OtherArmWork("level", at, at if moved else None, "Rear arm")


def test_feet_that_were_turned_with_another_arm_send_the_level_back() -> None:
    fitting = fitting_of(FRONT_USED, *LEVELLED)
    later = fitting.entries[-1].at + timedelta(hours=1)

    def stands(work: OtherArmWork) -> StepState:
        return journey_of(two_arms(), cartridge(), fitting, elsewhere=[work]).status("level").state

    assert stands(other(later, moved=True)) is StepState.CHECK_AGAIN
    assert stands(other(later, moved=False)) is StepState.DONE
    assert stands(other(BEGAN - timedelta(days=1), moved=True)) is StepState.DONE
    again = journey_of(two_arms(), cartridge(), fitting, elsewhere=[other(later, moved=True)])
    assert "Rear arm" in worded(again.status("level").reason)


def test_a_level_found_with_another_arm_is_told_and_asked_for_again() -> None:
    work = other(BEGAN - timedelta(days=1), moved=False)
    journey = journey_of(two_arms(), cartridge(), fitting_of(FRONT_USED), elsewhere=[work])
    status = journey.status("level")
    assert status.state is StepState.TO_DO
    assert status.trials == ()
    assert "read it again" in worded(status.reason)


def test_what_other_fittings_did_to_the_deck_is_gathered(tmp_path: Path) -> None:
    with Library.open(tmp_path / "one.library") as library:
        deck_id = library.keep_deck(two_arms()).id
        one = library.keep_cartridge(cartridge()).id

        def begun(key: str) -> Fitting:
            return library.start_fitting(deck_id, one, arm_key=key)

        front, rear = begun(""), begun(REAR)
        on_file = library.deck(deck_id).thing
        assert work_elsewhere(library, on_file, front) == ()
        library.append(rear.id, WEIGHED)
        assert work_elsewhere(library, on_file, front) == ()
        library.append(rear.id, LEVELLED[0])
        moved = library.append(rear.id, TURNED)
        last = library.append(rear.id, LEVELLED[0])
        (work,) = work_elsewhere(library, on_file, front)
        assert (work.step, work.arm) == ("level", "Rear arm")
        assert (work.moved_at, work.at) == (moved.at, last.at)
        assert work_elsewhere(library, on_file, library.fitting(rear.id)) == ()


def test_what_was_set_and_later_only_read_is_told_by_the_day_it_was_set() -> None:
    day = timedelta(days=1)
    turned = OtherArmWork("level", BEGAN, BEGAN, "Rear arm", "Rear arm")
    read = OtherArmWork("level", BEGAN + 90 * day, None, "Third arm", "Third arm")
    for both in (turned.and_also(read), read.and_also(turned)):
        told = worded(both.said)
        assert f"last set on {BEGAN.date().isoformat()}" in told
        assert "Rear arm" in told
        assert both.at == read.at
    assert "last read on" in worded(read.said)


def test_feet_turned_in_a_fitting_that_was_put_away_stay_turned(tmp_path: Path) -> None:
    with Library.open(tmp_path / "one.library") as library:
        deck_id = library.keep_deck(two_arms()).id
        one = library.keep_cartridge(cartridge()).id
        front = library.start_fitting(deck_id, one, arm_key="")
        rear = library.start_fitting(deck_id, one, arm_key=REAR)
        moved = library.append(rear.id, TURNED)
        library.archive_fitting(rear.id)
        (work,) = work_elsewhere(library, library.deck(deck_id).thing, front)
        assert work.moved_at == moved.at


def test_a_fitting_of_another_arm_that_is_damaged_sends_the_level_back_and_stops_nobody(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Library.open(tmp_path / "one.library") as library:
        deck_id = library.keep_deck(two_arms()).id
        one = library.keep_cartridge(cartridge()).id
        front = library.start_fitting(deck_id, one, arm_key="")
        rear = library.start_fitting(deck_id, one, arm_key=REAR)
        for body in LEVELLED:
            library.append(front.id, body)
        library.append(rear.id, TURNED)
        whole = library.fitting

        def damaged(fitting_id: str) -> Fitting:
            if fitting_id == rear.id:
                raise LibraryProblem(ProblemKind.DAMAGED, "An entry can't be read.")
            return whole(fitting_id)

        monkeypatch.setattr(library, "fitting", damaged)
        on_file = library.deck(deck_id).thing
        works = work_elsewhere(library, on_file, whole(front.id))
        assert {work.step for work in works} == set(STEPS_OF_DECK)
        journey = journey_of(on_file, cartridge(), whole(front.id), elsewhere=works)
        level = journey.status("level")
        assert level.state is StepState.CHECK_AGAIN
        assert "can't be read" in worded(level.reason)

        def full(fitting_id: str) -> Fitting:
            raise LibraryProblem(ProblemKind.VANISHED, "The file has gone.")

        monkeypatch.setattr(library, "fitting", full)
        with pytest.raises(LibraryProblem):
            work_elsewhere(library, on_file, front)


def test_another_mat_is_told_of_each_arm() -> None:
    told = worded(told_of_mat_by_arm(2.0, two_arms(), {"": cartridge(), REAR: cartridge()}))
    front, rear = told.index("Front arm:"), told.index("Rear arm:")
    assert 0 < front < rear
    assert sum("The mat is" in line for line in told) == 1
    assert any("Arm height" in line for line in told[front:rear])
    assert any("Arm height" in line for line in told[rear:])
    assert told_of_mat_by_arm(0.0, two_arms(), {"": cartridge()}) == ()


@pytest.mark.parametrize("is_known", [True, False])
def test_to_go_on_with_another_arm_takes_the_record_that_has_it(is_known: bool) -> None:
    fitting = fitting_of(*LEVELLED)
    changes = changes_of_arm(fitting, rear_arm(), 7, is_known=is_known)
    assert changes[-1] == used_arm(rear_arm())
    revised = [one for one in changes if isinstance(one, ThingsRevised)]
    assert len(changes) == 1 + len(revised)
    expected = [] if is_known else [(7, fitting.revisions[1])]
    assert [(one.deck_revision, one.cartridge_revision) for one in revised] == expected


def test_a_headshell_changed_on_another_arm_asks_for_alignment_and_tilt() -> None:
    """They hold for one arm: how far the tip stands from its pivot, and how its tube is turned."""
    fitting = fitting_of(work_asked(Work.HEADSHELL, ("mount",)))
    asked, used = changes_of_arm(fitting, rear_arm(), 7, is_known=True)
    assert asked == work_asked(Work.HEADSHELL, ("alignment", "tilt"))
    assert used == used_arm(rear_arm())
    other = fitting_of(work_asked(Work.DOWNFORCE))
    assert changes_of_arm(other, rear_arm(), 7, is_known=True) == (used_arm(rear_arm()),)


def test_only_an_arm_that_the_record_lacks_is_told_of() -> None:
    assert told_of_arm(None) == ()
    assert told_of_arm(OnArm(REAR, "Rear arm")) == ()
    (said,) = told_of_arm(OnArm(REAR, "Rear arm", is_gone=True))
    assert "Rear arm" in worded(said)
