"""The hidden state of a practice deck, drawn from a seed and a difficulty."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from core.practice import hand_precision
from core.practice.grooves import radii, simple
from core.practice.knob import Knob
from core.practice.tonearm import Build, pose_of
from core.practice.world import InstrumentErrors, SignalGenerator, World
from core.records import (
    ArmKind,
    Balance,
    Cartridge,
    Choice,
    ComplianceKind,
    Deck,
    HeadKind,
    HeightControl,
    Mounting,
    SkatingControl,
    SpeedTrim,
    TiltControl,
)
from core.steps import (
    ALIGNMENT,
    ARM_HEIGHT,
    FINAL_DOWNFORCE,
    LEVEL,
    ROUGH_DOWNFORCE,
    SKATING,
    SPEED,
    TILT,
)
from core.steps.speed import LAMP_SHARE, READOUT_SHARE, speed_key

_MAKERS_FRICTION: Final = 0.3
"""For which a maker marks the skating dial: common practice, no source."""

_STATIC_SHARE: Final = 0.5
"""Static compliance against dynamic: common practice, no source."""


_FRICTION: Final = (0.2, 0.5)
"""Of stylus in groove: the wider practice; 0.25 to 0.3 is published (second-hand)."""

_SHARED_LEAK_DB: Final = 28.0
_OWN_LEAK_DB: Final = 36.0
"""Below the wanted channel, what coils leak by themselves: alike in both, and each for itself.
Makers commonly state 20 to 30 dB in all (common practice, no source)."""

_SCREW_PERCENT: Final = (0.8, 7.5)
"""Of speed, for one turn of a trim screw of which nothing is stated. Steep: one that spans 6 % of
speed within 0.8 of a turn. Our assumption."""


_BEARING_MM: Final = 3.0
"""How far bearings lie above or below the tube's axis: our assumption."""


class Difficulty(Choice):
    """How much is wrong with a practice deck."""

    GENTLE = "gentle", "Gentle: a little of everything"
    ORDINARY = "ordinary", "Ordinary: as found after a swap"
    BAD_DAY = "bad day", "A bad day: far off, and controls that mislead"


@dataclass(frozen=True, slots=True)
class Severity:
    """The size of the errors, relative to an ordinary deck.

    `lies` is the chance that a control does not do what is stated of it, `lie` the range of the
    logarithm of its gain then, `backward` the chance that a screw turns the other way round.
    """

    size: float
    lies: float
    lie: tuple[float, float]
    backward: float
    play: float


SEVERITY: Final = {
    Difficulty.GENTLE: Severity(0.4, 0.1, (0.1, 0.2), 0.0, 0.3),
    Difficulty.ORDINARY: Severity(1.0, 0.35, (0.2, 0.6), 0.02, 1.0),
    Difficulty.BAD_DAY: Severity(1.6, 0.7, (0.3, 0.8), 0.1, 2.0),
}


class _Dice:
    """Random draws at one difficulty."""

    def __init__(self, rng: np.random.Generator, severity: Severity) -> None:
        self.rng, self.severity = rng, severity
        self.lied: set[str] = set()

    def normal(self, spread: float) -> float:
        """Draw an error that grows with the difficulty, never beyond three of its spread."""
        value = float(self.rng.standard_normal())
        return spread * self.severity.size * max(-3.0, min(3.0, value))

    def plain(self, spread: float) -> float:
        """Draw an error that does not."""
        return spread * max(-3.0, min(3.0, float(self.rng.standard_normal())))

    def between(self, low: float, high: float) -> float:
        return float(self.rng.uniform(low, high))

    def chance(self, share: float) -> bool:
        return float(self.rng.uniform()) < share

    def honesty(self, *steps: str, backward: bool = False) -> float:
        """Draw a control's true gain over the stated one.

        `steps` are those it serves, noted when it misleads; none where nothing is stated of it.
        """
        factor = 1.0 + self.plain(0.04)
        lies = self.chance(self.severity.lies)
        sign = 1.0 if self.chance(0.5) else -1.0
        by = self.between(*self.severity.lie)
        turned = self.chance(self.severity.backward)
        if lies:
            factor *= math.exp(sign * by)
            self.lied.update(steps)
        return -factor if turned and backward else factor


