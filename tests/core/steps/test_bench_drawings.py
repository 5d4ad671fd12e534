"""A drawing for every way of reading and every control; its arrow goes the way the log says."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing import parts
from core.drawing.chart import MarkRole
from core.drawing.drawing import Drawing
from core.drawing.marks import Area, Polyline, Words, extent
from core.drawing.roles import Ink
from core.fitting import Control, MovePart, Trial
from core.language import Numbers, step_text
from core.records import Balance, Cartridge, Deck, SkatingControl, SpeedTrim
from core.steps import STEPS, ways_of
from core.steps.bench_drawing import BenchScene, draw_move, draw_reading, scene_after
from core.steps.level import BubbleAtEnd
from core.steps.shared.bench_views import ArmFromSide
from core.workflow.unplanned_moves import movables
from tests.examples import cartridge, deck
from tests.kit import named
from tests.strategies import cartridges, decks

LEAST_MM = 3.4
"""Letters lower than this on a sheet of 100 mm can't be read at arm's length."""


def holds(drawing: Drawing) -> None:
    """Check that a drawing says something, stays on its sheet, and can be read."""
    assert drawing.title.endswith(".")
    assert drawing.marks
    box = extent(drawing.marks)
    assert box.left > -1.0
    assert box.bottom > -1.0
    assert box.right < drawing.width_mm + 1.0
    assert box.top < drawing.height_mm + 1.0
    for mark in drawing.marks:
        if isinstance(mark, Words):
            assert mark.size_mm >= LEAST_MM
            assert 0.0 <= mark.x <= drawing.width_mm
            assert 0.0 <= mark.y <= drawing.height_mm
            assert mark.text.strip()


def words_in(drawing: Drawing) -> set[str]:
    """Return all words of a drawing."""
    return {mark.text for mark in drawing.marks if isinstance(mark, Words)}


@settings(max_examples=40)
@given(decks(), cartridges(), st.data())
def test_every_way_of_reading_has_a_drawing_on_any_deck(
    drawn_deck: Deck, drawn_cartridge: Cartridge, data: st.DataObject
) -> None:
    scene = BenchScene(drawn_deck, drawn_cartridge, Numbers())
    step = data.draw(st.sampled_from(STEPS))
    for way, kind in ways_of(step).items():
        holds(draw_reading(scene, step.NAME, way, {}))
        typed = {
            name: data.draw(st.floats(-50.0, 50.0))
            for name, field in kind.model_fields.items()
            if field.annotation is float
        }
        holds(draw_reading(scene, step.NAME, way, typed))


@settings(max_examples=40)
@given(decks(), cartridges(), st.floats(-1.0, 1.0).filter(lambda share: abs(share) > 0.01))
def test_every_control_of_any_deck_has_a_drawing_with_its_arrow(
    drawn_deck: Deck, drawn_cartridge: Cartridge, share: float
) -> None:
    scene = BenchScene(drawn_deck, drawn_cartridge, Numbers())
    for step in STEPS:
        for movable in movables(drawn_deck, drawn_cartridge, step.NAME):
            drawing = draw_move(scene, [movable.part(share * movable.farthest)])
            holds(drawing)
            assert named(drawing, parts.HAND)


def heads(drawing: Drawing) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Return where each arrow for the hand ends, and its direction there."""
    found = []
    for mark in named(drawing, parts.HAND):
        assert isinstance(mark, Area)
        (x, y), one, other = mark.points
        dx, dy = x - 0.5 * (one[0] + other[0]), y - 0.5 * (one[1] + other[1])
        long = math.hypot(dx, dy)
        found.append(((x, y), (dx / long, dy / long)))
    return found


def word(drawing: Drawing, text: str) -> tuple[float, float]:
    """Return where a word stands."""
    (found,) = [mark for mark in drawing.marks if isinstance(mark, Words) and mark.text == text]
    return found.x, found.y


def moved(control: Control, amount: float, unit: str, *, on: Deck | None = None) -> Drawing:
    """Return the drawing of one move."""
    where = "front left" if control is Control.FOOT else ""
    scene = BenchScene(on or deck(), cartridge(), Numbers())
    part = MovePart(control=control, amount=amount, unit=unit, where=where)
    return draw_move(scene, [part])


@pytest.mark.parametrize(
    ("control", "unit"),
    [
        (Control.FOOT, "turns"),
        (Control.PILLAR, "mm"),
        (Control.BASE_SHIM, "mm"),
        (Control.HEAD_SHIM, "mm"),
        (Control.RECORD, "mm"),
    ],
)
def test_longer_higher_and_thicker_point_up(control: Control, unit: str) -> None:
    ((_, up),) = heads(moved(control, 0.5, unit))
    ((_, down),) = heads(moved(control, -0.5, unit))
    assert up == pytest.approx((0.0, 1.0))
    assert down == pytest.approx((0.0, -1.0))


