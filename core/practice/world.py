"""The true state of a practice deck, which the wizard never sees."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Final

from core.practice.grooves import INNER_GROOVE_MM, OUTER_GROOVE_MM, Swing, radii
from core.practice.knob import Knob
from core.practice.plinth import SupportPoint, surface_of
from core.practice.tonearm import Build, Pose, pose_of
from core.practice.vectors import UP, Vector, cross, dot, least_between, root_between, turned
from core.records import ArmKind, Balance, Cartridge, Deck, HeadKind, Mounting, SkatingControl
from core.steps.speed import speed_key, speed_named


@dataclass(slots=True)
class SignalGenerator:
    """The coils of the cartridge: how they stand in the body, and what leaks between them.

    ``leak_left``, ``leak_right`` are what each channel leaks into the other by itself, complex:
    size and phase.
    """

    lean_deg: float = 0.0
    leak_left: complex = 0.0
    leak_right: complex = 0.0
    left_db: float = 0.0
    right_db: float = 0.0


@dataclass(slots=True)
class InstrumentErrors:
    """Errors of the instruments themselves."""

    level_zero_mm_per_m: float = 0.0
    scale_gain: float = 1.0
    scale_offset_gf: float = 0.0
    check_weight_g: float = 2.0
    lamp_share: float = 0.0
    readout_share: float = 0.0
    ear_db: float = 1.0
    dial_gain: float = 1.0
    record_share: float = 0.0
    """By how much the test record's tones were cut too high."""
    scale_holds: bool = False
    """The scale shows its first value for ever."""


