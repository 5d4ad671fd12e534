"""A cartridge that leans, and readings of it."""

from __future__ import annotations

import math

from core.fitting import Assessment, Context, Control, MovePart, Reading
from core.language import Numbers
from core.records import Cartridge, Deck
from core.steps import tilt
from core.steps.tilt import Gaps, TestBands
from tests.examples import cartridge, deck
from tests.kit import trial
from tests.worded import worded

WIDTH_MM = 17.0
TURNED = ("head", "collar", "shim")


def on_control(control: str) -> Deck:
    return deck(tilt={"control": control})


def judged(
    things: list[Reading | MovePart],
    on: Deck | None = None,
    with_: Cartridge | None = None,
    numbers: Numbers | None = None,
) -> Assessment:
    trials = tuple(trial(thing) for thing in things)
    context = Context(
        step="tilt",
        deck=on or deck(),
        cartridge=with_ or cartridge(),
        log={"tilt": trials},
    )
    answer: Assessment = worded(tilt.assess(context), numbers)
    return answer


def gaps_of(tilt_deg: float) -> Gaps:
    """Read the gaps of a body that leans so, left side high, without error."""
    half = 0.5 * WIDTH_MM * math.tan(math.radians(tilt_deg))
    return Gaps(left_mm=5.0 + half, right_mm=5.0 - half)


def roll_of(part: MovePart) -> float:
    """Return by how many degrees a hand that obeys raises the left side."""
    if part.control is Control.TILT:
        return part.amount
    assert part.control is Control.TILT_SHIM
    # A shim under the left screw, 12.7 mm from the right one, presses the left side down.
    return -math.degrees(math.atan2(part.amount, 12.7))


def bands_of(tilt_deg: float, own: tuple[complex, complex] = (0.02j, 0.025j)) -> TestBands:
    """Read levels of a 45/45 groove with a generator that leaks of itself, without error."""
    lean = math.tan(math.radians(tilt_deg))
    into_right, into_left = abs(own[0] + lean), abs(own[1] - lean)
    return TestBands(
        left_band_left_db=-3.0,
        left_band_right_db=-3.0 + 20 * math.log10(into_right),
        right_band_right_db=-2.6,
        right_band_left_db=-2.6 + 20 * math.log10(into_left),
    )


def value(answer: Assessment, key: str = "tilt") -> float:
    figure = answer.figure(key)
    assert figure is not None, key
    return figure.value
