"""Drawings of what is read at the head, and of what a test record tells."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import Area, Box, Mark, whole_steps
from core.drawing.roles import Ink, Role
from core.language import Numbers

_WIDE: Final = 100.0


def _landing(name: str, y: float, value_mm: float, title: str, ends: tuple[str, str]) -> list[Mark]:
    """Draw the stylus beside its mark on a stretch of scale; toward ``ends[1]`` is to the right."""
    low, high = (-4.0, 4.0) if abs(value_mm) <= 3.4 else parts.window(value_mm, 8.0)
    scale = parts.DrawnScale(name, low, high, (8.0, y), (92.0, y))
    x = scale.place(value_mm)[0]
    items: list[Mark] = [
        parts.rounded(2.0, y - 13.5, 98.0, y + 15.0, 2.0, Ink.GLASS),
        parts.line(scale.place(low), scale.place(high), colour=Ink.WORD, width=0.5),
        *scale.lines(0.1, 0.5, 1.0, 5.0),
        *scale.figures(1.0, -4.2, lambda value: f"{abs(value):.0f}", 4.6),
        parts.line((x, y), (x, y + 11.0), colour=Role.NOW, width=0.6, name=f"{name}@"),
        parts.edged(((x, y + 4.0), (x - 1.8, y + 12.5), (x + 1.8, y + 12.5)), Role.NOW),
        parts.words(50.0, y + 18.4, title, 4.2, bold=True),
        parts.words(4.0, y - 10.3, f"◂ {ends[0]}", 4.0, align="left"),
        parts.words(96.0, y - 10.3, f"{ends[1]} ▸", 4.0, align="right"),
    ]
    if low <= 0.0 <= high:
        zero = scale.place(0.0)[0]
        items.append(parts.line((zero, y - 1.5), (zero, y + 8.0), colour=Ink.MARK, width=0.8))
    else:
        items += _out_of_view("mark", 34.0, y + 11.5, to_right=low <= 0.0)
    return items


def _out_of_view(text: str, aside: float, y: float, *, to_right: bool) -> list[Mark]:
    """Draw an arrow toward what lies beyond one side of the sheet."""
    away = 1.0 if to_right else -1.0
    x = 50.0 + aside * away
    return [
        *parts.arrow((x, y), (x + 9.0 * away, y), Ink.MARK),
        parts.words(x - away, y, text, align="right" if to_right else "left"),
    ]


_FAR: Final = 110.0
"""Radius of a grid's outer edge on the sheet; its middle lies below what is seen."""
_DEEP: Final = 27.0
_SEEN_DEG: Final = 5
_TIMES: Final = 4
"""How many times as large angles are drawn; five degrees to either side fit the sheet."""


def _grid(name: str, foot: float, angle_deg: float, title: str) -> list[Mark]:
    """Draw the head's edge over a stretch of grid, angles larger than life; out is to the right."""
    middle, near, far = (50.0, foot + _DEEP - _FAR), _FAR - _DEEP, _FAR
    # A head far off is drawn with the stretch of the grid that it stands on.
    centre = 0 if abs(angle_deg) <= 0.9 * _SEEN_DEG else round(angle_deg)

    def turn(degrees: float) -> float:
        return _TIMES * (degrees - centre)

    edge = _TIMES * _SEEN_DEG + 1.5
    rim = (*parts.arc(middle, far, -edge, edge), *parts.arc(middle, near, edge, -edge))
    read, wide = turn(angle_deg), 5.0
    head = (
        parts.at(middle, near + 1.0, read),
        parts.at(middle, far - 7.0, read),
        parts.at(parts.at(middle, far - 9.0, read), wide, read + 90.0),
        parts.at(parts.at(middle, near + 1.0, read), wide, read + 90.0),
    )
    items: list[Mark] = [parts.edged(rim, Ink.GLASS), parts.edged(head, Ink.BODY)]
    for fifth in range(5 * (centre - _SEEN_DEG), 5 * (centre + _SEEN_DEG) + 1):
        at, whole = turn(0.2 * fifth), fifth % 5 == 0
        ink, width = (Ink.MARK, 0.7) if fifth == 0 else (Ink.WORD, 0.45 if whole else 0.28)
        start = near if fifth == 0 else far - (10.0 if whole else 4.5)
        ends = parts.at(middle, start, at), parts.at(middle, far, at)
        items.append(parts.line(*ends, colour=ink, width=width))
        if whole:
            place, degree = parts.at(middle, far + 3.6, at), fifth // 5
            items.append(parts.words(*place, f"{abs(degree)}", 4.4, name=f"{name}:{degree}"))
    items += [
        parts.line(
            parts.at(middle, near, read),
            parts.at(middle, far, read),
            colour=Role.NOW,
            width=0.7,
            name=f"{name}@",
        ),
        parts.words(50.0, foot - 6.4, title, 4.2, bold=True),
        parts.words(4.0, foot - 6.4, "◂ in", 4.0, align="left"),
        parts.words(96.0, foot - 6.4, "out ▸", 4.0, align="right"),
    ]
    if abs(centre) > _SEEN_DEG:
        items += _out_of_view("0", 28.0, foot + 3.0, to_right=centre <= 0)
    return items


