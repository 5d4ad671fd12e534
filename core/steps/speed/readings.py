"""The readings of speed, and the error in percent of each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar, Final, Literal

from pydantic import Field

from core.estimation import Estimate, worst_residual
from core.fitting import Context, Control, MovePart, NextReading, Reading
from core.language import Message, Quantity, message
from core.physics.strobe import (
    nearest_bars,
    rpm_of_drift,
    rpm_of_turns,
    speed_error_percent,
    turns_needed,
)
from core.records import (
    Choice,
    Count,
    Deck,
    Limits,
    Minutes,
    PlainNumber,
    ReadAnew,
    RevolutionsPerMinute,
    Seconds,
    When,
)
from core.steps.shared import Doubt

LAMP_SHARE: Final = 0.0005
"""Error of a lamp's flash rate, one standard uncertainty: the mains vary by some hundredths of a
percent (practice, no source).
"""

READOUT_SHARE: Final = 0.0005
"""The same for a readout, in addition to its rounding: our own allowance."""

READOUT_STEP_RPM: Final = 0.01

_COUNTABLE_PER_S: Final = 4.0
"""Most bars per second that a person can count past a mark: our own allowance."""

_LONG_WATCH_S: Final = 60.0
"""Longest time, in seconds, for which bars are watched (our own)."""

FAST_OR_SLOW: Final = message("speed.off.fast"), message("speed.off.slow")
"""What an error above zero is, and one below."""

_SAME_SPEED: Final = 0.05

_PRINTED: Final = {"33⅓": 100.0 / 3.0, "16⅔": 50.0 / 3.0}
_PRINTS_THE_SAME_RPM: Final = 0.02


class BarDrift(Choice):
    """The direction in which the bars drifted."""

    STANDING = "standing", "Stood still"
    WITH = "with", "Went with the platter (fast)"
    AGAINST = "against", "Went against the platter (slow)"


_Speed = Annotated[RevolutionsPerMinute, Limits(10, 100, usual=(16, 80))] | None
Running = Annotated[
    Annotated[Minutes, Limits(0, 600)] | None,
    Field(
        title="Running for",
        description="Minutes since the motor was started; empty once it is warm.",
    ),
]


class SpeedSeen(Reading):
    """The base of everything read at one of the deck's speeds."""

    speed_rpm: _Speed = Field(
        None,
        title="Speed",
        description="The speed chosen on the deck, in rpm; empty for the deck's first.",
    )

    def doubt(self, deck: Deck, before: Sequence[Reading]) -> Doubt | None:
        """Return why it determines no speed, and what to read instead; None if it does.

        ``before`` are the readings before it.
        """
        del deck, before
        return None

    def timed_instead(self, question: Message, deck: Deck) -> Doubt:
        """Ask for turns timed with a watch, which show how far off it is, and which speed."""
        speed = self.speed_rpm or deck.platter.speeds_rpm[0]
        return Doubt(question, NextReading("timed turns", {"speed_rpm": speed}))


class SpeedReading(SpeedSeen):
    """The base of every reading that determines a speed."""

    if TYPE_CHECKING:
        minutes_running: float | None  # each way has it last in its form

    def rpm_read(self, nominal: float, deck: Deck) -> tuple[Estimate, float]:
        """Return the speed, and the relative error common to all readings of this way."""
        raise NotImplementedError

    def is_long(self, nominal: float, deck: Deck) -> bool:
        """Whether it took the longest time asked for; a readout gains nothing with time."""
        del nominal, deck
        return True

    def measure(self, deck: Deck) -> Taken | NoSuchSpeed:
        """Return which of the deck's speeds was read, and its error."""
        speeds = deck.platter.speeds_rpm
        wanted = self.speed_rpm if self.speed_rpm is not None else speeds[0]
        speed = min(range(len(speeds)), key=lambda i: abs(speeds[i] / wanted - 1.0))
        nominal = speeds[speed]
        if abs(nominal / wanted - 1.0) > _SAME_SPEED:
            return NoSuchSpeed(wanted)
        rpm, common = self.rpm_read(nominal, deck)
        running = self.minutes_running
        return Taken(
            speed=speed,
            error=speed_error_percent(rpm, nominal),
            calibration=100.0 * common,
            warm=running is None or running >= deck.platter.warm_up_min,
            way=self.way,
            long=self.is_long(nominal, deck),
        )


