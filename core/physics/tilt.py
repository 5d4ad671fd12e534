"""Tilt (azimuth): from gaps under the body, as a leak, as a shim.

Tilt is positive when the left gap is the larger: the body's left side is high. Groove walls lie at
45 degrees, so a pure tilt t leaks tan t of one channel into the other (geometry).
"""

import math

from core.estimation import Estimate


def gap_tilt_deg(
    left_mm: float,
    right_mm: float,
    width_mm: float,
    *,
    gap_standard_uncertainty_mm: float,
    width_standard_uncertainty_mm: float = 0.0,
) -> Estimate:
    """Tilt from the gaps left and right under the body: atan((left - right) / width), derived.

    Gaps are seen from the front as the listener sees the cartridge; the width is the distance
    between the two places, above zero. The uncertainties are of each gap, and of the distance.
    """
    if not width_mm > 0.0:
        raise ValueError("The two gaps must lie some distance apart.")
    step = left_mm - right_mm
    scale = 1.0 / (width_mm**2 + step**2)
    uncertainty = math.hypot(
        math.sqrt(2.0) * gap_standard_uncertainty_mm * width_mm * scale,
        width_standard_uncertainty_mm * step * scale,
    )
    return Estimate(math.degrees(math.atan2(step, width_mm)), math.degrees(uncertainty))


def shim_mm(tilt_deg: float, width_mm: float) -> float:
    """Thickness of a shim on one side, `width_mm` from the other, for a tilt: width x tan t."""
    return width_mm * math.tan(math.radians(tilt_deg))


def tilt_of_leak_deg(leak_db: float) -> float:
    """Pure tilt that would leak this much, without sign: atan(10^(dB / 20))."""
    return math.degrees(math.atan(10.0 ** (leak_db / 20.0)))


def channel_balance(
    left_band_left_db: float, right_band_right_db: float, *, level_standard_uncertainty_db: float
) -> Estimate:
    """Difference between the channels, right over left, each playing its own band, dB.

    Tilt changes both levels alike (cos t), so this is the cartridge's or the amplifier's, and
    twisting the head will not mend it.
    """
    return Estimate(
        right_band_right_db - left_band_left_db, math.sqrt(2.0) * level_standard_uncertainty_db
    )
