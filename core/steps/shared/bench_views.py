"""The deck drawn for the hand: from above, from the side, and the head from the front.

Views share a sheet 100 mm wide. The person stands in front of the deck; ends and sides are named
in words. What is known of this deck in millimetres is drawn to one scale, the rest as it usually
is. Arrows for the hand are named :data:`core.drawing.parts.HAND`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import XY, Align, Mark, Pen, Polyline
from core.drawing.roles import Colour, Ink, MarkRole
from core.fitting import Control, MovePart
from core.language import Eighths, Message, Numbers, Quantity, Turns, Value, message
from core.records import NUMBER, UNITS, Cartridge, Deck
from core.steps.shared.movable import control_name, directions_of

WIDE: Final = 100.0
RECORD_MM: Final = 150.0
_BESIDE_FOOT_MM: Final = 28.0
_PIVOT_IN_MM: Final = (48.0, 62.0)
"""The usual distance of an arm's pivot from the right and the back of a plinth."""
_SPINDLE_BACK_MM: Final = 8.0
_WITHOUT_PIVOT: Final = {"pivot": "bearing", "to_pivot": "to_bearing"}
RESTS_MM: Final = 6.0
"""The drawn height of a stylus above the record while the arm is on its rest."""
REST_X: Final = 64.5
_EM_WIDE: Final = 0.7
"""The width of a letter, as a share of its size."""


@dataclass(frozen=True, slots=True)
class BenchScene:
    """The input of a drawing for the hand: deck, cartridge and number format.

    ``stood`` holds the values of the last reading; empty where there is none.
    ``wanted`` are figures of the step's target by their keys, and what the next reading is to be
    taken at by the names of its fields. With ``at_rest`` no reading is being
    taken: a scale is drawn with the arm in its rest.
    """

    deck: Deck
    cartridge: Cartridge
    numbers: Numbers
    stood: Mapping[str, Any] = field(default_factory=dict)
    wanted: Mapping[str, float] = field(default_factory=dict)
    at_rest: bool = False

    def words(
        self,
        x: float,
        y: float,
        said: Message,
        *,
        align: Align = "middle",
        size: float = 4.0,
        bold: bool = False,
        faint: bool = False,
    ) -> Mark:
        """Return words of the catalogue at a position."""
        ink = Ink.FAINT if faint else Ink.WORD
        return parts.words(x, y, self.numbers.text(said), size, ink, align, bold=bold)

    def tag(
        self, x: float, y: float, said: Message, *, size: float = 4.0, bold: bool = False
    ) -> list[Mark]:
        """Return words with a background of their own, kept within the sheet."""
        half = 0.5 * _EM_WIDE * size * len(self.numbers.text(said)) + 1.2
        x = max(half + 1.0, min(WIDE - half - 1.0, x))
        tall = 0.5 * size + 0.9
        return [
            parts.rounded(x - half, y - tall, x + half, y + tall, 1.2, Ink.GLASS),
            self.words(x, y, said, size=size, bold=bold),
        ]

    def place(
        self, x: float, y: float, what: str, *, align: Align = "middle", size: float = 4.0
    ) -> Mark:
        """Return the name of a part or a side of the deck at a place.

        Where an arm has no pivot, the bearing that it rises on is named in its place.
        """
        if not self.deck.arm.is_pivoted:
            what = _WITHOUT_PIVOT.get(what, what)
        return self.words(x, y, message("bench.place", what=what), align=align, size=size)

    def amount(self, x: float, y: float, part: MovePart) -> list[Mark]:
        """Return how far a move goes, large."""
        return self.tag(x, y, message("bench.amount", amount=size_of(part)), size=5.6, bold=True)


def _guard(tip: XY, half: float) -> Mark:
    """Return a stylus guard over a tip."""
    x, y = tip
    return parts.rounded(x - half, y - 1.6, x + half, y + 3.6, 1.2, Ink.BODY, name="guard@")


