"""Tilt (azimuth): from gaps under the body, as a leak, as a split, as a shim.

Tilt is positive when the left gap is the larger: the body's left side is high. Groove walls lie at
45 degrees, so a pure tilt t leaks tan t of one channel into the other (geometry).
"""

import math
from dataclasses import dataclass

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

    Parameters
    ----------
    left_mm, right_mm : float
        Gaps, seen from the front as the listener sees the cartridge.
    width_mm : float
        Distance between the two places, above zero.
    gap_standard_uncertainty_mm, width_standard_uncertainty_mm : float
        Of each gap, and of the distance.

    Returns
    -------
    Estimate
        Degrees.
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


def leak_of_tilt_db(tilt_deg: float) -> float:
    """Leak of a pure tilt, wrong channel over right: 20 log10 tan|t|; 1 degree: -35.16 dB."""
    leak = math.tan(abs(math.radians(tilt_deg)))
    return 20.0 * math.log10(leak) if leak > 0.0 else -math.inf


def tilt_of_leak_deg(leak_db: float) -> float:
    """Pure tilt that would leak this much, without sign: atan(10^(dB / 20))."""
    return math.degrees(math.atan(10.0 ** (leak_db / 20.0)))


def mono_split_db(tilt_deg: float) -> float:
    """Difference between the channels on a lateral (mono) band: 20 log10 tan(45 + t).

    0.303 dB at 1 degree, within 40 degrees either way.
    """
    return 20.0 * math.log10(math.tan(math.radians(45.0 + tilt_deg)))


@dataclass(frozen=True, slots=True)
class ChannelBalance:
    """Difference between the channels, told apart from tilt, dB.

    Parameters
    ----------
    own_db : Estimate
        Right over left, each playing its own band: tilt changes both alike (cos t), so this is
        the cartridge's or the amplifier's, and twisting the head will not mend it.
    mono_beyond_db : Estimate or None
        What a mono band's split shows beyond that, if one was read: the share of tilt.
    """

    own_db: Estimate
    mono_beyond_db: Estimate | None


def channel_balance(
    left_band_left_db: float,
    right_band_right_db: float,
    *,
    level_standard_uncertainty_db: float,
    mono_right_over_left_db: float | None = None,
) -> ChannelBalance:
    """Tell lopsided channels from tilt.

    Parameters
    ----------
    left_band_left_db, right_band_right_db : float
        Level of each channel playing its own band.
    level_standard_uncertainty_db : float
        Of each level.
    mono_right_over_left_db : float or None
        Split read on a lateral band.
    """
    own = Estimate(
        right_band_right_db - left_band_left_db, math.sqrt(2.0) * level_standard_uncertainty_db
    )
    if mono_right_over_left_db is None:
        return ChannelBalance(own, None)
    split = Estimate(mono_right_over_left_db, math.sqrt(2.0) * level_standard_uncertainty_db)
    return ChannelBalance(own, split.minus(own))
