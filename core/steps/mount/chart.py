"""The picture of the mount step: resonance against compliance for this arm's moving mass."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.drawing.chart import Axis, Band, Curve, Item, MarkRole, Picture, Points, Shape, floats
from core.language import Message, Quantity, message
from core.physics.resonance import (
    GOOD_HIGH_HZ,
    GOOD_LOW_HZ,
    Span,
    mass_for_hz,
    resonance_hz,
    resonance_span_hz,
)


@dataclass(frozen=True, slots=True)
class MountView:
    """The content of the picture: moving masses in grams, compliance in µm/mN or None."""

    mass_g: float
    compliance: Span | None
    before_g: tuple[float, ...] = ()
    predicted_g: float | None = None


def draw_mount(view: MountView) -> Picture:
    """Draw the curve of this arm, the band of common practice and this cartridge."""
    highest = 20.0
    widest = 40.0
    if view.compliance is not None:
        highest = max(highest, 1.2 * resonance_span_hz(view.mass_g, view.compliance).high)
        widest = max(widest, 1.3 * view.compliance.high)
    items: list[Item] = [
        Band("y", GOOD_LOW_HZ, GOOD_HIGH_HZ, MarkRole.GOOD, message("mount.chart.band")),
        *(_curve(mass, highest, widest, MarkRole.BEFORE, None) for mass in view.before_g),
    ]
    if view.predicted_g is not None:
        label = message("mount.chart.after_change")
        items.append(_curve(view.predicted_g, highest, widest, MarkRole.PREDICTED, label))
    label = message("mount.chart.this_arm", mass=Quantity(view.mass_g, "g", 1))
    items.append(_curve(view.mass_g, highest, widest, MarkRole.NOW, label))
    if view.compliance is not None:
        items += _point(view.mass_g, view.compliance)
    return Picture(
        title=message("mount.chart.title"),
        summary=_summary(view),
        x=Axis(message("mount.chart.compliance"), "µm/mN", 0.0, widest),
        y=Axis(message("mount.figure.resonance"), "Hz", 0.0, highest),
        items=tuple(items),
    )


def _curve(
    mass_g: float, highest: float, widest: float, role: MarkRole, label: Message | None
) -> Curve:
    # Mass and compliance stand alike in the formula, so the mass for a frequency at this
    # "compliance" is the compliance for that frequency at this mass.
    stiffest = min(mass_for_hz(highest, mass_g), 0.5 * widest)
    compliance = np.geomspace(stiffest, widest, 80)
    resonance = [resonance_hz(mass_g, float(c)) for c in compliance]
    return Curve(compliance, floats(resonance), role, label)


def _point(mass_g: float, compliance: Span) -> list[Item]:
    frequency = resonance_span_hz(mass_g, compliance)
    left, right = compliance.low, compliance.high
    xs = floats([left, right, right, left, left])
    ys = floats([frequency.low, frequency.low, frequency.high, frequency.high, frequency.low])
    half = (frequency.high - frequency.low) / 2
    return [
        Shape(xs, ys, MarkRole.NOW, message("mount.chart.where_it_may_lie")),
        Points(
            floats([compliance.middle]),
            floats([frequency.middle]),
            MarkRole.NOW,
            message("mount.chart.this_cartridge"),
            floats([half]),
        ),
    ]


def _summary(view: MountView) -> Message:
    mass = Quantity(view.mass_g, "g", 1)
    if view.compliance is None:
        return message(
            "mount.chart.summary.compliance_unknown",
            mass=mass,
            low=Quantity(mass_for_hz(GOOD_HIGH_HZ, view.mass_g), decimals=1),
            high=Quantity(mass_for_hz(GOOD_LOW_HZ, view.mass_g), "µm/mN", 1),
        )
    frequency = resonance_span_hz(view.mass_g, view.compliance)
    inside = GOOD_LOW_HZ <= frequency.middle <= GOOD_HIGH_HZ
    return message(
        "mount.chart.summary.resonance",
        band="inside" if inside else "outside",
        mass=mass,
        resonance=Quantity(frequency.middle, "Hz", 1),
    )
