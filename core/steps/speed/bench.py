"""The platter from above under its lamp, and the trim."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import Mark
from core.drawing.roles import Ink, MarkRole
from core.fitting import MovePart
from core.language import Quantity, message
from core.records import SpeedTrim
from core.steps.shared.bench_views import BenchScene, drawn

_TALL: Final = 66.0
_MIDDLE: Final = (40.0, 34.0)
_RADIUS: Final = 27.0
_BARS: Final = 60


def _platter() -> list[Mark]:
    """Draw the platter; it turns clockwise, as every record does."""
    return [
        parts.disc(_MIDDLE, _RADIUS, Ink.GLASS),
        parts.disc(_MIDDLE, 1.2, Ink.WORD),
    ]


def draw_reading(scene: BenchScene, way: str, values: Mapping[str, Any]) -> Drawing:
    """Draw the platter with its bars, its mark, or the readout upon it."""
    items = _platter()
    if way == "strobe":
        for k in range(_BARS):
            turn = 360.0 * k / _BARS
            ends = parts.at(_MIDDLE, _RADIUS - 6.0, turn), parts.at(_MIDDLE, _RADIUS - 1.0, turn)
            items.append(parts.line(*ends, colour=Ink.WORD, width=0.9))
        items += [
            parts.rounded(72.0, 46.0, 94.0, 58.0, 2.0, Ink.BODY),
            parts.line((72.0, 50.0), (60.0, 44.0), colour=Ink.FAINT),
            scene.place(83.0, 41.0, "lamp"),
        ]
        drift = str(values.get("direction") or "")
        if drift in ("with", "against"):
            span = 60.0 if drift == "with" else -60.0
            items += parts.turn(_MIDDLE, _RADIUS - 11.0, -0.5 * span, span, MarkRole.NOW, "drift@")
            items.append(scene.place(80.0, 30.0, "fast" if drift == "with" else "slow", size=6.0))
    elif way == "readout":
        items.append(parts.rounded(22.0, 26.0, 58.0, 42.0, 2.0, Ink.BODY))
        value = values.get("rpm")
        if isinstance(value, int | float):
            said = message("bench.figure", value=Quantity(float(value), "rpm", 2))
            items.append(scene.words(40.0, 34.0, said, size=4.6, bold=True))
    elif way == "tone":
        items += [
            parts.disc(_MIDDLE, _RADIUS - 3.0, Ink.BODY),
            parts.disc(_MIDDLE, _RADIUS - 17.0, Ink.GLASS),
            parts.line(parts.at(_MIDDLE, _RADIUS - 7.0, 60.0), (84.0, 58.0), width=1.4),
            parts.disc(parts.at(_MIDDLE, _RADIUS - 7.0, 60.0), 1.6, Ink.MARK),
            scene.place(84.0, 12.0, "test_record"),
        ]
    else:
        mark = parts.at(_MIDDLE, _RADIUS - 4.0, 40.0)
        items += [
            parts.disc(mark, 1.8, Ink.MARK),
            parts.disc((84.0, 40.0), 10.0, Ink.BODY),
            parts.line((84.0, 40.0), (84.0, 47.0), colour=MarkRole.NOW, width=0.8),
            scene.place(84.0, 25.0, "stopwatch"),
            scene.place(mark[0] + 16.0, mark[1] + 6.5, "mark", align="left"),
        ]
    items += parts.turn(_MIDDLE, _RADIUS + 3.2, 195.0, 50.0, Ink.FAINT, "platter@")
    return drawn(items, _TALL)


def draw_move(scene: BenchScene, moved: Sequence[MovePart]) -> Drawing:
    """Draw the trim: a screw turned, or a button pressed."""
    part = moved[0]
    more = part.amount >= 0.0
    items: list[Mark] = []
    if scene.deck.platter.trim is SpeedTrim.SCREW:
        items += [
            parts.disc((50.0, 34.0), 12.0, Ink.BODY),
            parts.line((41.0, 34.0), (59.0, 34.0), width=2.0),
            *parts.turn((50.0, 34.0), 17.0, -50.0 if more else 50.0, 100.0 if more else -100.0),
            scene.place(50.0, 10.0, "clockwise" if more else "anticlockwise"),
        ]
    else:
        for x, up in ((34.0, False), (66.0, True)):
            chosen = up is more
            items.append(parts.rounded(x - 11.0, 24.0, x + 11.0, 46.0, 3.0, Ink.BODY))
            colour = MarkRole.PREDICTED if chosen else Ink.FAINT
            name = parts.HAND if chosen else ""
            tip, foot = (42.0, 29.0) if up else (28.0, 41.0)
            items.append(parts.edged(((x, tip), (x - 6.0, foot), (x + 6.0, foot)), colour, name))
        items.append(scene.place(50.0, 10.0, "faster" if more else "slower"))
    items += scene.amount(50.0, 58.0, part)
    return drawn(items, _TALL)