@dataclass(slots=True)
class World:
    """The true state of one deck with one cartridge.

    Everything a hand can move is a :class:`Knob`; everything else was drawn at the start. `shelf`
    is the slope of what the deck stands on, to the right and to the back, mm/m; `weight` the
    counterweight, mm toward the pivot from where it began, or the dial, gf.
    """

    deck: Deck
    cartridge: Cartridge
    shelf: tuple[float, float]
    feet: dict[str, Knob]
    foot_shims: dict[str, Knob]
    build: Build
    pivot_mm: float
    weight: Knob
    pillar: Knob
    head_shim: Knob
    slide: Knob
    twist: Knob
    arm_base: Knob
    roll: Knob
    side_shim: Knob
    skating: Knob
    skating_gf_per_mark: float
    friction: float
    speeds: dict[str, float]
    trims: dict[str, Knob]
    cold_percent: float
    generator: SignalGenerator
    tools: InstrumentErrors
    added_g: Knob = field(default_factory=Knob)
    record_mm: Knob = field(default_factory=Knob)
    path_mm: float = 0.0
    _pose: tuple[object, Pose] | None = None
    scale_held_gf: float | None = None

    def surface(self) -> tuple[float, float, float]:
        """Return the plane of the plinth."""
        stands = [
            SupportPoint(
                foot.x_mm,
                foot.y_mm,
                (self.shelf[0] * foot.x_mm + self.shelf[1] * foot.y_mm) / 1000.0
                + self.feet[foot.name].place
                + self.foot_shims[foot.name].place,
            )
            for foot in self.deck.plinth.feet
        ]
        return surface_of(stands)

    def slope(self) -> tuple[float, float]:
        """Return the slope of the plinth to the right and to the back, mm per metre."""
        right, back, _ = self.surface()
        return 1000.0 * right, 1000.0 * back

    def arm(self) -> Build:
        """Return the arm as its knobs stand."""
        dial = self.deck.arm.balance is Balance.DYNAMIC
        return replace(
            self.build,
            slide_mm=self.slide.place,
            twist_deg=self.twist.place,
            head_shim_mm=self.head_shim.place,
            side_shim_mm=self.side_shim.place,
            roll_deg=self.roll.place,
            bearing_mm=self.build.bearing_mm + self.pillar.place - self.record_mm.place,
            head_g=self.build.head_g + self.added_g.place,
            weight_behind_mm=self.build.weight_behind_mm - (0.0 if dial else self.weight.place),
            spring_gf=self.weight.place if dial else 0.0,
        )

    def pose(self) -> Pose:
        """Return how the arm rests on the record now."""
        build = self.arm()
        if self._pose is None or self._pose[0] != build:
            self._pose = (build, pose_of(build))
        return self._pose[1]

    @property
    def downforce_gf(self) -> float:
        """What the stylus bears on the record; below 0 the arm floats."""
        return self.pose().downforce_gf

    def float_and_set(self, downforce_gf: float) -> bool:
        """Float the arm, and put so much on; return whether the weight can be moved so far.

        The weight, or the spring, is set by what the arm then bears: its dial is a thing of its
        own (:attr:`InstrumentErrors.dial_gain`), whatever is stated of the thread.
        """
        knob = self.weight
        if knob.held:
            return False
        before = knob.place

        def over(place: float) -> float:
            knob.place = place
            return self.downforce_gf - downforce_gf

        # Outward from where it stands: at the ends of its travel the arm may rest nowhere.
        way = math.copysign(1.0, -over(before))
        far, end = before, knob.high if way > 0.0 else knob.low
        while over(far) * way < 0.0:
            if far == end:
                knob.place = before
                return False
            far = min(far + 1.0, end) if way > 0.0 else max(far - 1.0, end)
        knob.place = root_between(over, *sorted((before, far)))
        return True

    def swing(self) -> Swing:
        """Return the arm as seen from above."""
        pose = self.pose()
        return Swing(self.pivot_mm + self.arm_base.place, pose.tip, pose.ahead)

    def ahead_of_radius_mm(self) -> float:
        """Return how far a parallel arm's stylus runs ahead of its radius."""
        pose = self.pose()
        return self.path_mm + self.arm_base.place + pose.tip[0] - self.build.middle_mm

    def head_out_deg(self) -> float:
        """Return a parallel arm's head angle to the line square to its path, out is plus."""
        ahead = self.pose().ahead
        return math.degrees(math.atan2(ahead[1], ahead[0]))

    def leaks(self, more_roll_deg: float = 0.0) -> tuple[complex, complex]:
        """Return what leaks: left into right on a left band, right into left on a right band.

        With the head turned by `more_roll_deg` from where it stands. Each groove wall moves the
        stylus square to itself, at 45 degrees; each coil hears the part along its own direction,
        which leans with the cartridge. The wrong coil's share of the right one's is the leak; the
        generator's own leak adds to it.
        """
        pose = self.pose()
        turn = -math.radians(more_roll_deg - self.generator.lean_deg)
        across = turned(pose.across, pose.ahead, turn)
        upward = turned(pose.upward, pose.ahead, turn)
        level = cross(UP, pose.ahead)
        size = math.hypot(level[0], level[1])
        level = (level[0] / size, level[1] / size, 0.0)
        # The inner wall, on the left seen from the front, carries the left channel: its normal
        # points up and outward.
        left_wall, right_wall = _diagonal(level, 1.0), _diagonal(level, -1.0)
        left_coil = _leaning(across, upward, 1.0)
        right_coil = _leaning(across, upward, -1.0)
        left = dot(left_wall, right_coil) / dot(left_wall, left_coil)
        right = dot(right_wall, left_coil) / dot(right_wall, right_coil)
        return left + self.generator.leak_left, right + self.generator.leak_right

    def least_leak_deg(self) -> float:
        """Return how far the head would have to turn, left up, for the least that leaks."""

        def power(roll: float) -> float:
            left, right = self.leaks(roll)
            return abs(left) ** 2 + abs(right) ** 2

        return least_between(power, -12.0, 12.0)

    def side_force_gf(self, radius_mm: float) -> float:
        """Return the pull toward the spindle, square to the arm, at a groove.

        The record drags the stylus along the groove with friction times downforce; the arm takes
        up what lies along its own line. What is left, square to it, is the side force.
        """
        swing = self.swing()
        drag = self.friction * max(self.downforce_gf, 0.0)
        return drag * swing.line_out(radius_mm)

    def mean_side_force_gf(self) -> float:
        """Return the mean of that over the grooves."""
        places = radii()
        return math.fsum(self.side_force_gf(radius) for radius in places) / len(places)

    def compensation_gf(self) -> float:
        """Return what the skating control pushes outward at the stylus."""
        skating = self.deck.skating
        if skating.control is SkatingControl.THREAD_WEIGHT:
            levers = sorted(skating.notch_levers_mm)
            place = round(self.skating.place)
            lever = levers[place - 1] if place > 0 else 0.0
            return self.skating_gf_per_mark * skating.thread_weight_g * lever / self.pose().reach_mm
        return self.skating_gf_per_mark * self.skating.place

    def speed_at(self, where: str) -> str:
        """Return the key of the speed that a reading or a move names; the same if there is none."""
        rpms = self.deck.platter.speeds_rpm
        named = speed_named(where, rpms)
        return where if named is None else speed_key(rpms[named])

    def rpm(self, where: str, *, warm: bool = True) -> float:
        """Return how fast the platter turns at one of its speeds."""
        key = self.speed_at(where)
        trim = self.trims.get(key) or self.trims.get("")
        share = 1.0 + (trim.place / 100.0 if trim is not None else 0.0)
        cold = 1.0 if warm else 1.0 + self.cold_percent / 100.0
        return self.speeds[key] * share * cold

    @property
    def slides(self) -> bool:
        """Whether the cartridge can be slid in its head."""
        return (
            self.deck.head.kind is HeadKind.SLOTS
            and self.cartridge.mounting is not Mounting.PLUG_IN
        )

    @property
    def is_parallel(self) -> bool:
        """Whether the arm runs along a radius."""
        return self.deck.arm.kind is ArmKind.PARALLEL


def _diagonal(level: Vector, side: float) -> Vector:
    return (side * level[0], side * level[1], 1.0)


def _leaning(across: Vector, upward: Vector, side: float) -> Vector:
    return (
        side * across[0] + upward[0],
        side * across[1] + upward[1],
        side * across[2] + upward[2],
    )


GROOVES_MM: Final = (INNER_GROOVE_MM, OUTER_GROOVE_MM)
