"""The figures that a reading keeps of a test record's recording, and what spoils them.

The file itself is not kept. Its fingerprint later identifies the file that was read.
"""

from __future__ import annotations

import math
from collections.abc import Generator, Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, ClassVar, Final, Self

from pydantic import Field, model_validator

from core.language import Message, Quantity, message
from core.records import (
    BenchKit,
    Choice,
    Count,
    CutOn,
    CutRecord,
    Decibels,
    Degrees,
    FrozenModel,
    Hertz,
    Limits,
    Percent,
    RecordPlayed,
    RevolutionsPerMinute,
    Seconds,
)
from core.steps.shared.heard_sound import HASHED_SHARE, Follower, HeardSound, fingerprint_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from core.recordings import Recording
    from core.tones import Matched, Moment

_Percent = Annotated[Percent, Limits(0, 1000)]
_Hz = Annotated[Hertz, Limits(0, 400_000)]
_Db = Annotated[Decibels, Limits(-300, 300)]
_Deg = Annotated[Degrees, Limits(-360, 360)]
_Moment = Annotated[Seconds, Limits(0, 1e6)]
_Rpm = Annotated[RevolutionsPerMinute, Limits(1, 200)]
_Deviation = Annotated[Percent, Limits(-1000, 1000)]
DISAGREES: Final = 0.03
"""Beyond this a tone is taken to be from another record or speed: our own allowance."""

_KEPT_PLACES: Final = 5
"""Of a percent in what is kept for pictures: a hundred-thousandth is finer than any sound tells."""


class BandKind(Choice):
    """The purpose of a band."""

    SPEED = "speed", "Speed"
    SEPARATION = "separation", "Separation"
    TRACKING = "tracking", "Tracking"
    LEVEL = "level", "Level"
    OTHER = "other", "Other"


class HeardFault(Choice):
    """Possible faults of a recording."""

    SILENCE = "silence", "Silence"
    NO_TONE = "no_tone", "No tone"
    ONE_CHANNEL = "one_channel", "One channel"
    DEAD_LEFT = "dead_left", "Left channel dead"
    DEAD_RIGHT = "dead_right", "Right channel dead"
    MONO = "mono", "Mono"
    SWAPPED = "swapped", "Channels exchanged"
    OPPOSED = "opposed", "Channels opposed"
    CLIPPING = "clipping", "Clipping"
    HUM = "hum", "Hum"
    CLICKS = "clicks", "Clicks"
    DROPPED = "dropped", "Sound missing"
    GAIN = "gain", "Automatic gain"
    NOISE = "noise", "Noise"
    TONE_UNKNOWN = "tone_unknown", "Unknown tone"
    OTHER_SPEED = "other_speed", "Another speed"
    OTHER_RECORD = "other_record", "Another record"
    CUT_SHORT = "cut_short", "File cut short"


class FaultHeard(FrozenModel):
    """One fault of a recording."""

    fault: HeardFault = Field(title="Fault", description="What is wrong.")


class HeardBand(FrozenModel):
    """A stretch of one tone, as ``core.tones.ToneBand`` has it."""

    kind: BandKind = Field(title="Kind", description="What the band is for.")
    side: CutOn = Field(title="Side", description="The channels it plays on.")
    hz: _Hz = Field(title="Frequency", description="Of the tone, as it played.")
    start_s: _Moment = Field(title="From", description="When it begins.")
    end_s: _Moment = Field(title="To", description="When it ends.")
    level_db: _Db = Field(title="Level", description="Below a full-scale sine.")
    leak_db: _Db | None = Field(
        None, title="Leak", description="The silent channel beside the driven one."
    )
    leak_deg: _Deg | None = Field(
        None, title="Leak, ahead by", description="Its phase beside the driven channel."
    )
    left_distortion_percent: _Percent | None = Field(
        None, title="Distortion left", description="Second to fifth harmonic beside the tone."
    )
    right_distortion_percent: _Percent | None = Field(
        None, title="Distortion right", description="Second to fifth harmonic beside the tone."
    )


