"""Level, from what is read to what is told, worked by hand.

The feet stand at (-180, -140), (180, -140) and (0, 150) mm, x to the right and y to the back; one
turn is 1.25 mm. A level of 1 mm/m a division is read to an eighth of one. A slope of s mm/m lifts
a point d m further up it by s d mm; the highest foot stays and the others come up to it.
All derived.
"""

from __future__ import annotations

import pytest

from core.drawing.chart import Arrow, MarkRole, Points, Tag
from core.fitting import CHECKED_WAY, Control, MovePart, Verdict
from tests.outside.told import Moved, Person, order, orders, pinned, said, says, told
from tests.outside.told import moved as moved_of
from tests.worked import Read, bubble

FL, FR, REAR = "front left", "front right", "rear"


def foot(name: str, turns: float) -> Moved:
    return Control.FOOT, name, turns, "turns"


TURNED = {"turned": True}


@pytest.mark.parametrize(
    ("readings", "wanted"),
    [
        # Back high by 3 x 1 = 3 mm/m; the front feet stand 0.29 m in front of the rear one:
        # 3 x 0.29 = 0.87 mm = 0.696 turn each.
        (
            [bubble("front-back", 3.0), bubble("left-right", 0.0)],
            [foot(FL, 0.696), foot(FR, 0.696)],
        ),
        # The same with the front high: now the rear foot is the low one.
        ([bubble("front-back", -3.0), bubble("left-right", 0.0)], [foot(REAR, 0.696)]),
        # Right high by 3 mm/m: front left 0.36 m to the left, 1.08 mm = 0.864 turn; the rear foot
        # 0.18 m, 0.54 mm = 0.432 turn.
        (
            [bubble("front-back", 0.0), bubble("left-right", 3.0)],
            [foot(FL, 0.864), foot(REAR, 0.432)],
        ),
        (
            [bubble("front-back", 0.0), bubble("left-right", -3.0)],
            [foot(FR, 0.864), foot(REAR, 0.432)],
        ),
        # Back and left high by 3: heights 3 (y - x) / 1000: front left 3 x 0.040 = 0.12 mm, front
        # right 3 x -0.320 = -0.96, rear 3 x 0.150 = 0.45. Up to the rear: 0.33 and 1.41 mm.
        (
            [bubble("front-back", 3.0), bubble("left-right", -3.0)],
            [foot(FL, 0.264), foot(FR, 1.128)],
        ),
        # An inclinometer with its mark to the front reads +0.2: the front is high, by
        # tan 0.2 deg = 3.4907 mm/m, 0.29 m of which are 1.0123 mm = 0.8098 turn.
        (
            [
                {"way": "inclinometer", "direction": "front-back", "angle_deg": 0.2, **TURNED},
                {"way": "inclinometer", "direction": "left-right", "angle_deg": 0.0},
            ],
            [foot(REAR, 0.8098)],
        ),
        # A straightedge 300 mm long, level once its left (unmarked) end is 1.5 mm up: the right is
        # high by 5 mm/m. 0.36 x 5 = 1.8 mm = 1.44 turns; 0.18 x 5 = 0.9 mm = 0.72 turn.
        (
            [
                {"way": "ruler", "direction": "left-right", "gap_mm": 1.5, "length_mm": 300.0},
                {"way": "ruler", "direction": "front-back", "gap_mm": 0.0, "length_mm": 300.0},
            ],
            [foot(FL, 1.44), foot(REAR, 0.72)],
        ),
        # Along the diagonal to the back right 3 mm/m, across it (to the back left) nothing:
        # gx = gy = 3 cos 45 = 2.1213. Heights: front left -0.320 x 2.1213 = -0.6788, front right
        # 0.040 x 2.1213 = 0.0849, rear 0.150 x 2.1213 = 0.3182: up by 0.9970 and 0.2333 mm.
        (
            [bubble("diagonal back right", 3.0), bubble("diagonal back left", 0.0)],
            [foot(FL, 0.7976), foot(FR, 0.1867)],
        ),
    ],
)
def test_the_low_feet_come_up_to_the_highest(readings: list[Read], wanted: list[Moved]) -> None:
    answer = told("level", *readings)
    assert answer.verdict is Verdict.MOVE
    assert moved_of(answer) == orders(*wanted, within=6e-4)
    says(answer, "raise", "lower")
    for name in (FL, FR, REAR):
        turned = name in [where for _, where, _, _ in wanted]
        assert (name in order(answer).lower()) == turned


