"""The drawings read by geometry: sound outlines, words in their places, and true to the deck.

What is checked is read from the marks alone, with constructions of this file: polygons by the
crossing of their sides, places on the deck by the scale that the drawn feet give.
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Sequence
from functools import cache

import pytest

from core.drawing import parts
from core.drawing.drawing import Drawing
from core.drawing.marks import XY, Area, Polyline, Words
from core.drawing.roles import Ink, MarkRole
from core.language import Numbers
from core.records import Deck
from core.steps.bench_drawing import BenchScene, draw_reading
from core.steps.explained import draw_word
from core.steps.shared.bench_views import ArmFromSide, DeckFromAbove, HeadFromFront
from tests.core.steps import drawn_marks
from tests.core.steps.drawn_marks import Terse, approved, area, cases, lines_of, same, shapes
from tests.examples import cartridge, deck
from tests.kit import named

LETTER = 0.48
"""A letter is about half as wide as its size (common for text faces, no source)."""


@cache
def drawn() -> dict[str, Drawing]:
    """Return every drawing by the name of its case, its words as short as its values."""
    return dict(cases())


@cache
def worded() -> dict[str, Drawing]:
    """Return each drawing once, with the words that a person reads."""
    once = {drawing.marks: (name, drawing) for name, drawing in cases(Numbers())}
    return dict(once.values())


def test_every_drawing_is_as_it_was_last_looked_at() -> None:
    """``python -m tests.core.steps.drawn_marks --write``, after a look at what has changed."""
    seen = approved()
    assert list(drawn()) == list(seen)
    changed = [
        name
        for name, drawing in drawn().items()
        for lines in [lines_of(drawing)]
        if len(lines) != len(seen[name])
        or not all(same(one, other) for one, other in zip(lines, seen[name], strict=True))
    ]
    assert not changed, f"{changed[0]} and {len(changed) - 1} more, see {drawn_marks.APPROVED.name}"


def test_the_comparison_of_drawings_sees_a_tenth_but_no_last_digit() -> None:
    assert same("Area 1.0,2.0 fill=body", "Area 1.1,2.0 fill=body")
    assert not same("Area 1.0,2.0 fill=body", "Area 1.2,2.0 fill=body")
    assert not same("Area 1.0,2.0 fill=body", "Area 1.0,2.0 fill=glass")
    assert not same("Area 1.0,2.0", "Area 1.0,2.0 1.0,3.0")


def crosses(a: XY, b: XY, c: XY, d: XY) -> bool:
    """Return whether two sides cross, not only touch."""

    def turn(p: XY, q: XY, r: XY) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return turn(a, b, c) * turn(a, b, d) < -1e-9 and turn(c, d, a) * turn(c, d, b) < -1e-9


def sides(points: Sequence[XY]) -> list[tuple[XY, XY]]:
    return list(zip(points, (*points[1:], points[0]), strict=True))


def test_no_outline_crosses_itself_and_none_is_empty() -> None:
    every = (mark for drawing in worded().values() for mark in shapes(drawing))
    outlines = {mark.points for mark in every if isinstance(mark, Area)}
    for points in outlines:
        around = sum(math.dist(p, q) for p, q in sides(points))
        assert abs(area(points)) > 0.1 * around  # no thinner than 0.2 mm
        if len(points) <= 8:
            for one, other in itertools.combinations(sides(points), 2):
                assert not crosses(*one, *other)
        else:  # a disc or rounded corners: convex, so it never turns the other way
            turns = [
                (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
                for a, b, c in zip(
                    points, (*points[1:], *points[:1]), (*points[2:], *points[:2]), strict=True
                )
            ]
            assert max(turns) < 1e-6 or min(turns) > -1e-6


def box_of(words: Words, letter: float = LETTER) -> tuple[float, float, float, float]:
    """Return about where words stand: left, bottom, right, top."""
    wide = letter * words.size_mm * len(words.text)
    left = words.x - {"left": 0.0, "middle": 0.5, "right": 1.0}[words.align] * wide
    assert words.at_height == "middle"
    return left, words.y - 0.35 * words.size_mm, left + wide, words.y + 0.35 * words.size_mm


def overlap(one: Sequence[float], other: Sequence[float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


@pytest.mark.parametrize("quarter", range(4))
def test_words_stay_on_the_sheet_and_off_each_other(quarter: int) -> None:
    for drawing in list(worded().values())[quarter::4]:
        read_words(drawing)


def read_words(drawing: Drawing) -> None:
    every = [mark for mark in shapes(drawing) if isinstance(mark, Words)]
    for words in every:
        left, bottom, right, top = box_of(words)
        assert left > 0.0
        assert right < drawing.width_mm
        assert bottom > 0.0
        assert top < drawing.height_mm
    for one, other in itertools.combinations(every, 2):
        assert not overlap(box_of(one), box_of(other)), (one.text, other.text)


def test_the_words_under_both_grids_keep_apart_where_the_head_stands_along_the_lines() -> None:
    """In a wide bold face, as many systems have, they ran into each other and off the sheet."""
    values = {"landing_mm": 12.3, "inner_deg": 0.0, "outer_deg": 0.0}
    scene = BenchScene(deck(), cartridge(), Numbers(","))
    drawing = draw_reading(scene, "alignment", "landing and angles", values)
    bold = [mark for mark in shapes(drawing) if isinstance(mark, Words) and mark.bold]
    assert len(bold) == 3
    boxes = [box_of(words, 0.57) for words in bold]
    assert all(box[0] > 0.0 and box[2] < drawing.width_mm for box in boxes)
    for one, other in itertools.combinations(boxes, 2):
        assert not overlap(one, other)


def inside(at: XY, points: Sequence[XY]) -> bool:
    """Return whether a place lies in a polygon: a ray crosses its sides an odd number of times."""
    x, y = at
    return bool(
        sum(
            (y0 > y) != (y1 > y) and x < x0 + (y - y0) * (x1 - x0) / (y1 - y0)
            for (x0, y0), (x1, y1) in sides(points)
        )
        % 2
    )


@pytest.mark.parametrize("quarter", range(4))
def test_nothing_is_drawn_over_the_head_of_an_arrow_or_over_words(quarter: int) -> None:
    for drawing in list(worded().values())[quarter::4]:
        read_what_covers(list(shapes(drawing)))


def read_what_covers(marks: list[Area | Polyline | Words]) -> None:
    for place, mark in enumerate(marks):
        if isinstance(mark, Area) and mark.name == parts.HAND:
            (x, y), (x1, y1), (x2, y2) = mark.points
            spots = [(x, y), ((x + x1 + x2) / 3.0, (y + y1 + y2) / 3.0)]
        elif isinstance(mark, Words):
            left, bottom, right, top = box_of(mark, 0.45)
            spots = list(itertools.product((left, right), (bottom, top)))
        else:
            continue
        for later in marks[place + 1 :]:
            if isinstance(later, Area):
                assert not any(inside(spot, later.points) for spot in spots), (mark, later)


DECKS = {
    "example": deck(),
    "long arm": deck(
        arm={"pivot_to_spindle_mm": 295.0, "effective_length_mm": 310.0, "offset_deg": 18.0}
    ),
    "small deck": deck(
        plinth={
            "feet": [
                {"name": "front left", "x_mm": -150.0, "y_mm": -110.0},
                {"name": "front right", "x_mm": 150.0, "y_mm": -110.0},
                {"name": "rear", "x_mm": 0.0, "y_mm": 120.0},
            ]
        }
    ),
}


def discs(drawing: Drawing, fill: object) -> list[tuple[XY, float]]:
    """Return the middles and radii of the discs of one colour, in their order."""
    found = []
    for mark in drawing.marks:
        if isinstance(mark, Area) and mark.fill == fill and len(mark.points) >= 24:
            xs, ys = [x for x, _ in mark.points], [y for _, y in mark.points]
            middle = (sum(xs) / len(xs), sum(ys) / len(ys))
            reach = [math.dist(middle, point) for point in mark.points]
            if max(reach) - min(reach) < 0.01:
                found.append((middle, reach[0]))
    return found


@pytest.mark.parametrize("on", DECKS.values(), ids=DECKS)
def test_the_deck_from_above_is_true_to_its_millimetres(on: Deck) -> None:
    """The feet give the scale; all else is measured with it, as with a ruler on the sheet."""
    scene = BenchScene(on, cartridge(), Terse())
    drawing = draw_reading(scene, "level", "bubble", {})
    feet = [middle for middle, radius in discs(drawing, Ink.FAINT) if radius > 3.0]
    stated = [(foot.x_mm, foot.y_mm) for foot in on.plinth.feet]
    unit = math.dist(feet[0], feet[1]) / math.dist(stated[0], stated[1])
    for (one, at), (other, to) in itertools.combinations(zip(stated, feet, strict=True), 2):
        assert to[0] - at[0] == pytest.approx(unit * (other[0] - one[0]))  # right is right
        assert to[1] - at[1] == pytest.approx(unit * (other[1] - one[1]))  # the back is up

    ((spindle, _),) = [found for found in discs(drawing, Ink.WORD) if found[1] < 1.5]
    (platter,) = [found for found in discs(drawing, Ink.GLASS) if found[1] > 10.0]
    assert platter[0] == pytest.approx(spindle)
    assert 2.0 * platter[1] / unit == pytest.approx(304.0)  # a record of 300 mm, and a little
    (label,) = [
        mark.points for mark in drawing.marks if isinstance(mark, Polyline) and len(mark.points) > 9
    ]
    assert math.dist(label[0], spindle) / unit == pytest.approx(56.0)  # inside the last groove

    (pivot,) = [middle for middle, radius in discs(drawing, Ink.BODY) if radius < 5.0]
    arm = on.arm
    assert arm.pivot_to_spindle_mm is not None
    assert math.dist(spindle, pivot) / unit == pytest.approx(arm.pivot_to_spindle_mm)
    assert pivot[0] > spindle[0]
    assert pivot[1] > spindle[1]  # at the back, to the right

    # The stylus stands one effective length from the pivot, beyond the edge of the record while
    # the arm is in its rest: the head's front corners lie about it.
    (head,) = [
        mark.points
        for mark in drawing.marks
        if isinstance(mark, Area) and mark.fill == MarkRole.OUTLINE and len(mark.points) == 4
    ]
    far = max(math.dist(at, pivot) for at in head) / unit
    assert arm.effective_length_mm < far < arm.effective_length_mm + 4.0 / unit
    front = sorted(head, key=lambda at: -math.dist(at, pivot))[:2]
    stylus = (0.5 * (front[0][0] + front[1][0]), 0.5 * (front[0][1] + front[1][1]))
    assert math.dist(stylus, spindle) / unit > 150.0
    assert stylus[0] > spindle[0]
    plinth = next(mark.points for mark in drawing.marks if isinstance(mark, Area))
    xs, ys = [x for x, _ in plinth], [y for _, y in plinth]
    assert min(xs) + max(xs) == pytest.approx(drawing.width_mm)
    for x, y in [*feet, pivot, *head]:
        assert min(xs) < x < max(xs)
        assert min(ys) < y < max(ys)


@pytest.mark.parametrize("on", DECKS.values(), ids=DECKS)
def test_nulls_and_places_lie_where_two_circles_meet(on: Deck) -> None:
    """A stylus at a radius: that far from the spindle, one effective length from the pivot."""
    view = DeckFromAbove.of(BenchScene(on, cartridge(), Terse()))
    for radius in (60.0, 66.0, 120.9, 146.0):
        at = view.stylus_at(radius)
        assert math.dist(at, view.spindle) == pytest.approx(radius)
        assert math.dist(at, view.pivot) == pytest.approx(on.arm.effective_length_mm)
        across = (view.pivot[0] - view.spindle[0], view.pivot[1] - view.spindle[1])
        off = (at[0] - view.spindle[0], at[1] - view.spindle[1])
        assert across[0] * off[1] - across[1] * off[0] < 0.0  # on the side of the person


def test_the_nulls_of_the_example_are_drawn_on_the_path() -> None:
    drawing = draw_word("null_points", Terse())
    (path,) = [
        mark.points for mark in shapes(drawing) if isinstance(mark, Polyline) and mark.pen.dash_mm
    ]
    ((spindle, _),) = [found for found in discs(drawing, Ink.WORD) if found[1] < 1.5]
    (record,) = [found for found in discs(drawing, Ink.GLASS) if found[1] > 10.0]
    unit = record[1] / 152.0
    assert math.dist(path[0], spindle) / unit == pytest.approx(60.0)
    assert math.dist(path[-1], spindle) / unit == pytest.approx(144.0)
    nulls = [middle for middle, _ in discs(drawing, MarkRole.NOW)]
    for null, radius in zip(nulls, (66.0, 120.9), strict=True):
        assert math.dist(null, spindle) / unit == pytest.approx(radius)
        assert min(math.dist(null, at) for at in path) < 0.5 * unit * 4.5


@pytest.mark.parametrize(("wide", "tall"), [(16.0, 14.0), (20.0, 11.0), (14.0, 20.0)])
def test_the_head_from_the_front_has_the_cartridge_s_shape(wide: float, tall: float) -> None:
    """Upright it is its own mirror image; leaning by a, each corner is turned by a on the tip."""
    body = cartridge(body_width_mm=wide, body_height_mm=tall)
    scene = BenchScene(deck(), body, Terse())
    view = HeadFromFront(scene)
    upright = [mark.points for mark in view.marks() if isinstance(mark, Area)]
    for points in upright:
        mirrored = sorted((round(100.0 - x, 6), round(y, 6)) for x, y in points)
        assert mirrored == sorted((round(x, 6), round(y, 6)) for x, y in points)
    stylus, drawn_body, head = upright
    tip = min(stylus, key=lambda at: at[1])
    assert tip == pytest.approx((50.0, view.record))
    width = max(x for x, _ in drawn_body) - min(x for x, _ in drawn_body)
    height = max(y for _, y in drawn_body) - tip[1]  # down to the tip
    assert width / height == pytest.approx(wide / tall)
    assert width <= 34.0 + 1e-9
    assert height <= 22.0 + 1e-9
    assert max(width / 34.0, height / 22.0) == pytest.approx(1.0)  # as large as there is room
    assert min(y for _, y in head) == pytest.approx(max(y for _, y in drawn_body))
    assert view.half == pytest.approx(0.5 * width)
    assert view.top == pytest.approx(max(y for _, y in drawn_body))

    for lean in (8.0, -5.0):
        turned = [mark.points for mark in view.marks(lean) if isinstance(mark, Area)]
        for before, after in zip(upright, turned, strict=True):
            for (x0, y0), (x1, y1) in zip(before, after, strict=True):
                ahead, at = complex(x0 - tip[0], y0 - tip[1]), complex(x1 - tip[0], y1 - tip[1])
                if abs(ahead) > 1.0:
                    # The left side high is clockwise from the front: against the usual sense.
                    assert math.degrees(cmath.phase(at / ahead)) == pytest.approx(-lean)
                assert abs(at) == pytest.approx(abs(ahead))

    shown, image = (
        [m.points for m in view.marks(6.0, image=True) if isinstance(m, kind) and len(m.points) > 2]
        for kind in (Area, Polyline)
    )
    for here, there in zip(shown, image, strict=True):  # a mirror turns it about the record
        for (x0, y0), (x1, y1) in zip(here, there, strict=False):
            assert x1 == pytest.approx(x0)
            assert y1 - view.record == pytest.approx(view.record - y0)


@pytest.mark.parametrize("rise", [0.0, 4.0, -5.0])
@pytest.mark.parametrize("lifted", [0.0, 6.0, 10.0])
def test_the_arm_from_the_side_hangs_together(rise: float, lifted: float) -> None:
    """The tube is one straight line through pivot and weight; the head hangs on its front."""
    scene = BenchScene(deck(), cartridge(), Terse())
    view = ArmFromSide(scene)
    marks = view.marks(rise=rise, stylus=lifted)
    platter, record, pillar, pivot, weight, head = [m for m in marks if isinstance(m, Area)]
    tube, cantilever = [m.points for m in marks if isinstance(m, Polyline)]
    (x0, y0), (x1, y1) = tube

    def height(x: float) -> float:
        return y0 + (y1 - y0) * (x - x0) / (x1 - x0)

    def middle(mark: Area) -> XY:
        xs, ys = [x for x, _ in mark.points], [y for _, y in mark.points]
        return 0.5 * (min(xs) + max(xs)), 0.5 * (min(ys) + max(ys))

    for part in (pivot, weight):
        x, y = middle(part)
        assert y == pytest.approx(height(x))
    assert height(view.pivot_x) - height(view.head_x) == pytest.approx(rise - lifted)
    assert x0 < view.head_x < view.pivot_x < middle(weight)[0] < x1
    assert middle(pillar)[0] == pytest.approx(middle(pivot)[0])
    top = max(y for _, y in pillar.points)
    assert middle(pivot)[1] - 3.2 < top < middle(pivot)[1]  # it carries the pivot from below
    above = [y for _, y in head.points]
    assert max(above) < height(view.head_x)
    assert max(above) > height(view.head_x) - 2.2  # within the tube's own thickness
    root, tip = cantilever
    assert inside((root[0], root[1] + 0.1), head.points)
    assert tip[1] == pytest.approx(max(y for _, y in record.points) + lifted)
    assert tip[0] < root[0]  # it trails: the tip is in front, the record runs to the right
    xs = [x for x, _ in record.points]
    assert min(xs) < tip[0] < max(xs)
    assert max(y for _, y in platter.points) == pytest.approx(min(y for _, y in record.points))
    assert middle(record)[0] == pytest.approx(middle(platter)[0])
    assert max(x for x, _ in platter.points) < min(x for x, _ in pillar.points)


def test_rulers_on_the_tube_reach_from_the_record_to_its_drawn_height() -> None:
    scene = BenchScene(deck(), cartridge(), Terse())
    drawing = draw_reading(scene, "arm_height", "two heights", {"front_mm": 7.0, "rear_mm": 9.0})
    (tube,) = [m.points for m in shapes(drawing) if isinstance(m, Polyline) and m.pen.width_mm > 2]
    readings = [
        m for m in shapes(drawing) if isinstance(m, Polyline) and m.pen.colour == MarkRole.NOW
    ]
    rulers = [m for m in shapes(drawing) if isinstance(m, Area) and m.fill == Ink.GLASS]
    record, *rulers = rulers
    (x0, y0), (x1, y1) = tube
    assert (y1 - y0) / (x1 - x0) == pytest.approx(2.0 / 52.0)  # the rear 2 mm higher at the pivot
    for line, ruler, shown in zip(readings, rulers, ("7.0\u00a0mm", "9.0\u00a0mm"), strict=True):
        (left, y), (right, same_y) = line.points
        x = 0.5 * (left + right)
        assert same_y == y == pytest.approx(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
        assert min(at for _, at in ruler.points) == max(at for _, at in record.points)
        assert sum(at for at, _ in ruler.points) / 4.0 == pytest.approx(x)
        assert max(at for _, at in ruler.points) > y
        (words,) = [m for m in shapes(drawing) if isinstance(m, Words) and m.text == shown]
        assert words.x == pytest.approx(x)
        assert words.y > max(at for _, at in ruler.points)
    twice = draw_reading(scene, "arm_height", "two heights", {"front_mm": 7.0, "rear_mm": 11.0})
    (tube,) = [m.points for m in shapes(twice) if isinstance(m, Polyline) and m.pen.width_mm > 2]
    (x0, y0), (x1, y1) = tube
    assert (y1 - y0) / (x1 - x0) == pytest.approx(4.0 / 52.0)
    end = draw_reading(scene, "arm_height", "two heights", {"front_mm": 7.0, "rear_mm": 47.0})
    (tube,) = [m.points for m in shapes(end) if isinstance(m, Polyline) and m.pen.width_mm > 2]
    (x0, y0), (x1, y1) = tube
    assert (y1 - y0) / (x1 - x0) == pytest.approx(6.0 / 52.0)  # no farther than the sheet shows


@pytest.mark.parametrize("bearing", [0.0, 30.0, 90.0, 200.0])
def test_a_level_lies_along_its_bearing_with_its_bubble_where_it_was_read(bearing: float) -> None:
    """Bearings run clockwise from the back; four divisions or more are a quarter of its length."""
    scene = BenchScene(deck(), cartridge(), Terse())
    for turned, sign in ((False, 1.0), (True, -1.0)):
        for divisions, drawn_mm in ((2.0, 3.0), (-1.0, -1.5), (9.0, 6.0)):
            values = {"direction": "other", "bearing_deg": bearing}
            values |= {"turned": turned, "divisions": divisions}
            drawing = draw_reading(scene, "level", "bubble", values)
            ((spindle, _),) = [found for found in discs(drawing, Ink.WORD) if found[1] < 1.5]
            ((bubble, _),) = discs(drawing, MarkRole.NOW)
            ((mark, _),) = discs(drawing, Ink.MARK)
            along = (math.sin(math.radians(bearing)), math.cos(math.radians(bearing)))
            for at, far in ((bubble, sign * drawn_mm), (mark, sign * 21.0)):
                assert at[0] - spindle[0] == pytest.approx(far * along[0], abs=1e-6)
                assert at[1] - spindle[1] == pytest.approx(far * along[1], abs=1e-6)
            bars = [m.points for m in shapes(drawing) if isinstance(m, Area) and len(m.points) == 4]
            long = [p for p in bars if max(math.dist(a, b) for a, b in sides(p)) > 15.0]
            for points, length in zip(long, (48.0, 18.0), strict=True):
                middle = (sum(x for x, _ in points) / 4.0, sum(y for _, y in points) / 4.0)
                assert middle == pytest.approx(spindle)
                lengths = sorted(math.dist(a, b) for a, b in sides(points))
                assert lengths[2:] == pytest.approx([length, length])
                assert lengths[0] == pytest.approx(lengths[1])


def test_a_head_on_the_protractor_is_drawn_three_times_as_far_off() -> None:
    scene = BenchScene(deck(), cartridge(), Terse())
    for landing in (0.0, 1.0, 2.0, -1.0, 9.0):
        drawing = draw_reading(scene, "alignment", "landing", {"landing_mm": landing})
        ((tip, _),) = discs(drawing, MarkRole.NOW)
        (mark,) = [
            m.points
            for m in shapes(drawing)
            if isinstance(m, Polyline) and m.pen.colour == Ink.MARK
        ]
        assert tip[0] == pytest.approx(0.5 * (mark[0][0] + mark[1][0]))
        assert mark[0][1] - tip[1] == pytest.approx(min(3.0 * landing, 13.0))
        (middle,) = [m.points for m in shapes(drawing) if isinstance(m, Polyline) and m.name]
        assert middle[0][0] == middle[1][0] == pytest.approx(tip[0])  # its axis over the line
        assert middle[0][1] < tip[1] < middle[1][1]
    for out in (0.0, 2.0, -1.0, 9.0):
        drawing = draw_reading(scene, "alignment", "angles", {"outer_deg": out, "inner_deg": 0.0})
        inner, outer = [m.points for m in shapes(drawing) if isinstance(m, Polyline) and m.name]
        for axis, degrees in ((inner, 0.0), (outer, max(-20.0, min(20.0, 3.0 * out)))):
            (x0, y0), (x1, y1) = axis
            # The front, at the bottom, goes to the right when turned out, away from the spindle.
            assert math.degrees(math.atan2(x0 - x1, y1 - y0)) == pytest.approx(degrees, abs=1e-6)


@pytest.mark.parametrize("highest", [0.8, 1.5, 3.0, 6.0, 10.0])
def test_a_dial_runs_evenly_round_three_quarters(highest: float) -> None:
    on = deck(skating={"control": "dial", "highest_gf": highest})
    scene = BenchScene(on, cartridge(), Terse())
    drawing = draw_reading(scene, "skating", "setting", {"setting": highest / 3.0})
    ((middle, radius),) = [found for found in discs(drawing, Ink.BODY) if found[1] > 10.0]
    words = [mark for mark in shapes(drawing) if isinstance(mark, Words)]
    assert 2 <= len(words) <= 9
    for mark in words:
        turn = 270.0 * float(mark.text.split()[0]) / highest - 135.0  # clockwise from upright
        assert mark.x - middle[0] == pytest.approx(
            math.dist((mark.x, mark.y), middle) * math.sin(math.radians(turn)), abs=1e-6
        )
        assert mark.y - middle[1] == pytest.approx(
            math.dist((mark.x, mark.y), middle) * math.cos(math.radians(turn)), abs=1e-6
        )
        assert math.dist((mark.x, mark.y), middle) > radius + 2.5
    assert float(words[0].text.split()[0]) == 0.0
    (hand,) = named(drawing, "dial@")
    assert isinstance(hand, Polyline)
    tip = hand.points[1]
    assert math.degrees(math.atan2(tip[0] - middle[0], tip[1] - middle[1])) == pytest.approx(-45.0)


def test_two_feet_are_turned_each_with_its_own_arrow_and_amount() -> None:
    drawing = drawn()["special: two feet"]
    rings = [middle for middle, radius in discs(drawing, MarkRole.PREDICTED) if radius > 4.0]
    arrows = [m.points for m in named(drawing, parts.HAND) if isinstance(m, Area)]
    amounts = [m for m in shapes(drawing) if isinstance(m, Words) and m.bold]
    assert len(rings) == len(arrows) == len(amounts) == 2
    for arrow, amount, up in zip(arrows, amounts, (True, False), strict=True):
        tip, *feathers = arrow
        assert (tip[1] > feathers[0][1]) is up
        ring = min(rings, key=lambda at: math.dist(at, tip))
        assert abs(tip[0] - ring[0]) == pytest.approx(11.0)
        assert abs(tip[0] - 50.0) < abs(ring[0] - 50.0) or ring[0] == pytest.approx(50.0)
        assert min(ring[0], tip[0]) < amount.x < max(ring[0], tip[0])
        assert abs(amount.y - ring[1]) == pytest.approx(11.0)
        assert abs(amount.y - 40.0) < abs(ring[1] - 40.0)  # toward the middle of the sheet


def test_the_bars_of_a_strobe_are_sixty_and_evenly_set() -> None:
    drawing = draw_reading(BenchScene(deck(), cartridge(), Terse()), "speed", "strobe", {})
    ((middle, radius),) = [found for found in discs(drawing, Ink.GLASS) if found[1] > 20.0]
    bars = [m.points for m in shapes(drawing) if isinstance(m, Polyline) and m.pen.width_mm == 0.9]
    turns = sorted(
        math.degrees(math.atan2(x - middle[0], y - middle[1])) % 360.0 for (x, y), _ in bars
    )
    assert turns == pytest.approx([6.0 * k for k in range(60)], abs=1e-6)
    for near, far in bars:
        assert 0.7 * radius < math.dist(near, middle) < math.dist(far, middle) < radius


def test_notches_stand_at_their_levers_and_the_weight_hangs_on_its_own() -> None:
    on = drawn_marks.decks()["other controls"]
    scene = BenchScene(on, cartridge(), Terse())
    drawing = draw_reading(scene, "skating", "setting", {"setting": 2.0})
    ((pivot, _),) = discs(drawing, Ink.BODY)
    places = {m.text: m.x - pivot[0] for m in shapes(drawing) if isinstance(m, Words)}
    assert places["2"] / places["1"] == pytest.approx(8.0 / 6.0)  # levers of 6, 8 and 12 mm
    assert places["3"] / places["1"] == pytest.approx(12.0 / 6.0)
    ((hangs, _),) = discs(drawing, MarkRole.NOW)
    assert hangs[0] - pivot[0] == pytest.approx(places["2"])
    assert hangs[1] < pivot[1]
    (thread,) = [
        m.points
        for m in shapes(drawing)
        if isinstance(m, Polyline) and m.pen.colour == MarkRole.NOW
    ]
    assert [x for x, _ in thread] == pytest.approx([hangs[0], hangs[0]])
    assert thread[0][1] > thread[1][1] > hangs[1]
    assert [m.bold for m in shapes(drawing) if isinstance(m, Words)][-3:] == [False, True, False]
