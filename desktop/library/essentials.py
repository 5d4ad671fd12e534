"""Which fields of a deck and a cartridge everybody can fill in; the rest lies behind one fold."""

from __future__ import annotations

from typing import Final

from pydantic import BaseModel

from core.records import (
    Arm,
    Cartridge,
    CutRecord,
    Deck,
    FeetLayout,
    Headshell,
    RecordBand,
    fields_of,
)
from desktop.forms.form import Form
from desktop.forms.model_fields import ModelFields

_ASKED: Final[dict[type, frozenset[str]]] = {
    Deck: frozenset(
        {
            *("name", "owner_reference", "plinth", "arm"),
            *("head", "height", "tilt", "skating", "platter"),
        }
    ),
    Arm: frozenset({"kind", "pivot_to_spindle_mm", "effective_length_mm", "effective_mass_g"}),
    FeetLayout: frozenset({"pattern", "width_mm", "depth_mm", "turned"}),
    CutRecord: frozenset({"name", "rpm", "cut_percent", "bands", "notes"}),
    RecordBand: frozenset({"label", "kind", "hz", "to_hz", "side", "level_db"}),
    Headshell: frozenset({"name", "mass_g", "fits", "taken_apart"}),
    Cartridge: frozenset(
        {
            *("name", "mounting", "mass_g", "downforce_min_gf", "downforce_max_gf"),
            *("downforce_recommended_gf", "stylus", "compliance", "compliance_kind"),
            "body_height_mm",
        }
    ),
}
"""Fields that are asked for, by model. Of a model not named here, those without a default."""

_WHOLE: Final = frozenset({"Foot"})
"""Models all of whose fields are asked for once they are on show."""


def fold_details(form: Form, *, away: bool) -> None:
    """Put everything that has a working default out of sight, or bring it back."""
    if form.fold is None:
        raise TypeError(f"the form of a {form.model.__name__} has no fold")
    form.fold.away = away
    for fields in form.findChildren(ModelFields):  # those made meanwhile know the fold already
        fields.set_aside(form.fold.aside(fields.model))


def wait_with_problems(form: Form) -> None:
    """Say what several fields are wrong about together only once the form was to be saved."""
    for fields in form.findChildren(ModelFields):
        fields.waits = True


def details_of(model: type[BaseModel]) -> frozenset[str]:
    """Return the names of a model's fields that most people can leave as they are."""
    if model.__name__ in _WHOLE:
        return frozenset()
    asked = _ASKED.get(model)
    specs = fields_of(model)
    if asked is None:
        asked = frozenset(spec.name for spec in specs if spec.required)
    return frozenset(spec.name for spec in specs) - asked
