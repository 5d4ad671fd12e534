"""The readings of skating, and the state they add up to."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from core.estimation import Estimate, Response, ResponseRecord
from core.fitting import Context, Control, Reading
from core.language import Message, message
from core.physics.break_up import BreakUp, break_up
from core.records import GF, Choice, Deck, Limits, PlainNumber, ReadAnew, Unit
from core.steps.downforce import FINAL, ROUGH
from core.steps.shared import (
    BandKind,
    HeardBand,
    HeardFault,
    HeardTones,
    is_checked,
    spoilt,
)
from core.steps.skating.force import DIALS, Settings, downforce_heard

NAME: Final = "skating"
BY_TONE: Final = "bands by tone"
"""The way of reading by recorded bands."""

_LEAST_BANDS: Final = 3

_Mark = Annotated[PlainNumber, Limits(0, 50, usual=(0, 5))]


class Broke(Choice):
    """Which channel broke up first as the bands got louder."""

    LEFT = "left", "Left first"
    RIGHT = "right", "Right first"
    TOGETHER = "together", "Both in the same band"
    NEITHER = "neither", "Neither, to the loudest band"


class SkatingReading(Reading):
    """The base of every reading of skating."""

    @classmethod
    def units_on(cls, deck: Deck) -> Mapping[str, Unit]:
        """Return that a dial is marked in downforce; a notch has a number alone."""
        return {"setting": GF} if deck.skating.control in DIALS else {}

    def measure(self, settings: Settings) -> tuple[int | None, Broke | None]:
        """Return the setting, None if there is no such, and what was heard there."""
        raise NotImplementedError

    def difference(self) -> Estimate | None:
        """Return by how many dB the left broke up later than the right, if that was recorded."""
        return None


class Setting(SkatingReading):
    """The present setting of the compensation."""

    WAY_TITLE: ClassVar[str] = "Where it is set"

    way: Literal["setting"] = "setting"
    setting: _Mark = Field(
        title="Set to",
        description="The mark on the dial; on a thread weight the number of the notch, counted "
        "from the pivot. 0 is off.",
    )

    def measure(self, settings: Settings) -> tuple[int | None, Broke | None]:
        """Return the setting; nothing was heard."""
        return settings.place_of(self.setting), None


class RisingBands(SkatingReading):
    """Rising test bands, listened to at one setting."""

    WAY_TITLE: ClassVar[str] = "Rising test bands"
    NEEDS: ClassVar[str] = "has_test_record"
    LOWERS_STYLUS: ClassVar[bool] = True

    way: Literal["test bands"] = "test bands"
    setting: _Mark = Field(
        title="Set to", description="What the compensation was set to while the bands played."
    )
    broke_first: Annotated[Broke, ReadAnew()] = Field(
        title="Broke up first",
        description="The channel that buzzes or breaks up in the lower band.",
    )

    def measure(self, settings: Settings) -> tuple[int | None, Broke | None]:
        """Return the setting, and which channel broke up first."""
        return settings.place_of(self.setting), self.broke_first


class RecordedTracking(HeardTones):
    """A recording of lateral bands of rising level."""

    LIVE_TO_THE_END: ClassVar[bool] = True
    SPOILT_BY: ClassVar[tuple[HeardFault, ...]] = (
        HeardFault.ONE_CHANNEL,
        HeardFault.DEAD_LEFT,
        HeardFault.DEAD_RIGHT,
        HeardFault.MONO,
        HeardFault.SWAPPED,
        HeardFault.CLIPPING,
        HeardFault.OTHER_RECORD,
        HeardFault.GAIN,
        HeardFault.HUM,
        HeardFault.CLICKS,
    )

    def lacks(self) -> Message | None:
        """Return that there are too few bands, if so."""
        lacks = super().lacks()
        if lacks is not None or len(self.rising()) >= _LEAST_BANDS:
            return lacks
        one_channel = HeardFault.ONE_CHANNEL in self.known_faults()
        return spoilt(HeardFault.ONE_CHANNEL) if one_channel else message("skating.tone_lacks")

    def rising(self) -> tuple[HeardBand, ...]:
        """Return the rising bands with the distortion of both channels."""
        bands = [
            one
            for one in self.bands
            if one.kind is BandKind.TRACKING
            and one.left_distortion_percent is not None
            and one.right_distortion_percent is not None
        ]
        return tuple(sorted(bands, key=lambda one: one.level_db))

    def break_up(self) -> BreakUp:
        """Return where each channel breaks up."""
        bands = self.rising()
        return break_up(
            [one.level_db for one in bands],
            [one.left_distortion_percent or 0.0 for one in bands],
            [one.right_distortion_percent or 0.0 for one in bands],
        )


class BandsByTone(SkatingReading):
    """Rising test bands, recorded at one setting."""

    WAY_TITLE: ClassVar[str] = "Rising bands, recorded"
    NEEDS: ClassVar[str] = "has_sound_input"
    LOWERS_STYLUS: ClassVar[bool] = True

    way: Literal["bands by tone"] = BY_TONE
    setting: _Mark = Field(
        title="Set to", description="Where the compensation stood while the bands played."
    )
    recorded: RecordedTracking = Field(
        title="Recording",
        description="The sound file. Type its path, choose it, or drop it here.",
    )

    def measure(self, settings: Settings) -> tuple[int | None, Broke | None]:
        """Return the setting, and which channel certainly broke up first."""
        return settings.place_of(self.setting), Broke(self.recorded.break_up().first)

    def difference(self) -> Estimate | None:
        """Return by how many dB the left broke up later than the right, if both did."""
        return self.recorded.break_up().difference


@dataclass(frozen=True, slots=True)
class Toned:
    """A place, how much later the left broke up there than the right, dB, and at what downforce.

    ``difference`` is None where questions about the control were answered, ``downforce_gf`` where
    it was never weighed. Another downforce is no reason to forget: it changes what a place answers.
    """

    place: int
    difference: Estimate | None
    downforce_gf: float | None


@dataclass(frozen=True, slots=True)
class SkatingState:
    """What was set and heard: settings in order, band answers, and the end.

    ``foretold`` is the predicted balance by what was heard before downforce was moved, in
    proportion to it; None if nothing was.
    """

    places: tuple[int, ...]
    heard: tuple[tuple[int, Broke], ...]
    moved_last: bool
    no_such_mark: bool
    foretold: float | None = None
    toned: tuple[Toned, ...] = ()
    """What recordings told, from the first one."""
    by_tone_last: bool = False
    """The last bands were recorded, and tell a difference."""
    answers: ResponseRecord = field(default_factory=ResponseRecord)
    """Whether the setting changes as ordered."""


def skating_state_of(context: Context, settings: Settings) -> SkatingState:
    """Read the log of this step from first to last.

    The side force grows with downforce, so what was heard before a change of downforce no longer
    counts once the bands are played after it, except for predicting the balance.
    """
    places: list[int] = []
    heard: list[tuple[int, Broke]] = []
    toned: list[Toned] = []
    by_tone_last = False
    no_such_mark = False
    moved_last = False
    moved_at = _downforce_moved_at(context)
    since: datetime | None = None
    foretold: float | None = None
    answers = ResponseRecord()
    asked = 0.0
    for trial in context.trials:
        reading = trial.reading
        if isinstance(reading, SkatingReading):
            place, broke = reading.measure(settings)
            no_such_mark = place is None
            moved_last = False
            if place is None:
                continue
            if asked and places:
                partly = places[-1] != place
                answers.take(_response(settings, asked, places[-1], place), partly=partly)
            asked = 0.0
            places.append(place)
            if broke is not None:
                if any(_between(since, at, trial.at) for at in moved_at):
                    balanced = _balanced(heard)
                    before = downforce_heard(context, since)
                    now = downforce_heard(context, trial.at)
                    if balanced is not None and before and now and settings.control in DIALS:
                        foretold = balanced * now / before
                    heard.clear()
                since = trial.at
                heard.append((place, broke))
                told = _toned(context, trial.at, place, reading.difference())
                by_tone_last = bool(told)
                toned += told
        elif any(part.control is Control.SKATING for part in trial.moves):
            moved_last = True
            asked += sum(p.amount for p in trial.moves if p.control is Control.SKATING)
        elif is_checked(trial, Control.SKATING):
            answers.look()
            toned += [replace(toned[-1], difference=None)] if toned else []
    return SkatingState(
        tuple(places),
        tuple(heard),
        moved_last,
        no_such_mark,
        foretold,
        tuple(toned),
        by_tone_last,
        answers,
    )


def _toned(
    context: Context, at: datetime | None, place: int, difference: Estimate | None
) -> list[Toned]:
    return [] if difference is None else [Toned(place, difference, downforce_heard(context, at))]


def _response(settings: Settings, asked: float, before: int, now: int) -> Response:
    """Return the response to a move, from the settings read before and after it.

    A setting is read off a scale: its only error is that of the hand.
    """
    changed = settings.marks[now] - settings.marks[before]
    if not math.isfinite(asked) or changed * asked < 0.0:
        return Response.ANSWERED  # it was set elsewhere since
    return Response.NOTHING if abs(changed) < 0.5 * abs(asked) else Response.ANSWERED


def _balanced(heard: list[tuple[int, Broke]]) -> float | None:
    """Return the place at which both broke together, or between too little and too much."""
    last = dict(heard)
    together = [place for place, broke in last.items() if broke is Broke.TOGETHER]
    if together:
        return sum(together) / len(together)
    little = [place for place, broke in last.items() if broke is Broke.RIGHT]
    much = [place for place, broke in last.items() if broke is Broke.LEFT]
    return 0.5 * (max(little) + min(much)) if little and much else None


def _downforce_moved_at(context: Context) -> tuple[datetime, ...]:
    return tuple(
        trial.at
        for step in (ROUGH, FINAL)
        for trial in context.log.get(step, ())
        if trial.at is not None
        and any(part.control is Control.COUNTERWEIGHT for part in trial.moves)
    )


def _between(since: datetime | None, at: datetime, until: datetime | None) -> bool:
    return since is not None and until is not None and since < at <= until
