"""Drawings of the readings at the head, and of those by a test record."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import Area, Box, Mark, whole_steps
from core.drawing.roles import Ink, MarkRole
from core.language import Message, Numbers, Quantity, Sentences, Series, message
from core.practice.drawings.bench import word

_WIDE: Final = 100.0


def _landing(
    name: str, y: float, value_mm: float, title: str, ends: tuple[str, str], numbers: Numbers
) -> list[Mark]:
    """Draw the stylus beside its mark on a stretch of scale; toward ``ends[1]`` is to the right.

    ``title`` and ``ends`` are the names of words in the catalogue.
    """
    low, high = (-4.0, 4.0) if abs(value_mm) <= 3.4 else parts.window(value_mm, 8.0)
    scale = parts.DrawnScale(name, low, high, (8.0, y), (92.0, y))
    x = scale.place(value_mm)[0]
    items: list[Mark] = [
        parts.rounded(2.0, y - 13.5, 98.0, y + 15.0, 2.0, Ink.GLASS),
        parts.line(scale.place(low), scale.place(high), colour=Ink.WORD, width=0.5),
        *scale.lines(0.1, 0.5, 1.0, 5.0),
        *scale.figures(1.0, -4.2, lambda value: f"{abs(value):.0f}", 4.6),
        parts.line((x, y), (x, y + 11.0), colour=MarkRole.NOW, width=0.6, name=f"{name}@"),
        parts.edged(((x, y + 4.0), (x - 1.8, y + 12.5), (x + 1.8, y + 12.5)), MarkRole.NOW),
        parts.words(50.0, y + 18.4, word(title, numbers), 4.2, bold=True),
        parts.words(4.0, y - 10.3, word(ends[0], numbers), 4.0, align="left"),
        parts.words(96.0, y - 10.3, word(ends[1], numbers), 4.0, align="right"),
    ]
    if low <= 0.0 <= high:
        zero = scale.place(0.0)[0]
        items.append(parts.line((zero, y - 1.5), (zero, y + 8.0), colour=Ink.MARK, width=0.8))
    else:
        items += _out_of_view(word("mark", numbers), 34.0, y + 11.5, to_right=low <= 0.0)
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


def _grid(name: str, foot: float, angle_deg: float, title: str, numbers: Numbers) -> list[Mark]:
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
            colour=MarkRole.NOW,
            width=0.7,
            name=f"{name}@",
        ),
        parts.words(50.0, foot - 6.4, word(title, numbers), 4.2, bold=True),
        parts.words(4.0, foot - 6.4, word("in", numbers), 4.0, align="left"),
        parts.words(96.0, foot - 6.4, word("out", numbers), 4.0, align="right"),
    ]
    if abs(centre) > _SEEN_DEG:
        items += _out_of_view(word("zero", numbers), 28.0, foot + 3.0, to_right=centre <= 0)
    return items


def _angle_note() -> Message:
    return message("instruments.protractor.angle_note", times=_TIMES)


def _side(angle_deg: float) -> str:
    return "out" if angle_deg > 0 else "in"


def _size(angle_deg: float) -> Quantity:
    return Quantity(abs(angle_deg), "°", 1)


def protractor(
    landing_mm: float | None, inner_deg: float | None, outer_deg: float | None, numbers: Numbers
) -> Drawing:
    """Draw the stylus beside its mark and the head over the grids."""
    items: list[Mark] = []
    told: list[Message] = []
    notes: list[Message] = []
    tall = 0.0
    if landing_mm is not None:
        side = "beyond" if landing_mm > 0 else "short"
        size = Quantity(abs(landing_mm), "mm", 1)
        told.append(message("instruments.protractor.landing", side=side, size=size))
        notes.append(message("instruments.protractor.landing_note"))
    if inner_deg is not None and outer_deg is not None:
        for name, foot, angle in (("inner", 54.0, inner_deg), ("outer", 10.0, outer_deg)):
            items += _grid(name, foot, angle, f"{name}_grid", numbers)
        told += (
            message("instruments.protractor.inner", side=_side(inner_deg), angle=_size(inner_deg)),
            message("instruments.protractor.outer", side=_side(outer_deg), angle=_size(outer_deg)),
        )
        tall = 89.0
        notes.append(_angle_note())
    if landing_mm is not None:
        ends = ("toward_pivot", "beyond")
        items += _landing("landing", tall + 15.0, landing_mm, "mm_from_mark", ends, numbers)
        tall += 37.0
    return Drawing(
        numbers.text(message("instruments.protractor.title")),
        numbers.text(message("instruments.protractor.text", told=Series(tuple(told), ";"))),
        _WIDE,
        tall,
        tuple(items),
        numbers.value(Sentences(tuple(notes))),
    )


def path(inner_mm: float, outer_mm: float, head_deg: float, numbers: Numbers) -> Drawing:
    """Draw a parallel arm's stylus beside the line from the spindle, and its head on the grid."""
    ends = ("behind_line", "ahead_of_line")
    items = [
        *_grid("head", 10.0, head_deg, "head_grid", numbers),
        *_landing("outermost", 60.0, outer_mm, "outermost", ends, numbers),
        *_landing("innermost", 97.0, inner_mm, "innermost", ends, numbers),
    ]
    inner, outer = (
        message(
            "instruments.path.place",
            side="ahead" if value > 0 else "behind",
            size=Quantity(abs(value), "mm", 1),
        )
        for value in (inner_mm, outer_mm)
    )
    head = message("instruments.path.head", side=_side(head_deg), angle=_size(head_deg))
    return Drawing(
        numbers.text(message("instruments.path.title")),
        numbers.text(message("instruments.path.text", inner=inner, outer=outer, head=head)),
        _WIDE,
        119.0,
        tuple(items),
        numbers.text(message("instruments.path.note", angles=_angle_note())),
    )


