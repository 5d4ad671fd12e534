"""What is read for speed, and the error in percent that each reading comes to."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from core.estimation import Estimate, worst_residual
from core.fitting import Context, Control, MovePart, Reading
from core.language import Numbers
from core.physics.strobe import nearest_bars, rpm_of_drift, rpm_of_turns, speed_error_percent
from core.records import (
    Choice,
    Count,
    Deck,
    Limits,
    Minutes,
    PlainNumber,
    RevolutionsPerMinute,
    Seconds,
    When,
)

LAMP_SHARE: Final = 0.0005
"""How far a lamp's flashes may be off, one standard uncertainty: the mains wander by some
hundredths of a percent (practice, no source)."""

READOUT_SHARE: Final = 0.0005
"""The same for a readout, beside its rounding: our own allowance."""

READOUT_STEP_RPM: Final = 0.01

_SAME_SPEED: Final = 0.05


class BarDrift(Choice):
    """Where the bars went."""

    STANDING = "standing", "They stood still"
    WITH = "with", "With the platter (fast)"
    AGAINST = "against", "Against the platter (slow)"


_Speed = Annotated[RevolutionsPerMinute, Limits(10, 100, usual=(16, 80))] | None
_Running = Annotated[
    Annotated[Minutes, Limits(0, 600)] | None,
    Field(
        title="Running for",
        description="Minutes since the motor was started; empty once it is warm.",
    ),
]


class SpeedReading(Reading):
    """What every reading of speed has in common."""

    speed_rpm: _Speed = Field(
        None,
        title="Speed",
        description="The speed chosen on the deck, in rpm; empty for the deck's first.",
    )


class Strobe(SpeedReading):
    """Bars under a flashing lamp."""

    WAY_TITLE: ClassVar[str] = "Strobe disc under the lamp"

    way: Literal["strobe"] = "strobe"
    direction: BarDrift = Field(title="The bars went", description="Seen from above.")
    drifted_bars: Annotated[PlainNumber, Limits(0, 500), When("direction", ("with", "against"))] = (
        Field(0.0, title="Bars drifted", description="How many passed a fixed mark in that time.")
    )
    seconds: Annotated[Seconds, Limits(1, 3600, usual=(10, 120))] = Field(
        30.0, title="Watched for", description="The longer, the surer; half a minute is usual."
    )
    bars: Annotated[Count, Limits(8, 4000, usual=(60, 400))] | None = Field(
        None,
        title="Bars on the ring",
        description="As printed on the disc; empty for the usual number for lamp and speed.",
    )
    minutes_running: _Running = None


class TimedTurns(SpeedReading):
    """Turns counted against a stopwatch."""

    WAY_TITLE: ClassVar[str] = "Turns against a stopwatch"

    way: Literal["timed turns"] = "timed turns"
    turns: Annotated[Count, Limits(1, 5000, usual=(30, 500))] = Field(
        title="Turns", description="Whole turns of a mark on the platter past a fixed point."
    )
    seconds: Annotated[Seconds, Limits(0.5, 20000)] = Field(
        title="In", description="From the first passing of the mark to the last."
    )
    minutes_running: _Running = None


class Readout(SpeedReading):
    """An instrument that shows revolutions per minute."""

    WAY_TITLE: ClassVar[str] = "Readout in rpm"

    way: Literal["readout"] = "readout"
    rpm: Annotated[RevolutionsPerMinute, Limits(1, 200, usual=(15, 90))] = Field(
        title="It shows", description="The mean over some turns, if it gives one."
    )
    minutes_running: _Running = None


AnySpeedReading = Strobe | TimedTurns | Readout


def speed_label(rpm: float) -> str:
    """Return a speed as the trade writes it: ``33⅓``, ``45``, ``78.26``."""
    for whole, part, sign in ((33, 1 / 3, "⅓"), (16, 2 / 3, "⅔")):
        if abs(rpm - whole - part) < 0.02:
            return f"{whole}{sign}"
    return f"{rpm:.2f}".rstrip("0").rstrip(".")


def speed_words(rpm: float, numbers: Numbers) -> str:
    """Return the same for a sentence, with the country's decimal sign."""
    return speed_label(rpm).replace(".", numbers.decimal)


@dataclass(frozen=True, slots=True)
class Taken:
    """One reading: which of the deck's speeds, its error, and whether the motor was warm."""

    speed: int
    error: Estimate
    """In percent, positive fast; without what is common to all readings of this way."""
    calibration: float
    """What is common to them, one standard uncertainty in percent."""
    warm: bool
    way: str


@dataclass(frozen=True, slots=True)
class Trimmed:
    """The speed trim was moved; ``speed`` is None where it moves every speed."""

    speed: int | None
    amount: float | None
    """In turns or steps; None if it can't be told."""


@dataclass(frozen=True, slots=True)
class NoSuchSpeed:
    """A reading for a speed the deck does not play at."""

    rpm: float


