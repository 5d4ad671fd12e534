"""Each chart beside numbers worked by hand: places, band edges, axes and what they are called.

The arithmetic stands beside the numbers. Sines and cosines are of a table: sin 10° = 0.17365,
cos 10° = 0.98481.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest

from core.drawing.chart import (
    Arrow,
    Band,
    Curve,
    Item,
    MarkRole,
    Picture,
    Points,
    Rule,
    Shape,
    Tag,
)
from core.estimation import Estimate
from core.language import Interval, Message, Turns, message
from core.physics.crosstalk import LeakReading, fit_crosstalk
from core.physics.resonance import Span
from core.steps.arm_height.chart import SideView, side_view
from core.steps.downforce.chart import DownforceBand, weighings_picture
from core.steps.downforce.weighings import DownforceState, ScaleWorth, Weighing
from core.steps.level.chart import FootMark, LevelView, draw_level, high_side
from core.steps.mount.chart import MountView, draw_mount
from core.steps.skating.chart import force_picture
from core.steps.skating.force import Settings, settings_of, side_force_of
from core.steps.speed.chart import errors_picture
from core.steps.speed.readings import Taken, Trimmed
from core.steps.tilt.chart import FrontView, LeakView, draw_front, draw_leaks
from tests.core.steps.alignment.kit import LENGTH, OFFSET, D, assess, both, context, head_angle
from tests.examples import deck
from tests.kit import context as any_context


def of(picture: Picture, kind: type, role: MarkRole) -> list[Item]:
    """Return the items of one kind and role, in their order."""
    return [
        item
        for item in picture.items
        if isinstance(item, kind) and getattr(item, "role", None) == role
    ]


def one(picture: Picture, kind: type, role: MarkRole) -> Item:
    (found,) = of(picture, kind, role)
    return found


def places(item: object) -> list[tuple[float, float]]:
    """Return the points of an item to a thousandth."""
    assert isinstance(item, Curve | Points | Shape)
    return [(round(float(x), 3), round(float(y), 3)) for x, y in zip(item.x, item.y, strict=True)]


def axes(picture: Picture) -> tuple[float, float, float, float]:
    return picture.x.low, picture.x.high, picture.y.low, picture.y.high


def said(text: Message | None) -> tuple[str, dict[str, object]]:
    """Return the key of a message and its values without their looks."""
    assert text is not None
    return text.key, {name: getattr(v, "value", v) for name, v in text.values.items()}


# ------------------------------------------------------------------------------ tilt


def test_a_lean_of_one_degree_is_drawn_as_ten() -> None:
    view = FrontView(
        width_mm=16.0, height_mm=14.0, tolerance_deg=0.5, now_deg=1.0, before_deg=(-1.2,)
    )
    picture = draw_front(view)
    assert said(picture.scale_note) == ("tilt.chart.exaggerated", {"times": 10})
    # The head's middle line, 1.15 x 14 = 16.1 mm long, leans 10° to the right: the left is high.
    arrow = one(picture, Arrow, MarkRole.NOW)
    assert isinstance(arrow, Arrow)
    assert (arrow.x0, arrow.y0) == (0.0, 0.0)
    assert (arrow.x1, arrow.y1) == pytest.approx((2.796, 15.855), abs=2e-3)
    # Corners of the body 8 mm to either side, 4 and 14 mm up: x cos + y sin, -x sin + y cos.
    body = places(one(picture, Shape, MarkRole.NOW))
    assert body[0] == body[-1] == (0.0, 0.0)
    for corner, expected in {
        1: (0.6 * 0.98481 + 4.0 * 0.17365, -0.6 * 0.17365 + 4.0 * 0.98481),
        2: (8.573, 2.550),  # 7.8785 + 0.6946, -1.3892 + 3.9392
        3: (10.310, 12.398),  # 7.8785 + 2.4311, -1.3892 + 13.7873
        4: (-5.447, 15.177),  # -7.8785 + 2.4311, 1.3892 + 13.7873
        5: (-7.184, 5.328),  # -7.8785 + 0.6946, 1.3892 + 3.9392
        6: (-0.6 * 0.98481 + 4.0 * 0.17365, 0.6 * 0.17365 + 4.0 * 0.98481),
    }.items():
        assert body[corner] == pytest.approx(expected, abs=2e-3)
    # A lean of 1.2° the other way, drawn as 12°: its left top corner is lower than its right.
    before = places(one(picture, Shape, MarkRole.BEFORE))
    assert before[4][1] < before[3][1]
    assert before[3] == pytest.approx(
        (8 * math.cos(math.pi / 15) - 14 * math.sin(math.pi / 15), 15.357), abs=2e-3
    )
    # The tolerance of 0.5° as 5°, over 1.2 x 14 = 16.8 mm: 1.464 aside, 16.736 up.
    left, right = of(picture, Curve, MarkRole.GOOD)
    assert places(left) == [(0.0, 0.0), (-1.464, 16.736)]
    assert places(right) == [(0.0, 0.0), (1.464, 16.736)]
    assert isinstance(left, Curve)
    assert isinstance(right, Curve)
    assert (left.label, said(right.label)[0]) == (None, "common.tolerance")
    # Half a body of 8: an edge at 1.7 x 8 + 2 = 15.6; up to 1.4 x 14 = 19.6, down to -2.1.
    assert axes(picture) == pytest.approx((-15.6, 15.6, -2.1, 19.6))
    assert places(one(picture, Curve, MarkRole.OUTLINE)) == [(-15.6, 0.0), (15.6, 0.0)]
    assert places(one(picture, Curve, MarkRole.GUIDE)) == [(0.0, 0.0), (0.0, 16.8)]
    tags = {said(tag.text)[0]: tag for tag in picture.items if isinstance(tag, Tag)}
    assert (tags["tilt.chart.left"].x, tags["tilt.chart.right"].x) == pytest.approx((-10.4, 10.4))
    assert {tag.y for tag in tags.values()} == {17.5}
    assert picture.fixed_aspect
    assert not picture.x.shown
    assert not picture.y.shown


@pytest.mark.parametrize(
    ("largest", "times"), [(1.4, 10), (1.41, 5), (2.8, 5), (2.81, 2), (7.0, 2), (7.1, None)]
)
def test_a_lean_is_drawn_as_large_as_fourteen_degrees_allow(
    largest: float, times: int | None
) -> None:
    for view in (
        FrontView(16.0, 14.0, 0.5, now_deg=-largest),
        FrontView(16.0, 14.0, 0.5, predicted_deg=largest),
        FrontView(16.0, 14.0, 0.5, before_deg=(-largest,)),
        FrontView(16.0, 14.0, largest),
    ):
        note = draw_front(view).scale_note
        assert (None if note is None else note.values["times"]) == times


def test_the_head_as_it_is_wanted_is_drawn_upright_until_it_is_read() -> None:
    picture = draw_front(FrontView(16.0, 5.0, 0.5, predicted_deg=-1.0))
    assert [x for x, _ in places(one(picture, Shape, MarkRole.TARGET))] == [
        *(0.0, 0.6, 8.0, 8.0, -8.0, -8.0, -0.6, 0.0)
    ]
    # A body of 5 mm is drawn 8 tall: 4 below it, and 4 of its own at least.
    assert max(y for _, y in places(one(picture, Shape, MarkRole.TARGET))) == 8.0
    assert not of(picture, Arrow, MarkRole.NOW)
    expected = places(one(picture, Shape, MarkRole.PREDICTED))
    assert expected[4][1] < expected[3][1]  # the right will be high
    assert said(picture.summary)[0] == "tilt.chart.summary.nothing"
    assert said(picture.summary)[1]["tolerance"] == 0.5


@pytest.mark.parametrize(("now", "side"), [(0.8, "left"), (-0.8, "right")])
def test_the_picture_of_a_lean_is_told_with_its_side_and_interval(now: float, side: str) -> None:
    picture = draw_front(FrontView(16.0, 14.0, 0.5, now_deg=now, half_width_deg=0.3))
    key, values = said(picture.summary)
    assert (key, values["side"], values["tilt"]) == ("tilt.chart.summary.lean", side, 0.8)
    assert picture.summary.values["tilt"] == Interval(0.8, 0.3, "°", 1)


def leaks(*settings: float, least: float = 1.0) -> tuple[LeakReading, ...]:
    """Return leaks of a floor of 0.02 about a setting: 20 lg of the root of tan² + floor²."""

    def db(setting: float) -> float:
        return 20.0 * math.log10(math.hypot(math.tan(math.radians(setting - least)), 0.02))

    return tuple(LeakReading(each, db(each), db(each) - 1.0) for each in settings)


def test_leaks_stand_over_their_settings_with_the_best_between_them() -> None:
    readings = leaks(-2.0, 0.0, 2.0, 4.0)
    fit = fit_crosstalk(readings, leak_standard_uncertainty_db=0.5)
    assert fit is not None
    picture = draw_leaks(LeakView(readings, 0.8, now_deg=4.0, fit=fit, predicted_deg=6.0))
    # The settings from -2 to 6, and a degree at either end.
    assert (picture.x.low, picture.x.high, picture.x.unit) == (-3.0, 7.0, "°")
    # tan 3° = 0.05241 and the floor of 0.02: 0.05610, -25.02 dB; tan 1° = 0.01746: 0.02655,
    # -31.52 dB. One dB less on the right: -32.52, so the foot is at -38.52; the top 4 over -20.
    assert picture.y.low == pytest.approx(-38.52, abs=0.01)
    assert (picture.y.high, picture.y.unit) == (-16.0, "dB")
    left, right = one(picture, Points, MarkRole.LEFT), one(picture, Points, MarkRole.RIGHT)
    assert [x for x, _ in places(left)] == [-2.0, 0.0, 2.0, 4.0]
    for points, less in ((left, 0.0), (right, 1.0)):
        expected = [level - less for level in (-25.022, -31.519, -31.519, -25.022)]
        assert [y for _, y in places(points)] == pytest.approx(expected, abs=2e-3)
    assert isinstance(left, Points)
    assert isinstance(right, Points)
    assert left.half_height is not None
    assert left.half_height.tolist() == [0.8] * 4
    assert said(left.label)[0] == "tilt.figure.left_in_right"
    assert said(right.label)[0] == "tilt.figure.right_in_left"
    best = one(picture, Rule, MarkRole.TARGET)
    assert isinstance(best, Rule)
    assert (best.axis, best.at) == ("x", pytest.approx(1.0, abs=1e-3))
    band = one(picture, Band, MarkRole.GOOD)
    assert isinstance(band, Band)
    low, high = fit.best_deg.interval()
    assert (band.axis, band.low, band.high) == ("x", pytest.approx(low), pytest.approx(high))
    assert 0.5 * (band.low + band.high) == pytest.approx(1.0, abs=1e-3)
    stands, tries = one(picture, Rule, MarkRole.NOW), one(picture, Rule, MarkRole.PREDICTED)
    assert isinstance(stands, Rule)
    assert isinstance(tries, Rule)
    assert (stands.at, tries.at) == (4.0, 6.0)
    for role in (MarkRole.LEFT, MarkRole.RIGHT):
        curve = one(picture, Curve, role)
        assert isinstance(curve, Curve)
        assert len(curve.x) == 161
        assert (curve.x[0], curve.x[-1]) == (-3.0, 7.0)
        assert curve.x[int(curve.y.argmin())] == pytest.approx(1.0, abs=0.04)
        assert curve.y.min() >= picture.y.low
        assert curve.y.max() <= picture.y.high
    key, values = said(picture.summary)
    assert (key, values["best"]) == ("tilt.leaks.with_best", fit.best_deg.value)
    read = picture.summary.values["read"]
    assert isinstance(read, Message)
    assert said(read)[1] == {
        "count": 4,
        "left": pytest.approx(-25.02, abs=0.01),
        "right": pytest.approx(-26.02, abs=0.01),
    }


def test_a_best_setting_off_the_chart_is_not_drawn_on_it() -> None:
    readings = leaks(-8.0, -7.0, -6.0)
    fit = fit_crosstalk(readings, leak_standard_uncertainty_db=0.01)
    assert fit is not None
    low, high = fit.best_deg.interval()
    picture = draw_leaks(LeakView(readings, 0.8, now_deg=-6.0, fit=fit))
    assert (picture.x.low, picture.x.high) == (-9.0, -5.0)
    assert bool(of(picture, Rule, MarkRole.TARGET)) is (fit.best_deg.value <= -5.0)
    assert bool(of(picture, Band, MarkRole.GOOD)) is (low < -5.0 and high > -9.0)
    without = draw_leaks(LeakView(readings, 0.8, now_deg=-6.0))
    assert not of(without, Curve, MarkRole.LEFT)
    assert said(without.summary)[0] == "tilt.leaks.read"


# ----------------------------------------------------------------------------- level

FEET = (
    FootMark(-180.0, -140.0, message("common.now")),
    FootMark(180.0, -140.0, message("common.now")),
    FootMark(0.0, 150.0, message("common.expected")),
)


def test_a_slope_is_drawn_to_its_high_side_and_its_reach_is_the_longest() -> None:
    picture = draw_level(
        LevelView(
            FEET,
            tolerance=1.0,
            now=(3.0, -4.0),
            half_width=0.6,
            before=((-6.0, 8.0), (1.0, 1.0)),
            predicted=(0.6, 0.8),
        )
    )
    # Lengths 5, 10, 1.41 and 1: the longest is 10, and 1.7 times that is shown every way.
    assert axes(picture) == pytest.approx((-17.0, 17.0, -17.0, 17.0))
    assert (picture.x.unit, picture.y.unit, picture.fixed_aspect) == ("mm/m", "mm/m", True)
    arrow = one(picture, Arrow, MarkRole.NOW)
    assert isinstance(arrow, Arrow)
    assert (arrow.x0, arrow.y0, arrow.x1, arrow.y1) == (0.0, 0.0, 3.0, -4.0)
    assert places(one(picture, Points, MarkRole.NOW)) == [(3.0, -4.0)]
    assert places(one(picture, Curve, MarkRole.BEFORE)) == [(-6.0, 8.0), (1.0, 1.0), (3.0, -4.0)]
    assert places(one(picture, Points, MarkRole.BEFORE)) == [(-6.0, 8.0), (1.0, 1.0)]
    assert places(one(picture, Points, MarkRole.PREDICTED)) == [(0.6, 0.8)]
    for item, middle, radius in (
        (one(picture, Shape, MarkRole.GOOD), (0.0, 0.0), 1.0),
        (one(picture, Shape, MarkRole.NOW), (3.0, -4.0), 0.6),
    ):
        around = [math.dist(middle, at) for at in places(item)]
        assert around == pytest.approx([radius] * 73, abs=2e-3)
    across, along = of(picture, Curve, MarkRole.GUIDE)
    assert places(across) == [(-17.0, 0.0), (17.0, 0.0)]
    assert places(along) == [(0.0, -17.0), (0.0, 17.0)]
    # The feet about their middle (0, 5): the farthest by 180 stands at 0.8 x 17 = 13.6.
    feet = places(one(picture, Points, MarkRole.OUTLINE))
    assert feet == [(-13.6, -10.956), (13.6, -10.956), (0.0, 10.956)]  # 145 x 13.6 / 180
    tags = [(tag.x, tag.y) for tag in picture.items if isinstance(tag, Tag)]
    assert tags == [
        pytest.approx((0.75 * x, y + 1.53), abs=1e-3)
        for x, y in feet  # 0.09 x 17
    ]
    key, values = said(picture.summary)
    assert (key, values["rest"]) == ("level.chart.summary.after_move", pytest.approx(1.0))
    now = picture.summary.values["now"]
    assert isinstance(now, Message)
    assert said(now)[1]["size"] == pytest.approx(5.0)
    assert said(now)[1]["ring"] == "outside"
    assert now.values["side"] == message("level.side", side="front right")


@pytest.mark.parametrize(
    ("right", "back", "side"),
    [
        *[(0.0, 1.0, "back"), (1.0, 1.0, "back right"), (1.0, 0.0, "right")],
        *[(1.0, -1.0, "front right"), (0.0, -1.0, "front"), (-1.0, -1.0, "front left")],
        *[(-1.0, 0.0, "left"), (-1.0, 1.0, "back left"), (0.3, 1.0, "back")],
        *[(0.5, 1.0, "back right"), (-1.0, 0.3, "left"), (-1.0, -0.5, "front left")],
    ],
)
def test_the_high_side_is_named_in_eighths(right: float, back: float, side: str) -> None:
    assert high_side(right, back) == message("level.side", side=side)


def test_one_direction_alone_is_a_line_across_it() -> None:
    # To the back right, 0.6 to the right and 0.8 back, a slope of 2: (1.2, 1.6) and square to it.
    view = LevelView(FEET, tolerance=1.0, line=(0.6, 0.8), along=2.0)
    picture = draw_level(view)
    assert axes(picture) == pytest.approx((-3.4, 3.4, -3.4, 3.4))
    line = places(one(picture, Curve, MarkRole.NOW))
    # 3.4 along (-0.8, 0.6) and back: -2.72 and 2.04.
    assert line == [pytest.approx((3.92, -0.44)), pytest.approx((-1.52, 3.64))]
    assert said(picture.summary) == (
        "level.chart.summary.one_direction",
        {"slope": 2.0, "tolerance": 1.0},
    )
    against = draw_level(LevelView(FEET, tolerance=1.0, line=(0.6, 0.8), along=-2.0))
    assert said(against.summary)[1]["slope"] == 2.0
    assert places(one(against, Curve, MarkRole.NOW))[0] == pytest.approx((1.52, -3.64))


def test_what_is_not_known_of_a_level_is_not_drawn() -> None:
    nothing = draw_level(LevelView(FEET, tolerance=1.0))
    assert said(nothing.summary)[0] == "level.chart.summary.nothing"
    assert axes(nothing) == pytest.approx((-1.7, 1.7, -1.7, 1.7))
    assert not [item for item in nothing.items if getattr(item, "role", None) == MarkRole.NOW]
    before = draw_level(LevelView(FEET, tolerance=1.0, before=((0.5, 0.5),)))
    assert said(before.summary)[0] == "level.chart.summary.before"
    assert places(one(before, Curve, MarkRole.BEFORE)) == [(0.5, 0.5)]
    exact = draw_level(LevelView(FEET, tolerance=1.0, now=(0.6, 0.8)))
    assert not of(exact, Shape, MarkRole.NOW)
    assert said(exact.summary)[1]["ring"] == "inside"  # exactly 1
    wide = draw_level(LevelView(FEET, tolerance=1.0, now=(1.0, 0.0), half_width=50.0))
    spread = places(one(wide, Shape, MarkRole.NOW))
    assert max(x for x, _ in spread) == pytest.approx(1.0 + 3.4)  # no more than twice the reach


# ------------------------------------------------------------------------- downforce

TITLE = message("common.now")
WANTED = DownforceBand(target_gf=2.0, low_gf=1.8, high_gf=2.2, stop_gf=3.0, tolerance_gf=0.05)
TRUE = ScaleWorth(correction=None, gain_share=0.005, read_gf=0.01)


def weighed(*shown: float) -> tuple[Weighing, ...]:
    return tuple(
        Weighing(step="final_downforce", shown_gf=each, pan_height_mm=None) for each in shown
    )


def weighings(
    before: Sequence[float],
    now: Sequence[float],
    mean: Estimate | None = None,
    predicted: Estimate | None = None,
    wanted: DownforceBand = WANTED,
) -> Picture:
    state = DownforceState(weighed(*before), weighed(*now), moved_since=False)
    return weighings_picture(TITLE, state, TRUE, wanted, mean, predicted)


def test_weighings_stand_in_their_order_with_their_mean() -> None:
    mean = Estimate(1.95, 0.02)
    half = mean.half_width()  # 1.96 times 0.02
    assert half == pytest.approx(0.0392, abs=1e-4)
    picture = weighings((1.7, 1.75), (1.94, 1.96), mean, Estimate(2.0, 0.03))
    assert places(one(picture, Points, MarkRole.BEFORE)) == [(1.0, 1.7), (2.0, 1.75)]
    assert places(one(picture, Points, MarkRole.NOW)) == [(3.0, 1.94), (4.0, 1.96)]
    expected = one(picture, Points, MarkRole.PREDICTED)
    assert places(expected) == [(5.0, 2.0)]
    assert isinstance(expected, Points)
    assert expected.half_height is not None
    assert expected.half_height.tolist() == pytest.approx([0.0588], abs=1e-4)  # 1.96 x 0.03
    middle, *edges = of(picture, Curve, MarkRole.NOW)
    assert places(middle) == [(2.7, 1.95), (4.3, 1.95)]
    assert [places(edge)[0] for edge in edges] == [
        (2.7, pytest.approx(1.9108, abs=1e-3)),
        (2.7, pytest.approx(1.9892, abs=1e-3)),
    ]
    bands = {band.role: (band.low, band.high) for band in picture.items if isinstance(band, Band)}
    assert bands == {
        MarkRole.ALLOWED: (1.8, 2.2),
        MarkRole.GOOD: (pytest.approx(1.95), pytest.approx(2.05)),
    }
    rules = {rule.role: rule.at for rule in picture.items if isinstance(rule, Rule)}
    assert rules == {MarkRole.TARGET: 2.0}  # 2.2 is below four fifths of the limit of 3
    # From 1.7 to 2.2, and 0.12 x 0.5 = 0.06 at either end; five places.
    assert axes(picture) == pytest.approx((0.5, 5.5, 1.64, 2.26))
    assert (picture.y.unit, picture.x.whole) == ("gf", True)
    key, values = said(picture.summary)
    assert key == "downforce.chart.weighed_again"
    assert values == {
        "standing": 2,
        "value": 1.95,
        "before": 2,
        "low": 1.8,
        "high": 2.2,
        "target": 2.0,
    }


def test_a_weighing_near_the_limit_shows_the_limit() -> None:
    for shown, rules in ((2.41, {2.0, 3.0}), (2.4, {2.0})):  # four fifths of 3 are 2.4
        picture = weighings((), (shown,), Estimate(shown, 0.01))
        assert {item.at for item in picture.items if isinstance(item, Rule)} == rules
        top = 3.0 + 0.12 * 1.2 if len(rules) == 2 else 2.4 + 0.12 * 0.6
        assert picture.y.high == pytest.approx(top)
        assert not of(picture, Curve, MarkRole.NOW)  # one weighing is its own mean
        assert said(picture.summary)[0] == "downforce.chart.weighed"


def test_the_axis_of_downforce_goes_below_nothing_only_for_an_arm_that_floats() -> None:
    low = weighings((), (0.02,), Estimate(0.02, 0.01))
    assert low.y.low == 0.0
    floats = weighings((), (-0.5,), Estimate(-0.5, 0.01))
    assert floats.y.low == pytest.approx(-0.5 - 0.12 * 2.7)
    assert axes(low)[:2] == (0.5, 3.5)  # room for three at least
    unsure = weighings((), (2.0,), None, Estimate(2.0, 50.0))
    dot = one(unsure, Points, MarkRole.PREDICTED)
    assert isinstance(dot, Points)
    assert dot.half_height is not None
    assert dot.half_height.tolist() == [3.0]  # no wider than the limit
    assert unsure.y.low == 0.0
    assert unsure.y.high == pytest.approx(5.0 + 0.12 * 6.0)


def test_nothing_weighed_and_nothing_since_are_told_apart() -> None:
    assert said(weighings((), ()).summary)[0] == "downforce.chart.nothing_weighed"
    key, values = said(weighings((1.9,), ()).summary)
    assert (key, values["before"]) == ("downforce.chart.none_since", 1)
    rough = DownforceBand(2.0, 1.8, 2.2, 3.0)
    assert not of(weighings((), (), wanted=rough), Band, MarkRole.GOOD)


# ------------------------------------------------------------------------ arm height


def test_the_arm_from_the_side_is_drawn_larger_by_the_largest_whole_scale() -> None:
    picture = side_view(
        SideView(
            length_mm=240.0,
            body_mm=14.0,
            tolerance_mm=0.5,
            now_mm=2.0,
            then_mm=-1.0,
            before_mm=(9.0, 1.0, -1.5, 0.5, 2.5),
            pending=False,
        )
    )
    # The last four of before; the largest is 2.5, and 0.22 x 240 = 52.8 holds it 20 times (50);
    # 20 times -1.5 would be 30 below a tube at 14 + 6 = 20, 10 times is 15.
    assert said(picture.scale_note) == ("arm_height.chart.scale", {"scale": 10})
    assert [places(c)[1] for c in of(picture, Curve, MarkRole.BEFORE)] == [
        *((240.0, 30.0), (240.0, 5.0), (240.0, 25.0), (240.0, 45.0))
    ]
    assert places(one(picture, Curve, MarkRole.TARGET)) == [(0.0, 20.0), (240.0, 20.0)]
    assert places(one(picture, Curve, MarkRole.NOW)) == [(0.0, 20.0), (240.0, 40.0)]
    assert places(one(picture, Curve, MarkRole.PREDICTED)) == [(0.0, 20.0), (240.0, 10.0)]
    wedge = places(one(picture, Shape, MarkRole.GOOD))
    assert wedge == [(0.0, 20.0), (240.0, 25.0), (240.0, 15.0)]
    cartridge, pillar = (places(shape) for shape in of(picture, Shape, MarkRole.OUTLINE))
    assert (0.0, 0.0) in cartridge  # the stylus on the record
    assert max(y for _, y in cartridge) == 20.0
    assert (min(x for x, _ in cartridge), max(x for x, _ in cartridge)) == (-9.0, 9.0)
    assert pillar == [(233.0, 0.0), (247.0, 0.0), (247.0, 18.0), (233.0, 18.0)]
    tag = one(picture, Tag, MarkRole.NOW)
    assert isinstance(tag, Tag)
    assert (tag.x, tag.y) == (240.0, pytest.approx(20.0 + 20.0 + 12.0))  # 0.05 x 240 above it
    assert said(tag.text)[1] == {"side": "high", "size": 2.0}
    # 25 either way of the tube at 20: down to 20 - 25 - 12, up to 20 + 25 + 0.12 x 240.
    assert axes(picture) == pytest.approx((-28.8, 268.8, -17.0, 73.8))
    assert said(picture.summary)[0] == "arm_height.chart.and_then"


def test_a_low_rear_and_an_arm_after_its_move_are_told_so() -> None:
    view = SideView(240.0, 14.0, 0.5, now_mm=-1.0, then_mm=None, before_mm=(), pending=False)
    picture = side_view(view)
    assert said(picture.summary) == ("arm_height.chart.now", {"side": "low", "size": 1.0})
    tag = one(picture, Tag, MarkRole.NOW)
    assert isinstance(tag, Tag)
    assert tag.y == pytest.approx(20.0 + 12.0)  # a tube that falls is named above its start
    pending = side_view(SideView(240.0, 14.0, 0.5, 1.0, None, (), pending=True))
    assert said(pending.summary) == ("arm_height.chart.expected", {"side": "high", "size": 1.0})
    assert not of(pending, Curve, MarkRole.NOW)
    assert places(one(pending, Curve, MarkRole.PREDICTED))[0] == (0.0, 20.0)
    empty = side_view(SideView(240.0, 14.0, 0.5, None, None, (), pending=False))
    assert said(empty.summary)[0] == "arm_height.chart.nothing_read"
    assert said(empty.scale_note)[1] == {"scale": 100}  # 50 of 52.8
    steep = side_view(SideView(240.0, 14.0, 0.5, -60.0, None, (), pending=False))
    assert said(steep.scale_note)[1] == {"scale": 1}
    flat = side_view(SideView(1000.0, 14.0, 0.2, None, None, (), pending=False))
    assert axes(flat)[2:] == pytest.approx((20.0 - 50.0 - 12.0, 20.0 + 50.0 + 120.0))


# ------------------------------------------------------------------------------ speed


def taken(error: float, speed: int = 0, sd: float = 0.05, calibration: float = 0.0) -> Taken:
    return Taken(speed, Estimate(error, sd), calibration, warm=True, way="strobe", long=True)


def test_errors_of_speed_stand_in_order_with_the_trim_between_them() -> None:
    # The example's tolerance is 0.3 %; DIN 45500 permits from -1 to +1.5 % (second-hand).
    on = deck(tolerances={"speed_percent": 0.3})
    events = (
        taken(0.9),
        Trimmed(0, -0.5),
        taken(0.2, sd=0.03, calibration=0.04),
        taken(-0.4, speed=1),
    )
    picture = errors_picture(on, events, frozenset({2, 3}), Estimate(0.1, 0.1))
    bands = {band.role: (band.low, band.high) for band in picture.items if isinstance(band, Band)}
    assert bands == {MarkRole.ALLOWED: (-1.0, 1.5), MarkRole.GOOD: (-0.3, 0.3)}
    rule = one(picture, Rule, MarkRole.TARGET)
    assert isinstance(rule, Rule)
    assert (rule.axis, rule.at) == ("y", 0.0)
    assert places(one(picture, Points, MarkRole.BEFORE)) == [(1.0, 0.9)]
    first, second = of(picture, Points, MarkRole.NOW)
    assert places(first) == [(2.0, 0.2)]
    assert places(second) == [(3.0, -0.4)]
    assert isinstance(first, Points)
    assert isinstance(second, Points)
    assert first.half_height is not None
    assert second.half_height is not None
    assert first.half_height.tolist() == pytest.approx([0.098], abs=1e-3)  # 1.96 x 0.05, as 3-4-5
    assert second.half_height.tolist() == pytest.approx([0.098], abs=1e-3)
    expected = one(picture, Points, MarkRole.PREDICTED)
    assert places(expected) == [(4.0, 0.1)]
    # Values from -2 x 0.3 to 0.9; 0.15 x 1.5 = 0.225 at either end; words 0.1125 over the top.
    assert axes(picture) == pytest.approx((0.5, 4.5, -0.825, 1.125))
    assert (picture.y.unit, picture.x.whole) == ("%", True)
    tag = one(picture, Tag, MarkRole.GUIDE)
    assert isinstance(tag, Tag)
    assert (tag.x, tag.y) == (1.5, pytest.approx(1.0125))
    assert said(tag.text) == ("speed.chart.turned", {"way": "less", "turns": Turns(-0.5)})
    key, values = said(picture.summary)
    assert (key, values["standing"], values["count"]) == ("speed.chart.summary", 2, 3)


@pytest.mark.parametrize(
    ("trim", "amount", "key", "way"),
    [
        ("screw", 0.5, "speed.chart.turned", "more"),
        ("screw", -0.5, "speed.chart.turned", "less"),
        ("electronic", 3.0, "speed.chart.steps", "more"),
        ("electronic", -3.0, "speed.chart.steps", "less"),
        ("screw", None, "speed.chart.trimmed", None),
    ],
)
def test_a_trim_in_the_chart_says_which_way(
    trim: str, amount: float | None, key: str, way: str | None
) -> None:
    events = (taken(0.9), Trimmed(0, amount))
    picture = errors_picture(deck(platter={"trim": trim}), events, frozenset(), None)
    tag = one(picture, Tag, MarkRole.GUIDE)
    assert isinstance(tag, Tag)
    assert said(tag.text)[0] == key
    assert tag.text.values.get("way") == way
    if trim == "electronic":
        assert said(tag.text)[1]["steps"] == 3.0
    assert axes(picture)[:2] == (0.5, 3.5)


def test_no_reading_of_speed_is_told_so_and_a_wide_guess_is_cut() -> None:
    on = deck(tolerances={"speed_percent": 0.3})
    picture = errors_picture(on, (), frozenset(), Estimate(0.0, 40.0))
    assert said(picture.summary) == ("speed.chart.nothing_read", {"tolerance": 0.3})
    assert axes(picture) == pytest.approx((0.5, 3.5, -0.78, 0.78))  # 0.6, and 0.15 x 1.2
    dot = one(picture, Points, MarkRole.PREDICTED)
    assert isinstance(dot, Points)
    assert places(dot) == [(1.0, 0.0)]
    assert dot.half_height is not None
    assert dot.half_height.tolist() == [10.0]


# ------------------------------------------------------------------------------ mount


def test_the_curve_of_resonance_runs_through_the_handbook_s_figures() -> None:
    """159 / sqrt(M C) (handbook form): 16 g and 15 µm/mN 10.3 Hz, 16 and 25 8.0, 16 and 10 12.6."""
    picture = draw_mount(MountView(16.0, Span(10.0, 15.0, 25.0), before_g=(25.0,), predicted_g=9.0))
    now, before, after = (
        one(picture, Curve, role) for role in (MarkRole.NOW, MarkRole.BEFORE, MarkRole.PREDICTED)
    )
    for curve, mass in ((now, 16.0), (before, 25.0), (after, 9.0)):
        assert isinstance(curve, Curve)
        for x, y in zip(curve.x, curve.y, strict=True):
            assert y == pytest.approx(159.15 / math.sqrt(mass * x), rel=1e-4)
        assert curve.x[-1] == pytest.approx(40.0)
        assert curve.y[0] == pytest.approx(20.0)  # where it leaves the chart at the top
    shape = places(one(picture, Shape, MarkRole.NOW))
    low, high = 159.155 / 20.0, 159.155 / math.sqrt(160.0)
    assert shape == [
        (10.0, pytest.approx(low, abs=1e-3)),
        (25.0, pytest.approx(low, abs=1e-3)),
        (25.0, pytest.approx(high, abs=1e-3)),
        (10.0, pytest.approx(high, abs=1e-3)),
        (10.0, pytest.approx(low, abs=1e-3)),
    ]
    dot = one(picture, Points, MarkRole.NOW)
    assert places(dot) == [(15.0, pytest.approx(159.155 / math.sqrt(240.0), abs=1e-3))]
    assert isinstance(dot, Points)
    assert dot.half_height is not None
    assert dot.half_height[0] == pytest.approx(0.5 * (high - low), abs=1e-3)
    band = one(picture, Band, MarkRole.GOOD)
    assert isinstance(band, Band)
    assert (band.axis, band.low, band.high) == ("y", 8.0, 12.0)  # common practice
    assert axes(picture) == (0.0, 40.0, 0.0, 20.0)
    assert (picture.x.unit, picture.y.unit) == ("µm/mN", "Hz")
    assert said(picture.summary)[1] == {
        "band": "inside",
        "mass": 16.0,
        "resonance": pytest.approx(10.27, abs=0.01),
    }


def test_a_chart_of_resonance_makes_room_for_what_is_stiff_or_soft() -> None:
    stiff = draw_mount(MountView(10.0, Span(2.0, 4.0, 6.0)))
    # 159.155 / sqrt(20) = 35.59 Hz, and a fifth more.
    assert stiff.y.high == pytest.approx(42.7, abs=0.01)
    assert said(stiff.summary)[1]["band"] == "outside"
    soft = draw_mount(MountView(10.0, Span(30.0, 40.0, 50.0)))
    assert soft.x.high == pytest.approx(65.0)
    curve = one(stiff, Curve, MarkRole.NOW)
    assert isinstance(curve, Curve)
    assert curve.y[0] == pytest.approx(42.7, abs=0.01)
    light = draw_mount(MountView(1.0, None))
    curve = one(light, Curve, MarkRole.NOW)
    assert isinstance(curve, Curve)
    assert curve.x[0] == pytest.approx(20.0)  # half the width at most is left out
    # 1 g is at 12 Hz with 176 µm/mN and at 8 Hz with 396: (159.155 / 12)² and (159.155 / 8)².
    key, values = said(light.summary)
    assert key == "mount.chart.summary.compliance_unknown"
    assert values["low"] == pytest.approx(175.9, abs=0.1)
    assert values["high"] == pytest.approx(395.8, abs=0.1)


# ---------------------------------------------------------------------------- skating


def test_side_force_is_drawn_as_vectors_make_it() -> None:
    """Drag lies along the groove; what of it is square to the arm drives the arm inward."""
    seen = any_context("skating", on=deck())
    force = side_force_of(seen)
    assert force is not None
    settings = settings_of(seen.deck, force)
    assert settings is not None
    picture = force_picture(force, settings, (0, 2, 2, 4))
    usual = one(picture, Curve, MarkRole.TARGET)
    assert isinstance(usual, Curve)
    for radius, drawn in zip(usual.x, usual.y, strict=True):
        # The spindle at the origin, the pivot at (222, 0), the stylus where both circles meet.
        across = (radius**2 - LENGTH**2 + D**2) / (2.0 * D)
        stylus = complex(across, math.sqrt(radius**2 - across**2))
        tangent = 1j * stylus / abs(stylus)
        arm = (complex(D, 0.0) - stylus) / LENGTH
        square = abs((tangent * arm.conjugate()).imag)
        assert drawn == pytest.approx(0.3 * 2.0 * square, rel=1e-6)
    assert (usual.x[0], usual.x[-1]) == pytest.approx((60.325, 146.05))
    wide, narrow = one(picture, Shape, MarkRole.ALLOWED), one(picture, Shape, MarkRole.GOOD)
    for shape, low, high in ((wide, 0.2, 0.5), (narrow, 0.25, 0.3)):
        assert isinstance(shape, Shape)
        count = len(usual.x)
        assert shape.x[:count].tolist() == usual.x.tolist()
        assert shape.x[count:].tolist() == usual.x[::-1].tolist()
        assert shape.y[:count] == pytest.approx(usual.y * low / 0.3)
        assert shape.y[count:] == pytest.approx(usual.y[::-1] * high / 0.3)
        assert shape.filled
    now = one(picture, Curve, MarkRole.NOW)
    assert places(now) == [(55.0, round(settings.force_gf[4], 3)), (150.0, places(now)[0][1])]
    earlier = [places(curve)[0][1] for curve in of(picture, Curve, MarkRole.BEFORE)]
    assert earlier == [round(settings.force_gf[place], 3) for place in (0, 2)]  # each once
    top = max(float(usual.y.max()) * 5.0 / 3.0, settings.force_gf[4])
    assert axes(picture) == pytest.approx((55.0, 150.0, -0.1 * top, 1.1 * top))
    assert (picture.x.unit, picture.y.unit) == ("mm", "gf")


def test_a_chart_of_skating_says_where_there_is_none_and_where_it_turns() -> None:
    none = force_picture(None, None, ())
    assert said(none.summary)[0] == "skating.chart.no_force_anywhere"
    assert axes(none) == (55.0, 150.0, -0.1, 0.4)
    # An arm of 222 mm under one of 240 turns at sqrt(240² - 222²) = sqrt(8316) = 91.2 mm.
    under = deck(
        arm={"kind": "pivoted straight", "pivot_to_spindle_mm": 240.0}
        | {"effective_length_mm": 222.0, "offset_deg": 0.0}
    )
    force = side_force_of(any_context("skating", on=under))
    assert force is not None
    picture = force_picture(force, None, ())
    (turn,) = [
        r for r in of(picture, Rule, MarkRole.GUIDE) if isinstance(r, Rule) and r.axis == "x"
    ]
    assert isinstance(turn, Rule)
    assert turn.at == pytest.approx(91.19, abs=0.01)
    assert picture.y.low < 0.0 < picture.y.high
    set_to = Settings(deck().skating.control, (0.0, 1.0), (0.0, 0.9), by_rule=0)
    beyond = force_picture(force, set_to, (1,))
    assert beyond.y.high > 0.9
    assert not of(beyond, Curve, MarkRole.BEFORE)


# -------------------------------------------------------------------------- alignment


def test_distortion_is_drawn_as_the_head_s_angle_and_the_groove_s_speed_make_it() -> None:
    """100 mm/s across a groove that runs at 2π r 33⅓ / 60: the lean of the head by vectors."""
    judged = assess(context([both(1.0, 1.2, 0.6)]))
    picture = judged.picture
    assert picture is not None
    target, now = one(picture, Curve, MarkRole.TARGET), one(picture, Curve, MarkRole.NOW)
    assert isinstance(target, Curve)
    assert isinstance(now, Curve)
    assert len(target.x) == 90
    assert (target.x[0], target.x[-1]) == pytest.approx((60.325, 146.05))
    for radius, drawn in zip(target.x, target.y, strict=True):
        lean = math.tan(math.radians(abs(head_angle(LENGTH, OFFSET, radius))))
        groove = 2.0 * math.pi * radius * (100.0 / 3.0) / 60.0
        assert drawn == pytest.approx(100.0 * 100.0 * lean / groove, abs=2e-3)
    assert float(now.y.max()) > float(target.y.max())
    nulls = [r.at for r in of(picture, Rule, MarkRole.TARGET) if isinstance(r, Rule)]
    assert nulls == pytest.approx([65.998, 120.891], abs=2e-3)
    edges = [r.at for r in of(picture, Rule, MarkRole.GUIDE) if isinstance(r, Rule)]
    assert edges == pytest.approx([60.325, 146.05])
    assert axes(picture)[:2] == pytest.approx((54.325, 152.05))  # 6 mm more at either end
    highest = max(float(target.y.max()), float(now.y.max()))
    band = one(picture, Band, MarkRole.GOOD)
    assert isinstance(band, Band)
    assert (band.axis, band.low) == ("y", 0.0)
    highest = max(highest, band.high)
    assert axes(picture)[2:] == pytest.approx((0.0, 1.15 * highest))
    dots = one(picture, Points, MarkRole.NOW)
    assert isinstance(dots, Points)
    tags = [tag for tag in picture.items if isinstance(tag, Tag)]
    for tag, (x, y) in zip(tags, zip(dots.x, dots.y, strict=True), strict=True):
        assert (tag.x, tag.y) == pytest.approx((x, y + 0.07 * highest), rel=1e-6)
    assert dots.x.tolist() == pytest.approx([65.998, 120.891], abs=2e-3)