def test_a_level_that_is_off_itself_is_found_out_by_turning_it() -> None:
    # It shows 2.5 toward its mark, whichever way the mark points: half of the difference is the
    # slope, (2.5 - 2.5) / 2 = 0; half of the sum is its own, 2.5 mm/m.
    readings = [bubble("front-back", 2.5), bubble("left-right", 2.5)]
    answer = told("level", *readings, *(read | TURNED for read in readings))
    assert answer.verdict is Verdict.GOOD
    own, tilt = answer.figure("zero_error"), answer.figure("tilt")
    assert own is not None
    assert own.value == pytest.approx(2.5)
    assert tilt is not None
    assert tilt.value == pytest.approx(0.0, abs=1e-9)


def test_a_level_that_is_off_itself_hides_a_slope_until_it_is_turned() -> None:
    # 0.5 and, turned, -4.5: slope (0.5 + 4.5) / 2 = 2.5 mm/m to the back, own (0.5 - 4.5) / 2 = -2.
    # 2.5 x 0.29 = 0.725 mm = 0.58 turn at both front feet.
    across = bubble("left-right", -2.0)
    readings = [bubble("front-back", 0.5), bubble("front-back", -4.5) | TURNED]
    answer = told("level", *readings, across, across | TURNED)
    assert answer.verdict is Verdict.MOVE
    assert moved_of(answer) == orders(foot(FL, 0.58), foot(FR, 0.58), within=6e-4)


def test_a_foot_that_can_shrink_is_told_to() -> None:
    # The rear foot alone turns, and only down: 3 mm/m over 0.29 m, 0.87 mm = 0.696 turn shorter.
    feet = [
        {"name": FL, "x_mm": -180, "y_mm": -140, "adjustable": False},
        {"name": FR, "x_mm": 180, "y_mm": -140, "adjustable": False},
        {"name": REAR, "x_mm": 0, "y_mm": 150, "travel_up_mm": 0, "travel_down_mm": 5},
    ]
    on = pinned(plinth={"feet": feet})
    answer = told("level", bubble("front-back", 3.0), bubble("left-right", 0.0), on=on)
    assert moved_of(answer) == orders(foot(REAR, -0.696), within=6e-4)
    says(answer, "lower", "raise")


def test_feet_that_do_not_turn_get_shims_where_they_are_low() -> None:
    # Right high by 4 mm/m: 0.36 x 4 = 1.44 mm under front left, 0.18 x 4 = 0.72 under the rear;
    # stock goes by 0.05 mm: 1.45 and 0.70.
    fixed = [
        {"name": name, "x_mm": x, "y_mm": y, "adjustable": False}
        for name, x, y in ((FL, -180, -140), (FR, 180, -140), (REAR, 0, 150))
    ]
    on = pinned(plinth={"feet": fixed}, bench={"level_zero_error_mm_per_m": 0.1})
    answer = told("level", bubble("front-back", 0.0), bubble("left-right", 4.0), on=on)
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    wanted = (Control.FOOT_SHIM, FL, 1.45, "mm"), (Control.FOOT_SHIM, REAR, 0.7, "mm")
    assert moved_of(answer) == orders(*wanted, within=1e-6)
    # The picture says it at the feet that get one, and nothing at the high one.
    at_feet = {said(item.text) for item in answer.picture.items if isinstance(item, Tag)}
    assert {f"{FL}: shim 1.45\u00a0mm", FR, f"{REAR}: shim 0.70\u00a0mm"} <= at_feet