def draw_world(
    rng: np.random.Generator, deck: Deck, cartridge: Cartridge, difficulty: Difficulty
) -> tuple[World, frozenset[str]]:
    """Draw the hidden state of a deck, and the steps whose control misleads."""
    dice = _Dice(rng, SEVERITY[difficulty])
    arm = deck.arm
    build = _build(dice, deck, cartridge)
    pivot = arm.pivot_to_spindle_mm or 0.0
    if arm.is_pivoted:
        pivot += dice.plain(arm.pivot_to_spindle_error_mm)
    feet = _feet(dice, deck)
    weight = _weight(dice, deck, build)
    build = _balanced(dice, deck, cartridge, build, weight)
    speeds, trims = _speed(dice, deck)
    friction = dice.between(*_FRICTION)
    skating, per_mark = _skating(dice, deck, build, pivot)
    both = _leak(dice, _SHARED_LEAK_DB)
    world = World(
        deck=deck,
        cartridge=cartridge,
        shelf=(dice.normal(5.0), dice.normal(5.0)),
        feet=feet,
        foot_shims={f.name: Knob(hand_share=0.0, hand_least=0.02) for f in deck.plinth.feet},
        build=build,
        pivot_mm=pivot,
        weight=weight,
        pillar=_pillar(dice, deck),
        head_shim=Knob(hand_share=0.02, hand_least=hand_precision.SHIM_MM, low=0.0),
        slide=_slide(dice, deck, cartridge),
        twist=_twist(dice, deck, cartridge),
        arm_base=Knob(hand_least=hand_precision.BASE_MM),
        roll=_roll(dice, deck),
        side_shim=Knob(hand_share=0.0, hand_least=hand_precision.SIDE_SHIM_MM),
        skating=skating,
        skating_gf_per_mark=per_mark,
        friction=friction,
        speeds=speeds,
        trims=trims,
        cold_percent=-abs(dice.plain(0.4)),
        generator=SignalGenerator(
            lean_deg=dice.plain(0.4),
            leak_left=both + _leak(dice, _OWN_LEAK_DB),
            leak_right=both + _leak(dice, _OWN_LEAK_DB),
            left_db=dice.plain(0.4),
            right_db=dice.plain(0.4),
        ),
        tools=_tools(dice, deck),
        added_g=Knob(hand_share=0.0, hand_least=0.02, low=-100.0),
        record_mm=Knob(hand_share=0.0, low=-10.0, high=10.0),
        path_mm=dice.normal(0.8),
    )
    return world, frozenset(dice.lied)


def _build(dice: _Dice, deck: Deck, cartridge: Cartridge) -> Build:
    arm = deck.arm
    slides = deck.head.kind is HeadKind.SLOTS and cartridge.mounting is not Mounting.PLUG_IN
    fixed_height = deck.height.control is HeightControl.NONE
    no_roll = deck.tilt.control is TiltControl.NONE
    # Where the deck does not say how high the bearing stands nobody knows. Drawn aside, so that
    # what else is drawn from a seed stays the same.
    above_tube = arm.pivot_above_record_mm - cartridge.body_height_mm
    if not arm.pivot_above_record_mm:
        above_tube = _BEARING_MM * float(dice.rng.spawn(1)[0].standard_normal())
    gives = cartridge.compliance or 12.0
    if cartridge.compliance_kind is ComplianceKind.DYNAMIC_100_HZ:
        gives *= dice.between(1.5, 2.0)
    if cartridge.compliance_kind is not ComplianceKind.STATIC:
        gives *= _STATIC_SHARE
    return Build(
        middle_mm=arm.effective_length_mm + dice.plain(0.4 if slides else 0.25),
        middle_deg=arm.offset_deg + dice.plain(0.4 if slides else 0.25),
        slide_mm=0.0,
        twist_deg=0.0,
        holes_to_tip_mm=cartridge.tip_to_holes_mm,
        body_height_mm=cartridge.body_height_mm,
        body_width_mm=cartridge.body_width_mm,
        head_shim_mm=0.0,
        side_shim_mm=0.0,
        roll_deg=0.0,
        roll_about_tube=deck.tilt.control is TiltControl.COLLAR,
        body_roll_deg=dice.normal(0.7) if no_roll else dice.normal(1.4),
        lift_square_to_head=arm.lift_axis_square_to_head,
        bearing_mm=dice.normal(0.8) if fixed_height else dice.normal(2.5),
        gives_um_per_mn=gives,
        head_g=cartridge.moving_g,
        arm_g=8.0,
        arm_forward_mm=0.0,
        weight_g=arm.counterweight_g or dice.between(80.0, 140.0),
        weight_behind_mm=dice.between(38.0, 60.0),
        weight_below_mm=dice.between(2.0, 8.0),
        spring_gf=0.0,
        bearing_above_tube_mm=above_tube,
    )