class Strobe(SpeedReading):
    """Bars under a flashing lamp."""

    WAY_TITLE: ClassVar[str] = "Strobe disc under the lamp"
    NEEDS: ClassVar[str] = "has_strobe_lamp"

    way: Literal["strobe"] = "strobe"
    direction: Annotated[BarDrift, ReadAnew()] = Field(
        title="The bars", description="Seen from above."
    )
    drifted_bars: Annotated[
        PlainNumber, Limits(0, 500), When("direction", ("with", "against")), ReadAnew()
    ] = Field(0.0, title="Bars drifted", description="How many passed a fixed mark in that time.")
    seconds: Annotated[Seconds, Limits(1, 3600, usual=(10, 120))] = Field(
        30.0, title="Watched for", description="Longer is more certain; half a minute is usual."
    )
    bars: Annotated[Count, Limits(8, 4000, usual=(60, 400))] | None = Field(
        None,
        title="Bars on the ring",
        description="As printed on the disc; empty for the usual number for lamp and speed.",
    )
    minutes_running: Running = None

    def rpm_read(self, nominal: float, deck: Deck) -> tuple[Estimate, float]:
        """Return the speed by the drift of the bars; the lamp is common to all readings."""
        lamp = deck.bench.lamp_flashes_per_s
        drift = self.drifted_bars
        if self.direction is not BarDrift.WITH:
            drift = -drift if self.direction is BarDrift.AGAINST else 0.0
        rpm = rpm_of_drift(
            self.bars or nearest_bars(nominal, lamp).bars,
            lamp,
            drift,
            self.seconds,
            drift_standard_uncertainty_bars=deck.bench.strobe_bars_read,
            time_standard_uncertainty_s=deck.bench.stopwatch_s,
        )
        return rpm, LAMP_SHARE

    def is_long(self, nominal: float, deck: Deck) -> bool:
        """Whether the bars were watched for a minute."""
        del nominal, deck
        return self.seconds >= _LONG_WATCH_S

    def doubt(self, deck: Deck, before: Sequence[Reading]) -> Doubt | None:
        """Ask about bars that nobody counted, or that pass faster than anybody can count."""
        del before
        if self.direction is not BarDrift.STANDING and not self.drifted_bars:
            return Doubt(message("speed.bars_not_counted"), NextReading("strobe"))
        if self.drifted_bars <= _COUNTABLE_PER_S * self.seconds:
            return None
        rate = Quantity(self.drifted_bars / self.seconds, decimals=0)
        return self.timed_instead(message("speed.bars_miscounted", rate=rate), deck)


class TooFastToCount(SpeedSeen):
    """Bars that run too fast to count: the speed is far off, by an unknown amount."""

    WAY_TITLE: ClassVar[str] = "Strobe disc, too fast to count"

    way: Literal["too fast to count"] = "too fast to count"

    def doubt(self, deck: Deck, before: Sequence[Reading]) -> Doubt:
        """Ask for timed turns: such bars show only that the speed is far off."""
        del before
        return self.timed_instead(message("speed.bars_too_fast"), deck)


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
    minutes_running: Running = None

    def rpm_read(self, nominal: float, deck: Deck) -> tuple[Estimate, float]:
        """Return the speed by turns over time; no two readings share an error."""
        del nominal
        spread = deck.bench.stopwatch_s
        return rpm_of_turns(self.turns, self.seconds, time_standard_uncertainty_s=spread), 0.0

    def is_long(self, nominal: float, deck: Deck) -> bool:
        """Whether enough turns were counted for the tolerance."""
        bench, tolerance = deck.bench, deck.tolerances.speed_percent
        return self.turns >= turns_needed(nominal, tolerance, bench.stopwatch_s)


class Readout(SpeedReading):
    """An instrument that shows revolutions per minute."""

    WAY_TITLE: ClassVar[str] = "Readout in rpm"
    NEEDS: ClassVar[str] = "has_speed_meter"

    way: Literal["readout"] = "readout"
    rpm: Annotated[RevolutionsPerMinute, Limits(1, 200, usual=(15, 90))] = Field(
        title="It shows", description="The mean over some turns, if it gives one."
    )
    minutes_running: Running = None

    def rpm_read(self, nominal: float, deck: Deck) -> tuple[Estimate, float]:
        """Return the speed shown, with its rounding."""
        del nominal, deck
        return Estimate(self.rpm, READOUT_STEP_RPM / math.sqrt(12.0)), READOUT_SHARE


