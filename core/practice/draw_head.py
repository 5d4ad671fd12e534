"""Drawings of what is read at the head: protractor, gaps, mirror, meters, dial, bands by ear."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from core.picture import Item, Picture, Points, Role, Rule, Shape, Tag, floats
from core.practice import draw_parts as parts
from core.wording import Numbers

_REACH = 60.0
_LANDING_TIMES = 6.0
_LEVEL_DB = (-50.0, 5.0)


def _landing(x: float, landing_mm: float, name: str) -> list[Item]:
    """Draw where the stylus touches beside its mark, upward away from the pivot."""
    times, most = _LANDING_TIMES, max(4.0, math.ceil(abs(landing_mm)) + 1.0)
    low, high = 30.0 - times * most, 30.0 + times * most
    fine = [30.0 + times * place for place in parts.steps(-most, most, 0.5)]
    items: list[Item] = [
        parts.line([x, x], [low, high]),
        parts.ticks(fine, x - 2.0, x + 2.0, upright=True),
        parts.line([x - 8.0, x + 8.0], [30.0, 30.0], Role.TARGET),
        Points(floats([x]), floats([30.0 + times * landing_mm]), Role.NOW),
        Tag(x, low - 5.0, name, Role.GUIDE),
    ]
    items += [
        Tag(x + 5.0, 30.0 + times * place, f"{abs(place):g}", Role.GUIDE)
        for place in parts.steps(-most, most, 1.0)
    ]
    return items


def _grid(x: float, angle_deg: float, name: str, most: int) -> list[Item]:
    return [
        *parts.fan(x, 0.0, _REACH, most),
        parts.pointer(x, 0.0, _REACH, parts.spread(most) * angle_deg),
        Tag(x, -14.0, name, Role.GUIDE),
    ]


def _most_deg(*angles_deg: float | None) -> int:
    sizes = [abs(angle) for angle in angles_deg if angle is not None]
    return max(6, math.ceil(max(sizes, default=0.0)) + 1)


def _angle_note(most: int) -> str:
    times = parts.spread(most)
    drawn = "true" if times == 1.0 else f"drawn {times:.0f} times as large"
    return f"Angles are {drawn}; out, away from the spindle, is to the right."


def _side(angle_deg: float, numbers: Numbers) -> str:
    return f"{numbers.unit(abs(angle_deg), '°', 1)} {'out' if angle_deg > 0 else 'in'}"


def protractor(
    landing_mm: float | None, inner_deg: float | None, outer_deg: float | None, numbers: Numbers
) -> Picture:
    """Draw the stylus beside its mark and the head over the grids."""
    items: list[Item] = []
    told: list[str] = []
    x, most = 0.0, _most_deg(inner_deg, outer_deg)
    if landing_mm is not None:
        items += _landing(x, landing_mm, "landing, mm")
        beyond = "beyond the mark" if landing_mm > 0 else "short of the mark"
        told.append(f"the stylus lands {numbers.unit(abs(landing_mm), 'mm', 1)} {beyond}")
        x += 65.0
    for angle, name in ((inner_deg, "inner grid"), (outer_deg, "outer grid")):
        if angle is not None:
            items += _grid(x, angle, f"{name}, degrees", most)
            told.append(f"at the {name} the head stands {_side(angle, numbers)}")
            x += 105.0
    note = "" if inner_deg is None else _angle_note(most)
    if landing_mm is not None:
        note = f"{note} The landing is drawn 6 times as large, away from the pivot upward.".strip()
    return Picture(
        title="Protractor",
        summary=f"Protractor: {'; '.join(told)}.",
        x=parts.hidden(-25.0 if landing_mm is not None else -55.0, max(x - 50.0, 25.0)),
        y=parts.hidden(-25.0, 75.0),
        items=tuple(items),
        fixed_aspect=True,
        scale_note=note,
    )


def path(inner_mm: float, outer_mm: float, head_deg: float, numbers: Numbers) -> Picture:
    """Draw a parallel arm's stylus beside the line from the spindle, and its head on the grid."""
    most = _most_deg(head_deg)
    items = [
        *_landing(0.0, inner_mm, "innermost, mm"),
        *_landing(35.0, outer_mm, "outermost, mm"),
        *_grid(100.0, head_deg, "head, degrees", most),
    ]
    placed = [
        f"{numbers.unit(abs(value), 'mm', 1)} {'ahead of' if value > 0 else 'behind'} the line"
        for value in (inner_mm, outer_mm)
    ]
    return Picture(
        title="Stylus beside a radius line",
        summary=f"Innermost groove: {placed[0]}; outermost: {placed[1]}; the head stands "
        f"{_side(head_deg, numbers)} against the grid.",
        x=parts.hidden(-20.0, 158.0),
        y=parts.hidden(-25.0, 75.0),
        items=tuple(items),
        fixed_aspect=True,
        scale_note="The stylus is drawn 6 times as far from the line, ahead upward. "
        + _angle_note(most),
    )


