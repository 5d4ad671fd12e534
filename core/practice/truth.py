"""The hidden truth of each step against its target."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from core.language import Message, Quantity, Value, message
from core.practice.grooves import (
    NULLS_MM,
    Swing,
    distortion_percent,
    radii,
    simple,
    wanted_for,
    worst_percent,
)
from core.practice.world import World
from core.records import ArmKind, SkatingControl
from core.steps import (
    ALIGNMENT,
    ARM_HEIGHT,
    FINAL_DOWNFORCE,
    LEVEL,
    MOUNT,
    ROUGH_DOWNFORCE,
    SKATING,
    SPEED,
    TILT,
)
from core.steps.speed import speed_key

FRICTION_SPREAD: Final = (1.0 + 1.0 / 11.0, 1.0 - 1.0 / 11.0)
"""Most and least friction against its middle: 0.25 to 0.3 published (second-hand)."""


@dataclass(frozen=True, slots=True)
class Truth:
    """One true quantity against its target, all in `unit`.

    `ratio` is how far off it is, 1 at the edge of the tolerance; where several things must be right
    together, the worst of them.
    """

    step: str
    label: Message
    value: float
    target: float
    tolerance: float
    unit: str
    ratio: float
    ways: tuple[Message, Message] | None = None
    """The words for a value above zero and one below, where its sign is a direction."""

    def told(self, decimals: int) -> Value:
        """Return the value to be written, with its direction in words."""
        if self.ways is None:
            return Quantity(self.value, self.unit, decimals)
        size = Quantity(abs(self.value), self.unit, decimals)
        if not round(self.value, decimals):
            return size
        return message(
            "practice.own.directed", value=size, way=self.ways[0 if self.value > 0.0 else 1]
        )

    @property
    def is_inside(self) -> bool:
        """Whether it really is near enough."""
        return self.ratio <= 1.0


def _truth(  # the fields of a Truth
    step: str,
    label: Message,
    value: float,
    target: float,
    tolerance: float,
    unit: str,
    ways: tuple[Message, Message] | None = None,
) -> Truth:
    ratio = abs(value - target) / max(tolerance, 1e-12)
    return Truth(step, label, value, target, tolerance, unit, ratio, ways)


_REAR: Final = message("practice.way", way="high"), message("practice.way", way="low")
_AHEAD: Final = message("practice.way", way="ahead"), message("practice.way", way="behind")
_SIDE_HIGH: Final = message("practice.way", way="left"), message("practice.way", way="right")
_SIDE_HIGHER: Final = (
    message("practice.way", way="left_higher"),
    message("practice.way", way="right_higher"),
)
_FAST: Final = message("practice.way", way="fast"), message("practice.way", way="slow")


def level_truth(world: World) -> Truth:
    """Return the plinth's true slope."""
    tolerance = world.deck.tolerances.level_mm_per_m
    return _truth(
        LEVEL,
        message("practice.truth", what="plinth"),
        math.hypot(*world.slope()),
        0.0,
        tolerance,
        "mm/m",
    )


def mount_truth(world: World) -> Truth:
    """Return the mass at the head against what the counterweight can balance."""
    arm = world.deck.arm
    low, high = arm.lightest_cartridge_g, arm.heaviest_cartridge_g
    head = world.cartridge.moving_g + world.added_g.place
    return _truth(
        MOUNT,
        message("practice.truth", what="mass"),
        head,
        0.5 * (low + high),
        0.5 * (high - low) + 1e-6,
        "g",
    )


def rough_truth(world: World) -> Truth:
    """Return the true downforce against the maker's range, at least the tolerance wide."""
    cartridge = world.cartridge
    target, tolerance = cartridge.downforce_target_gf, world.deck.tolerances.downforce_gf
    value = world.downforce_gf
    edge = (
        max(cartridge.downforce_max_gf, target + tolerance)
        if value > target
        else min(cartridge.downforce_min_gf, target - tolerance)
    )
    return _truth(
        ROUGH_DOWNFORCE,
        message("practice.truth", what="downforce"),
        value,
        target,
        abs(edge - target),
        "gf",
    )