def test_a_foot_has_its_arrow_beside_itself() -> None:
    (front_left,) = [f for f in deck().plinth.feet if f.name == "front left"]
    assert front_left.x_mm < 0.0
    assert front_left.y_mm < 0.0
    drawing = moved(Control.FOOT, 0.5, "turns")
    (((x, y), _),) = heads(drawing)
    assert x < 0.5 * drawing.width_mm
    assert y < 0.5 * drawing.height_mm
    assert word(drawing, "front: you stand here")[1] < y < word(drawing, "rear")[1]
    ring = min(
        (centre(m) for m in drawing.marks if isinstance(m, Area) and m.fill == MarkRole.PREDICTED),
        key=lambda at: at[0],
    )
    amount = word(drawing, "½\u00a0turn")
    assert ring[0] + 3.0 < amount[0] < x - 3.0  # between foot and arrow, clear of both


def test_the_weight_goes_toward_the_pivot_or_away_from_it() -> None:
    for amount in (0.375, -0.375):
        drawing = moved(Control.COUNTERWEIGHT, amount, "turns")
        (((x, _), (dx, dy)),) = heads(drawing)
        to_pivot = word(drawing, "pivot")[0] - word(drawing, "weight")[0]
        assert dy == pytest.approx(0.0)
        assert math.copysign(1.0, dx * to_pivot) == math.copysign(1.0, amount)
        assert word(drawing, "head")[0] < word(drawing, "pivot")[0] < x


def test_the_weight_turns_as_a_right_hand_thread_moves_it() -> None:
    """A right-hand thread turned clockwise goes away from the observer (ISO 5408, from memory).

    Whoever stands behind the arm turns it away from themselves, which is toward the pivot.
    """
    for amount, said in ((0.375, "clockwise"), (-0.375, "anticlockwise")):
        drawing = moved(Control.COUNTERWEIGHT, amount, "turns")
        (head,) = named(drawing, "turn@")
        assert isinstance(head, Area)
        x, y = word(drawing, said)
        assert word(drawing, "from behind, usual thread")
        (tip, one, other) = head.points
        dx = tip[0] - 0.5 * (one[0] + other[0])
        dy = tip[1] - 0.5 * (one[1] + other[1])
        middle = (x, 17.0)
        clockwise = (tip[1] - middle[1]) * dx - (tip[0] - middle[0]) * dy
        assert y > middle[1]
        assert math.copysign(1.0, clockwise) == math.copysign(1.0, amount)
    slid = moved(Control.COUNTERWEIGHT, 2.0, "mm")
    assert not named(slid, "turn@")


@pytest.mark.parametrize(
    ("control", "unit"),
    [
        (Control.PILLAR, "mm"),
        (Control.BASE_SHIM, "mm"),
        (Control.HEAD_SHIM, "mm"),
        (Control.RECORD, "mm"),
        (Control.TILT, "°"),
        (Control.TILT_SHIM, "mm"),
        (Control.COUNTERWEIGHT, "turns"),
        (Control.CARTRIDGE, ""),
    ],
)
def test_no_hand_moves_anything_over_a_bare_stylus(control: Control, unit: str) -> None:
    drawing = moved(control, 0.5, unit)
    (guard,) = named(drawing, "guard@")
    assert isinstance(guard, Area)
    record = max(
        (
            mark.points[0][1]
            for mark in drawing.marks
            if isinstance(mark, Polyline) and mark.points[-1][0] - mark.points[0][0] > 80.0
        ),
        default=16.0,
    )
    assert min(y for _, y in guard.points) > record + 2.0


def test_an_arm_in_its_rest_lies_on_it() -> None:
    drawing = moved(Control.PILLAR, 0.5, "mm")
    (rest,) = named(drawing, "rest@")
    assert isinstance(rest, Area)
    x = 0.5 * (rest.points[0][0] + rest.points[1][0])
    (tube,) = [
        mark
        for mark in drawing.marks
        if isinstance(mark, Polyline) and len(mark.points) == 2 and mark.pen.width_mm == 2.2
    ]
    (x0, y0), (x1, y1) = tube.points
    height = y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    assert max(y for _, y in rest.points) == pytest.approx(height, abs=1.5)


