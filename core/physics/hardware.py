"""Mount: screws."""

import math
from dataclasses import dataclass

STOCK_M25_LENGTHS_MM = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 25.0, 30.0)
"""Lengths in which M2.5 machine screws are commonly stocked: common practice, no source."""

M25_NUT_MM = 2.0
"""Height of a plain M2.5 nut: common practice, no source."""

M25_PITCH_MM = 0.45
"""Coarse thread pitch of M2.5: memory (ISO 261)."""

LEAST_THREAD_TURNS = 3.0
"""Turns of thread that should hold in a tapped body: common practice, no source."""


@dataclass(frozen=True, slots=True)
class ScrewChoice:
    """Least and greatest length under the head, and the shortest stock length between the two.

    The greatest is where it touches bottom or stands proud, infinity when nothing is in the way.
    """

    needed_mm: float
    most_mm: float
    stock_mm: float | None


def screw_through(
    headshell_mm: float, lug_mm: float, *, washers_mm: float = 0.0, nut_mm: float = M25_NUT_MM
) -> ScrewChoice:
    """Screw and nut: headshell, mounting lug, washers and the full height of the nut (derived).

    All in millimetres, length counted under the screw's head.
    """
    needed = headshell_mm + lug_mm + washers_mm + nut_mm
    return ScrewChoice(needed, math.inf, _stock(needed, math.inf))


def screw_into_body(
    headshell_mm: float, thread_depth_mm: float, *, washers_mm: float = 0.0
) -> ScrewChoice:
    """Screw into a tapped body: at least three turns, and never to the bottom of the hole.

    A screw that bottoms can crack the body, so the longest is the depth less half a turn
    (common practice). A shallow thread may leave no stock length: then washers take up the rest.
    """
    if not thread_depth_mm > 0.0:
        raise ValueError("A tapped body needs a thread depth above zero.")
    grip = LEAST_THREAD_TURNS * M25_PITCH_MM
    needed = headshell_mm + washers_mm + grip
    most = headshell_mm + washers_mm + thread_depth_mm - 0.5 * M25_PITCH_MM
    return ScrewChoice(needed, most, _stock(needed, most))


def _stock(needed_mm: float, most_mm: float) -> float | None:
    fitting = [s for s in STOCK_M25_LENGTHS_MM if needed_mm - 1e-9 <= s <= most_mm + 1e-9]
    return fitting[0] if fitting else None