_ANGLE_NOTE: Final = (
    f"Angles in degrees, drawn {_TIMES} times as large; short lines are fifths. Out is away from "
    "the spindle. Read the blue edge of the head."
)


def _side(angle_deg: float, numbers: Numbers) -> str:
    return f"{numbers.unit(abs(angle_deg), '°', 1)} {'out' if angle_deg > 0 else 'in'}"


def protractor(
    landing_mm: float | None, inner_deg: float | None, outer_deg: float | None, numbers: Numbers
) -> Drawing:
    """Draw the stylus beside its mark and the head over the grids."""
    items: list[Mark] = []
    told: list[str] = []
    notes: list[str] = []
    tall = 0.0
    if inner_deg is not None and outer_deg is not None:
        for name, foot, angle in (("inner", 54.0, inner_deg), ("outer", 10.0, outer_deg)):
            items += _grid(name, foot, angle, f"{name} grid, degrees")
            told.append(f"at the {name} grid the head stands {_side(angle, numbers)}")
        tall = 89.0
        notes.append(_ANGLE_NOTE)
    if landing_mm is not None:
        ends = ("toward the pivot", "beyond")
        items += _landing("landing", tall + 15.0, landing_mm, "mm from the mark", ends)
        beyond = "beyond the mark" if landing_mm > 0 else "short of the mark"
        told.insert(0, f"the stylus lands {numbers.unit(abs(landing_mm), 'mm', 1)} {beyond}")
        notes.insert(0, "The red line is the mark; the blue point is the stylus.")
        tall += 37.0
    return Drawing(
        "Protractor", f"Protractor: {'; '.join(told)}.", _WIDE, tall, tuple(items), " ".join(notes)
    )


def path(inner_mm: float, outer_mm: float, head_deg: float, numbers: Numbers) -> Drawing:
    """Draw a parallel arm's stylus beside the line from the spindle, and its head on the grid."""
    ends = ("behind the line", "ahead")
    items = [
        *_grid("head", 10.0, head_deg, "head, degrees"),
        *_landing("outermost", 60.0, outer_mm, "outermost groove, mm", ends),
        *_landing("innermost", 97.0, inner_mm, "innermost groove, mm", ends),
    ]
    placed = [
        f"{numbers.unit(abs(value), 'mm', 1)} {'ahead of' if value > 0 else 'behind'} the line"
        for value in (inner_mm, outer_mm)
    ]
    return Drawing(
        "Stylus beside a radius line",
        f"Innermost groove: {placed[0]}; outermost: {placed[1]}; the head stands "
        f"{_side(head_deg, numbers)} against the grid.",
        _WIDE,
        119.0,
        tuple(items),
        f"The red line comes from the spindle; the blue point is the stylus. {_ANGLE_NOTE}",
    )


def ruler(value_mm: float, title: str, numbers: Numbers) -> Drawing:
    """Draw the end of a ruler around what it shows, in millimetres."""
    low, high = parts.window(value_mm, 10.0)
    scale = parts.DrawnScale("ruler", low, high, (8.0, 30.0), (92.0, 30.0), -1)
    x = scale.place(value_mm)[0]
    items: list[Mark] = [
        parts.box(1.0, 9.0, 99.0, 30.0),
        *scale.lines(0.5, 0.5, 1.0, 6.0),
        *scale.figures(2.0, 11.0, lambda value: f"{value:.0f}", 4.8),
        parts.line((x, 25.0), (x, 40.0), colour=Role.NOW, width=0.7, name="ruler@"),
        parts.disc((x, 42.5), 3.0, Ink.GLASS),
        parts.disc((x, 42.5), 0.9, Role.NOW),
        parts.words(x + 5.0 if x < 60.0 else x - 5.0, 42.5, "spindle", 4.0,
              align="left" if x < 60.0 else "right"),
        parts.words(3.0, 4.0, "◂ zero at the pivot", 4.0, align="left"),
        parts.words(97.0, 4.0, "mm", 4.0, align="right"),
    ]  # fmt: skip # rows of a table
    return Drawing(
        title,
        f"{title}: {numbers.unit(value_mm, 'mm', 1)} on the ruler.",
        _WIDE,
        48.0,
        tuple(items),
        "Longer lines are whole millimetres, short ones halves.",
    )


