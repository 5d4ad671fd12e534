"""The practice deck's mechanics against facts that stand outside it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from core.practice.grooves import NULLS_MM, landing_mm, simple, wanted_for, worst_percent
from core.practice.plinth import (
    FOOT_GIVES_GF_PER_MM,
    WEIGHT_GF,
    SupportPoint,
    rise_along,
    surface_of,
)
from core.practice.rehearsal import new_rehearsal
from core.practice.tonearm import Build, pose_of
from core.practice.vectors import Vector, length, minus, turned
from core.practice.world import World
from tests.core.practice.worlds import plain_build, plain_world


def _three(values: NDArray[np.float64]) -> Vector:
    x, y, z = (float(value) for value in values)
    return x, y, z


def test_turning_a_vector_is_what_a_reference_library_does() -> None:
    rng = np.random.default_rng(1)
    for _ in range(50):
        vector, axis = rng.standard_normal(3), rng.standard_normal(3)
        angle = float(rng.uniform(-4, 4))
        expected = Rotation.from_rotvec(angle * axis / np.linalg.norm(axis)).apply(vector)
        found = turned(_three(vector), _three(axis), angle)
        assert found == pytest.approx(tuple(expected), abs=1e-12)


def test_three_feet_carry_the_plane_through_their_heads_as_far_as_they_are_pressed_in() -> None:
    feet = [SupportPoint(-175, -140, 1.0), SupportPoint(175, -140, 2.0), SupportPoint(0, 140, 0.5)]
    plane = surface_of(feet)
    places = np.array([[f.x_mm, f.y_mm, 1.0] for f in feet])
    # what each foot bears: the three sum to the weight, their moments about its middle to nil
    loads = np.linalg.solve(places.T, [0.0, 0.0, WEIGHT_GF])
    heads = np.array([f.height_mm for f in feet]) - loads / FOOT_GIVES_GF_PER_MM
    assert plane == pytest.approx(tuple(np.linalg.solve(places, heads)), abs=1e-9)


def test_springy_feet_rest_on_the_plane_of_least_squares() -> None:
    # Equal springs balance where the sum of squares is least (derived); small steps keep all down.
    heights = (0.02, -0.03, 0.01, 0.05)
    corners = ((-200, -150), (200, -150), (-200, 150), (200, 150))
    feet = [SupportPoint(x, y, h) for (x, y), h in zip(corners, heights, strict=True)]
    places = np.array([[x, y, 1.0] for x, y in corners])
    slope, *_ = np.linalg.lstsq(places, np.array(heights), rcond=None)
    assert surface_of(feet)[:2] == pytest.approx(slope[:2], abs=1e-12)


def test_a_foot_that_is_much_too_short_hangs_free() -> None:
    feet = [
        SupportPoint(-200, -150, 0),
        SupportPoint(200, -150, 0),
        SupportPoint(-200, 150, 0),
        SupportPoint(200, 150, -9),
    ]
    # on the other three, one of which bears nothing as the weight lies over the line of two
    low = surface_of([*feet[:3], SupportPoint(200, 150, -30)])
    assert surface_of(feet) == pytest.approx(low)
    assert max(abs(value) for value in low[:2]) < 1e-3


@pytest.mark.parametrize("seed", range(40))
def test_no_foot_pulls_and_what_presses_carries_the_weight(seed: int) -> None:
    # Statics (derived): springs push or hang free; pushes sum to the weight, moments to nil.
    rng = np.random.default_rng(seed)
    corners = ((-200, -150), (200, -150), (-200, 150), (200, 150))
    places = [(x + rng.uniform(-60, 60), y + rng.uniform(-60, 60)) for x, y in corners]
    feet = [SupportPoint(x, y, float(rng.uniform(-3, 3))) for x, y in places]
    right, back, height = surface_of(feet)
    pressed = [
        max(f.height_mm - (right * f.x_mm + back * f.y_mm + height), 0.0) * FOOT_GIVES_GF_PER_MM
        for f in feet
    ]
    assert sum(pressed) == pytest.approx(WEIGHT_GF)
    assert sum(push * f.x_mm for push, f in zip(pressed, feet, strict=True)) == pytest.approx(
        0.0, abs=1e-3
    )
    assert sum(push * f.y_mm for push, f in zip(pressed, feet, strict=True)) == pytest.approx(
        0.0, abs=1e-3
    )


def test_a_slope_is_seen_along_any_direction() -> None:
    plane = (0.003, -0.001, 0.0)  # rises to the right and to the front
    assert rise_along(plane, 90.0) == pytest.approx(3.0)
    assert rise_along(plane, 180.0) == pytest.approx(1.0)
    assert rise_along(plane, 45.0) == pytest.approx((3.0 - 1.0) / math.sqrt(2.0))


def test_a_counterweight_of_100_g_gives_0_4348_gf_for_a_millimetre_at_230_mm() -> None:
    build = plain_build(middle_mm=230.0, middle_deg=0.0, weight_g=100.0)
    nearer = replace(build, weight_behind_mm=build.weight_behind_mm - 1.0)
    change = pose_of(nearer).downforce_gf - pose_of(build).downforce_gf
    assert change == pytest.approx(0.4348, abs=2e-4)  # moments, derived


def test_7_g_slid_by_1_5_mm_at_230_mm_change_downforce_by_0_046_gf() -> None:
    build = plain_build(middle_mm=230.0, middle_deg=0.0, head_g=7.0)
    build = replace(
        build, arm_forward_mm=-build.middle_mm * pose_of(build).downforce_gf / build.arm_g
    )
    slid = replace(build, slide_mm=1.5)
    change = pose_of(slid).downforce_gf - pose_of(build).downforce_gf
    assert change == pytest.approx(7 * 1.5 / 230, abs=1e-3)  # moments, derived


def test_a_millimetre_at_the_pillar_is_a_quarter_of_a_degree_at_230_mm() -> None:
    build = plain_build(middle_mm=230.0, middle_deg=0.0, gives_um_per_mn=0.0)
    pitch = pose_of(replace(build, bearing_mm=1.0)).pitch_deg
    assert pitch == pytest.approx(0.249, abs=5e-4)  # 4 mm is about one degree (practice)
    assert pose_of(replace(build, bearing_mm=4.0)).pitch_deg == pytest.approx(0.996, abs=2e-3)


def test_pitch_tilts_an_offset_head_only_when_the_bearing_is_square_to_the_tube() -> None:
    build = plain_build(bearing_mm=4.0, gives_um_per_mn=0.0)
    pose = pose_of(build)
    expected = pose.pitch_deg * math.sin(math.radians(build.middle_deg))  # small angles, derived
    assert pose.tilt_deg == pytest.approx(expected, rel=0.02)
    square = pose_of(replace(build, lift_square_to_head=True))
    assert square.tilt_deg == pytest.approx(0.0, abs=1e-6)


def test_the_stylus_always_rests_on_the_record() -> None:
    for bearing in (-6.0, 0.0, 3.0):
        for roll in (-3.0, 0.0, 2.0):
            pose = pose_of(plain_build(bearing_mm=bearing, roll_deg=roll, twist_deg=1.0))
            assert pose.bearing_mm + pose.tip[2] == pytest.approx(0.0, abs=1e-9)


def test_the_suspension_gives_by_its_compliance() -> None:
    # 10 um/mN under 2 gf, 19.61 mN, is 0.196 mm: the rear is then high by as much.
    stiff = plain_build(gives_um_per_mn=0.0)
    downforce = pose_of(stiff).downforce_gf
    soft = pose_of(replace(stiff, gives_um_per_mn=10.0))
    sink = 10.0 * 9.80665 * downforce / 1000.0
    reach = stiff.middle_mm
    assert math.tan(math.radians(soft.pitch_deg)) * reach == pytest.approx(sink, rel=0.01)


def test_a_shim_under_the_left_screw_presses_that_side_down() -> None:
    pose = pose_of(plain_build(side_shim_mm=0.2, gives_um_per_mn=0.0))
    assert pose.tilt_deg == pytest.approx(-math.degrees(math.atan(0.2 / 12.7)), rel=0.02)
    assert pose_of(plain_build(roll_deg=1.0)).tilt_deg > 0.9


def test_sliding_forward_lengthens_the_arm_and_opens_the_offset() -> None:
    build = plain_build()
    before, after = pose_of(build), pose_of(replace(build, slide_mm=1.0))
    offset = math.radians(build.middle_deg)
    assert after.reach_mm - before.reach_mm == pytest.approx(math.cos(offset), abs=0.01)
    turned_by = -math.degrees(math.sin(offset) / build.middle_mm)
    assert after.offset_deg - before.offset_deg == pytest.approx(turned_by, abs=0.005)


@pytest.mark.parametrize(
    ("pivot", "reach", "offset"),
    # Löfgren A for grooves of 60.325 to 146.05 mm, computed twice outside this program.
    [(212.0, 230.049, 23.966), (220.0, 237.442, 23.175), (222.0, 239.296, 22.986)],
)
def test_the_wanted_alignment_is_the_printed_one(pivot: float, reach: float, offset: float) -> None:
    wanted = wanted_for(pivot)
    assert wanted.reach_mm == pytest.approx(reach, abs=0.002)
    assert wanted.offset_deg == pytest.approx(offset, abs=0.002)


def test_the_worst_distortion_is_the_printed_one() -> None:
    # 0.618 % for D = 222 mm at 33 1/3 rpm and 100 mm/s peak, computed outside this program.
    assert worst_percent(simple(222.0, 239.296, 22.986)) == pytest.approx(0.618, abs=0.001)


def test_the_stylus_meets_the_groove_where_two_circles_meet() -> None:
    swing = simple(222.0, 239.296, 22.986)
    for radius in (60.325, 90.0, 146.05):
        stylus, _ = swing.on_groove(radius)
        angle = brentq(
            lambda a, r=radius: (
                math.dist((r * math.cos(a), r * math.sin(a)), (222.0, 0.0)) - 239.296
            ),
            -math.pi,
            0.0,
        )
        assert stylus[:2] == pytest.approx(
            (radius * math.cos(angle), radius * math.sin(angle)), abs=1e-9
        )
        assert length(minus(stylus, (222.0, 0.0, 0.0))) == pytest.approx(239.296)


def test_the_head_stands_true_at_the_null_radii_and_lands_where_it_is_drawn() -> None:
    swing = simple(222.0, 239.296, 22.986)
    for radius in NULLS_MM:
        assert swing.error_deg(radius) == pytest.approx(0.0, abs=0.002)
    assert landing_mm(swing, 222.0, 239.296, NULLS_MM[0]) == pytest.approx(0.0, abs=1e-9)
    longer = simple(222.0, 240.296, 22.986)
    assert landing_mm(longer, 222.0, 239.296, NULLS_MM[0]) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(
    ("roll", "leak_db"), [(0.5, -41.18), (1.0, -35.16), (2.0, -29.14), (3.0, -25.61)]
)
def test_a_pure_tilt_leaks_as_45_45_geometry_says(roll: float, leak_db: float) -> None:
    left, right = plain_world().leaks(roll)
    assert 20 * math.log10(abs(left)) == pytest.approx(leak_db, abs=0.01)
    assert 20 * math.log10(abs(right)) == pytest.approx(leak_db, abs=0.01)


def test_least_leaks_where_the_generator_stands_upright() -> None:
    world = plain_world()
    world.roll.place = 1.5
    assert world.least_leak_deg() == pytest.approx(-world.pose().tilt_deg, abs=0.02)


def test_side_force_is_friction_times_downforce_times_the_sine_of_the_arms_angle() -> None:
    world = plain_world()
    world.friction = 0.3
    # At the outer null the groove is along the head: the sine is that of the offset (derived).
    seen = simple(222.0, 239.296, 22.986)
    share = math.sin(math.radians(22.986 + seen.error_deg(NULLS_MM[1])))
    found = world.side_force_gf(NULLS_MM[1]) / world.downforce_gf
    assert found == pytest.approx(0.3 * share, rel=0.01)  # 0.117 of downforce at 23 degrees


def test_a_millimetre_a_metre_is_0_0573_degrees() -> None:
    assert math.degrees(math.atan(rise_along((0.001, 0.0, 0.0), 90.0) / 1000.0)) == pytest.approx(
        0.0573, abs=5e-5
    )


def test_nothing_here_moves_what_it_was_not_told_to() -> None:
    world: World = plain_world()
    build: Build = world.arm()
    assert build == world.build


def test_an_arm_floats_again_where_the_ends_of_its_spring_would_let_it_rest_nowhere() -> None:
    world = new_rehearsal(3, number=27).world  # a parallel arm: a spring of 200 gf turns it over
    assert world.float_and_set(1.0)
    assert world.downforce_gf == pytest.approx(1.0, abs=1e-6)
    stood = world.weight.place
    assert not world.float_and_set(-1.0)  # a spring at 0 does not lift
    assert world.weight.place == stood
