"""The cartridge in the head: guard, screws, and the four leads with their colours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import XY, Mark
from core.drawing.roles import Ink, MarkRole
from core.fitting import MovePart
from core.language import message
from core.steps.shared.bench_views import WIDE, ArmFromSide, BenchScene, drawn

_PINS: Final = (
    ("white_lead", Ink.WHITE_LEAD, 30.0, 40.0),
    ("blue_lead", Ink.BLUE_LEAD, 30.0, 22.0),
    ("red_lead", Ink.RED_LEAD, 70.0, 40.0),
    ("green_lead", Ink.GREEN_LEAD, 70.0, 22.0),
)
"""The usual places of the pins, seen from behind; the print on a cartridge takes precedence."""
_TALL: Final = 64.0


def draw_reading(scene: BenchScene, way: str, values: Mapping[str, Any]) -> Drawing:
    """Draw the pins from behind with a lead on each; weighing draws the scale."""
    if way == "weighed":
        return drawn(_on_scale(scene), 46.0)
    if way == "plug-in checklist":
        return drawn(_plug(scene), 52.0)
    if way == "resonance by record":
        view = ArmFromSide(scene)
        return drawn([*view.resting(), *view.named(low=True)], view.tall)
    items: list[Mark] = [
        parts.rounded(14.0, 9.0, 86.0, 51.0, 3.0, Ink.BODY),
        scene.place(50.0, 56.0, "pins_from_behind"),
    ]
    for field, colour, x, y in _PINS:
        on = bool(values.get(field))
        out = -1.0 if x < 0.5 * WIDE else 1.0
        near = 0.0 if on else 9.0
        items.append(parts.disc((x, y), 5.0, Ink.GLASS))
        items.append(parts.disc((x, y), 2.0, Ink.WORD))
        items.append(_lead((x + out * near, y), (x + out * 26.0, y), colour))
        said = message("bench.pin", lead=field)
        items.append(scene.words(x, y - 8.0, said, size=4.2, bold=on))
    items.append(scene.place(50.0, 4.0, "go_by_its_print"))
    return drawn(items, _TALL)


def _lead(end: XY, away: XY, colour: Ink) -> Mark:
    """Return a lead in its colour, with its clip on the pin or beside it."""
    left, right = sorted((end[0], away[0]))
    return parts.box(left, end[1] - 1.5, right, end[1] + 1.5, colour, name="lead@")


def _on_scale(scene: BenchScene) -> list[Mark]:
    return [
        parts.rounded(20.0, 8.0, 80.0, 18.0, 2.0, Ink.BODY),
        parts.box(32.0, 18.0, 68.0, 20.0, Ink.GLASS),
        parts.box(40.0, 20.0, 60.0, 32.0, Ink.BODY),
        parts.disc((30.0, 22.0), 1.6, MarkRole.OUTLINE),
        parts.disc((70.0, 22.0), 1.6, MarkRole.OUTLINE),
        scene.place(50.0, 38.0, "with_hardware"),
        scene.place(50.0, 3.4, "scale"),
    ]


def _plug(scene: BenchScene) -> list[Mark]:
    return [
        parts.box(52.0, 20.0, 92.0, 30.0, MarkRole.OUTLINE),
        parts.rounded(22.0, 16.0, 48.0, 34.0, 2.0, Ink.BODY),
        parts.line((28.0, 16.0), (23.0, 9.0), width=0.8),
        *parts.push((30.0, 40.0), (48.0, 40.0)),
        scene.place(36.0, 46.0, "pushed_home"),
        scene.place(72.0, 35.0, "arm_tube"),
    ]


def _screwdriver(screw: XY) -> list[Mark]:
    """Draw a screwdriver that leans over a screw."""
    x, y = screw
    handle = [(x + 9.0, y + 13.6), (x + 13.6, y + 9.0), (x + 27.6, y + 21.0), (x + 21.0, y + 27.6)]
    return [
        parts.line((x, y), (x + 12.0, y + 12.0), width=1.4, name="screwdriver@"),
        parts.edged(handle, MarkRole.NOW),
    ]


def draw_move(scene: BenchScene, moved: Sequence[MovePart]) -> Drawing:
    """Draw the head from above with screws and screwdriver, or the exchanged cartridge."""
    part = moved[0]
    if part.control == "screws":
        items: list[Mark] = [
            parts.rounded(22.0, 12.0, 78.0, 46.0, 4.0, Ink.BODY),
            *(
                mark
                for x in (36.0, 64.0)
                for mark in (
                    parts.disc((x, 29.0), 5.0, Ink.GLASS),
                    parts.line((x - 3.5, 29.0), (x + 3.5, 29.0), width=1.0),
                    *parts.turn((x, 29.0), 9.0, -60.0, 150.0),
                )
            ),
            *_screwdriver((64.0, 29.0)),
            scene.place(34.0, 52.0, "in_turn"),
            scene.place(50.0, 4.0, "seen_from_above"),
        ]
        return drawn(items, 58.0)
    view = ArmFromSide(scene)
    items = view.resting()
    items += parts.upright(view.head_x, view.tube + 14.0, up=True)
    items += view.named(low=True)
    return drawn(items, view.tall)