Event = Taken | Trimmed | NoSuchSpeed


def unit_of(deck: Deck) -> str:
    """Return the unit of the speed trim: ``turns`` of a screw or plain steps."""
    return "turns" if deck.platter.trim == "screw" else ""


def events_of(context: Context) -> tuple[Event, ...]:
    """Return what was read and trimmed, in order."""
    events: list[Event] = []
    for trial in context.trials:
        reading = trial.reading
        if isinstance(reading, Strobe | TimedTurns | Readout):
            events.append(_taken(reading, context.deck))
        events.extend(
            _trimmed(part, context.deck) for part in trial.moves if part.control is Control.SPEED
        )
    return tuple(events)


def _trimmed(part: MovePart, deck: Deck) -> Trimmed:
    speeds = deck.platter.speeds_rpm
    speed = None
    if not deck.platter.one_trim_for_all:
        own = [i for i, rpm in enumerate(speeds) if speed_label(rpm) == part.where]
        speed = own[0] if own else (0 if len(speeds) == 1 else None)
    sound = part.unit == unit_of(deck) and math.isfinite(part.amount) and abs(part.amount) < 1e4
    return Trimmed(speed, part.amount if sound else None)


def _taken(reading: AnySpeedReading, deck: Deck) -> Taken | NoSuchSpeed:
    speeds = deck.platter.speeds_rpm
    wanted = reading.speed_rpm if reading.speed_rpm is not None else speeds[0]
    speed = min(range(len(speeds)), key=lambda i: abs(speeds[i] / wanted - 1.0))
    nominal = speeds[speed]
    if abs(nominal / wanted - 1.0) > _SAME_SPEED:
        return NoSuchSpeed(wanted)
    rpm, common = _rpm_of(reading, nominal, deck)
    running = reading.minutes_running
    return Taken(
        speed=speed,
        error=speed_error_percent(rpm, nominal),
        calibration=100.0 * common,
        warm=running is None or running >= deck.platter.warm_up_min,
        way=reading.way,
    )


def _rpm_of(reading: AnySpeedReading, nominal: float, deck: Deck) -> tuple[Estimate, float]:
    """Return the speed read, and the share by which all readings of this way may be off."""
    bench = deck.bench
    if isinstance(reading, Strobe):
        lamp = bench.lamp_flashes_per_s
        drift = reading.drifted_bars
        if reading.direction is not BarDrift.WITH:
            drift = -drift if reading.direction is BarDrift.AGAINST else 0.0
        rpm = rpm_of_drift(
            reading.bars or nearest_bars(nominal, lamp).bars,
            lamp,
            drift,
            reading.seconds,
            drift_standard_uncertainty_bars=bench.strobe_bars_read,
            time_standard_uncertainty_s=bench.stopwatch_s,
        )
        return rpm, LAMP_SHARE
    if isinstance(reading, TimedTurns):
        return (
            rpm_of_turns(
                reading.turns, reading.seconds, time_standard_uncertainty_s=bench.stopwatch_s
            ),
            0.0,
        )
    return Estimate(reading.rpm, READOUT_STEP_RPM / math.sqrt(12.0)), READOUT_SHARE


@dataclass(frozen=True, slots=True)
class Pooled:
    """Readings of one state of one speed taken together.

    Parameters
    ----------
    free
        Mean weighed by uncertainty, in percent, without the common part.
    calibration
        The common part, one standard uncertainty.
    count
        How many.
    odd
        Which of them disagrees with the rest, None if none does.
    """

    free: Estimate
    calibration: float
    count: int
    odd: int | None

    @property
    def now(self) -> Estimate:
        """The error as it stands, in percent, everything included."""
        return self.free.widened(self.calibration)


def pooled(readings: Sequence[Taken]) -> Pooled | None:
    """Take readings of one state together; None without any.

    Weighted mean with known uncertainties; where they scatter by more than these explain, the
    mean's uncertainty grows by the root of chi-square over its degrees of freedom.
    """
    if not readings:
        return None
    values = [reading.error.value for reading in readings]
    weights = [1.0 / reading.error.standard_uncertainty**2 for reading in readings]
    total = sum(weights)
    mean = sum(w * v for w, v in zip(weights, values, strict=True)) / total
    residuals = [value - mean for value in values]
    spreads = [math.sqrt(max(1.0 / w - 1.0 / total, 0.0)) for w in weights]
    odd = worst_residual(residuals, spreads) if len(readings) > 1 else None
    scatter = 1.0
    if odd is not None:
        chi_square = sum(w * r * r for w, r in zip(weights, residuals, strict=True))
        scatter = max(math.sqrt(chi_square / (len(readings) - 1)), 1.0)
    return Pooled(
        free=Estimate(mean, scatter / math.sqrt(total)),
        calibration=max(reading.calibration for reading in readings),
        count=len(readings),
        odd=odd.index if odd is not None else None,
    )