def ruler(value_mm: float, numbers: Numbers) -> Drawing:
    """Draw the end of a ruler around what it shows, in millimetres."""
    low, high = parts.window(value_mm, 10.0)
    scale = parts.DrawnScale("ruler", low, high, (8.0, 30.0), (92.0, 30.0), -1)
    x = scale.place(value_mm)[0]
    items: list[Mark] = [
        parts.box(1.0, 9.0, 99.0, 30.0),
        *scale.lines(0.5, 0.5, 1.0, 6.0),
        *scale.figures(2.0, 11.0, lambda value: f"{value:.0f}", 4.8),
        parts.line((x, 25.0), (x, 40.0), colour=MarkRole.NOW, width=0.7, name="ruler@"),
        parts.disc((x, 42.5), 3.0, Ink.GLASS),
        parts.disc((x, 42.5), 0.9, MarkRole.NOW),
        parts.words(x + 5.0 if x < 60.0 else x - 5.0, 42.5, word("spindle", numbers), 4.0,
              align="left" if x < 60.0 else "right"),
        parts.words(3.0, 4.0, word("zero_at_pivot", numbers), 4.0, align="left"),
        parts.words(97.0, 4.0, word("mm", numbers), 4.0, align="right"),
    ]  # fmt: skip # rows of a table
    return Drawing(
        numbers.text(message("instruments.pivot_ruler.title")),
        numbers.text(message("instruments.pivot_ruler.text", distance=Quantity(value_mm, "mm", 1))),
        _WIDE,
        48.0,
        tuple(items),
        numbers.text(message("instruments.pivot_ruler.note")),
    )


def gaps(left_mm: float, right_mm: float, width_mm: float, numbers: Numbers) -> Drawing:
    """Draw the underside over the record from the front, each gap beside its own ruler."""
    items: list[Mark] = []
    near = abs(left_mm - right_mm) <= 2.0  # both rulers show the same stretch
    for name, x, value, ink in (
        ("left", 16.0, left_mm, MarkRole.LEFT),
        ("right", 84.0, right_mm, MarkRole.RIGHT),
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
                colour=MarkRole.NOW,
                width=0.8,
                name=f"{name}@",
            ),
            Area(Box(x + 0.4 * inward, y, x + 21.0 * inward, 90.0).corners, Ink.GLASS),
            parts.words(
                x + 11.0 * inward, min(y + 6.0, 84.0), word("body", numbers), 4.0, Ink.FAINT
            ),
            parts.words(x - 7.0 * inward, 6.5, word(name, numbers), 4.6, ink, bold=True),
        ]
    apart = message("instruments.drawn.apart", apart=Quantity(width_mm, "mm", 1))
    items += [
        parts.words(50.0, 55.0, word("seen_from", numbers), 4.0),
        parts.words(50.0, 49.5, word("the_front", numbers), 4.0),
        parts.words(50.0, 40.0, numbers.text(apart), 3.4, Ink.FAINT),
        parts.words(50.0, 6.5, word("mm_over_record", numbers), 4.0, Ink.FAINT),
    ]
    return Drawing(
        numbers.text(message("instruments.gaps.title")),
        numbers.text(
            message(
                "instruments.gaps.text",
                left=Quantity(left_mm, "mm", 2),
                right=Quantity(right_mm, "mm", 2),
            )
        ),
        _WIDE,
        92.0,
        tuple(items),
        numbers.text(message("instruments.gaps.note")),
    )


