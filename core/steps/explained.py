"""Drawings for Help: the words of the trade, and the place of the nine steps on a deck.

They show an example deck, or a given one, in the views of the steps' own drawings.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import XY, Mark, Pen, Polyline, Words, on_circle
from core.drawing.roles import Ink, MarkRole
from core.language import Numbers, Quantity, message
from core.records import Cartridge, Deck
from core.steps import (
    ALIGNMENT,
    ARM_HEIGHT,
    FINAL_DOWNFORCE,
    LEVEL,
    MOUNT,
    ROUGH_DOWNFORCE,
    SKATING,
    SPEED,
    STEP_NAMES,
    TILT,
)
from core.steps.bench_drawing import draw_reading
from core.steps.shared.bench_views import (
    ArmFromSide,
    BenchScene,
    DeckFromAbove,
    HeadFromFront,
    drawn,
)

_HELP: Final = Pen(0.5, (2.4, 1.6), Ink.FAINT)
_NULLS_MM: Final = (66.0, 120.9)
"""Null radii of the least worst distortion between 60.325 and 146.05 mm (handbook values)."""
_RECORD_Y: Final = 10.0


def example_scene(numbers: Numbers) -> BenchScene:
    """Return an invented deck and cartridge with every adjustment."""
    deck = Deck.model_validate(
        {
            "name": "Example",
            "plinth": {
                "feet": [
                    {"name": "front left", "x_mm": -175.0, "y_mm": -140.0},
                    {"name": "front right", "x_mm": 175.0, "y_mm": -140.0},
                    {"name": "rear left", "x_mm": -175.0, "y_mm": 140.0},
                    {"name": "rear right", "x_mm": 175.0, "y_mm": 140.0},
                ]
            },
            "arm": {
                "kind": "pivoted offset",
                "pivot_to_spindle_mm": 222.0,
                "effective_length_mm": 239.3,
                "offset_deg": 23.0,
                "effective_mass_g": 11.0,
            },
            "head": {"kind": "slots"},
            "height": {"control": "pillar"},
            "tilt": {"control": "head"},
            "skating": {"control": "dial"},
            "platter": {"trim": "screw"},
        }
    )
    cartridge = Cartridge.model_validate(
        {
            "name": "Example",
            "mounting": "tapped",
            "mass_g": 6.0,
            "downforce_min_gf": 1.8,
            "downforce_max_gf": 2.2,
            "stylus": "elliptical",
        }
    )
    return BenchScene(deck, cartridge, numbers)


def draw_word(key: str, numbers: Numbers) -> Drawing:
    """Draw the meaning of a word of the trade; KeyError for an unknown word."""
    return WORDS[key](example_scene(numbers))


def draw_places(scene: BenchScene, *, only: str = "") -> Drawing:
    """Draw the deck from above with the number of each step where it takes place.

    ``only`` names the one step whose number is drawn, for a picture too small for all nine.
    """
    view = DeckFromAbove.of(scene)
    items = view.marks()
    if only:
        items = [mark for mark in items if not isinstance(mark, Words)]  # too small to be read
    places = _places(view)
    for number, step in enumerate(STEP_NAMES, start=1):
        if not only or step == only:
            items += _numbered(scene, places[step], number, large=bool(only))
    said = scene.numbers.text(message("help.places"))
    return replace(drawn(items, view.tall), title=said, summary=said)


def _places(view: DeckFromAbove) -> Mapping[str, XY]:
    """Return the place of each step on the sheet."""
    pivot, tip = view.at(*view.pivot), view.at(*view.stylus_at(166.0))
    long = math.hypot(pivot[0] - tip[0], pivot[1] - tip[1])
    ux, uy = (tip[0] - pivot[0]) / long, (tip[1] - pivot[1]) / long
    (x0, y0), _ = view.edges()
    middle = view.at(*view.spindle)
    if not view.scene.deck.arm.is_pivoted:
        ux, uy, pivot = 0.0, -1.0, (middle[0], view.tall - 18.0)
        tip = (middle[0], pivot[1] - 20.0)
    aside = (-uy, ux) if uy < 0 else (uy, -ux)
    record = view.unit * 100.0
    return {
        LEVEL: (x0 + 6.0, y0 + 6.0),
        MOUNT: (tip[0] + 6.5 * aside[0], tip[1] + 6.5 * aside[1]),
        ROUGH_DOWNFORCE: (pivot[0] - 11.0 * ux - 5.0, pivot[1] - 10.0 * uy),
        ARM_HEIGHT: (pivot[0] + 7.5, pivot[1]),
        ALIGNMENT: on_circle(*middle, record, 20.0),
        TILT: (tip[0] - 1.0, tip[1] - 8.5),
        SKATING: (pivot[0] + 7.0 + 9.0 * ux, pivot[1] + 11.0 * uy),
        FINAL_DOWNFORCE: (pivot[0] - 11.0 * ux + 5.0, pivot[1] - 10.0 * uy),
        SPEED: on_circle(*middle, record, 200.0),
    }


def _numbered(scene: BenchScene, at: XY, number: int, *, large: bool) -> list[Mark]:
    size = 13.0 if large else 5.0
    shown = message("bench.figure", value=Quantity(number, "", 0, form="short"))
    return [
        parts.disc(at, 0.68 * size, MarkRole.NOW),
        parts.disc(at, 0.58 * size, Ink.GLASS),
        scene.words(*at, shown, size=size, bold=True),
    ]


def _tracking_force(scene: BenchScene) -> Drawing:
    view = ArmFromSide(scene)
    items = view.marks()
    items += parts.push((view.head_x, 52.0), (view.head_x, 38.0))
    items += scene.tag(view.head_x + 16.0, 50.0, message("help.two_grams"), bold=True)
    items += view.named(low=True)
    return drawn(items, view.tall)


def _over_spindle(scene: BenchScene, *, length: bool) -> Drawing:
    """Draw the arm swung over the spindle, with its stylus beyond it."""
    spindle, pivot = (38.0, 30.0), (90.0, 30.0)
    tip = (20.0, 30.0)
    items: list[Mark] = [
        Polyline(tuple(parts.arc(spindle, 28.0, 0.0, 360.0, 60)), Pen(0.4, colour=Ink.FAINT)),
        parts.line(pivot, tip, width=1.3),
        parts.disc(pivot, 4.0, Ink.BODY),
        parts.disc(spindle, 1.6, Ink.WORD),
        parts.disc(tip, 1.4, MarkRole.NOW),
        scene.place(pivot[0], 38.0, "pivot"),
        scene.words(spindle[0] + 1.0, 36.0, message("bench.place", what="spindle")),
        scene.words(tip[0] + 1.0, 36.0, message("help.stylus")),
    ]
    if length:
        items += parts.dimension((tip[0], 14.0), (pivot[0], 14.0))
        items += scene.tag(58.0, 8.0, message("help.effective_length"), bold=True)
    else:
        items += parts.dimension((tip[0], 14.0), (spindle[0], 14.0))
        items += scene.tag(29.0, 8.0, message("help.overhang"), bold=True)
    for x in (tip[0], pivot[0] if length else spindle[0]):
        items.append(Polyline(((x, 11.0), (x, 29.0)), _HELP))
    return drawn(items, 60.0)


def _overhang(scene: BenchScene) -> Drawing:
    return _over_spindle(scene, length=False)


def _effective_length(scene: BenchScene) -> Drawing:
    return _over_spindle(scene, length=True)


def _pivot_to_spindle(scene: BenchScene) -> Drawing:
    view = DeckFromAbove.of(scene)
    pivot, spindle = view.at(*view.pivot), view.at(*view.spindle)
    items = view.marks()
    items += parts.dimension(spindle, pivot)
    items += scene.tag(spindle[0], spindle[1] - 13.0, message("help.pivot_to_spindle"), bold=True)
    return drawn(items, view.tall)


def _null_points(scene: BenchScene) -> Drawing:
    view = DeckFromAbove.of(scene)
    items = view.marks()
    path = [view.at(*view.stylus_at(radius)) for radius in range(60, 148, 4)]
    items.append(Polyline(tuple(path), _HELP))
    for radius in _NULLS_MM:
        at = view.at(*view.stylus_at(radius))
        items.append(parts.disc(at, 1.7, MarkRole.NOW))
    x, y = view.at(*view.stylus_at(_NULLS_MM[0]))
    items += scene.tag(x - 16.0, y - 9.0, message("help.null_points"), bold=True)
    return drawn(items, view.tall)


def _offset_angle(scene: BenchScene) -> Drawing:
    tip, pivot, turned = (20.0, 20.0), (92.0, 46.0), 23.0
    along = math.degrees(math.atan2(pivot[1] - tip[1], pivot[0] - tip[0]))
    joint = on_circle(*tip, 22.0, along - turned)
    head = [
        (tip[0] - 5.0, tip[1] - 6.0),
        (tip[0] + 20.0, tip[1] - 6.0),
        (tip[0] + 20.0, tip[1] + 6.0),
        (tip[0] - 5.0, tip[1] + 6.0),
    ]
    items: list[Mark] = [
        parts.line(joint, pivot, width=1.6),
        parts.edged(parts.turned_by(head, tip, turned - along), Ink.BODY),
        parts.disc(pivot, 4.0, Ink.BODY),
        Polyline((tip, pivot), _HELP),
        Polyline((tip, on_circle(*tip, 46.0, along - turned)), _HELP),
        parts.disc(tip, 1.4, MarkRole.NOW),
        *parts.turn(tip, 34.0, 90.0 - along, turned),
        scene.place(pivot[0] - 2.0, 54.0, "pivot"),
        *scene.tag(70.0, 12.0, message("help.offset_angle"), bold=True),
    ]
    return drawn(items, 60.0)


def _cartridge_from_side() -> list[Mark]:
    return [
        parts.line((4.0, _RECORD_Y), (96.0, _RECORD_Y), width=0.8),
        parts.box(30.0, 24.0, 78.0, 40.0, Ink.BODY),
        parts.box(24.0, 40.0, 96.0, 45.0, MarkRole.OUTLINE),
        parts.line((64.0, 26.0), (24.0, _RECORD_Y + 1.4), width=1.2),
        parts.edged(
            ((22.4, _RECORD_Y + 3.0), (25.6, _RECORD_Y + 3.0), (24.0, _RECORD_Y)), MarkRole.NOW
        ),
    ]


def _vta(scene: BenchScene) -> Drawing:
    items = _cartridge_from_side()
    items += parts.turn((24.0, _RECORD_Y), 34.0, 90.0, -19.0)
    items += scene.tag(80.0, 17.0, message("help.about_twenty"), bold=True)
    return drawn(items, 50.0)


def _cantilever(scene: BenchScene) -> Drawing:
    items = _cartridge_from_side()
    items += [
        Polyline(((31.0, 34.0), (12.0, 30.0), (12.0, 13.0)), Pen(1.2, colour=MarkRole.TARGET)),
        scene.words(13.0, 36.0, message("help.guard")),
        scene.words(54.0, 32.0, message("help.body")),
        scene.words(60.0, 17.0, message("help.cantilever")),
        scene.words(24.0, 4.6, message("help.stylus")),
    ]
    return drawn(items, 50.0)


def _azimuth(scene: BenchScene) -> Drawing:
    view = HeadFromFront(scene)
    items = view.marks(8.0)
    items.append(Polyline(((50.0, view.record), (50.0, view.top + 12.0)), _HELP))
    items += parts.turn((50.0, view.record), 38.0, 8.0, -8.0 - 10.0)
    return drawn([*items, *view.named()], view.tall + 2.0)


def _anti_skating(scene: BenchScene) -> Drawing:
    view = DeckFromAbove.of(scene)
    items = view.marks(arm_at=90.0)
    tip, middle = view.at(*view.stylus_at(90.0)), view.at(*view.spindle)
    long = math.hypot(tip[0] - middle[0], tip[1] - middle[1])
    ux, uy = (tip[0] - middle[0]) / long, (tip[1] - middle[1]) / long
    items += parts.push(
        (tip[0] - 3.0 * ux, tip[1] - 3.0 * uy),
        (tip[0] - 14.0 * ux, tip[1] - 14.0 * uy),
        MarkRole.DANGER,
    )
    items += parts.push(
        (tip[0] + 3.0 * ux, tip[1] + 3.0 * uy), (tip[0] + 14.0 * ux, tip[1] + 14.0 * uy)
    )
    items += scene.tag(tip[0] - 26.0, tip[1] + 20.0, message("help.groove_drags"))
    items += scene.tag(tip[0] - 26.0, tip[1] - 16.5, message("help.pulls_back"))
    return drawn(items, view.tall)


def _compliance(scene: BenchScene) -> Drawing:
    coil = [(50.0, 34.0), (50.0, 31.0)]
    coil += [(55.0 if turn % 2 else 45.0, 29.0 - 2.6 * turn) for turn in range(6)]
    coil += [(50.0, 14.0), (50.0, _RECORD_Y)]
    items: list[Mark] = [
        parts.line((4.0, _RECORD_Y), (96.0, _RECORD_Y), width=0.8),
        parts.rounded(26.0, 34.0, 74.0, 46.0, 2.0, Ink.BODY),
        parts.line(*coil, colour=MarkRole.NOW, width=0.9),
        *parts.upright(16.0, 40.0, up=True),
        *parts.upright(84.0, 40.0, up=False),
        scene.words(50.0, 40.0, message("help.mass")),
        scene.words(60.0, 22.0, message("help.spring"), align="left"),
        scene.words(12.0, 4.6, message("help.record"), align="left"),
    ]
    return drawn(items, 50.0)


def _leads(scene: BenchScene) -> Drawing:
    lit: Mapping[str, bool] = dict.fromkeys(
        ("white_lead", "blue_lead", "red_lead", "green_lead"), True
    )
    return draw_reading(scene, MOUNT, "checklist", lit)


_DRAW: Final[dict[str, Callable[[BenchScene], Drawing]]] = {
    "tracking_force": _tracking_force,
    "overhang": _overhang,
    "null_points": _null_points,
    "offset_angle": _offset_angle,
    "pivot_to_spindle": _pivot_to_spindle,
    "effective_length": _effective_length,
    "vta": _vta,
    "azimuth": _azimuth,
    "anti_skating": _anti_skating,
    "compliance": _compliance,
    "cantilever": _cantilever,
    "leads": _leads,
}
WORDS: Final[Mapping[str, Callable[[BenchScene], Drawing]]] = MappingProxyType(_DRAW)
"""The drawing function of each word of the trade, by its key in resources/help.toml."""
