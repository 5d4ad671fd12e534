"""What a recorded or live test tone says of a deck: speed, leak, distortion, and of itself.

Samples in, small frozen dataclasses out; numpy alone. Sound comes in pieces of any size and memory
stays bounded. Sources stand beside the figures.
"""

from __future__ import annotations

from core.tones.bands import CutSide, Kind, Leak, ToneBand
from core.tones.carrier import Track
from core.tones.fluctuation import (
    EXCEEDED,
    LEAST_S,
    Fluctuation,
    OncePerTurn,
    ToneSpeed,
    exceeded,
    filtered,
    spectrum_of,
    speed_of,
)
from core.tones.listening import LEAST_RATE, Heard, Listener, SpeedTold
from core.tones.matching import KnownBand, Matched, matched
from core.tones.mending import Mended, mended
from core.tones.moment import MOMENT_S, Moment, moment_of
from core.tones.pictured import SpeedPictured
from core.tones.quality import SPOILS, Fault, FaultFound, Result
from core.tones.resonance import Shaken, SweepListener
from core.tones.weighting import WEIGHTING, weighting, weighting_db

__all__ = [
    "EXCEEDED",
    "LEAST_RATE",
    "LEAST_S",
    "MOMENT_S",
    "SPOILS",
    "WEIGHTING",
    "CutSide",
    "Fault",
    "FaultFound",
    "Fluctuation",
    "Heard",
    "Kind",
    "KnownBand",
    "Leak",
    "Listener",
    "Matched",
    "Mended",
    "Moment",
    "OncePerTurn",
    "Result",
    "Shaken",
    "SpeedPictured",
    "SpeedTold",
    "SweepListener",
    "ToneBand",
    "ToneSpeed",
    "Track",
    "exceeded",
    "filtered",
    "matched",
    "mended",
    "moment_of",
    "spectrum_of",
    "speed_of",
    "weighting",
    "weighting_db",
]
