"""Mount: the resonance of the arm's mass and the stylus's compliance."""

import math
from dataclasses import dataclass

GOOD_LOW_HZ = 8.0
"""Common practice, no source: below this, warps and footfall are met."""
GOOD_HIGH_HZ = 12.0
"""Common practice, no source: above this, the lowest music is met."""
AIM_HZ = 10.0
"""Common practice, no source: middle of the band."""
FROM_100_HZ = (1.5, 2.0)
"""Common practice, no source: compliance at 10 Hz over that at 100 Hz."""
DYNAMIC_SHARE_OF_STATIC = 0.5
"""Common practice, no source: compliance at 10 Hz is about half of the static figure."""


@dataclass(frozen=True, slots=True)
class Span:
    """A lower and an upper value of something not known more closely, with a middle."""

    low: float
    middle: float
    high: float


def moving_mass_g(
    arm_effective_mass_g: float,
    cartridge_g: float,
    hardware_g: float = 0.0,
    headshell_g: float = 0.0,
) -> float:
    """Mass the stylus has to move: arm, cartridge and hardware.

    Give `headshell_g` only if the arm's own figure leaves the headshell out. Statics about the
    pivot, with everything at the head counted at the stylus (derived; a few millimetres' error in
    230 mm).
    """
    return arm_effective_mass_g + cartridge_g + hardware_g + headshell_g


def resonance_hz(mass_g: float, compliance_um_per_mn: float) -> float:
    """Low-frequency resonance of arm and cartridge: 1000 / (2 pi sqrt(M C)), both above zero.

    Derived; the handbook form is 159 / sqrt(M C). The compliance is that at about 10 Hz; the number
    is the same in 1e-6 cm/dyne.
    """
    _above_zero(mass_g, compliance_um_per_mn)
    return 1000.0 / (2.0 * math.pi * math.sqrt(mass_g * compliance_um_per_mn))


def compliance_span(
    compliance_um_per_mn: float,
    *,
    at_100_hz: bool = False,
    static: bool = False,
    relative_error: float = 0.0,
) -> Span:
    """Compliance at 10 Hz from the figure in the leaflet.

    At 100 Hz: times 1.5 to 2; static: about half (both common practice, no source).
    `relative_error` is the spread of samples, 0.1 for a tenth; it widens both ends.
    """
    if at_100_hz and static:
        raise ValueError("A compliance is given at 100 Hz or as static, not both.")
    low, high = (1.0, 1.0)
    if at_100_hz:
        low, high = FROM_100_HZ
    elif static:
        low = high = DYNAMIC_SHARE_OF_STATIC
    return Span(
        compliance_um_per_mn * low * (1.0 - relative_error),
        compliance_um_per_mn * 0.5 * (low + high),
        compliance_um_per_mn * high * (1.0 + relative_error),
    )


def resonance_span_hz(mass_g: float, compliance: Span) -> Span:
    """Resonance over a span of compliance: the stiffest end gives the highest frequency."""
    return Span(
        resonance_hz(mass_g, compliance.high),
        resonance_hz(mass_g, compliance.middle),
        resonance_hz(mass_g, compliance.low),
    )


def mass_for_hz(frequency_hz: float, compliance_um_per_mn: float) -> float:
    """Return the moving mass, grams, that puts the resonance at a frequency (solved for M)."""
    _above_zero(frequency_hz, compliance_um_per_mn)
    return 1e6 / ((2.0 * math.pi * frequency_hz) ** 2 * compliance_um_per_mn)


def mass_to_add_g(
    mass_g: float, compliance_um_per_mn: float, frequency_hz: float = AIM_HZ
) -> float:
    """Grams to add at the head (negative: to take away) to bring the resonance to a frequency."""
    return mass_for_hz(frequency_hz, compliance_um_per_mn) - mass_g


def _above_zero(*values: float) -> None:
    if not all(value > 0.0 for value in values):
        raise ValueError("Mass, compliance and frequency must all be above zero.")
