"""Drawings of the instruments on the bench and the plinth, with their present display."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, Final

from core.drawing import parts
from core.drawing.drawing import Drawing, Film
from core.drawing.marks import Align, Area, Mark
from core.drawing.roles import Ink, MarkRole
from core.language import Message, Numbers, Quantity, Series, message

_ENDS: Final = {
    "front-back": ("front", "back", 0.0),
    "left-right": ("left", "right", 90.0),
    "diagonal back right": ("front_left", "back_right", 45.0),
    "diagonal back left": ("front_right", "back_left", 315.0),
}
_WIDE: Final = 100.0


def word(what: str, numbers: Numbers) -> str:
    """Return a word or two that stand on a drawing, by their name in the catalogue."""
    return numbers.text(message("instruments.word", what=what))


def _ends_of(said: Mapping[str, Any]) -> tuple[Message, Message, float]:
    """Return the unmarked end, the marked end, and where the marked one points from above."""
    known = _ENDS.get(str(said.get("direction", "")))
    if known is None:
        bearing = float(said.get("bearing_deg", 0.0))
        low = message("instruments.end", end="other")
        high = message("instruments.drawn.at_bearing", bearing=Quantity(bearing, "°", 0))
    else:
        low, high = (message("instruments.end", end=end) for end in known[:2])
        bearing = known[2]
    return (high, low, bearing + 180.0) if said.get("turned") else (low, high, bearing)


def _lying(said: Mapping[str, Any]) -> Message:
    """Say how a level lies on the plinth."""
    start, end, _ = _ends_of(said)
    return message("instruments.lying.text", start=start, end=end)


def lying(said: Mapping[str, Any]) -> tuple[Message, Message]:
    """Say the same in two lines."""
    start, end, _ = _ends_of(said)
    return (
        message("instruments.lying.start", start=start, end=end),
        message("instruments.lying.marked", end=end),
    )


def _plan(said: Mapping[str, Any], x: float, y: float, numbers: Numbers) -> list[Mark]:
    """Draw the plinth from above with the level on it; a dot is its marked end."""
    bearing = _ends_of(said)[2]
    corners = [parts.at((x, y), 6.5, bearing + turn) for turn in (-9, 9, 171, 189)]
    return [
        parts.rounded(x - 10.0, y - 8.5, x + 10.0, y + 8.5, 1.2, Ink.BODY),
        parts.edged(corners, Ink.GLASS),
        parts.disc(parts.at((x, y), 4.9, bearing), 0.9, Ink.MARK),
        parts.words(x, y - 11.0, word("front", numbers), 3.4, Ink.FAINT),
        parts.words(x, y + 10.8, word("back", numbers), 3.4, Ink.FAINT),
    ]


def display(
    value: float,
    unit: str,
    decimals: int,
    title: str,
    what: Sequence[Message],
    numbers: Numbers,
) -> Drawing:
    """Draw an instrument that shows figures; ``title`` is its name in the catalogue."""
    named = message("instruments.display", what=title)
    text = numbers.unit(value, unit, decimals)
    lines = [numbers.text(line) for line in what]
    foot, size = 5.5 * len(lines), min(11.5, 92.0 / len(text))
    return Drawing(
        numbers.text(named),
        numbers.text(
            message(
                "instruments.drawn.display",
                title=named,
                what=Series(tuple(what), ","),
                value=Quantity(value, unit, decimals),
            )
        ),
        _WIDE,
        foot + 32.0,
        (
            parts.rounded(12.0, foot + 2.0, 88.0, foot + 31.0, 4.0, Ink.BODY),
            *parts.shown_in(16.0, foot + 6.0, 84.0, foot + 27.0, text, size, "shown"),
            *(
                parts.words(50.0, foot - 2.5 - 5.5 * row, one, 4.4, Ink.FAINT)
                for row, one in enumerate(lines)
            ),
        ),
    )


def _to(end: Message, numbers: Numbers) -> str:
    return numbers.text(message("instruments.drawn.to_end", end=end))


def _from(start: Message, numbers: Numbers) -> str:
    return numbers.text(message("instruments.drawn.to_start", start=start))


def bubble(divisions: float, said: Mapping[str, Any], numbers: Numbers) -> Drawing:
    """Draw the bubble in its vial; the marked end is to the right."""
    divisions = max(-20.0, min(20.0, divisions))
    # A bubble far off is drawn with the stretch of its scale that it stands on.
    low, high = (-6.0, 6.0) if abs(divisions) <= 4.5 else parts.window(divisions, 10.0)
    start, end, _ = _ends_of(said)
    scale = parts.DrawnScale("bubble", low, high, (9.0, 17.0), (91.0, 17.0))
    above = parts.DrawnScale("above", low, high, (9.0, 33.0), (91.0, 33.0), -1)
    x, half = scale.place(divisions)[0], 1.5 * 82.0 / (high - low)
    items: list[Mark] = [
        parts.rounded(1.0, 8.0, 99.0, 40.0, 3.0, Ink.BODY),
        parts.rounded(3.0, 17.0, 97.0, 33.0, 8.0, Ink.GLASS),
        parts.rounded(x - half, 20.0, x + half, 30.0, 5.0, MarkRole.NOW, "bubble"),
        *scale.lines(0.5, 1.0, 1.0, 3.4),
        *above.lines(0.5, 1.0, 1.0, 3.4),
        *scale.figures(1.0, -4.2, lambda value: f"{abs(value):.0f}", 4.6),
        parts.line((x, 17.0), (x, 33.0), colour=Ink.WORD, width=0.5, name="bubble@"),
        parts.disc((95.0, 36.5), 1.5, Ink.MARK),
        parts.words(92.4, 36.5, word("marked_end", numbers), 3.8, align="right"),
        parts.words(98.0, 3.4, _to(end, numbers), 4.8, align="right", bold=True),
        parts.words(2.0, 3.4, _from(start, numbers), 4.8, align="left", bold=True),
        parts.words(50.0, 3.4, word("divisions", numbers), 3.8, Ink.FAINT),
        *_plan(said, 50.0, 57.0, numbers),
    ]
    if low > 0.0:
        items += [
            *parts.arrow((11.0, 36.5), (4.0, 36.5)),
            parts.words(12.0, 36.5, word("centre", numbers), 3.8, align="left"),
        ]
    elif high < 0.0:
        items += [
            *parts.arrow((60.0, 36.5), (67.0, 36.5)),
            parts.words(59.0, 36.5, word("centre", numbers), 3.8, align="right"),
        ]
    else:
        centre = scale.place(0.0)[0]
        items.append(parts.line((centre, 33.0), (centre, 37.0), colour=Ink.MARK, width=0.7))
    return Drawing(
        numbers.text(message("instruments.bubble.title")),
        numbers.text(
            message(
                "instruments.bubble.text",
                side="toward" if divisions > 0 else "away",
                lying=_lying(said),
                divisions=Quantity(abs(divisions), "div", 1),
            )
        ),
        _WIDE,
        70.0,
        tuple(items),
        numbers.text(message("instruments.bubble.note")),
    )


def _standing_ruler(
    name: str, x: float, foot: float, top: float, value: float, span: float
) -> tuple[list[Mark], parts.DrawnScale]:
    """Draw a stretch of a ruler in millimetres, upright, its lines along its right edge."""
    wide = 13.0
    low, high = parts.window(value, span)
    scale = parts.DrawnScale(name, low, high, (x + wide, foot), (x + wide, top))
    items: list[Mark] = [
        parts.box(x, foot - 1.5, x + wide, top + 1.5),
        *scale.lines(0.5, 0.5, 1.0, 5.0),
        *scale.figures(1.0, wide - 4.0, lambda value: f"{value:.0f}", 4.6),
    ]
    return items, scale


def straightedge(
    gap_mm: float, length_mm: float, said: Mapping[str, Any], numbers: Numbers
) -> Drawing:
    """Draw a ruler in the gap at the low end of a levelled straightedge."""
    start, end, _ = _ends_of(said)
    at_mark = gap_mm < 0.0  # the gap is at the low end
    gap = abs(gap_mm)
    ruler, scale = _standing_ruler("gap", 22.0, 8.0, 68.0, max(gap, 2.5), 6.0)
    y = scale.place(gap)[1]
    length = Quantity(length_mm, "mm", 0)
    ruler_at = message("instruments.straightedge.ruler_at", end=end if at_mark else start)
    long = message("instruments.straightedge.long", length=length)
    slope = 4.0 if at_mark else -4.0
    items: list[Mark] = [
        parts.box(35.0, y, 58.0, min(y + 7.0, 69.5), Ink.GLASS, "edge"),
        *ruler,
        parts.line((33.0, y), (58.0, y), colour=MarkRole.NOW, width=0.8, name="gap@"),
        parts.words(46.5, y + 3.4, word("underside", numbers), 3.8, Ink.FAINT),
        parts.words(28.5, 3.0, word("mm_over_plinth", numbers), 3.8, Ink.FAINT),
        # The whole of it, small.
        parts.edged(
            ((64.0, 26.0), (98.0, 26.0), (98.0, 34.0 - slope), (64.0, 34.0 + slope)), Ink.BODY
        ),
        parts.box(65.0, 39.0, 97.0, 42.5, Ink.GLASS),
        parts.disc((95.0, 40.75), 1.2, Ink.MARK),
        parts.words(97.0, 46.5, _to(end, numbers), 4.4, align="right", bold=True),
        parts.words(65.0, 21.5, _from(start, numbers), 4.4, align="left", bold=True),
        parts.words(81.0, 15.5, numbers.text(ruler_at), 3.8, Ink.FAINT),
        parts.words(81.0, 10.5, numbers.text(long), 3.8, Ink.FAINT),
    ]
    x = 95.5 if at_mark else 65.5
    items.append(parts.box(x, 30.0, x + 1.5, 44.5, MarkRole.NOW))
    return Drawing(
        numbers.text(message("instruments.straightedge.title")),
        numbers.text(
            message(
                "instruments.straightedge.text",
                end="marked" if at_mark else "unmarked",
                length=length,
                lying=_lying(said),
                gap=Quantity(gap, "mm", 1),
            )
        ),
        _WIDE,
        72.0,
        tuple(items),
        numbers.text(message("instruments.straightedge.note")),
    )


def water(marked_mm: float, other_mm: float, said: Mapping[str, Any], numbers: Numbers) -> Drawing:
    """Draw a ruler at either wall of a dish of water; the marked end is to the right."""
    start, end, _ = _ends_of(said)
    items: list[Mark] = []
    for name, x, depth, end_name, align in (
        ("other", 4.0, other_mm, _from(start, numbers), "left"),
        ("marked", 83.0, marked_mm, _to(end, numbers), "right"),
    ):
        ruler, scale = _standing_ruler(name, x, 12.0, 66.0, max(depth, 2.5), 6.0)
        y = scale.place(depth)[1]
        edge = (17.0, 24.0) if align == "left" else (76.0, 83.0)
        items += ruler
        items.append(
            parts.line((edge[0], y), (edge[1], y), colour=MarkRole.NOW, width=0.8, name=f"{name}@")
        )
        side: Align = "left" if align == "left" else "right"
        items.append(
            parts.words(4.0 if align == "left" else 96.0, 4.5, end_name, 4.4, align=side, bold=True)
        )
    items += [
        parts.box(27.0, 24.0, 73.0, 58.0, Ink.BODY),
        parts.box(29.0, 26.0, 71.0, 46.0, Ink.GLASS),
        parts.disc((74.5, 50.0), 1.2, Ink.MARK),
        parts.words(50.0, 62.5, word("water", numbers), 3.8, Ink.FAINT),
        parts.words(50.0, 16.5, word("mm_over_plinth", numbers), 3.8, Ink.FAINT),
    ]
    return Drawing(
        numbers.text(message("instruments.water.title")),
        numbers.text(
            message(
                "instruments.water.text",
                lying=_lying(said),
                marked=Quantity(marked_mm, "mm", 1),
                other=Quantity(other_mm, "mm", 1),
            )
        ),
        _WIDE,
        72.0,
        tuple(items),
        numbers.text(message("instruments.water.note")),
    )


_PINS: Final = (
    ("white", Ink.WHITE_LEAD, 25.0, 35.0),
    ("red", Ink.RED_LEAD, 75.0, 35.0),
    ("blue", Ink.BLUE_LEAD, 25.0, 23.0),
    ("green", Ink.GREEN_LEAD, 75.0, 23.0),
)


def mounted(numbers: Numbers, *, plug_in: bool, guard: bool = True) -> Drawing:
    """Draw the cartridge as it is mounted, from behind, with what must be safe around it."""
    items: list[Mark] = [
        # The amplifier's switch, and the arm in its rest with the clip over it.
        parts.rounded(4.0, 62.0, 44.0, 76.0, 2.0, Ink.BODY),
        parts.rounded(8.0, 65.0, 20.0, 73.0, 4.0, Ink.GLASS),
        parts.disc((12.0, 69.0), 3.4, MarkRole.OUTLINE),
        parts.words(24.0, 69.0, word("off", numbers), 5.0, align="left", bold=True),
        parts.words(24.0, 58.4, word("amplifier", numbers), 4.0, Ink.FAINT),
        parts.box(69.0, 60.0, 75.0, 67.0),
        parts.disc((72.0, 69.0), 3.2, Ink.BODY),
        parts.line(*parts.arc((72.0, 69.0), 4.8, -100.0, 100.0), colour=MarkRole.NOW, width=1.0),
        parts.words(72.0, 56.0, word("arm_in_rest", numbers), 3.8, Ink.FAINT),
        parts.rounded(18.0, 14.0, 82.0, 42.0, 2.0, Ink.BODY),
    ]
    if plug_in:
        items += [
            parts.box(12.0, 42.0, 88.0, 46.0),
            parts.rounded(38.0, 40.0, 62.0, 53.0, 1.5, Ink.GLASS),
            parts.line((38.0, 44.0), (62.0, 44.0), colour=MarkRole.NOW, width=1.2),
            parts.words(50.0, 49.0, word("locked", numbers), 4.6, bold=True),
            parts.words(50.0, 29.0, word("pushed_home", numbers), 4.6),
        ]
    else:
        for lead, ink, x, y in _PINS:
            away = -1.0 if x < 50.0 else 1.0
            text = numbers.text(message("instruments.pin", lead=lead))
            items += [
                parts.line((x, y), (x + 22.0 * away, y - 5.0), colour=MarkRole.OUTLINE, width=2.4),
                parts.line((x, y), (x + 22.0 * away, y - 5.0), colour=ink, width=1.6),
                parts.box(x - 3.0, y - 1.8, x + 3.0, y + 1.8, ink),
                parts.words(x - 5.0 * away, y, text, 4.0, align="right" if away > 0 else "left"),
            ]
        items.append(parts.box(12.0, 42.0, 88.0, 45.0))
        for x in (24.0, 76.0):
            items += [
                parts.box(x - 3.5, 45.0, x + 3.5, 50.0, Ink.GLASS),
                parts.line((x - 2.5, 50.0), (x + 2.5, 50.0), width=0.8),
            ]
        items.append(parts.words(50.0, 49.0, word("screws_snug", numbers), 4.0, Ink.FAINT))
    if guard:
        items += [
            parts.rounded(40.0, 4.0, 60.0, 14.0, 2.0, Ink.GLASS),
            parts.words(50.0, 9.0, word("guard_on", numbers), 4.0),
        ]
    kind = "plug_in" if plug_in else "screws"
    return Drawing(
        numbers.text(message("instruments.mounted.title")),
        numbers.text(message("instruments.mounted.text", kind=kind if guard else f"{kind}_bare")),
        _WIDE,
        78.0,
        tuple(items),
        numbers.text(message("instruments.mounted.note", kind=kind)),
    )


def tube(
    heights_mm: Sequence[float], apart_mm: float, thick_mm: tuple[float, float], numbers: Numbers
) -> Drawing:
    """Draw a ruler against the tube's upper edge near the head and near the pivot."""
    items: list[Mark] = []
    for x, name, height, thick in (
        (4.0, "front", heights_mm[0], thick_mm[0]),
        (54.0, "rear", heights_mm[1], thick_mm[1]),
    ):
        ruler, scale = _standing_ruler(name, x, 20.0, 84.0, height, 8.0)
        y, per_mm = scale.place(height)[1], 8.0
        low = max(y - thick * per_mm, 18.5)
        place = message("instruments.tube_place", place=name)
        wide = message("instruments.drawn.tube_thick", thick=Quantity(thick, "mm", 0))
        items += [
            parts.box(x + 13.0, low, x + 40.0, y, Ink.GLASS),
            *ruler,
            parts.line(
                (x + 10.0, y), (x + 40.0, y), colour=MarkRole.NOW, width=0.8, name=f"{name}@"
            ),
            parts.words(x + 27.0, y + 3.2, word("upper_edge", numbers), 3.8, Ink.FAINT),
            parts.words(x + 20.0, 14.4, numbers.text(place), 4.0, bold=True),
            parts.words(x + 20.0, 9.4, numbers.text(wide), 3.8, Ink.FAINT),
        ]
    apart = Quantity(apart_mm, "mm", 1)
    across = numbers.text(message("instruments.drawn.places_apart", apart=apart))
    items += [
        *parts.dimension((14.0, 88.0), (86.0, 88.0)),
        parts.words(50.0, 92.0, across, 4.4, bold=True),
        parts.words(50.0, 3.4, word("rulers_from_record", numbers), 3.8, Ink.FAINT),
    ]
    front, rear = heights_mm
    return Drawing(
        numbers.text(message("instruments.tube.title")),
        numbers.text(
            message(
                "instruments.tube.text",
                front=Quantity(front, "mm", 1),
                rear=Quantity(rear, "mm", 1),
                apart=apart,
            )
        ),
        _WIDE,
        96.0,
        tuple(items),
        numbers.text(message("instruments.tube.note")),
    )


