"""Tables of a plan: predictions and findings, and learned gains."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from PySide6.QtWidgets import QWidget

from core.fitting import Gain
from core.language import (
    Name,
    Numbers,
    StepTitle,
    message,
    shown,
)
from core.swap import Foretold
from core.swap.words import error_value, found_value, predicted_value
from core.workflow import place_words
from desktop.widgets.panels import table
from desktop.widgets.resume_button import shortened

_LONGEST_NAME: Final = 48


def foretold_table(rows: Iterable[Foretold], numbers: Numbers) -> QWidget:
    """Return a table of predictions and findings, one row per figure."""
    titles = (
        message("swap.column.expected"),
        message("swap.column.found"),
        message("swap.column.error"),
    )
    cells = [
        (
            message("swap.figure_of_step", step=StepTitle(one.step), label=shown(one.label)),
            predicted_value(one),
            found_value(one),
            error_value(one),
        )
        for one in rows
    ]
    return table(
        ("", *map(numbers.text, titles)), [tuple(map(numbers.value, row)) for row in cells]
    )


def gain_words(gain: Gain, numbers: Numbers) -> tuple[str, str, str, str]:
    """Return four cells for a learned gain: control, value with spread, fittings, stated value."""
    name = message("control.name", control=gain.control)
    if gain.where:
        where = Name(place_words(gain.control, gain.where))
        name = message("log.control_at", control=name, where=where)
    value = numbers.within(gain.value, gain.half_width, gain.unit, 3)
    moves = message("swap.moves", count=gain.samples)
    stated = message("swap.not_stated")
    if gain.stated is not None:
        stated = message("common.value", value=Name(f"{numbers.plain(gain.stated, 3)} {gain.unit}"))
    return numbers.text(name), value, numbers.text(moves), numbers.text(stated)


def name_words(name: str) -> str:
    """Return a name shortened to one line of a page."""
    return shortened(name, _LONGEST_NAME)