def ruler(value_mm: float, title: str, numbers: Numbers) -> Picture:
    """Draw the end of a ruler around what it shows, in millimetres."""
    low, high = math.floor(value_mm) - 5.0, math.floor(value_mm) + 6.0
    places = parts.steps(low, high, 1.0)
    items: list[Item] = [
        parts.box(low, 0.0, high, 4.0),
        parts.ticks(parts.steps(low, high, 0.5), 0.0, 0.8),
        parts.ticks(places, 0.0, 1.5),
        parts.line([value_mm, value_mm], [-2.0, 1.0], Role.NOW),
    ]
    items += [Tag(place, 2.3, f"{place:g}", Role.GUIDE) for place in places if place % 2 == 0]
    return Picture(
        title=title,
        summary=f"{title}: {numbers.unit(value_mm, 'mm', 1)} on the ruler.",
        x=parts.hidden(low - 1.0, high + 1.0, "mm"),
        y=parts.hidden(-3.0, 5.0),
        items=tuple(items),
        fixed_aspect=True,
    )


def gaps(left_mm: float, right_mm: float, width_mm: float, numbers: Numbers) -> Picture:
    """Draw the underside over the record from the front, each gap beside its own scale."""
    half, top = 0.5 * width_mm, max(4.0, math.ceil(max(left_mm, right_mm)) + 1.0)
    items: list[Item] = [
        parts.line([-half - 5.0, half + 5.0], [0.0, 0.0]),
        parts.line([-half, half], [left_mm, right_mm], Role.NOW),
        Tag(-half, -0.35, "left", Role.LEFT),
        Tag(half, -0.35, "right", Role.RIGHT),
    ]
    for side in (-1.0, 1.0):
        x = side * half
        items += [
            parts.line([x, x], [0.0, top], Role.GUIDE),
            parts.ticks(parts.steps(0.0, top, 0.1), x, x + 0.6 * side, upright=True),
            parts.ticks(parts.steps(0.0, top, 0.5), x, x + 1.2 * side, upright=True),
        ]
        items += [
            Tag(x + 2.2 * side, place, numbers.short(place, 1), Role.GUIDE)
            for place in parts.steps(0.0, top, 0.5)
        ]
    return Picture(
        title="Gaps under the body",
        summary=f"From the front: {numbers.unit(left_mm, 'mm', 2)} under the left edge, "
        f"{numbers.unit(right_mm, 'mm', 2)} under the right.",
        x=parts.hidden(-half - 6.0, half + 6.0, "mm"),
        y=parts.hidden(-0.7, top + 0.2, "mm"),
        items=tuple(items),
        scale_note="Heights are stretched; the scales are in millimetres.",
    )


def mirror(tilt_deg: float, numbers: Numbers) -> Picture:
    """Draw the cartridge standing on a mirror, and its image; the lean is true."""
    turn = math.radians(tilt_deg)
    along, up = (math.cos(turn), -math.sin(turn)), (math.sin(turn), math.cos(turn))
    corners = [(-8.5, 2.0), (8.5, 2.0), (8.5, 17.0), (-8.5, 17.0)]
    x = [a * along[0] + b * up[0] for a, b in corners]
    y = [a * along[1] + b * up[1] for a, b in corners]
    image = [-value for value in y]
    items: list[Item] = [
        Rule("y", 0.0, Role.OUTLINE, "mirror"),
        Shape(floats(x), floats(y), Role.NOW),
        Shape(floats(x), floats(image), Role.BEFORE),
        parts.line([0.0, 19.0 * up[0]], [0.0, 19.0 * up[1]], Role.NOW),
        parts.line([0.0, 19.0 * up[0]], [0.0, -19.0 * up[1]], Role.BEFORE),
        Rule("x", 0.0, Role.GUIDE),
        Tag(-11.0, 1.0, "left", Role.LEFT),
        Tag(11.0, 1.0, "right", Role.RIGHT),
    ]
    side = "left" if tilt_deg > 0 else "right"
    lean = numbers.unit(abs(tilt_deg), "°", 1)
    return Picture(
        title="Mirror",
        summary=f"From the front: cartridge and image make a kink of twice {lean}, {side} side up.",
        x=parts.hidden(-15.0, 15.0, "mm"),
        y=parts.hidden(-20.0, 20.0, "mm"),
        items=tuple(items),
        fixed_aspect=True,
    )


