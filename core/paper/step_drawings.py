"""The small drawings of a bench sheet: for each step the control that was moved, else the reading.

Drawn in greys, as a printer without colours has them; the leads are told by their words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from core.drawing.drawing import Drawing
from core.drawing.marks import XY, Area, Box, Mark, Pen, Polyline, Words
from core.drawing.roles import Colour, Ink, MarkRole
from core.fitting import Journey, Reading, StepStatus, Trial
from core.language import Numbers
from core.steps.bench_drawing import BenchScene, draw_move, draw_reading, scene_after

_GREYS: Final[Mapping[Colour, float]] = {
    Ink.FAINT: 0.45,
    Ink.BODY: 0.92,
    Ink.GLASS: 1.0,
    Ink.WHITE_LEAD: 1.0,
    Ink.BLUE_LEAD: 0.45,
    Ink.RED_LEAD: 0.6,
    Ink.GREEN_LEAD: 0.75,
    MarkRole.TARGET: 0.5,
    MarkRole.LEFT: 0.6,
    MarkRole.RIGHT: 0.6,
}
"""Grey level of each colour on paper; colours not named are black."""


_GAVE_UP: Final = frozenset(
    {
        "control.does_not_answer",
        "control.left_above",
        "control.left_unsure",
        "downforce.scale_stuck",
    }
)
"""Headlines that end a step because its last move changed nothing that is known."""

_OF_THE_SCALE: Final = frozenset({"check weight", "empty pan"})
"""Ways that read the scale itself: what they show is no downforce."""


def drawing_of(status: StepStatus, journey: Journey, say: Numbers) -> Drawing | None:
    """Return the last move of a step with its arrow, or else how it was read.

    None if there is neither. A last move that changed nothing set nothing, so the reading is drawn:
    no earlier move was the last one.
    """
    deck, cartridge, trials = journey.deck, journey.cartridge, status.trials
    moved_at = max((at for at, trial in enumerate(trials) if trial.moves), default=None)
    gave_up = status.assessment.headline.key in _GAVE_UP
    if moved_at is not None and not gave_up and not _was_doubted(trials, moved_at):
        scene = scene_after(deck, cartridge, say, trials[:moved_at])
        return draw_move(scene, trials[moved_at].moves)
    read = _read_last([trial.reading for trial in trials if trial.reading is not None])
    if read is None:
        return None
    scene = BenchScene(deck, cartridge, say)
    read = read.as_said()
    return draw_reading(scene, status.step, str(read.way), read.model_dump())


def _read_last(readings: Sequence[Reading]) -> Reading | None:
    """Return the last reading of what the step judges; a check of the scale where there is none."""
    told = [read for read in readings if read.way not in _OF_THE_SCALE]
    return next(reversed(told or readings), None)


def _was_doubted(trials: Sequence[Trial], moved_at: int) -> bool:
    """Return whether the reading after a move led to a question about its control.

    Not one that was answered by the direction: the entry is right since then.
    """
    controls = {part.control for part in trials[moved_at].moves}
    for trial in trials[moved_at + 1 :]:
        if trial.moves:
            return False
        checked = trial.checked
        if checked is not None and checked.control in controls:
            return not (checked.reversed_entry or checked.as_read)
    return False


def set_in(drawing: Drawing, box: Box) -> tuple[Mark, ...]:
    """Return a drawing scaled into a box of a sheet, in greys, at its top and in its middle."""
    scale = min(box.width / drawing.width_mm, box.height / drawing.height_mm)
    left = box.left + 0.5 * (box.width - scale * drawing.width_mm)
    bottom = box.top - scale * drawing.height_mm

    def at(points: Sequence[XY]) -> tuple[XY, ...]:
        return tuple((left + scale * x, bottom + scale * y) for x, y in points)

    def inked(pen: Pen | None) -> Pen | None:
        return pen and Pen(scale * pen.width_mm, pen.dash_mm, _grey(pen.colour))

    found: list[Mark] = []
    for mark in drawing.marks:
        if isinstance(mark, Polyline):
            pen = inked(mark.pen)
            found.append(replace(mark, points=at(mark.points), pen=pen or mark.pen))
        elif isinstance(mark, Area):
            fill = None if mark.fill is None else _grey(mark.fill)
            found.append(Area(at(mark.points), fill, inked(mark.pen), mark.name))
        elif isinstance(mark, Words):
            ((x, y),) = at([(mark.x, mark.y)])
            size, grey = scale * mark.size_mm, _grey(mark.colour)
            found.append(replace(mark, x=x, y=y, size_mm=size, colour=grey))
        else:
            raise TypeError(f"no drawing for the hand holds a {type(mark).__name__}")
    return tuple(found)


def _grey(colour: Colour) -> float:
    if isinstance(colour, float):
        return colour
    return _GREYS.get(colour, 0.0)