def test_where_the_thinnest_shim_is_too_thick_it_is_left() -> None:
    # On feet 72 mm apart, 0.3 mm/m are 0.022 mm: less than half of the thinnest shim, 0.05 mm.
    close = [
        {"name": name, "x_mm": x, "y_mm": y, "adjustable": False}
        for name, x, y in ((FL, -36, -28), (FR, 36, -28), (REAR, 0, 30))
    ]
    fine = {
        "level_zero_error_mm_per_m": 0.01,
        "bubble_mm_per_m_per_div": 0.1,
        "bubble_read_div": 0.02,
    }
    on = pinned(plinth={"feet": close}, bench=fine, tolerances={"level_mm_per_m": 0.1})
    answer = told("level", bubble("front-back", 0.0), bubble("left-right", 3.0), on=on)
    assert answer.verdict is Verdict.LEFT_AS_FOUND
    assert not moved_of(answer)
    says(answer, "leave it", "shim")
    at_feet = {said(item.text) for item in answer.picture.items if isinstance(item, Tag)}
    assert {FL, FR, REAR} <= at_feet


def test_what_was_ordered_and_done_levels_the_deck() -> None:
    # 3 mm/m to the back and 2 to the left, undone as told: the heights of the feet and the lifts
    # ordered make one plane, whose normal (a cross product) stands upright.
    person = Person("level")
    answer = person.reads(bubble("front-back", 3.0), bubble("left-right", -2.0))
    height = {FL: 0.0, FR: 0.0, REAR: 0.0}
    for name, x, y in ((FL, -180, -140), (FR, 180, -140), (REAR, 0, 150)):
        height[name] = 0.003 * y - 0.002 * x
    for _, name, turns, _ in moved_of(answer):
        height[name] += 1.25 * turns
    assert max(height.values()) - min(height.values()) < 1e-3
    after = person.obeys()
    assert after.verdict is Verdict.READ_AGAIN  # nothing is good before it was read
    foretold = after.figure("predicted_tilt")
    assert foretold is not None
    assert foretold.value == pytest.approx(0.0, abs=0.01)
    assert person.reads(bubble("front-back", 0.0), bubble("left-right", 0.0)).verdict in (
        Verdict.GOOD,
        Verdict.READ_AGAIN,
    )


@pytest.mark.parametrize(
    ("across", "along", "high_at"),
    [
        (0.0, 3.0, 0.0),
        (3.0, 3.0, 45.0),
        (3.0, 0.0, 90.0),
        (0.0, -3.0, 180.0),
        (-3.0, 0.0, 270.0),
        (-3.0, 3.0, 315.0),
    ],
)
def test_the_high_side_is_named_as_it_stands(across: float, along: float, high_at: float) -> None:
    # The bubble goes to the high end; the mark lies at the right and at the back. Read off a
    # compass card laid on the deck with its north to the back.
    answer = told("level", bubble("front-back", along), bubble("left-right", across))
    bearing = answer.figure("high_bearing")
    assert bearing is not None
    assert bearing.value == pytest.approx(high_at)


def test_one_direction_makes_no_plane() -> None:
    person = Person("level")
    answer = person.reads(bubble("front-back", 3.0), bubble("front-back", 3.0))
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.next_move is None
    assert answer.next_reading is not None
    assert answer.next_reading.values["direction"] == "left-right"


def test_a_diagonal_that_contradicts_both_directions_is_asked_for_again() -> None:
    # Flat both ways can't slope 3 mm/m along a diagonal.
    flat = [bubble("front-back", 0.0), bubble("left-right", 0.0)]
    answer = told("level", *flat, bubble("diagonal back right", 3.0))
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.next_move is None


@pytest.mark.parametrize(("across", "along"), [(3.0, 0.0), (-3.0, 0.0), (0.0, 3.0), (0.0, -3.0)])
def test_the_arrow_is_drawn_to_the_high_side(across: float, along: float) -> None:
    # Seen from above with the person in front: right is right and the back is up.
    picture = told("level", bubble("front-back", along), bubble("left-right", across)).picture
    (arrow,) = (item for item in picture.items if isinstance(item, Arrow))
    assert (arrow.x1 - arrow.x0, arrow.y1 - arrow.y0) == pytest.approx((across, along), abs=1e-6)