def _balanced(dice: _Dice, deck: Deck, cartridge: Cartridge, build: Build, weight: Knob) -> Build:
    """Give the arm the mass in front that makes it start with the downforce drawn."""
    target = cartridge.downforce_target_gf
    begins = target * (0.9 + dice.normal(0.6))
    begins = max(-1.5, min(begins, target * 2.6))
    if deck.arm.balance is Balance.DYNAMIC:
        marks = max(begins, 0.0)
        weight.place = marks * abs(weight.effect)
        begins = dice.plain(0.05)
    start = pose_of(build).downforce_gf
    # Every gram of the arm's own, a millimetre forward, is felt at the stylus by its lever.
    forward = build.arm_forward_mm + (begins - start) * build.middle_mm / build.arm_g
    values = {name: getattr(build, name) for name in Build.__dataclass_fields__}
    return Build(**{**values, "arm_forward_mm": forward})


def _feet(dice: _Dice, deck: Deck) -> dict[str, Knob]:
    pitch = deck.plinth.pitch_mm_per_turn
    thread = dice.honesty(LEVEL) if pitch is not None else 1.0
    feet = {}
    for foot in deck.plinth.feet:
        backward = dice.chance(dice.severity.backward / 2.0)
        effect = thread * pitch if pitch is not None else 1.0
        feet[foot.name] = Knob(
            effect=-effect if backward else effect,
            hand_least=hand_precision.FOOT_TURNS if pitch is not None else hand_precision.FOOT_MM,
            low=-foot.travel_down_mm + dice.plain(0.2),
            high=foot.travel_up_mm + dice.plain(0.2),
            place=0.0 if len(deck.plinth.feet) < 4 else dice.plain(0.1),
        )
    return feet


def _weight(dice: _Dice, deck: Deck, build: Build) -> Knob:
    arm = deck.arm
    if arm.balance is Balance.DYNAMIC:
        effect = dice.honesty(ROUGH_DOWNFORCE, FINAL_DOWNFORCE)
        play = 0.02 * dice.severity.play
        return Knob(effect=effect, hand_least=hand_precision.DIAL_GF, play=play, low=0.0)
    stated = arm.gf_per_turn is not None or (
        arm.counterweight_g is not None and arm.counterweight_mm_per_turn is not None
    )
    honest = dice.honesty(*((ROUGH_DOWNFORCE, FINAL_DOWNFORCE) if stated else ()), backward=True)
    thread = arm.counterweight_mm_per_turn
    if arm.gf_per_turn is not None:
        mm = arm.gf_per_turn * build.middle_mm / build.weight_g
    elif thread is not None:
        mm = thread
    else:
        high = build.weight_behind_mm - 12.0
        return Knob(effect=1.0, hand_least=hand_precision.SLID_WEIGHT_MM, low=-30.0, high=high)
    least = hand_precision.THREAD_TURNS if arm.gf_per_turn is None else hand_precision.RING_TURNS
    return Knob(
        effect=mm * honest,
        hand_least=least,
        play=0.06 / max(mm, 1.0) * dice.severity.play * dice.between(0.0, 1.0),
        low=-30.0,
        high=build.weight_behind_mm - 12.0,
    )