def test_a_move_of_the_dial_starts_at_the_mark_that_was_read() -> None:
    part = MovePart(control=Control.SKATING, amount=0.5, unit="gf")
    scene = BenchScene(deck(), cartridge(), Numbers(), {"setting": 2.0})
    drawing = draw_move(scene, [part])
    stood, aimed = named(drawing, "dial@")[0], named(drawing, "aimed@")[0]
    assert isinstance(stood, Polyline)
    assert isinstance(aimed, Polyline)
    for line, mark in ((stood, "2"), (aimed, "2.5")):
        x, y = word(drawing, mark)
        pointed = math.atan2(line.points[-1][1] - 34.0, line.points[-1][0] - 50.0)
        assert pointed == pytest.approx(math.atan2(y - 34.0, x - 50.0))
    assert not named(moved(Control.SKATING, 0.5, "gf"), "aimed@")


def test_each_lead_has_its_colour_and_reaches_its_pin_once_it_is_on() -> None:
    """White left, blue left return, red right, green right return: the trade's usual colours.

    Common practice, no source here.
    """
    scene = BenchScene(deck(), cartridge(), Numbers())
    off = draw_reading(scene, "mount", "checklist", {})
    on = draw_reading(scene, "mount", "checklist", {"blue_lead": True})
    colours = [Ink.WHITE_LEAD, Ink.BLUE_LEAD, Ink.RED_LEAD, Ink.GREEN_LEAD]
    said = ["white: L+", "blue: L−", "red: R+", "green: R−"]
    for drawing, reaching in ((off, ()), (on, (Ink.BLUE_LEAD,))):
        leads = named(drawing, "lead@")
        assert [lead.fill for lead in leads if isinstance(lead, Area)] == colours
        for lead, colour, words in zip(leads, colours, said, strict=True):
            assert isinstance(lead, Area)
            pin = word(drawing, words)[0]
            reach = min(abs(x - pin) for x, _ in lead.points)
            assert (reach < 1.0) is (colour in reaching)
            outward = math.copysign(1.0, pin - 0.5 * drawing.width_mm)
            assert all(outward * (x - pin) > -1.0 for x, _ in lead.points)


@pytest.mark.parametrize(
    ("way", "field", "above", "below"),
    [
        ("landing", "landing_mm", "beyond", "short"),
        ("angles", "inner_deg", "out", "in"),
        ("angles", "outer_deg", "out", "in"),
    ],
)
def test_what_the_protractor_shows_is_drawn_with_its_side_in_words(
    way: str, field: str, above: str, below: str
) -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())
    for value, side in ((1.5, above), (-1.5, below)):
        drawing = draw_reading(scene, "alignment", way, {field: value})
        (said,) = [m.text for m in drawing.marks if isinstance(m, Words) and "1.5" in m.text]
        assert re.search(rf"\b{side}\b", said), said


def test_the_mounting_screws_have_their_screwdriver() -> None:
    assert named(moved(Control.SCREWS, 0.0, ""), "screwdriver@")


def test_the_slots_of_the_head_lie_alike_on_both_sides_of_its_middle() -> None:
    drawing = moved(Control.SLIDE, 0.5, "mm")
    glass = [m for m in drawing.marks if isinstance(m, Area) and m.fill == Ink.GLASS]
    slots = [m for m in glass if max(x for x, _ in m.points) < 75.0]
    middles = sorted(sum(x for x, _ in slot.points) / len(slot.points) for slot in slots)
    assert middles[0] < 47.0
    for one, other in zip(middles, reversed(middles), strict=True):
        assert one + other == pytest.approx(100.0)
    head = next(m for m in drawing.marks if isinstance(m, Area) and m.fill == Ink.BODY)
    corners = {(round(x - 50.0, 3), round(y, 3)) for x, y in head.points}
    assert {(-x, y) for x, y in corners} == corners


def test_a_dial_turns_up_for_more() -> None:
    on = deck(arm={"balance": Balance.DYNAMIC})
    assert word(moved(Control.COUNTERWEIGHT, 0.2, "gf", on=on), "dial up")
    assert word(moved(Control.COUNTERWEIGHT, -0.2, "gf", on=on), "dial down")
    ((_, more),) = heads(moved(Control.COUNTERWEIGHT, 0.2, "gf", on=on))
    ((_, less),) = heads(moved(Control.COUNTERWEIGHT, -0.2, "gf", on=on))
    assert more[0] > 0.0 > less[0]


def test_the_cartridge_slides_away_from_the_pivot_or_toward_it() -> None:
    for amount in (1.2, -1.2):
        drawing = moved(Control.SLIDE, amount, "mm")
        (((x, y), (_, dy)),) = heads(drawing)
        to_pivot = word(drawing, "to the pivot")[1] - y
        assert x > 50.0
        assert math.copysign(1.0, dy * to_pivot) == -math.copysign(1.0, amount)


