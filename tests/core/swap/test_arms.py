"""Another cartridge on one of several arms: what the other arms teach of it, and what not."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.fitting import ArmUsed, Body, Control, Finished
from core.records import Headshell, first_arm
from core.steps.shared.swap_part import Need
from core.store import Library
from core.swap import Past, plan_swap, setting_of
from core.swap.learned_gains import learned_gains
from tests.arms import FRONT, REAR, rear_arm, two_arms
from tests.core.swap.swaps import left, moved, past, read, started, weighed
from tests.examples import cartridge
from tests.worded import worded
from tests.worked import bubble

USED = {FRONT: ArmUsed.of(first_arm(two_arms())), REAR: ArmUsed.of(rear_arm())}
WEIGHT = Control.COUNTERWEIGHT


def visit(arm: str, number: int, *, gf_per_turn: float = 0.0, turned: bool = False) -> Past:
    """Return a fitting on an arm, its weight turned twice, or the feet moved."""
    bodies: list[Body] = [USED[arm]]
    if gf_per_turn:
        weighings: list[Body] = [weighed(2.0, "rough_downforce")]
        for place in (1, 2, 3):
            weighings += [
                moved("rough_downforce", WEIGHT, 1.0, "turns"),
                weighed(2.0 - place * gf_per_turn, "rough_downforce"),
            ]
        bodies += left(rough_downforce=tuple(weighings))
    elif turned:
        level = (
            read("level", **bubble("front-back", 0.0)),
            moved("level", Control.FOOT, 0.5, "turns", where="rear"),
            read("level", **bubble("front-back", 0.0)),
            read("level", **bubble("left-right", 0.0)),
        )
        bodies += left(level=level)
    else:
        bodies += left()
    return past(two_arms(), cartridge(), bodies, number=number)


def test_the_weight_of_one_arm_teaches_nothing_of_the_others() -> None:
    pasts = [visit(FRONT, 0, gf_per_turn=0.3), visit(REAR, 1, gf_per_turn=0.6)]
    for arm, size in ((FRONT, 0.3), (REAR, 0.6)):
        deck = pasts[arm == REAR].deck
        (gain,) = [
            one for one in learned_gains(pasts, deck, arm) if one.control is WEIGHT and one.value
        ]
        assert abs(gain.value) == pytest.approx(size, rel=0.02)


def test_a_plan_sets_out_from_the_arm_that_is_swapped() -> None:
    front, rear = visit(FRONT, 0), visit(REAR, 1)
    heavier = cartridge(mass_g=8.0)
    alone = plan_swap(two_arms(), front, heavier, [front])
    beside = plan_swap(two_arms(), front, heavier, [front, rear])
    assert started(beside, "rough_downforce", "downforce") == started(
        alone, "rough_downforce", "downforce"
    )
    assert beside.deck.arm.effective_length_mm == 239.296
    of_rear = plan_swap(two_arms(), rear, heavier, [front, rear])
    assert of_rear.deck.arm.effective_length_mm == 308.8


def test_a_level_set_since_with_another_arm_is_confirmed_not_foretold() -> None:
    front, rear = visit(FRONT, 0), visit(REAR, 1, turned=True)
    plan = plan_swap(two_arms(), front, cartridge(), [front, rear])
    (level,) = [due for due in plan.due if due.step == "level"]
    assert level.need is Need.CONFIRM
    assert "Rear arm" in worded(level.reason)
    assert not [one for one in plan.starts if one.step == "level"]
    before = plan_swap(two_arms(), rear, cartridge(), [front, rear])
    assert [one for one in before.starts if one.step == "level"]


def test_what_a_headshell_was_set_to_does_not_go_from_arm_to_arm(tmp_path: Path) -> None:
    with Library.open(tmp_path / "one.library") as library:
        deck_id = library.keep_deck(two_arms()).id
        one = library.keep_cartridge(cartridge()).id
        shell = library.keep_headshell(Headshell(name="Headshell A", mass_g=8.0)).id
        begun = library.start_fitting(deck_id, one, headshell=library.used_headshell(shell))
        for body in (*left(), Finished()):
            library.append(begun.id, body)
        assert setting_of(library, deck_id, shell, one, FRONT).holds
        rear = setting_of(library, deck_id, shell, one, REAR)
        assert not rear.holds
        assert rear.set_by is None