def final_truth(world: World) -> Truth:
    """Return the true downforce against the target."""
    cartridge = world.cartridge
    half = 0.5 * (cartridge.downforce_max_gf - cartridge.downforce_min_gf)
    tolerance = world.deck.tolerances.downforce_gf
    tolerance = min(tolerance, half) if half > 0.0 else tolerance
    target = cartridge.downforce_target_gf
    return _truth(
        FINAL_DOWNFORCE,
        message("practice.truth", what="downforce"),
        world.downforce_gf,
        target,
        tolerance,
        "gf",
    )


def height_truth(world: World, spacing_mm: float | None = None) -> Truth:
    """Return how far the rear of the tube really is high, over the length it was read on."""
    pose = world.pose()
    spacing = spacing_mm or world.deck.arm.effective_length_mm
    value = spacing * math.tan(math.radians(pose.pitch_deg))
    tolerance = world.deck.tolerances.height_mm
    return _truth(
        ARM_HEIGHT, message("practice.truth", what="rear"), value, 0.0, tolerance, "mm", _REAR
    )


def alignment_truth(world: World) -> Truth:
    """Return the true error of the alignment: length, or its audible part.

    Near enough is either both numbers within their tolerances, or the head true at both null
    radii and the worst distortion no more than that of an arm whose length alone is off by its
    tolerance; whichever is nearer counts.
    """
    tolerances = world.deck.tolerances
    if world.is_parallel:
        ahead, head = world.ahead_of_radius_mm(), world.head_out_deg()
        turns = abs(head) / tolerances.twist_deg if world.slides else 0.0
        ratio = max(abs(ahead) / tolerances.landing_mm, turns)
        ratio = min(ratio, _heard_beside(ahead, head, tolerances.landing_mm, tolerances.twist_deg))
        return Truth(
            ALIGNMENT,
            message("practice.truth", what="ahead"),
            ahead,
            0.0,
            tolerances.landing_mm,
            "mm",
            ratio,
            _AHEAD,
        )
    pose, swing = world.pose(), world.swing()
    straight = world.deck.arm.kind is ArmKind.PIVOTED_STRAIGHT
    wanted = wanted_for(round(swing.pivot_mm, 6), straight=straight)
    off_mm = pose.reach_mm - wanted.reach_mm
    off_deg = pose.offset_deg - wanted.offset_deg
    ratio = abs(off_mm) / tolerances.landing_mm
    if not straight:
        ratio = max(ratio, abs(off_deg) / tolerances.twist_deg)
    ratio = min(ratio, _heard(world, swing, wanted.reach_mm, wanted.offset_deg))
    return Truth(
        ALIGNMENT,
        message("practice.truth", what="length"),
        pose.reach_mm,
        wanted.reach_mm,
        tolerances.landing_mm,
        "mm",
        ratio,
    )


def _heard(world: World, swing: Swing, reach_mm: float, offset_deg: float) -> float:
    tolerances = world.deck.tolerances
    pivot = swing.pivot_mm
    ideal = simple(pivot, reach_mm, offset_deg)
    off = max(abs(swing.error_deg(radius) - ideal.error_deg(radius)) for radius in NULLS_MM)
    at_nulls = off / tolerances.twist_deg
    best, limit = _worst_allowed(pivot, reach_mm, offset_deg, tolerances.landing_mm)
    return max(at_nulls, (worst_percent(swing) - best) / max(limit - best, 1e-9))


def _heard_beside(ahead_mm: float, head_deg: float, near_mm: float, near_deg: float) -> float:
    """Return the same for a parallel arm: the error at the groove limits, and the distortion.

    The stylus stands so far ahead of its radius, so the groove's own direction is turned there,
    the more the nearer the spindle: that and the head's angle may make up for each other.
    """

    def worst(ahead: float, head: float) -> float:
        return max(distortion_percent(_beside_deg(ahead, head, r), r) for r in radii())

    limits = (radii()[0], radii()[-1])
    at_limits = max(abs(_beside_deg(ahead_mm, head_deg, radius)) for radius in limits)
    return max(at_limits / near_deg, worst(ahead_mm, head_deg) / max(worst(near_mm, 0.0), 1e-9))