_BARS_SEEN: Final = 5.0


def _bars(drift: float, share: float, seconds: float, numbers: Numbers) -> list[Mark]:
    """Draw the mark and the bars before it; every bar carries its count from the first."""
    now, per_bar = drift * share, 86.0 / (2.0 * _BARS_SEEN)
    items: list[Mark] = [parts.rounded(3.0, 26.0, 97.0, 56.0, 2.0, Ink.GLASS)]
    for bar in range(math.ceil(now - _BARS_SEEN), math.floor(now + _BARS_SEEN) + 1):
        # With the platter is to the right: what has yet to come stands to the left.
        x = 50.0 + (now - bar) * per_bar
        ink = MarkRole.NOW if bar == 0 else MarkRole.OUTLINE
        items += [
            parts.box(x - 1.5, 38.0, x + 1.5, 54.0, ink),
            parts.words(x, 31.0, f"{abs(bar)}", 4.8, name=f"bars:{bar}", bold=bar == 0),
        ]
    items += [
        Area(((50.0, 55.0), (46.5, 62.0), (53.5, 62.0)), Ink.MARK),
        parts.line((50.0, 26.0), (50.0, 62.0), colour=Ink.MARK, width=0.6, name="bars@"),
        parts.words(56.0, 61.0, word("fixed_mark", numbers), 4.0, Ink.FAINT, "left"),
        *parts.arrow((74.0, 67.0), (96.0, 67.0)),
        parts.words(72.0, 67.0, word("platter_turns", numbers), 4.0, align="right"),
        *parts.shown_in(3.0, 3.0, 36.0, 15.0, numbers.unit(seconds * share, "s", 0), 7.0, "clock"),
        parts.words(40.0, 11.5, word("bar_0", numbers), 3.6, Ink.FAINT, "left"),
        parts.words(40.0, 6.0, word("watch_began", numbers), 3.6, Ink.FAINT, "left"),
    ]
    if abs(now) > 0.05:
        told = word("with_platter" if now > 0 else "against_platter", numbers)
        items.append(parts.words(50.0, 20.5, told, 4.4, MarkRole.NOW, name="way", bold=True))
    return items


def strobe(bars: int, drift: float, seconds: float, numbers: Numbers) -> Drawing:
    """Draw the bars under the lamp, and which of them is at the mark after the time watched.

    The film shows them drift, never more than one bar passing the mark in a second, whatever they
    really do: passing stripes count as flashes.
    """

    def sheet(share: float) -> Drawing:
        return Drawing(
            numbers.text(message("instruments.strobe.title")),
            said,
            _WIDE,
            72.0,
            tuple(_bars(drift, share, seconds, numbers)),
            note,
        )

    watched = Quantity(seconds, "s", 0)
    said = numbers.text(
        message(
            "instruments.strobe.text",
            way="with" if drift > 0 else "against",
            bars=bars,
            seconds=watched,
            drift=Quantity(abs(drift), "", 1),
        )
    )
    note = numbers.text(message("instruments.strobe.note", bars=bars, seconds=watched))
    end = sheet(1.0)
    film = Film(max(6.0, abs(drift)), sheet)
    return Drawing(end.title, said, end.width_mm, end.height_mm, end.marks, note, film)
