"""The starters: invented, valid, physically consistent, and covering every lack of a deck."""

from __future__ import annotations

import json
import math
from functools import cache

import pytest

from core.physics.alignment_solutions import arm_for_nulls, lofgren_a_nulls
from core.physics.groove_radii import GROOVES_1958
from core.records import (
    ArmKind,
    Balance,
    Cartridge,
    ComplianceKind,
    Deck,
    FeetControl,
    FrozenModel,
    Generator,
    HeadKind,
    HeightControl,
    Mounting,
    SkatingControl,
    SpeedTrim,
    StylusShape,
    TiltControl,
    fields_of,
)
from core.store.documents import Document, document_from
from profiles import starter_documents


@cache
def documents() -> tuple[Document, ...]:
    return tuple(document_from(content, name) for content, name in starter_documents())


def decks() -> list[Deck]:
    return [deck.revisions[0].thing for one in documents() for deck in one.decks]


def cartridges() -> list[Cartridge]:
    return [c.revisions[0].thing for one in documents() for c in one.cartridges]


by_name = pytest.mark.parametrize("deck", decks(), ids=lambda deck: deck.name)


def test_there_are_enough_and_each_file_holds_one() -> None:
    assert len(decks()) >= 5
    assert len(cartridges()) >= 7
    assert all(len(one.decks) + len(one.cartridges) == 1 for one in documents())
    assert all(one.fittings == () for one in documents())


def test_names_are_plainly_examples_and_nothing_twice() -> None:
    things: list[Deck | Cartridge] = [*decks(), *cartridges()]
    assert all(thing.name.startswith("Example ") for thing in things)
    assert all(thing.notes.startswith("Invented") for thing in things)
    assert len({thing.name for thing in things}) == len(things)
    ids = [record.id for one in documents() for record in one.decks]
    ids += [record.id for one in documents() for record in one.cartridges]
    assert len(set(ids)) == len(ids)


def test_every_field_is_written_out_so_that_later_defaults_change_nothing() -> None:
    for content, _ in starter_documents():
        said = json.loads(content)
        for sort, model in (("decks", Deck), ("cartridges", Cartridge)):
            for record in said.get(sort, ()):
                thing = record["revisions"][0]["thing"]
                assert list(thing) == [field.name for field in fields_of(model)]


def test_the_decks_cover_every_lack() -> None:
    all_decks = decks()
    assert {deck.arm.kind for deck in all_decks} == set(ArmKind)
    assert {deck.plinth.control for deck in all_decks} == set(FeetControl)
    assert {len(deck.plinth.feet) for deck in all_decks} == {3, 4}
    assert {deck.height.control for deck in all_decks} == set(HeightControl)
    assert {deck.tilt.control for deck in all_decks} == set(TiltControl)
    assert {deck.head.kind for deck in all_decks} >= {HeadKind.SLOTS, HeadKind.PLUG_IN}
    assert {deck.platter.trim for deck in all_decks} == set(SpeedTrim)
    assert {deck.arm.balance for deck in all_decks} == set(Balance)
    assert {deck.skating.control for deck in all_decks} >= {
        SkatingControl.DIAL,
        SkatingControl.THREAD_WEIGHT,
        SkatingControl.FLUID,
        SkatingControl.NONE,
    }
    assert any(len(deck.platter.speeds_rpm) == 3 for deck in all_decks)


def test_one_deck_has_everything_and_one_next_to_nothing_to_adjust() -> None:
    full = [
        deck
        for deck in decks()
        if deck.plinth.control is FeetControl.ALL
        and deck.height.control is not HeightControl.NONE
        and deck.head.kind is HeadKind.SLOTS
        and deck.tilt.control is not TiltControl.NONE
        and deck.skating.control not in (SkatingControl.NONE, SkatingControl.FLUID)
        and deck.platter.trim is SpeedTrim.SCREW
        and deck.arm.kind is ArmKind.PIVOTED_OFFSET
    ]
    bare = [
        deck
        for deck in decks()
        if deck.plinth.control is FeetControl.NONE
        and deck.height.control is HeightControl.NONE
        and deck.head.kind is HeadKind.PLUG_IN
        and deck.tilt.control is TiltControl.NONE
        and deck.skating.control in (SkatingControl.NONE, SkatingControl.FLUID)
        and deck.platter.trim is SpeedTrim.NONE
    ]
    assert len(full) == 1
    assert len(bare) == 1


