"""Instruments read with the stylus down: protractor, gauge, mirror, test record."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

import numpy as np

from core.practice.drawings import head as draw
from core.practice.grooves import NULLS_MM, OUTER_GROOVE_MM, landing_mm, wanted_for
from core.practice.instrument_display import InstrumentDisplay, ValueSeen, read_off, shown
from core.practice.world import GROOVES_MM, World
from core.records import ArmKind, SkatingControl
from core.steps import ALIGNMENT, SKATING, TILT

CLEARANCE_MM: Final = 2.0
"""Between the underside of the body and the record: the usual room, our assumption."""

_GAP_LEAST: Final = 0.0


def _drawn(world: World, choices: dict[str, Any]) -> tuple[float, float]:
    """Pivot distance and length the protractor was drawn for."""
    pivot = float(choices.get("drawn_pivot_mm") or world.deck.arm.pivot_to_spindle_mm or 0.0)
    straight = world.deck.arm.kind is ArmKind.PIVOTED_STRAIGHT
    return pivot, wanted_for(round(pivot, 3), straight=straight).reach_mm


def _landed(world: World, rng: np.random.Generator, choices: dict[str, Any]) -> ValueSeen:
    pivot, reach = _drawn(world, choices)
    true = landing_mm(world.swing(), pivot, reach, NULLS_MM[0])
    return read_off(rng, true, world.deck.bench.protractor_read_mm)


def _turned(world: World, rng: np.random.Generator) -> tuple[ValueSeen, ValueSeen]:
    swing, spread = world.swing(), world.deck.bench.protractor_read_deg
    inner, outer = (read_off(rng, swing.error_deg(radius), spread) for radius in NULLS_MM)
    return inner, outer


def landing(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show where the stylus touches, beside the drawn arc."""
    seen = _landed(world, rng, choices)
    return shown(
        ALIGNMENT,
        {"way": "landing", "landing_mm": seen.read},
        lambda numbers: draw.protractor(seen.at, None, None, numbers),
    )


