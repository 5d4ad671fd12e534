"""The present display of every instrument of the bench on a practice deck.

One function for each way of reading of each step, found by its name. All of them read the true
state through the tool's own faults and the spread that the deck's bench kit states.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

import numpy as np

from core.language import Quantity, message
from core.practice.drawings import bench as draw
from core.practice.instrument_display import InstrumentDisplay, read_off, shown
from core.practice.instruments_head import HEAD
from core.practice.plinth import rise_along
from core.practice.world import World
from core.steps import ARM_HEIGHT, FINAL_DOWNFORCE, LEVEL, MOUNT, ROUGH_DOWNFORCE, SPEED
from core.steps import level as level_step
from core.steps.speed import speed_key

Instrument = Callable[..., InstrumentDisplay]

STRAIGHTEDGE_MM: Final = 300.0
DISH_MM: Final = 200.0
WATER_MM: Final = 40.0
WATCHED_S: Final = 30.0
TURNS_COUNTED: Final = 100
TONE_HZ: Final = 3150.0
SUSPENSION_UM_PER_MN: Final = 12.0
PLACE_FROM_HEAD_MM: Final = 35.0
PLACE_FROM_PIVOT_MM: Final = 45.0


def bearing_of(direction: level_step.Direction, bearing_deg: float, *, turned: bool) -> float:
    """Return where the marked end of a level points, clockwise from the back."""
    bearing = {
        level_step.Direction.FRONT_BACK: 0.0,
        level_step.Direction.LEFT_RIGHT: 90.0,
        level_step.Direction.TO_BACK_RIGHT: 45.0,
        level_step.Direction.TO_BACK_LEFT: 315.0,
    }.get(direction, bearing_deg)
    return bearing + (180.0 if turned else 0.0)


def _level(world: World, choices: dict[str, Any]) -> tuple[float, dict[str, Any]]:
    direction = level_step.Direction(choices.get("direction", "front-back"))
    own = float(choices.get("bearing_deg", 0.0))
    turned = bool(choices.get("turned", False))
    bearing = bearing_of(direction, own, turned=turned)
    said: dict[str, Any] = {"direction": direction.value, "turned": turned}
    if direction is level_step.Direction.OWN:
        said["bearing_deg"] = own
    return rise_along(world.surface(), bearing) + world.tools.level_zero_mm_per_m, said


def bubble(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the bubble of a level laid along a direction."""
    slope, said = _level(world, choices)
    bench = world.deck.bench
    seen = read_off(rng, slope / bench.bubble_mm_per_m_per_div, bench.bubble_read_div)
    end = bench.bubble_range_div
    value = max(-end, min(end, seen.read))
    return shown(
        LEVEL,
        {"way": "bubble", **said, "divisions": value},
        lambda numbers: draw.bubble(max(-end, min(end, seen.at)), said, numbers),
    )


