"""The shared vocabulary of hypothesis strategies: any valid value of any model of ours."""

from __future__ import annotations

from datetime import date
from typing import Any

from hypothesis import reject
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from core.fitting import Control, MovePart, Reading, Trial
from core.records import (
    ArmKind,
    BandUse,
    Cartridge,
    Customer,
    CutRecord,
    Deck,
    FieldKind,
    FieldSpec,
    FurtherArm,
    HeadKind,
    Headshell,
    HeightControl,
    Job,
    Mounting,
    RecordBand,
    Service,
    ServicePart,
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


NAMES = st.text(min_size=1, max_size=8).filter(lambda text: bool(text.strip()))
"""What people call things, in any script."""
DAYS = st.dates(min_value=date(2001, 1, 1), max_value=date(2031, 12, 31)).map(date.isoformat)


@st.composite
def further_arms(draw: st.DrawFn, key: str, name: str) -> FurtherArm:
    """Draw an arm beside the first, which may have been put away."""
    whole = draw(decks())
    parts = {part: getattr(whole, part) for part in ("arm", "head", "height", "tilt", "skating")}
    return FurtherArm(key=key, name=name, put_away=draw(st.booleans()), **parts)


@st.composite
def decks_with_arms(draw: st.DrawFn, keys: tuple[str, ...] = ("rear", "left", "third")) -> Deck:
    """Draw decks with one arm, or with up to three more."""
    first = draw(decks()).model_copy(update={"name": draw(NAMES), "notes": draw(st.text())})
    names = draw(st.lists(NAMES, min_size=len(keys) + 1, max_size=len(keys) + 1))
    told = [f"{number} {name}" for number, name in enumerate(names)]
    count = draw(st.integers(0, len(keys)))
    if not count:
        return first
    arms = [draw(further_arms(key, told[at])) for at, key in enumerate(keys[:count])]
    update = {"first_arm_name": told[-1], "further_arms": tuple(arms)}
    return Deck.model_validate(first.model_copy(update=update).model_dump())


@st.composite
def headshells(draw: st.DrawFn) -> Headshell:
    """Draw headshells, some of which nobody knows much about."""
    return Headshell(
        name=draw(NAMES),
        mass_g=draw(st.floats(3, 20)),
        fits=draw(st.text(max_size=8)),
        notes=draw(st.text(max_size=8)),
    )


@st.composite
def cut_records(draw: st.DrawFn) -> CutRecord:
    """Draw test records with bands of every use; those for speed have one frequency."""
    speed_hz = draw(st.sampled_from([300.0, 1000.0, 3150.0]))
    kinds = draw(st.lists(st.sampled_from(BandUse), min_size=1, max_size=5))
    bands = [
        RecordBand(
            label=f"{number} {draw(NAMES)}",
            kind=kind,
            hz=speed_hz if kind is BandUse.SPEED else draw(st.floats(2, 20_000)),
            to_hz=draw(st.sampled_from([None, 20.0])) if kind is BandUse.SWEEP else None,
        )
        for number, kind in enumerate(kinds)
    ]
    return CutRecord(name=draw(NAMES), bands=tuple(bands), cut_percent=draw(st.floats(0.01, 2)))


@st.composite
def services(draw: st.DrawFn, deck_id: str) -> Service:
    """Draw entries in the service record of a deck."""
    part = draw(st.sampled_from(ServicePart))
    mats = draw(st.sampled_from([(None, None), (0.0, 2.0), (3.0, 1.5)]))
    return Service(
        deck=deck_id,
        part=part,
        day=draw(DAYS),
        done=draw(NAMES),
        mat_before_mm=mats[0] if part is ServicePart.MAT else None,
        mat_after_mm=mats[1] if part is ServicePart.MAT else None,
        months=draw(st.sampled_from([None, 1, 240])),
        hours=draw(st.sampled_from([None, 1.0, 400.0])),
    )


@st.composite
def jobs(draw: st.DrawFn, customer: str = "") -> Job:
    """Draw jobs of a customer, or of nobody in particular."""
    received, given = sorted((draw(DAYS), draw(DAYS)))
    return Job(
        brought=draw(st.text(max_size=8)),
        received=received,
        handed_over=draw(st.sampled_from(["", given])),
        noises=draw(st.text(max_size=8)),
        customer=customer,
    )


CUSTOMERS = st.builds(Customer, name=NAMES, contact=st.text(max_size=8))