def speed_key(rpm: float) -> str:
    """Return the key of a speed in figures and moves: ``33.3333``, ``45``."""
    return f"{rpm:g}"


def speed_label(rpm: float) -> str:
    """Return a speed as the trade writes it, with a decimal point: ``33⅓``, ``45``, ``78.26``."""
    for label, of in _PRINTED.items():
        if abs(rpm - of) < _PRINTS_THE_SAME_RPM:
            return label
    return f"{rpm:.2f}".rstrip("0").rstrip(".")


def place_label(where: str) -> str:
    """Return a move's speed as printed; moves were once stored with that label."""
    try:
        return speed_label(float(where))
    except ValueError:
        return where


def speed_named(where: str, speeds_rpm: Sequence[float]) -> int | None:
    """Return the deck's speed that a move names, in the present or an older form."""
    try:
        rpm = _PRINTED.get(where) or float(where)
    except ValueError:
        return None
    nearest = min(range(len(speeds_rpm)), key=lambda i: abs(speeds_rpm[i] - rpm))
    return nearest if abs(speeds_rpm[nearest] - rpm) < _PRINTS_THE_SAME_RPM else None


def speed_name(rpm: float) -> Message:
    """Return the same for a sentence."""
    return message("common.speed", label=speed_label(rpm), rpm=Quantity(rpm, "", 2, "short"))


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
    long: bool
    """It took as long as anybody is asked for."""


@dataclass(frozen=True, slots=True)
class Trimmed:
    """A move of the speed trim; ``speed`` is None if it affects every speed."""

    speed: int | None
    amount: float | None
    """In turns or steps; None if it is not known."""


@dataclass(frozen=True, slots=True)
class NoSuchSpeed:
    """A reading for a speed the deck does not play at."""

    rpm: float


@dataclass(frozen=True, slots=True)
class TrimChecked:
    """Answered questions about a trim; ``speed`` as for what was trimmed."""

    speed: int | None


Event = Taken | Trimmed | NoSuchSpeed | TrimChecked


def unit_of(deck: Deck) -> str:
    """Return the unit of the speed trim: ``turns`` of a screw or plain steps."""
    return "turns" if deck.platter.trim == "screw" else ""


def events_of(context: Context) -> tuple[Event, ...]:
    """Return readings and trims, in order."""
    events: list[Event] = []
    for trial in context.trials:
        if isinstance(trial.reading, SpeedReading):
            events.append(trial.reading.measure(context.deck))
        if trial.checked is not None and trial.checked.control is Control.SPEED:
            events.append(TrimChecked(_speed_at(trial.checked.where, context.deck)))
        events.extend(
            _trimmed(part, context.deck) for part in trial.moves if part.control is Control.SPEED
        )
    return tuple(events)


def _speed_at(where: str, deck: Deck) -> int | None:
    """Return the index of the speed that a trim serves; None if it serves all."""
    speeds = deck.platter.speeds_rpm
    if deck.platter.one_trim_for_all:
        return None
    return 0 if len(speeds) == 1 else speed_named(where, speeds)


def _trimmed(part: MovePart, deck: Deck) -> Trimmed:
    speed = _speed_at(part.where, deck)
    sound = part.unit == unit_of(deck) and math.isfinite(part.amount) and abs(part.amount) < 1e4
    return Trimmed(speed, part.amount if sound else None)


@dataclass(frozen=True, slots=True)
class Pooled:
    """Readings of one state of one speed taken together.

    ``free`` is the mean weighted by uncertainty, in percent, without the part that is common to
    all; ``calibration`` is that part, one standard uncertainty. ``odd`` is the reading that
    disagrees with the rest, None if none does.
    """

    free: Estimate
    calibration: float
    count: int
    odd: int | None

    @property
    def now(self) -> Estimate:
        """The present error, in percent, everything included."""
        return self.free.widened(self.calibration)

    @property
    def single(self) -> float:
        """The scatter of one reading, one standard deviation in percent."""
        return float(self.free.standard_uncertainty * self.count**0.5)


def pooled(readings: Sequence[Taken]) -> Pooled | None:
    """Return the combined readings of one state; None without any.

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