def _beside_deg(ahead_mm: float, head_deg: float, radius_mm: float) -> float:
    """Return how far the head points out of the groove: the dot product of two unit vectors."""
    outward = (ahead_mm / radius_mm, math.sqrt(max(1.0 - (ahead_mm / radius_mm) ** 2, 0.0)))
    head = (math.cos(math.radians(head_deg)), math.sin(math.radians(head_deg)))
    return math.degrees(math.asin(max(-1.0, min(1.0, outward[0] * head[0] + outward[1] * head[1]))))


@lru_cache(maxsize=1024)
def _worst_allowed(
    pivot_mm: float, reach_mm: float, offset_deg: float, off_mm: float
) -> tuple[float, float]:
    """Return the worst distortion of the wanted arm, and of one too long or short by so much."""
    best = worst_percent(simple(pivot_mm, reach_mm, offset_deg))
    return best, max(
        worst_percent(simple(pivot_mm, reach_mm + off, offset_deg)) for off in (-off_mm, off_mm)
    )


def tilt_truth(world: World, *, by_bands: bool = False) -> Truth:
    """Return the body's true tilt; by test bands, how far the head is from where least leaks."""
    tolerance = world.deck.tolerances.tilt_deg
    if by_bands:
        value = -world.least_leak_deg()
        label = message("practice.truth", what="from_least_leak")
        return _truth(TILT, label, value, 0.0, tolerance, "°", _SIDE_HIGHER)
    return _truth(
        TILT,
        message("practice.truth", what="tilt"),
        world.pose().tilt_deg,
        0.0,
        tolerance,
        "°",
        _SIDE_HIGH,
    )


def skating_truth(world: World, *, by_ear: bool = False) -> Truth | None:
    """Return where compensation truly stands against what balances, None without any.

    By rule the mark is compared with the mark that the rule of practice asks for, which leaves it
    off on an underhung arm: nothing is claimed of the balance itself. By ear, with what truly
    balances.

    Notes
    -----
    Near enough on a dial is one of its steps, or a tenth of the downforce in its marks (practice:
    there the search ends). By ear it is also near enough where the push lies within what the pull
    itself covers on a record (`_span_gf`): one push can't balance all of it, and anywhere in
    there it balances some of it.
    """
    skating = world.deck.skating
    idle = (SkatingControl.NONE, SkatingControl.FLUID)
    if world.is_parallel or skating.control in idle:
        return None
    if skating.control is SkatingControl.THREAD_WEIGHT:
        return _notch_truth(world, by_ear=by_ear)
    per_mark, force = world.skating_gf_per_mark, world.mean_side_force_gf()
    target = world.cartridge.downforce_target_gf
    tolerance = max(skating.step_gf, 0.1 * target)
    if by_ear:
        tolerance = max(skating.step_gf, 0.1 * max(world.downforce_gf, 0.1))
        target = force / per_mark if per_mark > 0.0 else 0.0
        tolerance = max(tolerance, _span_gf(world) / per_mark if per_mark > 0.0 else 0.0)
    elif world.deck.arm.kind is ArmKind.PIVOTED_STRAIGHT:
        target = 0.0
    target = min(max(target, 0.0), skating.highest_gf)
    return _truth(
        SKATING,
        message("practice.truth", what="skating"),
        world.skating.place,
        target,
        tolerance,
        "gf",
    )


def _span_gf(world: World) -> float:
    """Return by how much the pull departs from its mean on a record, either way.

    Two things move it. The angle between arm and groove changes with the radius: on a common
    9-inch arm the pull is least at the middle grooves and differs by 6 % of its mean either way, on
    an underhung arm it changes sign (derived: the pull is worked out at every groove here). And
    friction is not one number: 0.25 to 0.3 over grooves and styli is published (second-hand),
    which is 9 % of its middle either way; 0.2 to 0.5, the wider practice, is not used here.
    """
    pulls = [world.side_force_gf(radius) for radius in radii()]
    mean = math.fsum(pulls) / len(pulls)
    most, least = FRICTION_SPREAD
    swings = [pull * share for pull in (min(pulls), max(pulls)) for share in (least, most)]
    return 0.5 * (max(swings) - min(swings)) if mean else 0.0


