"""Speed by the recorded tone of a test record."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from core.estimation import Estimate
from core.fitting import NextReading, Reading
from core.language import Message, Name, Quantity, message
from core.records import Deck, Limits, Millimetres
from core.steps.shared import DISAGREES, Doubt, HeardFault, HeardTones, spoilt
from core.steps.speed.readings import Running, SpeedReading, Taken, speed_name

TONE: Final = "tone"
"""The way of reading by a recorded tone."""

CLOCK_SHARE: Final = 1e-4
"""Limit of error of a sound card's clock: 50 to 100 ppm (practice, no source)."""

_TONE_LEAST: Final = 1e-5
"""What the mean of a tone scatters by at least, as a share: 0.002 % in 30 s is asked for."""

_TONE_SECONDS: Final = 3e-4
"""The same for short ones, times their seconds: what comes once a turn does not average out."""

_FAR_PERCENT: Final = 15.0
"""Beyond this the deck is taken to have been at another of its speeds: our own allowance."""

_NEAR: Final = 0.02
"""Within this of the record's tone at another speed it is taken to be that speed."""

_SAME: Final = 0.005
"""Two recordings that differ by less, as a share, show the same."""

_USUAL_RPM: Final = (100.0 / 3.0, 45.0, 78.0)


class RecordedTone(HeardTones):
    """A recording of the tone for speed."""

    LIVE_S: ClassVar[float] = _TONE_SECONDS / _TONE_LEAST  # longer does not improve the mean
    SPOILT_BY: ClassVar[tuple[HeardFault, ...]] = (
        HeardFault.DROPPED,
        HeardFault.OTHER_SPEED,
        HeardFault.TONE_UNKNOWN,
    )

    def lacks(self) -> Message | None:
        """Return that there is no tone for speed, if so."""
        lacks = super().lacks()
        if lacks is not None or self.speed is not None:
            return lacks
        if self.record is not None and self.record.record.nominal_hz is not None:
            longest = max(self.bands, key=lambda one: one.end_s - one.start_s)
            return message(
                "speed.tone_elsewhere",
                hz=Quantity(longest.hz, "Hz", 0),
                record=Name(self.record.record.name),
                nominal=Quantity(self.record.record.nominal_hz, "Hz", 0),
            )
        unknown = [one for one in self.known_faults() if one is HeardFault.TONE_UNKNOWN]
        return spoilt(unknown[0]) if unknown else message("speed.no_tone")

    def known_faults(self) -> tuple[HeardFault, ...]:
        """Return its faults; with a known record the step judges the tone itself."""
        found = super().known_faults()
        if self.record is None:
            return found
        judged = (HeardFault.OTHER_SPEED, HeardFault.TONE_UNKNOWN)
        return tuple(one for one in found if one not in judged)