def test_turned_in_the_front_of_the_head_goes_to_the_spindle() -> None:
    for amount in (0.8, -0.8):
        drawing = moved(Control.TWIST, amount, "°")
        (((x, y), (dx, _)),) = heads(drawing)
        spindle = word(drawing, "spindle")
        assert y < word(drawing, "to the pivot")[1], "the arrow is at the front of the head"
        assert math.copysign(1.0, dx * (spindle[0] - x)) == math.copysign(1.0, amount)


@pytest.mark.parametrize(("control", "unit"), [(Control.TILT, "°"), (Control.TILT_SHIM, "mm")])
def test_the_left_side_rises_for_plus_and_the_right_for_minus(control: Control, unit: str) -> None:
    for amount in (2.0, -2.0):
        drawing = moved(control, amount, unit)
        left, right = sorted(heads(drawing))
        assert left[0][0] < 50.0 < right[0][0]
        assert math.copysign(1.0, left[1][1]) == math.copysign(1.0, amount)
        assert right[1][1] == pytest.approx(-left[1][1])
        side = "left" if amount > 0.0 else "right"
        beside = word(drawing, "rises")[0] - word(drawing, "falls")[0]
        assert (beside < 0.0) is (side == "left")
        assert word(drawing, "left")[0] < word(drawing, "right")[0]


@pytest.mark.parametrize("control", [Control.TILT, Control.TILT_SHIM])
def test_the_head_turns_by_round_arrows_the_way_its_sides_go(control: Control) -> None:
    """About the middle of the head, as one looks: clockwise lifts the left side, which is plus."""
    for amount in (2.0, -2.0):
        drawing = moved(control, amount, "°" if control is Control.TILT else "mm")
        middle_y = word(drawing, "rises")[1]
        shafts = [
            mark.points
            for mark in drawing.marks
            if isinstance(mark, Polyline) and mark.pen.width_mm == 1.6
        ]
        assert len(shafts) == len(heads(drawing)) == 2
        for shaft in shafts:
            reach = [math.hypot(x - 50.0, y - middle_y) for x, y in shaft]
            assert len(shaft) > 8
            assert max(reach) - min(reach) < 0.01, "an arc, not a straight line"
            (x0, y0), (x1, y1) = shaft[0], shaft[-1]
            turned = (y0 - middle_y) * (x1 - 50.0) - (x0 - 50.0) * (y1 - middle_y)
            assert math.copysign(1.0, turned) == math.copysign(1.0, amount), "clockwise for plus"


@pytest.mark.parametrize("step", ["rough_downforce", "final_downforce"])
def test_the_guard_is_drawn_on_where_the_lines_never_take_it_off(step: str) -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())
    for way, words in step_text(step).ways.items():
        is_off = any(line.does == "guard off" for line in words.lines)
        drawing = draw_reading(scene, step, way, {})
        assert bool(named(drawing, "guard@")) is not is_off, way


def test_no_line_puts_a_guard_on_that_is_on() -> None:
    """Nor says that it is on while it is off."""
    for step in STEPS:
        for way, words in step_text(step.NAME).ways.items():
            on = True
            for line in words.lines:
                told = line.text.casefold()
                if line.does == "guard off":
                    assert on, (step.NAME, way)
                    on = False
                elif line.does == "guard on":
                    assert not on, (step.NAME, way, line.text)
                    on = True
                elif not on:
                    assert "guard on" not in told, (step.NAME, way, line.text)
            assert on, (step.NAME, way)


def test_skating_turns_toward_the_higher_marks_for_more() -> None:
    for amount in (0.5, -0.5):
        drawing = moved(Control.SKATING, amount, "gf")
        (((x, y), (dx, dy)),) = heads(drawing)
        middle = (50.0, 34.0)
        # Clockwise about the dial's middle: the marks 0 to 3 run that way.
        clockwise = (y - middle[1]) * dx - (x - middle[0]) * dy
        assert math.copysign(1.0, clockwise) == math.copysign(1.0, amount)
        low, high = word(drawing, "0.5"), word(drawing, "2.5")
        assert low[0] < middle[0] < high[0]
        assert word(drawing, "more" if amount > 0.0 else "less")


def test_a_weight_on_a_thread_goes_outward_for_more() -> None:
    on = deck(skating={"control": SkatingControl.THREAD_WEIGHT})
    for amount in (1.0, -1.0):
        drawing = moved(Control.SKATING, amount, "", on=on)
        (((x, _), (dx, _)),) = heads(drawing)
        assert math.copysign(1.0, dx * (x - word(drawing, "pivot")[0])) == amount