def drawn(marks: Sequence[Mark], tall: float) -> Drawing:
    """Return the drawing; the caller adds its title."""
    return Drawing("", "", WIDE, tall, tuple(marks))


def size_of(part: MovePart) -> Value:
    """Return the size of a move without its direction."""
    if part.control is Control.FOOT and part.unit == "turns":
        return Eighths(abs(part.amount))
    if part.unit == "turns":
        return Turns(abs(part.amount))
    decimals = UNITS.get(part.unit, NUMBER).decimals
    rounded = round(part.amount, decimals)
    size = part.amount if rounded == 0.0 else rounded
    return Quantity(abs(size), part.unit, form="short")


def direction_of(part: MovePart, *, parallel: bool = False) -> Message:
    """Return which control goes which way and how far; ``parallel`` as for directions_of."""
    name = control_name(part.control, part.unit)
    ways = directions_of(part.control, part.unit, parallel=parallel)
    if not ways:
        return message("control.label.alone", name=name)
    which = ways[0 if part.amount >= 0.0 else 1]
    return message("bench.direction", control=name, direction=which, amount=size_of(part))


def typed(values: Mapping[str, Any], key: str) -> float | None:
    """Return a number of a reading, None while it is empty."""
    value = values.get(key)
    return float(value) if isinstance(value, int | float) else None


def number(values: Mapping[str, Any], key: str, default: float = 0.0) -> float:
    """Return a number of a reading, or a default while it is empty."""
    found = typed(values, key)
    return default if found is None else found


def clipped(value: float, most: float) -> float:
    """Return a value limited to what a drawing can show."""
    return max(-most, min(most, value))


