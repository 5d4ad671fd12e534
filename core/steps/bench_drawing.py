"""The drawing for the hand: where the instrument goes, or which control goes which way.

Drawn by the steps' own ``bench`` modules; imported on first use, not with the steps.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import ModuleType
from typing import Any, Final

from core import steps
from core.drawing.drawing import Drawing
from core.fitting import Control, MovePart, Trial
from core.language import Label, Message, Numbers, Series, message
from core.records import Cartridge, Deck
from core.steps import step_named, ways_of
from core.steps.alignment import bench as alignment
from core.steps.arm_height import bench as arm_height
from core.steps.downforce import bench as downforce
from core.steps.level import bench as level
from core.steps.mount import bench as mount
from core.steps.shared.bench_views import ArmFromSide, BenchScene, direction_of, drawn
from core.steps.skating import bench as skating
from core.steps.speed import bench as speed
from core.steps.tilt import bench as tilt

__all__ = ["BenchScene", "draw_move", "draw_raised", "draw_reading", "scene_after", "stood_after"]

_BY_STEP: Final[Mapping[str, ModuleType]] = {
    steps.level.NAME: level,
    steps.mount.NAME: mount,
    steps.rough_downforce.NAME: downforce,
    steps.arm_height.NAME: arm_height,
    steps.alignment.NAME: alignment,
    steps.tilt.NAME: tilt,
    steps.skating.NAME: skating,
    steps.final_downforce.NAME: downforce,
    steps.speed.NAME: speed,
}
_BY_CONTROL: Final[Mapping[Control, ModuleType]] = {
    Control.FOOT: level,
    Control.FOOT_SHIM: level,
    Control.CARTRIDGE: mount,
    Control.SCREWS: mount,
    Control.COUNTERWEIGHT: downforce,
    Control.PILLAR: arm_height,
    Control.BASE_SHIM: arm_height,
    Control.HEAD_SHIM: arm_height,
    Control.RECORD: arm_height,
    Control.SLIDE: alignment,
    Control.TWIST: alignment,
    Control.ARM_BASE: alignment,
    Control.TILT: tilt,
    Control.TILT_SHIM: tilt,
    Control.SKATING: skating,
    Control.SPEED: speed,
}

_OF_BUBBLE: Final = ("toward", "divisions")


def scene_after(
    deck: Deck, cartridge: Cartridge, numbers: Numbers, trials: Sequence[Trial]
) -> BenchScene:
    """Return the scene for a drawing, with where things stand after ``trials``."""
    return BenchScene(deck, cartridge, numbers, stood_after(trials))


def stood_after(trials: Sequence[Trial]) -> dict[str, Any]:
    """Return the values of the last reading, with its setting as the moves since have changed it.

    Where a bubble stood is unknown after a move. Empty where nothing was read.
    """
    moved, is_moved = 0.0, False
    for trial in reversed(trials):
        if trial.reading is not None:
            values = trial.reading.model_dump()
            if is_moved:
                values = {key: one for key, one in values.items() if key not in _OF_BUBBLE}
            if "setting" in values:
                values["setting"] += moved
            return values
        is_moved = True
        moved += sum(part.amount for part in trial.moves if part.control is Control.SKATING)
    return {}


def draw_reading(scene: BenchScene, step: str, way: str, values: Mapping[str, Any]) -> Drawing:
    """Draw where the instrument goes, and the reading; ``values`` may be empty.

    KeyError for an unknown step or way.
    """
    made: Drawing = _BY_STEP[step].draw_reading(scene, way, values)
    title = message("bench.reading", way=Label(ways_of(step_named(step))[way].WAY_TITLE))
    return _named(made, title, scene)


def draw_raised(scene: BenchScene, step: str, way: str, values: Mapping[str, Any]) -> Drawing:
    """Draw the arm in its rest, as while the stylus must stay up; a scale keeps its figure."""
    if _BY_STEP[step] is downforce:
        made = downforce.draw_reading(replace(scene, at_rest=True), way, values)
    else:
        view = ArmFromSide(scene)
        made = drawn([*view.resting(), *view.named(low=True)], view.tall)
    return _named(made, message("bench.raised"), scene)


def draw_move(scene: BenchScene, moved: Sequence[MovePart]) -> Drawing:
    """Draw which control goes which way, and how far; ``moved`` has at least one part."""
    made: Drawing = _BY_CONTROL[moved[0].control].draw_move(scene, moved)
    parallel = not scene.deck.arm.is_pivoted
    said = tuple(direction_of(part, parallel=parallel) for part in moved)
    return _named(made, message("bench.move", moves=Series(said)), scene)


def _named(drawing: Drawing, title: Message, scene: BenchScene) -> Drawing:
    text = scene.numbers.text(title)
    return replace(drawing, title=text, summary=text)