def _notch_truth(world: World, *, by_ear: bool) -> Truth:
    """Return the notch's push against the mean side force.

    By rule near enough is half-way to the next notch, or what friction of 0.2 to 0.5 leaves open
    against the 0.3 that the rule takes. By ear it is one notch, where the search ends as on a dial
    (practice), or what the pull covers on a record.
    """
    force = world.mean_side_force_gf()
    levers = (0.0, *sorted(world.deck.skating.notch_levers_mm))
    per_mm = world.deck.skating.thread_weight_g / world.pose().reach_mm
    pushes = [lever * per_mm * world.skating_gf_per_mark for lever in levers]
    here = round(world.skating.place)
    beside = [pushes[i] for i in (here - 1, here + 1) if 0 <= i < len(pushes)]
    gap = max(abs(push - pushes[here]) for push in beside)
    target = min(max(force, pushes[0]), pushes[-1])
    if not by_ear and world.deck.arm.kind is ArmKind.PIVOTED_STRAIGHT:
        target = 0.0
    tolerance = max(gap, _span_gf(world)) if by_ear else max(0.5 * gap, 0.35 * abs(force))
    return _truth(
        SKATING, message("practice.truth", what="thread"), pushes[here], target, tolerance, "gf"
    )


def speed_truth(world: World, keys: tuple[str, ...] = ()) -> Truth:
    """Return the worst true speed error among these speeds, warm; of the first without any."""
    nominal = {speed_key(rpm): rpm for rpm in world.deck.platter.speeds_rpm}
    named = keys or tuple(nominal)[:1]
    errors = [100.0 * (world.rpm(key) / nominal[key] - 1.0) for key in named]
    worst = max(errors, key=abs)
    return _truth(
        SPEED,
        message("practice.truth", what="speed"),
        worst,
        0.0,
        world.deck.tolerances.speed_percent,
        "%",
        _FAST,
    )


def strict_ratio(world: World, step: str) -> float | None:
    """Return the true error of a step by the strict measure, None where it has no other.

    Alignment: the length and the head at both null radii, nothing made up for by what is heard.
    Arm height over the whole arm, whatever length was read. Tilt of the body, whatever leaks.
    Skating within a tenth of the downforce of what truly pulls.
    """
    if step == ARM_HEIGHT:
        return height_truth(world, world.deck.arm.effective_length_mm).ratio
    if step == TILT:
        return tilt_truth(world).ratio
    if step == SKATING:
        if skating_truth(world) is None:
            return None
        left = world.mean_side_force_gf() - world.compensation_gf()
        return abs(left) / (0.1 * max(world.downforce_gf, 0.1))
    return _strict_alignment(world) if step == ALIGNMENT else None


def _strict_alignment(world: World) -> float:
    tolerances = world.deck.tolerances
    if world.is_parallel:
        turned = abs(world.head_out_deg()) if world.slides else 0.0
        off_mm = abs(world.ahead_of_radius_mm())
        return max(off_mm / tolerances.landing_mm, turned / tolerances.twist_deg)
    swing = world.swing()
    straight = world.deck.arm.kind is ArmKind.PIVOTED_STRAIGHT
    wanted = wanted_for(round(swing.pivot_mm, 6), straight=straight)
    ideal = simple(swing.pivot_mm, wanted.reach_mm, wanted.offset_deg)
    off_mm = abs(world.pose().reach_mm - wanted.reach_mm)
    off_deg = max(abs(swing.error_deg(r) - ideal.error_deg(r)) for r in NULLS_MM)
    return max(off_mm / tolerances.landing_mm, off_deg / tolerances.twist_deg)
