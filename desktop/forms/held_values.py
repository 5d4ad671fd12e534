"""The content of fields whose editors do not exist yet, computed without widgets.

Each editor returns the same once it exists; ``tests/desktop/forms/test_unmade_fields.py`` compares
both, for every field of every record.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel

from core.language import Numbers
from core.records import (
    FeetLayout,
    FeetPattern,
    FieldKind,
    FieldSpec,
    Foot,
    FurtherArm,
    fields_of,
    layout_of,
)
from desktop.forms.field_editors import text_of_numbers
from desktop.forms.number_field import text_of


def can_be_held(spec: FieldSpec, value: Any) -> bool:
    """Return whether a value can wait for its editor.

    Text with line ends or invisible characters can't: Qt's editors change some of them. Nor can the
    figures of a file, whose editor shows more than the value holds.
    """
    match spec.kind:
        case FieldKind.FILE:
            return False
        case FieldKind.TEXT:
            return str(value or "").isprintable()
        case FieldKind.GROUP:
            return _parts_can_be_held(spec.member, value)
        case FieldKind.TABLE:
            return all(_parts_can_be_held(spec.member, row) for row in value or ())
    return True


def is_answer(  # noqa: PLR0911 - one answer for each sort of field
    spec: FieldSpec, value: Any
) -> bool:
    """Return whether a held value is valid as it is; its editor reports any problem."""
    match spec.kind:
        case FieldKind.FLAG:
            return isinstance(value, bool)
        case FieldKind.GROUP:
            return isinstance(value, BaseModel)
        case FieldKind.TABLE:
            return bool(value) or spec.member is not Foot
        case FieldKind.TEXT if value is not None:
            return bool(value.strip()) or not (spec.required or spec.optional)
        case FieldKind.NUMBERS if value is not None:
            return bool(value) or spec.default == ()
        case FieldKind.CHOICE if value is not None:
            return value in spec.choices
    return value is not None or spec.optional


def raw_of(  # noqa: PLR0911 - one answer for each sort of field
    spec: FieldSpec, value: Any, numbers: Numbers
) -> Any:
    """Return the field editor's ``raw`` for this value."""
    match spec.kind:
        case FieldKind.NUMBER if spec.directions is not None:
            way = -1 if not value else 0 if value > 0.0 else 1
            return [text_of(None if value is None else abs(value), spec, numbers), way]
        case FieldKind.NUMBER | FieldKind.WHOLE:
            return text_of(value, spec, numbers)
        case FieldKind.CHOICE:
            known = value in spec.choices or (value is None and spec.optional)
            return str(value or "") if known else False
        case FieldKind.FLAG:
            return bool(value)
        case FieldKind.TEXT:
            return str(value or "")
        case FieldKind.NUMBERS:
            return text_of_numbers(value, spec, numbers)
        case FieldKind.GROUP if spec.member is not None:
            return raw_of_model(spec.member, value, numbers)
        case FieldKind.TABLE if spec.member is not None:
            return _raw_of_table(spec.member, value or (), numbers)
    raise TypeError(f"the field {spec.name!r} can't wait for its editor")


def raw_of_model(model: type[BaseModel], value: Any, numbers: Numbers) -> dict[str, Any]:
    """Return the ``raw`` of a model's fields for this value; None means the defaults."""
    return {spec.name: raw_of(spec, part, numbers) for spec, part in parts_of(model, value)}


def parts_of(model: type[BaseModel], value: Any) -> Iterator[tuple[FieldSpec, Any]]:
    """Yield each field of a model with its value; None stands for the model's defaults."""
    for spec in fields_of(model):
        yield spec, spec.default if value is None else getattr(value, spec.name)


def _parts_can_be_held(model: type[BaseModel] | None, value: Any) -> bool:
    return model is not None and all(can_be_held(*part) for part in parts_of(model, value))


def _raw_of_table(member: type[BaseModel], rows: Any, numbers: Numbers) -> Any:
    raws = [raw_of_model(member, row, numbers) for row in rows]
    if member is Foot:
        layout = layout_of(rows) if rows else FeetLayout()
        places = raws if layout.pattern is FeetPattern.OWN else []
        return {"layout": raw_of_model(FeetLayout, layout, numbers), "places": places}
    if member is FurtherArm:
        return [{"key": row.key, **raw} for row, raw in zip(rows, raws, strict=True)]
    return raws