def _pillar(dice: _Dice, deck: Deck) -> Knob:
    height = deck.height
    low, high = -height.travel_down_mm, height.travel_up_mm
    low, high = min(low + dice.plain(0.2), 0.0), max(high + dice.plain(0.2), 0.0)
    if height.control is HeightControl.COLLAR:
        effect = height.mm_per_turn * dice.honesty(ARM_HEIGHT, backward=True)
        play = 0.04 * dice.severity.play
        return Knob(
            effect=effect, hand_least=hand_precision.COLLAR_TURNS, play=play, low=low, high=high
        )
    if height.control is HeightControl.SHIMS:
        return Knob(hand_share=0.02, hand_least=hand_precision.SHIM_MM, low=low, high=high)
    return Knob(hand_least=hand_precision.PILLAR_MM, low=low, high=high)


def _slide(dice: _Dice, deck: Deck, cartridge: Cartridge) -> Knob:
    if deck.head.kind is not HeadKind.SLOTS or cartridge.mounting is Mounting.PLUG_IN:
        return Knob(low=0.0, high=0.0)
    low = -deck.head.slot_back_mm + dice.plain(0.2)
    high = deck.head.slot_forward_mm + dice.plain(0.2)
    begins = min(max(dice.normal(2.0), low), high)
    least = hand_precision.SLIDE_EYES * deck.bench.protractor_read_mm
    return Knob(hand_least=least, low=min(low, 0.0), high=max(high, 0.0), place=begins)


def _twist(dice: _Dice, deck: Deck, cartridge: Cartridge) -> Knob:
    if deck.head.kind is not HeadKind.SLOTS or cartridge.mounting is Mounting.PLUG_IN:
        return Knob(low=0.0, high=0.0)
    most = deck.head.twist_deg
    begins = min(max(dice.normal(1.2), -most), most)
    # An eye that takes a degree for more or less than it is.
    effect, least = (
        1.0 + dice.plain(0.1),
        hand_precision.TWIST_EYES * deck.bench.protractor_read_deg,
    )
    return Knob(effect=effect, hand_least=least, low=-most, high=most, place=begins)


def _roll(dice: _Dice, deck: Deck) -> Knob:
    step = deck.tilt.smallest_step_deg
    if deck.tilt.control is TiltControl.COLLAR:
        effect = dice.honesty(TILT, backward=True)
    else:
        effect = 1.0 + dice.plain(0.1)
    return Knob(effect=effect, hand_least=hand_precision.TILT_STEPS * step, low=-12, high=12)


def _skating(dice: _Dice, deck: Deck, build: Build, pivot: float) -> tuple[Knob, float]:
    """Return the control and the true effect of one mark, gf at the stylus."""
    skating = deck.skating
    if deck.arm.kind is ArmKind.PARALLEL:
        return Knob(), 0.0
    seen = simple(pivot, build.middle_mm, build.middle_deg)
    share = math.fsum(seen.line_out(radius) for radius in radii()) / len(radii())
    honest = dice.honesty()
    if skating.control is SkatingControl.THREAD_WEIGHT:
        last = len(skating.notch_levers_mm)
        begins = float(dice.rng.integers(0, last + 1))
        return Knob(hand_share=0.0, low=0.0, high=last, click=1.0, place=begins), 1.0
    marks = int(skating.highest_gf / skating.step_gf + 1e-9)
    begins = skating.step_gf * float(dice.rng.integers(0, max(marks, 1) + 1))
    least = hand_precision.SETTING_STEPS * skating.step_gf
    knob = Knob(hand_share=0.0, hand_least=least, low=0.0, high=skating.highest_gf, place=begins)
    return knob, _MAKERS_FRICTION * max(share, 0.05) * honest