def angles(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the head over the grid at both radii."""
    del choices
    inner, outer = _turned(world, rng)
    values = {"way": "angles", **_at_nulls(inner, outer)}
    return shown(
        ALIGNMENT, values, lambda numbers: draw.protractor(None, inner.at, outer.at, numbers)
    )


def landing_and_angles(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show landing and head on one protractor."""
    seen = _landed(world, rng, choices)
    inner, outer = _turned(world, rng)
    values = {"way": "landing and angles", "landing_mm": seen.read, **_at_nulls(inner, outer)}
    return shown(
        ALIGNMENT, values, lambda numbers: draw.protractor(seen.at, inner.at, outer.at, numbers)
    )


def _at_nulls(inner: ValueSeen, outer: ValueSeen) -> dict[str, float]:
    return {
        "inner_deg": inner.read,
        "outer_deg": outer.read,
        "inner_mm": round(NULLS_MM[0], 1),
        "outer_mm": round(NULLS_MM[1], 1),
    }


def pivot_distance(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the ruler between pivot and spindle."""
    del choices
    true = world.pivot_mm + world.arm_base.place
    seen = read_off(rng, true, world.deck.bench.ruler_read_mm)
    return shown(
        ALIGNMENT,
        {"way": "pivot distance", "distance_mm": seen.read},
        lambda numbers: draw.ruler(seen.at, numbers),
    )


def path(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the stylus of a parallel arm beside a line drawn from the spindle.

    Nobody lays such a line quite along the path: it is turned a little, and the head is read
    against the grid square to it.
    """
    del choices
    bench = world.deck.bench
    ahead, head = world.ahead_of_radius_mm(), math.radians(world.head_out_deg())
    turn = math.radians(0.3 * float(rng.standard_normal()))
    inner_mm, outer_mm = GROOVES_MM
    line = (math.cos(turn), math.sin(turn))
    square = (-line[1], line[0])
    landed = [
        read_off(rng, radius * square[0] + ahead * square[1], bench.protractor_read_mm)
        for radius in (inner_mm, outer_mm)
    ]
    points = (math.sin(head), math.cos(head))
    against = math.degrees(
        math.atan2(
            points[0] * line[0] + points[1] * line[1], points[0] * square[0] + points[1] * square[1]
        )
    )
    turned = read_off(rng, against, bench.protractor_read_deg)
    values = {
        "way": "path",
        "inner_landing_mm": landed[0].read,
        "outer_landing_mm": landed[1].read,
        "head_deg": turned.read,
    }
    return shown(
        ALIGNMENT,
        values,
        lambda numbers: draw.path(landed[0].at, landed[1].at, turned.at, numbers),
    )


def gaps(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the gap under either side of the body."""
    del choices
    width, across = world.cartridge.body_width_mm, world.pose().across
    spread = world.deck.bench.gap_read_mm
    # Two places of the underside, half a width to either side of its middle.
    heights = [CLEARANCE_MM + side * 0.5 * width * across[2] for side in (-1.0, 1.0)]
    left, right = (read_off(rng, height, spread) for height in heights)
    values = {
        "way": "gaps",
        "left_mm": max(left.read, _GAP_LEAST),
        "right_mm": max(right.read, 0.0),
    }
    return shown(TILT, values, lambda numbers: draw.gaps(left.at, right.at, width, numbers))


def mirror(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the cartridge and its mirror image from the front."""
    del choices
    seen = read_off(rng, world.pose().tilt_deg, world.deck.bench.mirror_read_deg, 0.25)
    lean = "upright" if seen.read == 0.0 else "left high" if seen.read > 0 else "right high"
    values = {"way": "mirror", "lean": lean, "angle_deg": min(abs(seen.read), 20.0)}
    return shown(TILT, values, lambda numbers: draw.mirror(seen.at, numbers))


def test_bands(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the levels of both channels on the band of each."""
    del choices
    spread = world.deck.bench.test_level_db
    left, right = world.leaks()
    own_left, own_right = world.generator.left_db, world.generator.right_db
    true = {
        "left_band_left_db": own_left,
        "left_band_right_db": own_left + _decibels(left),
        "right_band_right_db": own_right,
        "right_band_left_db": own_right + _decibels(right),
    }
    seen = {name: read_off(rng, value, spread, 0.1).read for name, value in true.items()}
    return shown(TILT, {"way": "test bands", **seen}, lambda numbers: draw.meters(seen, numbers))


def leak_by_tone(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the figures of a recording of both bands: size and sign of each leak.

    The file itself is not made here: hearing one takes seconds.
    """
    del choices
    bands: list[dict[str, Any]] = []
    at_s = 7.0
    for side, leak, own in zip(
        ("left", "right"),
        world.leaks(),
        (world.generator.left_db, world.generator.right_db),
        strict=True,
    ):
        # 0.2 dB and 2 degrees hold 95 of 100 recordings: half as much is one standard deviation.
        off = 0.1 * float(rng.standard_normal()), float(rng.standard_normal())
        phase = math.degrees(math.atan2(leak.imag, leak.real)) + off[1]
        bands.append(
            {
                "kind": "separation",
                "side": side,
                "hz": 1000.0,
                "start_s": at_s,
                "end_s": at_s + 5.0,
                "level_db": own - 12.0,
                "leak_db": _decibels(leak) + off[0],
                "leak_deg": (phase + 180.0) % 360.0 - 180.0,
            }
        )
        at_s += 6.0
    both = {"kind": "speed", "side": "both", "hz": 3150.0, "start_s": 1.0, "end_s": 6.0}
    bands.append({**both, "level_db": -12.0})
    recorded = {"file": "practice.wav", "seconds": 19.0, "rate": 48_000.0, "channels": 2}
    seen = {
        "left_band_left_db": bands[0]["level_db"],
        "left_band_right_db": bands[0]["level_db"] + bands[0]["leak_db"],
        "right_band_right_db": bands[1]["level_db"],
        "right_band_left_db": bands[1]["level_db"] + bands[1]["leak_db"],
    }
    values = {"way": "leak by tone", "recorded": {**recorded, "bands": tuple(bands)}}
    return shown(TILT, values, lambda numbers: draw.meters(seen, numbers))


def _decibels(leak: complex) -> float:
    return 20.0 * math.log10(max(abs(leak), 1e-4))


def setting(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show where the skating control stands."""
    del rng, choices
    mark, notched = _mark(world), _notched(world)
    skating, world_place = world.deck.skating, world.skating.place
    world_high = float(len(skating.notch_levers_mm)) if notched else skating.highest_gf
    step = 1.0 if notched else skating.step_gf
    return shown(
        SKATING,
        {"way": "setting", "setting": mark},
        lambda numbers: draw.dial(world_place, world_high, step, numbers, notches=notched),
    )


def rising_bands(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Play bands of rising level: which channel breaks up first.

    Each wall of the groove carries the downforce and the side force that is left over, at 45
    degrees; the channel of the lighter wall breaks up first. The ear tells so many decibels.
    """
    del choices
    down = max(world.downforce_gf, 0.05)
    inward = world.mean_side_force_gf() - world.compensation_gf()
    inner, outer = (max(down + side * inward, 0.01 * down) for side in (1.0, -1.0))
    ear = world.tools.ear_db
    heard = 20.0 * math.log10(inner / outer) + 0.25 * ear * float(rng.standard_normal())
    broke = "together" if abs(heard) <= ear else "right" if heard > 0.0 else "left"
    mark = _mark(world)
    values = {"way": "test bands", "setting": mark, "broke_first": broke}
    return shown(SKATING, values, lambda numbers: draw.bands(broke, numbers, mark))


BREAKS_AT_DB: Final = -7.0
STEEP: Final = 6.0
LEVELS_DB: Final = (-14.0, -12.0, -10.0, -8.0, -6.0, -4.0, -2.0)


def bands_by_tone(world: World, rng: np.random.Generator, **choices: Any) -> InstrumentDisplay:
    """Show the figures of a recording of rising bands: each channel's distortion, band by band.

    A wall lets the stylus go at a level in proportion to what it bears. The file itself is not made
    here: hearing one takes seconds.
    """
    del choices
    down = max(world.downforce_gf, 0.05)
    inward = world.mean_side_force_gf() - world.compensation_gf()
    inner, outer = (max(down + side * inward, 0.01 * down) for side in (1.0, -1.0))
    lets_go = [
        BREAKS_AT_DB + 20.0 * math.log10(borne / down) + 0.15 * float(rng.standard_normal())
        for borne in (inner, outer)
    ]
    bands = []
    for place, level in enumerate(LEVELS_DB):
        held = 0.4 * 10.0 ** ((level - LEVELS_DB[0]) / 20.0)
        left, right = (
            held
            * math.hypot(1.0, 10.0 ** (STEEP * (level - at) / 20.0))
            * (1.0 + 0.02 * float(rng.standard_normal()))
            for at in lets_go
        )
        bands.append(
            {
                "kind": "tracking",
                "side": "both",
                "hz": 315.0,
                "start_s": 6.0 * place,
                "end_s": 6.0 * place + 5.0,
                "level_db": level,
                "left_distortion_percent": min(left, 100.0),
                "right_distortion_percent": min(right, 100.0),
            }
        )
    recorded = {"file": "practice.wav", "seconds": 43.0, "rate": 48_000.0, "channels": 2}
    mark, apart = _mark(world), lets_go[0] - lets_go[1]
    broke = "together" if abs(apart) < 0.5 else "right" if apart > 0.0 else "left"
    values = {
        "way": "bands by tone",
        "setting": mark,
        "recorded": {**recorded, "bands": tuple(bands)},
    }
    return shown(SKATING, values, lambda numbers: draw.bands(broke, numbers, mark))


def _notched(world: World) -> bool:
    return world.deck.skating.control is SkatingControl.THREAD_WEIGHT


def _mark(world: World) -> float:
    if _notched(world):
        return float(round(world.skating.place))
    step = world.deck.skating.step_gf
    return float(round(round(world.skating.place / step) * step, 6))


HEAD: Final[dict[tuple[str, str], Callable[..., InstrumentDisplay]]] = {
    (ALIGNMENT, "landing"): landing,
    (ALIGNMENT, "angles"): angles,
    (ALIGNMENT, "landing and angles"): landing_and_angles,
    (ALIGNMENT, "pivot distance"): pivot_distance,
    (ALIGNMENT, "path"): path,
    (TILT, "gaps"): gaps,
    (TILT, "mirror"): mirror,
    (TILT, "test bands"): test_bands,
    (TILT, "leak by tone"): leak_by_tone,
    (SKATING, "setting"): setting,
    (SKATING, "test bands"): rising_bands,
    (SKATING, "bands by tone"): bands_by_tone,
}
"""Those of alignment, tilt and skating by step and way of reading."""

assert GROOVES_MM[1] == OUTER_GROOVE_MM  # noqa: S101  # one pair of limits serves all