def gaps(left_mm: float, right_mm: float, width_mm: float, numbers: Numbers) -> Drawing:
    """Draw the underside over the record from the front, each gap beside its own ruler."""
    items: list[Mark] = []
    near = abs(left_mm - right_mm) <= 2.0  # both rulers show the same stretch
    for name, x, value, ink in (
        ("left", 16.0, left_mm, Role.LEFT),
        ("right", 84.0, right_mm, Role.RIGHT),
    ):
        middle = 0.5 * (left_mm + right_mm) if near else value
        low, high = parts.window(middle, 3.0, whole=0.5)
        side = 1 if name == "left" else -1
        scale = parts.DrawnScale(name, low, high, (x, 14.0), (x, 84.0), side)
        y, inward = scale.place(value)[1], float(side)
        items += [
            parts.box(min(x, x - 14.0 * inward), 11.0, max(x, x - 14.0 * inward), 87.0),
            *scale.lines(0.05, 0.1, 0.5, 5.0),
            *scale.figures(0.5, 9.6, lambda value: numbers.plain(value, 1), 4.4),
            parts.line(
                (x - 3.0 * inward, y),
                (x + 21.0 * inward, y),
                colour=Role.NOW,
                width=0.8,
                name=f"{name}@",
            ),
            Area(Box(x + 0.4 * inward, y, x + 21.0 * inward, 90.0).corners, Ink.GLASS),
            parts.words(x + 11.0 * inward, min(y + 6.0, 84.0), "body", 4.0, Ink.FAINT),
            parts.words(x - 7.0 * inward, 6.5, name, 4.6, ink, bold=True),
        ]
    items += [
        parts.words(50.0, 55.0, "seen from", 4.0),
        parts.words(50.0, 49.5, "the front", 4.0),
        parts.words(50.0, 40.0, f"{numbers.unit(width_mm, 'mm', 1)} apart", 3.4, Ink.FAINT),
        parts.words(50.0, 6.5, "mm over the record", 4.0, Ink.FAINT),
    ]
    return Drawing(
        "Gaps under the body",
        f"From the front: {numbers.unit(left_mm, 'mm', 2)} under the left edge, "
        f"{numbers.unit(right_mm, 'mm', 2)} under the right.",
        _WIDE,
        92.0,
        tuple(items),
        "Read the underside of the body, the blue line, on each ruler: long lines are halves, "
        "middle ones tenths of a millimetre. Both are drawn much enlarged.",
    )


def mirror(tilt_deg: float, numbers: Numbers) -> Drawing:
    """Draw the cartridge standing on a mirror, its image, and a card with degrees behind."""
    most = max(4, math.ceil(abs(tilt_deg) + 0.5))
    times = max(1, min(6, math.floor(32.0 / most)))
    middle, reach, turn = (50.0, 46.0), 44.0, times * tilt_deg
    items: list[Mark] = [
        parts.box(2.0, 1.0, 98.0, 46.0, Ink.GLASS),
        parts.words(6.0, 6.0, "mirror", 4.0, Ink.FAINT, "left"),
        parts.words(6.0, 51.0, "left", 4.6, Role.LEFT, "left", bold=True),
        parts.words(94.0, 51.0, "right", 4.6, Role.RIGHT, "right", bold=True),
    ]
    for half in range(-2 * most, 2 * most + 1):
        whole = half % 2 == 0
        far = 0.5 * half * times
        near = reach - (5.0 if whole else 3.0)
        ink, width = (Ink.MARK, 0.6) if half == 0 else (Ink.WORD, 0.4)
        ends = parts.at(middle, near, far), parts.at(middle, reach, far)
        items.append(parts.line(*ends, colour=ink, width=width))
        if whole:
            place = parts.at(middle, reach + 3.4, far)
            items.append(parts.words(*place, f"{abs(half) // 2}", 4.2, name=f"lean:{half / 2:g}"))
    for flip, ink in ((1.0, Ink.BODY), (-1.0, Ink.GLASS)):
        corners = [(-13.0, 9.0), (13.0, 9.0), (13.0, 29.0), (-13.0, 29.0)]
        items.append(parts.edged([_turned(corner, turn, flip, middle) for corner in corners], ink))
        tip = [_turned(corner, turn, flip, middle) for corner in ((-1.5, 9.0), (1.5, 9.0))]
        items.append(parts.edged((middle, *tip), ink))
    items += [
        parts.line(middle, parts.at(middle, reach, turn), colour=Role.NOW, width=0.7, name="lean@"),
        parts.line(middle, parts.at(middle, reach, 180.0 - turn), colour=Role.NOW, width=0.4),
    ]
    side = "left" if tilt_deg > 0 else "right"
    lean = numbers.unit(abs(tilt_deg), "°", 1)
    note = (
        f"The lean is drawn {times} times as large. The card behind shows half of the kink, in "
        "degrees: how far the line through the body leans. It leans toward its low side."
    )
    return Drawing(
        "Mirror",
        f"From the front: cartridge and image make a kink of twice {lean}, {side} side higher.",
        _WIDE,
        96.0,
        tuple(items),
        note,
    )


