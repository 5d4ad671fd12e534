"""Speed: the platter turns at its nominal speed."""

from core.fitting import Choices
from core.steps.shared import judged_alone as aftermath
from core.steps.shared import undisturbed as disturbed_by_downforce
from core.steps.speed.controls import movables
from core.steps.speed.effects import disturbed_by
from core.steps.speed.judge import NAME, Readings, applies, assess
from core.steps.speed.readings import (
    LAMP_SHARE,
    READOUT_SHARE,
    BarDrift,
    Readout,
    SpeedReading,
    Strobe,
    Taken,
    TimedTurns,
    TooFastToCount,
    place_label,
    speed_key,
    speed_name,
    speed_named,
)
from core.steps.speed.report import REPORT
from core.steps.speed.swap import forecast, gain_sources
from core.steps.speed.tone import Tone

Chosen = Choices

__all__ = [
    "LAMP_SHARE",
    "NAME",
    "READOUT_SHARE",
    "REPORT",
    "BarDrift",
    "Chosen",
    "Readings",
    "Readout",
    "SpeedReading",
    "Strobe",
    "Taken",
    "TimedTurns",
    "Tone",
    "TooFastToCount",
    "aftermath",
    "applies",
    "assess",
    "bench",
    "disturbed_by",
    "disturbed_by_downforce",
    "forecast",
    "gain_sources",
    "movables",
    "place_label",
    "speed_key",
    "speed_name",
    "speed_named",
]