@pytest.mark.parametrize("both_ways", [False, True])
def test_what_a_level_is_off_itself_does_not_average_away(both_ways: bool) -> None:
    # Not turned end for end, every reading of the level is off by the same: those from before a
    # move add nothing to those after it. Turned, they do.
    def readings(divisions: float) -> list[Read]:
        along, across = bubble("front-back", divisions), bubble("left-right", 0.0)
        if not both_ways:
            return [along, across]
        turned = bubble("front-back", -divisions) | TURNED
        return [along, across, turned, bubble("left-right", 0.0) | TURNED]

    alone = told("level", *readings(0.5)).figure("tilt")
    person = Person("level")
    person.reads(*readings(3.0))
    person.obeys()
    after = person.reads(*readings(0.5)).figure("tilt")
    assert alone is not None
    assert after is not None
    assert alone.half_width is not None
    assert after.half_width is not None
    if both_ways:
        assert after.half_width < 0.99 * alone.half_width
    else:
        assert after.half_width == pytest.approx(alone.half_width)


def test_feet_off_the_middle_still_fill_the_picture() -> None:
    # Drawn about their own middle, the outermost of them at four fifths of the way to the edge.
    places = ((FL, 0.0, 0.0), (FR, 400.0, 0.0), (REAR, 200.0, 300.0))
    feet = [{"name": name, "x_mm": x, "y_mm": y} for name, x, y in places]
    readings = [bubble("front-back", 3.0), bubble("left-right", 0.0)]
    picture = told("level", *readings, on=pinned(plinth={"feet": feet})).picture
    (drawn,) = (i for i in picture.items if isinstance(i, Points) and i.role is MarkRole.OUTLINE)
    assert drawn.x.max() == pytest.approx(-drawn.x.min())
    assert drawn.x.max() == pytest.approx(0.8 * picture.x.high, rel=0.01)


def test_what_is_read_again_counts_together_with_what_was_read_before() -> None:
    # 1.0 mm/m, read both ways; the rear foot a hundredth of a turn longer: 0.043 more. Then
    # 1.3 is read: what it is lies between 1.043 and 1.3.
    def readings(divisions: float) -> list[Read]:
        along, across = bubble("front-back", divisions), bubble("left-right", 0.0)
        back = bubble("front-back", -divisions) | TURNED
        return [along, across, back, bubble("left-right", 0.0) | TURNED]

    person = Person("level")
    person.reads(*readings(1.0))
    person.moves(MovePart(control=Control.FOOT, where=REAR, amount=0.01, unit="turns"))
    figure = person.reads(*readings(1.3)).figure("slope_back")
    assert figure is not None
    assert 1.05 < figure.value < 1.29


def test_the_name_of_a_foot_stands_above_it_and_near() -> None:
    items = told("level", bubble("front-back", 3.0), bubble("left-right", 0.0)).picture.items
    (feet,) = [i for i in items if isinstance(i, Points) and i.role is MarkRole.OUTLINE]
    names = [i for i in items if isinstance(i, Tag) and i.role is MarkRole.OUTLINE]
    assert len(names) == len(feet.x) == 3
    high = max(feet.y) - min(feet.y)
    for name, x, y in zip(names, feet.x, feet.y, strict=True):
        assert 0.02 * high < name.y - y < 0.2 * high
        assert abs(name.x) <= abs(x)
        assert name.x * x >= 0.0


