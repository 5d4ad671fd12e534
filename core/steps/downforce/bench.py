"""The stylus over the scale's pan, and the direction of the weight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import XY, Mark
from core.drawing.roles import Ink, MarkRole
from core.fitting import MovePart
from core.language import Quantity, message
from core.records import Balance
from core.steps.downforce.floated import FLOAT_AND_DIAL, FLOATING
from core.steps.shared.bench_views import ArmFromSide, BenchScene, clipped, dial_deg, drawn, number

_SHOWN_MM: Final = 6.0
"""The weight is drawn moved by at most so much."""


def draw_reading(scene: BenchScene, way: str, values: Mapping[str, Any]) -> Drawing:
    """Draw the scale beside the platter, its pan where the record would be, or the arm afloat."""
    view = ArmFromSide(scene)
    if way in FLOATING:
        dial = way == FLOAT_AND_DIAL
        field, unit = ("dial_gf", "gf") if dial else ("slid_mm", "mm")
        typed = isinstance(values.get(field), int | float)
        put_on = Quantity(number(values, field), unit, 2 if dial else 1) if typed else None
        if not dial:
            moved = clipped(number(values, field), _SHOWN_MM)
            view = replace(view, weight_x=view.weight_x - moved)
        slid = "to_pivot" if scene.deck.arm.is_pivoted else "to_head"
        return _afloat(scene, view, put_on, "dial_from_0" if dial else slid)
    weighed, empty = way == "check weight", way == "empty pan"
    # Without the stylus on the pan the arm is in its rest with the guard on.
    in_rest = weighed or empty
    resting = in_rest or scene.at_rest
    items = view.resting(platter=False) if resting else view.marks(platter=False)
    field = "shown_gf" if in_rest else "downforce_gf"
    items += _scale(scene, view, values.get(field))
    if weighed:
        items.append(parts.box(24.0, view.record, 31.0, view.record + 8.0, MarkRole.NOW))
        said = message(
            "bench.figure", value=Quantity(number(values, "weight_g"), "g", form="short")
        )
        items.append(scene.words(44.0, view.record + 5.0, said))
    items += view.named()
    return drawn(items, view.tall)


def _afloat(scene: BenchScene, view: ArmFromSide, put_on: Quantity | None, what: str) -> Drawing:
    """Draw the floating arm, level and clear of everything, and how far weight or dial was moved.

    The arrow stays where the weight goes by it.
    """
    weight_x = ArmFromSide(scene).weight_x
    items = view.marks(platter=False)
    level = (4.0, view.tube + 5.0), (66.0, view.tube + 5.0)
    items.append(parts.line(*level, colour=MarkRole.TARGET, width=0.6))
    items.append(scene.place(36.0, view.tube + 9.0, "floats_level"))
    if put_on is not None:
        items += scene.tag(84.0, view.tube + 15.0, message("bench.figure", value=put_on), size=5.0)
    if what == "dial_from_0":
        ring = view.weight_x - 8.0
        items.append(parts.edged(_upright(ring, view.tube), Ink.GLASS))
    else:
        y = view.tube - 10.0
        items += parts.push((weight_x + 8.0, y), (weight_x - 10.0, y))
    items.append(scene.place(88.0, view.tube - 16.0, what))
    items.append(scene.place(30.0, 8.0, "clear_of_all"))
    items.append(scene.place(view.pivot_x, 2.6, "pivot"))
    return drawn(items, view.tall)


def _upright(x: float, middle: float) -> list[XY]:
    """Return the corners of a ring seen from its edge."""
    return [(x, middle - 7.0), (x + 2.5, middle - 7.0), (x + 2.5, middle + 7.0), (x, middle + 7.0)]


def _scale(scene: BenchScene, view: ArmFromSide, shown: object) -> list[Mark]:
    pan = view.record
    items: list[Mark] = [
        parts.rounded(6.0, 3.0, 58.0, pan - 3.0, 2.0, Ink.BODY),
        parts.box(8.0, pan - 1.6, 34.0, pan, Ink.GLASS),
        parts.box(19.0, pan - 3.0, 22.0, pan - 1.6),
        parts.rounded(36.0, 5.0, 56.0, pan - 4.5, 1.5, Ink.GLASS),
    ]
    if isinstance(shown, int | float):
        said = message("bench.figure", value=Quantity(float(shown), "gf", 2))
        items.append(scene.words(46.0, 0.5 * (pan + 0.5), said, size=4.0, bold=True))
    return items


def draw_move(scene: BenchScene, moved: Sequence[MovePart]) -> Drawing:
    """Draw the arm from the side: the weight goes toward the head or away, or the dial turns."""
    part = moved[0]
    view = ArmFromSide(scene)
    items = view.resting(platter=False)
    if scene.deck.arm.balance is Balance.DYNAMIC:
        middle, radius = (view.pivot_x, view.tube + 1.0), 9.0
        items.append(parts.disc(middle, radius, Ink.BODY))
        more = part.amount >= 0.0
        start = dial_deg(0.35 if more else 0.65, 1.0)
        items += parts.turn(middle, radius + 4.0, start, 70.0 if more else -70.0)
        items.append(
            scene.place(view.pivot_x, view.tube + 18.5, "dial_up" if more else "dial_down")
        )
        items += scene.amount(40.0, 46.0, part)
        items.append(scene.place(view.head_x, view.tube + 12.0, "head"))
        return drawn(items, view.tall)
    toward = part.amount >= 0.0
    y = view.tube + 14.0
    far, near = (view.weight_x + 8.0, y), (view.weight_x - 10.0, y)
    items += parts.push(far, near) if toward else parts.push(near, far)
    items += scene.amount(50.0, y + 8.0, part)
    if part.unit == "turns":
        items += _from_behind(scene, toward=toward)
    items += [
        scene.place(view.head_x, view.tube + 12.0, "head"),
        scene.place(view.pivot_x, 2.6, "pivot"),
        scene.place(view.weight_x + 1.0, view.tube - 12.0, "weight"),
    ]
    return drawn(items, view.tall)


def _from_behind(scene: BenchScene, *, toward: bool) -> list[Mark]:
    """Draw the weight seen from behind, as it is turned.

    A right-hand thread goes away from whoever turns it clockwise: here toward the pivot (common
    practice, no source: nearly all counterweights have one, so the words name the thread).
    """
    middle = (46.0, 17.0)
    start = 110.0 if toward else -110.0
    return [
        parts.disc(middle, 5.0, Ink.BODY),
        parts.disc(middle, 1.2, Ink.GLASS),
        *parts.turn(middle, 8.0, start - 180.0, 140.0 if toward else -140.0, name="turn@"),
        scene.place(37.0, 4.2, "seen_from_behind"),
        scene.place(46.0, 28.5, "clockwise" if toward else "anticlockwise"),
    ]
