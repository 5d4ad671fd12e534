"""Every place in core where a direction that a person is told is decided, for ``mutants``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

DECIDED: tuple[tuple[str, str], ...] = (
    ("core/steps/shared/sentences.py", "way=ways[0 if value > 0.0 else 1]"),
    ("core/workflow/descriptions.py", "way = ways[0 if part.amount >= 0.0 else 1]"),
    ("core/workflow/descriptions.py", "way=ways[0 if change > 0.0 else 1]"),
    ("core/workflow/descriptions.py", "spec.directions.plus if value > 0 else"),
    ("core/swap/words.py", "'more' if part.amount > 0 else"),
    ("core/steps/level/feet.py", 'way = "longer" if lift > 0 else'),
    ("core/steps/level/bench.py", "up=part.amount >= 0.0, tall=12.0"),
    ("core/steps/mount/judge.py", 'way = "add" if change_g > 0 else'),
    ("core/steps/mount/swap.py", 'way="more" if to_add > 0 else'),
    ("core/steps/mount/figures.py", "more = wanted_g > 0.0"),
    ("core/steps/mount/figures.py", 'side = "low" if span.middle < GOOD_LOW_HZ else'),
    ("core/steps/mount/figures.py", 'side = "low" if has < wanted else'),
    ("core/steps/mount/figures.py", '"no" if has < least else'),
    ("core/steps/mount/figures.py", 'side = "low" if gain < wanted else'),
    ("core/steps/downforce/move.py", 'way = "up" if amount > 0 else'),
    ("core/steps/downforce/move.py", 'way = "toward" if amount > 0 else'),
    ("core/steps/downforce/move.py", 'way = "toward the head" if amount > 0 else'),
    ("core/steps/downforce/words.py", 'side = "above" if heights[-1] > 0 else'),
    ("core/steps/downforce/words.py", '"light" if mass < arm.lightest_cartridge_g else'),
    ("core/steps/downforce/bench.py", "more = part.amount >= 0.0"),
    ("core/steps/downforce/bench.py", "toward = part.amount >= 0.0"),
    (
        "core/steps/rough_downforce/judge.py",
        'side="more" if now.value > self.wanted.target_gf else',
    ),
    (
        "core/steps/final_downforce/judge.py",
        'side = "more" if now.value > self.wanted.target_gf else',
    ),
    ("core/steps/arm_height/judge.py", "control, up = self.deck.height.control, lift_mm > 0"),
    ("core/steps/arm_height/judge.py", '"taller" if high_mm > 0 else'),
    (
        "core/steps/arm_height/judge.py",
        'side = "level" if abs(value) < _LEVEL_MM else "high" if value > 0',
    ),
    (
        "core/steps/arm_height/judge.py",
        '"side": "level" if abs(value) < _LEVEL_MM else "high" if value >= 0',
    ),
    ("core/steps/arm_height/judge.py", 'kind = "thicker" if self.extra_mm > 0 else'),
    ("core/steps/arm_height/swap.py", 'side="low" if still > 0 else'),
    ("core/steps/arm_height/swap.py", '    side = "low" if still > 0 else'),
    ("core/steps/arm_height/swap.py", 'body = "lower" if still > 0 else'),
    ("core/steps/arm_height/chart.py", 'side = "high" if view.now_mm >= 0 else'),
    ("core/steps/arm_height/bench.py", "up = part.amount >= 0.0"),
    ("core/steps/alignment/judge.py", "way, size = ways[wanted.slide_mm < 0]"),
    ("core/steps/alignment/judge.py", 'way, size = "in" if wanted.twist_deg > 0 else'),
    ("core/steps/alignment/judge.py", 'way, size = "away" if base_mm > 0 else'),
    ("core/steps/alignment/swap.py", 'way = "further" if ahead > 0 else'),
    ("core/steps/alignment/swap.py", 'way="forward" if over > 0 else'),
    ("core/steps/alignment/swap.py", 'way="forward" if off > 0 else'),
    ("core/steps/alignment/bench.py", 'side = "beyond" if value >= 0.0 else'),
    ("core/steps/alignment/bench.py", 'side = "out" if value >= 0.0 else'),
    ("core/steps/alignment/bench.py", "positive = part.amount >= 0.0"),
    ("core/steps/tilt/control.py", 'at = "left" if thickness > 0 else'),
    ("core/steps/tilt/control.py", 'up = "left" if change_deg > 0 else'),
    ("core/steps/tilt/judge_base.py", 'return "left" if tilt_deg > 0 else'),
    ("core/steps/tilt/judge_by_bands.py", 'louder = "right" if bands.lopsided_db > 0 else'),
    ("core/steps/tilt/chart.py", 'side = "left" if view.now_deg > 0 else'),
    ("core/steps/tilt/doubts.py", 'side = "left" if gaps.left_mm <= 0.0 else'),
    ("core/steps/tilt/bench.py", "left_up = part.amount >= 0.0"),
    ("core/steps/skating/judge.py", 'way = "more" if there > here else'),
    ("core/steps/skating/bench.py", "more = part.amount >= 0.0"),
    ("core/physics/break_up.py", 'return "right" if apart > 0.0 else'),
    ("core/steps/speed/move.py", 'way, turns = "clockwise" if amount > 0 else'),
    ("core/steps/speed/move.py", "if at is None:\n        if amount > 0:"),
    (
        "core/steps/speed/move.py",
        'return message("speed.set_down", steps=steps)\n    if amount > 0:',
    ),
    ("core/steps/speed/judge.py", '"true" if true else "fast" if now.value > 0 else'),
    (
        "core/steps/speed/chart.py",
        'SpeedTrim.SCREW:\n        way = "more" if event.amount > 0 else',
    ),
    (
        "core/steps/speed/chart.py",
        'Turns(event.amount))\n    way = "more" if event.amount > 0 else',
    ),
    ("core/steps/speed/bench.py", "more = part.amount >= 0.0"),
)
"""A comparison that chooses the word or the arrow: turned round."""

PAIRS: tuple[tuple[str, str, str], ...] = (
    (
        "core/steps/shared/movable.py",
        'message("control.more", control=kind)',
        'message("control.less", control=kind)',
    ),
    (
        "core/steps/level/judge.py",
        'message("level.high", direction=direction)',
        'message("level.low", direction=direction)',
    ),
    (
        "core/steps/level/judge.py",
        'message("level.own_error.marked")',
        'message("level.own_error.other")',
    ),
    ("core/steps/level/readings.py", '"toward the marked end"', '"toward the other end"'),
    ("core/steps/level/readings.py", '"marked end high"', '"other end high"'),
    ("core/steps/level/readings.py", '"at the unmarked end"', '"at the marked end"'),
    ("core/steps/downforce/weighings.py", '"above the record"', '"below the record"'),
    ("core/steps/arm_height/readings.py", '"rear high"', '"rear low"'),
    (
        "core/steps/arm_height/judge.py",
        'message("arm_height.off.high")',
        'message("arm_height.off.low")',
    ),
    (
        "core/steps/arm_height/judge.py",
        'message("arm_height.off.rear_high")',
        'message("arm_height.off.rear_low")',
    ),
    (
        "core/steps/arm_height/judge.py",
        'message("arm_height.off.up")',
        'message("arm_height.off.down")',
    ),
    (
        "core/steps/arm_height/judge.py",
        'message("arm_height.off.left_high")',
        'message("arm_height.off.right_high")',
    ),
    ("core/steps/alignment/readings.py", '"beyond the mark"', '"short of the mark"'),
    ("core/steps/alignment/readings.py", '"ahead of the line"', '"behind the line"'),
    (
        "core/steps/alignment/readings.py",
        '"turned out, away from the spindle"',
        '"turned in, toward the spindle"',
    ),
    (
        "core/steps/alignment/figures.py",
        'message("alignment.off.head_out")',
        'message("alignment.off.head_in")',
    ),
    (
        "core/steps/alignment/figures.py",
        'message("alignment.off.too_long")',
        'message("alignment.off.too_short")',
    ),
    (
        "core/steps/alignment/figures.py",
        'message("alignment.off.turned_in")',
        'message("alignment.off.turned_out")',
    ),
    (
        "core/steps/alignment/judge.py",
        'message("alignment.off.further")',
        'message("alignment.off.nearer")',
    ),
    (
        "core/steps/alignment/judge.py",
        'message("alignment.off.head_in")',
        'message("alignment.off.head_out")',
    ),
    (
        "core/steps/alignment/judge.py",
        'message("alignment.off.beyond")',
        'message("alignment.off.short")',
    ),
    (
        "core/steps/alignment/judge.py",
        'message("alignment.off.ahead")',
        'message("alignment.off.behind")',
    ),
    (
        "core/steps/alignment/judge.py",
        'message("alignment.off.longer")',
        'message("alignment.off.shorter")',
    ),
    (
        "core/steps/alignment/judge.py",
        'message("alignment.off.more_offset")',
        'message("alignment.off.less_offset")',
    ),
    ("core/steps/tilt/readings.py", '"left side higher"', '"right side higher"'),
    ("core/steps/tilt/readings.py", '"under the left screw"', '"under the right screw"'),
    (
        "core/steps/tilt/judge_base.py",
        'message("tilt.off.left_high")',
        'message("tilt.off.right_high")',
    ),
    (
        "core/steps/tilt/judge_by_bands.py",
        'message("tilt.off.left_up")',
        'message("tilt.off.right_up")',
    ),
    (
        "core/steps/tilt/judge_by_bands.py",
        'message("tilt.off.right_louder")',
        'message("tilt.off.left_louder")',
    ),
    (
        "core/steps/skating/judge.py",
        'message("skating.pull.inward")',
        'message("skating.pull.outward")',
    ),
    (
        "core/steps/skating/judge.py",
        'message("skating.off.right_first")',
        'message("skating.off.left_first")',
    ),
    ("core/steps/speed/readings.py", 'message("speed.off.fast")', 'message("speed.off.slow")'),
    ("core/steps/speed/move.py", 'message("speed.off.faster")', 'message("speed.off.slower")'),
)
"""Two ways side by side, the one above zero first: exchanged."""

SIGNS: tuple[tuple[str, str, str], ...] = (
    (
        "core/steps/level/readings.py",
        "if self.toward is VialEnd.MARKED",
        "if self.toward is not VialEnd.MARKED",
    ),
    (
        "core/steps/level/judge.py",
        "Direction.FRONT_BACK if sideways",
        "Direction.FRONT_BACK if not sideways",
    ),
    (
        "core/physics/feet.py",
        "return lift_mm / pitch_mm_per_turn",
        "return -lift_mm / pitch_mm_per_turn",
    ),
    ("core/physics/plane.py", "180.0 if self.turned else 0.0", "0.0 if self.turned else 180.0"),
    (
        "core/steps/arm_height/judge.py",
        "_in_mm(Control.HEAD_SHIM, -lift_mm)",
        "_in_mm(Control.HEAD_SHIM, lift_mm)",
    ),
    (
        "core/steps/arm_height/judge.py",
        'message("arm_height.figure.pillar"), -now.value',
        'message("arm_height.figure.pillar"), now.value',
    ),
    ("core/steps/arm_height/effects.py", '"height", change.rear_mm', '"height", -change.rear_mm'),
    ("core/steps/arm_height/effects.py", '"height", sink_mm', '"height", -sink_mm'),
    ("core/steps/alignment/effects.py", '"slide", change.reach_mm', '"slide", -change.reach_mm'),
    (
        "core/steps/alignment/effects.py",
        '"twist", change.offset_deg',
        '"twist", -change.offset_deg',
    ),
    (
        "core/steps/downforce/effects.py",
        '"downforce", change.downforce_gf',
        '"downforce", -change.downforce_gf',
    ),
    ("core/steps/skating/effects.py", '"setting", change_gf', '"setting", -change_gf'),
    ("core/steps/skating/effects.py", "FigureChange(-change.value", "FigureChange(change.value"),
    ("core/steps/tilt/effects.py", '"tilt", change.tilt_deg', '"tilt", -change.tilt_deg'),
    ("core/steps/tilt/control.py", "thickness = -round(", "thickness = round("),
    ("core/steps/tilt/control.py", "return -right_triangle.value", "return right_triangle.value"),
    ("core/steps/tilt/control.py", "return _roll_of_shim(-steps", "return _roll_of_shim(steps"),
    (
        "core/steps/speed/readings.py",
        "if self.direction is not BarDrift.WITH",
        "if self.direction is BarDrift.WITH",
    ),
    ("core/steps/speed/readings.py", "-drift if self.direction", "drift if self.direction"),
    (
        "core/steps/speed/move.py",
        "round(-off_percent / gain / control.smallest_step)",
        "round(off_percent / gain / control.smallest_step)",
    ),
    ("core/steps/alignment/judge.py", '"angle": _error(-offset)', '"angle": _error(offset)'),
    (
        "core/workflow/replay.py",
        "change = after.value - before.value",
        "change = before.value - after.value",
    ),
    ("core/physics/pitch.py", "Estimate(-reach_mm * slope", "Estimate(reach_mm * slope"),
    ("core/physics/tilt.py", "step = left_mm - right_mm", "step = right_mm - left_mm"),
    (
        "core/steps/level/bench.py",
        'bearing + 180.0 if values.get("turned")',
        'bearing + 180.0 if not values.get("turned")',
    ),
    (
        "core/steps/downforce/bench.py",
        "start - 180.0, 140.0 if toward",
        "start - 180.0, 140.0 if not toward",
    ),
    ("core/steps/downforce/bench.py", '"clockwise" if toward', '"clockwise" if not toward'),
    ("core/steps/speed/bench.py", "17.0, -50.0 if more", "17.0, -50.0 if not more"),
    ("core/steps/tilt/bench.py", '"rises" if up', '"rises" if not up'),
    (
        "core/steps/downforce/words.py",
        'ways = more, message("downforce.gain.less", control=kind)',
        'ways = message("downforce.gain.less", control=kind), more',
    ),
    (
        "core/steps/tilt/readings.py",
        "Lean.LEFT_HIGH: 1.0, Lean.RIGHT_HIGH: -1.0",
        "Lean.LEFT_HIGH: -1.0, Lean.RIGHT_HIGH: 1.0",
    ),
    (
        "core/steps/alignment/bench.py",
        "(near, far) if part.amount >= 0.0 else",
        "(far, near) if part.amount >= 0.0 else",
    ),
    (
        "core/steps/downforce/floating.py",
        "math.copysign(length, way)",
        "math.copysign(length, -way)",
    ),
)
"""A sign or a side, and its contrary."""

_CONTRARY = {" > ": " < ", " < ": " > ", " >= ": " <= ", " <= ": " >= "}


def directions() -> Iterator[tuple[str, str, str]]:
    """Yield the file, the text and its contrary of each."""
    for file, said in DECIDED:
        *_, last = re.finditer(" [<>]=? ", said)
        yield file, said, said[: last.start()] + _CONTRARY[last[0]] + said[last.end() :]
    for file, one, other in PAIRS:
        either = re.escape(one) + r",(\s+)" + re.escape(other)
        (found,) = re.finditer(either, Path(file).read_text(encoding="utf-8"))
        yield file, found[0], f"{other},{found[1]}{one}"
    yield from SIGNS