def test_the_cartridges_span_the_trade() -> None:
    all_cartridges = cartridges()
    assert {one.stylus for one in all_cartridges} == set(StylusShape)
    assert {one.mounting for one in all_cartridges} == set(Mounting)
    assert {one.generator for one in all_cartridges} == set(Generator)
    assert {one.compliance_kind for one in all_cartridges} == set(ComplianceKind)
    assert min(one.mass_g for one in all_cartridges) < 5
    assert max(one.mass_g for one in all_cartridges) > 12
    compliances = [one.compliance for one in all_cartridges if one.compliance is not None]
    assert min(compliances) <= 8
    assert max(compliances) >= 25
    assert any(one.compliance is None for one in all_cartridges)


@pytest.mark.parametrize("thing", [*decks(), *cartridges()], ids=lambda thing: thing.name)
def test_no_figure_is_unlikely(thing: Deck | Cartridge) -> None:
    parts: list[FrozenModel] = [thing]
    if isinstance(thing, Deck):
        parts += [getattr(thing, name) for name in ("plinth", "arm", "head", "height", "platter")]
        parts += thing.plinth.feet
    for part in parts:
        for field in fields_of(type(part)):
            value, limits = getattr(part, field.name), field.limits
            if limits and limits.usual and isinstance(value, float):
                assert limits.usual[0] <= value <= limits.usual[1], (thing.name, field.label)


@by_name
def test_stated_geometry_fits_together(deck: Deck) -> None:
    arm = deck.arm
    if arm.kind is ArmKind.PARALLEL:
        assert arm.pivot_to_spindle_mm is None
        assert arm.offset_deg == 0
        return
    assert arm.pivot_to_spindle_mm is not None
    if arm.kind is ArmKind.PIVOTED_STRAIGHT:
        # Underhung: the one null radius sqrt(D^2 - L^2) lies on the record (derived).
        null_mm = math.sqrt(arm.pivot_to_spindle_mm**2 - arm.effective_length_mm**2)
        assert 60.325 < null_mm < 146.05
        assert arm.offset_deg == 0
        return
    # Loefgren A for groove radii 60.325 and 146.05 (published; table in tests/outside).
    ideal = arm_for_nulls(arm.pivot_to_spindle_mm, lofgren_a_nulls(GROOVES_1958))
    assert arm.effective_length_mm == pytest.approx(ideal.effective_length_mm, abs=0.001)
    assert arm.offset_deg == pytest.approx(ideal.offset_deg, abs=0.001)


def test_the_nine_inch_deck_is_the_reference_arm() -> None:
    # D 222: L 239.296, offset 22.986 deg (derived twice: closed form and optimiser).
    (deck,) = [one for one in decks() if "9-inch" in one.name]
    assert deck.arm.pivot_to_spindle_mm == 222
    assert deck.arm.effective_length_mm == 239.296
    assert deck.arm.offset_deg == 22.986


@by_name
def test_every_deck_has_a_cartridge_its_arm_can_carry_and_its_head_takes(deck: Deck) -> None:
    plugs_in = deck.head.kind is HeadKind.PLUG_IN
    fitting = [
        one
        for one in cartridges()
        if (one.mounting is Mounting.PLUG_IN) == plugs_in
        and deck.arm.lightest_cartridge_g <= one.moving_g <= deck.arm.heaviest_cartridge_g
    ]
    assert len(fitting) >= 2


def test_every_cartridge_fits_some_deck() -> None:
    for one in cartridges():
        assert any(
            (one.mounting is Mounting.PLUG_IN) == (deck.head.kind is HeadKind.PLUG_IN)
            and deck.arm.lightest_cartridge_g <= one.moving_g <= deck.arm.heaviest_cartridge_g
            for deck in decks()
        ), one.name
