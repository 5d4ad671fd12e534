"""Mount: the electrical load of a moving-magnet cartridge."""

import math
from enum import Enum

USUAL_LOAD_KOHM = 47.0
"""Load resistance that moving-magnet inputs have by common practice."""


class LoadVerdict(Enum):
    """Where the capacitance lies against the maker's range."""

    INSIDE = "inside"
    TOO_LITTLE = "too little"
    TOO_MUCH = "too much"


def load_resonance_khz(inductance_mh: float, capacitance_pf: float) -> float:
    """Resonance of the coil with cable and input: 1 / (2 pi sqrt(L C)), derived.

    500 mH with 200 pF: 15.92 kHz. Both above zero.
    """
    if not (inductance_mh > 0.0 and capacitance_pf > 0.0):
        raise ValueError("Inductance and capacitance must both be above zero.")
    # 1 / sqrt(1e-3 x 1e-12) is sqrt(1e15) hertz.
    return math.sqrt(1e9) / (2.0 * math.pi * math.sqrt(inductance_mh * capacitance_pf))


def load_q(
    inductance_mh: float, capacitance_pf: float, load_kohm: float = USUAL_LOAD_KOHM
) -> float:
    """Sharpness of that resonance: R sqrt(C / L), with the coil's own resistance left out."""
    return load_kohm * 1e3 * math.sqrt(capacitance_pf * 1e-12 / (inductance_mh * 1e-3))


def load_peak_db(q: float) -> float:
    """Height of the electrical peak over the level at low frequency, 0 when there is none.

    Second-order low-pass: Q / sqrt(1 - 1 / (4 Q^2)) above Q = 0.707 (derived). The ear hears it
    together with the mechanical treble of the stylus, so advice goes by the maker's range and not
    by this figure alone.
    """
    if q * q <= 0.5:
        return 0.0
    return 20.0 * math.log10(q / math.sqrt(1.0 - 1.0 / (4.0 * q * q)))


def total_capacitance_pf(cable_pf: float, input_pf: float) -> float:
    """Cable and input lie in parallel, so they add."""
    return cable_pf + input_pf


def judge_capacitance(total_pf: float, least_pf: float, most_pf: float) -> LoadVerdict:
    """Whether cable plus input lies inside the maker's range, its ends included."""
    if total_pf < least_pf:
        return LoadVerdict.TOO_LITTLE
    return LoadVerdict.TOO_MUCH if total_pf > most_pf else LoadVerdict.INSIDE