@dataclass(frozen=True, slots=True)
class DeckFromAbove:
    """The deck from above, the person in front of it; deck millimetres to the sheet's."""

    scene: BenchScene
    left: float
    front: float
    unit: float
    tall: float
    spindle: XY
    pivot: XY

    @classmethod
    def of(cls, scene: BenchScene, tallest: float = 78.0) -> DeckFromAbove:
        """Return the view in which the whole deck fits the sheet."""
        feet = scene.deck.plinth.feet
        half_w = max(max(abs(foot.x_mm) for foot in feet) + _BESIDE_FOOT_MM, RECORD_MM + 55.0)
        half_d = max(max(abs(foot.y_mm) for foot in feet) + _BESIDE_FOOT_MM, RECORD_MM + 10.0)
        away = scene.deck.arm.pivot_to_spindle_mm or 230.0
        pivot = (half_w - _PIVOT_IN_MM[0], half_d - _PIVOT_IN_MM[1])
        down = pivot[1] - _SPINDLE_BACK_MM
        across = math.sqrt(max(away**2 - down**2, (0.5 * away) ** 2))
        spindle = (pivot[0] - across, _SPINDLE_BACK_MM)
        left = min(-half_w, spindle[0] - RECORD_MM - 8.0)
        unit = min(92.0 / (half_w - left), (tallest - 12.0) / (2.0 * half_d))
        wide = unit * (half_w - left)
        at_left = left - (0.5 * (WIDE - wide)) / unit
        return cls(
            scene, at_left, -half_d - 8.0 / unit, unit, 2.0 * half_d * unit + 14.0, spindle, pivot
        )

    def at(self, x_mm: float, y_mm: float) -> XY:
        """Return the place on the sheet of a place on the deck."""
        return self.unit * (x_mm - self.left), self.unit * (y_mm - self.front)

    def edges(self) -> tuple[XY, XY]:
        """Return the plinth's front left and back right corner on the sheet."""
        return (
            (WIDE - self._right(), 8.0),
            (self._right(), self.tall - 6.0),
        )

    def _right(self) -> float:
        return self.at(self.pivot[0] + _PIVOT_IN_MM[0], 0.0)[0]

    def marks(self, *, arm_at: float | None = None) -> list[Mark]:
        """Draw plinth, platter, record, arm and the names of the sides.

        ``arm_at`` is the radius at which the stylus stands; None for an arm in its rest.
        """
        (x0, y0), (x1, y1) = self.edges()
        middle, scene = self.at(*self.spindle), self.scene
        items: list[Mark] = [
            parts.rounded(x0, y0, x1, y1, 3.0, Ink.BODY),
            parts.disc(middle, self.unit * (RECORD_MM + 2.0), Ink.GLASS),
            Polyline(
                tuple(parts.arc(middle, self.unit * 56.0, 0.0, 360.0, 40)),
                Pen(0.25, colour=Ink.FAINT),
            ),
            parts.disc(middle, 1.0, Ink.WORD),
        ]
        if scene.deck.arm.is_pivoted:
            items += self._arm(RECORD_MM + 16.0 if arm_at is None else arm_at)
        else:
            x = middle[0]
            rail = self.at(self.spindle[0], self.spindle[1] + RECORD_MM + 10.0)[1]
            items.append(parts.line((x, rail), (x1 - 4.0, rail), width=1.4))
        items += [
            scene.place(50.0, 3.4, "front"),
            scene.place(50.0, self.tall - 2.4, "back"),
        ]
        return items

    def stylus_at(self, radius_mm: float) -> XY:
        """Return where the stylus stands at a radius, on the deck: circles about both centres."""
        (sx, sy), (px, py) = self.spindle, self.pivot
        d = math.hypot(px - sx, py - sy)
        reach = self.scene.deck.arm.effective_length_mm
        along = clipped((d * d + radius_mm**2 - reach**2) / (2.0 * d * radius_mm), 1.0)
        bearing = math.atan2(py - sy, px - sx) - math.acos(along)
        return sx + radius_mm * math.cos(bearing), sy + radius_mm * math.sin(bearing)

    def _arm(self, radius_mm: float) -> list[Mark]:
        pivot, tip = self.at(*self.pivot), self.at(*self.stylus_at(radius_mm))
        long = math.hypot(pivot[0] - tip[0], pivot[1] - tip[1])
        ux, uy = (tip[0] - pivot[0]) / long, (tip[1] - pivot[1]) / long
        bearing = math.degrees(math.atan2(ux, uy))
        back = (pivot[0] - 7.0 * ux, pivot[1] - 7.0 * uy)
        offset = self.scene.deck.arm.offset_deg
        joint = (tip[0] - 5.5 * ux, tip[1] - 5.5 * uy)
        head = parts.turned_by(
            [
                parts.at(joint, reach, bearing + aside)
                for reach, aside in ((2.0, 110.0), (2.0, -110.0), (7.4, -16.0), (7.4, 16.0))
            ],
            joint,
            offset or 0.0,
        )
        return [
            parts.line(back, joint, width=1.3),
            parts.disc(pivot, 3.4, Ink.BODY),
            parts.disc(back, 2.6, MarkRole.OUTLINE),
            parts.edged(head, MarkRole.OUTLINE),
        ]

    def foot(self, name: str) -> XY | None:
        """Return where a foot stands on the sheet."""
        for foot in self.scene.deck.plinth.feet:
            if foot.name == name:
                return self.at(foot.x_mm, foot.y_mm)
        return None


