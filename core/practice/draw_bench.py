"""Drawings of the instruments that stand on the bench and the plinth, true to what they show."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from core.picture import Arrow, Item, Picture, Role, Rule, Shape, Tag, floats
from core.practice import draw_parts as parts
from core.wording import Numbers

_ALONG = {
    "front-back": ("front", "back"),
    "left-right": ("left", "right"),
    "diagonal back right": ("front left", "back right"),
    "diagonal back left": ("front right", "back left"),
}


def lying(said: Mapping[str, Any]) -> str:
    """Say how a level lies on the plinth."""
    ends = _ALONG.get(str(said.get("direction", "")))
    if ends is None:
        return "laid along another direction"
    words = f"laid {ends[0]} to {ends[1]}"
    return f"{words}, turned end for end" if said.get("turned") else words


def _marked_end(said: Mapping[str, Any]) -> str:
    ends = _ALONG.get(str(said.get("direction", "")), ("start", "end"))
    return ends[0] if said.get("turned") else ends[1]


def display(
    value: float, unit: str, decimals: int, title: str, what: str, numbers: Numbers
) -> Picture:
    """Draw an instrument that shows figures."""
    return parts.display(title, what, numbers.unit(value, unit, decimals))


def bubble(divisions: float, said: Mapping[str, Any], numbers: Numbers) -> Picture:
    """Draw the bubble in its vial, one unit a division; the marked end is to the right."""
    half = max(6.0, math.ceil(abs(divisions)) + 2.0)
    places = parts.steps(-half + 1.0, half - 1.0, 1.0)
    items: list[Item] = [
        parts.round_box(-half - 1.0, -1.0, half + 1.0, 1.0),
        parts.ticks(places, -1.0, -0.55),
        parts.ticks(places, 0.55, 1.0),
        parts.round_box(divisions - 1.2, -0.5, divisions + 1.2, 0.5, Role.NOW),
        parts.line([divisions, divisions], [-0.5, 0.5], Role.NOW),
        Rule("x", 0.0, Role.TARGET),
        Tag(half, 1.5, f"mark: {_marked_end(said)}", Role.GUIDE),
    ]
    items += [Tag(place, -1.4, f"{abs(place):g}", Role.GUIDE) for place in places if place % 2 == 0]
    side = "toward the marked end" if divisions > 0 else "away from the marked end"
    return Picture(
        title="Bubble level",
        summary=f"Bubble level {lying(said)}: the bubble stands "
        f"{numbers.unit(abs(divisions), 'div', 1)} {side}.",
        x=parts.hidden(-half - 2.0, half + 2.0, "div"),
        y=parts.hidden(-2.2, 2.2),
        items=tuple(items),
        fixed_aspect=True,
    )


def straightedge(
    gap_mm: float, length_mm: float, said: Mapping[str, Any], numbers: Numbers
) -> Picture:
    """Draw the gap beside a ruler, in millimetres; the marked end is to the right."""
    most = max(5.0, math.ceil(abs(gap_mm)) + 2.0)
    side = -1.0 if gap_mm > 0 else 1.0  # the gap is at the low end
    left, right = (0.0, abs(gap_mm)) if side > 0 else (abs(gap_mm), 0.0)
    ruler_x = 8.0 * side
    items: list[Item] = [
        parts.line([-10.0, 10.0], [0.0, 0.0]),
        parts.line([-8.0, 8.0], [left, right], Role.NOW),
        parts.box(ruler_x, 0.0, ruler_x + 2.0 * side, most),
        parts.ticks(parts.steps(0.0, most, 0.5), ruler_x, ruler_x + 0.7 * side, upright=True),
        Tag(9.0, -0.8, f"mark: {_marked_end(said)}", Role.GUIDE),
    ]
    items += [
        Tag(ruler_x + 1.4 * side, place, f"{place:g}", Role.GUIDE)
        for place in parts.steps(0.0, most, 1.0)
    ]
    where = "unmarked" if gap_mm > 0 else "marked"
    return Picture(
        title="Straightedge and ruler",
        summary=f"Straightedge of {numbers.unit(length_mm, 'mm', 0)} {lying(said)}: a gap of "
        f"{numbers.unit(abs(gap_mm), 'mm', 1)} at the {where} end.",
        x=parts.hidden(-12.0, 12.0),
        y=parts.hidden(-1.5, most + 1.0, "mm"),
        items=tuple(items),
        scale_note="Heights are in millimetres; the straightedge is drawn short.",
    )


def mounted(numbers: Numbers, *, plug_in: bool) -> Picture:
    """Draw the cartridge as it is mounted, from behind: pins and leads, or the plug."""
    del numbers
    items: list[Item] = [parts.box(-9.0, 0.0, 9.0, 16.0)]
    names = ("white, L+", "blue, L−", "red, R+", "green, R−")
    places = ((-5.0, 11.0), (-5.0, 5.0), (5.0, 11.0), (5.0, 5.0))
    if plug_in:
        items.append(Tag(0.0, 8.0, "pushed home, lock closed", Role.NOW))
    else:
        for name, (x, y) in zip(names, places, strict=True):
            items.append(
                Shape(
                    floats([x - 0.6, x + 0.6, x + 0.6, x - 0.6]),
                    floats([y - 0.6, y - 0.6, y + 0.6, y + 0.6]),
                    Role.NOW,
                    filled=True,
                )
            )
            items.append(Tag(x, y - 2.0, name, Role.GUIDE))
        items += [parts.box(x - 1.2, 16.0, x + 1.2, 21.0) for x in (-6.35, 6.35)]
    said = "pushed home, its lock closed" if plug_in else "every lead on its pin, both screws snug"
    return Picture(
        title="Cartridge mounted",
        summary=f"The cartridge from behind: {said}; amplifier off, arm in its rest.",
        x=parts.hidden(-13.0, 13.0, "mm"),
        y=parts.hidden(-2.0, 23.0, "mm"),
        items=tuple(items),
        fixed_aspect=True,
    )


def tube(
    heights_mm: Sequence[float], apart_mm: float, thick_mm: tuple[float, float], numbers: Numbers
) -> Picture:
    """Draw a ruler against the tube's upper edge near the head and near the pivot."""
    front, rear = heights_mm
    low = math.floor(min(front, rear)) - 3.0
    high = math.ceil(max(front, rear)) + 3.0
    items: list[Item] = []
    for x, height, thick, name in (
        (0.0, front, thick_mm[0], "front"), (7.0, rear, thick_mm[1], "rear")
    ):  # fmt: skip
        items += [
            parts.box(x, low, x + 1.6, high),
            parts.ticks(parts.steps(low, high, 0.5), x, x + 0.4, upright=True),
            parts.ticks(parts.steps(low, high, 1.0), x, x + 0.8, upright=True),
            parts.line([x - 1.5, x + 0.9], [height, height], Role.NOW),
            Tag(x + 0.8, low - 0.7, f"{name}, {numbers.unit(thick, 'mm', 0)} thick", Role.GUIDE),
        ]
        items += [
            Tag(x + 1.25, place, f"{place:g}", Role.GUIDE) for place in parts.steps(low, high, 1.0)
        ]
    items.append(
        Arrow(0.0, high + 0.6, 7.0, high + 0.6, Role.GUIDE, numbers.unit(apart_mm, "mm", 1))
    )
    return Picture(
        title="Ruler against the tube",
        summary=f"The tube's upper edge stands {numbers.unit(front, 'mm', 1)} over the record in "
        f"front and {numbers.unit(rear, 'mm', 1)} at the rear, "
        f"{numbers.unit(apart_mm, 'mm', 1)} apart.",
        x=parts.hidden(-2.5, 10.0),
        y=parts.hidden(low - 1.5, high + 1.5, "mm"),
        items=tuple(items),
        scale_note="Heights are in millimetres over the record; the tube is drawn short.",
    )