def test_the_one_more_move_of_a_control_that_did_nothing_says_why_it_comes() -> None:
    person = Person("level")
    person.reads(bubble("front-back", 5.0), bubble("left-right", 0.0))
    person.obeys()
    asked = person.reads(bubble("front-back", 5.0), bubble("left-right", 0.0)).next_reading
    assert asked is not None
    assert asked.way == CHECKED_WAY
    answer = person.reads({"way": CHECKED_WAY, **asked.values})
    assert answer.next_move is not None
    assert "move it once more" in said(answer.next_move.reason)
    person.obeys()
    ended = person.reads(bubble("front-back", 5.0), bubble("left-right", 0.0))
    assert ended.verdict is Verdict.LEFT_AS_FOUND, "it ends here, as was said"


def test_what_remains_of_a_slope_past_the_vial_is_not_told() -> None:
    # The vial of 20 divisions ends at 20 mm/m: how much more it is, and so what is left after a
    # move, nobody knows.
    end = {"way": "bubble at its end", "direction": "left-right", "toward": "marked"}
    answer = told("level", end)
    assert answer.verdict is Verdict.MOVE
    assert "at least 20.0" in said(*answer.notes)
    assert "remain" not in said(*answer.notes)


def test_where_no_foot_has_the_travel_alone_all_share_the_way() -> None:
    # The right and the back are high by 5 and 2 mm/m: the feet stand at -1.18, 0.62 and 0.30 mm.
    # None goes further than 1 mm either way: the front left comes up, the two others down.
    feet = [
        {"name": name, "x_mm": x, "y_mm": y, "travel_up_mm": 1.0, "travel_down_mm": 1.0}
        for name, x, y in (
            ("front left", -180.0, -140.0),
            ("front right", 180.0, -140.0),
            ("rear", 0.0, 150.0),
        )
    ]
    readings = [bubble("left-right", 5.0), bubble("front-back", 2.0)]
    answer = told("level", *readings, on=pinned(plinth={"feet": feet}))
    assert answer.verdict is Verdict.MOVE
    lifts = {where: amount * 1.25 for _, where, amount, _ in moved_of(answer)}
    assert set(lifts) == {"front left", "front right", "rear"}
    assert lifts["front left"] - lifts["front right"] == pytest.approx(1.8, abs=0.02)
    assert lifts["front left"] - lifts["rear"] == pytest.approx(1.48, abs=0.02)
    assert max(abs(lift) for lift in lifts.values()) <= 1.01


SHORT_VIAL = {"bubble_range_div": 8.0}
WHICH_WAY = "Which way did you move it?"
NOTHING = "The last move changed nothing."
AT_END = "After the last move the bubble is at the end of its vial."
LESS = "The last move did less than it should."


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_bubble_that_went_to_the_other_end_is_brought_back_as_far_as_at_first(
    side: float,
) -> None:
    # Twice the 8 mm/m that the vial holds: 16 x 0.36 = 5.76 mm = 4.608 turns, and half at the rear.
    person = Person("level", pinned(bench=SHORT_VIAL))
    ends = [[bubble("left-right", one * side * 8.0), bubble("front-back", 0.0)] for one in (1, -1)]
    low, other = (FL, FR) if side > 0.0 else (FR, FL)
    answer = person.reads(*ends[0])
    assert moved_of(answer) == orders(foot(low, 4.608), foot(REAR, 2.304), within=6e-3)
    person.obeys()
    person.reads(*ends[1])
    answer = person.reads(ends[1][0])  # at its end still, for want of another instrument
    assert moved_of(answer) == orders(foot(other, 4.608), foot(REAR, 2.304), within=6e-3)


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(
    ("before", "asked"),
    [
        # 0.25 more at least: two readings to an eighth may differ by that, or it went further out,
        # so neither that it changed nothing nor that it went the other way is said.
        (7.75, AT_END),
        (7.0, WHICH_WAY),  # 1.0 more at least: no reading errs so far
        (4.0, WHICH_WAY),
    ],
)
def test_a_bubble_at_its_end_after_a_move_went_the_other_way_if_it_surely_stood_lower(
    before: float, asked: str, side: float
) -> None:
    person = Person("level", pinned(bench=SHORT_VIAL))
    person.reads(bubble("left-right", side * before), bubble("front-back", 0.0))
    person.obeys()
    answer = person.reads(bubble("left-right", side * 8.0), bubble("front-back", 0.0))
    assert not moved_of(answer)
    assert asked in said(answer.headline)