@dataclass(frozen=True, slots=True)
class ArmFromSide:
    """The arm from the side: the head at the left, the pivot at the right, the weight behind it."""

    scene: BenchScene
    record: float = 16.0
    tube: float = 33.0
    head_x: float = 20.0
    pivot_x: float = 72.0
    weight_x: float = 88.0
    tall: float = 60.0

    def marks(self, *, rise: float = 0.0, platter: bool = True, stylus: float = 0.0) -> list[Mark]:
        """Draw record, pillar, tube, weight, head and cartridge; ``rise`` lifts the rear.

        ``stylus`` lifts the whole head off the record, as over a scale or afloat.
        """
        front, rear = self.tube + stylus, self.tube + rise
        slope = (rear - front) / (self.pivot_x - self.head_x)
        behind = rear + slope * (self.weight_x - self.pivot_x)
        top = front - 1.5
        items: list[Mark] = []
        if platter:
            items += [
                parts.box(3.0, self.record - 6.0, 61.0, self.record - 2.0),
                parts.box(5.0, self.record - 2.0, 59.0, self.record, Ink.GLASS),
            ]
        items += [
            parts.box(self.pivot_x - 4.0, 6.0, self.pivot_x + 4.0, rear - 2.0),
            parts.line(
                (self.head_x - 6.0, front - 6.0 * slope),
                (self.weight_x + 6.0, behind + 6.0 * slope),
                width=2.2,
            ),
            parts.disc((self.pivot_x, rear), 3.2, Ink.BODY),
            parts.rounded(
                self.weight_x - 5.5, behind - 7.0, self.weight_x + 5.5, behind + 7.0, 1.5, Ink.BODY
            ),
            parts.edged(
                (
                    (self.head_x - 8.0, top),
                    (self.head_x + 8.0, top),
                    (self.head_x + 7.0, top - 8.0),
                    (self.head_x - 5.0, top - 8.0),
                ),
                Ink.BODY,
            ),
            parts.line(
                (self.head_x + 4.0, top - 8.0), (self.head_x - 3.0, self.record + stylus), width=0.8
            ),
        ]
        return items

    def resting(self, *, platter: bool = True) -> list[Mark]:
        """Draw the arm locked in its rest with the guard on, as it is for every move."""
        tip = (self.head_x - 3.0, self.record + RESTS_MM)
        at_rest = self.tube + RESTS_MM * (self.pivot_x - REST_X) / (self.pivot_x - self.head_x)
        items = self.marks(platter=platter, stylus=RESTS_MM)
        items += [
            parts.box(REST_X - 1.0, 6.0, REST_X + 1.0, at_rest - 1.2, name="rest@"),
            parts.line(
                (REST_X - 2.4, at_rest + 2.2),
                (REST_X - 2.4, at_rest - 1.4),
                (REST_X + 2.4, at_rest - 1.4),
                (REST_X + 2.4, at_rest + 2.2),
                width=0.9,
            ),
            _guard(tip, 4.5),
        ]
        return items

    def named(self, *, weight: bool = True, low: bool = False) -> list[Mark]:
        """Name head, pivot and weight."""
        scene, y = self.scene, 2.6 if low else self.tube + 18.0
        items = [
            scene.place(self.head_x, y, "head"),
            scene.place(self.pivot_x, y, "pivot"),
        ]
        if weight:
            items.append(scene.place(self.weight_x + 1.0, self.tube - 12.0, "weight"))
        return items


