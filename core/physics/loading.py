"""Mount: the electrical load of a cartridge, and the gain that a moving coil needs."""

import math
from enum import Enum

COIL_LOAD_MULTIPLE = 10.0
"""Common practice, no source: a moving coil wants at least so many times its own resistance."""
AFTER_GAIN_MV = 500.0
"""Common practice, no source: what a phono stage should give at 5 cm/s."""


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


def gain_for_output_db(output_mv: float, wanted_mv: float = AFTER_GAIN_MV) -> float:
    """Gain that raises a cartridge's output to the wanted level: 20 lg of their ratio, derived.

    0.5 mV to 500 mV: 60 dB. Both above zero.
    """
    if not (output_mv > 0.0 and wanted_mv > 0.0):
        raise ValueError("Output and what is wanted must both be above zero.")
    return 20.0 * math.log10(wanted_mv / output_mv)