_METERS = (
    ("left_band_left_db", "left band, left", Role.LEFT),
    ("left_band_right_db", "left band, right", Role.RIGHT),
    ("right_band_right_db", "right band, right", Role.RIGHT),
    ("right_band_left_db", "right band, left", Role.LEFT),
)


def meters(levels_db: Mapping[str, float], numbers: Numbers) -> Picture:
    """Draw the levels of both channels on either band."""
    low, high = _LEVEL_DB
    items: list[Item] = [Rule("x", place, Role.GUIDE) for place in parts.steps(low, high, 10.0)]
    told = []
    for row, (key, name, role) in enumerate(_METERS):
        y, level = 3.0 - row, levels_db[key]
        shown = max(min(level, high), low)
        items += [
            Shape(
                floats([low, shown, shown, low]), floats([y - 0.3, y - 0.3, y + 0.3, y + 0.3]),
                role, filled=True,
            ),
            Tag(0.5 * (low + high), y + 0.42, f"{name}: {numbers.unit(level, 'dB', 1)}", Role.NOW),
        ]  # fmt: skip
        told.append(f"{name} {numbers.unit(level, 'dB', 1)}")
    items += [
        Tag(place, -0.8, numbers.plain(place, 0), Role.GUIDE)
        for place in parts.steps(low, high, 10.0)
    ]
    return Picture(
        title="Level meters",
        summary=f"Level meters: {'; '.join(told)}.",
        x=parts.hidden(low - 2.0, high + 2.0, "dB"),
        y=parts.hidden(-1.2, 3.9),
        items=tuple(items),
    )


def dial(place: float, highest: float, step: float, numbers: Numbers, *, notches: bool) -> Picture:
    """Draw the skating control and where its pointer, or its thread, stands."""
    most = max(highest, step)
    marks = parts.steps(0.0, most, step)
    named = marks if len(marks) <= 12 else parts.steps(0.0, most, 0.5)
    items: list[Item] = [
        parts.line([0.0, most], [0.0, 0.0]),
        parts.ticks(marks, 0.0, 0.25),
        parts.line([place, place], [-0.5, 0.4], Role.NOW),
    ]
    items += [
        Tag(mark, 0.55, "off" if mark == 0.0 else numbers.short(mark, 2), Role.GUIDE)
        for mark in named
    ]
    name = "Weight on its thread" if notches else "Skating dial"
    where = f"notch {place:.0f}" if notches else numbers.unit(place, "gf", 2)
    stands = "off" if round(place, 3) == 0.0 else where
    return Picture(
        title=name,
        summary=f"{name}: it stands at {stands}.",
        x=parts.hidden(-0.08 * most, 1.08 * most),
        y=parts.hidden(-1.0, 1.0),
        items=tuple(items),
    )


def bands(broke: str, numbers: Numbers) -> Picture:
    """Draw what both channels sound like in the band where the first of them breaks up."""
    del numbers
    time = np.linspace(0.0, 4.0, 241)
    clean = np.sin(2.0 * math.pi * time)
    torn = np.clip(1.6 * clean, -0.8, 0.8) + 0.15 * np.sin(46.0 * math.pi * time)
    items: list[Item] = []
    for name, y, role in (("left", 1.5, Role.LEFT), ("right", -1.5, Role.RIGHT)):
        breaks = broke in (name, "together")
        wave = torn if breaks else clean
        items.append(parts.line(time.tolist(), (y + wave).tolist(), role))
        items.append(Tag(-0.5, y, name, role))
    told = {
        "left": "the left channel breaks up first",
        "right": "the right channel breaks up first",
        "together": "both channels break up in the same band",
    }[broke]
    return Picture(
        title="Rising test bands",
        summary=f"As the bands get louder, {told}.",
        x=parts.hidden(-1.0, 4.2),
        y=parts.hidden(-3.0, 3.0),
        items=tuple(items),
    )