@dataclass(frozen=True, slots=True)
class HeadFromFront:
    """The head from the front, the stylus on the record; left is the person's left."""

    scene: BenchScene
    record: float = 20.0
    tall: float = 62.0

    @property
    def unit(self) -> float:
        """Sheet millimetres for one of the cartridge."""
        cartridge = self.scene.cartridge
        return min(34.0 / cartridge.body_width_mm, 22.0 / cartridge.body_height_mm)

    def resting(self) -> list[Mark]:
        """Draw the head lifted off the record with the guard on, as it is for every move."""
        return [*self.marks(lifted=RESTS_MM), _guard((50.0, self.record + RESTS_MM), 6.0)]

    def marks(
        self, clockwise_deg: float = 0.0, *, image: bool = False, lifted: float = 0.0
    ) -> list[Mark]:
        """Draw head, body and stylus rolled about the tip, with their image if there is a mirror.

        Left side up is clockwise, as seen from the front.
        """
        items: list[Mark] = []
        foot = (50.0, self.record + lifted)
        half, tall = (
            0.5 * self.unit * self.scene.cartridge.body_width_mm,
            self.unit * (self.scene.cartridge.body_height_mm),
        )
        for side in (1.0, -1.0) if image else (1.0,):
            gap = min(5.0, 0.25 * tall)
            shapes = (
                ((-0.5, gap), (0.0, 0.0), (0.5, gap)),
                ((-half, gap), (half, gap), (half, tall), (-half, tall)),
                (
                    (-half - 3.0, tall),
                    (half + 3.0, tall),
                    (half + 3.0, tall + 4.0),
                    (-half - 3.0, tall + 4.0),
                ),
            )
            fills: tuple[Colour, ...] = (MarkRole.OUTLINE, Ink.BODY, MarkRole.OUTLINE)
            for shape, fill in zip(shapes, fills, strict=True):
                points = [(foot[0] + x, foot[1] + side * y) for x, y in shape]
                turned = parts.turned_by(points, foot, side * clockwise_deg)
                if side > 0:
                    items.append(parts.edged(turned, fill))
                else:
                    items.append(parts.line(*turned, turned[0], colour=Ink.FAINT, width=0.4))
        items.append(parts.line((8.0, self.record), (92.0, self.record), width=0.8))
        return items

    @property
    def half(self) -> float:
        """Half the width of the body on the sheet."""
        return 0.5 * self.unit * self.scene.cartridge.body_width_mm

    @property
    def top(self) -> float:
        """Where the body meets the head."""
        return self.record + self.unit * self.scene.cartridge.body_height_mm

    def named(self) -> list[Mark]:
        """Name both sides, and say from where one looks."""
        scene = self.scene
        return [
            scene.place(6.0, self.record + 4.0, "left", align="left"),
            scene.place(94.0, self.record + 4.0, "right", align="right"),
            scene.place(50.0, 2.6, "seen_from_front"),
        ]


def dial(
    scene: BenchScene,
    middle: XY,
    radius: float,
    highest: float,
    mark: float | None,
    aimed: float | None = None,
) -> list[Mark]:
    """Draw a dial from 0 to ``highest`` round three quarters, its pointer at a mark if known.

    Where it is to be set, ``aimed``, is marked on its rim; without a mark the pointer stands there.
    """
    highest = max(highest, 1e-6)
    items: list[Mark] = [parts.disc(middle, radius, Ink.BODY)]
    step = next(
        one for one in (0.5, 1.0, 2.0, 5.0, 10.0, 50.0) if highest / one <= 8.0 or one == 50.0
    )
    count = int(highest / step + 1e-9)
    for k in range(count + 1):
        turn = dial_deg(k * step, highest)
        items.append(
            parts.line(
                parts.at(middle, radius, turn),
                parts.at(middle, radius + 2.5, turn),
                colour=Ink.WORD,
            )
        )
        said = message("bench.figure", value=Quantity(k * step, "", form="short"))
        items.append(scene.words(*parts.at(middle, radius + 6.0, turn), said, size=3.8))
    if aimed is not None:
        at = dial_deg(max(0.0, min(aimed, highest)), highest)
        ends = (parts.at(middle, reach, at) for reach in (radius - 4.0, radius + 2.5))
        items.append(parts.line(*ends, colour=MarkRole.PREDICTED, width=1.4, name="aimed@"))
    shown = aimed if mark is None else mark
    if shown is not None:
        at = dial_deg(max(0.0, min(shown, highest)), highest)
        pointer = parts.at(middle, radius - 1.0, at)
        colour = MarkRole.PREDICTED if mark is None else MarkRole.NOW
        items.append(parts.line(middle, pointer, colour=colour, width=1.4, name="dial@"))
    return items


def dial_deg(mark: float, highest: float) -> float:
    """Return where a mark of a dial stands, clockwise from upright."""
    return -135.0 + 270.0 * mark / max(highest, 1e-6)