class HeardSpeed(FrozenModel):
    """What its tone told of speed, as ``core.tones.ToneSpeed`` has it."""

    hz: _Hz = Field(title="Frequency", description="Of the tone, as it played.")
    nominal_hz: Annotated[Hertz, Limits(1, 24_000)] = Field(
        title="Nominal", description="The tone of this kind of record."
    )
    start_s: _Moment = Field(title="From", description="When it begins.")
    seconds: _Moment = Field(title="Measured", description="How long the tone was measured.")
    drift_percent: Annotated[Percent, Limits(-1000, 1000)] = Field(
        0.0, title="Drift", description="How much faster it ended than it began."
    )
    rpm: _Rpm | None = Field(
        None, title="Turns", description="The speed at which once per turn was looked for."
    )
    once_per_turn_percent: _Percent | None = Field(
        None, title="Once per turn", description="Its peak."
    )
    weighted_percent: _Percent | None = Field(
        None, title="Weighted", description="Fluctuation by AES6 and IEC 60386 (2σ)."
    )
    unweighted_percent: _Percent | None = Field(
        None, title="Unweighted", description="The same without the weighting."
    )
    steady_weighted_percent: _Percent | None = Field(
        None,
        title="Steady, weighted",
        description="Weighted, without once per turn.",
    )
    steady_unweighted_percent: _Percent | None = Field(
        None,
        title="Steady, unweighted",
        description="Unweighted, without once per turn.",
    )
    fastest_deg: _Deg | None = Field(
        None, title="Fastest at", description="How far the platter turned until it ran fastest."
    )
    turn_percent: Annotated[tuple[_Deviation, ...], Field(max_length=72)] = Field(
        (), title="The turn", description="Speed against its mean, every five degrees."
    )
    spectrum_hz: Annotated[tuple[_Hz, ...], Field(max_length=90)] = Field(
        (), title="Rates", description="Of what varies."
    )
    spectrum_percent: Annotated[tuple[_Percent, ...], Field(max_length=90)] = Field(
        (), title="Peaks", description="Of a sine at each of these rates."
    )
    drift_s: Annotated[tuple[_Moment, ...], Field(max_length=60)] = Field(
        (), title="Drift at", description="From the tone's beginning, whole turns."
    )
    drift_line_percent: Annotated[tuple[_Deviation, ...], Field(max_length=60)] = Field(
        (), title="Drift then", description="Speed against its mean over these turns."
    )

    @model_validator(mode="after")
    def _in_pairs(self) -> Self:
        pairs = (
            (self.spectrum_hz, self.spectrum_percent),
            (self.drift_s, self.drift_line_percent),
        )
        if any(len(at) != len(values) for at, values in pairs):
            raise ValueError("A rate or a time has no value beside it.")
        return self


