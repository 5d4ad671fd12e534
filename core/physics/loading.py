"""Mount: the electrical load of a moving-magnet cartridge."""

import math
from enum import Enum


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


def total_capacitance_pf(cable_pf: float, input_pf: float) -> float:
    """Cable and input lie in parallel, so they add."""
    return cable_pf + input_pf


def judge_capacitance(total_pf: float, least_pf: float, most_pf: float) -> LoadVerdict:
    """Whether cable plus input lies inside the maker's range, its ends included."""
    if total_pf < least_pf:
        return LoadVerdict.TOO_LITTLE
    return LoadVerdict.TOO_MUCH if total_pf > most_pf else LoadVerdict.INSIDE