def _turned(
    corner: tuple[float, float], turn_deg: float, flip: float, middle: tuple[float, float]
) -> tuple[float, float]:
    turn = math.radians(turn_deg)
    x = corner[0] * math.cos(turn) + corner[1] * math.sin(turn)
    y = corner[1] * math.cos(turn) - corner[0] * math.sin(turn)
    return middle[0] + x, middle[1] + flip * y


def dial(place: float, highest: float, step: float, numbers: Numbers, *, notches: bool) -> Drawing:
    """Draw the skating control and where its pointer, or its thread, stands."""
    if notches:
        return _notched(place, highest)
    most = max(highest, step)
    middle, reach = (50.0, 12.0), 40.0
    marks = whole_steps(0.0, most, step)
    named = marks if len(marks) <= 13 else whole_steps(0.0, most, 0.5 if most <= 6 else 1.0)
    items: list[Mark] = [
        parts.edged(parts.arc(middle, reach + 1.0, -96.0, 96.0, 49), Ink.BODY),
    ]
    for mark in marks:
        long = 5.0 if any(abs(mark - one) < 1e-6 for one in named) else 3.0
        turn = 180.0 * mark / most - 90.0
        ends = parts.at(middle, reach - long, turn), parts.at(middle, reach, turn)
        items.append(parts.line(*ends, colour=Ink.WORD, width=0.4))
    for mark in named:
        spot = parts.at(middle, reach + 5.0, 180.0 * mark / most - 90.0)
        words = "off" if mark == 0.0 else numbers.short(mark, 2)
        items.append(parts.words(*spot, words, 4.2, name=f"dial:{mark:g}"))
    turn = 180.0 * place / most - 90.0
    items += [
        parts.line(middle, parts.at(middle, reach, turn), colour=Role.NOW, width=0.9, name="dial@"),
        parts.disc(middle, 5.0, Ink.GLASS),
        parts.words(50.0, 3.0, "marked in downforce, gf", 4.0, Ink.FAINT),
    ]
    stands = "off" if round(place, 3) == 0.0 else numbers.unit(place, "gf", 2)
    return Drawing(
        "Skating dial",
        f"Skating dial: it stands at {stands}.",
        _WIDE,
        62.0,
        tuple(items),
        f"From one line to the next is {numbers.short(step, 3)} gf.",
    )


def _notched(place: float, highest: float) -> Drawing:
    count = max(1, round(highest))
    scale = parts.DrawnScale("dial", 0.0, float(count), (24.0, 40.0), (86.0, 40.0))
    x = scale.place(place)[0]
    items: list[Mark] = [
        parts.disc((10.0, 40.0), 6.0, Ink.BODY),
        parts.words(10.0, 30.0, "pivot", 4.0, Ink.FAINT),
        parts.box(15.0, 38.4, 92.0, 41.6),
    ]
    for notch in range(count + 1):
        at = scale.place(float(notch))[0]
        text = "off" if notch == 0 else f"{notch}"
        cut = ((at - 1.4, 41.8), (at, 39.2), (at + 1.4, 41.8))
        if notch:
            items.append(parts.edged(cut, Ink.GLASS))
        items.append(parts.words(at, 46.5, text, 4.6, name=f"dial:{notch}"))
    items += [
        parts.line((x, 40.0), (x, 16.0), colour=Role.NOW, width=0.8, name="dial@"),
        parts.box(x - 4.0, 6.0, x + 4.0, 16.0, Role.NOW),
        parts.words(x - 6.0, 11.0, "weight", 4.0, align="right"),
    ]
    stands = "off" if round(place) == 0 else f"notch {place:.0f}"
    return Drawing(
        "Weight on its thread",
        f"Weight on its thread: it stands at {stands}.",
        _WIDE,
        52.0,
        tuple(items),
        "Notches are counted from the pivot; 'off' has the thread unhooked.",
    )


