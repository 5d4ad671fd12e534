"""The language of the application, used for the widgets' own words.

The application holds it, as it does Qt's own translations: many labels and buttons are made where
nothing else of the screen is known.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QCoreApplication

from core.language import (
    ENGLISH,
    Numbers,
    Text,
    ToldProblem,
    Value,
    message,
)
from core.records import Directions, FieldSpec

if TYPE_CHECKING:
    from core.language import Caution, StepText

_PROPERTY: Final = "language"


def speak(language: str) -> None:
    """Use this language from now on."""
    app = QCoreApplication.instance()
    if app is not None:
        app.setProperty(_PROPERTY, language)


def spoken() -> str:
    """Return the language of the application."""
    app = QCoreApplication.instance()
    return str((app and app.property(_PROPERTY)) or ENGLISH)


def tr(key: str, /, **values: Value) -> str:
    """Return the sentence of a message in the language of the application."""
    return Numbers(language=spoken()).text(message(key, **values))


def local_label(text: str) -> str:
    """Translate words of a model into the language of the application."""
    return Numbers(language=spoken()).label(text)


def field_label(spec: FieldSpec) -> FieldSpec:
    """Return a field with its words in the language of the application."""
    if spoken() == ENGLISH:
        return spec
    unit = spec.unit and replace(spec.unit, spoken=local_label(spec.unit.spoken))
    ways = spec.directions
    return replace(
        spec,
        label=local_label(spec.label),
        help=local_label(spec.help),
        unit=unit,
        directions=ways and Directions(local_label(ways.plus), local_label(ways.minus)),
    )


def step_words(step: str, *, parallel: bool = False) -> StepText:
    """Return the words of a step in the language of the application.

    ``parallel`` asks for those of a parallel-tracking arm.
    """
    from core.language import step_text  # the first screen needs no step

    return step_text(step, spoken(), parallel=parallel)


def caution_words() -> dict[str, Caution]:
    """Return every caution in the language of the application."""
    from core.language import cautions  # as above

    return cautions(spoken())


def told(problem: ToldProblem) -> str:
    """Return problem and remedy in the language of the application."""
    return f"{said(problem.what)} {said(problem.todo)}".strip()


def said(what: Text | None) -> str:
    """Return a message's sentence in the language of the application."""
    return Numbers(language=spoken()).text(what)
