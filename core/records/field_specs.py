"""What a form needs to know of a model's fields, read from the model itself."""

from __future__ import annotations

import types
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from core.records.file_figures import FileFigures
from core.records.quantities import (
    Choice,
    Directions,
    Limits,
    NotAsked,
    OnCalendar,
    ReadAnew,
    Unit,
    When,
)

_T = TypeVar("_T")


class FieldKind(StrEnum):
    """Which sort of entry a field takes."""

    NUMBER = "number"
    WHOLE = "whole number"
    CHOICE = "choice"
    FLAG = "yes or no"
    TEXT = "text"
    GROUP = "group"  # a model inside the model
    TABLE = "table"  # any number of models
    FILE = "file"  # figures found in a file
    NUMBERS = "numbers"  # any number of numbers, typed with a semicolon between


@dataclass(frozen=True, slots=True)
class FieldSpec:
    """One field of a form."""

    name: str
    label: str
    help: str
    kind: FieldKind
    required: bool
    optional: bool  # empty is an answer
    default: Any = None
    unit: Unit | None = None
    limits: Limits | None = None
    directions: Directions | None = None
    choices: tuple[Choice, ...] = ()
    member: type[BaseModel] | None = None
    when: When | None = None
    longest: int | None = None
    read_anew: bool = False  # no answer to it outlives its reading
    is_day: bool = False  # its text is a day of the calendar


@cache  # of a few dozen models, asked for each entry of a log
def fields_of(model: type[BaseModel]) -> tuple[FieldSpec, ...]:
    """Return the fields of a model in form order, without its discriminator and what is not asked.

    Raises
    ------
    TypeError
        If a field has a type no form can edit: a mistake in the model, found by the tests.
    """
    return tuple(
        _spec(name, info)
        for name, info in model.model_fields.items()
        if get_origin(info.annotation) is not Literal
        and _first([*_flatten(info.annotation)[1], *info.metadata], NotAsked) is None
    )


def _spec(name: str, info: FieldInfo) -> FieldSpec:
    annotation, metadata = _flatten(info.annotation)
    metadata = [*metadata, *info.metadata]
    optional = type(None) in get_args(annotation) and _is_union(annotation)
    if optional:
        inner = [part for part in get_args(annotation) if part is not type(None)]
        annotation, more = _flatten(inner[0])
        metadata = [*more, *metadata]
    kind, member, choices = _kind(name, annotation)
    if kind is FieldKind.NUMBERS:
        _, of_members = _flatten(get_args(annotation)[0])
        metadata = [*of_members, *metadata]
    read_anew = _first(metadata, ReadAnew) is not None
    asked = info.is_required() or read_anew
    longest = next((m.max_length for m in metadata if hasattr(m, "max_length")), None)
    return FieldSpec(
        name=name,
        label=info.title or name,
        help=info.description or "",
        kind=kind,
        required=asked,
        optional=optional,
        default=None if asked else info.get_default(call_default_factory=True),
        unit=_first(metadata, Unit),
        limits=_first(metadata, Limits),
        directions=_first(metadata, Directions),
        choices=choices,
        member=member,
        when=_first(metadata, When),
        longest=longest,
        read_anew=read_anew,
        is_day=_first(metadata, OnCalendar) is not None,
    )


def _flatten(annotation: Any) -> tuple[Any, list[Any]]:
    if get_origin(annotation) is Annotated:
        inner, *metadata = get_args(annotation)
        deeper, more = _flatten(inner)
        return deeper, [*more, *metadata]
    return annotation, []


def _is_union(annotation: Any) -> bool:
    return get_origin(annotation) in (Union, types.UnionType)


def _first(metadata: list[Any], kind: type[_T]) -> _T | None:
    return next((item for item in metadata if isinstance(item, kind)), None)


def _kind(
    name: str, annotation: Any
) -> tuple[FieldKind, type[BaseModel] | None, tuple[Choice, ...]]:
    if get_origin(annotation) is tuple:
        inner, _ = _flatten(get_args(annotation)[0])
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            return FieldKind.TABLE, inner, ()
        if inner is float:
            return FieldKind.NUMBERS, None, ()
    elif isinstance(annotation, type):
        if issubclass(annotation, Choice):
            return FieldKind.CHOICE, None, tuple(annotation)
        if issubclass(annotation, FileFigures):
            return FieldKind.FILE, annotation, ()
        if issubclass(annotation, BaseModel):
            return FieldKind.GROUP, annotation, ()
        for plain, kind in _PLAIN:
            if issubclass(annotation, plain):
                return kind, None, ()
    raise TypeError(f"no form can edit the field {name!r} of type {annotation!r}")


_PLAIN: tuple[tuple[type, FieldKind], ...] = (
    (bool, FieldKind.FLAG),
    (int, FieldKind.WHOLE),
    (float, FieldKind.NUMBER),
    (str, FieldKind.TEXT),
)
