"""The shared vocabulary of hypothesis strategies: any valid value of any model of ours."""

from __future__ import annotations

from typing import Any

from hypothesis import reject
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from core.fitting import Control, MovePart, Reading, Trial
from core.records import (
    ArmKind,
    Cartridge,
    Deck,
    FieldKind,
    FieldSpec,
    HeadKind,
    HeightControl,
    Mounting,
    SkatingControl,
    SpeedTrim,
    StylusShape,
    TiltControl,
    fields_of,
)
from core.steps import Step, ways_of
from tests.examples import cartridge, deck


def values_of(spec: FieldSpec) -> st.SearchStrategy[Any]:
    """Draw values a form could deliver for one field."""
    limits = spec.limits
    drawn: st.SearchStrategy[Any]
    if spec.kind is FieldKind.NUMBER:
        assert limits is not None
        low, high = limits.usual or (limits.low, limits.high)
        drawn = st.one_of(st.floats(low, high), st.floats(limits.low, limits.high))
    elif spec.kind is FieldKind.WHOLE:
        assert limits is not None
        drawn = st.integers(int(limits.low), int(limits.high))
    elif spec.kind is FieldKind.CHOICE:
        drawn = st.sampled_from(spec.choices)
    elif spec.kind is FieldKind.FLAG:
        drawn = st.booleans()
    elif spec.kind is FieldKind.TEXT:
        drawn = st.text(min_size=1, max_size=10)
    elif spec.kind is FieldKind.NUMBERS:
        assert limits is not None
        drawn = st.lists(st.floats(limits.low, limits.high), min_size=1, max_size=4).map(tuple)
    elif spec.kind in (FieldKind.GROUP, FieldKind.FILE):
        assert spec.member is not None
        drawn = documents_of(spec.member)
    else:
        assert spec.member is not None
        drawn = st.lists(documents_of(spec.member), min_size=3, max_size=4).map(tuple)
    if spec.optional:
        return st.one_of(st.none(), drawn)
    return drawn


def documents_of(model: type[BaseModel]) -> st.SearchStrategy[dict[str, Any]]:
    """Draw field values of a model; some combinations the model itself will refuse."""
    specs = fields_of(model)
    needed = {spec.name: values_of(spec) for spec in specs if spec.required}
    extra = {spec.name: values_of(spec) for spec in specs if not spec.required}
    return st.fixed_dictionaries(needed, optional=extra)


@st.composite
def readings(draw: st.DrawFn, step: Step) -> Reading:
    """Draw any valid reading of a step."""
    variant = draw(st.sampled_from(list(ways_of(step).values())))
    try:
        return variant.model_validate(draw(documents_of(variant)))
    except ValidationError:
        return reject()


@st.composite
def trials(draw: st.DrawFn, step: Step) -> tuple[Trial, ...]:
    """Draw readings and moves of a step in any order, as a careless person might leave them."""
    part = st.builds(
        MovePart,
        control=st.sampled_from(Control),
        amount=st.floats(-20, 20),
        unit=st.sampled_from(["mm", "turns", "°", "gf", ""]),
        where=st.sampled_from(["", "front left", "rear"]),
        equivalent_mm=st.one_of(st.none(), st.floats(-20, 20)),
    )
    parts = st.lists(part, min_size=1, max_size=3).map(tuple)
    one = st.one_of(
        st.builds(Trial, entry_id=st.just("r"), reading=readings(step)),
        st.builds(Trial, entry_id=st.just("m"), moves=parts),
    )
    return tuple(draw(st.lists(one, max_size=6)))


@st.composite
def decks(draw: st.DrawFn) -> Deck:
    """Draw decks that lack any adjustment, around the example deck."""
    kind = draw(st.sampled_from(ArmKind))
    arm: dict[str, Any] = {"kind": kind}
    if kind is ArmKind.PIVOTED_STRAIGHT:
        arm |= {"effective_length_mm": 215.0, "offset_deg": 0.0}
    elif kind is ArmKind.PARALLEL:
        arm |= {"effective_length_mm": 60.0, "offset_deg": 0.0, "pivot_to_spindle_mm": None}
    arm["counterweight_g"] = draw(st.sampled_from([None, 100.0]))
    arm["counterweight_mm_per_turn"] = draw(st.sampled_from([None, 1.0]))
    adjustable = draw(st.lists(st.booleans(), min_size=3, max_size=3))
    feet = [
        {"name": name, "x_mm": x, "y_mm": y, "adjustable": can}
        for (name, x, y), can in zip(
            [("front left", -180.0, -140.0), ("front right", 180.0, -140.0), ("rear", 0.0, 150.0)],
            adjustable,
            strict=True,
        )
    ]
    return deck(
        arm=arm,
        plinth={"feet": feet, "pitch_mm_per_turn": draw(st.sampled_from([None, 1.25]))},
        head={"kind": draw(st.sampled_from(HeadKind)), "base_slides": draw(st.booleans())},
        height={"control": draw(st.sampled_from(HeightControl))},
        tilt={"control": draw(st.sampled_from(TiltControl))},
        skating={"control": draw(st.sampled_from(SkatingControl))},
        platter={
            "trim": draw(st.sampled_from(SpeedTrim)),
            "rpm_per_turn": draw(st.sampled_from([None, 0.4])),
            "speeds_rpm": draw(st.sampled_from([(33.333333,), (33.333333, 45.0), (78.0,)])),
        },
    )


@st.composite
def cartridges(draw: st.DrawFn) -> Cartridge:
    """Draw cartridges of every mounting, with and without what makers leave out."""
    return cartridge(
        mounting=draw(st.sampled_from(Mounting)),
        stylus=draw(st.sampled_from(StylusShape)),
        mass_g=draw(st.floats(2, 20)),
        compliance=draw(st.sampled_from([None, 8.0, 15.0, 35.0])),
        downforce_recommended_gf=draw(st.sampled_from([None, 2.1])),
    )