class HeardTones(HeardSound):
    """All figures of a recording. A subclass says which tones it requires."""

    LIVE_S: ClassVar[float] = 5.0
    """Seconds of each side's band in a live reading: enough for the stated accuracy of a leak."""
    LIVE_TO_THE_END: ClassVar[bool] = False
    """Whether a live reading goes on until the bands end, as their number is unknown."""
    SPOILT_BY: ClassVar[tuple[HeardFault, ...]] = tuple(HeardFault)
    """The faults that make this reading useless; as in ``core.tones.SPOILS``."""

    seconds: _Moment = Field(0.0, title="Length", description="Of the recording.")
    rate: _Hz = Field(0.0, title="Sample rate", description="Samples a second.")
    channels: Annotated[Count, Limits(0, 64)] = Field(
        0, title="Channels", description="Of the recording."
    )
    speed: HeardSpeed | None = Field(
        None, title="Speed", description="What its tone told of speed."
    )
    bands: Annotated[tuple[HeardBand, ...], Field(max_length=10_000)] = Field(
        (), title="Bands", description="The tones that were found, in order."
    )
    faults: Annotated[tuple[FaultHeard, ...], Field(max_length=100)] = Field(
        (), title="Faults", description="What is wrong with the recording."
    )

    @classmethod
    def read(cls, path: Path, played: RecordPlayed | None = None) -> Generator[float, None, Self]:
        """Yield the progress, and return the figures of a recording.

        Raises ``RecordingProblem`` where there is no sound, or none that this reading needs.
        """
        from core.recordings import listen  # imported with the first file: start-up needs none

        shares = listen(path, record=played.record if played else None)
        first = next(shares, 0.0)  # it reports a file without sound before reading all of it
        sha256 = yield from fingerprint_of(path)
        yield max(HASHED_SHARE, first)
        while True:
            try:
                share = next(shares)
            except StopIteration as end:
                recording: Recording = end.value
                break
            yield max(HASHED_SHARE, share)
        found = cls.from_heard(recording, sha256, played)
        found.refuse_what_lacks()
        return found

    @classmethod
    def follower(cls, rate: int, channels: int, played: RecordPlayed | None) -> Follower:
        """Return the follower of live tones."""
        return _FollowedTones(cls, rate, channels, played)

    def still_s(self, quiet_s: float) -> float | None:
        """Return how long each side's band is still needed; None if only its end tells."""
        if self.lacks() is not None:
            return None
        if self.LIVE_TO_THE_END:
            return 0.0 if quiet_s >= _OVER_AFTER_S else None
        return max(self.LIVE_S - self.least_band_s(), 0.0)

    def told_last(self) -> tuple[Message, ...]:
        """Return the leak of each side, else the speed."""
        longest = sorted(self.bands, key=lambda one: one.end_s - one.start_s)
        sides = {one.side.value: one for one in longest if one.leak_db is not None}
        leaks = [
            leak_told(side, one.leak_db or 0.0, one.leak_deg or 0.0) for side, one in sides.items()
        ]
        return tuple(leaks) or _speed_told(self.speed)

    def refuse_what_lacks(self) -> None:
        """Raise ``RecordingProblem`` if what the reading needs is not in the recording."""
        from core.recordings import RecordingProblem  # as above

        lacks = self.lacks()
        if lacks is not None:
            raise RecordingProblem(lacks)

    def lacks(self) -> Message | None:
        """Return what the reading needs and the recording lacks; None for nothing."""
        nothing = next((one for one in self.known_faults() if one in _NOTHING), None)
        if nothing is not None:
            return spoilt(nothing)
        return None if self.bands else spoilt(HeardFault.NO_TONE)

    def told(self) -> tuple[Message, ...]:
        """Return the contents of the recording and its faults, in sentences."""
        held = message(
            "tones.held",
            seconds=Quantity(self.seconds, "s", 0),
            rate=Quantity(self.rate, "Hz", 0),
            bands=len(self.bands),
        )
        return (held, *(self.said_of(one) for one in self.known_faults()))

    def said_of(self, fault: HeardFault) -> Message:
        """Return a fault and its remedy, or that it does not affect this reading."""
        harms = fault in self.SPOILT_BY or fault in _NOTHING
        return spoilt(fault) if harms else message("tones.spared", fault=fault.value)

    def with_sound_missing(self) -> Self:
        """Return the same with the fault that sound is missing."""
        missing = FaultHeard(fault=HeardFault.DROPPED)
        if missing in self.faults:
            return self
        return self.model_copy(update={"faults": (*self.faults, missing)})

    def known_faults(self) -> tuple[HeardFault, ...]:
        """Return its faults, each once."""
        return tuple(dict.fromkeys(one.fault for one in self.faults))

    def faults_on(self, bench: BenchKit) -> tuple[HeardFault, ...]:
        """Return the same, with faults that only the record that was played reveals."""
        found, beside = list(self.known_faults()), self.beside(bench)
        if beside is not None and beside.swapped and HeardFault.SWAPPED not in found:
            found.append(HeardFault.SWAPPED)
        if beside is not None and beside.summed and self.channels > 1:
            found.append(HeardFault.MONO)
        if self.record is not None and beside is not None and self._is_another(beside):
            found.append(HeardFault.OTHER_RECORD)
        return tuple(dict.fromkeys(found))

    def _is_another(self, beside: Matched) -> bool:
        """Whether the tones hardly belong to the chosen record."""
        from core.recordings import known_bands  # as above

        known = known_bands(self.record.record) if self.record else ()
        ratios = sorted(
            band.hz / known[place].hz
            for band, place in zip(self.bands, beside.places, strict=True)
            if place is not None
        )
        return not ratios or abs(ratios[len(ratios) // 2] - 1.0) > DISAGREES

    def record_on(self, bench: BenchKit) -> CutRecord | None:
        """Return the test record that was played: the chosen one, else the kit's.

        What the kit remembers of later readings does not apply to this one.
        """
        if self.record is not None:
            return self.record.record
        return known_record(bench)

    def beside(self, bench: BenchKit) -> Matched | None:
        """Return its bands matched to the record that was played, if that is described."""
        record = self.record_on(bench)
        if record is None:
            return None
        from core.recordings import known_bands  # as above
        from core.tones import CutSide, Kind, ToneBand, matched

        bands = tuple(
            ToneBand(
                Kind(one.kind.value),
                CutSide(one.side.value),
                max(one.hz, 1.0),
                None,
                one.start_s,
                one.end_s,
                one.level_db,
                None,
                (None, None),
                (0, 0),
            )
            for one in self.bands
        )
        return matched(bands, known_bands(record))

    def least_band_s(self) -> float:
        """Return the length of the longest band of the side with the shorter one."""
        longest: dict[CutOn, float] = {}
        for one in self.bands:
            longest[one.side] = max(longest.get(one.side, 0.0), one.end_s - one.start_s)
        return min(longest.values(), default=0.0)

    @classmethod
    def from_heard(
        cls, recording: Recording, sha256: str = "", played: RecordPlayed | None = None
    ) -> Self:
        """Return the figures of a recording, with the record that was played."""
        heard = recording.heard
        return cls(
            file=recording.file[-255:],
            sha256=sha256,
            seconds=heard.seconds,
            rate=heard.rate,
            channels=heard.channels,
            speed=_speed_of(recording),
            bands=tuple(_bands_of(recording)),
            faults=tuple(
                FaultHeard(fault=fault)
                for one in heard.faults
                # The steps judge the record themselves: a person may choose another later.
                if (fault := HeardFault(one.fault.value)) is not HeardFault.OTHER_RECORD
            ),
            record=played,
        )


class _FollowedTones:
    """The figures that a file of the tones so far would give."""

    def __init__(
        self, wanted: type[HeardTones], rate: int, channels: int, played: RecordPlayed | None
    ) -> None:
        from core.tones import Listener  # imported with the first sound: start-up needs none

        self._wanted, self._played = wanted, played
        self._told: HeardTones | None = None
        record = played.record if played else None
        self._listener = Listener(
            rate,
            channels,
            nominal_hz=record.nominal_hz if record else None,
            rpm=record.rpm if record else None,
        )

    @property
    def seconds(self) -> float:
        return self._listener.seconds

    def feed(self, sound: NDArray[np.floating]) -> None:
        self._listener.feed(sound)

    def so_far(self) -> HeardTones:
        from core.recordings import beside  # as above

        record = self._played.record if self._played else None
        heard = beside("", self._listener.so_far(is_pictured=False), record)
        self._told = self._wanted.from_heard(heard, "", self._played)
        return self._told

    def still_s(self, quiet_s: float) -> float | None:
        return self._told.still_s(quiet_s) if self._told else None

    def told_now(self, moment: Moment) -> tuple[Message, ...]:
        """Return the present leak, else the speed so far."""
        if moment.leak is not None:
            return (leak_told(moment.side.value, moment.leak.db, moment.leak.deg),)
        return _speed_told(self._told.speed) if self._told else ()


def leak_told(side: str, db: float, deg: float) -> Message:
    """Return the text of a live leak."""
    return message(
        "tones.live.leak", side=side, db=Quantity(db, "dB", 1), deg=Quantity(deg, "°", 0)
    )


def _speed_told(speed: HeardSpeed | None) -> tuple[Message, ...]:
    if speed is None:
        return ()
    error = 100.0 * (speed.hz / speed.nominal_hz - 1.0)
    now = message(
        "tones.live.speed",
        way="true" if not round(error, 2) else "fast" if error > 0.0 else "slow",
        error=Quantity(abs(error), "%", 2),
        hz=Quantity(speed.hz, "Hz", 1),
    )
    if speed.weighted_percent is None:
        return (now,)
    varies = Quantity(speed.weighted_percent, "%", 3)
    return now, message("tones.live.varies", weighted=varies)


_OVER_AFTER_S: Final = 3.0
"""Seconds without a tone after which the bands are over."""

_NOTHING: Final = (HeardFault.SILENCE, HeardFault.NO_TONE)


def spoilt(fault: HeardFault) -> Message:
    """Return faults and remedies, without figures."""
    return message("tones.spoilt", fault=fault.value)


def known_record(bench: BenchKit) -> CutRecord | None:
    """Return the test record described in an earlier version's bench kit, or None."""
    return _known(bench)


@lru_cache(maxsize=8)
def _known(bench: BenchKit) -> CutRecord | None:
    from core.recordings import record_of  # imported with the first recording that is judged

    return record_of(bench)


def _speed_of(recording: Recording) -> HeardSpeed | None:
    told = recording.heard.speed
    if told is None or not 1.0 <= told.nominal_hz <= 24_000.0:
        return None
    speed, turn, varies = told.speed, told.speed.turn, told.speed.fluctuation
    seen = told.speed.seen
    return HeardSpeed(
        hz=speed.hz,
        nominal_hz=told.nominal_hz,
        start_s=max(speed.start_s, 0.0),
        seconds=speed.seconds,
        drift_percent=speed.drift_percent,
        rpm=turn.chosen_rpm if turn else None,
        once_per_turn_percent=turn.percent if turn else None,
        weighted_percent=varies.weighted_percent if varies else None,
        unweighted_percent=varies.unweighted_percent if varies else None,
        steady_weighted_percent=varies.steady_weighted_percent if varies else None,
        steady_unweighted_percent=varies.steady_unweighted_percent if varies else None,
        fastest_deg=turn.fastest_deg if turn else None,
        turn_percent=_kept(seen.turn_percent) if seen else (),
        spectrum_hz=_kept(hz for hz, _ in seen.spectrum) if seen else (),
        spectrum_percent=_kept(peak for _, peak in seen.spectrum) if seen else (),
        drift_s=_kept(at for at, _ in seen.drift) if seen else (),
        drift_line_percent=_kept(percent for _, percent in seen.drift) if seen else (),
    )


def _kept(values: Iterable[float]) -> tuple[float, ...]:
    return tuple(round(min(max(value, -1000.0), 1000.0), _KEPT_PLACES) for value in values)


def _bands_of(recording: Recording) -> Iterator[HeardBand]:
    for band in recording.heard.bands:
        left, right = band.distortion_percent
        yield HeardBand(
            kind=BandKind(band.kind.value),
            side=CutOn(band.side.value),
            hz=band.hz,
            start_s=max(band.start_s, 0.0),
            end_s=max(band.end_s, 0.0),
            level_db=band.level_db,
            leak_db=band.leak.db if band.leak else None,
            leak_deg=band.leak.deg if band.leak else None,
            left_distortion_percent=_least(left),
            right_distortion_percent=_least(right),
        )


def _least(percent: float | None) -> float | None:
    return None if percent is None or not math.isfinite(percent) else min(percent, 1000.0)
