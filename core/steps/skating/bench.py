"""Where the compensation is set, and which channel is listened to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import Mark
from core.drawing.roles import Ink, MarkRole
from core.fitting import MovePart
from core.records import SkatingControl
from core.steps.shared.bench_views import BenchScene, dial, dial_deg, drawn, typed

_TALL: Final = 66.0
_MIDDLE: Final = (50.0, 34.0)
_RADIUS: Final = 17.0


def _control(scene: BenchScene, mark: float | None) -> list[Mark]:
    """Draw the control at a setting; until one is typed, at the one that is asked for."""
    skating, aimed = scene.deck.skating, scene.wanted.get("setting")
    if skating.control is SkatingControl.THREAD_WEIGHT:
        return _thread(scene, mark, aimed)
    return dial(scene, _MIDDLE, _RADIUS, skating.highest_gf, mark, aimed)


def _thread(scene: BenchScene, mark: float | None, aimed: float | None = None) -> list[Mark]:
    levers = scene.deck.skating.notch_levers_mm
    longest = max(levers, default=1.0)
    items: list[Mark] = [
        parts.disc((16.0, 38.0), 4.0, Ink.BODY),
        parts.line((16.0, 38.0), (90.0, 38.0), width=1.4),
        scene.place(16.0, 46.0, "pivot"),
    ]
    for number_, lever in enumerate(levers, 1):
        x = 16.0 + 66.0 * lever / longest
        shown = aimed if mark is None else mark
        here = shown is not None and number_ == round(shown)
        colour = MarkRole.PREDICTED if mark is None else MarkRole.NOW
        items.append(parts.line((x, 35.0), (x, 41.0), width=1.0))
        items.append(parts.words(x, 46.0, f"{number_}", 4.2, bold=here))
        if here:
            items += [
                parts.line((x, 35.0), (x, 16.0), colour=colour),
                parts.disc((x, 13.0), 4.0, colour),
            ]
    return items


def draw_reading(scene: BenchScene, way: str, values: Mapping[str, Any]) -> Drawing:
    """Draw the setting; where bands are listened to, both channels beside it.

    Until one is typed, it is the one asked for, else the one it was left at.
    """
    mark = typed(values, "setting")
    if mark is None and "setting" not in scene.wanted:
        mark = typed(scene.stood, "setting")
    items = _control(scene, mark)
    if way != "setting":
        for x, side in ((10.0, "left"), (90.0, "right")):
            broke = str(values.get("broke_first") or "")
            lit = broke in (side, "together")
            colour = (MarkRole.LEFT if side == "left" else MarkRole.RIGHT) if lit else Ink.BODY
            items.append(parts.rounded(x - 7.0, 4.0, x + 7.0, 22.0, 1.5, colour))
            items.append(parts.disc((x, 11.0), 4.4, Ink.GLASS))
            items.append(scene.place(x, 26.5, side))
    return drawn(items, _TALL)


def draw_move(scene: BenchScene, moved: Sequence[MovePart]) -> Drawing:
    """Draw the dial or the rod with the arrow toward more or less."""
    part = moved[0]
    stood = typed(scene.stood, "setting")
    more = part.amount >= 0.0
    skating = scene.deck.skating
    if skating.control is SkatingControl.THREAD_WEIGHT:
        items = _thread(scene, stood)
        ends = (38.0, 24.0), (62.0, 24.0)
        items += parts.push(*(ends if more else ends[::-1]))
    else:
        highest = skating.highest_gf
        items = dial(scene, _MIDDLE, _RADIUS, highest, stood)
        start = dial_deg(0.4 if more else 0.6, 1.0)
        if stood is not None:
            start = dial_deg(max(0.0, min(stood, highest)), highest)
            aimed = dial_deg(max(0.0, min(stood + part.amount, highest)), highest)
            items.append(
                parts.line(
                    parts.at(_MIDDLE, _RADIUS - 4.0, aimed),
                    parts.at(_MIDDLE, _RADIUS + 2.5, aimed),
                    colour=MarkRole.PREDICTED,
                    width=1.4,
                    name="aimed@",
                )
            )
        items += parts.turn(_MIDDLE, _RADIUS - 7.0, start, 60.0 if more else -60.0)
    items += scene.amount(50.0, 6.0, part)
    items.append(scene.place(84.0, 6.0, "more" if more else "less"))
    return drawn(items, _TALL)
