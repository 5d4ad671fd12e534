"""What a recorded or live test tone says of a deck: speed, leak, distortion, and of itself.

Samples in, small frozen dataclasses out; numpy alone. Sound comes in pieces of any size and memory
stays bounded. Sources stand beside the figures.
"""

from __future__ import annotations

from core.tones.bands import CutSide, Kind, ToneBand
from core.tones.carrier import Track
from core.tones.fluctuation import LEAST_S, OncePerTurn, ToneSpeed, spectrum_of, speed_of
from core.tones.listening import Heard, Listener, SpeedTold
from core.tones.matching import KnownBand, Matched, matched
from core.tones.mending import mended
from core.tones.moment import MOMENT_S, Moment, moment_of
from core.tones.pictured import SpeedPictured
from core.tones.quality import SPOILS, Fault, FaultFound
from core.tones.resonance import Shaken, SweepListener
from core.tones.weighting import WEIGHTING, weighting, weighting_db

__all__ = [
    "LEAST_S",
    "MOMENT_S",
    "SPOILS",
    "WEIGHTING",
    "CutSide",
    "Fault",
    "FaultFound",
    "Heard",
    "Kind",
    "KnownBand",
    "Listener",
    "Matched",
    "Moment",
    "OncePerTurn",
    "Shaken",
    "SpeedPictured",
    "SpeedTold",
    "SweepListener",
    "ToneBand",
    "ToneSpeed",
    "Track",
    "matched",
    "mended",
    "moment_of",
    "spectrum_of",
    "speed_of",
    "weighting",
    "weighting_db",
]
