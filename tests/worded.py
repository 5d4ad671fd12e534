"""Answers with every message made a sentence, for tests that say what a person is told."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

from core.fitting import Assessment
from core.language import (
    JOINER,
    Expectation,
    Interval,
    Message,
    Name,
    Numbers,
    Quantity,
    Series,
    StepTitle,
)

_VALUES = (Expectation, Interval, Message, Name, Quantity, Series, StepTitle)


def worded(answer: Any, numbers: Numbers | None = None) -> Any:
    """Return an answer (an assessment, a status, a journey, a tuple ...) in sentences."""
    say = numbers or Numbers()
    if isinstance(answer, _VALUES):
        return say.value(answer).replace(JOINER, "")  # it takes no room
    if isinstance(answer, tuple | list):
        return type(answer)(worded(one, say) for one in answer)
    if not is_dataclass(answer) or isinstance(answer, type):
        return answer
    said = {f.name: worded(getattr(answer, f.name), say) for f in fields(answer) if f.init}
    if isinstance(answer, Assessment):
        said["drawing"] = lambda: worded(answer.picture, say)
    return replace(answer, **said)