def mirror(tilt_deg: float, numbers: Numbers) -> Drawing:
    """Draw the cartridge standing on a mirror, its image, and a card with degrees behind."""
    most = max(4, math.ceil(abs(tilt_deg) + 0.5))
    times = max(1, min(6, math.floor(32.0 / most)))
    middle, reach, turn = (50.0, 46.0), 44.0, times * tilt_deg
    items: list[Mark] = [
        parts.box(2.0, 1.0, 98.0, 46.0, Ink.GLASS),
        parts.words(6.0, 6.0, word("mirror", numbers), 4.0, Ink.FAINT, "left"),
        parts.words(6.0, 51.0, word("left", numbers), 4.6, MarkRole.LEFT, "left", bold=True),
        parts.words(94.0, 51.0, word("right", numbers), 4.6, MarkRole.RIGHT, "right", bold=True),
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
        parts.line(
            middle, parts.at(middle, reach, turn), colour=MarkRole.NOW, width=0.7, name="lean@"
        ),
        parts.line(middle, parts.at(middle, reach, 180.0 - turn), colour=MarkRole.NOW, width=0.4),
    ]
    side = "left" if tilt_deg > 0 else "right"
    note = numbers.text(message("instruments.mirror.note", times=times))
    return Drawing(
        numbers.text(message("instruments.mirror.title")),
        numbers.text(message("instruments.mirror.text", side=side, lean=_size(tilt_deg))),
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
        return _notched(place, highest, numbers)
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
        words = word("dial_off", numbers) if mark == 0.0 else numbers.short(mark, 2)
        items.append(parts.words(*spot, words, 4.2, name=f"dial:{mark:g}"))
    turn = 180.0 * place / most - 90.0
    items += [
        parts.line(
            middle, parts.at(middle, reach, turn), colour=MarkRole.NOW, width=0.9, name="dial@"
        ),
        parts.disc(middle, 5.0, Ink.GLASS),
        parts.words(50.0, 3.0, word("in_downforce", numbers), 4.0, Ink.FAINT),
    ]
    where = "off" if round(place, 3) == 0.0 else "on"
    return Drawing(
        numbers.text(message("instruments.dial.title")),
        numbers.text(message("instruments.dial.text", where=where, place=Quantity(place, "gf", 2))),
        _WIDE,
        62.0,
        tuple(items),
        numbers.text(message("instruments.dial.note", step=Quantity(step, "gf", 3, "short"))),
    )


def _notched(place: float, highest: float, numbers: Numbers) -> Drawing:
    count = max(1, round(highest))
    scale = parts.DrawnScale("dial", 0.0, float(count), (24.0, 40.0), (86.0, 40.0))
    x = scale.place(place)[0]
    items: list[Mark] = [
        parts.disc((10.0, 40.0), 6.0, Ink.BODY),
        parts.words(10.0, 30.0, word("pivot", numbers), 4.0, Ink.FAINT),
        parts.box(15.0, 38.4, 92.0, 41.6),
    ]
    for notch in range(count + 1):
        at = scale.place(float(notch))[0]
        text = word("dial_off", numbers) if notch == 0 else f"{notch}"
        cut = ((at - 1.4, 41.8), (at, 39.2), (at + 1.4, 41.8))
        if notch:
            items.append(parts.edged(cut, Ink.GLASS))
        items.append(parts.words(at, 46.5, text, 4.6, name=f"dial:{notch}"))
    items += [
        parts.line((x, 40.0), (x, 16.0), colour=MarkRole.NOW, width=0.8, name="dial@"),
        parts.box(x - 4.0, 6.0, x + 4.0, 16.0, MarkRole.NOW),
        parts.words(x - 6.0, 11.0, word("weight", numbers), 4.0, align="right"),
    ]
    where = "off" if round(place) == 0 else "on"
    return Drawing(
        numbers.text(message("instruments.thread.title")),
        numbers.text(message("instruments.thread.text", where=where, notch=round(place))),
        _WIDE,
        52.0,
        tuple(items),
        numbers.text(message("instruments.thread.note")),
    )


_LOW_DB: Final = -50.0
_HIGH_DB: Final = 10.0
_METERS: Final = (
    ("left_band_left_db", MarkRole.LEFT),
    ("left_band_right_db", MarkRole.RIGHT),
    ("right_band_right_db", MarkRole.RIGHT),
    ("right_band_left_db", MarkRole.LEFT),
)


def meters(levels_db: Mapping[str, float], numbers: Numbers) -> Drawing:
    """Draw the levels of both channels on either band: a bar each, and its figures."""
    items: list[Mark] = []
    told: list[Message] = []
    for row, (key, ink) in enumerate(_METERS):
        y, level = 72.0 - 20.0 * row - (3.0 if row > 1 else 0.0), levels_db[key]
        scale = parts.DrawnScale(key, _LOW_DB, _HIGH_DB, (3.0, y), (67.0, y))
        band = message("instruments.meter", which=key)
        end = scale.place(max(min(level, _HIGH_DB), _LOW_DB))[0]
        items += [
            parts.words(3.0, y + 9.8, numbers.text(band), 4.4, align="left", bold=True),
            parts.box(3.0, y, 67.0, y + 6.0, Ink.GLASS),
            parts.box(3.0, y, end, y + 6.0, ink, f"{key}@"),
            *scale.lines(5.0, 10.0, 10.0, -1.6),
            *scale.figures(10.0, -4.2, lambda value: numbers.plain(value, 0), 3.4),
            *parts.shown_in(70.0, y - 1.0, 99.0, y + 8.0, numbers.unit(level, "dB", 1), 5.0, key),
        ]
        told.append(message("instruments.meters.level", which=key, level=Quantity(level, "dB", 1)))
    return Drawing(
        numbers.text(message("instruments.meters.title")),
        numbers.text(message("instruments.meters.text", told=Series(tuple(told), ";"))),
        _WIDE,
        87.0,
        tuple(items),
        numbers.text(message("instruments.meters.note")),
    )


_BANDS: Final = 5


def bands(broke: str, numbers: Numbers, setting: float = 0.0) -> Drawing:
    """Draw what both channels look like in five bands, each louder than the one before."""
    items: list[Mark] = []
    place = Quantity(setting, "", 2, "short")
    set_to = message("instruments.bands.set_to", place=place)
    starts = {"left": (3, 4), "right": (4, 3), "together": (3, 3)}[broke]
    for name, y, begins, ink in (
        ("left", 44.0, starts[0], MarkRole.LEFT),
        ("right", 20.0, starts[1], MarkRole.RIGHT),
    ):
        items.append(parts.words(2.0, y, word(name, numbers), 4.6, ink, "left", bold=True))
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
        parts.words(2.0, 59.0, word("band", numbers), 4.2, align="left"),
        parts.words(2.0, 4.0, numbers.text(set_to), 4.4, align="left", bold=True),
        parts.words(99.0, 4.0, word("louder", numbers), 4.0, Ink.FAINT, "right"),
    ]
    return Drawing(
        numbers.text(message("instruments.bands.title")),
        numbers.text(message("instruments.bands.text", first=broke, place=place)),
        _WIDE,
        64.0,
        tuple(items),
        numbers.text(message("instruments.bands.note")),
    )


def _clean(periods: float) -> float:
    return math.sin(2.0 * math.pi * periods)


def _torn(periods: float) -> float:
    cut = max(-0.72, min(0.72, 1.7 * _clean(periods)))
    return cut + 0.22 * math.sin(14.0 * math.pi * periods)
