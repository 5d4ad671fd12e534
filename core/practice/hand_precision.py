"""How exactly hands set things: every figure is one standard deviation of a single move.

No source gives these. Each is our own assumption, drawn from what the hand goes by: a mark, a rim,
an eye over a grid. None may be lowered to let a solver look better: where a figure makes a
tolerance hard to meet, the table shows it.
"""

from __future__ import annotations

from typing import Final

SHARE: Final = 0.08
"""Of any move: a quarter turn is not exactly a quarter. Assumed: 7 degrees on 90."""

RING_TURNS: Final = 0.01
"""A ring with marks in gf. On a rim of 30 mm across, 1 mm is 0.0106 turns (derived); assumed that
a mark is set to a millimetre."""

THREAD_TURNS: Final = 0.03
"""A weight on a thread without marks, turned by eye: about 11 degrees. Assumed."""

SLID_WEIGHT_MM: Final = 0.15
"""A weight without a thread, slid along its rod against a scale of millimetres. It sticks and then
gives, and is read to no better than a fifth of its marks. Assumed, of 0.1 to 0.3 mm."""

DIAL_GF: Final = 0.025
"""A downforce dial with a mark for every 0.1 gf, set to a quarter of it. Assumed."""

FOOT_TURNS: Final = 0.02
"""A foot, 40 to 60 mm across, turned to 3 mm of its rim. Assumed."""

FOOT_MM: Final = 0.1
"""A foot that is packed or jacked by a length. Assumed."""

COLLAR_TURNS: Final = 0.02
"""A pillar's collar, 30 to 50 mm across, to 2 or 3 mm of its rim. Assumed."""

PILLAR_MM: Final = 0.15
"""A pillar held by a grub screw: set beside a ruler read to 0.25 mm, and it shifts as the screw
bites. Assumed; a little finer than one look at the ruler, as more than one look is taken."""

SHIM_MM: Final = 0.03
"""A shim is as thick as it says, but for what is pressed and what is not flat. Assumed."""

SIDE_SHIM_MM: Final = 0.01
"""A strip under one screw, of a feeler gauge. Assumed."""

BASE_MM: Final = 0.15
"""An arm base slid along its slot. Assumed, as for a slid weight."""

SLIDE_EYES: Final = 1.0
TWIST_EYES: Final = 1.0
"""A cartridge is slid and turned no finer than the eye reads the grid below it: one reading's
spread, from the deck's bench kit (usually 0.2 mm and 0.25 degrees). Assumed."""

SLIDE_TURNS_DEG: Final = 0.2
TWIST_SLIDES_MM: Final = 0.1
"""Both screws are loose: what is slid also turns, what is turned also slides. Two screws 12.7 mm
apart with 0.05 mm of play each let the body turn by 0.2 degrees (derived; the play is assumed)."""

TIGHTENING_MM: Final = 0.1
TIGHTENING_DEG: Final = 0.2
"""What the screws drag along as they bite. Assumed: common practice only says that they do."""

REFITTED_MM: Final = 0.3
REFITTED_DEG: Final = 0.5
"""Screws taken out and put back, as when weight is added. Assumed."""

TRIM_SCREW_TURNS: Final = 0.015
"""A screwdriver in a slot, 5 degrees, judged against nothing. Assumed."""

SETTING_STEPS: Final = 0.05
"""A skating dial is set on a mark, to a twentieth of the way to the next. Assumed."""

TILT_STEPS: Final = 0.3
"""A head is turned to about a third of what its deck calls its smallest step. Assumed."""