def test_a_trim_screw_turns_clockwise_for_plus() -> None:
    on = deck(platter={"trim": SpeedTrim.SCREW})
    for amount in (0.5, -0.5):
        drawing = moved(Control.SPEED, amount, "turns", on=on)
        (((_, y), (dx, _)),) = heads(drawing)
        assert y > 34.0, "the arrow runs over the screw"
        assert math.copysign(1.0, dx) == math.copysign(1.0, amount)
        assert word(drawing, "clockwise" if amount > 0.0 else "anticlockwise")


def test_of_two_buttons_the_one_up_is_pressed_for_plus() -> None:
    on = deck(platter={"trim": SpeedTrim.ELECTRONIC})
    for amount in (2.0, -2.0):
        ((_, (_, dy)),) = heads(moved(Control.SPEED, amount, "", on=on))
        assert math.copysign(1.0, dy) == math.copysign(1.0, amount)


def test_the_arm_base_goes_away_from_the_spindle_for_plus() -> None:
    for amount in (2.0, -2.0):
        drawing = moved(Control.ARM_BASE, amount, "mm")
        (((x, y), (dx, dy)),) = heads(drawing)
        sx, sy = word(drawing, "spindle")
        assert math.copysign(1.0, dx * (x - sx) + dy * (y - sy)) == math.copysign(1.0, amount)


def test_the_bubble_stands_at_the_end_that_is_said() -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())
    for direction, turned, axis, sign in (
        ("left-right", False, 0, 1.0),
        ("left-right", True, 0, -1.0),
        ("front-back", False, 1, 1.0),
        ("front-back", True, 1, -1.0),
    ):
        values = {"direction": direction, "turned": turned}
        still = draw_reading(scene, "level", "bubble", values | {"divisions": 0.0})
        away = draw_reading(scene, "level", "bubble", values | {"divisions": 3.0})
        changed = [
            (one, other) for one, other in zip(still.marks, away.marks, strict=True) if one != other
        ]
        ((before, after),) = changed
        assert isinstance(before, Area)
        assert isinstance(after, Area)
        assert math.copysign(1.0, after.points[0][axis] - before.points[0][axis]) == sign


def bubble_of(drawing: Drawing) -> float:
    """Return how far right of the vial's middle the bubble is drawn, in lengths of half a vial."""
    areas = [mark for mark in drawing.marks if isinstance(mark, Area)]
    (vial,) = [one for one in areas if one.fill is Ink.GLASS and len(one.points) == 4]
    (bubble,) = [one for one in areas if one.fill is MarkRole.NOW]
    left, right = min(x for x, _ in vial.points), max(x for x, _ in vial.points)
    edges = min(x for x, _ in bubble.points), max(x for x, _ in bubble.points)
    assert left - 0.1 <= edges[0] < edges[1] <= right + 0.1, "inside the vial"
    return (sum(edges) - left - right) / (right - left)


@pytest.mark.parametrize("turned", [False, True])
def test_a_bubble_at_the_end_of_its_vial_is_drawn_at_that_end(turned: bool) -> None:
    on = deck(bench={"bubble_range_div": 6.0})
    scene = BenchScene(on, cartridge(), Numbers())
    lies = {"direction": "left-right", "turned": turned}
    marked_right = -1.0 if turned else 1.0
    far = [
        bubble_of(draw_reading(scene, "level", "bubble", {**lies, "divisions": off}))
        for off in (5.0, 6.0, -6.0)
    ]
    assert 0.0 < marked_right * far[0] < marked_right * far[1] - 0.05
    assert far[2] == pytest.approx(-far[1])
    for toward, side in (("marked", 1.0), ("other", -1.0)):
        values = {**lies, "toward": toward}
        drawing = draw_reading(scene, "level", "bubble at its end", values)
        assert bubble_of(drawing) == pytest.approx(side * far[1])


def test_a_bubble_stays_drawn_at_its_end_once_that_was_saved_until_a_foot_is_turned() -> None:
    read = Trial(reading=BubbleAtEnd(direction="left-right", toward="marked"))
    raised = MovePart(control=Control.FOOT, amount=1.0, unit="turns", where="rear")
    turned = {"direction": "left-right", "turned": True}
    for way in ("bubble at its end", "bubble"):
        scene = scene_after(deck(), cartridge(), Numbers(), [read])
        still = draw_reading(scene, "level", way, turned)
        assert bubble_of(still) > 0.7, "the right is high, whichever way the level lies"
        other = draw_reading(scene, "level", "bubble", {"direction": "front-back"})
        assert bubble_of(other) == pytest.approx(0.0), "nothing is known of this line"
    scene = scene_after(deck(), cartridge(), Numbers(), [read, Trial(moves=(raised,))])
    after = draw_reading(scene, "level", "bubble", turned)
    assert bubble_of(after) == pytest.approx(0.0)