_LOW_DB: Final = -50.0
_HIGH_DB: Final = 10.0
_METERS: Final = (
    ("left_band_left_db", "left band", "left channel", Role.LEFT),
    ("left_band_right_db", "left band", "right channel", Role.RIGHT),
    ("right_band_right_db", "right band", "right channel", Role.RIGHT),
    ("right_band_left_db", "right band", "left channel", Role.LEFT),
)


def meters(levels_db: Mapping[str, float], numbers: Numbers) -> Drawing:
    """Draw the levels of both channels on either band: a bar each, and its figures."""
    items: list[Mark] = []
    told = []
    for row, (key, band, channel, ink) in enumerate(_METERS):
        y, level = 72.0 - 20.0 * row - (3.0 if row > 1 else 0.0), levels_db[key]
        scale = parts.DrawnScale(key, _LOW_DB, _HIGH_DB, (3.0, y), (67.0, y))
        end = scale.place(max(min(level, _HIGH_DB), _LOW_DB))[0]
        items += [
            parts.words(3.0, y + 9.8, f"{band}: {channel}", 4.4, align="left", bold=True),
            parts.box(3.0, y, 67.0, y + 6.0, Ink.GLASS),
            parts.box(3.0, y, end, y + 6.0, ink, f"{key}@"),
            *scale.lines(5.0, 10.0, 10.0, -1.6),
            *scale.figures(10.0, -4.2, lambda value: numbers.plain(value, 0), 3.4),
            *parts.shown_in(70.0, y - 1.0, 99.0, y + 8.0, numbers.unit(level, "dB", 1), 5.0, key),
        ]
        told.append(f"{band}, {channel} {numbers.unit(level, 'dB', 1)}")
    return Drawing(
        "Level meters",
        f"Level meters: {'; '.join(told)}.",
        _WIDE,
        87.0,
        tuple(items),
        "Each band plays one channel only; the other shows what leaks into it.",
    )


_BANDS: Final = 5
_FIRST_TORN: Final = 3


def bands(broke: str, numbers: Numbers, setting: float = 0.0) -> Drawing:
    """Draw what both channels look like in five bands, each louder than the one before."""
    items: list[Mark] = []
    starts = {"left": (3, 4), "right": (4, 3), "together": (3, 3)}[broke]
    for name, y, begins, ink in (
        ("left", 44.0, starts[0], Role.LEFT),
        ("right", 20.0, starts[1], Role.RIGHT),
    ):
        items.append(parts.words(2.0, y, name, 4.6, ink, "left", bold=True))
        for band in range(1, _BANDS + 1):
            x = 16.0 + 16.8 * (band - 1)
            torn = band >= begins
            points = parts.wave(x + 1.0, x + 15.0, y, 3.5 + 1.1 * band, _torn if torn else _clean)
            items += [
                parts.rounded(
                    x,
                    y - 11.0,
                    x + 16.0,
                    y + 11.0,
                    1.0,
                    Ink.GLASS,
                    f"{name} band {band} {'torn' if torn else 'clean'}",
                ),
                parts.line(*points, colour=ink, width=0.6),
            ]
    for band in range(1, _BANDS + 1):
        items.append(parts.words(24.0 + 16.8 * (band - 1), 59.0, f"{band}", 4.6, bold=True))
    items += [
        parts.words(2.0, 59.0, "band", 4.2, align="left"),
        parts.words(2.0, 4.0, f"Set to {numbers.short(setting, 2)}", 4.4, align="left", bold=True),
        parts.words(99.0, 4.0, "each band louder than the last ▸", 4.0, Ink.FAINT, "right"),
    ]
    told = {
        "left": "the left channel breaks up first",
        "right": "the right channel breaks up first",
        "together": "both channels break up in the same band",
    }[broke]
    return Drawing(
        "Rising test bands",
        f"Set to {numbers.short(setting, 2)}. As the bands get louder, {told}.",
        _WIDE,
        64.0,
        tuple(items),
        "A smooth wave is clean; a cut and ragged one has broken up. Which row has it first?",
    )


def _clean(periods: float) -> float:
    return math.sin(2.0 * math.pi * periods)


def _torn(periods: float) -> float:
    cut = max(-0.72, min(0.72, 1.7 * _clean(periods)))
    return cut + 0.22 * math.sin(14.0 * math.pi * periods)