@pytest.mark.parametrize(
    ("found", "then", "asked"),
    [
        # Of the change that was ordered, so much along it and so much aside (to its left).
        ((0.0, -8.0), (0.0, -8.0), NOTHING),  # 0 and 0
        ((0.0, -8.0), (4.0, -8.0), NOTHING),  # 0 and 1/2
        ((0.0, -8.0), (8.0, -8.0), LESS),  # 0 and 1: to say that nothing changed would be wrong
        ((0.0, -8.0), (-8.0, -8.0), LESS),
        ((0.0, -8.0), (0.0, -12.0), WHICH_WAY),  # -1/2 and 0
        # A hand makes a move to 8 % of it, 0.64 of 8 mm/m; three times that are 1.9.
        ((0.0, -8.0), (0.0, -9.5), NOTHING),
        ((0.0, -8.0), (0.0, -10.5), WHICH_WAY),
        ((0.0, -8.0), (8.0, -12.0), WHICH_WAY),  # -1/2 and 1
        ((0.0, -8.0), (-8.0, -12.0), WHICH_WAY),
        ((0.0, -8.0), (0.0, 8.0), "far from what the move should give"),  # 2 and 0
        ((0.0, -8.0), (0.0, -3.0), ""),  # 5/8 and 0
        # 1/3 along it and 2/3 aside: as if one of the two feet had been turned the other way.
        ((6.0, 6.0), (0.0, 8.0), "Which way did you turn the front right foot?"),
        ((6.0, 6.0), (4.0, 0.0), ""),  # (6 x 2 + 6 x 6) / 72 = 2/3 and 1/3
    ],
)
def test_how_far_the_slope_went_as_ordered_decides_what_is_asked(
    found: tuple[float, float], then: tuple[float, float], asked: str
) -> None:
    person = Person("level")
    person.reads(bubble("left-right", found[0]), bubble("front-back", found[1]))
    person.obeys()
    answer = person.reads(bubble("left-right", then[0]), bubble("front-back", then[1]))
    if asked:
        assert not moved_of(answer)
        assert asked in said(answer.headline)
    else:
        assert answer.verdict is Verdict.MOVE, said(answer.headline)
        assert moved_of(answer)


def test_feet_that_do_two_fifths_of_a_turn_are_not_said_to_hardly_show_once_it_is_known() -> None:
    # 8 mm/m went to 4.8; the 10.4 mm/m entered next made 4.2, as two fifths foretell.
    person = Person("level")
    person.reads(bubble("front-back", 8.0), bubble("left-right", 0.0))
    person.obeys()
    asked = person.reads(bubble("front-back", 4.75), bubble("left-right", 0.0)).next_reading
    assert asked is not None
    assert asked.way == CHECKED_WAY
    person.reads({"way": CHECKED_WAY, **asked.values})
    turns = [amount for _, _, amount, _ in moved_of(person.told)]
    assert turns == pytest.approx([2.4, 2.4], abs=0.1)
    ahead = person.obeys().figure("predicted_tilt")
    assert ahead is not None
    assert ahead.value == pytest.approx(0.0, abs=0.1)
    after = 4.8 - 0.4 * turns[0] * 1.25 / 0.29
    answer = person.reads(bubble("front-back", round(after * 8) / 8), bubble("left-right", 0.0))
    assert not {"level.note.move_hardly_shows", "level.note.move_went_wrong"} & {
        note.key for note in answer.notes
    }