def test_the_strobe_says_fast_with_the_platter() -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())
    for direction, said, sign in (("with", "fast", 1.0), ("against", "slow", -1.0)):
        drawing = draw_reading(scene, "speed", "strobe", {"direction": direction})
        assert word(drawing, said)
        (drift,) = named(drawing, "drift@")
        (platter,) = named(drawing, "platter@")
        assert isinstance(drift, Area)
        assert isinstance(platter, Area)
        assert math.copysign(1.0, round_about(drift) * round_about(platter)) == sign


def round_about(head: Area) -> float:
    """Return which way an arrow runs about the middle of the platter; clockwise is positive."""
    (x, y), one, other = head.points
    dx, dy = x - 0.5 * (one[0] + other[0]), y - 0.5 * (one[1] + other[1])
    return (y - 34.0) * dx - (x - 40.0) * dy


def test_a_dial_has_no_pointer_until_its_setting_is_typed() -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())
    assert not named(draw_reading(scene, "skating", "setting", {}), "dial@")
    at_left, at_right = (
        named(draw_reading(scene, "skating", "setting", {"setting": mark}), "dial@")[0]
        for mark in (0.5, 2.5)
    )
    assert isinstance(at_left, Polyline)
    assert isinstance(at_right, Polyline)
    assert at_left.points[-1][0] < 50.0 < at_right.points[-1][0]


@pytest.mark.parametrize(("broke", "lit"), [("left", "left"), ("right", "right"), ("", "")])
def test_the_channel_that_breaks_up_is_lit_on_its_own_side(broke: str, lit: str) -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())
    drawing = draw_reading(scene, "skating", "test bands", {"broke_first": broke})
    for side, role in (("left", MarkRole.LEFT), ("right", MarkRole.RIGHT)):
        found = [m for m in drawing.marks if isinstance(m, Area) and m.fill == role]
        assert len(found) == (side == lit)
        middle = word(drawing, side)[0]
        assert all(abs(x - middle) < 10.0 for area in found for x, _ in area.points)


def test_a_stylus_ahead_of_its_line_is_drawn_ahead_and_twice_as_far_for_twice() -> None:
    arm = {"kind": "parallel tracking", "pivot_to_spindle_mm": None, "offset_deg": 0.0}
    scene = BenchScene(deck(arm=arm), cartridge(), Numbers())
    stands = []
    for ahead in (0.0, 0.5, 1.0, -0.5):
        values = {"inner_landing_mm": ahead, "outer_landing_mm": 0.0}
        drawing = draw_reading(scene, "alignment", "path", values)
        discs = [m for m in drawing.marks if isinstance(m, Area) and m.fill == MarkRole.NOW]
        inner = min(discs, key=lambda m: m.points[0][0])
        stands.append(sum(y for _, y in inner.points) / len(inner.points))
    line, half, whole, behind = stands
    assert half < line < behind  # the head points to the person, at the foot of the drawing
    assert line - whole == pytest.approx(2.0 * (line - half), abs=0.1)
    assert line - half == pytest.approx(behind - line, abs=0.1)


def test_the_fork_of_the_rest_stands_on_its_post_and_is_open_above() -> None:
    drawing = moved(Control.PILLAR, 1.0, "mm")
    (post,) = named(drawing, "rest@")
    assert isinstance(post, Area)
    middle = sum(x for x, _ in post.points) / len(post.points)
    top = max(y for _, y in post.points)
    forks = [
        m.points
        for m in drawing.marks
        if isinstance(m, Polyline) and len(m.points) == 4 and abs(m.points[1][1] - top) < 1.0
    ]
    (fork,) = forks
    left, bottom_left, bottom_right, right = (x - middle for x, _ in fork)
    assert left == pytest.approx(bottom_left)
    assert right == pytest.approx(bottom_right)
    assert left == pytest.approx(-right)
    assert left < 0.0
    assert min(fork[0][1], fork[3][1]) > max(fork[1][1], fork[2][1])


def centre(area: Area) -> tuple[float, float]:
    xs, ys = [x for x, _ in area.points], [y for _, y in area.points]
    return 0.5 * (min(xs) + max(xs)), 0.5 * (min(ys) + max(ys))


