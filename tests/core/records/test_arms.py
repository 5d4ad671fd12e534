"""A deck with several arms: what its record takes, and how one of them sees the deck."""

from __future__ import annotations

import json
from typing import Any

import pytest
from pydantic import ValidationError

from core.records import (
    Deck,
    arm_name,
    arm_of,
    arms_of,
    first_arm,
    has_several_arms,
    seen_with_arm,
)
from tests.arms import FRONT, REAR, rear_arm, two_arms
from tests.examples import deck


def said(**changes: Any) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(two_arms().model_dump_json())
    return told | changes


def test_a_deck_with_one_arm_is_as_it_was_before_there_could_be_more() -> None:
    told = json.loads(deck().model_dump_json())
    del told["further_arms"], told["first_arm_name"]
    old = Deck.model_validate(told)
    assert old == deck()
    assert not has_several_arms(old)
    assert arm_name(old, FRONT) == ""
    assert seen_with_arm(old, first_arm(old)) is old


def test_each_arm_sees_its_own_geometry_and_the_one_deck() -> None:
    both = two_arms()
    rear = arm_of(both, REAR)
    assert rear is not None
    seen = seen_with_arm(both, rear)
    assert seen.arm.effective_length_mm == 308.8
    assert (seen.plinth, seen.platter) == (both.plinth, both.platter)
    assert seen.name == f"{both.name} · Rear arm"
    front = seen_with_arm(both, first_arm(both))
    assert front.arm.effective_length_mm == 239.296
    assert front.further_arms == seen.further_arms == ()


def test_what_is_known_of_an_arm_stands_in_where_the_record_has_it_no_more() -> None:
    known = rear_arm("Gone arm", "gone")
    assert seen_with_arm(two_arms(), known).arm == known.arm
    corrected = known.arm.model_copy(update={"effective_mass_g": 20.0})
    on_file = two_arms(further_arms=(rear_arm("Gone arm", "gone", arm=corrected),))
    assert seen_with_arm(on_file, known).arm.effective_mass_g == 20.0


def test_an_arm_that_was_put_away_is_not_offered() -> None:
    away = two_arms(further_arms=(rear_arm(put_away=True),))
    assert [one.name for one in arms_of(away)] == ["Front arm"]
    assert not has_several_arms(away)
    assert arm_name(away, REAR) == "Rear arm"


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"first_arm_name": ""}, "The first arm needs a name too"),
        ({"first_arm_name": " rear  ARM "}, "Two arms have the same name"),
        ({"further_arms": [json.loads(rear_arm(key="").model_dump_json())]}, "key of its own"),
        (
            {
                "further_arms": [
                    json.loads(rear_arm(name).model_dump_json()) for name in ("One", "Two")
                ]
            },
            "key of its own",
        ),
    ],
)
def test_arms_that_nobody_can_tell_apart_are_refused(
    changes: dict[str, Any], sentence: str
) -> None:
    with pytest.raises(ValidationError, match=sentence):
        Deck.model_validate(said(**changes))