def _speed(dice: _Dice, deck: Deck) -> tuple[dict[str, float], dict[str, Knob]]:
    platter = deck.platter
    shared = platter.one_trim_for_all
    wrong = dice.normal(1.2)
    if platter.trim is SpeedTrim.NONE:
        wrong = dice.normal(0.25)
    speeds: dict[str, float] = {}
    trims: dict[str, Knob] = {}
    for rpm in platter.speeds_rpm:
        own = dice.plain(0.06) if shared or platter.trim is SpeedTrim.NONE else dice.normal(1.2)
        beside = wrong + own if shared or platter.trim is SpeedTrim.NONE else own
        speeds[speed_key(rpm)] = rpm * (1.0 + beside / 100.0)
    if platter.trim is SpeedTrim.NONE:
        return speeds, trims
    screw = platter.trim is SpeedTrim.SCREW
    stated = (platter.rpm_per_turn if screw else platter.rpm_per_step) is not None
    honest = dice.honesty(*((SPEED,) if stated else ()), backward=screw)
    for rpm in platter.speeds_rpm[:1] if shared else platter.speeds_rpm:
        trims["" if shared else speed_key(rpm)] = _trim(dice, deck, rpm, honest)
    return speeds, trims


def _trim(dice: _Dice, deck: Deck, rpm: float, honest: float) -> Knob:
    platter = deck.platter
    sign = 1.0 if dice.chance(0.5) else -1.0
    if platter.trim is SpeedTrim.SCREW:
        stated = platter.rpm_per_turn
        percent = 100.0 * stated / rpm if stated else sign * dice.between(*_SCREW_PERCENT)
        play = 0.03 * dice.severity.play * dice.between(0, 1)
        effect, least = percent * honest, hand_precision.TRIM_SCREW_TURNS
        return Knob(effect=effect, hand_least=least, play=play, low=-8.0, high=8.0)
    stated = platter.rpm_per_step
    percent = 100.0 * stated / rpm if stated else dice.between(0.04, 0.15)
    return Knob(effect=percent * honest, hand_share=0.0, low=-8.0, high=8.0)


def _leak(dice: _Dice, below_db: float) -> complex:
    size = 10.0 ** (-(below_db + dice.plain(2.0)) / 20.0)
    phase = dice.between(-math.pi, math.pi)
    return complex(size * math.cos(phase), size * math.sin(phase))


def _tools(dice: _Dice, deck: Deck) -> InstrumentErrors:
    bench = deck.bench
    # Drawn aside, so that what else is drawn from a seed stays the same.
    aside = dice.rng.spawn(1)[0]
    return InstrumentErrors(
        level_zero_mm_per_m=dice.plain(bench.level_zero_error_mm_per_m),
        scale_gain=1.0 + dice.plain(bench.scale_gain_error / 100.0),
        scale_offset_gf=dice.plain(0.3 * bench.scale_read_gf),
        check_weight_g=1.0 + dice.plain(0.0003),
        lamp_share=dice.plain(LAMP_SHARE),
        readout_share=dice.plain(READOUT_SHARE),
        ear_db=dice.between(0.5, 2.0),
        dial_gain=1.0 + bench.dial_error / 100.0 * float(aside.standard_normal()),
        record_share=bench.record_cut_percent / 100.0 * float(aside.uniform(-1, 1)),
    )


HELD: Final[dict[str, tuple[str, ...]]] = {
    "feet": (LEVEL,),
    "counterweight": (ROUGH_DOWNFORCE, FINAL_DOWNFORCE),
    "pillar": (ARM_HEIGHT,),
    "slide": (ALIGNMENT,),
    "twist": (ALIGNMENT,),
    "tilt": (TILT,),
    "skating": (SKATING,),
    "speed trim": (SPEED,),
    "scale": (ROUGH_DOWNFORCE, FINAL_DOWNFORCE),
}
"""Controls that can be held fast, and a scale that holds its last value, with their steps."""


def hold_fast(world: World, what: str) -> None:
    """Hold one control of :data:`HELD` fast; a hand that turns it changes nothing."""
    if what == "scale":
        world.tools = replace(world.tools, scale_holds=True)
        return
    knobs: dict[str, tuple[Knob, ...]] = {
        "feet": tuple(world.feet.values()),
        "counterweight": (world.weight,),
        "pillar": (world.pillar, world.head_shim),
        "slide": (world.slide, world.arm_base),
        "twist": (world.twist,),
        "tilt": (world.roll, world.side_shim),
        "skating": (world.skating,),
        "speed trim": tuple(world.trims.values()),
    }
    for knob in knobs[what]:
        knob.held = True