def bubble_at_end(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the same bubble to somebody who sees it at the end of its vial."""
    slope, said = _level(world, choices)
    bench = world.deck.bench
    seen = read_off(rng, slope / bench.bubble_mm_per_m_per_div, bench.bubble_read_div)
    end = math.copysign(bench.bubble_range_div, seen.at)
    toward = "marked" if end > 0.0 else "other"
    return shown(
        LEVEL,
        {"way": "bubble at its end", **said, "toward": toward},
        lambda numbers: draw.bubble(end, said, numbers),
    )


def inclinometer(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the display of an inclinometer laid along a direction."""
    slope, said = _level(world, choices)
    true = math.degrees(math.atan2(slope, 1000.0))
    seen = read_off(rng, true, world.deck.bench.inclinometer_read_deg)
    return shown(
        LEVEL,
        {"way": "inclinometer", **said, "angle_deg": seen.read},
        lambda numbers: draw.display(seen.read, "°", 2, "inclinometer", draw.lying(said), numbers),
    )


def straightedge(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the gap under a straightedge that was brought level by its bubble."""
    slope, said = _level(world, choices)
    span = float(choices.get("length_mm", STRAIGHTEDGE_MM))
    seen = read_off(rng, slope * span / 1000.0, world.deck.bench.ruler_read_mm)
    return shown(
        LEVEL,
        {"way": "ruler", **said, "gap_mm": seen.read, "length_mm": span},
        lambda numbers: draw.straightedge(seen.at, span, said, numbers),
    )


def water(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show how high water stands at two opposite walls of a dish."""
    slope, said = _level(world, choices)
    wide = float(choices.get("width_mm", DISH_MM))
    ruler = world.deck.bench.ruler_read_mm
    half = 0.5 * slope * wide / 1000.0
    seen = [read_off(rng, WATER_MM + side * half, ruler) for side in (-1.0, 1.0)]
    marked, other = (max(one.read, 1.0) for one in seen)
    return shown(
        LEVEL,
        {"way": "water", **said, "marked_mm": marked, "other_mm": other, "width_mm": wide},
        lambda numbers: draw.water(seen[0].at, seen[1].at, said, numbers),
    )


def checklist(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the mounted cartridge; every line of the checklist is true once it was done."""
    del rng, choices
    leads = ("white_lead", "blue_lead", "red_lead", "green_lead")
    values: dict[str, Any] = {
        "way": "checklist",
        "amplifier_off": True,
        "arm_locked": True,
        "guard_on": world.cartridge.has_guard,
        "screws_snug": True,
    } | dict.fromkeys(leads, True)
    return shown(
        MOUNT,
        values,
        lambda numbers: draw.mounted(numbers, plug_in=False, guard=world.cartridge.has_guard),
    )


def plug_in(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the cartridge pushed home."""
    del rng, choices
    values = {
        "way": "plug-in checklist",
        "amplifier_off": True,
        "arm_locked": True,
        "guard_on": world.cartridge.has_guard,
        "pushed_home": True,
        "lock_closed": True,
    }
    return shown(
        MOUNT,
        values,
        lambda numbers: draw.mounted(numbers, plug_in=True, guard=world.cartridge.has_guard),
    )


def weighed(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the scale with cartridge and hardware on it."""
    del choices
    displayed = world.arm().head_g * world.tools.scale_gain + world.tools.scale_offset_gf
    seen = read_off(rng, displayed, world.deck.bench.scale_read_gf)
    value = max(seen.read, 0.5)
    return shown(
        MOUNT,
        {"way": "weighed", "weighed_g": value},
        lambda numbers: draw.display(
            value, "g", 2, "scale", [message("instruments.shows", what="cartridge")], numbers
        ),
    )


def resonance(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the figures of a recorded sweep: the resonance of arm and cartridge.

    A mass on the suspension's spring, as the mechanics have both. The file itself is not made here.
    """
    sweep = str(choices.get("sweep", "lateral"))
    gives = world.build.gives_um_per_mn or SUSPENSION_UM_PER_MN
    grams = world.deck.arm.effective_mass_g + world.arm().head_g
    true = 1000.0 / (2.0 * math.pi * math.sqrt(grams * gives))
    hz = min(max(true * (1.0 + 0.02 * float(rng.standard_normal())), 4.0), 20.0)
    recorded = {
        "file": "practice.wav",
        "hz": hz,
        "spread_hz": 0.02 * hz,
        "low_hz": 4.0,
        "high_hz": 20.0,
        "pilot_hz": 1000.0,
        "is_at_end": hz in (4.0, 20.0),
    }
    return shown(
        MOUNT,
        {"way": "resonance by record", "sweep": sweep, "recorded": recorded},
        lambda numbers: draw.display(
            hz, "Hz", 1, "recording", [message("instruments.shows", what="sweep")], numbers
        ),
    )


def _decimals(world: World) -> int:
    """Return how finely the scale's display shows grams-force."""
    return 2 if world.deck.bench.scale_read_gf >= 0.01 else 3


def scale(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the scale with the stylus on its pan."""
    step = str(choices.get("step", ROUGH_DOWNFORCE))
    true = max(world.downforce_gf, 0.0)
    displayed = true * world.tools.scale_gain + (world.tools.scale_offset_gf if true > 0.0 else 0.0)
    seen = read_off(rng, displayed, world.deck.bench.scale_read_gf)
    value = max(seen.read, 0.0) if true > 0.0 else 0.0
    value = min(value, world.deck.bench.scale_range_gf)
    if world.tools.scale_holds:
        world.scale_held_gf = value if world.scale_held_gf is None else world.scale_held_gf
        value = world.scale_held_gf
    return shown(
        step,
        {"way": "scale", "downforce_gf": value},
        lambda numbers: draw.display(
            value,
            "gf",
            _decimals(world),
            "scale",
            [message("instruments.shows", what="stylus")],
            numbers,
        ),
    )


def check_weight(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the scale with a check weight on its pan."""
    step = str(choices.get("step", ROUGH_DOWNFORCE))
    nominal = float(choices.get("weight_g", 2.0))
    true = nominal * world.tools.check_weight_g
    displayed = true * world.tools.scale_gain + world.tools.scale_offset_gf
    seen = read_off(rng, displayed, world.deck.bench.scale_read_gf)
    return shown(
        step,
        {"way": "check weight", "weight_g": nominal, "shown_gf": seen.read},
        lambda numbers: draw.display(
            seen.read,
            "gf",
            _decimals(world),
            "scale",
            [
                message(
                    "instruments.drawn.check_weight",
                    size=Quantity(nominal, "g", form="short"),
                )
            ],
            numbers,
        ),
    )


def empty_pan(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the scale with nothing on its pan."""
    bare = check_weight(world, rng, **{**choices, "weight_g": 0.0})
    values = {"way": "empty pan", "shown_gf": bare.values["shown_gf"]}
    return shown(bare.step, values, bare.drawn)


def float_and_dial(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Float the arm and set its dial; this changes the downforce, unless the dial is held fast."""
    step = str(choices.get("step", ROUGH_DOWNFORCE))
    mark = float(choices.get("dial_gf") or world.cartridge.downforce_target_gf)
    mark = min(max(mark, 0.0), 10.0)
    floats_at = world.deck.bench.float_read_gf * float(rng.standard_normal())
    done = world.float_and_set(mark * world.tools.dial_gain + floats_at)
    return shown(
        step,
        {"way": "float and dial", "floated": done, "zeroed": done, "dial_gf": mark, "sinks": done},
        lambda numbers: draw.display(
            mark, "gf", 2, "dial", [message("instruments.shows", what="dial_floating")], numbers
        ),
    )


def float_and_slide(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Float the arm and move its weight by a ruler; this changes the downforce too."""
    step = str(choices.get("step", ROUGH_DOWNFORCE))
    bench, arm = world.deck.bench, world.build
    per_mm = arm.weight_g / arm.middle_mm
    asked = float(choices.get("slid_mm") or world.cartridge.downforce_target_gf / per_mm)
    floats_at = bench.float_read_gf * float(rng.standard_normal())
    began, slid = world.weight.place, asked + 0.15 * float(rng.standard_normal())
    done = world.float_and_set(floats_at)
    done = done and world.float_and_set(floats_at + slid * per_mm)
    if not done:
        world.weight.place = began
    seen = read_off(rng, slid, math.sqrt(2.0) * bench.ruler_read_mm)
    value = min(max(seen.read, 0.0), 60.0)
    return shown(
        step,
        {"way": "float and slide", "floated": done, "slid_mm": value, "sinks": done},
        lambda numbers: draw.display(
            value, "mm", 1, "ruler", [message("instruments.shows", what="slid_floating")], numbers
        ),
    )


def _two_places(
    world: World, rng: np.random.Generator, edge_mm: tuple[float, float]
) -> tuple[list[float], list[float], float]:
    """Heights of two points of the tube as drawn and as read, and how far apart they were read."""
    pose, ruler = world.pose(), world.deck.bench.ruler_read_mm
    front, rear = pose.reach_mm - PLACE_FROM_HEAD_MM, PLACE_FROM_PIVOT_MM
    drawn, read = [], []
    for along, edge in zip((front, rear), edge_mm, strict=True):
        seen = read_off(rng, pose.height_mm((along, 0.0, edge)), ruler)
        drawn.append(seen.at)
        read.append(max(seen.read, -20.0))
    apart = read_off(rng, front - rear, ruler).read
    return drawn, read, apart


def two_heights(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the ruler against the tube near the head and near the pivot."""
    del choices
    drawn, read, apart = _two_places(world, rng, (5.0, 5.0))
    return shown(
        ARM_HEIGHT,
        {"way": "two heights", "front_mm": read[0], "rear_mm": read[1], "spacing_mm": apart},
        lambda numbers: draw.tube(drawn, apart, (10.0, 10.0), numbers),
    )


def tapered_tube(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the ruler against the upper edge of a tapering tube."""
    del choices
    thick = (9.0, 13.0)
    drawn, read, apart = _two_places(world, rng, (0.5 * thick[0], 0.5 * thick[1]))
    values = {
        "way": "tapered tube", "edge": "top", "front_mm": read[0],
        "front_diameter_mm": thick[0], "rear_mm": read[1], "rear_diameter_mm": thick[1],
        "spacing_mm": apart,
    }  # fmt: skip # rows of a table
    return shown(ARM_HEIGHT, values, lambda numbers: draw.tube(drawn, apart, thick, numbers))


def tube_angle(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the inclinometer on the tube, set to zero on the record."""
    del choices
    seen = read_off(rng, world.pose().pitch_deg, world.deck.bench.inclinometer_read_deg)
    return shown(
        ARM_HEIGHT,
        {"way": "tube angle", "pitch_deg": seen.read},
        lambda numbers: draw.display(
            seen.read,
            "°",
            2,
            "inclinometer",
            [message("instruments.shows", what=what) for what in ("tube", "tube_sign")],
            numbers,
        ),
    )


def _speed(world: World, choices: dict[str, Any]) -> tuple[float, float, dict[str, Any]]:
    nominal = float(choices.get("speed_rpm") or world.deck.platter.speeds_rpm[0])
    rpm = world.rpm(speed_key(nominal), warm=not choices.get("cold", False))
    said: dict[str, Any] = {"speed_rpm": nominal}
    if choices.get("cold", False):
        said["minutes_running"] = 1.0
    return nominal, rpm, said


def strobe(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the bars of the strobe disc under the lamp: how far they drift while watched."""
    nominal, rpm, said = _speed(world, choices)
    bench = world.deck.bench
    watched = float(choices.get("seconds", WATCHED_S))
    bars = max(8, round(60.0 * bench.lamp_flashes_per_s / nominal))
    flashes = bench.lamp_flashes_per_s * (1.0 + world.tools.lamp_share)
    really = watched + bench.stopwatch_s * float(rng.standard_normal())
    drift = (bars * rpm / 60.0 - flashes) * really
    seen = read_off(rng, drift, bench.strobe_bars_read)
    count = min(abs(seen.read), 500.0)
    way = "standing" if count == 0.0 else "with" if seen.read > 0.0 else "against"
    values = {
        "way": "strobe",
        **said,
        "direction": way,
        "drifted_bars": count,
        "seconds": watched,
        "bars": bars,
    }
    return shown(SPEED, values, lambda numbers: draw.strobe(bars, seen.at, watched, numbers))


def too_fast(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the same bars to somebody who can't count them."""
    drawn = strobe(world, rng, **choices)
    values = {"way": "too fast to count", "speed_rpm": _speed(world, choices)[0]}
    return shown(SPEED, values, drawn.drawn)


def timed_turns(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the stopwatch after so many turns."""
    _, rpm, said = _speed(world, choices)
    turns = int(choices.get("turns", TURNS_COUNTED))
    seen = read_off(rng, 60.0 * turns / rpm, world.deck.bench.stopwatch_s, 0.01)
    values = {"way": "timed turns", **said, "turns": turns, "seconds": seen.read}
    return shown(
        SPEED,
        values,
        lambda numbers: draw.display(
            seen.read,
            "s",
            2,
            "stopwatch",
            [message("instruments.drawn.turns", turns=turns)],
            numbers,
        ),
    )


def readout(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show an instrument that displays revolutions per minute."""
    _, rpm, said = _speed(world, choices)
    seen = read_off(rng, rpm * (1.0 + world.tools.readout_share), 0.004, 0.01)
    values = {"way": "readout", **said, "rpm": seen.read}
    return shown(
        SPEED,
        values,
        lambda numbers: draw.display(
            seen.read, "rpm", 2, "speed_meter", [message("instruments.shows", what="mean")], numbers
        ),
    )


def tone(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the figures that a recording of a test record on this deck would have.

    The file itself is not made here: hearing one takes seconds.
    """
    nominal, rpm, said = _speed(world, choices)
    share = rpm / nominal * (1.0 + world.tools.record_share)
    hz = TONE_HZ * share * (1.0 + 1e-5 * float(rng.standard_normal()))
    turns, varies = 0.12, 0.06 * (1.0 + 0.01 * float(rng.standard_normal()))
    speed = {
        "hz": hz,
        "nominal_hz": TONE_HZ,
        "start_s": 1.0,
        "seconds": WATCHED_S,
        "rpm": nominal,
        "once_per_turn_percent": turns,
        "weighted_percent": math.hypot(varies, 0.4 * turns),
        "unweighted_percent": math.hypot(1.5 * varies, turns),
        "steady_weighted_percent": varies,
        "steady_unweighted_percent": 1.5 * varies,
    }
    band = {
        "kind": "speed",
        "side": "both",
        "hz": hz,
        "start_s": 1.0,
        "end_s": 1.0 + WATCHED_S,
        "level_db": -12.0,
    }
    recorded = {
        "file": "practice.wav",
        "seconds": WATCHED_S + 2.0,
        "rate": 48_000.0,
        "channels": 2,
        "speed": speed,
        "bands": (band,),
    }
    return shown(
        SPEED,
        {"way": "tone", **said, "recorded": recorded},
        lambda numbers: draw.display(
            hz, "Hz", 1, "recording", [message("instruments.shows", what="tone")], numbers
        ),
    )


INSTRUMENTS: Final[dict[tuple[str, str], Instrument]] = {
    (LEVEL, "bubble"): bubble,
    (LEVEL, "bubble at its end"): bubble_at_end,
    (LEVEL, "inclinometer"): inclinometer,
    (LEVEL, "ruler"): straightedge,
    (LEVEL, "water"): water,
    (MOUNT, "checklist"): checklist,
    (MOUNT, "plug-in checklist"): plug_in,
    (MOUNT, "weighed"): weighed,
    (MOUNT, "resonance by record"): resonance,
    (ROUGH_DOWNFORCE, "scale"): scale,
    (ROUGH_DOWNFORCE, "check weight"): check_weight,
    (ROUGH_DOWNFORCE, "empty pan"): empty_pan,
    (ROUGH_DOWNFORCE, "float and dial"): float_and_dial,
    (ROUGH_DOWNFORCE, "float and slide"): float_and_slide,
    (FINAL_DOWNFORCE, "scale"): scale,
    (FINAL_DOWNFORCE, "check weight"): check_weight,
    (FINAL_DOWNFORCE, "empty pan"): empty_pan,
    (FINAL_DOWNFORCE, "float and dial"): float_and_dial,
    (FINAL_DOWNFORCE, "float and slide"): float_and_slide,
    (ARM_HEIGHT, "two heights"): two_heights,
    (ARM_HEIGHT, "tapered tube"): tapered_tube,
    (ARM_HEIGHT, "tube angle"): tube_angle,
    (SPEED, "strobe"): strobe,
    (SPEED, "too fast to count"): too_fast,
    (SPEED, "timed turns"): timed_turns,
    (SPEED, "readout"): readout,
    (SPEED, "tone"): tone,
    **HEAD,
}
"""Every instrument by step and way of reading."""