def strobe(bars: int, drift: float, seconds: float, numbers: Numbers) -> Picture:
    """Draw the bars under the lamp: the one that stood at the mark, and where it stands now.

    One unit is one bar; with the platter is to the right.
    """
    reach = max(8.0, math.ceil(abs(drift)) + 4.0)
    items: list[Item] = []
    for place in range(-int(reach), int(reach) + 1):
        middle = place + drift - math.floor(drift)
        if abs(middle) > reach:
            continue
        items.append(parts.box(middle - 0.25, 0.0, middle + 0.25, 4.0, role=Role.OUTLINE))
    items += [
        parts.box(drift - 0.25, 0.0, drift + 0.25, 4.0, role=Role.NOW),
        Rule("x", 0.0, Role.TARGET),
        Tag(drift, 5.0, "stood at the mark", Role.NOW),
        Tag(0.0, -1.2, "mark", Role.TARGET),
    ]
    size = 5.0 if reach > 12.0 else 1.0
    items += [
        Tag(place, -2.4, f"{abs(place):g}", Role.GUIDE)
        for place in parts.steps(-reach, reach, size)
    ]
    way = "with the platter" if drift > 0 else "against the platter"
    return Picture(
        title="Strobe disc under the lamp",
        summary=f"Ring of {bars} bars: in {numbers.unit(seconds, 's', 0)} they drifted by "
        f"{numbers.plain(abs(drift), 1)} bars {way}.",
        x=parts.hidden(-reach - 1.0, reach + 1.0),
        y=parts.hidden(-4.0, 7.0),
        items=tuple(items),
        scale_note=f"{bars} bars on the ring, drawn straight; after {numbers.unit(seconds, 's', 0)}"
        ". To the right is with the platter.",
    )
