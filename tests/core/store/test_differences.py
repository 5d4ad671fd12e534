"""Two versions of a record: what differs, who changed it, and the record put together from both."""

from __future__ import annotations

import pytest
from hypothesis import given

from core.language import Numbers
from core.records import Cartridge, Deck, Service, ServicePart
from core.store import LibraryProblem, ProblemKind
from core.store.differences import Side, differences, put_together
from tests import strategies
from tests.arms import rear_arm, two_arms
from tests.examples import cartridge, deck


def test_each_field_says_what_stands_on_both_sides_and_who_changed_it() -> None:
    begun = deck(notes="as it came")
    mine = deck(notes="mine", owner_reference="Shelf 7", arm={"offset_deg": 21.5})
    theirs = deck(notes="theirs", arm={"offset_deg": 21.5})
    told = differences(mine, theirs, Numbers(), begun)
    assert [(one.place, one.here, one.incoming, one.changed_by) for one in told] == [
        (("owner_reference",), "Shelf 7", "empty", Side.HERE),
        (("notes",), "mine", "theirs", None),
    ]
    (notes,) = differences(begun, theirs.model_copy(update={"arm": begun.arm}), Numbers(), begun)
    assert notes.changed_by is Side.INCOMING


def test_without_the_common_state_nobody_is_said_to_have_changed_anything() -> None:
    (one,) = differences(deck(notes="mine"), deck(notes="theirs"))
    assert one.changed_by is None


def test_numbers_are_written_as_the_country_writes_them() -> None:
    (one,) = differences(
        deck(arm={"offset_deg": 21.5}), deck(arm={"offset_deg": 22.25}), Numbers(decimal=",")
    )
    assert (one.here, one.incoming) == ("21,5 °", "22,25 °")


def _with_feet(given: Deck, **changed: float) -> Deck:
    first, *rest = given.plinth.feet
    feet = (first.model_copy(update=changed), *rest)
    return given.model_copy(update={"plinth": given.plinth.model_copy(update={"feet": feet})})


def test_one_foot_that_differs_is_one_line_not_a_table() -> None:
    begun = deck()
    mine, theirs = _with_feet(begun, travel_up_mm=3.0), _with_feet(begun, travel_down_mm=2.0)
    up, down = differences(mine, theirs, Numbers(), begun)
    name = begun.plinth.feet[0].name
    assert str(up.label).endswith(f"{name}: Can still grow by")
    assert (up.changed_by, down.changed_by) == (Side.HERE, Side.INCOMING)
    both = put_together(mine, theirs, {up.place: Side.HERE, down.place: Side.INCOMING})
    assert (both.plinth.feet[0].travel_up_mm, both.plinth.feet[0].travel_down_mm) == (3.0, 2.0)
    assert both.plinth.feet[1:] == begun.plinth.feet[1:]


def test_tables_of_other_rows_are_taken_whole() -> None:
    begun = deck()
    fewer = begun.model_copy(
        update={"plinth": begun.plinth.model_copy(update={"feet": begun.plinth.feet[:3]})}
    )
    more = begun.plinth.feet[0].model_copy(update={"name": "in the middle", "x_mm": 1.0})
    longer = begun.model_copy(
        update={"plinth": begun.plinth.model_copy(update={"feet": (*begun.plinth.feet[:3], more)})}
    )
    (one,) = differences(fewer, longer)
    assert one.place == ("plinth", "feet")
    assert "in the middle" in one.incoming
    assert "in the middle" not in one.here
    assert put_together(fewer, longer, {one.place: Side.INCOMING}) == longer


def test_what_does_not_go_together_is_refused_with_the_reason() -> None:
    mine = cartridge(downforce_min_gf=1.0, downforce_max_gf=1.5)
    theirs = cartridge(downforce_min_gf=2.0, downforce_max_gf=2.5)
    least, most = differences(mine, theirs)[:2]
    sides = {least.place: Side.INCOMING, most.place: Side.HERE}
    with pytest.raises(LibraryProblem) as caught:
        put_together(mine, theirs, sides)
    assert caught.value.kind is ProblemKind.UNSUITABLE
    assert str(caught.value).startswith("These don't go together: ")


@given(strategies.cartridges(), strategies.cartridges())
def test_all_of_one_side_is_that_side(here: Cartridge, incoming: Cartridge) -> None:
    told = differences(here, incoming)
    assert put_together(here, incoming, {one.place: Side.HERE for one in told}) == here
    assert put_together(here, incoming, {one.place: Side.INCOMING for one in told}) == incoming


@given(strategies.decks(), strategies.decks())
def test_all_of_one_deck_is_that_deck(here: Deck, incoming: Deck) -> None:
    told = differences(here, incoming)
    assert put_together(here, incoming, {one.place: Side.HERE for one in told}) == here
    assert put_together(here, incoming, {one.place: Side.INCOMING for one in told}) == incoming


def test_an_arm_that_was_renamed_differs_in_its_name_alone() -> None:
    here = two_arms()
    renamed = two_arms(further_arms=(rear_arm("Long arm"),))
    (one,) = differences(here, renamed)
    assert (one.here, one.incoming) == ("Rear arm", "Long arm")
    assert put_together(here, renamed, {one.place: Side.INCOMING}) == renamed


def test_two_arms_that_only_share_a_name_are_compared_whole_and_without_their_keys() -> None:
    other = two_arms(further_arms=(rear_arm(key="e7c1"),))
    (one,) = differences(two_arms(), other)
    assert one.place == ("further_arms",)
    assert "e7c1" not in str(one.label) + one.here + one.incoming


def test_a_service_that_counts_no_more_on_one_side_is_said_as_a_day_not_as_empty() -> None:
    done = Service(deck="a", part=ServicePart.BELT, day="2026-03-01", done="new")
    (one,) = differences(done, done.model_copy(update={"withdrawn": "2026-03-05"}), Numbers())
    assert (one.label, one.here, one.incoming) == ("Left out", "no", "since 2026-03-05")
