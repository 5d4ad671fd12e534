"""Where the level lies on the plinth, and which foot goes up or down."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import XY, Mark
from core.drawing.roles import Ink, MarkRole
from core.fitting import MovePart
from core.language import Quantity, message
from core.steps.level.readings import BubbleAtEnd, Direction, VialEnd
from core.steps.shared.bench_views import BenchScene, DeckFromAbove, clipped, drawn, number

_BEARING_DEG: Final = {
    Direction.FRONT_BACK: 0.0,
    Direction.LEFT_RIGHT: 90.0,
    Direction.TO_BACK_RIGHT: 45.0,
    Direction.TO_BACK_LEFT: 315.0,
}
_AT_ITS_END: Final = BubbleAtEnd.model_fields["way"].default
_HALF: Final = 24.0
_HALF_VIAL: Final = 9.0
_BUBBLE: Final = 2.0
_SHOWN_DIV: Final = 4.0
"""So many divisions of the bubble are drawn to scale; only a bubble at its end is drawn there."""
_NEAR_END: Final = 6.0
"""Where on the sheet a bubble is drawn that is off by more than these, and not at its end."""
_AT_END: Final = _HALF_VIAL - _BUBBLE
_SAME_LINE: Final = 0.99
"""A level laid as nearly along the line of the reading before, as a cosine: our allowance."""


def bearing_of(values: Mapping[str, Any]) -> float:
    """Return the bearing of the marked end, clockwise from the back."""
    direction = str(values.get("direction") or Direction.FRONT_BACK)
    known = {str(key): turn for key, turn in _BEARING_DEG.items()}
    bearing = known.get(direction, number(values, "bearing_deg"))
    return bearing + 180.0 if values.get("turned") else bearing


def draw_reading(scene: BenchScene, way: str, values: Mapping[str, Any]) -> Drawing:
    """Draw the deck from above with the level in place, its bubble where it was read."""
    view = DeckFromAbove.of(scene)
    bearing = bearing_of(values)
    middle = view.at(*view.spindle)
    items = view.marks()
    items += [mark for foot in scene.deck.plinth.feet for mark in _foot(view, foot.name)]
    items += _instrument(scene, middle, bearing, way, values)
    return drawn(items, view.tall)


def _instrument(
    scene: BenchScene, middle: XY, bearing: float, way: str, values: Mapping[str, Any]
) -> list[Mark]:
    def along(far: float, aside: float = 0.0) -> XY:
        return parts.at(parts.at(middle, far, bearing), aside, bearing + 90.0)

    def bar(start: float, end: float, half: float) -> list[XY]:
        return [along(start, -half), along(end, -half), along(end, half), along(start, half)]

    if way == "water":
        return _dish(scene, middle, along(_HALF - 3.0), values)
    mark = along(_HALF - 3.0)
    items: list[Mark] = [
        parts.edged(bar(-_HALF, _HALF, 3.6), Ink.BODY),
        parts.edged(bar(-_HALF_VIAL, _HALF_VIAL, 2.4), Ink.GLASS),
        parts.disc(mark, 2.0, Ink.MARK),
    ]
    shown = _bubble_at(scene, bearing, way, values)
    if shown is not None:
        items.append(parts.disc(along(shown), _BUBBLE, MarkRole.NOW))
    items += scene.tag(mark[0], mark[1] - 8.0, message("bench.place", what="marked_end"))
    return items


def _bubble_at(
    scene: BenchScene, bearing: float, way: str, values: Mapping[str, Any]
) -> float | None:
    """Return how far toward the marked end the bubble is drawn; None at an end not named yet.

    A bubble that stood at an end is drawn there until something else is typed.
    """
    if way not in ("bubble", _AT_ITS_END):
        return 0.0
    end = _end(scene, values)
    typed = values.get("divisions")
    if end == 0.0 and not isinstance(typed, int | float):
        along = math.cos(math.radians(bearing - bearing_of(scene.stood)))
        end = _end(scene, scene.stood) * round(along) if abs(along) > _SAME_LINE else 0.0
    if end != 0.0:
        return math.copysign(_AT_END, end)
    if way == _AT_ITS_END:
        return None
    return clipped(number(values, "divisions"), _SHOWN_DIV) * _NEAR_END / _SHOWN_DIV


def _end(scene: BenchScene, values: Mapping[str, Any]) -> float:
    """Return 1 with the bubble at the marked end of its vial, -1 at the other, else 0."""
    if values.get("toward") is not None:
        return 1.0 if values["toward"] == VialEnd.MARKED else -1.0
    off = number(values, "divisions")
    return math.copysign(1.0, off) if abs(off) >= scene.deck.bench.bubble_range_div else 0.0


def _dish(scene: BenchScene, middle: XY, mark: XY, values: Mapping[str, Any]) -> list[Mark]:
    """Draw a dish of water from above, with how deep it is at either end."""
    other = (2.0 * middle[0] - mark[0], 2.0 * middle[1] - mark[1])
    items: list[Mark] = [
        parts.disc(middle, _HALF, Ink.BODY),
        parts.disc(middle, _HALF - 1.5, Ink.GLASS),
        parts.disc(mark, 2.0, Ink.MARK),
        parts.disc(other, 1.2, MarkRole.NOW),
    ]
    for place, field in ((mark, "marked_mm"), (other, "other_mm")):
        if isinstance(values.get(field), int | float):
            said = message("bench.figure", value=Quantity(number(values, field), "mm", 1))
            inward = 0.6 * place[0] + 0.4 * middle[0], 0.6 * place[1] + 0.4 * middle[1] + 6.0
            items += scene.tag(*inward, said)
    items += scene.tag(mark[0], mark[1] - 8.0, message("bench.place", what="marked_end"))
    return items


def _foot(view: DeckFromAbove, name: str, *, chosen: bool = False) -> list[Mark]:
    place = view.foot(name)
    if place is None:
        return []
    ring = parts.disc(place, 5.0 if chosen else 3.4, MarkRole.PREDICTED if chosen else Ink.FAINT)
    return [ring]


def draw_move(scene: BenchScene, moved: Sequence[MovePart]) -> Drawing:
    """Draw the deck from above; each foot to turn has its arrow, up if the corner rises."""
    view = DeckFromAbove.of(scene)
    items = view.marks()
    named = {part.where for part in moved}
    for foot in scene.deck.plinth.feet:
        items += _foot(view, foot.name, chosen=foot.name in named)
    for part in moved:
        place = view.foot(part.where)
        if place is None:
            continue
        inward = math.copysign(11.0, 50.0 - place[0])
        items += parts.upright(place[0] + inward, place[1], up=part.amount >= 0.0, tall=12.0)
        beside = place[1] + math.copysign(11.0, 0.5 * view.tall - place[1])
        items += scene.amount(place[0] + 0.5 * inward, beside, part)
    return drawn(items, view.tall)