@pytest.mark.parametrize(
    ("slope", "turned_too", "said_so"),
    [
        (2.5, True, True),
        # The level may be off by 1.0 itself (95 %), so 1.4 in the difference of two readings of it:
        # of 2.5 it is not said yet that it hardly shows, of 3.0 it is.
        (2.5, False, False),
        (3.0, False, True),
    ],
)
def test_that_a_move_hardly_shows_is_said_of_twice_what_is_in_doubt(
    slope: float, turned_too: bool, said_so: bool
) -> None:
    readings = [bubble("front-back", slope), bubble("left-right", 0.0)]
    if turned_too:
        readings += [bubble("front-back", -slope) | TURNED, bubble("left-right", 0.0) | TURNED]
    person = Person("level")
    person.reads(*readings)
    person.obeys()
    answer = person.reads(*readings)
    assert ("level.note.move_hardly_shows" in {note.key for note in answer.notes}) is said_so


HALF = {"bubble_mm_per_m_per_div": 0.5, "bubble_range_div": 10.0}
"""A vial that ends at 10 divisions of half a millimetre: at its end, 5 mm/m or more."""


def along(way: str, divisions: float, *, turned: bool = False) -> Read:
    return {"way": "bubble", "direction": way, "divisions": divisions, "turned": turned}


def test_a_bubble_at_its_end_does_not_settle_readings_that_contradict() -> None:
    read = [along("left-right", 0), along("front-back", 8), along("front-back", 0)]
    answer = told("level", *read, along("front-back", 16), on=pinned(bench=HALF))
    assert answer.verdict is Verdict.READ_AGAIN
    says(answer, "two readings of front to rear differ by 4.0 mm/m", "which way did you")
    assert not moved_of(answer)
    assert not answer.questions
    assert not answer.figures  # nothing at its end in a mean, none of 8 and 0 either


def test_a_bubble_typed_past_its_vial_tells_what_the_vial_holds() -> None:
    answer = told("level", along("front-back", 20), on=pinned(bench=HALF))
    notes = said(*answer.notes).replace("\u00a0", " ")
    assert "at least 5.0 mm/m" in notes  # 10 divisions of 0.5, not 20
    at_the_end = told("level", along("front-back", 10), on=pinned(bench=HALF))
    assert moved_of(answer) == moved_of(at_the_end)


def test_so_many_contradictions_are_counted_and_not_called_good() -> None:
    wild = [along("front-back", one) for one in (8, 0, 4, 4)]
    tail = [along("front-back", 0, turned=True), along("front-back", 0), along("front-back", 0)]
    on = pinned(bench=HALF)
    answer = told("level", along("left-right", 0), *wild, *tail, on=on)
    assert answer.verdict is Verdict.READ_AGAIN
    assert answer.figure("tilt") is None
    assert "3 earlier readings were left out" in said(*answer.notes)
    # Four of seven: the last ones outnumber the others.
    settled = told("level", along("left-right", 0), *wild, *tail, along("front-back", 0), on=on)
    assert settled.verdict is Verdict.GOOD
    assert "3 earlier readings were left out" in said(*settled.notes)


def test_no_tilt_is_shown_of_8_one_way_and_8_the_other() -> None:
    read = [along("left-right", 0), along("front-back", 8), along("front-back", -8)]
    answer = told("level", *read, on=pinned(bench=HALF))
    assert answer.verdict is Verdict.READ_AGAIN
    assert not answer.figures


@pytest.mark.parametrize(("degrees", "moving"), [(0.3, 2), (1.5, 3)])
def test_a_foot_is_said_to_stay_only_where_one_does(degrees: float, moving: int) -> None:
    # 1.5 degrees are 26 mm/m: 7.6 mm from front to back, and a foot goes up by 6 mm, and down.
    feet = [{**foot.model_dump(), "travel_down_mm": 6.0} for foot in pinned().plinth.feet]
    lain = {"way": "inclinometer", "turned": False}
    read: list[Read] = [
        {**lain, "direction": "left-right", "angle_deg": 0.0},
        {**lain, "direction": "front-back", "angle_deg": degrees},
    ]
    move = told("level", *read, on=pinned(plinth={"feet": feet})).next_move
    assert move is not None
    assert len(move.parts) == moving
    assert ("stays" in said(move.reason)) is (moving < 3)