def test_the_tube_runs_through_the_pivot_to_the_weight_behind_it() -> None:
    drawing = moved(Control.FOOT, 0.5, "turns")
    areas = [m for m in drawing.marks if isinstance(m, Area)]
    weights = [centre(m) for m in areas if m.fill == MarkRole.OUTLINE and len(m.points) > 8]
    pivots = [centre(m) for m in areas if m.fill == Ink.BODY and len(m.points) > 8]
    tubes = [
        (m.points[0], m.points[1])
        for m in drawing.marks
        if isinstance(m, Polyline)
        and len(m.points) == 2
        and any(math.dist(m.points[0], weight) < 0.1 for weight in weights)
    ]
    assert len(tubes) == 1
    ((back, joint),) = tubes
    (dx, dy), long = (joint[0] - back[0], joint[1] - back[1]), math.dist(back, joint)
    beside = [abs(dx * (y - back[1]) - dy * (x - back[0])) / long for x, y in pivots]
    assert min(beside) == pytest.approx(0.0, abs=0.01)
    assert min(math.dist(back, pivot) for pivot in pivots) == pytest.approx(7.0, abs=0.01)


def test_the_body_stands_off_the_record_on_its_stylus() -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())
    drawing = draw_reading(scene, "tilt", "gaps", {"left_mm": 2.0, "right_mm": 2.0})
    tips = [m for m in drawing.marks if isinstance(m, Area) and len(m.points) == 3]
    stylus = min(tips, key=lambda m: min(y for _, y in m.points))
    high, low = (by(y for _, y in stylus.points) for by in (max, min))
    assert high - low > 2.0
    bodies = [m for m in drawing.marks if isinstance(m, Area) and m.fill == Ink.BODY]
    assert any(min(y for _, y in body.points) == pytest.approx(high) for body in bodies)


def test_the_hand_of_a_dial_ends_short_of_its_marks() -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())
    drawing = draw_reading(scene, "skating", "setting", {"setting": 1.0})
    (hand,) = named(drawing, "dial@")
    assert isinstance(hand, Polyline)
    middle, tip = hand.points
    marks = [
        min(math.dist(middle, end) for end in m.points)
        for m in drawing.marks
        if isinstance(m, Polyline) and len(m.points) == 2 and m.points[0] != middle
    ]
    assert 0.0 < math.dist(middle, tip) < min(marks)


@pytest.mark.parametrize("reach_mm", [239.3, 218.0])
@pytest.mark.parametrize("way", ["landing", "landing and angles"])
def test_the_spindle_stands_between_the_pivot_and_the_mark_that_is_beyond_it(
    way: str, reach_mm: float
) -> None:
    """From the pivot outward: an arm of 239.3 mm reaches over the spindle at 222 mm, to the mark.

    The overhang is what the effective length exceeds the distance of pivot and spindle by; an arm
    of 218 mm does not reach it. That is the definition, in common use; no source.
    """
    far = {"pivot": 0.0, "spindle": 222.0, "mark": reach_mm}
    told = {"wanted_overhang": far["mark"] - far["spindle"]}
    scene = BenchScene(deck(), cartridge(), Numbers(), wanted=told)
    drawing = draw_reading(scene, "alignment", way, {})
    holds(drawing)
    x, pivot_y = word(drawing, "to the pivot")
    mark = next(
        m
        for m in drawing.marks
        if isinstance(m, Polyline) and m.pen.colour == Ink.MARK and m.points[0][1] == m.points[1][1]
    )
    places = {"pivot": pivot_y, "mark": mark.points[0][1], "spindle": word(drawing, "spindle")[1]}
    drawn_order = sorted(places, key=places.__getitem__, reverse=True)
    assert drawn_order == sorted(far, key=far.__getitem__)
    assert abs(word(drawing, "spindle")[0] - x) < 5.0, "on the line to the pivot"


@pytest.mark.parametrize("way", ["angles", "landing and angles"])
def test_over_a_grid_the_spindle_is_on_the_left_and_never_beside_the_landing(way: str) -> None:
    """The head is square to the radius at a null point; from in front the spindle is on its left.

    Common practice, no source: the arm of a usual deck stands behind the platter, on the right.
    """
    drawing = draw_reading(BenchScene(deck(), cartridge(), Numbers()), "alignment", way, {})
    holds(drawing)
    this_side = word(drawing, "◂ spindle")[0]
    assert this_side < word(drawing, "inner grid")[0]
    if way == "landing and angles":
        assert this_side > word(drawing, "to the pivot")[0] + 10.0
    alone = draw_reading(BenchScene(deck(), cartridge(), Numbers()), "alignment", "landing", {})
    assert "◂ spindle" not in words_in(alone)


@pytest.mark.parametrize("way", ["two heights", "tapered tube"])
def test_a_height_of_nothing_is_drawn_at_the_record_and_not_at_the_tube(way: str) -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())

    def read_at(**values: float) -> list[float]:
        drawing = draw_reading(scene, "arm_height", way, values)
        holds(drawing)
        level = [m for m in drawing.marks if isinstance(m, Polyline) and m.points[0][0] > 20.0]
        marks = [m for m in level if m.pen.colour == MarkRole.NOW and len(m.points) == 2]
        return [m.points[0][1] for m in marks]

    usual, none = read_at(front_mm=23.0, rear_mm=23.0), read_at(front_mm=0.0, rear_mm=0.0)
    record = ArmFromSide(scene).record
    assert usual == [ArmFromSide(scene).tube] * 2
    assert none == [record] * 2
    (front, rear) = read_at(front_mm=2.5, rear_mm=23.0)
    assert record < front < usual[0] < rear


