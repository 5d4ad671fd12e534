"""What forms learn from models."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from pydantic import BaseModel, ValidationError

from core.fitting import HoursRead
from core.records import Arm, Cartridge, Deck, FieldKind, FieldSpec, fields_of
from core.steps import STEPS, ways_of


def every_model() -> Iterator[type[BaseModel]]:
    pending: list[type[BaseModel]] = [Deck, Cartridge, HoursRead]
    for step in STEPS:
        pending += [step.Chosen, *ways_of(step).values()]
    while pending:
        model = pending.pop()
        yield model
        pending += [spec.member for spec in fields_of(model) if spec.member]


def every_field() -> list[tuple[str, FieldSpec]]:
    return [(model.__name__, spec) for model in every_model() for spec in fields_of(model)]


@pytest.mark.parametrize(("model", "spec"), every_field(), ids=lambda v: getattr(v, "name", v))
def test_every_field_is_explained(model: str, spec: FieldSpec) -> None:
    assert spec.label != spec.name, f"{model}.{spec.name} has no title"
    assert spec.help, f"{model}.{spec.name} has no description"
    assert spec.help.endswith((".", "?", ")")), f"{model}.{spec.name}: {spec.help!r} is no sentence"


@pytest.mark.parametrize(("model", "spec"), every_field(), ids=lambda v: getattr(v, "name", v))
def test_every_number_has_a_unit_and_limits(model: str, spec: FieldSpec) -> None:
    if spec.kind in (FieldKind.NUMBER, FieldKind.WHOLE, FieldKind.NUMBERS):
        assert spec.unit is not None, f"{model}.{spec.name} has no unit"
        assert spec.limits is not None, f"{model}.{spec.name} has no limits"
        assert spec.limits.low < spec.limits.high
        usual = spec.limits.usual
        if usual is not None:
            assert spec.limits.low <= usual[0] < usual[1] <= spec.limits.high


@pytest.mark.parametrize(("model", "spec"), every_field(), ids=lambda v: getattr(v, "name", v))
def test_a_default_lies_inside_its_own_limits(model: str, spec: FieldSpec) -> None:
    if spec.limits is None or spec.default is None:
        return
    values = spec.default if isinstance(spec.default, tuple) else (spec.default,)
    for value in values:
        assert spec.limits.low <= value <= spec.limits.high, f"{model}.{spec.name}"


def test_optional_required_and_conditional_fields_are_told_apart() -> None:
    specs = {spec.name: spec for spec in fields_of(Arm)}
    assert specs["effective_length_mm"].required
    assert specs["counterweight_g"].optional
    assert not specs["counterweight_g"].required
    assert specs["kind"].kind is FieldKind.CHOICE
    assert specs["kind"].choices[0].label == "Pivoted, head at an angle"
    head = {spec.name: spec for spec in fields_of(Deck.model_fields["head"].annotation)}
    assert head["slot_back_mm"].when is not None
    assert head["slot_back_mm"].when.field == "kind"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf"), 1e9, -5])
def test_limits_hold_in_the_model_itself(value: float) -> None:
    arm = {"kind": "parallel tracking", "effective_mass_g": 11.0}
    with pytest.raises(ValidationError):
        Arm.model_validate({**arm, "effective_length_mm": value})


def test_a_field_no_form_can_edit_is_a_loud_mistake() -> None:
    class Odd(BaseModel):
        strange: dict[str, float]

    with pytest.raises(TypeError, match="strange"):
        fields_of(Odd)