class Tone(SpeedReading):
    """The tone of a test record, recorded while it played."""

    WAY_TITLE: ClassVar[str] = "Tone of a test record, recorded"
    NEEDS: ClassVar[str] = "has_sound_input"
    LOWERS_STYLUS: ClassVar[bool] = True

    way: Literal["tone"] = TONE
    recorded: RecordedTone = Field(
        title="Recording",
        description="The sound file. Type its path, choose it, or drop it here.",
    )
    radius_mm: Annotated[Millimetres, Limits(40, 160, usual=(55, 150))] | None = Field(
        None,
        title="Band's radius",
        description="From the spindle to the groove that played. It tells how far off centre the "
        "record lies; may be empty.",
    )
    minutes_running: Running = None

    def rpm_read(self, nominal: float, deck: Deck) -> tuple[Estimate, float]:
        """Return the speed by the tone; record and clock are common to all readings.

        What the standard allows a record to be off, and a clock, are limits: each is taken as
        evenly likely within them.
        """
        told = self.recorded.speed
        if told is None:
            raise ValueError("a recording without a tone tells no speed")
        spread = max(_TONE_LEAST, _TONE_SECONDS / max(told.seconds, 1.0))
        common = math.hypot(self.cut_percent(deck) / 100.0, CLOCK_SHARE) / math.sqrt(3.0)
        tone_hz = self.tone_hz(nominal, deck) or told.nominal_hz
        return Estimate(nominal * told.hz / tone_hz, nominal * spread), common

    def tone_hz(self, nominal: float, deck: Deck) -> float | None:
        """Return the record's tone at a speed of the deck; None if unknown.

        At another speed than the record's own it sounds higher or lower in proportion.
        """
        told, record = self.recorded.speed, self.recorded.record_on(deck.bench)
        if record is not None and record.nominal_hz is not None:
            of_the_kit = self.recorded.record is None  # these did not record their speed
            return record.nominal_hz * (1.0 if of_the_kit else nominal / record.rpm)
        return told.nominal_hz if told is not None else None

    def cut_percent(self, deck: Deck) -> float:
        """Return the tolerance of the record's tone as cut, in percent."""
        played = self.recorded.record
        return played.record.cut_percent if played else deck.bench.record_cut_percent

    def is_far_off(self, deck: Deck) -> bool:
        """Whether the tone is too far off to be that of the deck's speed."""
        taken = self.measure(deck)
        return isinstance(taken, Taken) and abs(taken.error.value) > _FAR_PERCENT

    def doubt(self, deck: Deck, before: Sequence[Reading]) -> Doubt | None:
        """Ask about a recording without a speed, or of another one."""
        lacks = self.recorded.lacks()
        if lacks is not None:
            return Doubt(lacks, NextReading(TONE))
        if self.recorded.record is not None:
            return self._beside_record(deck, before)
        faults = self.recorded.known_faults()
        spoils = [one for one in self.recorded.SPOILT_BY if one in faults]
        if spoils:
            return Doubt(spoilt(spoils[0]), NextReading(TONE))
        if self.is_far_off(deck):
            return Doubt(spoilt(HeardFault.OTHER_SPEED), NextReading(TONE))
        return None

    def _beside_record(self, deck: Deck, before: Sequence[Reading]) -> Doubt | None:
        """Ask about a tone that differs from the chosen record's at the named speed.

        A second reading with the same result counts: then the deck itself runs so.
        """
        if HeardFault.DROPPED in self.recorded.known_faults():
            return Doubt(spoilt(HeardFault.DROPPED), NextReading(TONE))
        told, played = self.recorded.speed, self.recorded.record
        speeds = deck.platter.speeds_rpm
        wanted = self.speed_rpm or speeds[0]
        expected = self.tone_hz(wanted, deck)
        if told is None or played is None or expected is None:
            return None
        if abs(told.hz / expected - 1.0) <= DISAGREES:
            return None
        if any(isinstance(one, Tone) and self._agrees_with(one) for one in before):
            return None
        hz, nominal = Quantity(told.hz, "Hz", 0), Quantity(expected, "Hz", 0)
        record = Name(played.record.name)
        for rpm in (*speeds, *_USUAL_RPM):
            at = self.tone_hz(rpm, deck)
            if at is not None and abs(told.hz / at - 1.0) <= _NEAR:
                said = message(
                    "speed.tone_of_other.speed",
                    hz=hz,
                    record=record,
                    speed=speed_name(rpm),
                    chosen=speed_name(wanted),
                )
                return Doubt(said, NextReading(TONE))
        said = message("speed.tone_of_other.record", hz=hz, record=record, nominal=nominal)
        return Doubt(said, NextReading(TONE))

    def _agrees_with(self, other: Tone) -> bool:
        """Whether another reading is of the same record at the same speed, with this result."""
        first, second = self.recorded.speed, other.recorded.speed
        if first is None or second is None or self.recorded.record != other.recorded.record:
            return False
        return self.speed_rpm == other.speed_rpm and abs(first.hz / second.hz - 1.0) <= _SAME