def test_the_weight_is_drawn_where_it_was_moved_to_and_nothing_is_said_before() -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())

    def weight_x(**values: float) -> float:
        drawing = draw_reading(scene, "rough_downforce", "float and slide", values)
        holds(drawing)
        blocks = [m for m in drawing.marks if isinstance(m, Area) and m.fill == Ink.BODY]
        return max(sum(x for x, _ in m.points) / len(m.points) for m in blocks)

    assert weight_x() > weight_x(slid_mm=2.0) > weight_x(slid_mm=5.0), "toward the pivot"
    for way, unit in (("float and slide", "mm"), ("float and dial", "gf")):
        drawing = draw_reading(scene, "rough_downforce", way, {})
        assert not any(text.endswith(unit) for text in words_in(drawing)), "nothing was typed"


def test_a_grid_is_drawn_with_the_null_radius_that_is_asked_about() -> None:
    told = {"wanted_null_inner": 65.998, "wanted_null_outer": 120.891}
    scene = BenchScene(deck(), cartridge(), Numbers(), wanted=told)
    drawing = draw_reading(scene, "alignment", "landing and angles", {})
    holds(drawing)
    assert {"null 66.0\u00a0mm", "null 120.9\u00a0mm"} <= words_in(drawing)


def test_a_move_is_drawn_no_finer_than_it_is_typed() -> None:
    scene = BenchScene(deck(), cartridge(), Numbers())
    slide = MovePart(control=Control.SLIDE, amount=-1.1849, unit="mm")
    assert "1.18\u00a0mm" in words_in(draw_move(scene, (slide,)))


@pytest.mark.parametrize("way", ["setting", "test bands", "bands by tone"])
def test_the_skating_dial_points_where_it_is_to_be_set_until_a_setting_is_typed(way: str) -> None:
    scene = BenchScene(deck(), cartridge(), Numbers(), wanted={"setting": 2.0})
    (asked,) = named(draw_reading(scene, "skating", way, {}), "dial@")
    (typed,) = named(draw_reading(scene, "skating", way, {"setting": 2.0}), "dial@")
    assert isinstance(asked, Polyline)
    assert isinstance(typed, Polyline)
    assert asked.points == typed.points, "at 2 in both"
    assert (asked.pen.colour, typed.pen.colour) == (MarkRole.PREDICTED, MarkRole.NOW)
    (aimed,) = named(draw_reading(scene, "skating", way, {"setting": 1.0}), "aimed@")
    assert isinstance(aimed, Polyline)
    middle, rim = asked.points
    for x, y in aimed.points:  # on the ray of the pointer that was asked for
        across = (rim[0] - middle[0]) * (y - middle[1]) - (rim[1] - middle[1]) * (x - middle[0])
        assert abs(across) < 1e-6


def test_no_side_is_named_where_nothing_is_off() -> None:
    """ "0.0 mm beyond" and "0.0° out" stood there."""
    scene = BenchScene(deck(), cartridge(), Numbers())
    typed = {"landing_mm": 0.0, "inner_deg": 0.0, "outer_deg": -0.5}
    words = words_in(draw_reading(scene, "alignment", "landing and angles", typed))
    assert {"on the mark", "along the lines"} <= words
    assert any("0.5° in" in one.replace("\u00a0", " ") for one in words)
    assert not any("0.0" in one for one in words)


@pytest.mark.parametrize(
    ("way", "field", "names"),
    [
        ("landing", "landing_mm", "head@"),
        ("angles", "inner_deg", "head@"),
        ("angles", "outer_deg", "head@"),
        ("path", "inner_landing_mm", "head@"),
    ],
)
def test_no_place_is_drawn_of_an_amount_whose_direction_is_open(
    way: str, field: str, names: str
) -> None:
    """ "on the mark" stood there in bold while 0.4 was typed."""
    scene = BenchScene(deck(), cartridge(), Numbers())
    drawing = draw_reading(scene, "alignment", way, {field: None})
    holds(drawing)
    assert "which way?" in words_in(drawing)
    assert not {"on the mark", "along the lines"} & words_in(drawing)
    whole = draw_reading(scene, "alignment", way, {})
    assert "which way?" not in words_in(whole)
    assert len(named(drawing, names)) == len(named(whole, names)) - 1
